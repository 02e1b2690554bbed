"""Months, years and places in the year of every day of a span, worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from roofspring.rain.record import FloatArray

IntArray = npt.NDArray[np.int64]
Twelve = tuple[float, ...]


YEAR_PLACES = 366


@dataclass(frozen=True)
class Span:
    """Whole years from a first day.

    Attributes
    ----------
    start : numpy.datetime64
    years : int
    month : (n,) int64
        0 to 11.
    year : (n,) int64
        Years since the start.
    place : (n,) int64
        Place in a leap year, 0 to 365: 1 March is always 60.
    """

    start: np.datetime64
    years: int
    month: IntArray
    year: IntArray
    place: IntArray

    @property
    def days_count(self) -> int:
        """Days covered."""
        return len(self.month)


def span(start: np.datetime64, years: int) -> Span:
    """The calendar of some whole years."""
    return _span(str(start.astype("datetime64[D]")), years)


@lru_cache(maxsize=8)
def _span(start: str, years: int) -> Span:
    first = np.datetime64(start, "D")
    month_start = first.astype("datetime64[M]")
    end = (month_start + 12 * years).astype("datetime64[D]") + (first - month_start)
    days = np.arange(first, end)
    months = days.astype("datetime64[M]")
    late = (days - months) < (first - month_start)
    year = ((months - month_start).astype(np.int64) - late) // 12
    made = Span(first, years, month_of(days), year, place_of(days))
    for values in (made.month, made.year, made.place):
        values.flags.writeable = False
    return made


def month_of(days: npt.NDArray[np.datetime64]) -> IntArray:
    """Month of each day, 0 to 11."""
    month: IntArray = days.astype("datetime64[M]").astype(np.int64) % 12
    return month


def place_of(days: npt.NDArray[np.datetime64]) -> IntArray:
    """Place of each day in a leap year."""
    year = days.astype("datetime64[Y]")
    at = (days - year).astype(np.int64)
    common = ((year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")).astype(int) == 365
    place: IntArray = at + (common & (at >= 59))
    return place


def season(monthly: Twelve | FloatArray) -> FloatArray:
    """A smooth year of 366 days whose monthly means are those given: a sum of sinusoids."""
    basis, solve = _season_basis()
    curve: FloatArray = basis @ np.linalg.solve(solve, np.array(monthly))
    return curve


@lru_cache(maxsize=1)
def _season_basis() -> tuple[FloatArray, FloatArray]:
    days = np.arange("2000-01-01", "2001-01-01", dtype="datetime64[D]")
    month = month_of(days)
    angle = 2.0 * np.pi * (np.arange(YEAR_PLACES) + 0.5) / YEAR_PLACES
    waves = [np.ones(YEAR_PLACES)]
    for k in range(1, 6):
        waves += [np.cos(k * angle), np.sin(k * angle)]
    waves.append(np.sin(6.0 * angle))
    basis = np.array(waves).T
    return basis, np.array([basis[month == m].mean(axis=0) for m in range(12)])


@dataclass(frozen=True)
class Windows:
    """Days of a record by season.

    Attributes
    ----------
    order : (m,) int64
        Days of the record by their place in the year, three times over, so that a window may run
        past either end.
    low, high : (366,) int64
        The window of each place: ``order[low:high]``.
    """

    order: IntArray
    low: IntArray
    high: IntArray


def windows(place: IntArray, usable: npt.NDArray[np.bool_], *, window_days: int) -> Windows:
    """For each place in the year, the usable days within some days of it."""
    days = np.flatnonzero(usable)
    days = days[np.argsort(place[days], kind="stable")]
    count = np.bincount(place[days], minlength=YEAR_PLACES)
    before = np.concatenate(([0], np.cumsum(np.tile(count, 3))))
    middle = np.arange(YEAR_PLACES) + YEAR_PLACES
    return Windows(
        order=np.tile(days, 3),
        low=before[middle - window_days],
        high=before[middle + window_days + 1],
    )

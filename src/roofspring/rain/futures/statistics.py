"""The statistics that invented rain is held to, worked out in one pass over the days."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RecordError
from roofspring.kernels import weather
from roofspring.rain.futures._calendar import IntArray, span
from roofspring.rain.record import FloatArray, RainRecord

LEAST_YEARS = 3
"""Whole years without which there is no spread between years to look at."""


@dataclass(frozen=True)
class Tally:
    """Sums of some whole years.

    Attributes
    ----------
    by_month : (8, years, 12) float64
        Rows as in ``kernels.weather.ROWS``; months in the order in which they follow each other.
    by_year : (2, years) float64
        Longest dry spell [days], and greatest day [m].
    days_count : (years, 12) float64
        Days of each month.
    first_month : int
        0 to 11.
    """

    by_month: FloatArray
    by_year: FloatArray
    days_count: FloatArray
    first_month: int

    def of_month(self, row: int) -> FloatArray:
        """A row, January to December: (years, 12)."""
        return np.roll(self.by_month[row], self.first_month, axis=1)


@dataclass(frozen=True)
class Frame:
    """Whole years from the first day of a month, laid out once for many records.

    Attributes
    ----------
    start : numpy.datetime64
    years : int
    at : (n,) int64
        Months since the start, of each day.
    """

    start: np.datetime64
    years: int
    at: IntArray

    def tally(self, depth_m: FloatArray, *, wet_day_m: float) -> Tally:
        """Add up rain of days [m], (n,)."""
        months = 12 * self.years
        by_month, by_year = np.zeros((weather.ROWS, months)), np.zeros((2, self.years))
        weather.tally(np.ascontiguousarray(depth_m), self.at, wet_day_m, by_month, by_year)
        return Tally(
            by_month=by_month.reshape(weather.ROWS, self.years, 12),
            by_year=by_year,
            days_count=np.bincount(self.at, minlength=months).reshape(-1, 12).astype(np.float64),
            first_month=int(self.start.astype("datetime64[M]").astype(np.int64) % 12),
        )


def frame(record: RainRecord, *, years: int | None) -> tuple[Frame, FloatArray]:
    """The whole years of a record from the first day of a month, and their rain by day [m].

    Raises
    ------
    RecordError
        REC-061: gaps. REC-066: fewer than 3 whole years, or fewer than were asked for.
    """
    first = record.start.astype("datetime64[D]")
    month = first.astype("datetime64[M]")
    begin = (month if month.astype("datetime64[D]") == first else month + 1).astype("datetime64[D]")
    skip = int((begin - first).astype(np.int64))
    whole = int(max(0, record.days_count - skip) / 365.2425 + 0.01)
    while whole and skip + span(begin, whole).days_count > record.days_count:
        whole -= 1
    wanted = whole if years is None else years
    if wanted < LEAST_YEARS or wanted > whole:
        raise RecordError(
            Problem(
                "REC-066",
                "the record is too short to hold invented rain against it",
                record.source,
                got=f"{whole} whole years from the first of a month"
                + ("" if years is None else f", {years} asked for"),
                allowed=f"{LEAST_YEARS} years or more",
                next="use a longer record; with few years nearly every model passes",
            )
        )
    days = span(begin, wanted)
    depth = record.daily_depth_m[skip : skip + days.days_count]
    if not np.isfinite(depth).all():
        raise RecordError(
            Problem("REC-061", "the record has gaps", record.source, next="fill them first")
        )
    order = (days.month - days.month[0]) % 12
    return Frame(begin, wanted, days.year * 12 + order), depth


Values = Callable[[Tally], FloatArray]


@dataclass(frozen=True)
class Statistic:
    """One statistic: twelve values, one for each month, or a single one.

    Attributes
    ----------
    name : str
    unit : str
        ``m``, ``m2``, ``days`` or ``frac``; empty for a plain number.
    values : callable
        From a tally: (12,) or (1,).
    """

    name: str
    unit: str
    values: Values


def _ratio(above: FloatArray, below: FloatArray) -> FloatArray:
    out = np.full(np.shape(below), np.nan)
    np.divide(above, below, out=out, where=below > 0.0)
    return out


def _row_over(above: int, below: int) -> Values:
    return lambda t: _ratio(t.of_month(above).sum(axis=0), t.of_month(below).sum(axis=0))


def _skew(t: Tally) -> FloatArray:
    rain = t.of_month(0)
    rest = rain - rain.mean(axis=0)
    return _ratio((rest**3).mean(axis=0), (rest**2).mean(axis=0) ** 1.5)


def _wet_variance(t: Tally) -> FloatArray:
    count, total, square = (t.of_month(row).sum(axis=0) for row in (1, 2, 3))
    mean = _ratio(total, count)
    return np.maximum(_ratio(square, count) - mean**2, 0.0)


def _least(months: int) -> Values:
    def values(t: Tally) -> FloatArray:
        rain = t.by_month[0].ravel()
        running = np.concatenate(([0.0], np.cumsum(rain)))
        return np.array([(running[months:] - running[:-months]).min()])

    return values


def _lag(t: Tally) -> FloatArray:
    rest = t.by_month[0].sum(axis=1)
    rest = rest - rest.mean()
    square = float((rest**2).sum())
    return np.array([float((rest[1:] * rest[:-1]).sum()) / square if square > 0.0 else 0.0])


def _one(value: float) -> FloatArray:
    return np.array([value])


STATISTICS: tuple[Statistic, ...] = (
    Statistic("monthly mean", "m", lambda t: t.of_month(0).mean(axis=0)),
    Statistic("monthly spread", "m", lambda t: t.of_month(0).std(axis=0, ddof=1)),
    Statistic("monthly skew", "", _skew),
    Statistic(
        "share of wet days", "frac",
        lambda t: t.of_month(1).sum(axis=0) / np.roll(t.days_count, t.first_month, 1).sum(axis=0),
    ),
    Statistic(
        "wet after dry", "frac", _row_over(5, 4)
    ),
    Statistic(
        "wet after wet", "frac", _row_over(7, 6)
    ),
    Statistic(
        "mean of wet days", "m", _row_over(2, 1)
    ),
    Statistic("variance of wet days", "m2", _wet_variance),
    Statistic("annual mean", "m", lambda t: _one(t.by_month[0].sum(axis=1).mean())),
    Statistic("annual spread", "m", lambda t: _one(t.by_month[0].sum(axis=1).std(ddof=1))),
    Statistic("annual lag-1 correlation", "", _lag),
    Statistic("longest dry spell of a year, mean", "days", lambda t: _one(t.by_year[0].mean())),
    Statistic("longest dry spell", "days", lambda t: _one(t.by_year[0].max())),
    Statistic("driest month", "m", _least(1)),
    Statistic("driest 3 months", "m", _least(3)),
    Statistic("driest 12 months", "m", _least(12)),
    Statistic("greatest day of a year, mean", "m", lambda t: _one(t.by_year[1].mean())),
    Statistic("greatest day", "m", lambda t: _one(t.by_year[1].max())),
)  # fmt: skip
"""What is looked at."""


def all_values(tally: Tally) -> FloatArray:
    """The values of all statistics, one after the other."""
    return np.concatenate([s.values(tally) for s in STATISTICS])

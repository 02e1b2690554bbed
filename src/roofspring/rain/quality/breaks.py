"""Breaks: a gauge that was moved, changed, or read in another way from some year on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from roofspring.rain.gaps.neighbour import Neighbour, on_steps_of, shared
from roofspring.rain.quality._base import (
    WHOLE_YEAR_DAYS,
    Check,
    Days,
    IntArray,
    Seen,
    seen,
)
from roofspring.rain.record import FloatArray, RainRecord

CHANCE = 0.001
"""Chance of a false alarm for each of the three tests; engineering choice."""

LEAST_YEARS, LEAST_CHANGE = 10, 0.10


@dataclass(frozen=True)
class Break:
    """Where a series changes most.

    Attributes
    ----------
    at : int
        First value after the change.
    chance_frac : float
        Chance of such a change, or a greater one, in a series without any [-].
    before, after : float
        Means on either side.
    """

    at: int
    chance_frac: float
    before: float
    after: float

    @property
    def change_frac(self) -> float:
        """Change of the mean over the mean before [-]."""
        return (self.after - self.before) / self.before if self.before else np.inf


@dataclass(frozen=True)
class DoubleMass:
    """Yearly rain here and at the neighbours, summed up, for a picture.

    Attributes
    ----------
    years : (k,) int64
    here_m, there_m : (k,) float64
        Rain from the first of these years to the end of each [m]; days that were not measured at
        both are left out of both.
    """

    years: IntArray
    here_m: FloatArray
    there_m: FloatArray


def pettitt(values: FloatArray) -> Break:
    """The most likely break in a series, by ranks.

    Parameters
    ----------
    values : (n,) float64
        At least 3.

    Returns
    -------
    Break

    Notes
    -----
    ``U_t = 2 sum(r_1 .. r_t) - t (n + 1)``; ``K = max |U_t|``; chance about
    ``2 exp(-6 K^2 / (n^3 + n^2))``, at most 1. Years are taken as independent of each other.

    Source
    ------
    PETTITT_1979 (from memory).

    Examples
    --------
    >>> found = pettitt(np.array([1.0, 2.0, 3.0, 2.5, 1.5, 7.0, 8.0, 9.0, 8.5, 7.5]))
    >>> found.at, round(found.chance_frac, 4)
    (5, 0.0661)
    """
    n = len(values)
    order = np.argsort(np.argsort(values, kind="stable"), kind="stable") + 1.0
    _, same = np.unique(values, return_inverse=True)
    rank = (np.bincount(same, order) / np.bincount(same))[same]
    u = 2.0 * np.cumsum(rank)[:-1] - np.arange(1, n) * (n + 1.0)
    at = int(np.abs(u).argmax())
    chance = min(1.0, 2.0 * float(np.exp(-6.0 * u[at] ** 2 / (n**3 + n**2))))
    return Break(at + 1, chance, float(values[: at + 1].mean()), float(values[at + 1 :].mean()))


def double_mass(record: RainRecord, neighbour: Neighbour) -> DoubleMass:
    """Yearly sums here and at a neighbour, over the days that both measured.

    Parameters
    ----------
    record : RainRecord
    neighbour : Neighbour

    Returns
    -------
    DoubleMass
        For years with 355 days or more that both measured.

    Raises
    ------
    RecordError (REC-026)
        The neighbour does not fit the record.

    Source
    ------
    SUBRAMANYA_EH, double-mass curve (from memory).
    """
    there = on_steps_of(record, neighbour)
    both = shared(record, there)
    n = record.steps_per_day_count
    steps = record.days_count * n
    year = np.repeat(record.days.astype("datetime64[Y]").astype(np.int64) + 1970, n)
    both[steps:] = False
    names, index = np.unique(year, return_inverse=True)
    count = np.bincount(index, both[:steps])
    use = count >= WHOLE_YEAR_DAYS * n
    here_m = np.bincount(index, np.where(both, record.depth_m, 0.0)[:steps])[use]
    there_m = np.bincount(index, np.where(both, there, 0.0)[:steps])[use]
    return DoubleMass(names[use], np.cumsum(here_m), np.cumsum(there_m))


def breaks(days: Days) -> Iterator[Seen]:
    """Breaks in yearly rain, and in the share of days with any rain."""
    years = days.years_of_its_own()
    if len(years) < LEAST_YEARS:
        return
    total = np.array([days.depth_m[at].mean() * 365.25 for _, at in years])
    share = np.array([(days.depth_m[at] > 0.0).mean() for _, at in years])
    if (found := _found(total)) is not None:
        yield seen(
            "REC-127",
            "note",
            "yearly rain changes at once: a gauge that was moved or changed, or the climate",
            where=f"from {years[found.at][0]}",
            got=f"{days.rain(found.before)} a year before, {days.rain(found.after)} after",
            limit=f"{LEAST_CHANGE:.0%} of change, chance under {CHANCE:g} (Pettitt)",
            source="PETTITT_1979",
            next="ask for the history of the station; size on the drier part if it is the later",
            spans=[_after(days, years, found)],
        )
    if (found := _found(share)) is not None:
        yield seen(
            "REC-128",
            "note",
            "the share of days with any rain changes at once: light rain was not always written",
            where=f"from {years[found.at][0]}",
            got=f"{found.before:.0%} of the days before, {found.after:.0%} after",
            limit=f"{LEAST_CHANGE:.0%} of change, chance under {CHANCE:g} (Pettitt)",
            source="PETTITT_1979",
            next="do not compare dry spells before and after; yearly sums hardly change",
            spans=[_after(days, years, found)],
        )


def against_neighbours(days: Days) -> Iterator[Seen]:
    """A bend in the double-mass curve."""
    for neighbour in days.neighbours:
        mass = double_mass(days.record, neighbour)
        here, there = np.diff(mass.here_m, prepend=0.0), np.diff(mass.there_m, prepend=0.0)
        if len(here) < LEAST_YEARS or not (there > 0.0).all():
            continue
        found = _found(here / there)
        if found is None:
            continue
        first = int(np.flatnonzero(days.year == mass.years[found.at])[0])
        last = int(np.flatnonzero(days.year == mass.years[-1])[-1])
        yield seen(
            "REC-129",
            "caution",
            f"the ratio to the rain at {neighbour.record.name} changes at once: one of the two "
            "gauges was moved or changed",
            where=f"from {mass.years[found.at]}",
            got=f"{found.before:.2f} before, {found.after:.2f} after",
            limit=f"{LEAST_CHANGE:.0%} of change, chance under {CHANCE:g} (Pettitt, on yearly "
            "ratios)",
            source="PETTITT_1979",
            next="compare both with a third gauge to see which one changed",
            spans=[(first, last, found.change_frac)],
        )


def _found(values: FloatArray) -> Break | None:
    found = pettitt(values)
    if found.chance_frac >= CHANCE or abs(found.change_frac) < LEAST_CHANGE:
        return None
    return found


def _after(days: Days, years: list[tuple[int, IntArray]], found: Break) -> tuple[int, int, float]:
    return int(years[found.at][1][0]), len(days.days) - 1, found.change_frac


BREAKS = Check(
    "breaks",
    "breaks in yearly rain and in rainy days",
    ("REC-127", "REC-128"),
    f"{LEAST_YEARS} years; {LEAST_CHANGE:.0%}; chance {CHANCE:g} each",
    breaks,
    "PETTITT_1979 (from memory); limits: engineering choice",
)
AGAINST = Check(
    "double-mass",
    "breaks against a neighbour",
    ("REC-129",),
    f"{LEAST_YEARS} shared years; {LEAST_CHANGE:.0%}; chance {CHANCE:g}",
    against_neighbours,
    "PETTITT_1979, SUBRAMANYA_EH (from memory); limits: engineering choice",
)

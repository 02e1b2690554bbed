"""What every check of a record is given, and what it gives back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, Severity
from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.record import DayArray, FloatArray, Kept, RainRecord
from roofspring.rain.words import as_read, depth
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
Span = tuple[int, int, float]
"""First day, last day (both counted from the start of the record) and a value."""

GAPS = (Kept.FILLED, Kept.FAILED, Kept.MISSING)
WET_DAY_M = 0.001
WHOLE_YEAR_DAYS = 355
"""Days of its own that a year needs before its total is compared with others."""


@dataclass(frozen=True)
class Suspect:
    """One stretch of days that a check points at: a row for a picture or a table.

    Attributes
    ----------
    check, code : str
        Name of the check, and code of its finding.
    first, last : str
        ISO dates.
    value : float
        In ``unit``.
    unit : str
        ``m``, ``days``, or empty for a share or a ratio.
    """

    check: str
    code: str
    first: str
    last: str
    value: float
    unit: str


@dataclass(frozen=True)
class Seen:
    """What a check says: its finding, and the stretches of days it means."""

    finding: Finding
    spans: tuple[Span, ...] = ()
    unit: str = ""


@dataclass(frozen=True)
class Days:
    """A record by day, worked out once for all checks."""

    record: RainRecord
    neighbours: tuple[Neighbour, ...] = ()
    units: UnitSet = "metric"

    @cached_property
    def days(self) -> DayArray:
        """The calendar days."""
        return self.record.days

    @cached_property
    def depth_m(self) -> FloatArray:
        """Rain by day [m], 0 where missing."""
        depth: FloatArray = np.nan_to_num(self.record.daily_depth_m)
        return depth

    @cached_property
    def gap(self) -> BoolArray:
        """Days with a step that was not measured, whether it was filled or not."""
        return self.marked(*GAPS)

    @cached_property
    def own(self) -> BoolArray:
        """Days on which every step was measured for itself."""
        return ~self.marked(*GAPS, Kept.SPREAD, Kept.INVENTED)

    @cached_property
    def of_year(self) -> IntArray:
        """Day of the year, from 0."""
        days: IntArray = (self.days - self.days.astype("datetime64[Y]")).astype(np.int64)
        return days

    @cached_property
    def month(self) -> IntArray:
        """Month of the year, 0 to 11."""
        months: IntArray = self.days.astype("datetime64[M]").astype(np.int64) % 12
        return months

    @cached_property
    def year(self) -> IntArray:
        """Calendar year."""
        years: IntArray = self.days.astype("datetime64[Y]").astype(np.int64) + 1970
        return years

    @cached_property
    def tmean_degc(self) -> FloatArray | None:
        """Mean of the daily extremes, NaN where missing."""
        if self.record.tmin_degc is None or self.record.tmax_degc is None:
            return None
        return (self.record.tmin_degc + self.record.tmax_degc) / 2.0

    def marked(self, *marks: Kept) -> BoolArray:
        """Days with at least one step so marked."""
        n = self.record.steps_per_day_count
        hit = np.isin(self.record.kept[: self.record.days_count * n], marks)
        return np.asarray(hit.reshape(-1, n).any(axis=1), dtype=np.bool_)

    def years_of_its_own(self) -> list[tuple[int, IntArray]]:
        """Years that were measured nearly whole, each with its days."""
        return [
            (int(year), np.flatnonzero(mine))
            for year in np.unique(self.year)
            if (mine := (self.year == year) & self.own).sum() >= WHOLE_YEAR_DAYS
        ]

    def rain(self, value_m: float) -> str:
        """A depth in words."""
        return depth(value_m, self.units)

    def as_read(self, value_m: float) -> str:
        """A depth that someone read or set, in words."""
        return as_read(value_m, self.units)

    def dates(self, first: int, last: int) -> str:
        """From the one day to the other, in words."""
        return f"{self.days[first]} to {self.days[last]}"


@dataclass(frozen=True)
class Check:
    """One check of a record.

    Attributes
    ----------
    name, title : str
        For the registry, and for people.
    codes : tuple of str
        The findings it can make.
    threshold, source : str
        When it speaks, and who says so.
    look : callable
        From the days of a record to what it sees, empty when there is nothing to say.
    """

    name: str
    title: str
    codes: tuple[str, ...]
    threshold: str
    look: Callable[[Days], Iterable[Seen]]
    source: str = ENGINEERING_CHOICE


def runs(mask: BoolArray) -> tuple[IntArray, IntArray]:
    """Starts and ends (past the last) of the runs of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    return edges[::2], edges[1::2]


def run_pairs(mask: BoolArray, *, least: int = 1) -> Iterator[tuple[int, int]]:
    """Runs of True of at least so many days, as start and end past the last."""
    for a, b in zip(*runs(mask), strict=True):
        if b - a >= least:
            yield int(a), int(b)


def seen(
    code: str,
    severity: Severity,
    what: str,
    *,
    next: str,
    where: str = "",
    got: str = "",
    limit: str = "",
    source: str = ENGINEERING_CHOICE,
    spans: Iterable[Span] = (),
    unit: str = "",
) -> Seen:
    """A finding with its stretches of days."""
    finding = Finding(code, severity, what, where, got, limit, source, next)
    return Seen(finding, tuple(spans), unit)

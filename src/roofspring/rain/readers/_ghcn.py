"""What the GHCN-Daily forms have in common: elements, flags and totals over several days."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M
from roofspring.rain.readers._readings import BoolArray, Series, Settled, Value
from roofspring.rain.readers._text import Problems
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.rain.words import both, plural
from roofspring.sources import ENGINEERING_CHOICE

MISSING = -9999
ELEMENTS = frozenset({"PRCP", "MDPR", "DAPR", "TMAX", "TMIN"})
"""Elements that are read; all others are passed over."""

STATION_ID = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}")
_MAX_TOTAL_DAYS = 366
_UNKNOWN_SPAN_DAYS = 31
_NO_DAY = date.max.toordinal()


@dataclass
class Readings:
    """Values of one station by element and day (proleptic ordinal)."""

    problems: Problems
    station: str | None
    by_element: dict[str, Series] = field(
        default_factory=lambda: {element: Series() for element in ELEMENTS}
    )
    stations: list[str] = field(default_factory=list)

    def wanted(self, station: str) -> bool:
        """Whether lines of this station are to be read; remembers its name."""
        if station not in self.stations and (station == self.station or len(self.stations) <= 20):
            self.stations.append(station)
        return station == (self.station or self.stations[0])

    def add(self, element: str, day: date, new: Value) -> None:
        """Take one value in; -9999 is an absent one."""
        if new.value == MISSING:
            return
        if not self._refused(element, day, new):
            self.by_element[element].add(day, new)
            self.by_element[element].compact(self.problems, element=element)

    def add_many(self, element: str, many: Settled) -> None:
        """Take values in that need no second look: present, and within `limits` or failed."""
        self.by_element[element].add_many(many)
        self.by_element[element].compact(self.problems, element=element)

    def _refused(self, element: str, day: date, new: Value) -> bool:
        """Note a value that cannot be, unless its publisher already failed it."""
        most = MAX_DEPTH_M * 10_000
        low, high = limits(element)
        if new.qflag.strip() or low <= new.value <= high:
            return False
        if element in ("PRCP", "MDPR"):
            self.problems.add(
                "REC-011",
                "the depth is negative"
                if new.value < 0
                else "more rain than has ever been measured in a day",
                line=new.line,
                where=f"{element} {day}",
                got=f"{new.value:g} tenths of mm",
                allowed=f"0 to {most:g}, or -9999 where missing",
                next="get the file again from its publisher",
            )
            return True
        self.problems.add(
            "REC-016",
            "a total cannot cover this number of days",
            line=new.line,
            where=f"DAPR {day}",
            got=f"{new.value:g}",
            allowed=f"1 to {_MAX_TOTAL_DAYS}",
            next="get the file again from its publisher",
        )
        return True

    def settle(self) -> dict[str, Settled]:
        """One value for each day; raises what was found, and what is unclear about the station."""
        names = ", ".join(self.stations[:20])
        if self.station is None and len(self.stations) > 1:
            self.problems.add(
                "REC-015",
                "the file holds several stations",
                got=names,
                next="say which station to read",
            )
        elif self.station is not None and self.station not in self.stations:
            self.problems.add(
                "REC-015",
                "the file does not hold this station",
                got=self.station,
                allowed=names,
                next="use a name that the file has",
            )
        settled = {
            element: series.settled(self.problems, element=element)
            for element, series in self.by_element.items()
        }
        self.problems.check()
        return settled


def limits(element: str) -> tuple[float, float]:
    """Least and greatest value of an element that did not fail, in the publisher's tenths."""
    if element == "DAPR":
        return 1.0, _MAX_TOTAL_DAYS
    if element in ("PRCP", "MDPR"):
        return 0.0, MAX_DEPTH_M * 10_000 * (_MAX_TOTAL_DAYS if element == "MDPR" else 1)
    return -np.inf, np.inf


def refuse_unit(
    unit: str | None, problems: Problems, *, form: str = "GHCN-Daily", fixed: str = "tenths of mm"
) -> None:
    """The form fixes its unit, so a unit given beside it can only be a mistake."""
    if unit is not None:
        problems.fatal(
            "REC-007",
            f"{form} is always in {fixed}; no unit can be given for it",
            got=unit,
            next="leave out the unit",
        )


def assemble(readings: Readings, *, source: str, findings: Sequence[Finding] = ()) -> RainRecord:
    """One gapless daily record from the readings of one station."""
    settled, found = readings.settle(), list(findings)
    grid = _Grid(settled)
    rain = settled["PRCP"]
    grid.failed[rain.day[~rain.passed] - grid.first] = True
    good = rain.passed
    trace = rain.mflag[good] == ord("T")
    at = rain.day[good] - grid.first
    grid.depth_m[at] = np.where(trace, 0.0, rain.value[good] / 10_000)
    grid.kept[at] = np.where(trace, np.uint8(Kept.TRACE), np.uint8(Kept.MEASURED))
    _spread(settled, grid, found)
    here = np.flatnonzero(grid.has)
    if not len(here):
        readings.problems.fatal(
            "REC-014",
            "the file holds no rain value",
            allowed="PRCP or MDPR values that passed their checks",
            next="choose another station",
        )
    grid.kept[grid.failed & ~grid.has] = Kept.FAILED
    inside = slice(int(here[0]), int(here[-1]) + 1)
    first, out, kept = grid.first + inside.start, grid.depth_m[inside], grid.kept[inside]
    repeats = sum(series.repeats for series in readings.by_element.values())
    presumed = int((good & (rain.mflag == ord("P"))).sum())
    if presumed:
        found.append(
            Finding(
                "REC-109",
                "caution",
                "days that the publisher presumed to be dry: nobody measured them (flag P)",
                got=plural(presumed, "day"),
                source="MENNE_2012, measurement flag P",
                next="if they are many, look for a neighbouring station that was read",
            )
        )
    if repeats:
        found.append(
            Finding(
                "REC-111",
                "note",
                "values that repeat an earlier line were dropped",
                got=plural(repeats, "value"),
                source=ENGINEERING_CHOICE,
                next="nothing, if the file was joined from pieces that overlap",
            )
        )
    return RainRecord(
        start=np.datetime64(date.fromordinal(first), "D"),
        step_s=86_400.0,
        depth_m=out.copy(),
        kept=kept.copy(),
        name=readings.station or readings.stations[0],
        source=source,
        tmin_degc=_temps(settled["TMIN"], first, len(out)),
        tmax_degc=_temps(settled["TMAX"], first, len(out)),
        findings=tuple(found),
    )


class _Grid:
    """A day each, from the first that a value or a total can reach to the last."""

    def __init__(self, settled: Mapping[str, Settled]) -> None:
        days = np.concatenate([settled["PRCP"].day, settled["MDPR"].day])
        first, last = int(days.min(initial=_NO_DAY)), int(days.max(initial=0))
        if len(settled["MDPR"].day):
            first = min(first, int(settled["MDPR"].day[0]) - _MAX_TOTAL_DAYS + 1)
        self.first = max(1, first)
        count = max(0, last - self.first + 1)
        self.depth_m = np.full(count, np.nan)
        self.kept = np.full(count, Kept.MISSING, dtype=np.uint8)
        self.failed = np.zeros(count, dtype=np.bool_)

    @property
    def has(self) -> BoolArray:
        """Which days have a value."""
        has: BoolArray = np.isfinite(self.depth_m)
        return has


def _spread(settled: Mapping[str, Settled], grid: _Grid, found: list[Finding]) -> None:
    """Share each total evenly over the days it covers that have no value of their own."""
    totals, spans, unknown = settled["MDPR"], settled["DAPR"], 0
    told = dict(
        zip(spans.day[spans.passed].tolist(), spans.value[spans.passed].tolist(), strict=True)
    )
    start = int(np.append(np.flatnonzero(grid.has), _NO_DAY)[0])
    columns = (totals.day, totals.value, totals.mflag, totals.passed)
    for day, total, mflag, passed in zip(*(c.tolist() for c in columns), strict=True):
        last = day - grid.first
        if not passed:
            grid.failed[last] = True
            continue
        if day in told:
            first = max(1 - grid.first, last - round(told[day]) + 1)
        else:
            unknown += 1
            first = last
            least = max(last - _UNKNOWN_SPAN_DAYS, start)
            while first - 1 > least and np.isnan(grid.depth_m[first - 1]):
                first -= 1
        days = first + np.flatnonzero(np.isnan(grid.depth_m[first : last + 1]))
        if not len(days):
            found.append(
                Finding(
                    "REC-117",
                    "caution",
                    "a total over several days was left out: every one of its days has a value",
                    where=str(date.fromordinal(day)),
                    got=both(total / 10_000),
                    source=ENGINEERING_CHOICE,
                    next="compare the total with the sum of those days",
                )
            )
            continue
        trace = mflag == ord("T")
        grid.depth_m[days] = total / (10_000 * len(days))
        grid.kept[days] = Kept.TRACE if trace else Kept.SPREAD
    if unknown:
        found.append(
            Finding(
                "REC-116",
                "caution",
                "totals over an unknown number of days were spread back to the last day with a "
                f"value, at most {_UNKNOWN_SPAN_DAYS} days",
                got=plural(unknown, "total"),
                source=ENGINEERING_CHOICE,
                next="trust single days around them less; the sums are right",
            )
        )


def _temps(readings: Settled, first: int, count: int) -> FloatArray | None:
    at = readings.day - first
    use = readings.passed & (at >= 0) & (at < count)
    out = np.full(count, np.nan)
    out[at[use]] = readings.value[use] / 10.0
    return out if use.any() else None

"""What the GHCN-Daily forms have in common: elements, flags and totals over several days."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

import numpy as np

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M
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


class Value(NamedTuple):
    """One value of one element on one day, in the publisher's tenths of mm or of a degree."""

    value: float
    mflag: str
    qflag: str
    line: int


@dataclass
class Readings:
    """Values of one station by element and day (proleptic ordinal)."""

    problems: Problems
    station: str | None
    by_element: dict[str, dict[int, Value]] = field(
        default_factory=lambda: {element: {} for element in ELEMENTS}
    )
    stations: list[str] = field(default_factory=list)
    repeats: int = 0

    def wanted(self, station: str) -> bool:
        """Whether lines of this station are to be read; remembers its name."""
        if station not in self.stations and (station == self.station or len(self.stations) <= 20):
            self.stations.append(station)
        return station == (self.station or self.stations[0])

    def add(self, element: str, day: date, new: Value) -> None:
        """Take one value in; -9999 is an absent one."""
        if new.value == MISSING:
            return
        here, at = self.by_element[element], day.toordinal()
        if self._refused(element, day, new):
            return
        old = here.setdefault(at, new)
        if old is new:
            return
        if old[:3] == new[:3]:
            self.repeats += 1
            return
        self.problems.add(
            "REC-012",
            "the same day is given twice with different values",
            line=new.line,
            where=element,
            got=f"{day}: {new.value:g} here, {old.value:g} at line {old.line}",
            allowed="one value for each day",
            next="keep the right one",
        )

    def _refused(self, element: str, day: date, new: Value) -> bool:
        """Note a value that cannot be, unless its publisher already failed it."""
        most = MAX_DEPTH_M * 10_000
        rain = element in ("PRCP", "MDPR")
        if new.qflag.strip():
            return False
        if rain and not 0 <= new.value <= most * (_MAX_TOTAL_DAYS if element == "MDPR" else 1):
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
        if element == "DAPR" and not 1 <= new.value <= _MAX_TOTAL_DAYS:
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
        return False

    def settle(self) -> None:
        """Raise what was found, and what is unclear about the station."""
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
        self.problems.check()


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
    readings.settle()
    depth: dict[int, tuple[float, Kept]] = {}
    failed: set[int] = set()
    found = list(findings)
    for day, v in readings.by_element["PRCP"].items():
        if v.qflag.strip():
            failed.add(day)
        elif v.mflag == "T":
            depth[day] = (0.0, Kept.TRACE)
        else:
            depth[day] = (v.value / 10_000, Kept.MEASURED)
    _spread(readings, depth, failed, found)
    if not depth:
        readings.problems.fatal(
            "REC-014",
            "the file holds no rain value",
            allowed="PRCP or MDPR values that passed their checks",
            next="choose another station",
        )
    first, last = min(depth), max(depth)
    out = np.full(last - first + 1, np.nan)
    kept = np.full(len(out), Kept.MISSING, dtype=np.uint8)
    for day in failed:
        if first <= day <= last:
            kept[day - first] = Kept.FAILED
    for day, (value, mark) in depth.items():
        out[day - first], kept[day - first] = value, mark
    presumed = sum(
        v.mflag == "P" and not v.qflag.strip() for v in readings.by_element["PRCP"].values()
    )
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
    if readings.repeats:
        found.append(
            Finding(
                "REC-111",
                "note",
                "values that repeat an earlier line were dropped",
                got=plural(readings.repeats, "value"),
                source=ENGINEERING_CHOICE,
                next="nothing, if the file was joined from pieces that overlap",
            )
        )
    return RainRecord(
        start=np.datetime64(date.fromordinal(first), "D"),
        step_s=86_400.0,
        depth_m=out,
        kept=kept,
        name=readings.station or readings.stations[0],
        source=source,
        tmin_degc=_temps(readings, "TMIN", first, last),
        tmax_degc=_temps(readings, "TMAX", first, last),
        findings=tuple(found),
    )


def _spread(
    readings: Readings,
    depth: dict[int, tuple[float, Kept]],
    failed: set[int],
    found: list[Finding],
) -> None:
    """Share each total evenly over the days it covers that have no value of their own."""
    spans, unknown = readings.by_element["DAPR"], 0
    start = min(depth, default=date.max.toordinal())
    for day, total in sorted(readings.by_element["MDPR"].items()):
        if total.qflag.strip():
            failed.add(day)
            continue
        span = spans.get(day)
        if span is not None and not span.qflag.strip():
            first = max(1, day - round(span.value) + 1)
        else:
            unknown += 1
            first = day
            while first - 1 > max(day - _UNKNOWN_SPAN_DAYS, start) and first - 1 not in depth:
                first -= 1
        days = [d for d in range(first, day + 1) if d not in depth]
        if not days:
            found.append(
                Finding(
                    "REC-117",
                    "caution",
                    "a total over several days was left out: every one of its days has a value",
                    where=str(date.fromordinal(day)),
                    got=both(total.value / 10_000),
                    source=ENGINEERING_CHOICE,
                    next="compare the total with the sum of those days",
                )
            )
        for d in days:
            mark = Kept.TRACE if total.mflag == "T" else Kept.SPREAD
            depth[d] = (total.value / (10_000 * len(days)), mark)
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


def _temps(readings: Readings, element: str, first: int, last: int) -> FloatArray | None:
    values = readings.by_element[element]
    out = np.full(last - first + 1, np.nan)
    for day, v in values.items():
        if first <= day <= last and not v.qflag.strip():
            out[day - first] = v.value / 10.0
    return out if np.isfinite(out).any() else None

"""Tips of a tipping bucket, added up to even steps while they are read."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field

import numpy as np

from roofspring.errors import Finding, UnitError
from roofspring.rain.readers._build import MAX_DEPTH_M, MAX_STEPS_COUNT, MIN_STEP_S
from roofspring.rain.readers._stamps import DAY_S
from roofspring.rain.readers._text import Problems
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import parse

TIP_STEP_S = 300.0
"""Step that tips are added up to; engineering choice."""

MAX_TIP_M = 0.010
"""Greatest depth taken for one tip. Buckets of gauges hold 0.1 to 1 mm; engineering choice."""


def tip_depth_m(tip: str, problems: Problems) -> float:
    """Depth of one tip [m] from a text such as ``0.2 mm``."""
    try:
        depth = parse(tip, to="m")
    except UnitError:
        depth = 0.0
    if not 0.0 < depth <= MAX_TIP_M:
        problems.fatal(
            "REC-037",
            "this is not the depth of a tip",
            where="tip",
            got=tip,
            allowed=f"more than 0, up to {MAX_TIP_M * 1e3:g} mm, with its unit",
            next='give the depth that one tip stands for, such as tip = "0.2 mm"',
        )
    return depth


def tip_step(step_s: float, problems: Problems) -> int:
    """The step that tips are added up to [s]."""
    step = round(step_s)
    if step != step_s or step < MIN_STEP_S or DAY_S % step:
        problems.fatal(
            "REC-013",
            "tips cannot be added up to this step",
            where="tip_step_s",
            got=f"{step_s:g} s",
            allowed=f"{MIN_STEP_S} to {DAY_S} s, dividing a day",
            next="use 60, 300, 900 or 3600",
        )
    return step


@dataclass
class Tips:
    """Sums by step, in order of time; the size is that of the wet steps only."""

    step_s: int
    problems: Problems
    at: array[int] = field(default_factory=lambda: array("q"))
    depth_m: array[float] = field(default_factory=lambda: array("d"))
    count: int = 0
    _last_s: int | None = None

    def add(self, time_s: int, depth_m: float, line: int) -> None:
        """Take one tip in."""
        if self._last_s is not None and time_s < self._last_s:
            self.problems.add(
                "REC-037",
                "the tip is earlier than the one before it",
                line=line,
                got=f"{np.datetime64(time_s, 's')} after {np.datetime64(self._last_s, 's')}",
                allowed="tips in order of time, each once",
                next="sort the file and take out pieces that stand twice; where the clock was set "
                "back from summer time, give standard time or UTC",
            )
            return
        self._last_s = time_s
        self.count += depth_m > 0.0
        place = time_s // self.step_s
        if self.at and self.at[-1] == place:
            self.depth_m[-1] += depth_m
        else:
            self.at.append(place)
            self.depth_m.append(depth_m)

    def record(self, *, name: str, source: str, findings: list[Finding]) -> RainRecord:
        """Whole days from the first to the last tip; a step without a tip is dry."""
        if not self.count:
            self.problems.fatal(
                "REC-014", "the file holds no tip", next="check that this is the right file"
            )
        per_day = DAY_S // self.step_s
        first, last = self.at[0] // per_day, self.at[-1] // per_day
        if (last - first + 1) * per_day > MAX_STEPS_COUNT:
            self.problems.fatal(
                "REC-002",
                "the first and last tip are too far apart for this step",
                got=f"{last - first + 1:,} days in steps of {self.step_s} s",
                allowed=f"{MAX_STEPS_COUNT:,} steps",
                next="check the first and last times for a typing error, or use a longer step",
            )
        depth = np.zeros((last - first + 1) * per_day)
        depth[np.frombuffer(self.at, dtype=np.int64) - first * per_day] = self.depth_m
        by_day = depth.reshape(-1, per_day).sum(axis=1)
        for i in np.flatnonzero(by_day > MAX_DEPTH_M):
            self.problems.add(
                "REC-011",
                "the tips of this day add up to more than has ever been measured in a day",
                where=str(np.datetime64(first, "D") + i),
                got=f"{by_day[i] * 1e3:g} mm",
                allowed=f"{MAX_DEPTH_M * 1e3:g} mm in a day",
                next="check the depth of a tip and its unit",
            )
        self.problems.check()
        told = Finding(
            "REC-138",
            "caution",
            "a tipping bucket tells when it tips, not when it is out of order: time without a tip "
            "was read as dry",
            got=plural(self.count, "tip"),
            source=ENGINEERING_CHOICE,
            next="compare long dry spells with a neighbour; mark the time that it stood still as "
            "missing",
        )
        return RainRecord(
            start=np.datetime64(first, "D").astype("datetime64[s]")
            if per_day > 1
            else np.datetime64(first, "D"),
            step_s=float(self.step_s),
            depth_m=depth,
            kept=np.full(len(depth), Kept.MEASURED, dtype=np.uint8),
            name=name,
            source=source,
            findings=(*findings, told),
        )

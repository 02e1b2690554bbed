"""Signs that the clock of a file was changed for summer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.rain.readers._text import Problems
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

HOUR_S, DAY_S = 3_600, 86_400
_MONTHS = (3, 4, 9, 10, 11)
_LAST_HOUR = 4
_SUNDAY = 3  # 1970-01-01, day 0, was a Thursday
_NEXT = (
    "write each time with its offset from UTC (2012-10-28T02:00+02:00), or use UTC, or leave the "
    "clock on standard time all year"
)


@dataclass(frozen=True)
class ClockChanges:
    """First time of each hour that stands twice, and of each that is missing [s]."""

    twice_s: IntArray
    missing_s: IntArray

    def within(self, time_s: IntArray) -> BoolArray:
        """Which times lie in an hour that stands twice."""
        hit = np.zeros(len(time_s), dtype=np.bool_)
        for start in self.twice_s:
            hit |= (time_s >= start) & (time_s < start + HOUR_S)
        return hit

    def refuse(self, line_of: dict[int, int], problems: Problems) -> None:
        """Note each hour that is given twice with different values."""
        for start, line in line_of.items():
            problems.add(
                "REC-036",
                "an hour is given twice: the clock was set back from summer time",
                line=line,
                got=f"the hour from {np.datetime64(start, 's')}",
                allowed="each time once, or with its offset from UTC",
                next=_NEXT,
            )

    def finding(self) -> list[Finding]:
        """What a reader should know, if there are signs."""
        if not len(self.twice_s) + len(self.missing_s):
            return []
        first = min(int(t[0]) for t in (self.twice_s, self.missing_s) if len(t))
        return [
            Finding(
                "REC-135",
                "caution",
                "the clock seems to have been changed for summer: an hour is missing in spring or "
                "stands twice in autumn",
                where=f"first at {np.datetime64(first, 's')}",
                got=f"{plural(len(self.missing_s), 'hour')} missing, {len(self.twice_s)} twice",
                source=ENGINEERING_CHOICE,
                next=_NEXT,
            )
        ]


def clock_changes(time_s: IntArray) -> ClockChanges:
    """Look for steps of the clock, in the order of the file.

    An hour stands twice where the file steps back so that one hour is told again; an hour is
    missing where exactly one is left out on a Sunday of March, April, September or October. Both
    only in the first hours of a day and in the months in which clocks are changed.
    """
    none = np.empty(0, dtype=np.int64)
    gaps = np.diff(time_s)
    forward = gaps[gaps > 0]
    if not len(forward):
        return ClockChanges(none, none)
    lengths, counts = np.unique(forward, return_counts=True)
    step = int(lengths[counts.argmax()])
    if step > HOUR_S or HOUR_S % step:
        return ClockChanges(none, none)
    again = time_s[1:][gaps == step - HOUR_S]
    lost = time_s[:-1][gaps == step + HOUR_S] + step
    sunday = lost // DAY_S % 7 == _SUNDAY
    return ClockChanges(again[_season(again)], lost[sunday & _season(lost)])


def _season(time_s: IntArray) -> BoolArray:
    month = time_s.astype("datetime64[s]").astype("datetime64[M]").astype(np.int64) % 12 + 1
    early = time_s % DAY_S < _LAST_HOUR * HOUR_S
    return np.asarray(np.isin(month, _MONTHS) & early, dtype=np.bool_)

"""Dates and times of day as they stand in a cell, to seconds; each text is worked out only once."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

DAY_S = 86_400
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_MAX_KEPT = 100_000

_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_CLOCK = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:\.([0-9]+))?)?\s?(Z|[+-][0-9]{2}:?[0-9]{2})?"
)

Stamp = Literal["start", "end"]


@dataclass(frozen=True)
class Clock:
    """A time of day: seconds since midnight, and minutes ahead of UTC where it says so."""

    second: int
    offset_min: int | None


def day_number(year: int, month: int, day: int) -> int | None:
    """Days since 1970-01-01, or None where the calendar has no such day.

    >>> day_number(2012, 2, 29), day_number(2011, 2, 29)
    (15399, None)
    """
    try:
        return date(year, month, day).toordinal() - _EPOCH_DAY
    except ValueError:
        return None


@dataclass
class Stamps:
    """Reads the stamps of one file.

    ``last_24`` lets a day end at 24:00, as files stamped at the end of a step write it;
    ``fractions`` lets seconds have decimals, which are cut off.
    """

    last_24: bool = False
    fractions: bool = False
    _days: dict[str, int | None] = field(default_factory=dict)
    _clocks: dict[str, Clock | None] = field(default_factory=dict)

    def day(self, text: str) -> int | None:
        """Days since 1970-01-01 of ``2012-10-11``; None if it is no such date."""
        if text not in self._days:
            if len(self._days) > _MAX_KEPT:
                self._days.clear()
            m = _DATE.fullmatch(text)
            self._days[text] = m and day_number(int(m[1]), int(m[2]), int(m[3]))
        return self._days[text]

    def clock(self, text: str) -> Clock | None:
        """Time of day of ``15:00``, ``15:00:00Z`` or ``15:00+02:00``; None if it is none."""
        if text not in self._clocks:
            if len(self._clocks) > _MAX_KEPT:
                self._clocks.clear()
            self._clocks[text] = self._clock(text)
        return self._clocks[text]

    def _clock(self, text: str) -> Clock | None:
        m = _CLOCK.fullmatch(text)
        if m is None:
            return None
        hour, minute, second = int(m[1]), int(m[2]), int(m[3] or 0)
        good = hour < 24 or (self.last_24 and (hour, minute, second) == (24, 0, 0))
        if not good or minute > 59 or second > 59 or (int(m[4] or 0) and not self.fractions):
            return None
        offset = None
        if m[5]:
            ahead, behind = (0, 0) if m[5] == "Z" else (int(m[5][1:3]), int(m[5][-2:]))
            if ahead > 23 or behind > 59:
                return None
            offset = (-1 if m[5][0] == "-" else 1) * (60 * ahead + behind)
        return Clock(3600 * hour + 60 * minute + second, offset)

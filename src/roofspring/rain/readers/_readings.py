"""Values of one element of a GHCN-Daily station, as they stood in a file, in compact arrays."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from roofspring.rain.readers._text import Problems
from roofspring.rain.record import FloatArray

BoolArray = npt.NDArray[np.bool_]
ByteArray = npt.NDArray[np.uint8]
IntArray = npt.NDArray[np.int64]

MAX_UNSETTLED = 1_000_000
"""Values kept before repeats among them are dropped, so that a file of repeats stays small."""

BLANK, STRANGE = 32, 255
"""No flag, and one that is not a single character of ASCII."""


class Value(NamedTuple):
    """One value on one day, in the publisher's tenths of mm or of a degree."""

    value: float
    mflag: str
    qflag: str
    line: int


@dataclass(frozen=True)
class Settled:
    """One value for each day, in order of time; flags are characters, blank where there is none."""

    day: IntArray
    value: FloatArray
    mflag: ByteArray
    qflag: ByteArray
    line: IntArray

    @property
    def passed(self) -> BoolArray:
        """Which values passed the checks of their publisher."""
        passed: BoolArray = self.qflag == BLANK
        return passed


@dataclass
class Series:
    """Values in any order, each with its day (proleptic ordinal), flags and line."""

    day: array[int] = field(default_factory=lambda: array("q"))
    value: array[float] = field(default_factory=lambda: array("d"))
    mflag: array[int] = field(default_factory=lambda: array("B"))
    qflag: array[int] = field(default_factory=lambda: array("B"))
    line: array[int] = field(default_factory=lambda: array("q"))
    repeats: int = 0
    _most: int = field(default_factory=lambda: MAX_UNSETTLED)

    def add(self, day: date, new: Value) -> None:
        """Take one value in."""
        self.day.append(day.toordinal())
        self.value.append(new.value)
        self.mflag.append(_flag(new.mflag))
        self.qflag.append(_flag(new.qflag))
        self.line.append(new.line)

    def add_many(self, many: Settled) -> None:
        """Take values in, however many for each day."""
        self.day.frombytes(many.day.tobytes())
        self.value.frombytes(many.value.tobytes())
        self.mflag.frombytes(many.mflag.tobytes())
        self.qflag.frombytes(many.qflag.tobytes())
        self.line.frombytes(many.line.tobytes())

    def compact(self, problems: Problems, *, element: str) -> None:
        """Drop repeats where values have become many."""
        if len(self.day) > self._most:
            once = self.settled(problems, element=element)
            for values in (self.day, self.value, self.mflag, self.qflag, self.line):
                del values[:]
            self.add_many(once)
            self._most = max(MAX_UNSETTLED, 2 * len(once.day))

    def settled(self, problems: Problems, *, element: str) -> Settled:
        """The first value of each day; another one that differs is a problem."""
        day = np.array(self.day, dtype=np.int64)
        line = np.array(self.line, dtype=np.int64)
        order = np.lexsort((line, day))
        rows = Settled(
            day[order],
            np.array(self.value)[order],
            np.array(self.mflag, dtype=np.uint8)[order],
            np.array(self.qflag, dtype=np.uint8)[order],
            line[order],
        )
        again = np.zeros(len(day), dtype=np.bool_)
        again[1:] = rows.day[1:] == rows.day[:-1]
        if not again.any():
            return rows
        first = np.maximum.accumulate(np.where(again, 0, np.arange(len(day))))
        same = rows.value == rows.value[first]
        same &= (rows.mflag == rows.mflag[first]) & (rows.qflag == rows.qflag[first])
        self.repeats += int((again & same).sum())
        for i in np.flatnonzero(again & ~same)[np.argsort(rows.line[again & ~same])].tolist():
            at = first[i]
            problems.add(
                "REC-012",
                "the same day is given twice with different values",
                line=int(rows.line[i]),
                where=element,
                got=f"{date.fromordinal(int(rows.day[i]))}: {rows.value[i]:g} here, "
                f"{rows.value[at]:g} at line {rows.line[at]}",
                allowed="one value for each day",
                next="keep the right one",
            )
        keep = ~again
        return Settled(
            rows.day[keep], rows.value[keep], rows.mflag[keep], rows.qflag[keep], rows.line[keep]
        )


def _flag(text: str) -> int:
    bare = text.strip()
    if not bare:
        return BLANK
    return ord(bare) if len(bare) == 1 and bare.isascii() else STRANGE

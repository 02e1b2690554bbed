"""Many rows of GHCN-Daily by station or by year at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from roofspring.rain.readers._bulk import Cells, numbers
from roofspring.rain.readers._ghcn import ELEMENTS, MISSING, limits
from roofspring.rain.readers._readings import BLANK, BoolArray, ByteArray, IntArray, Settled

MAX_ODD_SHARE = 0.25
"""A block with more odd rows is read row by row; engineering choice."""

MAX_DIGITS = 7
"""Digits of a value; engineering choice."""

_STATION, _DAY, _ELEMENT, _VALUE, _MFLAG, _QFLAG = range(6)
_STATION_CHARS, _ELEMENT_CHARS, _DAY_CHARS = 11, 4, 8
_UNIX_DAY = 719_163  # proleptic ordinal of 1970-01-01


@dataclass(frozen=True)
class PlainRows:
    """Rows of a block, each with the station that it begins with.

    Attributes
    ----------
    cut : Cells
    line : int
        Number of the first.
    named : (n,) bool
        Whether the row begins with an identifier of a station.
    station : (n,) bytes
    """

    cut: Cells
    line: int
    named: BoolArray
    station: npt.NDArray[np.bytes_]

    @property
    def stations(self) -> list[str]:
        """Stations in order of the file."""
        names, first = np.unique(self.station[self.named], return_index=True)
        return [names[i].decode("ascii") for i in np.argsort(first)]

    @property
    def unnamed(self) -> list[int]:
        """Rows that begin with something else."""
        found: list[int] = np.flatnonzero(~self.named).tolist()
        return found

    def of(self, station: str) -> PlainValues:
        """The values of a station."""
        mine = self.named & (self.station == station.encode("ascii"))
        return PlainValues(self.cut, self.line, mine)


@dataclass(frozen=True)
class PlainValues:
    """Values of the rows of one station, and which of them are odd."""

    cut: Cells
    line: int
    mine: BoolArray

    @cached_property
    def _element(self) -> npt.NDArray[np.bytes_]:
        return _words(self.cut, _ELEMENT, _ELEMENT_CHARS)

    @cached_property
    def _read(self) -> tuple[IntArray, IntArray, ByteArray, ByteArray, BoolArray]:
        """Day, value, flags, and whether all of them are plain."""
        day, good = _days(self.cut)
        whole, decimals, minus, fine = numbers(self.cut, _VALUE)
        good &= fine & (decimals == 0) & (self.cut.length(_VALUE) - minus <= MAX_DIGITS)
        good &= self.cut.bytes[self.cut.end[:, _VALUE] - 1] != ord(".")
        value = np.where(minus, -whole, whole)
        mflag, single = _flags(self.cut, _MFLAG)
        qflag, alone = _flags(self.cut, _QFLAG)
        good &= single & alone
        low, high = np.full(len(day), -np.inf), np.full(len(day), np.inf)
        for name in ELEMENTS:
            here = self._element == name.encode("ascii")
            low[here], high[here] = limits(name)
        inside = (value >= low) & (value <= high)
        return day, value, mflag, qflag, good & (inside | (qflag != BLANK) | (value == MISSING))

    @property
    def odd(self) -> list[int]:
        """Rows of elements that are read, with something that is not plain."""
        read = np.isin(self._element, [name.encode("ascii") for name in ELEMENTS])
        plain_name = self.cut.length(_ELEMENT) == _ELEMENT_CHARS
        found: list[int] = np.flatnonzero(
            self.mine & ~(plain_name & (~read | self._read[-1]))
        ).tolist()
        return found

    def values(self, element: str) -> Settled:
        """What the plain rows of an element hold, absent values left out."""
        day, value, mflag, qflag, good = self._read
        use = self.mine & good & (self._element == element.encode("ascii")) & (value != MISSING)
        use &= self.cut.length(_ELEMENT) == _ELEMENT_CHARS
        return Settled(
            day[use] + _UNIX_DAY,
            value[use].astype(np.float64),
            mflag[use],
            qflag[use],
            self.line + np.flatnonzero(use),
        )


def plain_rows(cut: Cells, *, line: int) -> PlainRows:
    """Tell the stations of rows; ``line`` is the number of the first."""
    text = cut.padded(_STATION, _STATION_CHARS)
    letter = (text >= ord("A")) & (text <= ord("Z"))
    digit = (text >= ord("0")) & (text <= ord("9"))
    sign = (text == ord("-")) | (text == ord("_"))
    named = letter[:2].all(axis=0) & (letter | digit | sign)[2:].all(axis=0)
    named &= cut.length(_STATION) == _STATION_CHARS
    return PlainRows(cut, line, named, _words(cut, _STATION, _STATION_CHARS))


def _days(cut: Cells) -> tuple[IntArray, BoolArray]:
    """Days since 1970 of ``20121011``, and whether it is such a day."""
    text = cut.padded(_DAY, _DAY_CHARS)
    n = (text - np.uint8(ord("0"))).astype(np.int64)
    good = (n < 10).all(axis=0) & (cut.length(_DAY) == _DAY_CHARS)
    year = n[0] * 1000 + n[1] * 100 + n[2] * 10 + n[3]
    month, day = n[4] * 10 + n[5], n[6] * 10 + n[7]
    good &= (year >= 1) & (month >= 1) & (month <= 12) & (day >= 1)
    months = np.where(good, (year - 1970) * 12 + month - 1, 0).astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    after = (months + 1).astype("datetime64[D]").astype(np.int64)
    return first + day - 1, good & (day <= after - first)


def _flags(cut: Cells, column: int) -> tuple[ByteArray, BoolArray]:
    """Flags of a column, blank where the cell is empty; and whether it is one character."""
    length = cut.length(column)
    flag = np.where(length == 1, cut.padded(column, 1)[0], np.uint8(BLANK))
    return flag, (length <= 1) & (flag >= BLANK)


def _words(cut: Cells, column: int, width: int) -> npt.NDArray[np.bytes_]:
    text = np.ascontiguousarray(cut.padded(column, width).T)
    words: npt.NDArray[np.bytes_] = text.view(f"S{width}")[:, 0]
    return words

"""Many lines of plain text at once: cells, dates and numbers as arrays, read from their bytes.

Nothing is judged here. What does not have the plain form of a date or a number is marked as such,
and is then read, and judged, one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from roofspring.rain.record import FloatArray

BoolArray = npt.NDArray[np.bool_]
ByteArray = npt.NDArray[np.uint8]
IntArray = npt.NDArray[np.int64]

LINE_FEED = 10
MAX_CELL_CHARS = 32
"""Most characters of a cell that are looked at here."""

MAX_DIGITS = 12
"""Longest number read here; with the factors of `MAX_FACTOR` every product is exact."""

MAX_FACTOR = 1000
"""2^53 is more than 10^12 times this."""

_MONTH_DAYS = np.array([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31, *[0] * 87])
_POWERS = 10.0 ** np.arange(23)
"""Powers of ten that a float holds exactly."""


@dataclass(frozen=True)
class Cells:
    """Cells of a block of lines: where each starts, and where it ends, (rows, columns)."""

    bytes: ByteArray
    start: IntArray
    end: IntArray

    @property
    def count(self) -> int:
        """Rows."""
        return len(self.start)

    def row(self, at: int) -> list[str]:
        """One row as text."""
        pairs = zip(self.start[at].tolist(), self.end[at].tolist(), strict=True)
        return [self.bytes[a:b].tobytes().decode("ascii") for a, b in pairs]

    def length(self, column: int) -> IntArray:
        """Characters of each cell of a column."""
        length: IntArray = self.end[:, column] - self.start[:, column]
        return length

    def padded(self, column: int, width: int) -> ByteArray:
        """The first characters of each cell, (width, rows); past its end they mean nothing."""
        text: ByteArray = sliding_window_view(self.bytes, width)[self.start[:, column]]
        return np.ascontiguousarray(text.T)


def cells(block: bytes, *, delimiter: str, columns: int) -> Cells | None:
    """Cut lines that end in line feeds into cells; None where one has more or fewer, or none."""
    text = np.frombuffer(block + bytes(MAX_CELL_CHARS), dtype=np.uint8)
    cuts = np.flatnonzero((text == LINE_FEED) | (text == ord(delimiter)))
    if len(cuts) % columns:
        return None
    end = cuts.reshape(-1, columns)
    if (text[end[:, -1]] != LINE_FEED).any() or (text[end[:, :-1]] == LINE_FEED).any():
        return None
    start = np.empty_like(end)
    start[:, 1:] = end[:, :-1] + 1
    start[0, 0], start[1:, 0] = 0, end[:-1, -1] + 1
    return None if columns == 1 and (start == end).any() else Cells(text, start, end)


def numbers(cut: Cells, column: int) -> tuple[IntArray, IntArray, BoolArray, BoolArray]:
    """Plain decimals, such as ``-12.70``: digits as a whole number, decimals, minus, and whether.

    A cell is plain if it has up to `MAX_DIGITS` characters after its sign, digits and at most one
    point, and at least one digit.
    """
    length = cut.length(column)
    longest = int(min(length.max(initial=0), MAX_DIGITS + 1))
    text = cut.padded(column, max(longest, 1))
    minus = (text[0] == ord("-")) & (length > 0)
    whole = np.zeros(cut.count, dtype=np.int64)
    decimals = np.zeros(cut.count, dtype=np.int64)
    digits_count = np.zeros(cut.count, dtype=np.int64)
    good = length - minus <= MAX_DIGITS
    point = np.zeros(cut.count, dtype=np.bool_)
    for k in range(longest):
        digit = text[k] - np.uint8(48)  # what is no digit turns to 10 or more
        inside = length > k
        is_digit = inside & (digit < 10)
        whole = np.where(is_digit, whole * 10 + digit, whole)
        digits_count += is_digit
        decimals += is_digit & point
        here = inside & (text[k] == ord("."))
        good &= is_digit | ~inside | (here & ~point) | ((k == 0) & minus)
        point |= here
    return whole, decimals, minus, good & (digits_count > 0)


def quotient(whole: IntArray, decimals: IntArray, *, factor: int = 1, shift: int = 0) -> FloatArray:
    """``whole * factor / 10^(decimals + shift)``, rounded once, as the decimal number would be."""
    value: FloatArray = (whole * factor) / _POWERS[decimals + shift]
    return value


def dates(text: ByteArray) -> tuple[IntArray, BoolArray]:
    """Days since 1970 of ``2012-10-11`` in the first ten rows of (width, n); and whether it is one.

    Source
    ------
    Days of the proleptic Gregorian calendar by years from March on: common practice, no source;
    held against `datetime.date` by the tests.
    """
    digit = text[:10] - np.uint8(48)
    good = (digit[[0, 1, 2, 3, 5, 6, 8, 9]] < 10).all(axis=0)
    good &= (text[4] == ord("-")) & (text[7] == ord("-"))
    n = digit.astype(np.int64)
    year = n[0] * 1000 + n[1] * 100 + n[2] * 10 + n[3]
    month = np.where(good, n[5] * 10 + n[6], 0)
    day = n[8] * 10 + n[9]
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    last = _MONTH_DAYS[month] + ((month == 2) & leap)
    good &= (year >= 1) & (day >= 1) & (day <= last)
    march = year - (month <= 2)
    into = (153 * (month + np.where(month > 2, -3, 9)) + 2) // 5 + day - 1
    return march * 365 + march // 4 - march // 100 + march // 400 + into - 719_468, good


def clocks(text: ByteArray, length: IntArray) -> tuple[IntArray, BoolArray]:
    """Seconds since midnight of ``15:00`` or ``15:00:30`` in (8, n); and whether it is one."""
    digit = (text - np.uint8(48)).astype(np.int64)
    is_digit = (digit >= 0) & (digit < 10)
    seconds = length == 8
    good = is_digit[[0, 1, 3, 4]].all(axis=0) & (text[2] == ord(":")) & (seconds | (length == 5))
    good &= ~seconds | ((text[5] == ord(":")) & is_digit[6] & is_digit[7])
    hour, minute = digit[0] * 10 + digit[1], digit[3] * 10 + digit[4]
    second = np.where(seconds, digit[6] * 10 + digit[7], 0)
    good &= (hour < 24) & (minute < 60) & (second < 60)
    return 3600 * hour + 60 * minute + second, good

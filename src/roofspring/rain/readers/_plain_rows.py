"""Rows of a table whose cells have plain forms, read all at once."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from roofspring.rain.readers._build import MAX_DEPTH_M, Rows
from roofspring.rain.readers._bulk import (
    MAX_FACTOR,
    BoolArray,
    Cells,
    IntArray,
    clocks,
    dates,
    numbers,
    quotient,
)
from roofspring.rain.readers._columns import Column, Columns
from roofspring.rain.readers._stamps import DAY_S
from roofspring.rain.record import FloatArray, Kept

NEAR_LIMIT = 0.999
"""Depths above this share of the greatest are judged one by one."""

_STAMP_CHARS, _DATE_CHARS = 19, 10


@dataclass(frozen=True)
class PlainRows:
    """What the plain rows of a block hold; elsewhere than where `good` the values mean nothing.

    ``utc`` are times that end in Z, ``dated`` are rows without a time of day.
    """

    time_s: IntArray
    depth_m: FloatArray
    kept: npt.NDArray[np.uint8]
    temps: dict[str, FloatArray]
    good: BoolArray
    utc: BoolArray
    dated: BoolArray

    def append_to(self, rows: Rows, first: int, last: int, *, line: int) -> None:
        """Add the rows from ``first`` up to ``last``; ``line`` is that of row 0."""
        part = slice(first, last)
        rows.time_s.frombytes(self.time_s[part].tobytes())
        rows.depth_m.frombytes(self.depth_m[part].tobytes())
        rows.kept.frombytes(self.kept[part].tobytes())
        rows.line.frombytes(np.arange(line + first, line + last, dtype=np.int64).tobytes())
        for key, values in self.temps.items():
            getattr(rows, key).frombytes(values[part].tobytes())


def readable(columns: Columns) -> bool:
    """Whether rows with these columns are read all at once."""
    special = columns.tips or columns.station is not None or columns.clock is not None
    return not special and _factor(columns.rain_m_per_unit) is not None


def plain_rows(cut: Cells, columns: Columns, *, temp_limits_degc: tuple[float, float]) -> PlainRows:
    """Read the rows that have plain forms, and mark the others."""
    time_s, good, utc, dated = _times(cut, columns.time.index)
    depth, kept, fine = _depths(cut, columns)
    good &= fine
    temps = {}
    for key, column in columns.temps.items():
        temps[key], fine = _temps(cut, column, temp_limits_degc)
        good &= fine
    return PlainRows(time_s, depth, kept, temps, good, utc & good, dated & good)


def _times(cut: Cells, column: int) -> tuple[IntArray, BoolArray, BoolArray, BoolArray]:
    length = cut.length(column)
    text = cut.padded(column, _STAMP_CHARS)
    days, good = dates(text)
    dated = length == _DATE_CHARS
    if dated.all():
        return days * DAY_S, good, np.zeros_like(good), dated
    utc = (length > _DATE_CHARS) & (cut.bytes[cut.end[:, column] - 1] == ord("Z"))
    second, timed = clocks(text[_DATE_CHARS + 1 :], length - _DATE_CHARS - 1 - utc)
    between = (text[_DATE_CHARS] == ord("T")) | (text[_DATE_CHARS] == ord(" "))
    good &= dated | (timed & between)
    return days * DAY_S + np.where(dated, 0, second), good, utc, dated


def _depths(cut: Cells, columns: Columns) -> tuple[FloatArray, npt.NDArray[np.uint8], BoolArray]:
    assert columns.rain is not None  # only a file of tips may lack it
    factor = _factor(columns.rain_m_per_unit)
    assert factor is not None  # `readable` has looked
    whole, decimals, minus, good = numbers(cut, columns.rain.index)
    value = quotient(whole, decimals, factor=factor[0], shift=factor[1])
    good &= ~minus & (value < NEAR_LIMIT * MAX_DEPTH_M)
    empty = cut.length(columns.rain.index) == 0
    kept = np.full(cut.count, Kept.MEASURED, dtype=np.uint8)
    if columns.kept is not None:
        known = _words(cut, columns.kept.index, kept)
        good &= kept != Kept.MISSING
        return (
            np.where(empty, np.nan, value),
            np.where(empty & (kept != Kept.FAILED), np.uint8(Kept.MISSING), kept),
            (good | empty) & known,
        )
    kept[empty] = Kept.MISSING
    return np.where(empty, np.nan, value), kept, good | empty


def _words(cut: Cells, column: int, kept: npt.NDArray[np.uint8]) -> BoolArray:
    """Put the marks of a column of words into ``kept``; and which words are known."""
    length = cut.length(column)
    known: BoolArray = length == 0
    for mark in Kept:
        word = np.frombuffer(mark.name.lower().encode("ascii"), dtype=np.uint8)
        here = length == len(word)
        if here.any():
            here &= (cut.padded(column, len(word)) == word[:, np.newaxis]).all(axis=0)
            kept[here] = mark
            known |= here
    return known


def _temps(
    cut: Cells, column: Column, limits_degc: tuple[float, float]
) -> tuple[FloatArray, BoolArray]:
    whole, decimals, minus, good = numbers(cut, column.index)
    value = quotient(whole, decimals)
    value = np.where(minus, -value, value)
    if column.slope != 1.0:
        value = value * column.slope + column.offset
    good &= (value >= limits_degc[0]) & (value <= limits_degc[1])
    empty = cut.length(column.index) == 0
    return np.where(empty, np.nan, value), good | empty


def _factor(metres: Decimal) -> tuple[int, int] | None:
    """Metres in one unit as a whole number and a power of ten below it, if both are small."""
    _, digits, exponent = metres.as_tuple()
    whole = int("".join(map(str, digits)))
    if not isinstance(exponent, int) or not -10 <= exponent <= 0 or whole > MAX_FACTOR:
        return None
    return whole, -exponent

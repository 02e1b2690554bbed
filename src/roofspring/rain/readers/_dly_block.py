"""Many lines of GHCN-Daily in fixed columns at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from roofspring.rain.readers._ghcn import MISSING, limits
from roofspring.rain.readers._readings import BLANK, BoolArray, ByteArray, IntArray, Settled

WIDTH, LEAST_WIDTH = 269, 266
"""Characters of a line, and of one whose trailing blanks were cut off."""

HEAD, DAYS, CELL = 21, 31, 8
MAX_ODD_SHARE = 0.25
"""A block with more odd lines is read line by line; engineering choice."""

_WEIGHTS = np.array([10_000, 1_000, 100, 10, 1])
_UNIX_DAY = 719_163  # proleptic ordinal of 1970-01-01
_SPACE, _MINUS, _LOW_LINE = ord(" "), ord("-"), ord("_")


@dataclass(frozen=True)
class PlainLines:
    """Lines of a block; what is odd about some of them is for the reader of single lines to say.

    Attributes
    ----------
    chars : (n, 269) uint8
        The lines, with trailing blanks.
    length : (n,) int64
        Characters that they had.
    value : (n, 31) int64
    line : int
        Number of the first one.
    good : (n,) bool
        Whether a line is whole, and every value in it a number that need not be looked at again.
    """

    chars: ByteArray
    length: IntArray
    value: IntArray
    line: int
    good: BoolArray

    @property
    def count(self) -> int:
        """Lines."""
        return len(self.chars)

    @property
    def odd(self) -> list[int]:
        """The lines that are not good."""
        found: list[int] = np.flatnonzero(~self.good).tolist()
        return found

    @property
    def stations(self) -> list[str]:
        """Stations of the good lines, in order of the file."""
        names, first = np.unique(self._station[self.good], return_index=True)
        return [names[i].decode("ascii") for i in np.argsort(first)]

    @cached_property
    def _station(self) -> npt.NDArray[np.bytes_]:
        return _words(self.chars, 0, 11)

    @cached_property
    def _element(self) -> npt.NDArray[np.bytes_]:
        return _words(self.chars, 17, HEAD)

    def text(self, at: int) -> str:
        """One line as text."""
        line: bytes = self.chars[at, : self.length[at]].tobytes()
        return line.decode("ascii")

    def values(self, element: str, *, station: str) -> Settled:
        """What the good lines of an element of a station hold, absent values left out."""
        mine = self.good & (self._element == element.encode("ascii"))
        mine &= self._station == station.encode("ascii")
        chars, value = self.chars[mine], self.value[mine]
        cells = chars[:, HEAD:].reshape(-1, DAYS, CELL)
        there = value != MISSING
        first, _ = _months(chars)
        day = (first + _UNIX_DAY)[:, np.newaxis] + np.arange(DAYS)
        line = np.broadcast_to((self.line + np.flatnonzero(mine))[:, np.newaxis], day.shape)
        return Settled(
            day[there],
            value[there].astype(np.float64),
            cells[:, :, 5][there],
            cells[:, :, 6][there],
            line[there],
        )


def plain_lines(text: bytes, *, line: int) -> PlainLines | None:
    """Cut a block into lines of which most are good; None where they are not.

    ``text`` is ASCII and ends in a line feed; ``line`` is the number of its first line.
    """
    chars = np.frombuffer(text + b" " * WIDTH, dtype=np.uint8)
    end = np.flatnonzero(chars == ord("\n"))
    start = np.concatenate(([0], end[:-1] + 1))
    length = end - start
    if (length < LEAST_WIDTH).any() or (length > WIDTH).any():
        return None
    rows = sliding_window_view(chars, WIDTH)[start]
    tail = np.arange(LEAST_WIDTH, WIDTH)
    rows[:, LEAST_WIDTH:][tail >= length[:, np.newaxis]] = BLANK
    value, good = _values(rows)
    if (~good).sum() > MAX_ODD_SHARE * len(rows):
        return None
    return PlainLines(rows, length, value, line, good)


def _values(chars: ByteArray) -> tuple[IntArray, BoolArray]:
    """The values of each line, and whether nothing is odd about it."""
    head = chars[:, :HEAD]
    letter = (head >= ord("A")) & (head <= ord("Z"))
    digit = (head >= ord("0")) & (head <= ord("9"))
    sign = (head == _MINUS) | (head == _LOW_LINE)
    good = letter[:, :2].all(axis=1) & (letter | digit | sign)[:, 2:11].all(axis=1)
    good &= digit[:, 11:17].all(axis=1) & (letter | digit)[:, 17:].all(axis=1)
    good &= (chars >= _SPACE).all(axis=1)  # a tab is no flag
    _, days = _months(chars)
    cells = chars[:, HEAD:].reshape(-1, DAYS, CELL)
    value, whole = _whole(cells)
    low, high = np.full(len(chars), -np.inf), np.full(len(chars), np.inf)
    element = _words(chars, 17, HEAD)
    for name in ("PRCP", "MDPR", "DAPR"):
        mine = element == name.encode("ascii")
        low[mine], high[mine] = limits(name)
    inside = (value >= low[:, np.newaxis]) & (value <= high[:, np.newaxis])
    failed = cells[:, :, 6] != BLANK
    of_month = np.arange(DAYS) < days[:, np.newaxis]
    fine = whole & ((value == MISSING) | (of_month & (failed | inside)))
    return value, good & (days > 0) & fine.all(axis=1)


def _whole(cells: ByteArray) -> tuple[IntArray, BoolArray]:
    """Whole numbers at the right of five columns, and whether they are."""
    value = np.zeros(cells.shape[:2], dtype=np.int64)
    fine = np.ones(cells.shape[:2], dtype=np.bool_)
    minus, begun = np.zeros_like(fine), np.zeros_like(fine)
    for k in range(5):
        text = cells[:, :, k]
        digit = text - np.uint8(ord("0"))  # what is no digit turns to 10 or more
        is_digit, is_minus = digit < 10, text == _MINUS
        # Blanks, then a sign or none, then digits to the end.
        fine &= is_digit | (~begun & (is_minus | (text == _SPACE)))
        value = np.where(is_digit, value * 10 + digit, value)
        begun |= is_digit | is_minus
        minus |= is_minus
    return np.where(minus, -value, value), fine & is_digit


def _months(chars: ByteArray) -> tuple[IntArray, IntArray]:
    """First day of each line's month, since 1970, and its days; none where it is no month."""
    number = chars[:, 11:17].astype(np.int64) - ord("0")
    year = number[:, :4] @ _WEIGHTS[1:]
    month = number[:, 4:] @ _WEIGHTS[3:]
    good = (year >= 1) & (year <= 9999) & (month >= 1) & (month <= 12)
    months = np.where(good, (year - 1970) * 12 + month - 1, 0).astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    after = (months + 1).astype("datetime64[D]").astype(np.int64)
    return first, np.where(good, after - first, 0)


def _words(chars: ByteArray, first: int, last: int) -> npt.NDArray[np.bytes_]:
    part = np.ascontiguousarray(chars[:, first:last])
    words: npt.NDArray[np.bytes_] = part.view(f"S{last - first}")[:, 0]
    return words

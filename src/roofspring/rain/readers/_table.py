"""A table with a heading, whatever file it stands in: columns named, rows taken in, one record."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from roofspring.errors import Finding
from roofspring.errors.names import did_you_mean
from roofspring.rain.readers._build import MAX_DEPTH_M, Rows, build
from roofspring.rain.readers._bulk import cells
from roofspring.rain.readers._columns import Column, Columns, find_columns
from roofspring.rain.readers._plain_rows import plain_rows, readable
from roofspring.rain.readers._stamps import DAY_S, Stamp, Stamps
from roofspring.rain.readers._text import Problems, wrong_count
from roofspring.rain.readers._tips import MAX_TIP_M, TIP_STEP_S, Tips, tip_depth_m, tip_step
from roofspring.rain.record import Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE

MISSING_WORDS = frozenset({"", "na", "n/a", "nan", "null"})
MISSING_NUMBERS = (-9999.0, -999.0)
TRACE_WORDS = frozenset({"t", "tr", "trace"})
KEPT_WORDS = {k.name.lower(): k for k in Kept}

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_TEMP_LIMITS_DEGC = (-95.0, 65.0)
"""A little outside all that has been measured in air: -89.2 and 56.7 degrees C (WMO_EXTREMES)."""

_MAX_KEPT = 20_000

MAX_ODD_SHARE = 0.25
"""A block with more rows of other than plain forms is read row by row; engineering choice."""


@dataclass(frozen=True)
class Told:
    """What the reader of a table was told beside the file.

    ``stamp`` says whether a time marks the start or the end of its step; ``tip`` the depth of one
    tip of a tipping bucket, as text, where each row is a tip; ``tip_step_s`` the step that tips are
    added up to, 300 s when not told.
    """

    unit: str | None = None
    station: str | None = None
    stamp: Stamp = "start"
    tip: str | None = None
    tip_step_s: float | None = None


def number(text: str) -> Decimal | None:
    """A number with a point as decimal mark, or None."""
    return Decimal(text) if _NUMBER.fullmatch(text) else None


def check_temp(value: float, problems: Problems, *, line: int, where: str, got: str) -> None:
    """Note a temperature that no air has had."""
    low, high = _TEMP_LIMITS_DEGC
    if not low <= value <= high:
        problems.add(
            "REC-021",
            "no air has been this cold or hot",
            line=line,
            where=where,
            got=got,
            allowed=f"{low:g} to {high:g} degrees C",
            next="mend the value, or leave the cell empty; check the unit in the heading",
        )


class Table:
    """Takes in the heading, then row by row."""

    def __init__(
        self, headings: list[str], told: Told, problems: Problems, *, line: int, cells: str
    ) -> None:
        self.problems, self.told = problems, told
        self._cells = cells
        self.columns: Columns = find_columns(
            headings, unit=told.unit, line=line, problems=problems, tips=told.tip is not None
        )
        self._rows = Rows()
        self._stamps = Stamps(last_24=told.stamp == "end", fractions=self.columns.tips)
        self._tips: Tips | None = None
        self._tip_m = 0.0 if told.tip is None else tip_depth_m(told.tip, problems)
        self._offsets_min: dict[int | None, int] = {}
        """Offsets from UTC, each with the first line that has it."""
        self._stations: set[str] = set()
        self._depths: dict[str, tuple[float, int]] = {}
        if told.station is not None and self.columns.station is None:
            problems.fatal(
                "REC-015",
                "a station was asked for, but the file has no station column",
                got=told.station,
                next="leave out the station, or check that this is the right file",
            )
        if self.columns.tips:
            step_s = TIP_STEP_S if told.tip_step_s is None else told.tip_step_s
            self._tips = Tips(tip_step(step_s, problems), problems)
            if told.stamp == "end":
                problems.fatal(
                    "REC-038",
                    "a tip has no step whose start or end its time could mark",
                    where="stamp",
                    got=told.stamp,
                    next="leave out stamp for a tipping bucket",
                )
        elif told.tip_step_s is not None:
            problems.fatal(
                "REC-038",
                "a step for tips was told, but the rows of this file are depths",
                where="tip_step_s",
                got=f"{told.tip_step_s:g} s",
                allowed="with tip, or with a column headed tip_mm",
                next="leave out the step; give the depth of one tip as well if each row is a tip",
            )

    def row(self, cells: list[str], line: int) -> None:
        """Take one row in; problems gather on the way."""
        columns = self.columns
        if len(cells) != columns.count:
            wrong_count(self.problems, line, got=len(cells), allowed=columns.count)
            return
        if columns.station is not None:
            name = cells[columns.station.index].strip()
            if name == self.told.station or len(self._stations) <= 20:
                self._stations.add(name)
            if self.told.station is not None and name != self.told.station:
                return
        when = self._time(cells, line)
        if self._tips is not None:
            depth = self._tip(cells, line)
            if when is not None and depth is not None:
                self._tips.add(when, depth, line)
            return
        rain = self._rain(cells, line)
        temps = {key: self._temp(cells, col, line) for key, col in columns.temps.items()}
        if when is None or rain is None:
            return
        rows = self._rows
        rows.time_s.append(when)
        rows.depth_m.append(rain[0])
        rows.kept.append(rain[1])
        rows.line.append(line)
        for key, value in temps.items():
            getattr(rows, key).append(value)

    def block(self, text: bytes, line: int, *, delimiter: str) -> int:
        """Take in whole lines of plain text, of which ``line`` is the first, all at once.

        How many they were; 0 where they have to be read one by one.
        """
        if not text or not readable(self.columns):
            return 0
        cut = cells(text, delimiter=delimiter, columns=self.columns.count)
        if cut is None:
            return 0
        plain = plain_rows(cut, self.columns, temp_limits_degc=_TEMP_LIMITS_DEGC)
        odd = np.flatnonzero(~plain.good).tolist()
        if len(odd) > MAX_ODD_SHARE * cut.count:
            return 0
        first = 0
        for at in [*odd, cut.count]:
            plain.append_to(self._rows, first, at, line=line)
            if at < cut.count:
                self.row(cut.row(at), line + at)
            first = at + 1
        usual = 0 if self.columns.utc else None
        for offset, rows in ((0, plain.utc), (usual, plain.good & ~plain.utc)):
            if rows.any():
                self._offsets_min.setdefault(offset, line + int(rows.argmax()))
        self._rows.dates_only &= not (plain.good & ~plain.dated).any()
        return cut.count

    def record(
        self,
        *,
        name: str,
        source: str,
        fill_method: str = "none",
        findings: Sequence[Finding] = (),
    ) -> RainRecord:
        """What the rows make."""
        self._settle_stations()
        if len(self._stations) > 1 and self.told.station is None:
            self.problems.check()  # their rows would only contradict each other
        shift_s = self._settle_clock()
        found = [*findings, *self._findings()]
        if self._tips is not None:
            self.problems.check()
            if shift_s and self._tips.at:
                self._shift_tips(shift_s)
            return self._tips.record(name=name, source=source, findings=found)
        return build(
            self._rows,
            name=name,
            source=source,
            fill_method=fill_method,
            problems=self.problems,
            findings=found,
            stamp=self.told.stamp,
            shift_s=shift_s,
            clock_unknown=self._offsets_min.keys() == {None},
        )

    def _time(self, cells: list[str], line: int) -> int | None:
        """Seconds since 1970, in UTC where the time has an offset, else as the clock stood."""
        text = cells[self.columns.time.index].strip()
        day, clock_text, found = self._stamps.day(text[:10]), text[11:], None
        if self.columns.clock is not None:
            clock_text = cells[self.columns.clock.index].strip()
            found = self._stamps.clock(clock_text) if len(text) == 10 else None
        elif len(text) > 10 and text[10] in "T " and text[12:13].isdigit():
            found = self._stamps.clock(clock_text)
        if day is None or (found is None and (self.columns.clock is not None or len(text) != 10)):
            self._not_a_time(f"{text} {clock_text}" if self.columns.clock else text, line)
            return None
        offset = 0 if self.columns.utc else None
        second = 0
        if found is not None:
            self._rows.dates_only = False
            second = found.second
            offset = offset if found.offset_min is None else found.offset_min
        elif self.columns.tips:
            self._not_a_time(text, line)
            return None
        self._offsets_min.setdefault(offset, line)
        return day * DAY_S + second - 60 * (offset or 0)

    def _not_a_time(self, text: str, line: int) -> None:
        self.problems.add(
            "REC-009",
            "this is not a date of the calendar"
            if not self.columns.tips
            else "this is not a date of the calendar with a time of day",
            line=line,
            got=text or "an empty cell",
            allowed="2012-10-11, 2012-10-11T15:00 or 2012-10-11 15:00:00Z, days that exist",
            next="write year-month-day, and the time of day as hours and minutes; 24:00 is read "
            "only where times mark the end of a step",
        )

    def _rain(self, cells: list[str], line: int) -> tuple[float, int] | None:
        column = self.columns.rain
        assert column is not None  # only a file of tips may lack it
        if self.columns.kept is None:
            text = cells[column.index]
            known = self._depths.get(text)
            if known is None:
                known = self._depth(text.strip(), Kept.MEASURED, column, line)
                if known is not None and len(self._depths) < _MAX_KEPT:
                    self._depths[text] = known
            return known
        word = cells[self.columns.kept.index].strip().lower()
        if word and word not in KEPT_WORDS:
            self.problems.add(
                "REC-010",
                "this word does not say how a value was come by",
                line=line,
                where=self.columns.kept.heading,
                got=word,
                allowed=", ".join(KEPT_WORDS),
                next=did_you_mean(word, KEPT_WORDS),
            )
            return None
        mark = KEPT_WORDS.get(word, Kept.MEASURED)
        return self._depth(cells[column.index].strip(), mark, column, line)

    def _depth(self, text: str, mark: Kept, column: Column, line: int) -> tuple[float, int] | None:
        gone = (math.nan, mark if mark == Kept.FAILED else Kept.MISSING)
        if text.lower() in MISSING_WORDS:
            return gone
        if text.lower() in TRACE_WORDS:
            return 0.0, Kept.TRACE
        value = self._number(text, column, line)
        if value is None:
            return None
        if float(value) in MISSING_NUMBERS:
            return gone
        if value < 0 or value * self.columns.rain_m_per_unit > MAX_DEPTH_M:
            self.problems.add(
                "REC-011",
                "the depth is negative"
                if value < 0
                else "more rain than has ever been measured in a day",
                line=line,
                where=column.heading,
                got=text,
                allowed=f"0 to {MAX_DEPTH_M * 1e3:g} mm; missing is empty, NA, -9999 or -999",
                next="mend the value, or leave the cell empty if it is unknown; check the unit",
            )
            return None
        if mark == Kept.MISSING:
            self.problems.add(
                "REC-010",
                "a value is given but marked as missing",
                line=line,
                where=column.heading,
                got=text,
                allowed="an empty cell where the mark is missing",
                next="empty the cell, or mend the mark",
            )
            return None
        return float(value * self.columns.rain_m_per_unit), mark

    def _tip(self, cells: list[str], line: int) -> float | None:
        """Depth of this tip [m]."""
        column = self.columns.rain
        if column is None:
            return self._tip_m
        text = cells[column.index].strip()
        value = self._number(text, column, line)
        if value is None:
            return None
        depth = float(value * self.columns.rain_m_per_unit)
        if not 0.0 <= depth <= MAX_TIP_M:
            self.problems.add(
                "REC-037",
                "this is not the depth of a tip",
                line=line,
                where=column.heading,
                got=text,
                allowed=f"0 to {MAX_TIP_M * 1e3:g} mm",
                next="check the unit; head the column precip_mm if its rows are sums over a step",
            )
            return None
        return depth

    def _temp(self, cells: list[str], column: Column, line: int) -> float:
        text = cells[column.index].strip()
        if text.lower() in MISSING_WORDS:
            return math.nan
        parsed = self._number(text, column, line)
        if parsed is None or float(parsed) in MISSING_NUMBERS:
            return math.nan
        value = float(parsed)
        if column.slope != 1.0:  # a column in degrees C is kept bit for bit, -0.0 too
            value = value * column.slope + column.offset
        check_temp(value, self.problems, line=line, where=column.heading, got=text)
        return value

    def _number(self, text: str, column: Column, line: int) -> Decimal | None:
        value = number(text)
        if value is not None:
            return value
        comma = "," in text
        self.problems.add(
            "REC-010",
            "a comma in a number is not read: it may be a decimal or a thousands mark"
            if comma
            else "this is not a number",
            line=line,
            where=column.heading,
            got=text,
            allowed="digits with a point as decimal mark and no thousands mark, T for a trace, "
            "or empty, NA, NaN, null, -9999, -999 where missing",
            next=self._cells if comma else "mend the cell, or leave it empty",
        )
        return None

    def _settle_stations(self) -> None:
        names, asked = ", ".join(sorted(self._stations)[:20]), self.told.station
        if asked is None and len(self._stations) > 1:
            self.problems.add(
                "REC-015",
                "the file holds several stations",
                got=names,
                next="say which station to read",
            )
        elif asked is not None and asked not in self._stations:
            self.problems.add(
                "REC-015",
                "the file does not hold this station",
                got=asked,
                allowed=names,
                next="use a name that the file has",
            )

    def _settle_clock(self) -> int:
        """Seconds from UTC to the standard time of the offsets in the file."""
        known = [m for m in self._offsets_min if m is not None]
        if known and None in self._offsets_min:
            bare = self._offsets_min[None]
            told = min(self._offsets_min[minutes] for minutes in known)
            self.problems.add(
                "REC-013",
                "some times have an offset from UTC and some have none",
                line=max(bare, told),
                got=f"none first at line {bare}, one first at line {told}",
                allowed="all with, or all without",
                next="write all times in the same way",
            )
            return 0
        return 60 * min(known, default=0)

    def _shift_tips(self, shift_s: int) -> None:
        """Move the sums by whole steps, so that days start at midnight standard time."""
        assert self._tips is not None
        steps, rest = divmod(shift_s, self._tips.step_s)
        if rest:
            self.problems.fatal(
                "REC-013",
                "the offset from UTC is not a whole number of the steps that tips are added up to",
                got=f"{shift_s // 60} min and steps of {self._tips.step_s} s",
                next="use a shorter step, such as tip_step_s = 900",
            )
        for i, place in enumerate(self._tips.at):
            self._tips.at[i] = place + steps

    def _findings(self) -> list[Finding]:
        """What a reader should know about the clock."""
        if self._offsets_min.keys() != {0}:
            return []
        return [
            Finding(
                "REC-118",
                "note",
                "times are in UTC; days are counted from midnight UTC, not local midnight",
                source=ENGINEERING_CHOICE,
                next="give local standard time if the hour of the rain matters to you",
            )
        ]

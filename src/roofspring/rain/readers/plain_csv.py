"""Plain CSV: a heading line, a column of dates or times and a column of rain."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M, Rows, build
from roofspring.rain.readers._columns import Column, Columns, find_columns
from roofspring.rain.readers._text import Lines, Problems, open_lines
from roofspring.rain.record import Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE

MISSING_WORDS = frozenset({"", "na", "n/a", "nan", "null"})
MISSING_NUMBERS = (-9999.0, -999.0)
TRACE_WORDS = frozenset({"t", "tr", "trace"})
KEPT_WORDS = {k.name.lower(): k for k in Kept}
HEAD = "# roofspring rain record"
"""First line of our own files; name, source and fill method follow as comments."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_WHEN = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})"
    r"(?:[T ]([0-9]{2}:[0-9]{2})(:[0-9]{2})?(?:\.0+)?\s?(Z|[+-][0-9]{2}:?[0-9]{2})?)?"
)
_EPOCH = datetime(1970, 1, 1)
_TEMP_LIMITS_DEGC = (-95.0, 65.0)
"""A little outside all that has been measured in air: -89.2 and 56.7 degrees C (WMO_EXTREMES)."""


def read_csv(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read a plain CSV record; gaps stay gaps.

    Parameters
    ----------
    path : Path
        Comma, semicolon or tab between the cells; a heading line; ``#`` lines are comments.
    unit : str, optional
        Unit of the rain column, where its heading does not say: ``mm``, ``cm``, ``m``, ``in``,
        ``0.1 mm`` or ``0.01 in``.
    station : str, optional
        Which rows to read, where the file has a ``station`` column.

    Returns
    -------
    RainRecord
        Depths [m]; NaN and `Kept.MISSING` where the file has none.

    Raises
    ------
    RecordError (REC-001 to REC-021)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    Missing are: an absent row, an empty cell, ``NA``, ``N/A``, ``NaN``, ``null``, -9999 and -999.
    Nothing else: 99.99 is a depth. ``T`` or ``trace`` is kept as a trace, 0 m. A time with an
    offset is turned to the least offset in the file, which is standard time. A time marks the
    start of its step. Temperatures read through a day give its extremes when at least 75 % of the
    steps have one (engineering choice).

    Source
    ------
    WMO_EXTREMES, greatest rain in 24 hours (upper limit of a depth).
    """
    problems = Problems(path)
    with open_lines(path, problems) as lines:
        rows = _Table(lines, problems, unit=unit, station=station)
        rows.read()
    head = rows.head
    return build(
        rows.rows,
        name=head.get("name", station or path.stem),
        source=head.get("source", f"{path.name}, plain CSV"),
        fill_method=head.get("fill_method", "none"),
        problems=problems,
        findings=rows.findings(),
    )


@dataclass
class _Table:
    """One pass over the file."""

    lines: Lines
    problems: Problems
    unit: str | None
    station: str | None
    rows: Rows = field(default_factory=Rows)
    head: dict[str, str] = field(default_factory=dict)
    offsets_min: set[int | None] = field(default_factory=set)
    stations: set[str] = field(default_factory=set)
    row_line: int = 0

    def read(self) -> None:
        """Fill ``rows``; problems gather on the way."""
        heading = next(self._content(), None)
        if heading is None:
            self.problems.fatal("REC-014", "the file is empty", next="check the path")
        between = next((d for d in "\t;" if d in heading), ",")
        cells = csv.reader(self._content(), delimiter=between, strict=True)
        headings = next(csv.reader([heading], delimiter=between))
        columns = find_columns(
            headings, unit=self.unit, line=self.lines.number, problems=self.problems
        )
        if self.station is not None and columns.station is None:
            self.problems.fatal(
                "REC-015",
                "a station was asked for, but the file has no station column",
                got=self.station,
                next="leave out the station, or check that this is the right file",
            )
        self.row_line = self.lines.number
        try:
            for row in cells:
                self._row(row, columns)
                self.row_line = self.lines.number
        except csv.Error as error:
            self.problems.fatal(
                "REC-008",
                f"the row cannot be split into cells: {error}",
                line=self.row_line + 1,
                next="check the quotation marks on this line",
            )
        self._settle_stations()
        self._settle_clock()

    def _content(self) -> Iterator[str]:
        """Lines that are neither empty nor comments; our own comments are remembered."""
        ours = False
        for line in self.lines:
            if line.startswith("#"):
                ours = ours or (self.lines.number == 1 and line.startswith(HEAD))
                key, colon, value = line[1:].partition(":")
                if ours and colon:
                    self.head[key.strip()] = value.strip()[:200]
            elif line.strip():
                yield line

    def _row(self, cells: list[str], columns: Columns) -> None:
        line = self.lines.number
        if len(cells) != columns.count:
            self.problems.add(
                "REC-008",
                "the row has the wrong number of cells",
                line=line,
                got=str(len(cells)),
                allowed=f"{columns.count}, as in the heading",
                next="complete the row; write decimals with a point, as a comma divides cells",
            )
            return
        if columns.station is not None:
            name = cells[columns.station.index].strip()
            if name == self.station or len(self.stations) <= 20:
                self.stations.add(name)
            if self.station is not None and name != self.station:
                return
        when = self._time(cells[columns.time.index].strip(), line)
        rain = self._rain(cells, columns, line)
        temps = {key: self._temp(cells, col, line) for key, col in columns.temps.items()}
        if when is None or rain is None:
            return
        self.rows.time_s.append(when)
        self.rows.depth_m.append(rain[0])
        self.rows.kept.append(rain[1])
        self.rows.line.append(line)
        for key, value in temps.items():
            getattr(self.rows, key).append(value)

    def _time(self, text: str, line: int) -> int | None:
        """Seconds since 1970, in UTC where the time has an offset, else as the clock stood."""
        match = _WHEN.fullmatch(text)
        if match:
            date, minute, second, zone = match.groups()
            try:
                stamp = datetime.fromisoformat(f"{date}T{minute or '00:00'}{second or ':00'}")
                if not zone:
                    offset = None
                elif zone == "Z":
                    offset = 0
                else:
                    aware = datetime.fromisoformat(f"2000-01-01T00:00:00{zone}")
                    offset = round((aware.utcoffset() or timedelta(0)).total_seconds() / 60)
            except ValueError:
                match = None
        if not match:
            self.problems.add(
                "REC-009",
                "this is not a date of the calendar",
                line=line,
                got=text or "an empty cell",
                allowed="2012-10-11, 2012-10-11T15:00 or 2012-10-11 15:00:00Z, days that exist",
                next="write year-month-day in one cell",
            )
            return None
        if minute:
            self.rows.dates_only = False
        self.offsets_min.add(offset)
        past = stamp - _EPOCH
        return past.days * 86_400 + past.seconds - 60 * (offset or 0)

    def _rain(self, cells: list[str], columns: Columns, line: int) -> tuple[float, int] | None:
        text = cells[columns.rain.index].strip()
        word = cells[columns.kept.index].strip().lower() if columns.kept else ""
        mark = KEPT_WORDS.get(word, Kept.MEASURED)
        if word and word not in KEPT_WORDS:
            self.problems.add(
                "REC-010",
                "this word does not say how a value was come by",
                line=line,
                where=columns.kept.heading if columns.kept else "",
                got=word,
                allowed=", ".join(KEPT_WORDS),
                next="use one of these",
            )
            return None
        if text.lower() in MISSING_WORDS:
            return math.nan, mark if mark == Kept.FAILED else Kept.MISSING
        if text.lower() in TRACE_WORDS:
            return 0.0, Kept.TRACE
        number = self._number(text, columns.rain, line)
        if number is None:
            return None
        if float(number) in MISSING_NUMBERS:
            return math.nan, mark if mark == Kept.FAILED else Kept.MISSING
        if number < 0 or number * columns.rain_m_per_unit > MAX_DEPTH_M:
            self.problems.add(
                "REC-011",
                "the depth is negative"
                if number < 0
                else "more rain than has ever been measured in a day",
                line=line,
                where=columns.rain.heading,
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
                where=columns.rain.heading,
                got=text,
                allowed="an empty cell where the mark is missing",
                next="empty the cell, or mend the mark",
            )
            return None
        return float(number * columns.rain_m_per_unit), mark

    def _temp(self, cells: list[str], column: Column, line: int) -> float:
        text = cells[column.index].strip()
        if text.lower() in MISSING_WORDS:
            return math.nan
        number = self._number(text, column, line)
        if number is None or float(number) in MISSING_NUMBERS:
            return math.nan
        value = float(number)
        if column.slope != 1.0:  # a column in degrees C is kept bit for bit, -0.0 too
            value = value * column.slope + column.offset
        if not _TEMP_LIMITS_DEGC[0] <= value <= _TEMP_LIMITS_DEGC[1]:
            self.problems.add(
                "REC-021",
                "no air has been this cold or hot",
                line=line,
                where=column.heading,
                got=text,
                allowed=f"{_TEMP_LIMITS_DEGC[0]:g} to {_TEMP_LIMITS_DEGC[1]:g} degrees C",
                next="mend the value, or leave the cell empty; check the unit in the heading",
            )
        return value

    def _number(self, text: str, column: Column, line: int) -> Decimal | None:
        if _NUMBER.fullmatch(text):
            return Decimal(text)
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
            next="export again with decimal points"
            if comma
            else "mend the cell, or leave it empty",
        )
        return None

    def _settle_stations(self) -> None:
        names = ", ".join(sorted(self.stations)[:20])
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

    def _settle_clock(self) -> None:
        """Turn UTC to the standard time of the offsets in the file."""
        known = [m for m in self.offsets_min if m is not None]
        if known and None in self.offsets_min:
            self.problems.add(
                "REC-013",
                "some times have an offset from UTC and some have none",
                allowed="all with, or all without",
                next="write all times in the same way",
            )
        elif shift := 60 * min(known, default=0):
            for i, time_s in enumerate(self.rows.time_s):
                self.rows.time_s[i] = time_s + shift

    def findings(self) -> list[Finding]:
        """What a reader should know about the clock."""
        if self.offsets_min != {0}:
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

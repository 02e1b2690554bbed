"""GHCN-Daily by station or by year as CSV: one element and day on a line, heading or not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from roofspring.rain.readers._bulk import cells as bulk_cells
from roofspring.rain.readers._ghcn import (
    ELEMENTS,
    STATION_ID,
    Readings,
    assemble,
    refuse_unit,
)
from roofspring.rain.readers._ghcn_block import MAX_DIGITS, MAX_ODD_SHARE, plain_rows
from roofspring.rain.readers._readings import Value
from roofspring.rain.readers._text import MAX_SCAN_BYTES, Lines, Problems, csv_rows, open_lines
from roofspring.rain.record import RainRecord

_FIRST = re.compile(rf"{STATION_ID.pattern},[0-9]{{8}},[A-Z0-9]{{4}},-?[0-9]+,")
_HEADING = "ID,DATE,ELEMENT,DATA_VALUE"
_WHOLE = re.compile(rf"-?[0-9]{{1,{MAX_DIGITS}}}")
COLUMNS = (7, 8)
"""Cells of a row; the time of reading may lack."""

_DATE = re.compile(r"[0-9]{8}")


def looks_like_ghcn_csv(line: str) -> bool:
    """Whether a file's first line is station, day, element and whole number, or their heading.

    >>> looks_like_ghcn_csv("USW00093986,19100316,PRCP,127,,,6,")
    True
    """
    return bool(_FIRST.match(line)) or _is_heading(line)


def read_ghcn_csv(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read GHCN-Daily by-station or by-year CSV; gaps stay gaps.

    Parameters
    ----------
    path : Path
        ``ID,YYYYMMDD,ELEMENT,VALUE,MFLAG,QFLAG,SFLAG,TIME``; the last may lack. The heading that
        some copies have is passed over. May be compressed by gzip, as its publisher gives it. A
        by-year file holds all stations of the world: give the station, and other lines are skipped
        unread.
    unit : None
        The form fixes its unit (tenths of mm), so none may be given.
    station : str, optional
        Eleven-character identifier; needed when the file holds several stations.

    Returns
    -------
    RainRecord
        Daily depths [m], from the first to the last day with rain data.

    Raises
    ------
    RecordError (REC-001 to REC-016)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    Flags and totals over several days are treated as in `read_ghcn_dly`.

    Source
    ------
    MENNE_2012, readme of the by-station files (order of cells), section III (units, flags).
    """
    problems = Problems(path)
    refuse_unit(unit, problems)
    readings = Readings(problems, station)
    limit = MAX_SCAN_BYTES if station is not None else None
    with open_lines(path, problems, max_bytes=limit) as lines:
        content = _content(lines, station, readings)
        for cells in csv_rows(content, lines, problems):
            _row(cells, lines.number, readings)
            while lines.dry and (count := _block(lines, readings, columns=len(cells))):
                lines.taken(count)
    return assemble(readings, source=f"{path.name}, GHCN-Daily CSV", findings=lines.cut_short())


def _block(lines: Lines, readings: Readings, *, columns: int) -> int:
    """Take the next rows in all at once; how many, 0 where they have to be read one by one."""
    text, first = lines.block() if columns in COLUMNS else b"", lines.number + 1
    cut = bulk_cells(text, delimiter=",", columns=columns) if text else None
    if cut is None:
        return 0
    plain = plain_rows(cut, line=first)
    for name in plain.stations:
        readings.wanted(name)
    if not readings.stations:
        return 0
    values = plain.of(readings.station or readings.stations[0])
    odd = sorted([*values.odd, *plain.unnamed])
    if len(odd) > MAX_ODD_SHARE * cut.count:
        return 0
    for element in ELEMENTS:
        many = values.values(element)
        if len(many.day):
            readings.add_many(element, many)
    for at in odd:
        row = cut.row(at)
        if not _is_heading(",".join(row)):
            _row(row, first + at, readings)
    return cut.count


def _content(lines: Lines, station: str | None, readings: Readings) -> Iterator[str]:
    """Lines to be split. Those of another station are only counted, so that a big file is quick."""
    other = station or ""
    for line in lines:
        if line.startswith(other) and not line.isspace():
            if line and not _is_heading(line):
                yield line
        elif STATION_ID.match(line) and line[11:12] == ",":
            if len(readings.stations) <= 20:
                readings.wanted(line[:11])
        elif line.strip() and not _is_heading(line):
            yield line


def _is_heading(line: str) -> bool:
    """The heading that copies in cloud stores have."""
    return line.upper().startswith(_HEADING)


def _row(cells: list[str], number: int, readings: Readings) -> None:
    if len(cells) not in COLUMNS:
        readings.problems.add(
            "REC-008",
            "the row has the wrong number of cells",
            line=number,
            got=str(len(cells)),
            allowed="7 or 8: station, day, element, value, three flags, time",
            next="get the file again from its publisher; a download may have broken off",
        )
        return
    name, day_text, element, value_text, mflag, qflag = (c.strip() for c in cells[:6])
    if not STATION_ID.fullmatch(name):
        readings.problems.add(
            "REC-016",
            "this is not a station identifier",
            line=number,
            got=name,
            allowed="eleven capital letters and digits, country first",
            next="get the file again from its publisher",
        )
        return
    if not readings.wanted(name) or element not in ELEMENTS:
        return
    day = _day(day_text)
    if day is None:
        readings.problems.add(
            "REC-009",
            "this is not a date of the calendar",
            line=number,
            got=day_text,
            allowed="YYYYMMDD, a day that exists",
            next="get the file again from its publisher",
        )
    elif not _WHOLE.fullmatch(value_text):
        readings.problems.add(
            "REC-010",
            "this is not a whole number",
            line=number,
            where=element,
            got=value_text,
            allowed="tenths, without a decimal mark",
            next="get the file again from its publisher",
        )
    else:
        readings.add(element, day, Value(int(value_text), mflag or " ", qflag, number))


def _day(text: str) -> date | None:
    if not _DATE.fullmatch(text):
        return None
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:]))
    except ValueError:
        return None

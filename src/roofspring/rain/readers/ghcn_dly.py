"""GHCN-Daily in fixed columns: one element and month on a line (``.dly``)."""

from __future__ import annotations

import calendar
import re
from datetime import date
from pathlib import Path

from roofspring.rain.readers._dly_block import LEAST_WIDTH, WIDTH, plain_lines
from roofspring.rain.readers._ghcn import (
    ELEMENTS,
    MISSING,
    Readings,
    assemble,
    refuse_unit,
)
from roofspring.rain.readers._readings import Value
from roofspring.rain.readers._text import Lines, Problems, open_lines
from roofspring.rain.record import RainRecord

_HEAD = re.compile(r"([A-Z]{2}[A-Z0-9_-]{9})([0-9]{4})(0[1-9]|1[0-2])([A-Z0-9]{4})")
_VALUE = re.compile(r" *-?[0-9]+")


def looks_like_dly(line: str) -> bool:
    """Whether a file's first line has the head of a fixed-column line."""
    return len(line) >= LEAST_WIDTH - 8 * 30 and bool(_HEAD.match(line))


def read_ghcn_dly(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read GHCN-Daily fixed columns; gaps stay gaps.

    Parameters
    ----------
    path : Path
        Lines of 269 characters; trailing blanks may have been cut off.
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
    -9999 is missing. A quality flag means the value failed: it is not used and its day is marked
    `Kept.FAILED`. Measurement flag T is a trace, P a missing value that the publisher presumed to
    be 0. A total over several days (MDPR, with its number of days in DAPR, ending on its own day)
    is shared evenly over those of its days that have no value, and marked `Kept.SPREAD`.

    Source
    ------
    MENNE_2012, readme section III (columns, units, flags).
    """
    problems = Problems(path)
    refuse_unit(unit, problems)
    readings = Readings(problems, station)
    with open_lines(path, problems) as lines:
        for line in lines:
            if line.strip():
                _line(line, lines.number, readings)
            while lines.dry and (count := _block(lines, readings)):
                lines.taken(count)
    return assemble(
        readings, source=f"{path.name}, GHCN-Daily fixed columns", findings=lines.cut_short()
    )


def _block(lines: Lines, readings: Readings) -> int:
    """Take the next lines in all at once; how many, 0 where they have to be read one by one."""
    text, first = lines.block(), lines.number + 1
    plain = plain_lines(text, line=first) if text else None
    if plain is None:
        return 0
    for name in plain.stations:
        readings.wanted(name)
    for element in ELEMENTS:
        many = plain.values(element, station=readings.station or readings.stations[0])
        if len(many.day):
            readings.add_many(element, many)
    for at in plain.odd:
        _line(plain.text(at), first + at, readings)
    return plain.count


def _line(text: str, number: int, readings: Readings) -> None:
    line = text.rstrip().ljust(WIDTH)
    head = _HEAD.match(line)
    if head is None or not LEAST_WIDTH <= len(text.rstrip()) <= WIDTH:
        readings.problems.add(
            "REC-016",
            "this is not a whole line of station, year, month, element and 31 days",
            line=number,
            got=f"{len(text)} characters: {text[:25]}",
            allowed=f"{WIDTH} characters, or from {LEAST_WIDTH} with trailing blanks cut off",
            next="get the file again from its publisher; a download may have broken off",
        )
        return
    name, year, month, element = head[1], int(head[2]), int(head[3]), head[4]
    if not readings.wanted(name) or element not in ELEMENTS:
        return
    if not 1 <= year <= 9999:
        readings.problems.add(
            "REC-009",
            "this year is not of the calendar",
            line=number,
            got=head[2],
            next="get the file again from its publisher",
        )
        return
    days = calendar.monthrange(year, month)[1]
    for day in range(1, 32):
        cell = line[21 + 8 * (day - 1) : 21 + 8 * day]
        good = _VALUE.fullmatch(cell[:5])
        if good and day <= days:
            value = Value(int(cell[:5]), cell[5], cell[6], number)
            readings.add(element, date(year, month, day), value)
        elif not good or int(cell[:5]) != MISSING:
            readings.problems.add(
                "REC-016",
                "the value is not a whole number" if not good else "the month has no such day",
                line=number,
                where=f"{element} {year}-{month:02d} day {day}",
                got=cell[:5],
                allowed="a whole number of tenths in five columns"
                if not good
                else f"-9999 after day {days}",
                next="get the file again from its publisher",
            )

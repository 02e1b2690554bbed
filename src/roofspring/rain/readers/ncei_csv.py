"""Daily summaries of NCEI as CSV: one day on a line, one column for each element."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Set
from datetime import date
from decimal import Decimal
from pathlib import Path

from roofspring.errors import Finding
from roofspring.rain.readers._daily import Named
from roofspring.rain.readers._ghcn import Readings, assemble
from roofspring.rain.readers._readings import Value
from roofspring.rain.readers._text import Problems, open_lines
from roofspring.rain.record import RainRecord
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

_EPOCH_DAY = date(1970, 1, 1).toordinal()
_MISSING = -9999
_ELEMENTS = ("PRCP", "MDPR", "DAPR", "TMAX", "TMIN")
_ENOUGH_WET_DAYS = 30

_TENTHS_OF_MM: dict[str, Decimal] = {
    "0.1 mm": Decimal(1),
    "mm": Decimal(10),
    "in": Decimal(254),
}
"""Units that NCEI gives these files in, and tenths of mm in one of each."""


def looks_like_ncei_csv(line: str) -> bool:
    """Whether a file's first line is the heading of daily summaries, and not of GSOD.

    >>> looks_like_ncei_csv('"STATION","DATE","LATITUDE","PRCP","PRCP_ATTRIBUTES"')
    True
    """
    names = set(next(csv.reader([line]), []))
    return {"STATION", "DATE"} <= names and "PRCP" in names and "FRSHTT" not in names


def read_ncei_csv(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read daily summaries of NCEI in wide form; gaps stay gaps.

    Parameters
    ----------
    path : Path
        ``STATION,DATE,...,PRCP,PRCP_ATTRIBUTES,...``; may be compressed by gzip.
    unit : {"0.1 mm", "mm", "in"}
        Must be given: nothing in the file says it. The files in the folder named ``access`` are in
        tenths; what is ordered or asked for through a service is in the unit that was chosen then.
    station : str, optional
        Needed when the file holds several stations.

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
    Attributes are measurement, quality and source flag, then perhaps a time of day, and mean the
    same as in `read_ghcn_dly`. Without them, values that failed their checks cannot be told: a
    finding says so. Temperatures go with the unit of rain: tenths of a degree C with ``0.1 mm``,
    degrees C with ``mm``, degrees F with ``in``.

    Source
    ------
    MENNE_2012, section III (units, flags); NCEI_DAILY_DOC (columns, attributes, choice of unit).
    """
    problems = Problems(path)
    per_unit = _unit(unit, problems)
    readings = Readings(problems, station)
    seen = _Seen()
    with open_lines(path, problems) as lines:
        table = Named(lines, problems)
        table.need("STATION", "DATE", "PRCP")
        bare = "PRCP_ATTRIBUTES" not in table.at
        for line in table:
            if not readings.wanted(table.cell("STATION")):
                continue
            day = table.day("DATE")
            if day is None:
                continue
            for element, value in _values(table, unit or "", per_unit, line, seen):
                readings.add(element, date.fromordinal(day + _EPOCH_DAY), value)
    return assemble(
        readings,
        source=f"{path.name}, NCEI daily summaries in {unit}",
        findings=[
            *lines.cut_short(),
            *_bare(path, is_bare=bare),
            *seen.finding(unit or ""),
            *_temps(unit or "", names=table.at.keys() & {"TMAX", "TMIN"}),
        ],
    )


def _unit(unit: str | None, problems: Problems) -> Decimal:
    if unit is None:
        problems.fatal(
            "REC-006",
            "the unit of the rain column is not stated in this form and is never guessed",
            where="unit",
            allowed=", ".join(_TENTHS_OF_MM),
            next="give 0.1 mm for a file from the publisher's access folder; for one that was "
            "ordered, the unit that was chosen: mm for metric, in for standard",
        )
    if unit not in _TENTHS_OF_MM:
        problems.fatal(
            "REC-007",
            "NCEI does not give daily summaries in this unit",
            where="unit",
            got=unit,
            allowed=", ".join(_TENTHS_OF_MM),
            next="use one of these; read a file that someone else has converted as plain CSV",
        )
    return _TENTHS_OF_MM[unit]


class _Seen:
    """Whether the wet days were all whole numbers, as only tenths would be."""

    def __init__(self) -> None:
        self.wet = self.whole = 0

    def finding(self, unit: str) -> list[Finding]:
        if unit == "0.1 mm" or self.wet < _ENOUGH_WET_DAYS or self.whole < self.wet:
            return []
        return [
            Finding(
                "REC-137",
                "caution",
                "every depth is a whole number, as in the files in tenths of mm",
                got=f"{plural(self.wet, 'wet day')}, unit {unit}",
                source=ENGINEERING_CHOICE,
                next="check the unit: 0.1 mm for a file from the publisher's access folder",
            )
        ]


def _values(
    table: Named, unit: str, per_unit: Decimal, line: int, seen: _Seen
) -> Iterator[tuple[str, Value]]:
    """The elements of this row, in tenths of mm, tenths of a degree C, and days."""
    for element in _ELEMENTS:
        if not table.cell(element):
            continue
        number = table.value(element)
        if number is None or number == _MISSING:
            continue
        mflag, qflag, *_ = [
            *(f.strip() for f in table.cell(f"{element}_ATTRIBUTES").split(",")),
            "",
        ]
        tenths = number
        if element in ("PRCP", "MDPR"):
            tenths = number * per_unit
            seen.wet += number > 0
            seen.whole += number > 0 and number == number.to_integral_value()
        elif element != "DAPR" and unit != "0.1 mm":
            tenths = number * 10 if unit == "mm" else (number - 32) * 50 / 9
        if unit == "0.1 mm" and number != number.to_integral_value():
            table.problems.add(
                "REC-010",
                "this is not a whole number",
                line=line,
                where=element,
                got=table.cell(element),
                allowed="tenths, without a decimal mark",
                next="check the unit: this file was perhaps ordered in mm or inches",
            )
            continue
        yield element, Value(float(tenths), mflag or " ", qflag, line)


def _bare(path: Path, *, is_bare: bool) -> list[Finding]:
    if not is_bare:
        return []
    return [
        Finding(
            "REC-136",
            "caution",
            "the file has no PRCP_ATTRIBUTES: values that failed their publisher's checks, traces "
            "and presumed zeros cannot be told from others",
            where=path.name,
            source="NCEI_DAILY_DOC, attributes",
            next="order the file again with its attributes (flags)",
        )
    ]


def _temps(unit: str, *, names: Set[str]) -> list[Finding]:
    if not names:
        return []
    degrees = {"0.1 mm": "tenths of a degree C", "mm": "degrees C", "in": "degrees F"}[unit]
    return [
        Finding(
            "REC-144",
            "note",
            f"the file does not say the unit of its temperatures; they were read in {degrees}, "
            f"which the publisher gives together with {unit} of rain",
            where=", ".join(sorted(names)),
            source="NCEI_DAILY_DOC, choice of unit",
            next="check one temperature by eye",
        )
    ]

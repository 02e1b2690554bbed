"""EPW weather files: no rain record, but daily temperatures of a typical year."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import numpy as np

from roofspring.errors import Finding
from roofspring.rain.readers._table import check_temp, number
from roofspring.rain.readers._text import Problems, open_lines, wrong_count
from roofspring.rain.record import DayArray, FloatArray
from roofspring.rain.words import plural

HEADER_LINES = 8
FIELDS = 35
HOURS = 24
_MISSING_DEGC = 99.9
_DAYS_BEFORE = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
_MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
YEAR_DAYS = 365

WHY_NO_RAIN = (
    "its months are picked from different years to be typical in temperature and sun, and its rain "
    "column is mostly empty or 0: no drought and no storm can be read from it"
)


@dataclass(frozen=True)
class TypicalYear:
    """Daily temperatures of a typical year.

    Attributes
    ----------
    tmin_degc, tmax_degc : (365,) float64
        Coldest and warmest hour of each day from 1 January on, without 29 February [degrees C].
    name : str
        Place, as the file says it.
    source : str
    latitude_deg : float
        North positive.
    findings : tuple of Finding
    """

    tmin_degc: FloatArray
    tmax_degc: FloatArray
    name: str
    source: str
    latitude_deg: float
    findings: tuple[Finding, ...]

    def on(self, days: DayArray) -> tuple[FloatArray, FloatArray]:
        """Extremes for calendar days, the same every year; 29 February is as 28 February.

        Parameters
        ----------
        days : (n,) datetime64[D]

        Returns
        -------
        tuple of two (n,) float64
            Least and greatest temperature [degrees C].
        """
        months = days.astype("datetime64[M]")
        month = months.astype(np.int64) % 12
        day = (days - months).astype(np.int64)
        place = _DAYS_BEFORE[month] + np.minimum(day, np.asarray(_MONTH_DAYS)[month] - 1)
        return self.tmin_degc[place], self.tmax_degc[place]


def looks_like_epw(line: str) -> bool:
    """Whether a file's first line is the place line of EPW."""
    return line.startswith("LOCATION,") and line.count(",") >= 9


def read_epw_temperature(path: Path) -> TypicalYear:
    """Daily temperature extremes from an EPW file, for a plan that has none.

    Parameters
    ----------
    path : Path
        Eight header lines, then 8760 rows of 35 fields.

    Returns
    -------
    TypicalYear

    Raises
    ------
    RecordError (REC-001 to REC-003, REC-008 to REC-010, REC-021, REC-040)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    Field 7 is the dry-bulb temperature [degrees C], missing 99.9, and hour 1 ends at 1 h. Rain
    (field 34) is not read: typical years must not be used for the reliability of a supply.

    Source
    ------
    CRAWLEY_1999 (order of the fields).
    """
    problems = Problems(path)
    low, high = np.full(YEAR_DAYS, np.inf), np.full(YEAR_DAYS, -np.inf)
    seen = np.zeros((YEAR_DAYS, HOURS), dtype=np.bool_)
    head: list[str] = []
    with open_lines(path, problems) as lines:
        for line in lines:
            cells = line.split(",")
            if not head:
                head = cells
                if not looks_like_epw(",".join(cells)):
                    _broken(problems, "the first line is not LOCATION", lines.number)
            if cells[0].strip().isdigit():
                _row(cells, lines.number, (low, high, seen), problems)
    problems.check()
    absent = np.flatnonzero(~seen.all(axis=1))
    latitude = number(head[6].strip()) if len(head) > 6 else None
    if len(absent) or latitude is None:
        _broken(
            problems,
            f"an hour is lacking on {plural(len(absent), 'day')}"
            if len(absent)
            else "the first line has no latitude",
            None,
        )
    name = ", ".join(c.strip() for c in (head[1], head[3]) if c.strip())
    return TypicalYear(
        low,
        high,
        name=name,
        source=f"{path.name}, EPW typical year",
        latitude_deg=float(latitude),
        findings=(
            Finding(
                "REC-139",
                "note",
                "temperatures of a typical year, the same every year: no hard winter is in them",
                where=path.name,
                source="CRAWLEY_1999, typical years",
                next="check frost again with measured temperatures",
            ),
        ),
    )


def _broken(problems: Problems, got: str, line: int | None) -> NoReturn:
    problems.fatal(
        "REC-040",
        "this is not a whole EPW file",
        line=line,
        got=got,
        allowed="a LOCATION line, seven more header lines, and every hour of 365 days",
        next="get the file again; a download may have broken off",
    )


def _row(
    cells: list[str],
    line: int,
    year: tuple[FloatArray, FloatArray, np.ndarray[tuple[int, ...], np.dtype[np.bool_]]],
    problems: Problems,
) -> None:
    if len(cells) != FIELDS:
        wrong_count(problems, line, got=len(cells), allowed=FIELDS)
        return
    texts = [c.strip() for c in cells[1:4]]
    month, day, hour = (int(t) if re.fullmatch("[0-9]{1,2}", t) else 0 for t in texts)
    leap = (month, day) == (2, 29)
    if not (
        1 <= month <= 12 and 1 <= hour <= HOURS and (1 <= day <= _MONTH_DAYS[month - 1] or leap)
    ):
        problems.add(
            "REC-009",
            "this is not a date of the calendar",
            line=line,
            got="-".join(texts),
            allowed="month 1 to 12, a day that it has, hour 1 to 24",
            next="get the file again",
        )
        return
    value = number(cells[6].strip())
    if value is None or float(value) == _MISSING_DEGC:
        problems.add(
            "REC-010",
            "there is no temperature for this hour",
            line=line,
            where="field 7",
            got=cells[6],
            allowed="degrees C with a decimal point",
            next="use another EPW file",
        )
        return
    check_temp(float(value), problems, line=line, where="field 7", got=cells[6])
    if leap:
        return
    place = int(_DAYS_BEFORE[month - 1]) + day - 1
    low, high, seen = year
    low[place], high[place] = min(low[place], float(value)), max(high[place], float(value))
    seen[place, hour - 1] = True

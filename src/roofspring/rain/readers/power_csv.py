"""Daily CSV of NASA POWER: the mean of a grid cell, good for a first look only."""

from __future__ import annotations

import math
import re
from pathlib import Path

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M, Rows, build
from roofspring.rain.readers._daily import AGAIN, Named, not_a_date
from roofspring.rain.readers._ghcn import refuse_unit
from roofspring.rain.readers._stamps import DAY_S, day_number
from roofspring.rain.readers._table import check_temp
from roofspring.rain.readers._text import Lines, Problems, open_lines
from roofspring.rain.record import Kept, RainRecord

BEGIN, END = "-BEGIN HEADER-", "-END HEADER-"
_RAIN = ("PRECTOTCORR", "PRECTOT")
_MISSING = re.compile(r"availability range:\s*(-?[0-9.]+)")
_MAX_HEADER_LINES = 200


def looks_like_power_csv(line: str) -> bool:
    """Whether a file's first line opens the header block of NASA POWER."""
    return line.strip().strip('"').startswith(BEGIN)


def read_power_csv(
    path: Path, *, unit: str | None = None, station: str | None = None
) -> RainRecord:
    """Read daily CSV of NASA POWER; gaps stay gaps.

    Parameters
    ----------
    path : Path
        A header block, then ``YEAR,MO,DY,...`` or ``YEAR,DOY,...`` with ``PRECTOTCORR``.
    unit : None
        The header block must say mm/day, so none may be given.
    station : None
        A file holds one point.

    Returns
    -------
    RainRecord
        Daily depths [m], with a finding that they are for screening only.

    Raises
    ------
    RecordError (REC-001 to REC-015, REC-034)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    The missing value is read from the header block (-999). ``T2M_MIN`` and ``T2M_MAX`` are daily
    extremes [degrees C]. A cell is 0.5 by 0.625 degrees wide: its mean drizzles too often and its
    greatest rain is damped, so no storm can be read from it.

    Source
    ------
    NASA_POWER_DOC (header block, names, units).
    """
    problems = Problems(path)
    refuse_unit(unit, problems, form="daily NASA POWER", fixed="mm/day")
    if station is not None:
        problems.fatal(
            "REC-015",
            "a file of NASA POWER holds one point",
            got=station,
            next="leave out the station",
        )
    rows = Rows()
    with open_lines(path, problems) as lines:
        rain, units, missing = _header(lines, problems)
        table = Named(lines, problems)
        table.need("YEAR", rain, *(() if "DOY" in table.at else ("MO", "DY")))
        if "HR" in table.at:
            problems.fatal(
                "REC-034",
                "only daily files of NASA POWER are read",
                line=lines.number,
                got="an HR column",
                next="get the daily file",
            )
        temps = {
            key: name
            for key, name in (("tmin_degc", "T2M_MIN"), ("tmax_degc", "T2M_MAX"))
            if name in table.at and units.get(name) == "C"
        }
        for line in table:
            day, number = _day(table), table.value(rain)
            if day is None or number is None:
                continue
            depth = float(number) / 1e3
            gone = float(number) == missing
            if not gone and not 0.0 <= depth <= MAX_DEPTH_M:
                problems.add(
                    "REC-011",
                    "the depth cannot be",
                    line=line,
                    where=rain,
                    got=f"{number} mm",
                    allowed=f"0 to {MAX_DEPTH_M * 1e3:g} mm, or {missing:g} where missing",
                    next=AGAIN,
                )
                continue
            rows.time_s.append(day * DAY_S)
            rows.depth_m.append(math.nan if gone else depth)
            rows.kept.append(Kept.MISSING if gone else Kept.MEASURED)
            rows.line.append(line)
            for key, name in temps.items():
                getattr(rows, key).append(_degc(table, name, missing))
    return build(
        rows,
        name=path.stem,
        source=f"{path.name}, NASA POWER daily",
        fill_method="none",
        problems=problems,
        findings=[
            *lines.cut_short(),
            Finding(
                "REC-130",
                "caution",
                "screening only: the mean of a grid cell some 50 km wide, not a gauge; it rains "
                "too often and too little at a time, and no storm can be read from it",
                where=path.name,
                source="NASA_POWER_DOC, resolution of the cells",
                next="size the tank again on a gauge near you; do not size gutters on this",
            ),
        ],
    )


def _header(lines: Lines, problems: Problems) -> tuple[str, dict[str, str], float]:
    """Name of the rain column, unit by name, and the missing value."""
    units: dict[str, str] = {}
    missing = None
    for line in lines:
        text = line.strip().strip('"')
        if text.startswith(END):
            break
        if m := re.match(r"([A-Z0-9_]+)\s+.*\(([^()]*)\)\s*;?$", text):
            units[m[1]] = m[2].strip()
        if m := _MISSING.search(text):
            missing = float(m[1])
        if lines.number > _MAX_HEADER_LINES:
            break
    else:
        text = ""
    rain = next((n for n in _RAIN if n in units), None)
    if not text.startswith(END) or missing is None or rain is None:
        problems.fatal(
            "REC-034",
            "the header block of NASA POWER is not complete",
            line=lines.number,
            got="no end of the block"
            if not text.startswith(END)
            else "no missing value"
            if missing is None
            else f"parameters {', '.join(units) or 'none'}",
            allowed=f"a block up to {END} with the missing value and {_RAIN[0]} in mm/day",
            next="get the file again, with its header and with corrected precipitation",
        )
    if units[rain] not in ("mm/day", "mm day-1"):
        problems.fatal(
            "REC-034",
            "the rain is not in mm/day",
            line=lines.number,
            got=f"{rain} ({units[rain]})",
            allowed="mm/day",
            next="get the daily file",
        )
    return rain, units, missing


def _day(table: Named) -> int | None:
    parts = ("YEAR", "DOY") if "DOY" in table.at else ("YEAR", "MO", "DY")
    cells = [table.cell(name) for name in parts]
    found = None
    if all(re.fullmatch("[0-9]{1,4}", c) for c in cells):
        year, *rest = map(int, cells)
        if len(rest) == 2:
            found = day_number(year, rest[0], rest[1])
        elif (first := day_number(year, 1, 1)) is not None:
            last = day_number(year, 12, 31)
            found = first + rest[0] - 1
            if last is None or not first <= found <= last:
                found = None
    if found is None:
        not_a_date(table.problems, table.lines.number, " ".join(cells), " ".join(parts))
    return found


def _degc(table: Named, name: str, missing: float) -> float:
    number = table.value(name)
    if number is None or float(number) == missing:
        return math.nan
    check_temp(float(number), table.problems, line=table.lines.number, where=name, got=str(number))
    return float(number)

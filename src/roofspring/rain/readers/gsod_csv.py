"""Global Surface Summary of the Day (GSOD) as CSV: inches, degrees F, days of UTC."""

from __future__ import annotations

import csv
import math
from decimal import Decimal
from pathlib import Path

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M, Rows, build
from roofspring.rain.readers._daily import AGAIN, Named
from roofspring.rain.readers._ghcn import refuse_unit
from roofspring.rain.readers._stamps import DAY_S
from roofspring.rain.readers._table import check_temp
from roofspring.rain.readers._text import Problems, open_lines
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.words import plural

_MISSING_IN = Decimal("99.99")
_MISSING_DEGF = Decimal("9999.9")
_M_PER_IN = Decimal("0.0254")
_PARTIAL = frozenset("ABCEH")
_FLAGS = frozenset("ABCDEFGHI")


def looks_like_gsod_csv(line: str) -> bool:
    """Whether a file's first line is the heading of GSOD.

    >>> looks_like_gsod_csv('"STATION","DATE","TEMP","PRCP","PRCP_ATTRIBUTES","SNDP","FRSHTT"')
    True
    """
    return {"STATION", "DATE", "PRCP", "FRSHTT"} <= set(next(csv.reader([line]), []))


def read_gsod_csv(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read GSOD; gaps stay gaps.

    Parameters
    ----------
    path : Path
        ``STATION,DATE,...,PRCP,PRCP_ATTRIBUTES,...,FRSHTT``.
    unit : None
        The form fixes its unit (inches), so none may be given.
    station : str, optional
        Needed when the file holds several stations.

    Returns
    -------
    RainRecord
        Daily depths [m].

    Raises
    ------
    RecordError (REC-001 to REC-015)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    99.99 is missing. Attribute I means that the station reported no precipitation; 0.00 is then
    written all the same, and it is read as missing. Attribute H (zero reported, but rain was seen)
    is a trace. A, B, C, E and H do not cover the whole day: the value stands, and a finding counts
    them. 9999.9 is a missing temperature. Days are those of UTC.

    Source
    ------
    NCEI_GSOD_DOC (units, missing values, attributes).
    """
    problems = Problems(path)
    refuse_unit(unit, problems, form="GSOD", fixed="inches")
    rows, counts, stations = Rows(), {"I": 0, "partial": 0}, set[str]()
    with open_lines(path, problems) as lines:
        table = Named(lines, problems)
        table.need("STATION", "DATE", "PRCP", "PRCP_ATTRIBUTES")
        for line in table:
            name = table.cell("STATION")
            if len(stations) <= 20 or name == station:
                stations.add(name)
            if station is not None and name != station:
                continue
            day, rain = table.day("DATE"), _rain(table, counts)
            tmin, tmax = _degc(table, "MIN"), _degc(table, "MAX")
            if day is None or rain is None:
                continue
            rows.time_s.append(day * DAY_S)
            rows.depth_m.append(rain[0])
            rows.kept.append(rain[1])
            rows.line.append(line)
            rows.tmin_degc.append(tmin)
            rows.tmax_degc.append(tmax)
    _one_station(stations, station, problems)
    return build(
        rows,
        name=station or next(iter(stations), path.stem),
        source=f"{path.name}, GSOD",
        fill_method="none",
        problems=problems,
        findings=[*lines.cut_short(), *_findings(counts)],
    )


def _rain(table: Named, counts: dict[str, int]) -> tuple[float, int] | None:
    number, flag = table.value("PRCP"), table.cell("PRCP_ATTRIBUTES")
    if number is None:
        return None
    if flag and flag not in _FLAGS:
        table.problems.add(
            "REC-010",
            "this is no attribute of a GSOD depth",
            line=table.lines.number,
            where="PRCP_ATTRIBUTES",
            got=flag,
            allowed="one letter from A to I",
            next=AGAIN,
        )
        return None
    if number == _MISSING_IN:
        return math.nan, Kept.MISSING
    depth = float(number * _M_PER_IN)
    if not 0.0 <= depth <= MAX_DEPTH_M:
        table.problems.add(
            "REC-011",
            "the depth is negative"
            if depth < 0.0
            else "more rain than has ever been measured in a day",
            line=table.lines.number,
            where="PRCP",
            got=f"{number} in",
            allowed=f"0 to {MAX_DEPTH_M / 0.0254:.1f} in, or 99.99 where missing",
            next=AGAIN,
        )
        return None
    counts["partial"] += flag in _PARTIAL
    if flag == "I":
        counts["I"] += 1
        return math.nan, Kept.MISSING
    return depth, Kept.TRACE if flag == "H" and depth == 0.0 else Kept.MEASURED


def _degc(table: Named, name: str) -> float:
    if not table.cell(name) or (number := table.value(name)) is None or number == _MISSING_DEGF:
        return math.nan
    value = float((number - 32) * 5 / 9)
    got = f"{number} degrees F"
    check_temp(value, table.problems, line=table.lines.number, where=name, got=got)
    return value


def _one_station(stations: set[str], station: str | None, problems: Problems) -> None:
    names = ", ".join(sorted(stations)[:20])
    if station is None and len(stations) > 1:
        problems.add(
            "REC-015", "the file holds several stations", got=names, next="say which one to read"
        )
        problems.check()  # their rows would only contradict each other
    elif station is not None and station not in stations:
        problems.add(
            "REC-015",
            "the file does not hold this station",
            got=station,
            allowed=names,
            next="use a name that the file has",
        )


def _findings(counts: dict[str, int]) -> list[Finding]:
    found = [
        Finding(
            "REC-118",
            "note",
            "times are in UTC; days are counted from midnight UTC, not local midnight",
            source="NCEI_GSOD_DOC, days",
            next="nothing, unless the day of the rain matters to you",
        )
    ]
    if counts["I"]:
        found.append(
            Finding(
                "REC-133",
                "caution",
                "days on which the station reported no precipitation at all, though 0.00 is "
                "written: they were read as missing (attribute I)",
                got=plural(counts["I"], "day"),
                source="NCEI_GSOD_DOC, attribute I",
                next="prefer a GHCN-Daily station near it",
            )
        )
    if counts["partial"]:
        found.append(
            Finding(
                "REC-134",
                "caution",
                "days whose depth comes from reports of less than 24 hours (attributes A, B, C, E, "
                "H): more may have fallen",
                got=plural(counts["partial"], "day"),
                source="NCEI_GSOD_DOC, attributes A to H",
                next="prefer a GHCN-Daily station near it",
            )
        )
    return found

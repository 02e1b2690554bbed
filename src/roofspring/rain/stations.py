"""Which stations of GHCN-Daily are near a place and measured rain for long."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import numpy as np

from roofspring.errors import Problem, RecordError
from roofspring.rain.readers._text import Problems, open_lines

EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the Earth. Source: MORITZ_2000, mean radius R1."""

STATIONS, INVENTORY = "ghcnd-stations.txt", "ghcnd-inventory.txt"
_NO_HEIGHT_M = -999.9


@dataclass(frozen=True)
class Station:
    """A station that measured rain.

    Attributes
    ----------
    identifier, name : str
    latitude_deg, longitude_deg : float
        North and east positive.
    elevation_m : float or None
        None where the list does not know it.
    distance_m : float
        From the place asked for, along the ground [m].
    first_year, last_year : int
        Between which rain was measured, perhaps with gaps.
    """

    identifier: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    distance_m: float
    first_year: int
    last_year: int


def nearest_stations(
    latitude_deg: float,
    longitude_deg: float,
    *,
    count: int = 5,
    fetch: Callable[[str], Path],
    least_years: int = 10,
) -> tuple[Station, ...]:
    """The nearest stations with many years of rain.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        North and east positive [degrees], -90 to 90 and -180 to 180.
    count : int
        At most so many, 1 or more.
    fetch : callable
        Gives the path of ``ghcnd-stations.txt`` and ``ghcnd-inventory.txt``, such as
        ``lambda name: fetch_list(name, folder="downloads").path``.
    least_years : int
        From the first to the last year with rain, 1 or more.

    Returns
    -------
    tuple of Station
        Nearest first.

    Raises
    ------
    RecordError
        REC-054: a place or number that cannot be. REC-056: a line of a list is broken; and what
        ``fetch`` raises.

    Notes
    -----
    Great-circle distance on a sphere: ``2 R asin sqrt(sin2(dlat/2) + cos lat1 cos lat2
    sin2(dlon/2))``. A near station at another height or behind a ridge may have other rain.

    Source
    ------
    MENNE_2012, readme sections IV and VII (columns of both lists); MORITZ_2000 (radius).
    """
    _check(latitude_deg, longitude_deg, count, least_years)
    years = _years(fetch(INVENTORY))
    rows: list[tuple[str, float, float, float, str]] = []
    path = fetch(STATIONS)
    problems = Problems(path)
    with open_lines(path, problems) as lines:
        for line in lines:
            first, last = years.get(line[:11], (0, -1))
            if last - first + 1 < least_years:
                continue
            try:
                place = float(line[12:20]), float(line[21:30]), float(line[31:37])
            except ValueError:
                _broken(problems, lines.number, line)
                continue
            rows.append((line[:11], *place, line[41:71].strip()))
    problems.check()
    if not rows:
        return ()
    lat, lon = np.radians([r[1] for r in rows]), np.radians([r[2] for r in rows])
    here_lat, here_lon = np.radians(latitude_deg), np.radians(longitude_deg)
    half = (
        np.sin((lat - here_lat) / 2.0) ** 2
        + np.cos(here_lat) * np.cos(lat) * np.sin((lon - here_lon) / 2.0) ** 2
    )
    distance_m = 2.0 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return tuple(
        Station(
            rows[i][0],
            rows[i][4],
            rows[i][1],
            rows[i][2],
            None if rows[i][3] == _NO_HEIGHT_M else rows[i][3],
            float(distance_m[i]),
            *years[rows[i][0]],
        )
        for i in np.argsort(distance_m, kind="stable")[:count]
    )


def _years(path: Path) -> dict[str, tuple[int, int]]:
    """First and last year of rain by station."""
    problems = Problems(path)
    years: dict[str, tuple[int, int]] = {}
    with open_lines(path, problems) as lines:
        for line in lines:
            if line[31:35] != "PRCP":
                if line.strip() and len(line) < 45:
                    _broken(problems, lines.number, line)
                continue
            try:
                years[line[:11]] = int(line[36:40]), int(line[41:45])
            except ValueError:
                _broken(problems, lines.number, line)
    problems.check()
    return years


def _broken(problems: Problems, number: int, line: str) -> None:
    problems.add(
        "REC-056",
        "this line of the list cannot be read",
        line=number,
        got=line,
        allowed="identifier, latitude, longitude and so on in fixed columns",
        next="delete this copy and get the list again",
    )


def _check(latitude_deg: float, longitude_deg: float, count: int, least_years: int) -> None:
    for where, value, low, high in (
        ("latitude_deg", latitude_deg, -90.0, 90.0),
        ("longitude_deg", longitude_deg, -180.0, 180.0),
        ("count", count, 1, 1000),
        ("least_years", least_years, 1, 300),
    ):
        if not low <= value <= high:
            cannot(where, f"{value:g}", f"{low:g} to {high:g}")


def cannot(where: str, got: str, allowed: str) -> NoReturn:
    """Refuse a request that cannot be made."""
    raise RecordError(
        Problem(
            "REC-054",
            "this request cannot be made",
            where=where,
            got=got,
            allowed=allowed,
            next="mend this value",
        )
    )

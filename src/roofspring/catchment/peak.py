"""Peak flow from a roof: wind-driven rain, codes' intensities, screens, debris by season."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import not_negative, part_share, positive, share

MONTHS_COUNT = 12
_SCREEN_DISCHARGE_FRAC = 0.6
SCREEN_HEAD_M = 0.01
"""Water that may stand on a screen; engineering choice."""


def wind_area_m2(area_m2: float, *, eave_m: float, rise_m: float) -> float:
    """Area that catches rain driven by wind, for the peak flow only.

    Parameters
    ----------
    area_m2 : float
        Area of the roof as seen from above [m2], above 0.
    eave_m : float
        Length of the eave that the gutter serves [m], 0 or more.
    rise_m : float
        Height of the ridge over the eave [m], 0 or more.

    Returns
    -------
    float
        Area [m2].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``L (W + H / 2)`` with L W the area: rain that comes at a slope of two to one. A year's yield
    gains nothing by it.

    Source
    ------
    EN_12056_3, effective roof area; quoted.

    Examples
    --------
    >>> wind_area_m2(40.0, eave_m=10.0, rise_m=3.0)
    55.0
    """
    positive("area_m2", area_m2)
    not_negative("eave_m", eave_m)
    not_negative("rise_m", rise_m)
    return area_m2 + eave_m * rise_m / 2.0


def wall_area_m2(area_m2: float, *, wall_m2: float) -> float:
    """Area that catches rain where a wall stands over the roof, by US codes.

    Parameters
    ----------
    area_m2 : float
        Area of the roof as seen from above [m2], above 0.
    wall_m2 : float
        Area of the one wall that drains onto it [m2], 0 or more.

    Returns
    -------
    float
        Area [m2].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    Half of the wall is added.

    Source
    ------
    NSPC_2006, vertical walls; quoted.

    Examples
    --------
    >>> wall_area_m2(40.0, wall_m2=12.0)
    46.0
    """
    positive("area_m2", area_m2)
    not_negative("wall_m2", wall_m2)
    return area_m2 + wall_m2 / 2.0


def screen_area_m2(
    flow_m3_per_s: float,
    *,
    open_frac: float,
    blinded_frac: float = 0.5,
    head_m: float = SCREEN_HEAD_M,
) -> float:
    """Area of screen that lets a flow through under little water.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow [m3/s], 0 or more.
    open_frac : float
        Open area over whole area of the clean mesh [-], between 0 and 1.
    blinded_frac : float
        Share of it blinded by leaves [-], 0 to below 1.
    head_m : float
        Water that may stand on it [m], above 0.

    Returns
    -------
    float
        Area [m2].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value that cannot be.

    Notes
    -----
    The open area as an orifice, discharge 0.6. Half blinded and 10 mm of water are engineering
    choices.

    Source
    ------
    STREETER_WYLIE_1979, orifices (Torricelli's law).

    Examples
    --------
    >>> round(screen_area_m2(3e-3, open_frac=0.4), 3)
    0.056
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    part_share("open_frac", open_frac)
    share("blinded_frac", blinded_frac)
    positive("1 - blinded_frac", 1.0 - blinded_frac)
    positive("head_m", head_m)
    speed_m_per_s = _SCREEN_DISCHARGE_FRAC * math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)
    return flow_m3_per_s / (open_frac * (1.0 - blinded_frac) * speed_m_per_s)


def mesh_open_frac(opening_m: float, *, wire_m: float) -> float:
    """Open share of a square mesh by its opening and its wire [-].

    >>> round(mesh_open_frac(1e-3, wire_m=0.5e-3), 3)
    0.444
    """
    positive("opening_m", opening_m)
    positive("wire_m", wire_m)
    return (opening_m / (opening_m + wire_m)) ** 2


@dataclass(frozen=True)
class CodeRain:
    """A design intensity that a code or the trade gives, for a place without rain of its own.

    Attributes
    ----------
    name : str
    rain_m_per_s : float or None
        Intensity [m/s]; None where the code names a storm for the place instead.
    storm : str
        That storm in words.
    source, seen : str
    """

    name: str
    rain_m_per_s: float | None
    storm: str
    source: str
    seen: str


@cache
def code_rain() -> tuple[CodeRain, ...]:
    """Design intensities of codes, in the order of the file.

    >>> [round(row.rain_m_per_s * 3.6e6) for row in code_rain() if row.rain_m_per_s]
    [75]
    """
    path = resources.files("roofspring.catchment").joinpath("tables/code_rain.csv")
    return tuple(
        CodeRain(
            row["name"],
            float(row["rain_mm_per_h"]) / 3.6e6 if row["rain_mm_per_h"] else None,
            row["storm"],
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


@dataclass(frozen=True)
class Debris:
    """What falls on roofs in some months, and what to do about it."""

    what: str
    months: tuple[int, ...]
    do: str
    source: str


@cache
def _debris() -> tuple[Debris, ...]:
    path = resources.files("roofspring.catchment").joinpath("tables/debris.csv")
    return tuple(
        Debris(row["what"], tuple(int(m) for m in row["months"].split()), row["do"], row["source"])
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


def debris_by_season(*, is_southern: bool = False) -> tuple[Debris, ...]:
    """What dirties roofs and screens through the year; months are 1 to 12.

    South of the equator the months are half a year later.

    >>> debris_by_season()[0].months, debris_by_season(is_southern=True)[0].months
    ((3, 4, 5, 6), (9, 10, 11, 12))
    """
    if not is_southern:
        return _debris()
    half = MONTHS_COUNT // 2
    return tuple(
        Debris(d.what, tuple(sorted((m - 1 + half) % MONTHS_COUNT + 1 for m in d.months)), d.do,
               d.source)
        for d in _debris()
    )  # fmt: skip

"""Boiling: how long, and how hot water boils up there."""

from __future__ import annotations

import math

from roofspring.constants import Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite

LONGER_FROM = Sourced(
    1000.0,
    "m",
    "EPA_EMERGENCY",
    "printed as 5,000 ft (1,000 m), which do not agree: the lower is used",
)
USUAL_S, LONGER_S = 60.0, 180.0
HOT_ENOUGH_DEGC = Sourced(70.0, "degC", "WHO_BOIL_2015", "kills all three groups in a minute")
SEA_PA, SCALE_M = 101325.0, 44330.8
HIGHEST_M = 6000.0


def boil_time_s(elevation_m: float) -> float:
    """Time at a rolling boil.

    Parameters
    ----------
    elevation_m : float
        Height over the sea [m], up to 6000.

    Returns
    -------
    float
        One minute, or three from 1000 m on [s].

    Raises
    ------
    RangeError (SAF-003)
        Higher than that.

    Source
    ------
    EPA_EMERGENCY. Its sheet prints 5,000 ft as 1,000 m; 5,000 ft are 1,524 m. The lower is used.

    Examples
    --------
    >>> boil_time_s(640.0), boil_time_s(1200.0)
    (60.0, 180.0)
    """
    _height(elevation_m)
    return USUAL_S if elevation_m < LONGER_FROM.value else LONGER_S


def boiling_point_degc(elevation_m: float) -> float:
    """Temperature at which water boils at a height.

    Parameters
    ----------
    elevation_m : float
        [m], up to 6000.

    Returns
    -------
    float
        [degrees C]; far over the 70 that kill germs in a minute, at any height people live at.

    Raises
    ------
    RangeError (SAF-003)
        Higher than 6000 m.

    Notes
    -----
    Pressure of the standard atmosphere, ``101325 (1 - z / 44330.8)**5.25588``, and the Antoine
    equation of water, ``T = 1730.63 / (8.07131 - log10(p / 133.322)) - 233.426``.

    Source
    ------
    ICAO_1993; ANTOINE_1888 with the constants of the trade's tables, from memory.

    Examples
    --------
    >>> round(boiling_point_degc(0.0)), round(boiling_point_degc(3000.0))
    (100, 90)
    """
    _height(elevation_m)
    pressure = SEA_PA * (1.0 - elevation_m / SCALE_M) ** 5.25588
    return 1730.63 / (8.07131 - math.log10(pressure / 133.322)) - 233.426


def _height(elevation_m: float) -> None:
    finite("elevation_m", elevation_m)
    if not -500.0 <= elevation_m <= HIGHEST_M:
        raise RangeError(
            Problem(
                "SAF-003",
                "nothing is published for this height",
                where="elevation_m",
                got=f"{elevation_m:g} m",
                allowed="-500 to 6000 m",
                next="check the unit of the height",
            )
        )

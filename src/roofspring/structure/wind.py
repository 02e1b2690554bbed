"""Wind on tanks: the speed at which an empty one tips over or slides."""

from __future__ import annotations

import math

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import not_negative, positive

_PRESSURE_FACTOR = 0.613
"""Half the density of air [kg/m3], as building codes print it."""
FORCE_FACTOR = 1.3
"""Force over dynamic pressure and face area of a box; a smooth upright cylinder has less."""
FRICTION_FRAC = 0.4
"""Plastic or timber on stone or concrete, dry; an engineering choice on the low side."""


def wind_pressure_pa(speed_m_per_s: float) -> float:
    """Dynamic pressure of wind [Pa], ``0.613 V**2``.

    >>> round(wind_pressure_pa(40.0))
    981
    """
    not_negative("speed_m_per_s", speed_m_per_s)
    return _PRESSURE_FACTOR * speed_m_per_s**2


def tipping_wind_m_per_s(
    mass_kg: float,
    *,
    face_m: float,
    height_m: float,
    base_m: float,
    stand_m: float = 0.0,
) -> float:
    """Wind that begins to tip a tank that nothing holds down.

    Parameters
    ----------
    mass_kg : float
        Mass of the tank with what it holds and what it is fixed to [kg], above 0.
    face_m, height_m : float
        Width and height of the side in the wind [m], above 0.
    base_m : float
        Width of the base along the wind [m], above 0.
    stand_m : float
        Height of an open stand that it is fixed to, itself not in the wind [m], 0 or more.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``W b / 2`` against ``0.613 V**2 1.3 A (stand + h / 2)``. Gusts and lift are left out.

    Source
    ------
    ASCE_7, velocity pressure; the force factor from memory.

    Examples
    --------
    >>> v = tipping_wind_m_per_s(60.0, face_m=1.219, height_m=1.168, base_m=1.016)
    >>> round(v, 2)
    21.24
    """
    for name, value in (("mass_kg", mass_kg), ("face_m", face_m), ("height_m", height_m)):
        positive(name, value)
    positive("base_m", base_m)
    not_negative("stand_m", stand_m)
    holds_n_m = mass_kg * GRAVITY_M_PER_S2 * base_m / 2.0
    arm_m = stand_m + height_m / 2.0
    return math.sqrt(holds_n_m / (_PRESSURE_FACTOR * FORCE_FACTOR * face_m * height_m * arm_m))


def sliding_wind_m_per_s(mass_kg: float, *, face_m: float, height_m: float) -> float:
    """Wind that begins to push a tank that nothing holds down.

    Parameters
    ----------
    mass_kg, face_m, height_m : float
        As in `tipping_wind_m_per_s`.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    ``0.4 W`` against ``0.613 V**2 1.3 A``.

    Source
    ------
    ASCE_7, velocity pressure; the two factors from memory.

    Examples
    --------
    >>> round(sliding_wind_m_per_s(60.0, face_m=1.219, height_m=1.168), 1)
    14.4
    """
    for name, value in (("mass_kg", mass_kg), ("face_m", face_m), ("height_m", height_m)):
        positive(name, value)
    face_m2 = face_m * height_m
    weight_n = mass_kg * GRAVITY_M_PER_S2
    return math.sqrt(FRICTION_FRAC * weight_n / (_PRESSURE_FACTOR * FORCE_FACTOR * face_m2))

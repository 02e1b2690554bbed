"""Orifices: flow at a head, the hole for a wanted flow, and the time a tank takes to drain."""

from __future__ import annotations

import math

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, not_negative, part_share, positive

SHARP_DISCHARGE_FRAC = 0.61
"""Discharge coefficient of a sharp-edged round hole; textbooks give 0.60 to 0.62."""


def orifice_factor(diameter_m: float, *, discharge_frac: float = SHARP_DISCHARGE_FRAC) -> float:
    """Flow per square root of head, ``Cd a sqrt(2 g)`` [m2.5/s], of a round hole.

    >>> round(orifice_factor(0.020, discharge_frac=0.62), 8)
    0.00086261
    """
    positive("diameter_m", diameter_m)
    part_share("discharge_frac", discharge_frac)
    return discharge_frac * math.pi * diameter_m**2 / 4.0 * math.sqrt(2.0 * GRAVITY_M_PER_S2)


def orifice_flow_m3_per_s(
    head_m: float, *, diameter_m: float, discharge_frac: float = SHARP_DISCHARGE_FRAC
) -> float:
    """Flow through a round hole under a head.

    Parameters
    ----------
    head_m : float
        Water level above the middle of the hole, or above the level on its far side if that
        drowns it [m]. Zero or less gives no flow.
    diameter_m : float
        Hole diameter [m], above 0.
    discharge_frac : float
        Discharge coefficient [-], above 0 and below 1.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A head that is no number, a diameter not above 0, a coefficient not between 0 and 1.

    Notes
    -----
    ``Q = Cd a sqrt(2 g h)``, for heads of a few diameters or more.

    Source
    ------
    STREETER_WYLIE_1979, orifices (Torricelli's law).

    Examples
    --------
    >>> round(orifice_flow_m3_per_s(1.0, diameter_m=0.003) * 3.6e6, 1)
    68.7
    """
    finite("head_m", head_m)
    return orifice_factor(diameter_m, discharge_frac=discharge_frac) * math.sqrt(max(0.0, head_m))


def orifice_diameter_m(
    flow_m3_per_s: float, *, head_m: float, discharge_frac: float = SHARP_DISCHARGE_FRAC
) -> float:
    """Hole that passes a wanted flow at a head: the throttle of a sand filter.

    Parameters
    ----------
    flow_m3_per_s : float
        Wanted flow [m3/s], above 0.
    head_m : float
        Head over the hole at that flow [m], above 0.
    discharge_frac : float
        Discharge coefficient [-], above 0 and below 1.

    Returns
    -------
    float
        Diameter [m].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value not above 0, or a coefficient not between 0 and 1.

    Notes
    -----
    `orifice_flow_m3_per_s` turned round.

    Source
    ------
    STREETER_WYLIE_1979, orifices (Torricelli's law).

    Examples
    --------
    >>> round(orifice_diameter_m(68.7 / 3.6e6, head_m=1.0) * 1e3, 2)
    3.0
    """
    positive("flow_m3_per_s", flow_m3_per_s)
    positive("head_m", head_m)
    part_share("discharge_frac", discharge_frac)
    speed_m_per_s = math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)
    return math.sqrt(4.0 * flow_m3_per_s / (math.pi * discharge_frac * speed_m_per_s))


def drain_time_s(
    start_m: float,
    *,
    end_m: float,
    area_m2: float,
    outflow_factor: float,
    inflow_m3_per_s: float = 0.0,
) -> float:
    """Time for a straight-sided tank to go from one level to another through a hole.

    Parameters
    ----------
    start_m, end_m : float
        Levels above the hole [m], 0 or more. ``end_m`` may be the higher one if inflow wins.
    area_m2 : float
        Plan area of the tank [m2], above 0.
    outflow_factor : float
        Flow per square root of level [m2.5/s], above 0; see `orifice_factor`.
    inflow_m3_per_s : float
        Steady inflow [m3/s], 0 or more.

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    RangeError (DOM-002)
        A negative or non-finite value.
    RangeError (DOM-005)
        The level settles before it gets to ``end_m``, or moves away from it.

    Notes
    -----
    With ``I`` in and ``c sqrt(h)`` out, the level settles at ``(I / c)**2`` and
    ``t = (2 A / c**2) (c (sqrt(h0) - sqrt(h1)) + I ln((I - c sqrt(h0)) / (I - c sqrt(h1))))``;
    with no inflow, ``t = 2 A (sqrt(h0) - sqrt(h1)) / c``.

    Source
    ------
    STREETER_WYLIE_1979, unsteady flow from reservoirs (Torricelli's law, integrated).

    Examples
    --------
    >>> c = orifice_factor(0.020, discharge_frac=0.62)
    >>> round(drain_time_s(0.9, end_m=0.0, area_m2=1.0, outflow_factor=c) / 60.0, 2)
    36.66
    >>> t_s = drain_time_s(0.8, end_m=0.5, area_m2=1.2, outflow_factor=4e-4,
    ...                    inflow_m3_per_s=1.5e-4)
    >>> round(t_s, 2)
    2130.28
    """
    not_negative("start_m", start_m)
    not_negative("end_m", end_m)
    positive("area_m2", area_m2)
    positive("outflow_factor", outflow_factor)
    not_negative("inflow_m3_per_s", inflow_m3_per_s)
    if start_m == end_m:
        return 0.0
    first = outflow_factor * math.sqrt(start_m)
    last = outflow_factor * math.sqrt(end_m)
    gain_first, gain_last = inflow_m3_per_s - first, inflow_m3_per_s - last
    falling = end_m < start_m and gain_last < 0.0
    rising = end_m > start_m and gain_last > 0.0
    scale = 2.0 * area_m2 / outflow_factor**2
    if inflow_m3_per_s == 0.0 and end_m < start_m:
        return scale * (first - last)
    if not (falling or rising):
        settles_m = (inflow_m3_per_s / outflow_factor) ** 2
        raise RangeError(
            Problem(
                "DOM-005",
                "the tank never gets to the end level",
                where="end_m",
                got=f"{end_m:g} m from {start_m:g} m",
                allowed=f"a level between the start and {settles_m:g} m, where the tank settles",
                next="ask for a level short of that, or change the hole or the inflow",
            )
        )
    return scale * (first - last + inflow_m3_per_s * math.log(gain_first / gain_last))

"""Levels over a sand bed in time: a filter behind a weir is an exact linear reservoir."""

from __future__ import annotations

import math

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, positive


def linear_store_level_m(
    start_m: float,
    *,
    time_s: float,
    area_m2: float,
    conductance_m2_per_s: float,
    inflow_m3_per_s: float,
) -> float:
    """Level of a store whose outflow is in proportion to the level, after a time of steady inflow.

    Parameters
    ----------
    start_m : float
        Level above the outlet weir at the start [m], 0 or more.
    time_s : float
        Time since then [s], 0 or more.
    area_m2 : float
        Plan area of the water [m2], above 0.
    conductance_m2_per_s : float
        Outflow per level [m2/s], 0 or more; for a filter, bed area over ``L / K + Rs``.
    inflow_m3_per_s : float
        Steady inflow [m3/s], 0 or more.

    Returns
    -------
    float
        Level above the outlet weir [m].

    Raises
    ------
    RangeError (DOM-002)
        A value not in its range.

    Notes
    -----
    ``h = I/k + (h0 - I/k) exp(-k t / A)``, exact for any length of step.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, linear reservoir.

    Examples
    --------
    >>> h = linear_store_level_m(0.2, time_s=6 * 3600, area_m2=1.2, conductance_m2_per_s=2e-5,
    ...                          inflow_m3_per_s=1e-5)
    >>> round(h, 6)
    0.290697
    """
    not_negative("start_m", start_m)
    not_negative("time_s", time_s)
    positive("area_m2", area_m2)
    not_negative("conductance_m2_per_s", conductance_m2_per_s)
    not_negative("inflow_m3_per_s", inflow_m3_per_s)
    # expm1 keeps the digits when the conductance is small, and gives h0 + I t / A when it is 0.
    exponent = conductance_m2_per_s * time_s / area_m2
    gone = -math.expm1(-exponent)
    filled_m = inflow_m3_per_s * time_s / area_m2 * (gone / exponent if exponent > 0.0 else 1.0)
    return start_m * (1.0 - gone) + filled_m


def linear_store_time_s(
    start_m: float,
    *,
    end_m: float,
    area_m2: float,
    conductance_m2_per_s: float,
    inflow_m3_per_s: float,
) -> float:
    """Time until the store of `linear_store_level_m` gets to a level.

    Parameters
    ----------
    start_m, end_m : float
        Levels above the outlet weir [m], 0 or more.
    area_m2, conductance_m2_per_s, inflow_m3_per_s : float
        As in `linear_store_level_m`; here the conductance is above 0.

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    RangeError (DOM-002)
        A value not in its range.
    RangeError (DOM-005)
        The level settles at ``I / k`` before it gets there, or moves away from it.

    Notes
    -----
    ``t = (A / k) ln((h0 - I/k) / (h1 - I/k))``.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, linear reservoir.

    Examples
    --------
    >>> t_s = linear_store_time_s(0.2, end_m=0.4, area_m2=1.2, conductance_m2_per_s=2e-5,
    ...                           inflow_m3_per_s=1e-5)
    >>> round(t_s / 3600, 4)
    18.3102
    """
    not_negative("start_m", start_m)
    not_negative("end_m", end_m)
    positive("area_m2", area_m2)
    positive("conductance_m2_per_s", conductance_m2_per_s)
    not_negative("inflow_m3_per_s", inflow_m3_per_s)
    if start_m == end_m:
        return 0.0
    settles_m = inflow_m3_per_s / conductance_m2_per_s
    first, last = start_m - settles_m, end_m - settles_m
    if first * last <= 0.0 or abs(last) > abs(first):
        raise RangeError(
            Problem(
                "DOM-005",
                "the store never gets to the end level",
                where="end_m",
                got=f"{end_m:g} m from {start_m:g} m",
                allowed=f"a level between the start and {settles_m:g} m, where the store settles",
                next="ask for a level short of that, or change the inflow or the filter",
            )
        )
    return area_m2 / conductance_m2_per_s * math.log(first / last)


def falling_head_time_s(
    start_m: float,
    *,
    end_m: float,
    depth_m: float,
    conductivity_m_per_s: float,
    skin_resistance_s: float = 0.0,
    area_ratio: float = 1.0,
) -> float:
    """Time for the water over a bed to fall from one height above the weir to another, unfed.

    Parameters
    ----------
    start_m, end_m : float
        Heights above the outlet weir [m]; ``end_m`` above 0 and not above ``start_m``.
    depth_m : float
        Sand depth [m], above 0.
    conductivity_m_per_s : float
        Of the sand at the water's temperature [m/s], above 0.
    skin_resistance_s : float
        Head per rate of the living skin [s], 0 or more.
    area_ratio : float
        Area of the falling water over area of the bed [-], above 0.

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    RangeError (DOM-002, DOM-005)
        A value not in its range; an end level above the start.

    Notes
    -----
    ``t = r (L / K + Rs) ln(h1 / h2)``: the field test of conductivity, turned round.

    Source
    ------
    DARCY_1856, integrated (falling-head test).

    Examples
    --------
    >>> t_s = falling_head_time_s(0.30, end_m=0.05, depth_m=0.8, conductivity_m_per_s=2.74 / 3600)
    >>> round(t_s / 60, 1)
    31.4
    """
    positive("end_m", end_m)
    positive("depth_m", depth_m)
    positive("conductivity_m_per_s", conductivity_m_per_s)
    not_negative("skin_resistance_s", skin_resistance_s)
    positive("area_ratio", area_ratio)
    return linear_store_time_s(
        start_m,
        end_m=end_m,
        area_m2=area_ratio,
        conductance_m2_per_s=1.0 / (depth_m / conductivity_m_per_s + skin_resistance_s),
        inflow_m3_per_s=0.0,
    )


def cake_run_s(
    rate_m_per_s: float,
    *,
    head_m: float,
    depth_m: float,
    conductivity_m_per_s: float,
    cake_s_per_m: float,
) -> float:
    """Length of a filter run at a constant rate while the skin grows with what was filtered.

    Parameters
    ----------
    rate_m_per_s : float
        Filtration rate [m/s], above 0.
    head_m : float
        Head to be had at the end of the run [m], above 0.
    depth_m : float
        Sand depth [m], above 0.
    conductivity_m_per_s : float
        Of the clean sand [m/s], above 0.
    cake_s_per_m : float
        Skin resistance gained per depth of water filtered [s/m], above 0.

    Returns
    -------
    float
        Time to the end of the run [s]; 0 where the clean bed already takes all the head.

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    ``t = (H - v L / K) / (a v**2)``: twice the rate, about a quarter of the run. Real skins also
    grow by life, so fit ``a`` to the filter's own log.

    Source
    ------
    RUTH_1935, cake filtration.

    Examples
    --------
    >>> t_s = cake_run_s(0.1 / 3600, head_m=0.9, depth_m=0.8, conductivity_m_per_s=2.74 / 3600,
    ...                  cake_s_per_m=0.05 * 3600)
    >>> round(t_s / 86400, 2)
    72.57
    """
    positive("rate_m_per_s", rate_m_per_s)
    positive("head_m", head_m)
    positive("depth_m", depth_m)
    positive("conductivity_m_per_s", conductivity_m_per_s)
    positive("cake_s_per_m", cake_s_per_m)
    left_m = head_m - rate_m_per_s * depth_m / conductivity_m_per_s
    return max(0.0, left_m) / (cake_s_per_m * rate_m_per_s**2)

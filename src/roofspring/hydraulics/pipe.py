"""Full gravity pipes: head lost at a flow, and the flow a head drives."""

from __future__ import annotations

import math
from functools import lru_cache

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import finite, not_negative, positive, share
from roofspring.water import kinematic_viscosity_m2_per_s

WAVE_M_PER_S = 400.0
WALL_WAVES_M_PER_S = {
    "soft-plastic": WAVE_M_PER_S,
    "stiff-plastic": 500.0,
    "copper": 1250.0,
    "steel": 1300.0,
}
"""Speed of a pressure wave by the wall of a house pipe; engineering choices within textbook ranges:
the softer and thinner the wall, the slower."""
_CREEPING_REYNOLDS = 1.0
"""Below this, Churchill's formula equals 64 / Re to the last bit."""


def friction_factor(reynolds: float, *, roughness_frac: float) -> float:
    """Darcy friction factor of a full pipe, laminar to fully rough in one formula.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-], above 0.
    roughness_frac : float
        Roughness height over inside diameter [-], 0 to 1; the formula was fitted up to 0.05.

    Returns
    -------
    float
        Darcy (not Fanning) friction factor [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        Reynolds number not above 0, or a roughness outside 0 to 1.

    Notes
    -----
    ``f = 8 ((8/Re)**12 + (A + B)**-1.5)**(1/12)``. Between Re 2000 and 4000 real pipes do either;
    the formula gives a smooth passage.

    Source
    ------
    CHURCHILL_1977.

    Examples
    --------
    >>> round(friction_factor(1e5, roughness_frac=1e-4), 6)
    0.018463
    >>> round(friction_factor(1000.0, roughness_frac=1e-4), 4)
    0.064
    """
    positive("reynolds", reynolds)
    share("roughness_frac", roughness_frac)
    if reynolds < _CREEPING_REYNOLDS:
        return 64.0 / reynolds
    a = (2.457 * math.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * roughness_frac))) ** 16
    b = (37530.0 / reynolds) ** 16
    return float(8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0))


def loss_m(
    flow_m3_per_s: float,
    *,
    diameter_m: float,
    length_m: float,
    roughness_m: float,
    k_sum: float,
    temp_degc: float,
) -> float:
    """Head lost in a full pipe with its fittings.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow [m3/s], 0 or more.
    diameter_m, length_m : float
        Inside diameter and length [m], above 0.
    roughness_m : float
        Roughness height [m], 0 or more; new plastic pipe about 1.5e-6.
    k_sum : float
        Sum of the loss factors of entry, fittings, valves, strainer and exit [-], 0 or more.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.

    Returns
    -------
    float
        Head loss [m].

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        Temperature outside the range of the water formulas; a negative or non-finite value; a
        roughness greater than the bore.

    Notes
    -----
    ``h = (f L / D + sum K) V**2 / 2g`` with `friction_factor`. The factors K are for turbulent
    flow; in slow laminar flow real fittings lose a little more, but then friction rules.

    Source
    ------
    CHURCHILL_1977 for ``f``; Darcy and Weisbach's equation.

    Examples
    --------
    >>> h = loss_m(25e-3 / 60.0, diameter_m=0.021, length_m=6.0, roughness_m=1.5e-6, k_sum=5.3,
    ...            temp_degc=10.0)
    >>> round(h, 3)
    0.944
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    _check_pipe(diameter_m, length_m, roughness_m, k_sum)
    nu_m2_per_s = kinematic_viscosity_m2_per_s(temp_degc)
    velocity_m_per_s = flow_m3_per_s / _area_m2(diameter_m)
    return _loss_at_m(velocity_m_per_s, diameter_m, length_m, roughness_m, k_sum, nu_m2_per_s)


def flow_m3_per_s(
    head_m: float,
    *,
    diameter_m: float,
    length_m: float,
    roughness_m: float,
    k_sum: float,
    temp_degc: float,
) -> float:
    """Flow that a head drives through a full pipe with its fittings.

    Parameters
    ----------
    head_m : float
        Water level above the level it runs to [m]. Zero or less gives no flow: nothing here runs
        backwards.
    diameter_m, length_m, roughness_m, k_sum, temp_degc : float
        As in `loss_m`. ``k_sum`` may be infinite (a blocked strainer): no flow.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        As in `loss_m`.

    Notes
    -----
    `loss_m` turned round by bracketing. The bracket cannot miss: the flow is at most that of
    laminar friction alone, and at most that of the fittings alone. Rises with the head.

    Source
    ------
    CHURCHILL_1977, through `loss_m`, solved by Brent's method.

    Examples
    --------
    >>> q = flow_m3_per_s(1.0, diameter_m=0.02093, length_m=6.0, roughness_m=1.5e-6, k_sum=5.3,
    ...                   temp_degc=20.0)
    >>> round(q * 60e3, 2)
    26.09
    """
    finite("head_m", head_m)
    if k_sum == math.inf:
        return 0.0
    _check_pipe(diameter_m, length_m, roughness_m, k_sum)
    nu_m2_per_s = kinematic_viscosity_m2_per_s(temp_degc)
    if head_m <= 0.0:
        return 0.0
    return _driven_m3_per_s(head_m, diameter_m, length_m, roughness_m, k_sum, nu_m2_per_s)


@lru_cache(maxsize=8192)  # a change to one part of a plan asks for all other pipes anew
def _driven_m3_per_s(
    head_m: float,
    diameter_m: float,
    length_m: float,
    roughness_m: float,
    k_sum: float,
    nu_m2_per_s: float,
) -> float:
    """Flow under a head above 0, of a pipe whose values were checked."""
    laminar_m_per_s = GRAVITY_M_PER_S2 * diameter_m**2 * head_m / (32.0 * nu_m2_per_s * length_m)
    fittings_m_per_s = (
        math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m / k_sum) if k_sum > 0.0 else math.inf
    )
    bound_m_per_s = min(laminar_m_per_s, fittings_m_per_s)

    def excess(part: float) -> float:
        velocity_m_per_s = part * bound_m_per_s
        return (
            _loss_at_m(velocity_m_per_s, diameter_m, length_m, roughness_m, k_sum, nu_m2_per_s)
            / head_m
            - 1.0
        )

    # Rounding can leave the bound a last digit short of the head; then it is the answer.
    from scipy.optimize import brentq  # late: it takes a quarter of a second

    part = 1.0 if excess(1.0) <= 0.0 else float(brentq(excess, 0.0, 1.0, xtol=1e-15, rtol=1e-14))
    return part * bound_m_per_s * _area_m2(diameter_m)


def surge_head_m(speed_m_per_s: float, *, wave_m_per_s: float = WAVE_M_PER_S) -> float:
    """Head that rises when a valve shuts at once on flowing water.

    Parameters
    ----------
    speed_m_per_s : float
        Of the water [m/s], 0 or more.
    wave_m_per_s : float
        Of the pressure wave in the pipe [m/s], above 0.

    Returns
    -------
    float
        Head over that of the flow [m].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``a V / g``, when the valve shuts faster than the wave runs to the tank and back.

    Source
    ------
    STREETER_WYLIE_1979, water hammer (Joukowsky's law).

    Examples
    --------
    >>> round(surge_head_m(1.0), 1)
    40.8
    """
    not_negative("speed_m_per_s", speed_m_per_s)
    positive("wave_m_per_s", wave_m_per_s)
    return wave_m_per_s * speed_m_per_s / GRAVITY_M_PER_S2


def closing_time_s(
    speed_m_per_s: float, *, length_m: float, surge_m: float, wave_m_per_s: float = WAVE_M_PER_S
) -> float:
    """Time in which a valve must shut so that it raises no more than a head.

    Parameters
    ----------
    speed_m_per_s : float
        Of the water [m/s], 0 or more.
    length_m : float
        Of the line up to the tank [m], above 0.
    surge_m : float
        Head that may rise over that of the flow [m], above 0.
    wave_m_per_s : float
        Of the pressure wave in the pipe [m/s], above 0.

    Returns
    -------
    float
        Time [s]; 0 where shutting at once raises no more.

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    Shut evenly over a time longer than that of the wave there and back, ``2 L / a``, a valve raises
    ``2 L V / (g t)``, no more than ``a V / g``. Real valves shut most of the flow off in the last
    part of their turn, so take longer.

    Source
    ------
    STREETER_WYLIE_1979, water hammer, slow closure.

    Examples
    --------
    >>> round(closing_time_s(1.5, length_m=20.0, surge_m=30.0), 2)
    0.2
    """
    positive("length_m", length_m)
    positive("surge_m", surge_m)
    if surge_head_m(speed_m_per_s, wave_m_per_s=wave_m_per_s) <= surge_m:
        return 0.0
    return 2.0 * length_m * speed_m_per_s / (GRAVITY_M_PER_S2 * surge_m)


def _area_m2(diameter_m: float) -> float:
    return math.pi * diameter_m**2 / 4.0


def _loss_at_m(
    velocity_m_per_s: float,
    diameter_m: float,
    length_m: float,
    roughness_m: float,
    k_sum: float,
    nu_m2_per_s: float,
) -> float:
    velocity_head_m = velocity_m_per_s**2 / (2.0 * GRAVITY_M_PER_S2)
    reynolds = velocity_m_per_s * diameter_m / nu_m2_per_s
    if reynolds < _CREEPING_REYNOLDS:  # the same law written without the division by Re
        friction_m = (
            32.0 * nu_m2_per_s * length_m * velocity_m_per_s / (GRAVITY_M_PER_S2 * diameter_m**2)
        )
    else:
        factor = friction_factor(reynolds, roughness_frac=roughness_m / diameter_m)
        friction_m = factor * length_m / diameter_m * velocity_head_m
    return friction_m + k_sum * velocity_head_m


def _check_pipe(diameter_m: float, length_m: float, roughness_m: float, k_sum: float) -> None:
    positive("diameter_m", diameter_m)
    positive("length_m", length_m)
    share("roughness_m / diameter_m", roughness_m / diameter_m)
    not_negative("k_sum", k_sum)

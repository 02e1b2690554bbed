"""Overflows of tanks: the stand-pipe, and the pipe through the side wall."""

from __future__ import annotations

import math
from functools import lru_cache

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import finite, positive, share

_CREST_WEIR = 1.7
"""Weir coefficient of a pipe rim [m0.5/s]."""
_DROWNED_DISCHARGE_FRAC = 0.6
"""Discharge coefficient once the mouth of the pipe is drowned."""


def standpipe_flow_m3_per_s(head_m: float, *, diameter_m: float) -> float:
    """Flow down an open vertical overflow pipe.

    Parameters
    ----------
    head_m : float
        Water level above the rim [m]; zero or less gives no flow.
    diameter_m : float
        Inside diameter [m], above 0.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002)
        A head that is no number, or a diameter not above 0.

    Notes
    -----
    The smaller of a weir around the rim, ``1.7 pi D h**1.5``, and an orifice,
    ``0.6 a sqrt(2 g h)``; they cross at ``h = 0.391 D``. The pipe below must run freely.

    Source
    ------
    STREETER_WYLIE_1979, weirs and orifices; the two coefficients are engineering choices.

    Examples
    --------
    >>> round(standpipe_flow_m3_per_s(0.030, diameter_m=0.1) * 1e3, 3)
    2.775
    >>> round(standpipe_flow_m3_per_s(0.100, diameter_m=0.1) * 1e3, 3)
    6.6
    """
    finite("head_m", head_m)
    positive("diameter_m", diameter_m)
    head_m = max(0.0, head_m)
    weir_m3_per_s = _CREST_WEIR * math.pi * diameter_m * head_m * math.sqrt(head_m)
    return min(weir_m3_per_s, _drowned_m3_per_s(head_m, diameter_m))


def side_outlet_flow_m3_per_s(
    head_m: float, *, diameter_m: float, entry_frac: float = 0.9
) -> float:
    """Flow out of a short level pipe through a tank's side wall, falling free outside.

    Parameters
    ----------
    head_m : float
        Water level above the bottom of the bore [m]; zero or less gives no flow.
    diameter_m : float
        Inside diameter [m], above 0.
    entry_frac : float
        What the loss at the entry leaves of the flow while the pipe runs part full [-], above 0, at
        most 1; 1 is the frictionless limit.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A head that is no number, a diameter not above 0, or a share not above 0 or beyond 1.

    Notes
    -----
    Part full, the pipe passes critical flow: ``y + A / (2 T) = H`` and ``Q = A sqrt(g A / T)``
    with depth y, water section A and its width T. Above ``H = D`` the smaller of that and an
    orifice with its head to the middle of the bore.

    Source
    ------
    CHOW_1959, critical flow in circular sections; the entry share is an engineering choice.

    Examples
    --------
    >>> round(side_outlet_flow_m3_per_s(0.1, diameter_m=0.1, entry_frac=1.0) * 1e3, 3)
    4.507
    """
    finite("head_m", head_m)
    positive("diameter_m", diameter_m)
    positive("entry_frac", entry_frac)
    share("entry_frac", entry_frac)
    if head_m <= 0.0:
        return 0.0
    free_m3_per_s = entry_frac * _critical_m3_per_s(head_m, diameter_m)
    if head_m <= diameter_m:
        return free_m3_per_s
    return min(free_m3_per_s, _drowned_m3_per_s(head_m - diameter_m / 2.0, diameter_m))


def _drowned_m3_per_s(head_m: float, diameter_m: float) -> float:
    area_m2 = math.pi * diameter_m**2 / 4.0
    return _DROWNED_DISCHARGE_FRAC * area_m2 * math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)


@lru_cache(maxsize=8192)  # a change to one part of a plan asks for all other overflows anew
def _critical_m3_per_s(head_m: float, diameter_m: float) -> float:
    """Critical flow of a round section for the energy head above its bottom."""
    ratio = head_m / diameter_m

    def section(half_angle: float) -> tuple[float, float, float]:
        """Depth, area and width for a bore of 1, by half the angle the water surface spans."""
        depth = math.sin(half_angle / 2.0) ** 2
        area = (half_angle - math.sin(half_angle) * math.cos(half_angle)) / 4.0
        return depth, area, math.sin(half_angle)

    def excess(half_angle: float) -> float:
        depth, area, width = section(half_angle)
        return depth + area / (2.0 * width) - ratio

    # Near a full bore the width goes to nothing and the energy head without bound.
    low, high = 1e-4, math.pi - 1e-9
    if excess(low) >= 0.0:
        return 0.0
    if excess(high) <= 0.0:
        return math.inf
    from scipy.optimize import brentq  # late: it takes a quarter of a second

    _, area, width = section(float(brentq(excess, low, high, xtol=1e-14, rtol=1e-14)))
    scale: float = diameter_m**2.5
    return area * math.sqrt(GRAVITY_M_PER_S2 * area / width) * scale

"""The hole that keeps a clean filter from running many times too fast.

A float valve and a weir hold the level, not the rate. A fixed hole between the underdrain and the
weir takes what head the clean bed leaves over, ever less of it as the skin grows.
"""

from __future__ import annotations

import math

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, not_negative, positive


def throttle_head_m(head_m: float, *, rate_m_per_s: float, resistance_s: float) -> float:
    """Head that a throttle must take so that the filter passes a rate and no more.

    Parameters
    ----------
    head_m : float
        Most that the water can stand over the outlet weir: from the overflow lip [m], above 0.
    rate_m_per_s : float
        Wanted rate with the bed clean [m/s], above 0.
    resistance_s : float
        Of the clean bed at the water's temperature, depth over conductivity [s], 0 or more.

    Returns
    -------
    float
        Head over the throttle at that rate [m]. The hole is
        ``hydraulics.orifice_diameter_m(rate * area, head_m=this)``.

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.
    RangeError (BED-003)
        The bed alone takes the whole head at that rate: it needs no throttle.

    Notes
    -----
    ``h = H - v R``. Reckon it for the warmest water, in which the clean bed takes the least.

    Source
    ------
    DARCY_1856 for the bed.

    Examples
    --------
    >>> round(throttle_head_m(0.5, rate_m_per_s=0.1 / 3600, resistance_s=0.8 / (2.74 / 3600)), 4)
    0.4708
    """
    positive("head_m", head_m)
    positive("rate_m_per_s", rate_m_per_s)
    not_negative("resistance_s", resistance_s)
    left_m = head_m - rate_m_per_s * resistance_s
    if left_m <= 0.0:
        raise RangeError(
            Problem(
                "BED-003",
                "the clean bed alone holds the filter to this rate",
                where="rate_m_per_s",
                got=f"{rate_m_per_s * 3600:.3g} m/h at {head_m:g} m of head",
                allowed=f"less than {head_m / resistance_s * 3600:.3g} m/h, what the bed passes",
                next="leave the throttle out, or ask for a lower rate",
            )
        )
    return left_m


def throttled_rate_m_per_s(
    head_m: float, *, resistance_s: float, throttle_s2_per_m: float = 0.0
) -> float:
    """Rate through bed, skin and throttle together.

    Parameters
    ----------
    head_m : float
        Water level over the outlet weir [m]; zero or less gives no flow.
    resistance_s : float
        Of bed and skin at the water's temperature [s], above 0.
    throttle_s2_per_m : float
        Head over the throttle for the square of the rate [s2/m], 0 or more; from a known point,
        ``throttle_head_m / rate**2``.

    Returns
    -------
    float
        Filtration rate [m/s].

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.

    Notes
    -----
    The root of ``H = v R + c v**2``.

    Source
    ------
    DARCY_1856; STREETER_WYLIE_1979, orifices.

    Examples
    --------
    >>> v, bed_s = 0.1 / 3600, 0.8 / (2.74 / 3600)
    >>> c = throttle_head_m(0.5, rate_m_per_s=v, resistance_s=bed_s) / v**2
    >>> round(throttled_rate_m_per_s(0.5, resistance_s=bed_s, throttle_s2_per_m=c) * 3600, 4)
    0.1
    """
    finite("head_m", head_m)
    positive("resistance_s", resistance_s)
    not_negative("throttle_s2_per_m", throttle_s2_per_m)
    if head_m <= 0.0:
        return 0.0
    root = math.sqrt(resistance_s**2 + 4.0 * throttle_s2_per_m * head_m)
    return 2.0 * head_m / (resistance_s + root)  # no digits lost where either part is small

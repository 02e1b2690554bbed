"""From one duration to another, and from clock intervals to true ones."""

from __future__ import annotations

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray

HOUR_S = 3600.0
SHORT_S = (300.0, 600.0, 900.0, 1800.0, 3600.0)
SHORT_FRAC = (0.29, 0.45, 0.57, 0.79, 1.0)
"""Rain of 5, 10, 15, 30 and 60 minutes over that of 60 (HERSHFIELD_1961 and its successor)."""
SHORT_DOUBT_FRAC = 0.40
"""Half-width of the doubt about the ratios at 5 minutes; 0 at 60, along the logarithm of time.

Two places in the United States gave 0.26 and 0.28 at 5 minutes where the rule says 0.29; the means
of Uccle gave 0.58 at 10 minutes where it says 0.45 (SNEYERS_1977). Engineering choice, to hold
both.
"""
LONG_EXPONENT = 0.30
LONG_EXPONENT_LOW, LONG_EXPONENT_HIGH = 0.20, 0.40
"""Depth grows as ``duration**0.3`` from an hour to a day; engineering choice.

Mean yearly maxima at Uccle give 0.24, or 0.28 after the clock correction of the day
(SNEYERS_1977); the rule of a third, known from India, lies within the limits (common practice).
"""

_CLOCK = ((1, 1.13), (2, 1.04), (4, 1.02))


def clock_to_true(intervals_count: int) -> float:
    """Factor from the greatest sum of whole clock intervals to the greatest true one.

    Parameters
    ----------
    intervals_count : int
        Intervals of the record in the duration, 1 or more: 1 for days from a daily record.

    Returns
    -------
    float
        1.13 for 1, 1.04 for 2, 1.03 for 3 (between the two), 1.02 for 4 and more [-].

    Raises
    ------
    RangeError (REC-085)
        Less than 1.

    Source
    ------
    HERSHFIELD_1961; WEISS_1964 (both from memory).

    Examples
    --------
    >>> clock_to_true(1), clock_to_true(24)
    (1.13, 1.02)
    """
    if intervals_count < 1:
        raise RangeError(_bad(f"{intervals_count} intervals", "1 or more"))
    counts, factors = zip(*_CLOCK, strict=True)
    return float(np.interp(intervals_count, counts, factors))


def short_ratio(duration_s: float) -> tuple[float, float]:
    """Rain of a short time over that of an hour with the same rarity, and its doubt.

    Parameters
    ----------
    duration_s : float
        300 to 3600 [s].

    Returns
    -------
    ratio_frac, doubt_frac : float
        The ratio, and how far it may be off, as a share of itself [-].

    Raises
    ------
    RangeError (REC-085)
        Outside 5 to 60 minutes.

    Notes
    -----
    Straight lines between the logarithms of time and ratio.

    Source
    ------
    HERSHFIELD_1961 (from memory); the doubt is an engineering choice.

    Examples
    --------
    >>> short_ratio(900.0)[0]
    0.57
    """
    if not SHORT_S[0] <= duration_s <= SHORT_S[-1]:
        raise RangeError(_bad(f"{duration_s:g} s", "300 to 3600 s"))
    at = np.log(duration_s)
    ratio = np.exp(np.interp(at, np.log(SHORT_S), np.log(SHORT_FRAC)))
    away = np.log(HOUR_S / duration_s) / np.log(HOUR_S / SHORT_S[0])
    return float(ratio), float(SHORT_DOUBT_FRAC * away)


def scale_depth(depth_m: float, *, from_s: float, to_s: float, exponent: float) -> float:
    """Depth of another duration by ``D ~ d**exponent``.

    Parameters
    ----------
    depth_m : float
        [m]
    from_s, to_s : float
        Durations [s], above 0.
    exponent : float
        0 to 1 [-].

    Returns
    -------
    float
        [m]

    Raises
    ------
    RangeError (REC-085)
        A duration or the exponent outside its limits.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, ch. 14 (form).

    Examples
    --------
    >>> scale_depth(0.08, from_s=86400.0, to_s=10800.0, exponent=1.0 / 3.0)
    0.04
    """
    if not (from_s > 0.0 and to_s > 0.0 and 0.0 <= exponent <= 1.0):
        raise RangeError(
            _bad(
                f"{from_s:g} s to {to_s:g} s, exponent {exponent:g}",
                "durations above 0, exponent 0 to 1",
            )
        )
    return float(depth_m * (to_s / from_s) ** exponent)


def scaling_exponent(durations_s: FloatArray, *, depths_m: FloatArray) -> float:
    """The exponent of ``D ~ d**exponent`` by least squares in logarithms.

    Parameters
    ----------
    durations_s, depths_m : (n,) float64
        Two or more different durations [s] and their depths [m], above 0.

    Returns
    -------
    float
        [-]

    Raises
    ------
    RangeError (REC-085)
        Fewer than two durations, or a value that is not above 0.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, ch. 14 (form).

    Examples
    --------
    >>> round(scaling_exponent(np.array([300.0, 3600.0]), depths_m=np.array([0.01, 0.04])), 3)
    0.558
    """
    if np.unique(durations_s).size < 2 or min(durations_s.min(), depths_m.min()) <= 0.0:
        raise RangeError(_bad(f"{durations_s.size} durations", "two or more, all above 0"))
    return float(np.polyfit(np.log(durations_s), np.log(depths_m), 1)[0])


def _bad(got: str, allowed: str) -> Problem:
    return Problem(
        "REC-085",
        "a duration is outside its limits",
        got=got,
        allowed=allowed,
        next="check the unit: durations are in seconds",
    )

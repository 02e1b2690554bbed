"""L-moments: mean, spread and shape of a sample that one great value does not rule."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray

LEAST_COUNT = 5
"""Fewest values of which five L-moments can be had."""


@dataclass(frozen=True)
class LMoments:
    """Sample L-moments.

    Attributes
    ----------
    l1_m, l2_m : float
        Mean, and L-scale, in the unit of the sample [m].
    t3, t4, t5 : float
        L-skewness, L-kurtosis, and the ratio of fifth order [-].
    """

    l1_m: float
    l2_m: float
    t3: float
    t4: float
    t5: float


def l_moments(sample_m: FloatArray) -> LMoments:
    """Unbiased L-moments of a sample.

    Parameters
    ----------
    sample_m : (n,) float64
        Five values or more, not all alike [m].

    Returns
    -------
    LMoments

    Raises
    ------
    RangeError (REC-084)
        Fewer than five values, values that are not finite, or all alike.

    Notes
    -----
    From the unbiased probability-weighted moments ``b_r``: ``l1 = b0``, ``l2 = 2 b1 - b0``,
    ``l3 = 6 b2 - 6 b1 + b0``, and so on; ratios to ``l2``.

    Source
    ------
    HOSKING_1990.

    Examples
    --------
    >>> moments = l_moments(np.array([2, 3, 4, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5]))
    >>> round(moments.l1_m, 6), round(moments.t3, 6)
    (3.236364, 0.273885)
    """
    check_sample(sample_m)
    first, second, *ratios = (float(v) for v in sample_l(np.sort(sample_m), orders=5))
    return LMoments(first, second, *ratios)


def sample_l(sorted_m: FloatArray, *, orders: int) -> FloatArray:
    """The first L-moments and ratios of sorted samples (..., n), stacked on the first axis."""
    n = sorted_m.shape[-1]
    rank = np.arange(n, dtype=np.float64)
    weights = np.ones((orders, n)) / n
    for r in range(1, orders):
        weights[r] = weights[r - 1] * (rank - r + 1.0) / (n - r)
    legendre = np.zeros((orders, orders))
    legendre[0, 0] = 1.0
    for r in range(1, orders):
        for k in range(r + 1):
            legendre[r, k] = (-1.0) ** (r - k) * _choose(r, k) * _choose(r + k, k)
    moments = np.moveaxis(sorted_m @ (legendre @ weights).T, -1, 0)
    moments[2:] /= moments[1]
    return np.asarray(moments, dtype=np.float64)


def _choose(n: int, k: int) -> float:
    value = 1.0
    for i in range(k):
        value = value * (n - i) / (i + 1)
    return value


def check_sample(sample_m: FloatArray) -> None:
    """Refuse a sample that has no L-moments."""
    if (
        sample_m.ndim != 1
        or len(sample_m) < LEAST_COUNT
        or not np.isfinite(sample_m).all()
        or sample_m.max() == sample_m.min()
    ):
        raise RangeError(
            Problem(
                "REC-084",
                "these values do not make a sample of extremes",
                got=f"{sample_m.size} values, {np.unique(sample_m).size} different",
                allowed=f"a list of at least {LEAST_COUNT} finite values, not all alike",
                next="use a longer record, or a published table of rain for the place",
            )
        )

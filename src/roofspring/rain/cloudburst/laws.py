"""The laws of extremes, over one sample or many at once."""

from __future__ import annotations

import math

import numpy as np

from roofspring.rain.record import FloatArray

_LN2, _LN3 = math.log(2.0), math.log(3.0)
_NEAR_ZERO = 1e-6
_LEAST_SHAPE = -1.0 + 1e-9
_TURNS = 60
_MOST_SKEW = 1.0 - 1e-6


def gev_from_l(l1: FloatArray, l2: FloatArray, t3: FloatArray) -> tuple[FloatArray, ...]:
    """Location, scale and shape ``k`` of the GEV law with these L-moments.

    ``t3 = 2 (1 - 3**-k) / (1 - 2**-k) - 3`` is solved by Newton's method from Hosking's start.
    """
    from scipy.special import gamma  # late: slow to import

    t3 = np.clip(t3, -_MOST_SKEW, _MOST_SKEW)
    c = 2.0 / (3.0 + t3) - _LN2 / _LN3
    k = np.maximum(7.8590 * c + 2.9554 * c * c, -0.99)
    for _ in range(_TURNS):
        value, slope = _skew(k)
        move = (value - t3) / slope
        # A step past the edge of the law goes half the way to it.
        new = np.where(k - move > _LEAST_SHAPE, k - move, 0.5 * (k + _LEAST_SHAPE))
        done = np.abs(new - k).max() < 1e-14
        k = new
        if done:
            break
    scale = l2 / -np.expm1(-k * _LN2) / gamma(1.0 + k) * k
    flat = np.abs(k) < _NEAR_ZERO
    scale = np.where(flat, l2 / _LN2, scale)
    return l1 - scale * _mean_of_shape(k), scale, k


def _skew(k: FloatArray) -> tuple[FloatArray, FloatArray]:
    """L-skewness of the GEV law and its derivative by the shape."""
    flat = np.abs(k) < _NEAR_ZERO
    at = np.where(flat, 1.0, k)
    a, b = -np.expm1(-at * _LN3), -np.expm1(-at * _LN2)
    ratio = a / b
    slope = (_LN3 * (1.0 - a) - ratio * _LN2 * (1.0 - b)) / b
    limit_slope = -0.5 * (_LN3 - _LN2) * _LN3 / _LN2
    ratio = np.where(flat, _LN3 / _LN2 + limit_slope * k, ratio)
    slope = np.where(flat, limit_slope, slope)
    return 2.0 * ratio - 3.0, 2.0 * slope


def _mean_of_shape(k: FloatArray) -> FloatArray:
    """``(1 - Gamma(1 + k)) / k``, and its limit, Euler's constant, at 0."""
    from scipy.special import gamma  # late: slow to import

    flat = np.abs(k) < _NEAR_ZERO
    at = np.where(flat, 1.0, k)
    limit = np.euler_gamma - 0.5 * k * (np.euler_gamma**2 + math.pi**2 / 6.0)
    value: FloatArray = np.where(flat, limit, (1.0 - gamma(1.0 + at)) / at)
    return value


def gev_quantile(
    location: FloatArray, scale: FloatArray, shape: FloatArray, below_frac: FloatArray
) -> FloatArray:
    """``location + scale (1 - (-ln F)**k) / k``; with ``k = 0`` the Gumbel law."""
    value: FloatArray = location + scale * _box(np.log(-np.log(below_frac)), shape)
    return value


def pareto_quantile(
    location: FloatArray, scale: FloatArray, shape: FloatArray, below_frac: FloatArray
) -> FloatArray:
    """``location + scale (1 - (1 - F)**k) / k``."""
    value: FloatArray = location + scale * _box(np.log1p(-below_frac), shape)
    return value


def _box(log_y: FloatArray, k: FloatArray) -> FloatArray:
    """``(1 - y**k) / k``, and its limit ``-ln y`` at 0."""
    flat = np.abs(k) < 1e-12
    at = np.where(flat, 1.0, k)
    value: FloatArray = np.where(flat, -log_y, -np.expm1(at * log_y) / at)
    return value

"""Twelve monthly values as a sum of waves over the year, each month weighted by what it knows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from roofspring.rain.record import FloatArray

Harmonics = int | Literal["bic", "none"]
"""Waves of a year: 0 to 5, ``"bic"`` to choose, ``"none"`` to leave months alone."""

MAX_HARMONICS = 5


@dataclass(frozen=True)
class Smoothed:
    """Twelve smoothed values, and how many waves they are made of (None: left alone)."""

    values: FloatArray
    harmonics: int | None


def smooth_year(values: FloatArray, variances: FloatArray, *, harmonics: Harmonics) -> Smoothed:
    """Smooth twelve monthly values.

    Parameters
    ----------
    values : (12,) float64
        January to December; NaN where a month says nothing.
    variances : (12,) float64
        Sampling variance of each; more than 0.
    harmonics : int, "bic" or "none"
        With ``"none"`` a month that says nothing takes the weighted mean of the others.

    Returns
    -------
    Smoothed

    Notes
    -----
    Weighted least squares on ``1, cos kt, sin kt``, k = 1 to K. ``"bic"`` takes the K of the least
    ``chi2 + (2K + 1) ln 12``.

    Source
    ------
    RICHARDSON_1981 (waves for monthly parameters); SCHWARZ_1978 (choice of K).

    Examples
    --------
    >>> t = (np.arange(12) + 0.5) * np.pi / 6.0
    >>> smoothed = smooth_year(3.0 + np.cos(t), np.full(12, 1e-4), harmonics="bic")
    >>> smoothed.harmonics, round(float(smoothed.values[0] - np.cos(t[0])), 6)
    (1, 3.0)
    """
    known = np.isfinite(values)
    weight = np.where(known, 1.0 / np.sqrt(variances), 0.0)
    target = np.where(known, values, 0.0) * weight
    if harmonics == "none":
        mean = float((target * weight).sum() / (weight**2).sum())
        return Smoothed(np.where(known, values, mean), None)
    most = min(MAX_HARMONICS, (int(known.sum()) - 1) // 2)
    tries = range(most + 1) if harmonics == "bic" else [min(harmonics, most)]
    best: tuple[float, FloatArray, int] | None = None
    for k in tries:
        basis = _waves(k)
        fit, *_ = np.linalg.lstsq(basis * weight[:, np.newaxis], target, rcond=None)
        curve = basis @ fit
        cost = float(((curve * weight - target) ** 2).sum()) + (2 * k + 1) * np.log(12.0)
        if best is None or cost < best[0]:
            best = (cost, curve, k)
    assert best is not None  # at least K = 0 was tried
    return Smoothed(best[1], best[2])


def _waves(k: int) -> FloatArray:
    t = (np.arange(12) + 0.5) * np.pi / 6.0
    columns = [np.ones(12)]
    for i in range(1, k + 1):
        columns += [np.cos(i * t), np.sin(i * t)]
    return np.array(columns).T


def logit(p: FloatArray) -> FloatArray:
    """Log odds."""
    odds: FloatArray = np.log(p / (1.0 - p))
    return odds


def logistic(x: FloatArray) -> FloatArray:
    """Chance from log odds."""
    chance: FloatArray = 1.0 / (1.0 + np.exp(-x))
    return chance

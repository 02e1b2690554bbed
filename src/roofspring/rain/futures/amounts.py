"""How much it rains on a wet day: gamma and mixed exponential laws, by month."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from roofspring.rain.futures._calendar import IntArray
from roofspring.rain.record import FloatArray

SHAPE_LIMITS = (0.1, 20.0)
"""Of the gamma law; engineering choice."""

LEAST_MEAN = 1.03
"""Least mean rain of a wet day over the threshold of one; engineering choice."""

_WEIGHT_LIMITS = (0.01, 0.99)
_MAX_EM = 2_000
_EM_CLOSE = 1e-9


class Law(Protocol):
    """Rain of wet days by month."""

    def draw(self, month: IntArray, rng: np.random.Generator) -> FloatArray:
        """Rain of a wet day in each of these months [m]."""

    def to_dict(self) -> dict[str, Any]:
        """Parameters, for JSON."""


@dataclass(frozen=True)
class GammaLaw:
    """Gamma law, of which only what is at least the threshold is used.

    Attributes
    ----------
    shape, scale_m : (12,) float64
    wet_day_m : float
        Threshold [m]; 0 for the whole law.
    """

    shape: FloatArray
    scale_m: FloatArray
    wet_day_m: float

    def draw(self, month: IntArray, rng: np.random.Generator) -> FloatArray:
        """Draw, and draw what is under the threshold again from the law above it."""
        from scipy.special import gammaincc, gammainccinv  # late: slow to import

        shape, scale = self.shape[month], self.scale_m[month]
        depth: FloatArray = rng.gamma(shape) * scale
        low = np.flatnonzero(depth < self.wet_day_m)
        above = gammaincc(shape[low], self.wet_day_m / scale[low])
        again = gammainccinv(shape[low], above * (1.0 - rng.random(len(low)))) * scale[low]
        depth[low] = np.maximum(again, self.wet_day_m)
        return depth

    def to_dict(self) -> dict[str, Any]:
        """Parameters, for JSON."""
        return {
            "law": "gamma",
            "shape": self.shape.tolist(),
            "scale_m": self.scale_m.tolist(),
            "wet_day_m": self.wet_day_m,
        }


@dataclass(frozen=True)
class MixedLaw:
    """Two exponential laws mixed, above the threshold.

    Attributes
    ----------
    weight_frac : (12,) float64
        Share of the heavier of the two [-].
    heavy_m, light_m : (12,) float64
        Their means above the threshold [m].
    wet_day_m : float
    """

    weight_frac: FloatArray
    heavy_m: FloatArray
    light_m: FloatArray
    wet_day_m: float

    def draw(self, month: IntArray, rng: np.random.Generator) -> FloatArray:
        """Draw which of the two, then how much."""
        heavy = rng.random(len(month)) < self.weight_frac[month]
        mean = np.where(heavy, self.heavy_m[month], self.light_m[month])
        depth: FloatArray = self.wet_day_m + mean * rng.standard_exponential(len(month))
        return depth

    def to_dict(self) -> dict[str, Any]:
        """Parameters, for JSON."""
        return {
            "law": "mixed exponential",
            "weight_frac": self.weight_frac.tolist(),
            "heavy_m": self.heavy_m.tolist(),
            "light_m": self.light_m.tolist(),
            "wet_day_m": self.wet_day_m,
        }


def gamma_by_thom(values: FloatArray) -> tuple[float, float]:
    """Shape and scale of a gamma law by Thom's approximation.

    Notes
    -----
    ``A = ln(mean) - mean(ln x)``, ``shape = (1 + sqrt(1 + 4A/3)) / 4A``.

    Source
    ------
    THOM_1958.

    Examples
    --------
    >>> x = np.array([1.2, 0.5, 7.4, 3.3, 12.8, 0.3, 5.1, 22.0, 2.4, 0.8])
    >>> [round(v, 4) for v in gamma_by_thom(x)]
    [0.7792, 7.1611]
    """
    mean = float(values.mean())
    a = np.log(mean) - float(np.log(values).mean())
    shape = float((1.0 + np.sqrt(1.0 + 4.0 * a / 3.0)) / (4.0 * a)) if a > 0.0 else SHAPE_LIMITS[1]
    return shape, mean / shape


def mixed_moments(*, weight_frac: float, heavy_m: float, light_m: float) -> tuple[float, float]:
    """Mean [m] and variance [m2] of a mixed exponential law.

    Source
    ------
    WILKS_2011, ch. 9; variance from the second moments of its parts.

    Examples
    --------
    >>> [round(v, 4) for v in mixed_moments(weight_frac=0.35, heavy_m=12.0, light_m=3.0)]
    [6.15, 74.6775]
    """
    mean = weight_frac * heavy_m + (1.0 - weight_frac) * light_m
    second = 2.0 * (weight_frac * heavy_m**2 + (1.0 - weight_frac) * light_m**2)
    return mean, second - mean**2


def fit_gamma(
    depth_m: FloatArray, month: IntArray, *, mean_m: FloatArray, wet_day_m: float
) -> GammaLaw:
    """Gamma law by month with given monthly means.

    Parameters
    ----------
    depth_m, month : (n,) arrays
        Rain of wet days [m], each at least ``wet_day_m``, and their months.
    mean_m : (12,) float64
        Mean rain of a wet day to keep [m].
    wet_day_m : float
        Threshold of a wet day [m]; 0 for none.

    Notes
    -----
    Most likely shape of the law cut off below the threshold. The scale follows from the mean,
    which for the observed mean is what the likelihood wants as well. One shape for the year, or
    one for each month, whichever has the lower BIC.

    Source
    ------
    THOM_1958 (start); SCHWARZ_1978 (choice); most likely values: closed form of the gamma law.
    """
    from scipy.optimize import minimize_scalar  # late: slow to import
    from scipy.special import gammaincc, gammaln  # late: slow to import

    count, total, logs = _sums(depth_m, month)
    thom = gamma_by_thom(depth_m)[0]

    def cost(shape: float, months: FloatArray) -> float:
        use = months.astype(np.int64)
        scale = scale_of(np.full(len(use), shape), mean_m[use], wet_day_m)
        rest = gammaincc(shape, wet_day_m / scale)
        fit = (
            (shape - 1.0) * logs[use]
            - total[use] / scale
            - count[use] * (shape * np.log(scale) + gammaln(shape) + np.log(rest))
        )
        return -float(fit.sum())

    def best(months: list[int]) -> tuple[float, float]:
        where = np.array(months, dtype=np.float64)
        found = minimize_scalar(
            lambda x: cost(float(np.exp(x)), where),
            bounds=(np.log(SHAPE_LIMITS[0]), np.log(SHAPE_LIMITS[1])),
            method="bounded",
            options={"xatol": 1e-7},
        )
        return float(np.exp(found.x)), float(found.fun)

    used = [m for m in range(12) if count[m] > 1]
    one, one_cost = best(used) if used else (float(np.clip(thom, *SHAPE_LIMITS)), 0.0)
    each = [best([m]) if m in used else (one, 0.0) for m in range(12)]
    log_n = np.log(max(2.0, count.sum()))
    by_month = 2.0 * sum(c for _, c in each) + len(used) * log_n < 2.0 * one_cost + log_n
    shape = np.array([s for s, _ in each]) if by_month else np.full(12, one)
    return GammaLaw(shape, scale_of(shape, mean_m, wet_day_m), wet_day_m)


def fit_mixed(
    depth_m: FloatArray, month: IntArray, *, mean_m: FloatArray, wet_day_m: float
) -> MixedLaw:
    """Mixed exponential law by month with given monthly means.

    Parameters are those of `fit_gamma`.

    Notes
    -----
    Expectation and maximisation on rain above the threshold, divided by its monthly mean; the
    weight stays between 0.01 and 0.99. One form for the year, or one for each month, whichever has
    the lower BIC. Rain above the threshold needs no correction for the cut: an exponential law has
    no memory.

    Source
    ------
    WILKS_2011, ch. 9 (law); DEMPSTER_1977 (method); SCHWARZ_1978 (choice).
    """
    over = mean_m - wet_day_m
    ratio = (depth_m - wet_day_m) / over[month]
    one = mixed_by_em(ratio)
    each = [mixed_by_em(ratio[month == m]) if (month == m).sum() > 1 else one for m in range(12)]
    log_n = np.log(max(2, len(ratio)))
    by_month = (
        -2.0 * sum(_mixed_log_likelihood(ratio[month == m], each[m]) for m in range(12))
        + 24.0 * log_n
        < -2.0 * _mixed_log_likelihood(ratio, one) + 2.0 * log_n
    )
    table = np.array(each if by_month else [one] * 12)
    # The form keeps its proportions; the mean is the one that was asked for.
    mean = table[:, 0] * table[:, 1] + (1.0 - table[:, 0]) * table[:, 2]
    return MixedLaw(table[:, 0], table[:, 1] / mean * over, table[:, 2] / mean * over, wet_day_m)


def mixed_by_em(values: FloatArray) -> tuple[float, float, float]:
    """Weight of the heavier part and both means, most likely for some values of 0 or more.

    Source
    ------
    DEMPSTER_1977.
    """
    mean = float(values.mean())
    if mean <= 0.0:
        return 0.5, 1e-9, 1e-9
    weight, heavy, light = 0.4, 1.8 * mean, 0.5 * mean
    last = -np.inf
    for _ in range(_MAX_EM):
        a = weight / heavy * np.exp(-values / heavy)
        b = (1.0 - weight) / light * np.exp(-values / light)
        both = a + b
        share = a / both
        part = float(share.mean())
        if not _WEIGHT_LIMITS[0] <= part <= _WEIGHT_LIMITS[1]:
            break
        weight = part
        heavy = float((share * values).sum() / share.sum())
        light = max(1e-9 * mean, float(((1.0 - share) * values).sum() / (1.0 - share).sum()))
        now = float(np.log(both).mean())
        if now - last < _EM_CLOSE:
            break
        last = now
    return (weight, heavy, light) if heavy >= light else (1.0 - weight, light, heavy)


AMOUNTS: dict[str, Callable[..., Law]] = {"gamma": fit_gamma, "mixed": fit_mixed}
"""Laws of wet-day rain by name."""


def _mixed_log_likelihood(values: FloatArray, law: tuple[float, float, float]) -> float:
    w, heavy, light = law
    density = w / heavy * np.exp(-values / heavy) + (1.0 - w) / light * np.exp(-values / light)
    return float(np.log(density).sum())


def _sums(depth_m: FloatArray, month: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Count, sum and sum of logs by month."""
    count: FloatArray = np.bincount(month, minlength=12).astype(np.float64)
    total = np.bincount(month, depth_m, 12).astype(np.float64)
    return count, total, np.bincount(month, np.log(depth_m), 12).astype(np.float64)


def scale_of(shape: FloatArray, mean_m: FloatArray, wet_day_m: float) -> FloatArray:
    """Scale of the gamma law whose mean above the threshold is the one given, by halving."""
    from scipy.special import gammaincc  # late: slow to import

    if wet_day_m == 0.0:
        whole: FloatArray = mean_m / shape
        return whole
    low, high = np.full_like(mean_m, np.log(wet_day_m / 50.0)), np.log(mean_m / shape) + 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        scale = np.exp(middle)
        cut = wet_day_m / scale
        mean = shape * scale * gammaincc(shape + 1.0, cut) / gammaincc(shape, cut)
        under = mean < mean_m
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    found: FloatArray = np.exp(0.5 * (low + high))
    return found

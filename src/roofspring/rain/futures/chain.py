"""Chances of a wet day after each state: counted by month, smoothed, and their closed forms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roofspring.rain.futures._calendar import IntArray
from roofspring.rain.futures.smooth import Harmonics, logistic, logit, smooth_year
from roofspring.rain.record import FloatArray


@dataclass(frozen=True)
class Chain:
    """A Markov chain of wet and dry days.

    Attributes
    ----------
    chance_frac : (12, states) float64
        Chance of a wet day after each state [-]. In a state, bit 0 is the last day and bit 1 the
        one before it, 1 for wet: of 2 states ``dry, wet``; of 4 ``dry dry, dry wet, wet dry,
        wet wet``, the older day first.
    days_count, wet_count : (12, states) int64
        Days after each state in the record, and the wet ones among them.
    harmonics : tuple
        Waves of each state's chance; None where months were left alone.
    """

    chance_frac: FloatArray
    days_count: IntArray
    wet_count: IntArray
    harmonics: tuple[int | None, ...]

    @property
    def wet_frac(self) -> FloatArray:
        """Long-run share of wet days by month [-], (12,)."""
        return long_run_wet_frac(self.chance_frac)


def fit_chain(wet: IntArray, month: IntArray, *, order: int, harmonics: Harmonics) -> Chain:
    """Count transitions by month and smooth them.

    Parameters
    ----------
    wet, month : (n,) int64
        1 for a wet day; month 0 to 11.
    order : {1, 2}
        Days that the chain remembers.
    harmonics : int, "bic" or "none"

    Notes
    -----
    Log odds with half a day added to either count (so that a month of only dry or only wet days
    has one), smoothed with weights from the binomial variance.

    Source
    ------
    RICHARDSON_1981 (chain by month); COX_1970 (empirical log odds).
    """
    states = 2**order
    before = wet[order - 1 : -1].copy()
    if order == 2:
        before += 2 * wet[:-2]
    key = month[order:] * states + before
    days = np.bincount(key, minlength=12 * states).reshape(12, states)
    rain = np.bincount(key, wet[order:], 12 * states).reshape(12, states).astype(np.int64)
    odds = np.log((rain + 0.5) / (days - rain + 0.5))
    variance = 1.0 / (rain + 0.5) + 1.0 / (days - rain + 0.5)
    smoothed = [
        smooth_year(np.where(days[:, s] > 0, odds[:, s], np.nan), variance[:, s],
                    harmonics=harmonics)
        if days[:, s].any()
        else smooth_year(np.zeros(12), np.ones(12), harmonics=0)
        for s in range(states)
    ]  # fmt: skip
    return Chain(
        chance_frac=np.array([logistic(s.values) for s in smoothed]).T,
        days_count=days,
        wet_count=rain,
        harmonics=tuple(s.harmonics for s in smoothed),
    )


def long_run_wet_frac(chance_frac: FloatArray) -> FloatArray:
    """Share of wet days in the long run.

    Parameters
    ----------
    chance_frac : (..., states) float64
        Chances as in `Chain`, more than 0 and less than 1.

    Returns
    -------
    (...) float64

    Notes
    -----
    Order 1: ``p01 / (1 + p01 - p11)``. Order 2: the long-run shares of the pairs dry dry (c), one
    of each in either order (b each) and wet wet (a) follow from ``c p_dd = b (1 - p_wd)`` and
    ``a (1 - p_ww) = b p_dw``; the share is ``(a + b) / (a + 2b + c)``.

    Source
    ------
    WILKS_2011, ch. 9 (order 1); balance of pairs (order 2).

    Examples
    --------
    >>> float(long_run_wet_frac(np.array([0.2, 0.5])).round(6))
    0.285714
    """
    p = np.moveaxis(chance_frac, -1, 0)
    if len(p) == 2:
        share: FloatArray = p[0] / (1.0 + p[0] - p[1])
        return share
    both_dry = (1.0 - p[2]) / p[0]
    both_wet = p[1] / (1.0 - p[3])
    share = (both_wet + 1.0) / (both_wet + 2.0 + both_dry)
    return share


def wet_days_variance(*, p01_frac: float, p11_frac: float, days: int) -> float:
    """Variance of the number of wet days among some days of a chain of order 1.

    Notes
    -----
    ``N pi (1 - pi) [1 + 2 sum_{k<N} (1 - k/N) r**k]`` with ``r = p11 - p01``.

    Source
    ------
    WILKS_2011, ch. 9.

    Examples
    --------
    >>> round(wet_days_variance(p01_frac=0.2, p11_frac=0.5, days=30), 4)
    11.1204
    """
    pi, r = p01_frac / (1.0 + p01_frac - p11_frac), p11_frac - p01_frac
    k = np.arange(1, days)
    return float(days * pi * (1.0 - pi) * (1.0 + 2.0 * ((1.0 - k / days) * r**k).sum()))


def rain_moments(
    *, p01_frac: float, p11_frac: float, days: int, wet_mean_m: float, wet_var_m2: float
) -> tuple[float, float]:
    """Mean and standard deviation of the rain of some days of a chain of order 1 [m].

    Notes
    -----
    ``Var = N pi s**2 + m**2 Var[N_wet]``.

    Source
    ------
    WILKS_2011, ch. 9.

    Examples
    --------
    >>> mean, sd = rain_moments(p01_frac=0.2, p11_frac=0.5, days=30, wet_mean_m=0.0075,
    ...                         wet_var_m2=0.75 * 0.010**2)
    >>> round(mean, 6), round(sd, 6)
    (0.064286, 0.035614)
    """
    pi = p01_frac / (1.0 + p01_frac - p11_frac)
    wet = wet_days_variance(p01_frac=p01_frac, p11_frac=p11_frac, days=days)
    variance = days * pi * wet_var_m2 + wet_mean_m**2 * wet
    return days * pi * wet_mean_m, float(np.sqrt(variance))


def shifted(chance_frac: FloatArray, shift: FloatArray) -> FloatArray:
    """The same chain with its log odds moved: (years, 12, states) for (years, 12 or 1) shifts."""
    moved: FloatArray = logistic(logit(chance_frac)[np.newaxis] + shift[:, :, np.newaxis])
    return moved

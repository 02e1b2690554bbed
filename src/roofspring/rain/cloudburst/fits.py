"""Laws fitted to extremes, and the depths they give for a return period."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.cloudburst.laws import gev_from_l, gev_quantile, pareto_quantile
from roofspring.rain.cloudburst.lmoments import check_sample, sample_l
from roofspring.rain.cloudburst.periods import Kind, bad_period, to_kind
from roofspring.rain.record import FloatArray

Law = Literal["gev", "gumbel", "pareto"]
Method = Literal["l-moments", "moments"]

LEAST_SHAPE, MOST_SHAPE = -0.98, 20.0
"""Beyond these all values but one are alike; at -1 the law would have no mean."""


@dataclass(frozen=True)
class Fit:
    """A law of extremes.

    Attributes
    ----------
    law : str
        ``gev`` and ``gumbel`` of yearly maxima, ``pareto`` of all peaks over a threshold.
    method : str
        ``l-moments`` or ``moments``.
    location_m, scale_m : float
        [m]; the location of ``pareto`` is its threshold.
    shape : float
        ``k`` in Hosking's sign: below 0 the tail is heavy, above 0 there is an upper limit [-].
    count : int
        Values it was fitted to.
    peaks_per_year : float
        Peaks over the threshold per year; 1 for laws of yearly maxima.
    """

    law: Law
    method: Method
    location_m: float
    scale_m: float
    shape: float
    count: int
    peaks_per_year: float = 1.0

    @property
    def years(self) -> float:
        """Length of the record fitted [years]."""
        return self.count / self.peaks_per_year

    def quantile_m(self, below_frac: float) -> float:
        """Depth not exceeded by this share of yearly maxima, or of peaks [m]."""
        if not 0.0 < below_frac < 1.0:
            raise RangeError(bad_period(f"a share of {below_frac:g}", "between 0 and 1"))
        return float(
            quantiles(
                self.law,
                np.array(self.location_m),
                np.array(self.scale_m),
                np.array(self.shape),
                np.array(below_frac),
            )
        )

    def depth_m(self, return_years: float, *, kind: Kind) -> float:
        """Depth of a return period [m].

        Raises
        ------
        RangeError (REC-086)
            Return period at or under a year (AEP), or under the mean gap of the peaks.
        """
        return self.quantile_m(below_frac(self.law, return_years, kind, self.peaks_per_year))


def below_frac(law: Law, return_years: float, kind: Kind, peaks_per_year: float) -> float:
    """Share of yearly maxima, or of peaks, under the depth of a return period."""
    if not return_years > (1.0 if kind == "AEP" else 0.0):
        least = "above 1 year as AEP" if kind == "AEP" else "above 0 years as ARI"
        raise RangeError(bad_period(f"{return_years:g} years", least))
    if law != "pareto":
        return 1.0 - 1.0 / to_kind(return_years, kind=kind, wanted="AEP")
    peaks = to_kind(return_years, kind=kind, wanted="ARI") * peaks_per_year
    if not peaks > 1.0:
        raise RangeError(
            bad_period(
                f"{return_years:g} years ({kind})",
                f"longer than the mean gap of the peaks, {1.0 / peaks_per_year:.3g} years",
            )
        )
    return 1.0 - 1.0 / peaks


def quantiles(
    law: Law, location: FloatArray, scale: FloatArray, shape: FloatArray, below: FloatArray
) -> FloatArray:
    """Quantiles of many laws of one kind at once."""
    quantile = pareto_quantile if law == "pareto" else gev_quantile
    return quantile(location, scale, shape, below)


def fit_gev(sample_m: FloatArray) -> Fit:
    """The generalised extreme-value law with the L-moments of a sample of yearly maxima.

    Parameters
    ----------
    sample_m : (n,) float64
        One maximum per year [m], five or more.

    Returns
    -------
    Fit

    Raises
    ------
    RangeError
        REC-084: no sample of extremes. REC-089: no law has such L-moments.

    Notes
    -----
    ``x(F) = location + scale (1 - (-ln F)**k) / k``. Hosking's start is off by up to 1e-3 in ``k``;
    Newton's method takes that away.

    Source
    ------
    HOSKING_1990; HOSKING_WALLIS_1997.

    Examples
    --------
    >>> fit = fit_gev(np.array([2, 3, 4, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5]))
    >>> round(fit.location_m, 5), round(fit.scale_m, 5), round(fit.shape, 5)
    (2.17929, 1.39564, -0.15556)
    """
    check_sample(sample_m)
    return _one("gev", "l-moments", sample_m, fit_many("gev", "l-moments", sample_m[None, :]))


def fit_gumbel(sample_m: FloatArray, *, method: Method = "l-moments") -> Fit:
    """The Gumbel law of a sample of yearly maxima.

    Parameters
    ----------
    sample_m : (n,) float64
        One maximum per year [m], five or more.
    method : str
        ``l-moments``, or ``moments`` (mean and standard deviation, as in older handbooks).

    Returns
    -------
    Fit

    Raises
    ------
    RangeError (REC-084)
        No sample of extremes.

    Notes
    -----
    ``scale = l2 / ln 2`` or ``sqrt(6) s / pi``; ``location = mean - 0.5772 scale``.

    Source
    ------
    HOSKING_1990; CHOW_MAIDMENT_MAYS_1988, eqs. 12.2.1 and following (moments).

    Examples
    --------
    >>> fit = fit_gumbel(np.array([2, 3, 4, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5]))
    >>> round(fit.location_m, 6), round(fit.scale_m, 6)
    (2.285519, 1.647295)
    """
    check_sample(sample_m)
    return _one("gumbel", method, sample_m, fit_many("gumbel", method, sample_m[None, :]))


def fit_pareto(peaks_m: FloatArray, *, threshold_m: float, years: float) -> Fit:
    """The generalised Pareto law of all peaks over a threshold (partial duration).

    Parameters
    ----------
    peaks_m : (n,) float64
        Peaks [m], five or more, each at the threshold or above, of storms apart from each other.
    threshold_m : float
        [m]
    years : float
        Length of the record, above 0.

    Returns
    -------
    Fit
        With ``peaks_per_year = n / years``.

    Raises
    ------
    RangeError
        REC-084: no sample of extremes, a peak under the threshold, or no years. REC-089: no law
        has such L-moments.

    Notes
    -----
    With the excesses' ``l1`` and ``l2``: ``k = l1 / l2 - 2``, ``scale = (1 + k) l1``.

    Source
    ------
    HOSKING_WALLIS_1997, appendix (generalised Pareto law with known lower bound).

    Examples
    --------
    >>> fit = fit_pareto(np.array([11.0, 12.0, 14.0, 17.0, 26.0]), threshold_m=10.0, years=2.0)
    >>> fit.peaks_per_year, round(fit.shape, 6), round(fit.scale_m, 6)
    (2.5, -0.285714, 4.285714)
    """
    check_sample(peaks_m)
    if not (peaks_m.min() >= threshold_m and years > 0.0):
        raise RangeError(
            Problem(
                "REC-084",
                "these values are not peaks over the threshold",
                got=f"least peak {peaks_m.min():g} m, threshold {threshold_m:g} m, {years:g} years",
                allowed="peaks at the threshold or above, and some years",
                next="take threshold and years from the search for the peaks",
            )
        )
    found = fit_many("pareto", "l-moments", peaks_m[None, :], threshold=threshold_m)
    return _one("pareto", "l-moments", peaks_m, found, peaks_per_year=len(peaks_m) / years)


def fit_many(
    law: Law, method: Method, samples: FloatArray, *, threshold: float = 0.0
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Location, scale and shape of each sample (m, n)."""
    if method == "moments":
        scale = np.std(samples, axis=1, ddof=1) * math.sqrt(6.0) / math.pi
        return samples.mean(axis=1) - np.euler_gamma * scale, scale, np.zeros(len(samples))
    l1, l2, t3 = sample_l(np.sort(samples, axis=1), orders=3)
    if law == "gumbel":
        scale = l2 / math.log(2.0)
        return l1 - np.euler_gamma * scale, scale, np.zeros(len(samples))
    if law == "pareto":
        shape = (l1 - threshold) / l2 - 2.0
        return np.full(len(samples), threshold), (1.0 + shape) * (l1 - threshold), shape
    location, scale, shape = gev_from_l(l1, l2, t3)
    return location, scale, shape


def _one(
    law: Law,
    method: Method,
    sample_m: FloatArray,
    found: tuple[FloatArray, ...],
    *,
    peaks_per_year: float = 1.0,
) -> Fit:
    location, scale, shape = (float(v[0]) for v in found)
    sane = math.isfinite(location) and scale > 0.0 and LEAST_SHAPE < shape < MOST_SHAPE
    if not sane:
        raise RangeError(
            Problem(
                "REC-089",
                f"no {law} law has the L-moments of these values",
                got=f"location {location:g} m, scale {scale:g} m, shape {shape:g}",
                allowed=f"scale above 0, shape {LEAST_SHAPE:g} to {MOST_SHAPE:g}",
                next="look for a wrong value, or use the Gumbel law",
            )
        )
    return Fit(
        law=law,
        method=method,
        location_m=location,
        scale_m=scale,
        shape=shape,
        count=len(sample_m),
        peaks_per_year=peaks_per_year,
    )

"""How far a depth from a short record may be off: the parametric bootstrap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.cloudburst.fits import Fit, below_frac, fit_many, quantiles
from roofspring.rain.cloudburst.periods import Kind, to_kind

LEAST_RESAMPLES = 100


@dataclass(frozen=True)
class Band:
    """A depth with its band.

    Attributes
    ----------
    return_years : float
    kind : str
    depth_m, low_m, high_m : float
        Depth of the fit, and the ends of the band [m].
    shape, shape_low, shape_high : float
        The same of the shape of the law.
    level_frac : float
        Share of the resamples inside the band.
    resamples_count, seed : int
    """

    return_years: float
    kind: Kind
    depth_m: float
    low_m: float
    high_m: float
    shape: float
    shape_low: float
    shape_high: float
    level_frac: float
    resamples_count: int
    seed: int


def band(
    fit: Fit,
    *,
    return_years: float,
    kind: Kind,
    level_frac: float = 0.90,
    resamples_count: int = 1000,
    seed: int = 0,
) -> Band:
    """Band of a depth by drawing samples from the fit and fitting each again.

    Parameters
    ----------
    fit : Fit
    return_years : float
        As in `Fit.depth_m`.
    kind : str
        ``ARI`` or ``AEP``.
    level_frac : float
        Share inside the band, between 0 and 1.
    resamples_count : int
        100 or more.
    seed : int

    Returns
    -------
    Band

    Raises
    ------
    RangeError (REC-086)
        Return period, level or resamples outside their limits.

    Notes
    -----
    Each resample has as many values as the record; for peaks over a threshold their number per
    year is drawn too. The ends are percentiles of the resampled depths. The band knows only the
    luck of the draw. It does not know whether the law is right, or the climate steady.

    Source
    ------
    EFRON_1979 (bootstrap).

    Examples
    --------
    >>> from roofspring.rain.cloudburst import fit_gumbel
    >>> fit = fit_gumbel(np.array([.021, .030, .024, .055, .012, .054, .022, .071, .013, .015]))
    >>> ten = band(fit, return_years=10.0, kind="AEP", seed=1)
    >>> ten.low_m < ten.depth_m < ten.high_m
    True
    """
    if not 0.0 < level_frac < 1.0 or resamples_count < LEAST_RESAMPLES:
        raise RangeError(
            Problem(
                "REC-086",
                "a band cannot be drawn so",
                got=f"level {level_frac:g}, {resamples_count} resamples",
                allowed=f"a level between 0 and 1, at least {LEAST_RESAMPLES} resamples",
                next="use 0.9 and 1000",
            )
        )
    depth_m = fit.depth_m(return_years, kind=kind)
    rng = np.random.default_rng(seed)
    of_fit = (np.array(fit.location_m), np.array(fit.scale_m), np.array(fit.shape))
    draws = rng.random((resamples_count, fit.count))
    samples = quantiles(fit.law, *of_fit, np.clip(draws, 1e-300, 1.0 - 1e-16))
    location, scale, shape = fit_many(fit.law, fit.method, samples, threshold=fit.location_m)
    if fit.law == "pareto":
        per_year = np.maximum(rng.poisson(fit.count, resamples_count), 1) / fit.years
        peaks = to_kind(return_years, kind=kind, wanted="ARI") * per_year
        below = np.maximum(1.0 - 1.0 / peaks, 0.0)
    else:
        below = np.full(resamples_count, below_frac(fit.law, return_years, kind, 1.0))
    depths = quantiles(fit.law, location, scale, shape, below)
    ends = [50.0 * (1.0 - level_frac), 50.0 * (1.0 + level_frac)]
    low_m, high_m = (float(v) for v in np.percentile(depths, ends))
    shape_low, shape_high = (float(v) for v in np.percentile(shape, ends))
    return Band(
        return_years=return_years,
        kind=kind,
        depth_m=depth_m,
        low_m=low_m,
        high_m=high_m,
        shape=fit.shape,
        shape_low=shape_low,
        shape_high=shape_high,
        level_frac=level_frac,
        resamples_count=resamples_count,
        seed=seed,
    )

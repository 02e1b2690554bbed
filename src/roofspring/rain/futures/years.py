"""Wet and dry years and months: how much more real ones differ than a chain's, and what to do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from roofspring.kernels import weather
from roofspring.rain.futures._calendar import Span, span
from roofspring.rain.futures.base import Past
from roofspring.rain.record import FloatArray

LEAST_YEARS = 10
"""Fewer whole years say too little of how years differ; engineering choice."""

CALIBRATION_YEARS = 2_000
_SEED = 19_990_101
_MOST_SPREAD = 0.6
_CHANCE = 1.96


@dataclass(frozen=True)
class YearIndex:
    """A factor for each year, and one for each of its months, that the rain follows.

    Attributes
    ----------
    overdispersion : float
        Variance of yearly rain in the record over that of the model without the index [-].
    month_overdispersion : float
        The same for monthly rain, all months together [-].
    years_frac, months_frac : float
        Spread of the yearly and of the monthly factor about 1 [-]; 0 where real ones differ no
        more than the model's.
    days_frac : float
        Share of the factors that goes into the number of wet days, the rest into rain per wet day
        [-], on a log scale.
    lag1_frac : float
        How much of a year's index lasts to the next [-]; 0 where the record's is within chance.
    """

    overdispersion: float
    month_overdispersion: float
    years_frac: float
    months_frac: float
    days_frac: float
    lag1_frac: float

    @property
    def is_none(self) -> bool:
        """Whether all factors are 1."""
        return self.years_frac == 0.0 and self.months_frac == 0.0

    def draw(self, years: int, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
        """Factors on the number of wet days, and on rain per wet day: (years, 12) each."""
        index, lag = np.empty(years), self.lag1_frac
        weather.lasting(rng.standard_normal(years), lag, float(np.sqrt(1.0 - lag**2)), index)
        of_years, of_months = np.log1p(self.years_frac**2), np.log1p(self.months_frac**2)
        log_factor = (
            (np.sqrt(of_years) * index)[:, np.newaxis]
            + np.sqrt(of_months) * rng.standard_normal((years, 12))
            - 0.5 * (of_years + of_months)
        )
        return np.exp(self.days_frac * log_factor), np.exp((1.0 - self.days_frac) * log_factor)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def month_sums(depth_m: FloatArray, days: Span) -> FloatArray:
    """Rain of each month of each year [m], (years, 12)."""
    sums = np.bincount(days.year * 12 + days.month, depth_m, 12 * days.years)
    return sums.astype(np.float64).reshape(-1, 12)


def past_sums(known: Past, *, wet_day_m: float) -> tuple[FloatArray, FloatArray] | None:
    """Monthly rain [m] and wet days, (years, 12) each, of the whole years; None with too few."""
    years = int(known.years + 0.01)
    if years and span(known.start, years).days_count > len(known.depth_m):
        years -= 1
    if years < LEAST_YEARS:
        return None
    days = span(known.start, years)
    depth = known.depth_m[: days.days_count]
    return month_sums(depth, days), month_sums((depth >= wet_day_m).astype(np.float64), days)


def fit_years(
    rain_m: FloatArray,
    wet_days: FloatArray,
    *,
    rain_of: Callable[[YearIndex | None, int, np.random.SeedSequence], FloatArray],
) -> YearIndex:
    """How strong the index must be for invented years and months to differ as real ones do.

    Parameters
    ----------
    rain_m, wet_days : (n, 12) float64
        Of the months of the whole years of the record.
    rain_of : callable
        Monthly rain [m], (years, 12), of the model with an index, or without.

    Returns
    -------
    YearIndex

    Notes
    -----
    With factors of variance a (by year) and b (by month) and mean 1, yearly variance grows by
    ``a M**2 + b Q`` and the sum of monthly variances by ``(a + b) Q``, where M is mean yearly rain
    and Q the sum of squared mean monthly rains. Both are set to what the model lacks; neither
    variance is negative, and where one is 0 the yearly equation decides. One more step on the same
    draws corrects for what the rule leaves out. The slope of log wet days on log yearly rain splits
    the factors between how often and how much. All is worked out from draws with a fixed seed.

    Source
    ------
    KATZ_PARLANGE_1998 (overdispersion of daily models); WILKS_WILBY_1999 (parameters that depend
    on an index); form of the index, and its calibration: engineering choice.
    """
    seed = np.random.SeedSequence(_SEED)
    plain, wanted = _variances(rain_of(None, CALIBRATION_YEARS, seed)), _variances(rain_m)
    means = rain_m.mean(axis=0)
    missing = wanted - plain
    a, b = _split(missing, float(means.sum() ** 2), float((means**2).sum()))
    yearly = rain_m.sum(axis=1)
    index = YearIndex(
        overdispersion=float(wanted[0] / plain[0]),
        month_overdispersion=float(wanted[1] / plain[1]),
        years_frac=min(_MOST_SPREAD, float(np.sqrt(a))),
        months_frac=min(_MOST_SPREAD, float(np.sqrt(b))),
        days_frac=_slope(yearly, wet_days.sum(axis=1)),
        lag1_frac=_lag(yearly),
    )
    if index.is_none:
        return index
    gained = _variances(rain_of(index, CALIBRATION_YEARS, seed)) - plain
    step = float(np.sqrt(np.clip(missing[0] / gained[0], 0.25, 4.0))) if missing[0] > 0.0 else 1.0
    return replace(
        index,
        years_frac=min(_MOST_SPREAD, index.years_frac * step),
        months_frac=min(_MOST_SPREAD, index.months_frac * step),
    )


def _variances(rain_m: FloatArray) -> FloatArray:
    """Yearly variance, and the sum of the monthly ones [m2]."""
    return np.array([rain_m.sum(axis=1).var(ddof=1), rain_m.var(axis=0, ddof=1).sum()])


def _split(missing: FloatArray, yearly: float, monthly: float) -> tuple[float, float]:
    """Variances of the yearly and the monthly factor."""
    if missing[0] <= 0.0:
        return 0.0, 0.0
    a = (missing[0] - missing[1]) / (yearly - monthly)
    b = missing[1] / monthly - a
    if a < 0.0:
        return 0.0, missing[0] / monthly
    if b < 0.0:
        return missing[0] / yearly, 0.0
    return a, b


def _slope(rain_m: FloatArray, wet_days: FloatArray) -> float:
    """Slope of log wet days on log rain, 0 to 1; a half where it cannot be told."""
    good = (rain_m > 0.0) & (wet_days > 0.0)
    x, y = np.log(rain_m[good]), np.log(wet_days[good])
    square = float(((x - x.mean()) ** 2).sum()) if len(x) > 2 else 0.0
    return float(np.clip(((x - x.mean()) * y).sum() / square, 0.0, 1.0)) if square > 0.0 else 0.5


def _lag(rain_m: FloatArray) -> float:
    """Lag-1 correlation, 0 where it is within what chance makes of unrelated years."""
    rest = rain_m - rain_m.mean()
    square = float((rest**2).sum())
    lag = float((rest[1:] * rest[:-1]).sum()) / square if square > 0.0 else 0.0
    return float(np.clip(lag, -0.9, 0.9)) if abs(lag) > _CHANCE / np.sqrt(len(rest)) else 0.0

"""Air temperature that goes with wet and dry days: a season for each, and departures that last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from roofspring.kernels import weather
from roofspring.rain.futures._calendar import IntArray, Span, season
from roofspring.rain.futures.base import Past
from roofspring.rain.futures.smooth import smooth_year
from roofspring.rain.record import FloatArray

LEAST_RANGE_DEGC = 0.1
"""A day's extremes lie at least this far apart in the fit, whose logs need a range; our choice."""


@dataclass(frozen=True)
class Temperatures:
    """Two series: the middle of the day's extremes, and the log of the range between them.

    Attributes
    ----------
    mean : (2, 2, 12) float64
        Monthly means: of each series, on dry and on wet days.
    spread : (2, 2, 12) float64
        Standard deviations about the season, in the same order.
    lag1_frac : (2,) float64
        How much of a departure lasts to the next day [-].
    together_frac : float
        Correlation of the departures of the two series on the same day [-].
    range_degc : (2,) float64
        Least and greatest daily range of the record [degrees C]; none outside is made.
    """

    mean: FloatArray
    spread: FloatArray
    lag1_frac: FloatArray
    together_frac: float
    range_degc: FloatArray

    def draw(
        self, days: Span, wet: IntArray, rng: np.random.Generator
    ) -> tuple[FloatArray, FloatArray]:
        """Least and greatest temperature of each day [degrees C]."""
        n = days.days_count
        fresh = np.sqrt(1.0 - self.lag1_frac**2)
        shared = self.together_frac * (1.0 - self.lag1_frac.prod()) / fresh.prod()
        shared = float(np.clip(shared, -1.0, 1.0))
        noise = rng.standard_normal((2, n))
        noise[1] = shared * noise[0] + np.sqrt(1.0 - shared**2) * noise[1]
        series = []
        for v in range(2):
            departure = np.empty(n)
            weather.lasting(noise[v], float(self.lag1_frac[v]), float(fresh[v]), departure)
            middle = np.array([season(self.mean[v, s]) for s in range(2)])[wet, days.place]
            series.append(middle + self.spread[v][wet, days.month] * departure)
        low, high = np.log(self.range_degc)
        half = np.exp(np.clip(series[1], low, high)) / 2.0
        return series[0] - half, series[0] + half

    def to_dict(self) -> dict[str, Any]:
        """Parameters, for JSON."""
        names = (("mean_degc", "log_range"), ("dry", "wet"))
        return {
            **{
                f"{names[0][v]}_{names[1][s]}_{what}": getattr(self, what)[v, s].tolist()
                for what in ("mean", "spread")
                for v in range(2)
                for s in range(2)
            },
            "lag1_frac": self.lag1_frac.tolist(),
            "together_frac": self.together_frac,
            "range_degc": self.range_degc.tolist(),
        }


def fit_temperatures(known: Past, wet: IntArray) -> Temperatures | None:
    """Learn temperatures from a record; None where it has none.

    Notes
    -----
    Monthly means on dry and wet days are smoothed by waves (BIC) and joined to a season; the
    departures about it, divided by the monthly spread, are AR(1), correlated between the series.

    Source
    ------
    RICHARDSON_1981 (temperature given wet or dry, with lag). The log of the range, which keeps the
    extremes in order, is an engineering choice.
    """
    if known.tmin_degc is None or known.tmax_degc is None:
        return None
    width = np.maximum(known.tmax_degc - known.tmin_degc, LEAST_RANGE_DEGC)
    values = ((known.tmin_degc + known.tmax_degc) / 2.0, np.log(width))
    mean, spread = np.empty((2, 2, 12)), np.empty((2, 2, 12))
    lag, left = np.empty(2), []
    for v, series in enumerate(values):
        rest = np.empty(len(series))
        for s in range(2):
            mean[v, s] = _means(series, known, wet == s)
            rest[wet == s] = (series - season(mean[v, s])[known.place])[wet == s]
        for s in range(2):
            spread[v, s] = _spreads(rest, known, wet == s)
        standard = rest / spread[v][wet, known.month]
        lag[v] = np.clip(_correlation(standard[1:], standard[:-1]), 0.0, 0.99)
        left.append(standard)
    return Temperatures(
        mean=mean,
        spread=spread,
        lag1_frac=lag,
        together_frac=_correlation(left[0], left[1]),
        range_degc=np.array([width.min(), width.max()]),
    )


def _means(series: FloatArray, known: Past, use: np.ndarray[Any, np.dtype[np.bool_]]) -> FloatArray:
    use = use if use.any() else ~use
    month, count = known.month[use], np.bincount(known.month[use], minlength=12)
    total = np.bincount(month, series[use], 12)
    means = np.full(12, np.nan)
    np.divide(total, count, out=means, where=count > 0)
    # Days next to each other say nearly the same: a month of days counts as a fifth of it.
    variance = 5.0 * max(float(series.var()), 1e-12) / np.maximum(count, 1)
    return smooth_year(means, variance, harmonics="bic").values


def _spreads(rest: FloatArray, known: Past, use: np.ndarray[Any, np.dtype[np.bool_]]) -> FloatArray:
    use = use if use.any() else ~use
    month, count = known.month[use], np.bincount(known.month[use], minlength=12)
    square = np.bincount(month, rest[use] ** 2, 12)
    logs = np.full(12, np.nan)
    enough = (count > 1) & (square > 0.0)
    if not enough.any():
        return np.full(12, 1e-6)
    logs[enough] = 0.5 * np.log(square[enough] / count[enough])
    return np.exp(smooth_year(logs, 0.5 / np.maximum(count, 1.0), harmonics="bic").values)


def _correlation(a: FloatArray, b: FloatArray) -> float:
    spread = float(a.std() * b.std())
    return float(((a - a.mean()) * (b - b.mean())).mean()) / spread if spread > 0.0 else 0.0

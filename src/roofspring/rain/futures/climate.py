"""A climate in twelve values of each kind, and its limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.kernels import weather
from roofspring.rain.futures._calendar import Span, Twelve, season
from roofspring.rain.record import FloatArray

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class MonthlyClimate:
    """A climate by month, January to December; each of the first six has twelve values.

    Parameters
    ----------
    p01_frac, p11_frac : 12 float
        Chance of a wet day after a dry one, and after a wet one [-], 0 to 1.
    gamma_shape : 12 float
        Shape of the gamma law of wet-day rain [-], more than 0; 0.75 is common.
    wet_day_m : 12 float
        Mean rain of a wet day [m], 0 or more.
    tmean_degc, trange_degc : 12 float
        Mean air temperature, and mean daily range between its extremes [degrees C].
    temp_sd_degc, temp_lag1_frac : float
        Spread of daily mean temperature about its season [degrees C], and how much of a departure
        lasts to the next day [-]. The defaults are engineering choices.

    Raises
    ------
    RangeError (REC-023)
        Not twelve values, or one outside its limits.

    Source
    ------
    RICHARDSON_1981 (form of the model).
    """

    p01_frac: Twelve
    p11_frac: Twelve
    gamma_shape: Twelve
    wet_day_m: Twelve
    tmean_degc: Twelve
    trange_degc: Twelve
    temp_sd_degc: float = 3.0
    temp_lag1_frac: float = 0.7

    def __post_init__(self) -> None:
        limits = {
            "p01_frac": (0.0, 1.0),
            "p11_frac": (0.0, 1.0),
            "gamma_shape": (0.01, 100.0),
            "wet_day_m": (0.0, 1.0),
            "tmean_degc": (-95.0, 65.0),
            "trange_degc": (0.0, 60.0),
        }
        problems = [
            outside(f"{name}, month {i + 1}", value, low, high)
            for name, (low, high) in limits.items()
            for i, value in enumerate(getattr(self, name))
            if not low <= value <= high
        ]
        problems += [
            Problem(
                "REC-023",
                "a climate needs twelve values, January to December",
                where=name,
                got=f"{len(getattr(self, name))} values",
                next="give one for each month",
            )
            for name in limits
            if len(getattr(self, name)) != 12
        ]
        if not 0.0 <= self.temp_sd_degc <= 30.0:
            problems.append(outside("temp_sd_degc", self.temp_sd_degc, 0.0, 30.0))
        if not 0.0 <= self.temp_lag1_frac < 1.0:
            problems.append(outside("temp_lag1_frac", self.temp_lag1_frac, 0.0, 0.999))
        if problems:
            raise RangeError(problems)

    @property
    def wet_frac(self) -> Twelve:
        """Long-run share of wet days by month: ``p01 / (1 + p01 - p11)`` (WILKS_2011, ch. 9)."""
        return tuple(
            p01 / (1.0 + p01 - p11) if 1.0 + p01 - p11 > 0.0 else 0.0
            for p01, p11 in zip(self.p01_frac, self.p11_frac, strict=True)
        )

    def draw_wet(self, days: Span, rng: np.random.Generator) -> BoolArray:
        """Wet days of a span, by the chain, from its long-run share."""
        n = days.days_count
        draws, flags = rng.random(n + 1), np.zeros(n, dtype=np.uint8)
        chance = np.array([self.p01_frac, self.p11_frac]).T[np.newaxis].copy()
        state = int(draws[n] < self.wet_frac[int(days.month[0])])
        weather.wet_days(draws[:n], chance, np.zeros_like(days.year), days.month, state, flags)
        return flags.astype(np.bool_)

    def draw_temperatures(
        self, days: Span, rng: np.random.Generator
    ) -> tuple[FloatArray, FloatArray]:
        """Temperature extremes of a span [degrees C]: a season and departures that last."""
        n, lag = days.days_count, self.temp_lag1_frac
        half = np.maximum(season(self.trange_degc)[days.place], 0.0) / 2.0
        departure = np.empty(n)
        weather.lasting(rng.standard_normal(n), lag, (1.0 - lag**2) ** 0.5, departure)
        mean = season(self.tmean_degc)[days.place] + self.temp_sd_degc * departure
        return mean - half, mean + half


def outside(where: str, value: float, low: float, high: float) -> Problem:
    """The problem of a value that is not between its limits."""
    return Problem(
        "REC-023",
        "a value of the climate is outside its limits",
        where=where,
        got=f"{value:g}",
        allowed=f"{low:g} to {high:g}",
        next="check the month and the unit",
    )

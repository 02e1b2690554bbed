"""Invented rain and temperature with a stated climate, always marked as invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray, Kept, RainRecord

Twelve = tuple[float, ...]
IntArray = npt.NDArray[np.int64]

_DAY_S = 86_400.0
_MAX_YEARS = 10_000


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
            _outside(f"{name}, month {i + 1}", value, low, high)
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
            problems.append(_outside("temp_sd_degc", self.temp_sd_degc, 0.0, 30.0))
        if not 0.0 <= self.temp_lag1_frac < 1.0:
            problems.append(_outside("temp_lag1_frac", self.temp_lag1_frac, 0.0, 0.999))
        if problems:
            raise RangeError(problems)

    @property
    def wet_frac(self) -> Twelve:
        """Long-run share of wet days by month: ``p01 / (1 + p01 - p11)`` (WILKS_2011, ch. 9)."""
        return tuple(
            p01 / (1.0 + p01 - p11) if 1.0 + p01 - p11 > 0.0 else 0.0
            for p01, p11 in zip(self.p01_frac, self.p11_frac, strict=True)
        )


def _outside(where: str, value: float, low: float, high: float) -> Problem:
    return Problem(
        "REC-023",
        "a value of the climate is outside its limits",
        where=where,
        got=f"{value:g}",
        allowed=f"{low:g} to {high:g}",
        next="check the month and the unit",
    )


Weather = tuple[FloatArray, FloatArray, FloatArray]
Generator = Callable[[MonthlyClimate, IntArray, IntArray, np.random.Generator], Weather]


def markov_gamma(
    months: MonthlyClimate, month: IntArray, leap_day: IntArray, rng: np.random.Generator
) -> Weather:
    """Wet and dry days by a first-order chain, gamma depths, seasonal temperature with persistence.

    Parameters
    ----------
    months : MonthlyClimate
    month, leap_day : (n,) int64
        Month, 0 to 11, and place in a leap year, 0 to 365, of each day: 1 March is always 60.
    rng : numpy.random.Generator

    Returns
    -------
    depth_m, tmin_degc, tmax_degc : (n,) float64
        Rain [m] and temperature extremes [degrees C].

    Notes
    -----
    The chain starts from the long-run share of wet days. The season of temperature is the sum of
    sinusoids whose monthly means are those given. Rain and temperature do not depend on each
    other, and years vary less than real ones do, as with every chain of this kind.

    Source
    ------
    RICHARDSON_1981 (model); WILKS_2011, ch. 9 (long-run share of wet days).
    """
    n = len(month)
    p01, p11 = np.array(months.p01_frac)[month].tolist(), np.array(months.p11_frac)[month].tolist()
    draws = rng.random(n + 1).tolist()
    wet = np.zeros(n, dtype=bool)
    state = draws[n] < months.wet_frac[int(month[0])]
    for i in range(n):
        state = draws[i] < (p11[i] if state else p01[i])
        wet[i] = state
    shape = np.array(months.gamma_shape)[month[wet]]
    depth = np.zeros(n)
    depth[wet] = rng.gamma(shape) * np.array(months.wet_day_m)[month[wet]] / shape
    season = _season(months.tmean_degc)[leap_day]
    half = np.maximum(_season(months.trange_degc)[leap_day], 0.0) / 2.0
    noise = rng.standard_normal(n).tolist()
    rho, fresh = months.temp_lag1_frac, (1.0 - months.temp_lag1_frac**2) ** 0.5
    departure, last = np.empty(n), noise[0]
    for i in range(n):
        last = rho * last + fresh * noise[i] if i else last
        departure[i] = last
    mean = season + months.temp_sd_degc * departure
    return depth, mean - half, mean + half


def _season(monthly: Twelve) -> FloatArray:
    """A smooth year of 366 days whose monthly means are those given: a sum of sinusoids."""
    days = np.arange("2000-01-01", "2001-01-01", dtype="datetime64[D]")
    month = days.astype("datetime64[M]").astype(np.int64) % 12
    angle = 2.0 * np.pi * (np.arange(366) + 0.5) / 366.0
    waves = [np.ones(366)]
    for k in range(1, 6):
        waves += [np.cos(k * angle), np.sin(k * angle)]
    waves.append(np.sin(6.0 * angle))
    basis = np.array(waves).T
    means = np.array([basis[month == m].mean(axis=0) for m in range(12)])
    curve: FloatArray = basis @ np.linalg.solve(means, np.array(monthly))
    return curve


def _leap_day(days: npt.NDArray[np.datetime64]) -> IntArray:
    """Place of each day in a leap year."""
    year = days.astype("datetime64[Y]")
    at = (days - year).astype(np.int64)
    common = ((year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")).astype(int) == 365
    place: IntArray = at + (common & (at >= 59))
    return place


GENERATORS: dict[str, Generator] = {"markov-gamma": markov_gamma}
"""Generators by name."""


def generate(
    *,
    years: int,
    seed: int,
    months: MonthlyClimate,
    start: np.datetime64,
    method: str = "markov-gamma",
) -> RainRecord:
    """Invent a daily record.

    Parameters
    ----------
    years : int
        Whole years, 1 to 10,000.
    seed : int
        The same seed gives the same record.
    months : MonthlyClimate
    start : numpy.datetime64
        First day.
    method : str
        A name in `GENERATORS`.

    Returns
    -------
    RainRecord
        Daily, every step marked `Kept.INVENTED`; its name and source say so and give the seed.

    Raises
    ------
    RangeError
        REC-019: no such method. REC-023: years outside their limits.

    Source
    ------
    RICHARDSON_1981.

    Examples
    --------
    >>> even = MonthlyClimate(p01_frac=(0.2,) * 12, p11_frac=(0.5,) * 12, gamma_shape=(0.75,) * 12,
    ...                       wet_day_m=(0.0075,) * 12, tmean_degc=(9.0,) * 12,
    ...                       trange_degc=(8.0,) * 12)
    >>> record = generate(years=2, seed=1, months=even, start=np.datetime64("2001-01-01"))
    >>> record.days_count, record.name, record.invented
    (730, 'invented rain, seed 1', True)
    """
    if method not in GENERATORS:
        raise RangeError(
            Problem(
                "REC-019",
                "this generator is not known",
                got=method,
                allowed=", ".join(GENERATORS),
                next="use one of these",
            )
        )
    if not 1 <= years <= _MAX_YEARS:
        raise RangeError(_outside("years", years, 1, _MAX_YEARS))
    first = start.astype("datetime64[D]")
    month_start = first.astype("datetime64[M]")
    end = (month_start + 12 * years).astype("datetime64[D]") + (first - month_start)
    days = np.arange(first, end)
    month = days.astype("datetime64[M]").astype(np.int64) % 12
    depth, tmin, tmax = GENERATORS[method](
        months, month, _leap_day(days), np.random.default_rng(seed)
    )
    return RainRecord(
        start=first,
        step_s=_DAY_S,
        depth_m=depth,
        kept=np.full(len(days), Kept.INVENTED, dtype=np.uint8),
        name=f"invented rain, seed {seed}",
        source=f"invented by the generator {method}, seed {seed}",
        tmin_degc=tmin,
        tmax_degc=tmax,
    )

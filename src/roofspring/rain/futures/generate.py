"""Invented rain and temperature with a stated climate, always marked as invented."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.errors.names import did_you_mean
from roofspring.rain.futures._calendar import Span, span
from roofspring.rain.futures.climate import MonthlyClimate, outside
from roofspring.rain.record import FloatArray, Kept, RainRecord

DAY_S = 86_400.0
MAX_YEARS = 10_000

Weather = tuple[FloatArray, FloatArray, FloatArray]
Generator = Callable[[MonthlyClimate, Span, np.random.Generator], Weather]


def markov_gamma(months: MonthlyClimate, days: Span, rng: np.random.Generator) -> Weather:
    """Wet and dry days by a first-order chain, gamma depths, seasonal temperature with persistence.

    Parameters
    ----------
    months : MonthlyClimate
    days : Span
        The days to make.
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
    month = days.month
    wet = months.draw_wet(days, rng)
    shape = np.array(months.gamma_shape)[month[wet]]
    depth = np.zeros(days.days_count)
    depth[wet] = rng.gamma(shape) * np.array(months.wet_day_m)[month[wet]] / shape
    return depth, *months.draw_temperatures(days, rng)


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
                next=did_you_mean(method, GENERATORS),
            )
        )
    days = whole_span(start, years)
    depth, tmin, tmax = GENERATORS[method](months, days, np.random.default_rng(seed))
    return RainRecord(
        start=days.start,
        step_s=DAY_S,
        depth_m=depth,
        kept=np.full(days.days_count, Kept.INVENTED, dtype=np.uint8),
        name=f"invented rain, seed {seed}",
        source=f"invented by the generator {method}, seed {seed}",
        tmin_degc=tmin,
        tmax_degc=tmax,
    )


def whole_span(start: np.datetime64, years: int) -> Span:
    """The days of some whole years.

    Raises
    ------
    RangeError (REC-023)
        Years outside their limits.
    """
    if not 1 <= years <= MAX_YEARS:
        raise RangeError(outside("years", years, 1, MAX_YEARS))
    return span(start, years)

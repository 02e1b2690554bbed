"""What n years can and cannot show."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.network.result import RunResult

RESAMPLES_COUNT = 1000
SEED = 1
LEAST_YEARS_FOR_BAND = 3


def whole_years(result: RunResult) -> list[npt.NDArray[np.bool_]]:
    """A mask of days for each calendar year that is complete in the run."""
    year = result.days.astype("datetime64[Y]")
    years = np.unique(year)
    lengths = ((years + 1).astype("datetime64[D]") - years.astype("datetime64[D]")).astype(int)
    masks = [year == y for y in years]
    return [m for m, length in zip(masks, lengths, strict=True) if m.sum() == length]


def resampled_band(result: RunResult) -> tuple[float | None, float | None]:
    """5th and 95th percentile of the served share over years drawn with replacement.

    None where the record has fewer than three whole years: no band can be told.
    Source: EFRON_1979, bootstrap; whole years are drawn so that seasons stay together.
    """
    years = whole_years(result)
    if len(years) < LEAST_YEARS_FOR_BAND:
        return None, None
    wanted = np.array([result.wanted_m3[m].sum() for m in years])
    delivered = np.array([result.delivered_m3[m].sum() for m in years])
    if wanted.sum() <= 0.0:
        return None, None
    draw = np.random.default_rng(SEED).integers(0, len(years), size=(RESAMPLES_COUNT, len(years)))
    served = delivered[draw].sum(axis=1) / wanted[draw].sum(axis=1)
    low, high = np.percentile(served, [5.0, 95.0])
    return float(low), float(high)


def yearly_chance(bad_years: int, years: int, *, level_frac: float = 0.90) -> tuple[float, float]:
    """Exact confidence interval for the chance of a bad year, from ``bad_years`` of ``years``.

    Source: CLOPPER_PEARSON_1934.

    >>> low, high = yearly_chance(0, 10)
    >>> low, round(high, 3)
    (0.0, 0.259)
    """
    from scipy.special import betaincinv  # the quantile of the beta law

    tail, good_years = (1.0 - level_frac) / 2.0, years - bad_years
    low = betaincinv(bad_years, good_years + 1, tail) if bad_years else 0.0
    high = betaincinv(bad_years + 1, good_years, 1.0 - tail) if good_years else 1.0
    return float(low), float(high)


def doubt_words(result: RunResult, short: npt.NDArray[np.bool_], *, invented: bool = False) -> str:
    """Plain statement of what the length of the record allows to be said."""
    years = whole_years(result)
    if len(years) < LEAST_YEARS_FOR_BAND:
        held = {0: "no whole calendar year", 1: "1 whole calendar year"}
        count = held.get(len(years), f"{len(years)} whole calendar years")
        return (
            f"The record holds {count}. That shows how the parts work "
            "together, and little about how often a dry spell comes: one dry year in five may well "
            "be missing from it."
        )
    bad = sum(bool(short[m].any()) for m in years)
    if invented:
        return (
            f"{bad} of {len(years)} invented years had a shortage. More invented years would not "
            "make your sky any better known: only a measured record can."
        )
    low, high = yearly_chance(bad, len(years))
    return (
        f"{bad} of {len(years)} whole years had a shortage. From that alone the chance of a year "
        f"with a shortage lies between {100 * low:.0f} and {100 * high:.0f} % (90 % interval). "
        f"A drought rarer than about once in {len(years)} years may not be in the record at all, "
        "and the climate to come need not be that of the record."
    )

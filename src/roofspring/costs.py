"""Money over the years: what a thing costs at first, every year, and when its parts are replaced.

Money has no currency here and no inflation: all amounts are in one coin of today, and the rate is
the real one, what a saving would bring above the rise of prices.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.errors.limits import not_negative, positive, share

LITRES_PER_M3 = 1000.0
YEAR_DAYS = 365.0
ROUNDING_FRAC = 1e-9
"""A replacement that falls on the end, but for the rounding of a turned unit, is not made."""


@dataclass(frozen=True)
class Replacement:
    """A part that is bought again and again.

    Attributes
    ----------
    cost : float
        Each time, in the coin of the owner.
    every_years : float
        Time between [years]; the first time after this time, not at the start.
    """

    cost: float
    every_years: float


@dataclass(frozen=True)
class Costs:
    """What one thing costs over the years, in the coin of the owner.

    Attributes
    ----------
    first_cost : float
        At the start.
    cost_per_year : float
        At the end of every year.
    replacements : tuple of Replacement
    left_value : float
        What it is still worth at the end.
    """

    first_cost: float
    cost_per_year: float
    replacements: tuple[Replacement, ...] = ()
    left_value: float = 0.0


def together(*several: Costs) -> Costs:
    """What several things cost together.

    Examples
    --------
    >>> together(Costs(900.0, 60.0), Costs(0.0, 25.0)).cost_per_year
    85.0
    """
    return Costs(
        sum(c.first_cost for c in several),
        sum(c.cost_per_year for c in several),
        tuple(r for c in several for r in c.replacements),
        sum(c.left_value for c in several),
    )


def annuity_years(rate_frac: float, *, years_count: int) -> float:
    """What one coin at the end of every year is worth today; years that count in full.

    Parameters
    ----------
    rate_frac : float
        Real rate of discount by the year [-], 0 to 1.
    years_count : int
        Number of years, 1 or more.

    Returns
    -------
    float
        ``(1 - (1 + r)^-n) / r`` [years]; ``n`` at a rate of 0.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        No year, or a rate that is not a share.

    Source
    ------
    Closed form of the sum of a geometric series.

    Examples
    --------
    >>> round(annuity_years(0.04, years_count=20), 4)
    13.5903
    >>> annuity_years(0.0, years_count=20)
    20.0
    """
    share("rate_frac", rate_frac)
    positive("years_count", years_count)
    return _repeated(rate_frac, times=years_count, every_years=1.0)


def present_cost(costs: Costs, *, rate_frac: float, years_count: int) -> float:
    """All costs of a thing over the years as one amount at the start.

    Parameters
    ----------
    costs : Costs
        Amounts of 0 or more.
    rate_frac : float
        Real rate of discount by the year [-], 0 to 1.
    years_count : int
        Number of years, 1 or more.

    Returns
    -------
    float
        ``C + O a(r, n) + sum R (1 + r)^-(m T) - S (1 + r)^-n``, with ``m T < n``: a part is not
        replaced on the last day.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        An amount below 0, a time between replacements that is not above 0, no year, or a rate that
        is not a share.

    Source
    ------
    The definition of a present value; closed form of its sums.

    Examples
    --------
    A filter of 900 with 60 a year and 80 for its sand every 5 years:

    >>> sand = Costs(900.0, 60.0, (Replacement(80.0, 5.0),))
    >>> round(present_cost(sand, rate_frac=0.04, years_count=20), 1)
    1879.6
    """
    years = annuity_years(rate_frac, years_count=years_count)
    for name in ("first_cost", "cost_per_year", "left_value"):
        not_negative(name, getattr(costs, name))
    total = costs.first_cost + costs.cost_per_year * years
    for part in costs.replacements:
        not_negative("replacement, cost", part.cost)
        positive("replacement, every_years", part.every_years)
        times = math.ceil(years_count / part.every_years * (1.0 - ROUNDING_FRAC)) - 1
        total += part.cost * _repeated(rate_frac, times=times, every_years=part.every_years)
    return total - costs.left_value * math.exp(-years_count * math.log1p(rate_frac))


def equal_cost_per_year(present_amount: float, *, rate_frac: float, years_count: int) -> float:
    """The equal amount at the end of every year that comes to the same as one at the start.

    Parameters
    ----------
    present_amount : float
        Amount at the start, as from `present_cost`.
    rate_frac, years_count : float, int
        As `annuity_years`.

    Returns
    -------
    float
        ``present_amount / a(r, n)`` [1/year], in the coin of the owner.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        As `annuity_years`.

    Source
    ------
    Closed form, as `annuity_years`.

    Examples
    --------
    >>> round(equal_cost_per_year(1879.64, rate_frac=0.04, years_count=20), 1)
    138.3
    """
    return present_amount / annuity_years(rate_frac, years_count=years_count)


def cost_per_m3(cost_per_year: float, *, water_l_per_day: float) -> float:
    """What a cubic metre costs when so much is used every day.

    Parameters
    ----------
    cost_per_year : float
        In the coin of the owner [1/year].
    water_l_per_day : float
        Water used [L/day], more than 0.

    Returns
    -------
    float
        In the coin of the owner [1/m3], for years of 365 days.

    Raises
    ------
    RangeError (DOM-002)
        No water.

    Source
    ------
    Closed form.

    Examples
    --------
    >>> round(cost_per_m3(138.308, water_l_per_day=40.0), 2)
    9.47
    """
    positive("water_l_per_day", water_l_per_day)
    return cost_per_year / (water_l_per_day * YEAR_DAYS / LITRES_PER_M3)


def _repeated(rate_frac: float, *, times: int, every_years: float) -> float:
    """Sum of ``(1 + r)^-(m T)`` for m from 1 to ``times``, exact down to a rate of 0."""
    step = every_years * math.log1p(rate_frac)
    if step == 0.0:
        return float(times)
    return -math.expm1(-times * step) / math.expm1(step)

"""Money over the years against exact sums, coin by coin, in whole fractions."""

from __future__ import annotations

from fractions import Fraction

import pytest

from roofspring.costs import (
    Costs,
    Replacement,
    annuity_years,
    cost_per_m3,
    equal_cost_per_year,
    present_cost,
)
from roofspring.errors import RangeError


def _coin_by_coin(
    first: int, yearly: int, parts: list[tuple[int, int]], left: int, rate: Fraction, years: int
) -> Fraction:
    """Every payment of every year, discounted one by one; exact."""
    total = Fraction(first)
    for year in range(1, years + 1):
        paid = Fraction(yearly)
        paid += sum(cost for cost, every in parts if year % every == 0 and year < years)
        if year == years:
            paid -= left
        total += paid / (1 + rate) ** year
    return total


@pytest.mark.parametrize("rate", [Fraction(0), Fraction(1, 1000), Fraction(4, 100), Fraction(1, 2)])
@pytest.mark.parametrize("years", [1, 7, 20, 30])
def test_present_cost_equals_the_exact_sum(rate: Fraction, years: int) -> None:
    parts = [(80, 5), (900, 10), (35, 1), (7, 50)]
    costs = Costs(900.0, 60.0, tuple(Replacement(float(c), float(t)) for c, t in parts), 111.0)
    exact = _coin_by_coin(900, 60, parts, 111, rate, years)
    ours = present_cost(costs, rate_frac=float(rate), years_count=years)
    assert ours == pytest.approx(float(exact), rel=1e-12)


@pytest.mark.parametrize(
    "rate", [Fraction(1, 10**6), Fraction(4, 100), Fraction(1, 10), Fraction(1)]
)
def test_annuity_equals_the_exact_sum(rate: Fraction) -> None:
    exact = sum((1 / (1 + rate) ** year for year in range(1, 41)), Fraction(0))
    assert annuity_years(float(rate), years_count=40) == pytest.approx(float(exact), rel=1e-12)


def test_at_a_rate_of_nought_money_is_only_added_up() -> None:
    costs = Costs(900.0, 60.0, (Replacement(80.0, 5.0),), 100.0)
    assert present_cost(costs, rate_frac=0.0, years_count=20) == 900 + 20 * 60 + 3 * 80 - 100
    assert annuity_years(0.0, years_count=20) == 20.0
    assert annuity_years(1e-15, years_count=20) == pytest.approx(20.0, rel=1e-12)
    assert equal_cost_per_year(2240.0, rate_frac=0.0, years_count=20) == 112.0


@pytest.mark.parametrize(
    ("every_years", "times"),
    [(5.0, 3), (20.0, 0), (19.9, 1), (25.0, 0), (1.0, 19), (0.5, 39), (6.0, 3), (20.0 / 3.0, 2)],
)
def test_a_part_is_replaced_before_the_end_only(every_years: float, times: int) -> None:
    costs = Costs(0.0, 0.0, (Replacement(1.0, every_years),))
    assert present_cost(costs, rate_frac=0.0, years_count=20) == times


def test_a_part_that_is_replaced_between_birthdays_is_discounted_from_its_day() -> None:
    costs = Costs(0.0, 0.0, (Replacement(100.0, 1.5),))
    by_hand = 100.0 / 1.04**1.5  # once: three years are the end
    ours = present_cost(costs, rate_frac=0.04, years_count=3)
    assert ours == pytest.approx(by_hand, rel=1e-12)


def test_a_cubic_metre() -> None:
    assert cost_per_m3(365.0, water_l_per_day=1000.0) == 1.0


@pytest.mark.parametrize(
    ("costs", "rate_frac", "years_count"),
    [
        (Costs(-1.0, 0.0), 0.04, 20),
        (Costs(0.0, float("nan")), 0.04, 20),
        (Costs(0.0, 0.0, left_value=-1.0), 0.04, 20),
        (Costs(float("inf"), 0.0), 0.04, 20),
        (Costs(0.0, 0.0, (Replacement(1.0, 0.0),)), 0.04, 20),
        (Costs(0.0, 0.0, (Replacement(1.0, -5.0),)), 0.04, 20),
        (Costs(0.0, 0.0, (Replacement(-1.0, 5.0),)), 0.04, 20),
        (Costs(1.0, 1.0), -0.01, 20),
        (Costs(1.0, 1.0), 1.01, 20),
        (Costs(1.0, 1.0), float("nan"), 20),
        (Costs(1.0, 1.0), 0.04, 0),
        (Costs(1.0, 1.0), 0.04, -3),
    ],
)
def test_what_is_no_cost_is_refused(costs: Costs, rate_frac: float, years_count: int) -> None:
    with pytest.raises(RangeError) as caught:
        present_cost(costs, rate_frac=rate_frac, years_count=years_count)
    (problem,) = caught.value.problems
    assert problem.where and problem.allowed and problem.next


@pytest.mark.parametrize("litres", [0.0, -1.0, float("nan")])
def test_no_water_has_no_price(litres: float) -> None:
    with pytest.raises(RangeError, match="water_l_per_day"):
        cost_per_m3(100.0, water_l_per_day=litres)

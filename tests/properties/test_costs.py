"""Laws of money over the years that hold for any prices."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.costs import (
    Costs,
    Replacement,
    annuity_years,
    equal_cost_per_year,
    present_cost,
    together,
)

amounts = st.floats(0.0, 1e6)
rates = st.floats(0.0, 1.0)
years = st.integers(1, 100)
parts = st.lists(
    st.builds(Replacement, cost=amounts, every_years=st.floats(0.05, 120.0)), max_size=4
).map(tuple)
costs = st.builds(Costs, amounts, amounts, parts)


@given(costs=costs, low=rates, high=rates, n=years)
def test_a_higher_rate_never_raises_what_is_to_be_paid(
    costs: Costs, low: float, high: float, n: int
) -> None:
    low, high = sorted((low, high))
    at_low = present_cost(costs, rate_frac=low, years_count=n)
    assert present_cost(costs, rate_frac=high, years_count=n) <= at_low * (1.0 + 1e-12)


@given(one=costs, other=costs, left=amounts, rate=rates, n=years)
def test_costs_add(one: Costs, other: Costs, left: float, rate: float, n: int) -> None:
    whole = together(one, other, Costs(0.0, 0.0, (), left))
    apart = (
        present_cost(one, rate_frac=rate, years_count=n)
        + present_cost(other, rate_frac=rate, years_count=n)
        + present_cost(Costs(0.0, 0.0, (), left), rate_frac=rate, years_count=n)
    )
    ours = present_cost(whole, rate_frac=rate, years_count=n)
    assert ours == pytest.approx(apart, rel=1e-9, abs=1e-6)


@given(costs=costs, rate=rates, n=years)
def test_equal_years_come_to_the_same_amount(costs: Costs, rate: float, n: int) -> None:
    present = present_cost(costs, rate_frac=rate, years_count=n)
    a_year = equal_cost_per_year(present, rate_frac=rate, years_count=n)
    assert a_year * annuity_years(rate, years_count=n) == pytest.approx(present, rel=1e-12)
    again = present_cost(Costs(0.0, a_year), rate_frac=rate, years_count=n)
    assert again == pytest.approx(present, rel=1e-12)


@given(costs=costs, times=st.floats(0.0, 100.0), rate=rates, n=years)
def test_another_coin_changes_nothing_but_the_size(
    costs: Costs, times: float, rate: float, n: int
) -> None:
    in_other = Costs(
        times * costs.first_cost,
        times * costs.cost_per_year,
        tuple(Replacement(times * r.cost, r.every_years) for r in costs.replacements),
    )
    ours = present_cost(in_other, rate_frac=rate, years_count=n)
    wanted = times * present_cost(costs, rate_frac=rate, years_count=n)
    assert ours == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@given(rate=st.floats(0.0, 0.2), n=years)
def test_an_annuity_grows_with_the_years_and_never_past_them(rate: float, n: int) -> None:
    here = annuity_years(rate, years_count=n)
    assert 0.0 < here <= n * (1.0 + 1e-12)
    assert here < annuity_years(rate, years_count=n + 1)

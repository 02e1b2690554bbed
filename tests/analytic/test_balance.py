"""Storage methods: mass, bounds, the compiled kernel against its plain body."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.kernels.balance import LANES, run_store, served_by_capacity
from roofspring.reliability.reference import (
    balance,
    days_of_store,
    dry_spell_m3,
    sequent_peak_m3,
    storage_curve,
    yearly_share_m3,
)

FloatArray = npt.NDArray[np.float64]
volumes_m3 = st.one_of(st.just(0.0), st.floats(1e-6, 20.0))
thetas = st.floats(0.0, 1.0)


@st.composite
def runs(draw: st.DrawFn) -> tuple[FloatArray, FloatArray, float, float]:
    n = draw(st.integers(1, 40))
    inflow = np.array(draw(st.lists(volumes_m3, min_size=n, max_size=n)))
    demand = np.array(draw(st.lists(volumes_m3, min_size=n, max_size=n)))
    capacity = draw(volumes_m3)
    return inflow, demand, capacity, draw(st.floats(0.0, 1.0)) * capacity


def plain(kernel: Callable[..., Any]) -> Callable[..., Any]:
    """The body of a kernel; itself where compilation is turned off."""
    body: Callable[..., Any] = getattr(kernel, "py_func", kernel)
    return body


def weather(n: int) -> tuple[FloatArray, FloatArray]:
    rng = np.random.default_rng(11)
    inflow = np.where(rng.random(n) < 0.3, rng.gamma(0.7, 1.5, n), 0.0)
    return inflow, 0.25 + 0.1 * rng.random(n)


@settings(max_examples=300, deadline=None)  # the first call compiles
@given(run=runs(), theta=thetas)
def test_water_is_neither_made_nor_lost(
    run: tuple[FloatArray, FloatArray, float, float], theta: float
) -> None:
    inflow, demand, capacity, start = run
    got = balance(inflow, demand, capacity_m3=capacity, start_m3=start, theta=theta)
    through = start + float(inflow.sum())
    assert abs(got.residual_m3) <= 1e-9 * max(1.0, through)
    small = 1e-12 * max(1.0, through)
    assert np.all(got.volume_m3 >= 0.0) and np.all(got.volume_m3 <= capacity)
    assert np.all(got.spill_m3 >= -small)
    assert np.all(got.yield_m3 <= demand)
    # No rule can serve more than there is.
    assert got.served_frac <= min(1.0, through / demand.sum() if demand.sum() else 1.0) + 1e-12


@settings(deadline=None)  # the first call compiles
@given(run=runs())
def test_drawing_before_the_spill_never_serves_less(
    run: tuple[FloatArray, FloatArray, float, float],
) -> None:
    inflow, demand, capacity, start = run
    after = balance(inflow, demand, capacity_m3=capacity, start_m3=start, theta=0.0)
    before = balance(inflow, demand, capacity_m3=capacity, start_m3=start, theta=1.0)
    assert before.served_frac >= after.served_frac - 1e-12


@pytest.mark.parametrize("theta", [0.0, 0.5, 1.0])
def test_compiled_kernel_and_plain_body_give_the_same_bits(theta: float) -> None:
    inflow, demand = weather(3000)
    one = [np.empty_like(inflow) for _ in range(3)]
    two = [np.empty_like(inflow) for _ in range(3)]
    run_store(inflow, demand, 6.0, 1.0, theta, *one)
    plain(run_store)(inflow, demand, 6.0, 1.0, theta, *two)
    for ours, theirs in zip(one, two, strict=True):
        np.testing.assert_array_equal(ours, theirs)


def test_compiled_curve_and_plain_body_give_the_same_bits() -> None:
    inflow, demand = weather(60)
    capacities = np.linspace(0.0, 12.0, LANES + 7)
    one, two = np.empty_like(capacities), np.empty_like(capacities)
    served_by_capacity(inflow, demand, capacities, 0.5, one, np.empty((3, LANES)))
    plain(served_by_capacity)(inflow, demand, capacities, 0.5, two, np.empty((3, LANES)))
    np.testing.assert_array_equal(one, two)


def test_curve_is_the_balance_of_each_size() -> None:
    inflow, demand = weather(2000)
    capacities = np.concatenate(([0.0], np.geomspace(0.1, 50.0, LANES + 20)))
    curve = storage_curve(inflow, demand, capacities_m3=capacities, start_frac=0.3)
    single = [
        balance(inflow, demand, capacity_m3=c, start_m3=0.3 * c, theta=0.0).served_frac
        for c in capacities
    ]
    np.testing.assert_allclose(curve, single, rtol=1e-12, atol=1e-15)
    assert np.all(np.diff(curve) >= 0.0)
    assert curve[0] == 0.0


def test_rounding_makes_no_short_days() -> None:
    # Wanted is a hair more than comes in each day: less than any meter or ledger can tell.
    inflow = np.full(3000, 0.1 + 0.2)
    exact = balance(inflow, 0.3 + 1e-13, capacity_m3=5.0, start_m3=0.0, theta=1.0)
    assert np.any(exact.yield_m3 < 0.3 + 1e-13)  # a strict comparison would count these
    assert (exact.short_steps_count, exact.full_steps_frac) == (0, 1.0)


def test_short_steps_and_their_longest_run() -> None:
    inflow = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    got = balance(inflow, 0.4, capacity_m3=10.0, start_m3=0.0, theta=1.0)
    np.testing.assert_allclose(got.yield_m3, [0.4, 0.4, 0.2, 0.0, 0.4, 0.4, 0.2])
    assert (got.short_steps_count, got.longest_short_count) == (3, 2)
    assert got.full_steps_frac == pytest.approx(4 / 7)
    assert balance([0.0], 0.0, capacity_m3=1.0, start_m3=0.0, theta=0.0).served_frac == 1.0


@settings(deadline=None)  # the first call compiles
@given(run=runs())
def test_the_sequent_peak_just_never_fails(
    run: tuple[FloatArray, FloatArray, float, float],
) -> None:
    inflow, demand, _, _ = run
    peak = sequent_peak_m3(inflow, demand)
    if not np.isfinite(peak):
        assert demand.sum() > inflow.sum()
        return

    def short_steps(capacity_m3: float) -> int:
        return balance(
            np.tile(inflow, 2),
            np.tile(demand, 2),
            capacity_m3=capacity_m3,
            start_m3=capacity_m3,
            theta=1.0,
        ).short_steps_count

    assert short_steps(peak) == 0
    if peak > 0.01:
        assert short_steps(0.99 * peak) > 0


def test_simple_sizes() -> None:
    assert yearly_share_m3(10.0, demand_m3_per_year=50.0) == pytest.approx(0.6)
    assert dry_spell_m3(0.1, dry_days=30.0, loss_frac=0.25) == pytest.approx(4.0)
    assert days_of_store(1.0, demand_m3_per_day=0.0) == float("inf")


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="DOM-007"):
        balance([1.0, 2.0], [1.0], capacity_m3=1.0, start_m3=0.0, theta=0.0)
    with pytest.raises(RangeError, match=r"DOM-002 inflow_m3\[1\]"):
        sequent_peak_m3([1.0, float("nan")], 1.0)
    with pytest.raises(RangeError, match="DOM-002"):
        balance([1.0], 1.0, capacity_m3=1.0, start_m3=2.0, theta=0.0)
    with pytest.raises(RangeError, match="DOM-003"):
        balance([1.0], 1.0, capacity_m3=1.0, start_m3=0.0, theta=2.0)
    with pytest.raises(RangeError, match="DOM-002"):
        dry_spell_m3(0.1, dry_days=30.0, loss_frac=1.0)

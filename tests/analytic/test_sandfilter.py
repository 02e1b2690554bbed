"""The sand bed against an ODE solver and plain physics."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofspring.errors import RangeError
from roofspring.sandfilter import (
    cake_run_s,
    clean_bed_loss_m,
    conductivity_m_per_s,
    darcy_flow_m3_per_s,
    falling_head_time_s,
    filtration_rate_m_per_s,
    hazen_conductivity_m_per_s,
    linear_store_level_m,
    linear_store_time_s,
    specific_diameter_m,
)
from roofspring.water import viscosity_ratio

levels_m = st.floats(0.0, 3.0)
times_s = st.floats(0.0, 1e7)
areas_m2 = st.floats(0.01, 10.0)
conductances = st.floats(0.0, 1e-2)
inflows = st.floats(0.0, 1e-2)


@pytest.mark.parametrize("inflow", [0.0, 1e-5, 9e-5])
def test_linear_store_against_an_ode_solver(inflow: float) -> None:
    run = solve_ivp(
        lambda _, h: (inflow - 2e-5 * h[0]) / 1.2, (0.0, 2e5), [0.2], rtol=1e-11, atol=1e-13
    )
    ours_m = linear_store_level_m(
        0.2, time_s=2e5, area_m2=1.2, conductance_m2_per_s=2e-5, inflow_m3_per_s=inflow
    )
    assert ours_m == pytest.approx(run.y[0, -1], abs=1e-9)


@given(start_m=levels_m, time_s=times_s, area_m2=areas_m2, k=conductances, inflow=inflows)
def test_two_half_steps_make_one(
    start_m: float, time_s: float, area_m2: float, k: float, inflow: float
) -> None:
    def step(level_m: float, step_s: float) -> float:
        return linear_store_level_m(
            level_m,
            time_s=step_s,
            area_m2=area_m2,
            conductance_m2_per_s=k,
            inflow_m3_per_s=inflow,
        )

    once_m = step(start_m, time_s)
    assert step(step(start_m, time_s / 2.0), time_s / 2.0) == pytest.approx(
        once_m, rel=1e-9, abs=1e-15
    )


@pytest.mark.parametrize("k", [0.0, 1e-300, 1e-20, 1e-12])
def test_a_tight_filter_only_fills(k: float) -> None:
    level_m = linear_store_level_m(
        0.1, time_s=3600.0, area_m2=2.0, conductance_m2_per_s=k, inflow_m3_per_s=1e-4
    )
    assert level_m == pytest.approx(0.1 + 0.36 / 2.0, rel=1e-8)


@given(
    start_m=st.floats(0.01, 3.0),
    part=st.floats(0.01, 0.99),
    k=st.floats(1e-7, 1e-3),
    inflow=st.floats(0.0, 1e-3),
)
def test_time_and_level_undo_each_other(
    start_m: float, part: float, k: float, inflow: float
) -> None:
    settles_m = inflow / k
    end_m = start_m + part * (settles_m - start_m)
    if abs(end_m - start_m) < 1e-3 * max(start_m, settles_m):
        return  # the level hardly moves: nothing to tell apart
    store = {"area_m2": 1.5, "conductance_m2_per_s": k, "inflow_m3_per_s": inflow}
    t_s = linear_store_time_s(start_m, end_m=end_m, **store)
    assert linear_store_level_m(start_m, time_s=t_s, **store) == pytest.approx(end_m, rel=1e-9)


def test_a_level_never_reached_is_refused() -> None:
    store = {"area_m2": 1.2, "conductance_m2_per_s": 2e-5, "inflow_m3_per_s": 1e-5}
    for end_m in (0.1, 0.5, 0.6):
        with pytest.raises(RangeError, match="DOM-005"):
            linear_store_time_s(0.2, end_m=end_m, **store)
    with pytest.raises(RangeError, match="DOM-002"):
        falling_head_time_s(0.3, end_m=0.0, depth_m=0.8, conductivity_m_per_s=1e-3)


@given(rate=st.floats(1e-7, 1e-3), depth_m=st.floats(0.1, 1.5), k=st.floats(1e-6, 1e-2))
def test_loss_and_rate_undo_each_other(rate: float, depth_m: float, k: float) -> None:
    head_m = clean_bed_loss_m(rate, depth_m=depth_m, conductivity_m_per_s=k)
    bed = {"depth_m": depth_m, "conductivity_m_per_s": k}
    assert filtration_rate_m_per_s(head_m, **bed) == pytest.approx(rate, rel=1e-12)
    assert filtration_rate_m_per_s(-head_m, **bed) == 0.0
    # As much skin as bed: half the flow.
    halved = darcy_flow_m3_per_s(head_m, area_m2=2.0, skin_resistance_s=depth_m / k, **bed)
    assert halved == pytest.approx(rate, rel=1e-12)


@given(temp_degc=st.floats(0.0, 40.0))
def test_conductivity_goes_with_the_viscosity_only(temp_degc: float) -> None:
    warm = conductivity_m_per_s(3e-4, temp_degc=20.0)
    assert conductivity_m_per_s(3e-4, temp_degc=temp_degc) == pytest.approx(
        warm / viscosity_ratio(temp_degc), rel=1e-12
    )


@pytest.mark.parametrize("temp_degc", [5.0, 10.0, 20.0])
def test_hazens_rule_is_near_carman_for_a_common_sand(temp_degc: float) -> None:
    # Two methods with nothing in common; the spread of Hazen's own coefficient is threefold.
    carman = conductivity_m_per_s(specific_diameter_m(0.25e-3, uniformity=2.0), temp_degc=temp_degc)
    hazen = hazen_conductivity_m_per_s(0.25e-3, temp_degc=temp_degc)
    assert hazen == pytest.approx(carman, rel=0.1)


@pytest.mark.parametrize("uniformity", [0.9, 5.1, float("nan")])
def test_uniformity_outside_the_formula_is_refused(uniformity: float) -> None:
    with pytest.raises(RangeError, match="DOM-006"):
        specific_diameter_m(0.25e-3, uniformity=uniformity)


def test_a_head_that_is_no_number_is_refused() -> None:
    with pytest.raises(RangeError, match="DOM-002 head_m"):
        filtration_rate_m_per_s(math.nan, depth_m=0.8, conductivity_m_per_s=1e-3)


def test_one_size_sand_is_its_own_size() -> None:
    assert specific_diameter_m(0.25e-3, uniformity=1.0) == 0.25e-3


def test_cake_run_against_an_ode_solver() -> None:
    rate, k, cake, depth_m, head_m = 0.1 / 3600, 2.74 / 3600, 180.0, 0.8, 0.9

    def left_m(_: float, filtered: npt.NDArray[np.float64]) -> float:
        return head_m - rate * (depth_m / k + cake * float(filtered[0]))

    left_m.terminal = True  # type: ignore[attr-defined]  # how scipy is told to stop there
    run = solve_ivp(lambda *_: [rate], (0.0, 1e8), [0.0], events=left_m, rtol=1e-10, atol=1e-10)
    ours_s = cake_run_s(
        rate, head_m=head_m, depth_m=depth_m, conductivity_m_per_s=k, cake_s_per_m=cake
    )
    assert ours_s == pytest.approx(float(run.t[-1]), rel=1e-8)

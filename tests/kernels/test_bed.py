"""The filter box between two steps: against a printed closed form and an ODE solver."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofspring.kernels.bed import bed_advance, bed_outflow, bed_time_to_fill

NEVER = 1e6
HOUR_S = 3600.0

# A linear reservoir under a steady inflow, h = I/k + (h0 - I/k) exp(-k t / A): A 1.2 m2,
# k 2e-5 m2/s, I 1e-5 m3/s, h0 0.2 m. Computed from that closed form outside this program.
AREA_M2, K_M2_PER_S, INFLOW_M3_PER_S, START_M = 1.2, 2e-5, 1e-5, 0.2
RESISTANCE_S = AREA_M2 / K_M2_PER_S


@pytest.mark.parametrize(("hours", "level_m"), [(6, 0.290697), (12, 0.353974), (24, 0.428922)])
def test_level_by_the_closed_form(hours: float, level_m: float) -> None:
    v_m3, _, spilled_m3 = bed_advance(
        START_M * AREA_M2, INFLOW_M3_PER_S, hours * HOUR_S, RESISTANCE_S, NEVER, 10.0
    )
    assert v_m3 / AREA_M2 == pytest.approx(level_m, abs=5e-7)
    assert spilled_m3 == 0.0


def test_books_of_a_day_by_the_closed_form() -> None:
    v_m3, through_m3, _ = bed_advance(
        START_M * AREA_M2, INFLOW_M3_PER_S, 24 * HOUR_S, RESISTANCE_S, NEVER, 10.0
    )
    came_m3 = INFLOW_M3_PER_S * 24 * HOUR_S
    assert came_m3 == pytest.approx(0.864)
    assert through_m3 == pytest.approx(0.589294, abs=5e-7)
    assert v_m3 - START_M * AREA_M2 == pytest.approx(0.274706, abs=5e-7)


def test_time_to_a_level_by_the_closed_form() -> None:
    t_s = bed_time_to_fill(START_M * AREA_M2, 0.4 * AREA_M2, INFLOW_M3_PER_S, RESISTANCE_S, NEVER)
    assert t_s / HOUR_S == pytest.approx(18.3102, abs=5e-5)


def test_no_rise_beyond_where_inflow_and_outflow_are_equal() -> None:
    # h_inf is 0.5 m: it is never reached, and no level above it either.
    for target_m in (0.5, 0.6):
        assert math.isinf(
            bed_time_to_fill(
                START_M * AREA_M2, target_m * AREA_M2, INFLOW_M3_PER_S, RESISTANCE_S, NEVER
            )
        )


@st.composite
def beds(draw: st.DrawFn) -> tuple[float, float, float, float, float, float]:
    """Content, inflow, step, resistance, throttle, capacity; often at or beside a kink."""
    resistance_s = draw(st.floats(300.0, 1e5))
    capacity_m3 = draw(st.floats(1e-3, 2.0))
    throttle = draw(
        st.one_of(
            st.just(NEVER), st.floats(0.01, 3.0).map(lambda x: x * capacity_m3 / resistance_s)
        )
    )
    knee_m3 = throttle * resistance_s
    content_m3 = draw(
        st.one_of(
            st.floats(1e-9, 1.0).map(lambda x: x * capacity_m3),
            st.sampled_from([0.0, capacity_m3, min(knee_m3, capacity_m3)]),
        )
    )
    inflow = draw(
        st.one_of(
            st.floats(1e-9, 3.0).map(lambda x: x * capacity_m3 / resistance_s),
            st.sampled_from(
                [0.0, min(throttle, capacity_m3 / resistance_s), capacity_m3 / resistance_s]
            ),
        )
    )
    dt_s = draw(st.floats(1.0, 86400.0))
    return content_m3, inflow, dt_s, resistance_s, throttle, capacity_m3


Bed = tuple[float, float, float, float, float, float]


@settings(max_examples=60, deadline=None)
@given(bed=beds())
@example(bed=(0.3, 1e-4, 86400.0, 5000.0, 2e-5, 0.4))  # throttled, then over the lip
@example(bed=(0.4, 0.0, 86400.0, 5000.0, 2e-5, 0.4))  # full, falls through the throttle to the knee
def test_against_an_ode_solver(bed: Bed) -> None:
    content_m3, inflow, dt_s, resistance_s, throttle, capacity_m3 = bed
    v_m3, through_m3, spilled_m3 = bed_advance(*bed)

    def slope(_: float, y: np.ndarray) -> list[float]:
        out = min(y[0] / resistance_s, throttle)
        return [inflow - out, out]

    def at_lip(_: float, y: np.ndarray) -> float:
        return float(y[0] - capacity_m3)

    at_lip.terminal, at_lip.direction = True, 1.0  # type: ignore[attr-defined]  # scipy's way
    lip_m3_per_s = min(capacity_m3 / resistance_s, throttle)
    t_s, solved = 0.0, np.array([content_m3, 0.0])
    if content_m3 < capacity_m3 or inflow < lip_m3_per_s:
        run = solve_ivp(
            slope,
            (0.0, dt_s),
            solved,
            method="DOP853",
            rtol=1e-11,
            atol=1e-14,
            max_step=dt_s / 100.0,
            events=at_lip,
        )
        t_s, solved = run.t[-1], run.y[:, -1]
    left_s = dt_s - t_s  # once at the lip it stays there: what comes is steady
    slack_m3 = 1e-8 * (capacity_m3 + inflow * dt_s)
    assert v_m3 == pytest.approx(solved[0], abs=slack_m3)
    assert through_m3 == pytest.approx(solved[1] + lip_m3_per_s * left_s, abs=slack_m3)
    assert spilled_m3 == pytest.approx((inflow - lip_m3_per_s) * left_s, abs=slack_m3)


@settings(max_examples=300, deadline=None)
@given(bed=beds(), part=st.floats(0.01, 0.99))
def test_a_step_cut_in_two_is_the_same_step(bed: Bed, part: float) -> None:
    content_m3, inflow, dt_s, resistance_s, throttle, capacity_m3 = bed
    whole = bed_advance(*bed)
    first = bed_advance(content_m3, inflow, part * dt_s, resistance_s, throttle, capacity_m3)
    then = bed_advance(first[0], inflow, dt_s - part * dt_s, resistance_s, throttle, capacity_m3)
    slack_m3 = 1e-12 * (content_m3 + inflow * dt_s) + 1e-300
    assert then[0] == pytest.approx(whole[0], abs=slack_m3)
    assert first[1] + then[1] == pytest.approx(whole[1], abs=slack_m3)
    assert first[2] + then[2] == pytest.approx(whole[2], abs=slack_m3)


@settings(max_examples=400, deadline=None)
@given(bed=beds())
def test_water_is_neither_made_nor_lost_and_the_box_never_overfills(bed: Bed) -> None:
    content_m3, inflow, dt_s, _, _, capacity_m3 = bed
    v_m3, through_m3, spilled_m3 = bed_advance(*bed)
    came_m3 = content_m3 + inflow * dt_s
    assert came_m3 - v_m3 - through_m3 - spilled_m3 == pytest.approx(
        0.0, abs=1e-14 + 1e-13 * came_m3
    )
    assert -1e-15 <= v_m3 <= capacity_m3
    assert through_m3 >= 0.0
    assert spilled_m3 >= 0.0


@settings(max_examples=300, deadline=None)
@given(bed=beds(), above_m3=st.floats(0.0, 1.0))
def test_a_box_that_starts_over_its_lip_spills_at_once(bed: Bed, above_m3: float) -> None:
    _, inflow, dt_s, resistance_s, throttle, capacity_m3 = bed
    over = bed_advance(capacity_m3 + above_m3, inflow, dt_s, resistance_s, throttle, capacity_m3)
    full = bed_advance(capacity_m3, inflow, dt_s, resistance_s, throttle, capacity_m3)
    assert over[:2] == full[:2]
    assert over[2] == pytest.approx(full[2] + above_m3, abs=1e-12)


@settings(max_examples=300, deadline=None)
@given(bed=beds(), aim=st.floats(0.01, 1.0))
def test_time_to_fill_is_when_the_step_gets_there(bed: Bed, aim: float) -> None:
    content_m3, inflow, _, resistance_s, throttle, capacity_m3 = bed
    target_m3 = aim * capacity_m3
    t_s = bed_time_to_fill(content_m3, target_m3, inflow, resistance_s, throttle)
    if content_m3 >= target_m3:
        assert t_s == 0.0
        return
    if math.isinf(t_s):
        # Steady rate at the target: what runs out there is at least what comes.
        assert bed_outflow(target_m3, resistance_s, throttle) >= inflow * (1.0 - 1e-9)
        return
    assume(1.0 < t_s < 1e7)
    # The last stretch to a level that is barely reached takes very long: test it by level.
    v_m3, _, spilled_m3 = bed_advance(
        content_m3, inflow, t_s, resistance_s, throttle, 2.0 * capacity_m3
    )
    assert v_m3 == pytest.approx(target_m3, rel=1e-9)
    assert spilled_m3 == 0.0

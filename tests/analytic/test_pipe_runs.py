"""Runs of pipes, outfalls and losses against closed forms, and what physics says must hold."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import RangeError
from roofspring.hydraulics import (
    air_lock_m,
    air_sweep_speed_m_per_s,
    apron,
    closing_time_s,
    drain_flow_m3_per_s,
    flow_m3_per_s,
    ground_speed_m_per_s,
    ground_speeds,
    high_points,
    loss_m,
    low_points,
    pipe_drain_time_s,
    pipe_exit,
    pipe_fill_time_s,
    pipe_losses,
    pipe_profile,
    side_outlet_flow_m3_per_s,
    surge_head_m,
)

# So many fittings that friction is nothing beside them: then closed forms exist.
CHOKED = {"diameter_m": 0.05, "roughness_m": 0.0, "k_sum": 1e5, "temp_degc": 20.0}


def test_filling_through_fittings_alone() -> None:
    """A level pipe fills at one speed; a straight fall as the root of the head: closed forms."""
    level = pipe_profile([0.0, 20.0], [1.0, 1.0])
    speed = math.sqrt(2.0 * GRAVITY_M_PER_S2 * 3.0 / CHOKED["k_sum"])
    assert pipe_fill_time_s(level, source_m=4.0, **CHOKED) == pytest.approx(20.0 / speed, rel=1e-3)
    falls = pipe_profile([0.0, 20.0], [4.0, 0.0])
    root = math.sqrt(2.0 * GRAVITY_M_PER_S2 / CHOKED["k_sum"])
    exact = 2.0 / (root * 0.2) * (math.sqrt(5.0) - math.sqrt(1.0))
    assert pipe_fill_time_s(falls, source_m=5.0, **CHOKED) == pytest.approx(exact, rel=1e-3)


def test_draining_through_fittings_alone() -> None:
    falls = pipe_profile([0.0, 20.0], [4.0, 0.0])
    root = math.sqrt(2.0 * GRAVITY_M_PER_S2 / CHOKED["k_sum"])
    exact = 2.0 / (root * 0.2) * (math.sqrt(4.0) - math.sqrt(0.05 * 4.0))
    assert pipe_drain_time_s(falls, **CHOKED) == pytest.approx(exact, rel=1e-3)


def test_laminar_draining_is_even_in_the_length() -> None:
    """Slow flow in a straight fall: head and friction shrink alike, so the speed stays the same."""
    thin = {"diameter_m": 0.004, "roughness_m": 0.0, "k_sum": 0.0, "temp_degc": 20.0}
    falls = pipe_profile([0.0, 10.0], [0.5, 0.0])
    speed = flow_m3_per_s(0.5, length_m=10.0, **thin) / (math.pi * 0.004**2 / 4.0)
    assert pipe_drain_time_s(falls, **thin) == pytest.approx(9.5 / speed, rel=1e-9)


def test_a_pipe_that_does_not_fall_to_its_end_never_runs_empty() -> None:
    for heights in ([1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [1.0, 1.0, 1.0]):
        run = pipe_profile([0.0, 5.0, 10.0], heights)
        if heights == [0.0, 1.0, 0.5]:
            assert [p.station_m for p in high_points(run)] == [5.0] and low_points(run) == ()
        assert math.isinf(pipe_drain_time_s(run, **CHOKED))
    over = pipe_profile([0.0, 5.0, 10.0], [0.0, 2.0, 0.0])
    assert math.isinf(pipe_fill_time_s(over, source_m=1.5, **CHOKED))


@st.composite
def profiles(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    steps = draw(st.lists(st.tuples(st.floats(0.1, 5.0), st.floats(-1.0, 1.0)), min_size=2,
                          max_size=8))  # fmt: skip
    stations, heights = [0.0], [10.0]
    for length, slope in steps:
        stations.append(stations[-1] + length)
        heights.append(heights[-1] + slope * length)
    return stations, heights


@settings(max_examples=60, deadline=None)
@given(profiles())
def test_highs_and_lows_take_turns_and_hold_no_more_than_the_pipe(
    run: tuple[list[float], list[float]],
) -> None:
    profile = pipe_profile(*run)
    highs, lows = high_points(profile), low_points(profile)
    assert abs(len(highs) - len(lows)) <= 1
    turns = sorted([(p.station_m, 1) for p in highs] + [(p.station_m, 0) for p in lows])
    assert all(a[1] != b[1] for a, b in pairwise(turns))
    assert all(p.falls_m > 0.0 and 0.0 <= p.slope_frac <= 1.0 for p in highs)
    assert 0.0 <= sum(p.held_m for p in lows) <= profile.length_m * (1.0 + 1e-9)
    # Turned round, the same dips hold the same water.
    back = pipe_profile([profile.length_m - x for x in run[0][::-1]], run[1][::-1])
    assert sum(p.held_m for p in low_points(back)) == pytest.approx(
        sum(p.held_m for p in lows), abs=1e-9
    )
    assert air_lock_m(profile) <= sum(p.falls_m for p in highs) + 1e-9


@pytest.mark.parametrize(
    ("stations", "heights"),
    [([0.0], [1.0]), ([1.0, 2.0], [1.0, 1.0]), ([0.0, 0.0], [1.0, 1.0]), ([0.0, 1.0], [3.0, 1.0]),
     ([0.0, 1.0, 2.0], [1.0, 1.0])],
)  # fmt: skip
def test_rows_that_are_no_run_are_refused(stations: list[float], heights: list[float]) -> None:
    with pytest.raises(RangeError, match="DOM-009"):
        pipe_profile(stations, heights)


SIZES = st.fixed_dictionaries(
    {
        "diameter_m": st.floats(0.005, 0.2),
        "length_m": st.floats(0.1, 200.0),
        "roughness_m": st.floats(0.0, 2e-4),
        "temp_degc": st.floats(1.0, 30.0),
    }
)


@settings(max_examples=60, deadline=None)
@given(SIZES, st.floats(0.0, 50.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_more_head_never_less_flow(
    sizes: dict[str, float], k_sum: float, head_m: float, more_m: float
) -> None:
    less = flow_m3_per_s(head_m, k_sum=k_sum, **sizes)
    assert flow_m3_per_s(head_m + more_m, k_sum=k_sum, **sizes) >= less * (1.0 - 1e-12)


@settings(max_examples=60, deadline=None)
@given(SIZES, st.lists(st.floats(0.0, 20.0), max_size=6), st.floats(1e-7, 1e-3))
def test_losses_add_in_series(sizes: dict[str, float], factors: list[float], flow: float) -> None:
    named = [(f"n{i}", k) for i, k in enumerate(factors)]
    line = pipe_losses(flow, factors=named, **sizes)
    assert line.head_m == pytest.approx(loss_m(flow, k_sum=sum(factors), **sizes), rel=1e-9)
    halves = {**sizes, "length_m": sizes["length_m"] / 2.0}
    half = pipe_losses(flow, factors=[], **halves).head_m
    assert 2.0 * half == pytest.approx(line.losses[0].head_m, rel=1e-9)


def test_air_is_carried_by_the_root_of_the_size() -> None:
    """A Froude number: four times the bore, twice the speed; steeper falls need more."""
    one = air_sweep_speed_m_per_s(0.02, fall_frac=0.05)
    assert air_sweep_speed_m_per_s(0.08, fall_frac=0.05) == pytest.approx(2.0 * one)
    speeds = [air_sweep_speed_m_per_s(0.02, fall_frac=f) for f in (0.0, 0.01, 0.1, 0.4)]
    assert speeds == sorted(speeds)


def test_water_leaves_level_pipes_critical_and_steep_ones_by_manning() -> None:
    # Critical depth and flow as the side outlet has them: 0.1 m of energy head in a bore of 0.1 m.
    flow = side_outlet_flow_m3_per_s(0.1, diameter_m=0.1, entry_frac=1.0)
    end = pipe_exit(flow, diameter_m=0.1, fall_frac=0.0)
    assert end.depth_m + end.speed_m_per_s**2 / (2.0 * GRAVITY_M_PER_S2) == pytest.approx(0.1)
    steep = pipe_exit(flow, diameter_m=0.1, fall_frac=0.05)
    carried = drain_flow_m3_per_s(
        0.1, fall_frac=0.05, manning=0.011, depth_frac=steep.depth_m / 0.1
    )
    assert carried == pytest.approx(flow) and steep.speed_m_per_s > end.speed_m_per_s
    gentle = pipe_exit(flow, diameter_m=0.1, fall_frac=1e-5)
    assert gentle.depth_m == pytest.approx(end.depth_m)
    full = pipe_exit(0.5, diameter_m=0.1, fall_frac=0.0)
    assert full.is_full and full.speed_m_per_s == pytest.approx(0.5 / (math.pi * 0.01 / 4.0))


@settings(max_examples=40, deadline=None)
@given(st.floats(1e-4, 2e-2), st.floats(0.05, 0.2), st.floats(0.0, 0.2))
def test_more_flow_leaves_deeper_and_needs_greater_stones(
    flow: float, bore: float, fall: float
) -> None:
    one, two = (pipe_exit(q, diameter_m=bore, fall_frac=fall) for q in (flow, 1.2 * flow))
    assert two.depth_m >= one.depth_m
    # Over 0.81 of the bore deeper water is slower: Manning's speed has a maximum there.
    if two.depth_m < 0.81 * bore:
        assert two.speed_m_per_s >= one.speed_m_per_s * (1.0 - 1e-9)
    stones = [apron(q, diameter_m=bore).stone_m for q in (flow, 1.2 * flow)]
    # d50 goes with the 4/3 power of the flow.
    assert stones[1] / stones[0] == pytest.approx(1.2 ** (4.0 / 3.0))
    assert apron(flow, diameter_m=bore, depth_m=0.5 * bore).stone_m > stones[0]


def test_grounds() -> None:
    assert ground_speed_m_per_s("grass") > ground_speed_m_per_s("soil")
    assert ground_speed_m_per_s("soil") == min(g.speed_m_per_s for g in ground_speeds().values())
    with pytest.raises(RangeError, match="DOM-004"):
        ground_speed_m_per_s("lava")


def test_a_valve_that_shuts_slowly_knocks_less() -> None:
    """At the time of the wave there and back, slow and quick closure raise the same: a V / g."""
    full = surge_head_m(2.0, wave_m_per_s=500.0)
    there_and_back = 2.0 * 30.0 / 500.0
    just = closing_time_s(2.0, length_m=30.0, surge_m=full * (1.0 - 1e-12), wave_m_per_s=500.0)
    assert just == pytest.approx(there_and_back)
    assert closing_time_s(2.0, length_m=30.0, surge_m=full, wave_m_per_s=500.0) == 0.0
    half = closing_time_s(2.0, length_m=30.0, surge_m=full / 2.0, wave_m_per_s=500.0)
    assert half == pytest.approx(2.0 * there_and_back)

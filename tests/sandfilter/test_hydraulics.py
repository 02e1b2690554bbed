"""Wall, heights, inlet, throttle and the falling-head test."""

from __future__ import annotations

import math

import fluids.packed_bed as oracle
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError, codes
from roofspring.hydraulics import orifice_diameter_m, orifice_flow_m3_per_s
from roofspring.sandfilter import falling_head_time_s
from roofspring.sandfilter.falling_head import falling_head
from roofspring.sandfilter.heights import (
    back_fill,
    edge_speed_m_per_s,
    jet_speed_m_per_s,
    least_dish_m,
    least_pressure_head_m,
)
from roofspring.sandfilter.throttle import throttle_head_m, throttled_rate_m_per_s
from roofspring.sandfilter.wall import wall_effect
from roofspring.water import viscosity_ratio

K = 2.74 / 3600.0


@given(ratio=st.floats(1.6, 49.9), sphericity=st.floats(0.45, 1.0))
def test_looser_packing_against_a_reference_library(ratio: float, sphericity: float) -> None:
    grain = 0.4e-3
    near = oracle.voidage_Benyahia_Oneil(Dpe=grain, Dt=ratio * grain, sphericity=sphericity)
    far = 0.1504 + 0.2024 / sphericity  # their formula for an endless bed, by hand
    ours = wall_effect(ratio * grain, grain_m=grain, porosity_frac=0.4).looser_frac
    assert ours == pytest.approx(near - far, rel=1e-9)


@given(width=st.floats(0.02, 2.0), grain=st.floats(1e-4, 2e-3), e=st.floats(0.3, 0.5))
def test_the_drag_of_the_wall_is_its_share_of_the_wetted_surface(
    width: float, grain: float, e: float
) -> None:
    # By hand: grains have 6 (1 - e) / d of surface in each volume of bed, the wall 4 / D.
    grains, wall = 6.0 * (1.0 - e) / grain, 4.0 / width
    factor = wall_effect(width, grain_m=grain, porosity_frac=e).drag_factor
    assert factor == pytest.approx(((grains + wall) / grains) ** 2, rel=1e-12)


def test_a_narrow_box_is_said_and_a_household_one_is_not() -> None:
    narrow = wall_effect(0.019, grain_m=0.4e-3, porosity_frac=0.4)
    assert [f.code for f in narrow.findings] == ["BED-101"] and narrow.looser_frac is not None
    wide = wall_effect(0.3, grain_m=0.4e-3, porosity_frac=0.4)
    assert wide.findings == () and wide.looser_frac is None
    assert wide.drag_factor - 1.0 < 0.004


@given(
    crest=st.floats(-0.5, 0.5),
    loss=st.floats(0.0, 2.0),
    depth=st.floats(0.1, 1.5),
)
def test_least_pressure_is_that_of_the_whole_profile(
    crest: float, loss: float, depth: float
) -> None:
    y = np.linspace(0.0, depth, 201)  # depth below the top of the sand
    profile = crest + loss * (1.0 - y / depth) + y
    ours = least_pressure_head_m(crest, bed_loss_m=loss, depth_m=depth)
    assert ours == pytest.approx(float(profile.min()), abs=1e-12)
    if crest >= 0.0:
        assert ours >= 0.0  # whatever the skin


def test_the_jet_of_a_float_valve_digs_and_a_dish_stops_it() -> None:
    assert jet_speed_m_per_s(0.0) == 0.0
    assert jet_speed_m_per_s(0.3) > 20 * 0.1  # twenty times what sand bears
    q = 68.8e-3 / 3600.0
    wide = least_dish_m(q, water_m=0.02, speed_m_per_s=0.1)
    assert edge_speed_m_per_s(q, dish_m=wide, water_m=0.02) == pytest.approx(0.1, rel=1e-12)


def test_filling_from_below_with_gravel() -> None:
    fill = back_fill(0.5, depth_m=0.8, gravel_m=0.2, porosity_frac=0.4, cover_m=0.1)
    assert fill.water_m3 == pytest.approx(0.5 * (1.0 * 0.4 + 0.1), rel=1e-12)
    assert fill.time_s == pytest.approx(5.0 * 3600.0, rel=1e-12)


@given(
    head=st.floats(0.1, 2.0),
    share=st.floats(0.05, 0.95),
    depth=st.floats(0.3, 1.2),
    skin=st.floats(0.0, 1e5),
)
def test_a_throttle_holds_the_clean_rate_and_lets_the_skin_take_over(
    head: float, share: float, depth: float, skin: float
) -> None:
    bed_s = depth / K
    free = head / bed_s
    wanted = share * free
    left = throttle_head_m(head, rate_m_per_s=wanted, resistance_s=bed_s)
    c = left / wanted**2
    assert throttled_rate_m_per_s(head, resistance_s=bed_s, throttle_s2_per_m=c) == pytest.approx(
        wanted, rel=1e-12
    )
    later = throttled_rate_m_per_s(head, resistance_s=bed_s + skin, throttle_s2_per_m=c)
    assert later <= wanted * (1 + 1e-12)
    assert later <= head / (bed_s + skin) * (1 + 1e-12)
    # The books of head close.
    assert later * (bed_s + skin) + c * later**2 == pytest.approx(head, rel=1e-12)


def test_the_hole_that_cures_an_unthrottled_filter() -> None:
    area, rate, head = 0.25, 0.1 / 3600.0, 0.5
    left = throttle_head_m(head, rate_m_per_s=rate, resistance_s=0.8 / K)
    hole = orifice_diameter_m(rate * area, head_m=left)
    assert orifice_flow_m3_per_s(left, diameter_m=hole) == pytest.approx(rate * area, rel=1e-12)
    assert 1e-3 < hole < 3e-3  # small enough to need a strainer, not to be a pinprick
    with pytest.raises(RangeError, match="BED-003"):
        throttle_head_m(head, rate_m_per_s=1.8 / 3600.0, resistance_s=0.8 / K)
    assert throttled_rate_m_per_s(-0.1, resistance_s=1000.0) == 0.0


@given(
    k=st.floats(1e-5, 1e-2),
    depth=st.floats(0.2, 1.2),
    ratio=st.floats(0.1, 3.0),
    skin=st.floats(0.0, 1e4),
    temp=st.floats(0.0, 40.0),
    levels=st.lists(st.floats(0.05, 0.95), min_size=1, max_size=6, unique=True),
)
def test_the_test_finds_the_sand_that_the_fall_came_from(
    k: float, depth: float, ratio: float, skin: float, temp: float, levels: list[float]
) -> None:
    down = sorted(levels, reverse=True)
    if any(a / b < 1.01 for a, b in zip([1.0, *down], down, strict=False)):
        return  # readings too close together to tell apart
    times = [0.0] + [
        falling_head_time_s(
            1.0,
            end_m=level,
            depth_m=depth,
            conductivity_m_per_s=k,
            skin_resistance_s=skin,
            area_ratio=ratio,
        )
        for level in down
    ]
    test = falling_head(
        times,
        [1.0, *down],
        depth_m=depth,
        temp_degc=temp,
        area_ratio=ratio,
        skin_resistance_s=skin,
    )
    assert test.resistance_s == pytest.approx(depth / k + skin, rel=1e-9)
    if depth / k > 1e-3 * skin:
        assert test.conductivity_m_per_s == pytest.approx(k, rel=1e-5)
        assert test.conductivity_20_m_per_s == pytest.approx(k * viscosity_ratio(temp), rel=1e-5)
    assert test.scatter_frac < 1e-9


def test_what_is_said_of_a_test() -> None:
    good = falling_head([0.0, 600.0, 1882.0], [0.30, 0.1694, 0.05], depth_m=0.8, temp_degc=20.0)
    assert good.against(2.74 / 3600.0) == ()
    assert [f.code for f in good.against(1.0 / 3600.0)] == ["BED-102"]
    assert "more" in good.against(1.0 / 3600.0)[0].what
    assert "less" in good.against(6.0 / 3600.0)[0].what
    rough = falling_head([0.0, 600.0, 1882.0], [0.30, 0.22, 0.05], depth_m=0.8, temp_degc=20.0)
    assert "BED-103" in {f.code for f in rough.against(2.74 / 3600.0)}
    skin = falling_head(
        [0.0, 600.0], [0.3, 0.2], depth_m=0.8, temp_degc=20.0, skin_resistance_s=1e6
    )
    assert skin.conductivity_m_per_s is None
    assert [f.code for f in skin.against(2.74 / 3600.0)] == ["BED-104"]
    for finding in (*rough.against(1.0 / 3600.0), *skin.against(1.0)):
        assert finding.code in codes() and finding.next


@pytest.mark.parametrize(
    ("times", "levels"),
    [
        ([0.0], [0.3]),
        ([0.0, 10.0], [0.3]),
        ([0.0, 10.0], [0.2, 0.3]),
        ([10.0, 0.0], [0.3, 0.2]),
        ([0.0, 0.0], [0.3, 0.2]),
    ],
)
def test_what_is_no_fall_is_refused(times: list[float], levels: list[float]) -> None:
    with pytest.raises(RangeError, match="BED-004"):
        falling_head(times, levels, depth_m=0.8, temp_degc=10.0)


def test_a_dry_reading_is_refused() -> None:
    with pytest.raises(RangeError, match="DOM-002 level_m"):
        falling_head([0.0, 10.0], [0.3, 0.0], depth_m=0.8, temp_degc=10.0)
    with pytest.raises(RangeError, match="DOM-002 level_m"):
        falling_head([0.0, 10.0], [0.3, math.nan], depth_m=0.8, temp_degc=10.0)

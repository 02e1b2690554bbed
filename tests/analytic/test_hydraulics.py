"""Pipes, fittings, valves and overflows against the fluids package, closed forms and physics."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import RangeError
from roofspring.hydraulics import (
    drain_time_s,
    fitting_k,
    fitting_names,
    fittings,
    float_valve_flow_m3_per_s,
    float_valve_opening_frac,
    flow_m3_per_s,
    friction_factor,
    loss_factor_of_kv,
    loss_m,
    orifice_diameter_m,
    orifice_factor,
    orifice_flow_m3_per_s,
    side_outlet_flow_m3_per_s,
    standpipe_flow_m3_per_s,
    strainer_k,
)
from roofspring.sources import cite
from roofspring.water import kinematic_viscosity_m2_per_s

heads_m = st.floats(1e-6, 30.0)
bores_m = st.floats(0.004, 0.3)
lengths_m = st.floats(0.05, 200.0)
roughnesses_m = st.floats(0.0, 1e-3)
k_sums = st.floats(0.0, 1e4)
temps_degc = st.floats(0.0, 40.0)
pipes = st.fixed_dictionaries(
    {
        "diameter_m": bores_m,
        "length_m": lengths_m,
        "roughness_m": roughnesses_m,
        "k_sum": k_sums,
        "temp_degc": temps_degc,
    }
)


@pytest.mark.parametrize("reynolds", [0.3, 1.0, 50.0, 1999.0, 2500.0, 4e3, 1e4, 3e5, 2e7])
@pytest.mark.parametrize("roughness_frac", [0.0, 1e-5, 1e-3, 0.05])
def test_friction_factor_is_churchill(reynolds: float, roughness_frac: float) -> None:
    other = fluids.friction.Churchill_1977(reynolds, roughness_frac)
    assert friction_factor(reynolds, roughness_frac=roughness_frac) == pytest.approx(
        other, rel=1e-12
    )


@pytest.mark.parametrize("reynolds", [1e4, 1e5, 1e6])
@pytest.mark.parametrize("roughness_frac", [1e-5, 1e-4, 1e-3, 0.01])
def test_friction_factor_is_near_colebrook_when_turbulent(
    reynolds: float, roughness_frac: float
) -> None:
    # Churchill's turbulent part is an explicit form of Colebrook's; textbooks give a few percent.
    other = fluids.friction.Colebrook(reynolds, roughness_frac)
    assert friction_factor(reynolds, roughness_frac=roughness_frac) == pytest.approx(
        other, rel=0.03
    )


@given(diameter_m=bores_m, length_m=lengths_m, k_sum=k_sums, temp_degc=temps_degc)
def test_loss_in_laminar_flow_is_poiseuilles(
    diameter_m: float, length_m: float, k_sum: float, temp_degc: float
) -> None:
    nu_m2_per_s = kinematic_viscosity_m2_per_s(temp_degc)
    velocity_m_per_s = 500.0 * nu_m2_per_s / diameter_m
    area_m2 = math.pi * diameter_m**2 / 4.0
    friction_m = (
        128.0
        * nu_m2_per_s
        * length_m
        * velocity_m_per_s
        * area_m2
        / (math.pi * GRAVITY_M_PER_S2 * diameter_m**4)
    )
    got_m = loss_m(
        velocity_m_per_s * area_m2,
        diameter_m=diameter_m,
        length_m=length_m,
        roughness_m=0.0,
        k_sum=k_sum,
        temp_degc=temp_degc,
    )
    fittings_m = k_sum * velocity_m_per_s**2 / (2.0 * GRAVITY_M_PER_S2)
    assert got_m == pytest.approx(friction_m + fittings_m, rel=1e-9)


@settings(max_examples=300)
@given(head_m=heads_m, pipe=pipes)
def test_flow_loses_the_head_it_was_given(head_m: float, pipe: dict[str, float]) -> None:
    flow = flow_m3_per_s(head_m, **pipe)
    assert loss_m(flow, **pipe) == pytest.approx(head_m, rel=1e-9)


@given(head_m=heads_m, more=st.floats(1.001, 3.0), pipe=pipes)
def test_flow_rises_with_head(head_m: float, more: float, pipe: dict[str, float]) -> None:
    assert flow_m3_per_s(head_m * more, **pipe) > flow_m3_per_s(head_m, **pipe)


@given(head_m=heads_m, more=st.floats(1.001, 3.0), pipe=pipes)
def test_flow_falls_with_length_and_loss_factors(
    head_m: float, more: float, pipe: dict[str, float]
) -> None:
    flow = flow_m3_per_s(head_m, **pipe)
    assert flow_m3_per_s(head_m, **{**pipe, "length_m": pipe["length_m"] * more}) < flow
    assert flow_m3_per_s(head_m, **{**pipe, "k_sum": pipe["k_sum"] + more}) < flow


@given(head_m=st.floats(-5.0, 0.0), pipe=pipes)
def test_no_head_no_flow(head_m: float, pipe: dict[str, float]) -> None:
    assert flow_m3_per_s(head_m, **pipe) == 0.0


@pytest.mark.parametrize("head_m", [5e-324, 1e-310, 1e-200, 1e-30, 1e-12, 1e6])
@pytest.mark.parametrize("k_sum", [0.0, 1.0])
def test_flow_is_found_for_any_head(head_m: float, k_sum: float) -> None:
    flow = flow_m3_per_s(
        head_m, diameter_m=0.02, length_m=5.0, roughness_m=1e-6, k_sum=k_sum, temp_degc=8.0
    )
    assert math.isfinite(flow) and flow >= 0.0


def test_a_blocked_strainer_stops_the_flow() -> None:
    pipe = {"diameter_m": 0.02, "length_m": 5.0, "roughness_m": 1e-6, "temp_degc": 8.0}
    assert flow_m3_per_s(1.0, k_sum=strainer_k(1.0, k0=2.0), **pipe) == 0.0
    with pytest.raises(RangeError, match="DOM-002"):
        flow_m3_per_s(float("nan"), k_sum=1.0, **pipe)
    with pytest.raises(RangeError, match="DOM-003"):
        strainer_k(1.1, k0=2.0)


@given(kv=st.floats(0.1, 50.0), diameter_m=bores_m)
def test_loss_factor_of_kv_against_fluids(kv: float, diameter_m: float) -> None:
    other = fluids.fittings.Kv_to_K(kv, diameter_m)
    assert loss_factor_of_kv(kv, diameter_m=diameter_m) == pytest.approx(other, rel=1e-12)


@given(head_m=heads_m, kv=st.floats(0.1, 20.0))
def test_float_valve_and_loss_factor_say_the_same(head_m: float, kv: float) -> None:
    # 1.6e9 is 3600**2 pi**2 / 16 * 200 = 1.599e9 rounded, so the flows agree to 4 parts in 10,000.
    k = loss_factor_of_kv(kv, diameter_m=0.02)
    velocity_m_per_s = math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m / k)
    flow = float_valve_flow_m3_per_s(head_m, kv_m3_per_h=kv)
    assert flow == pytest.approx(velocity_m_per_s * math.pi * 0.02**2 / 4.0, rel=4e-4)


def test_float_valve_shuts_at_its_level() -> None:
    assert float_valve_opening_frac(0.6, shut_m=0.5, band_m=0.04) == 0.0
    assert float_valve_opening_frac(0.1, shut_m=0.5, band_m=0.04) == 1.0
    assert float_valve_flow_m3_per_s(-0.2, kv_m3_per_h=1.0) == 0.0


def test_fittings_table_against_fluids_and_common_sense() -> None:
    assert fitting_k("exit") == fluids.fittings.exit_normal()
    # Published sharp entries run from 0.5 (old textbooks) to 0.57 (Rennels, fluids' default).
    assert 0.5 <= fitting_k("entry sharp") <= fluids.fittings.entrance_sharp()
    assert fitting_k("entry bell") < fitting_k("entry sharp") < fitting_k("entry projecting")
    # A 20 mm globe valve after Crane, to the spread such tables have.
    globe = fluids.fittings.K_globe_valve_Crane(D1=0.02, D2=0.02, fd=0.0265)
    assert fitting_k("globe valve") == pytest.approx(globe, rel=0.2)
    for name in fitting_names():
        assert 0.0 < fitting_k(name) <= 15.0
        assert cite(fittings()[name].source)
    with pytest.raises(RangeError, match="DOM-004"):
        fitting_k("elbow 91")


@given(flow=st.floats(1e-8, 1e-2), head_m=st.floats(1e-3, 10.0))
def test_orifice_is_sized_for_its_flow(flow: float, head_m: float) -> None:
    bore_m = orifice_diameter_m(flow, head_m=head_m)
    assert orifice_flow_m3_per_s(head_m, diameter_m=bore_m) == pytest.approx(flow, rel=1e-12)


@pytest.mark.parametrize(
    ("start_m", "end_m", "inflow"), [(0.9, 0.2, 0.0), (0.8, 0.5, 1.5e-4), (0.05, 0.13, 1.5e-4)]
)
def test_drain_time_against_an_ode_solver(start_m: float, end_m: float, inflow: float) -> None:
    factor, area_m2 = 4e-4, 1.2
    t_s = drain_time_s(
        start_m, end_m=end_m, area_m2=area_m2, outflow_factor=factor, inflow_m3_per_s=inflow
    )
    run = solve_ivp(
        lambda _, h: (inflow - factor * math.sqrt(h[0])) / area_m2,
        (0.0, t_s),
        [start_m],
        rtol=1e-11,
        atol=1e-13,
    )
    assert run.y[0, -1] == pytest.approx(end_m, abs=1e-9)


def test_a_level_never_reached_is_refused() -> None:
    for end_m in (0.10, 0.1406, 0.9):
        with pytest.raises(RangeError, match="DOM-005"):
            drain_time_s(0.8, end_m=end_m, area_m2=1.2, outflow_factor=4e-4, inflow_m3_per_s=1.5e-4)
    with pytest.raises(RangeError, match="DOM-005"):
        drain_time_s(0.2, end_m=0.3, area_m2=1.0, outflow_factor=orifice_factor(0.02))


@given(head_m=st.floats(1e-6, 2.0), more=st.floats(1.0001, 3.0), diameter_m=bores_m)
def test_overflows_pass_more_when_higher(head_m: float, more: float, diameter_m: float) -> None:
    for flow in (standpipe_flow_m3_per_s, side_outlet_flow_m3_per_s):
        assert flow(head_m, diameter_m=diameter_m) > 0.0
        assert flow(head_m * more, diameter_m=diameter_m) > flow(head_m, diameter_m=diameter_m)
        assert flow(-head_m, diameter_m=diameter_m) == 0.0


@given(scale=st.floats(0.2, 8.0), ratio=st.floats(0.05, 3.0))
def test_overflows_follow_froudes_law(scale: float, ratio: float) -> None:
    for flow in (standpipe_flow_m3_per_s, side_outlet_flow_m3_per_s):
        small = flow(0.05 * ratio, diameter_m=0.05)
        large = flow(0.05 * scale * ratio, diameter_m=0.05 * scale)
        assert large == pytest.approx(small * scale**2.5, rel=1e-9)


def test_standpipe_turns_from_weir_to_orifice_where_the_two_are_equal() -> None:
    # h / D = Cd sqrt(2 g) / (4 Cw)
    ratio = 0.6 * math.sqrt(2.0 * GRAVITY_M_PER_S2) / (4.0 * 1.7)
    assert ratio == pytest.approx(0.391, abs=0.0005)
    below = standpipe_flow_m3_per_s(0.1 * ratio * 0.999, diameter_m=0.1)
    above = standpipe_flow_m3_per_s(0.1 * ratio * 1.001, diameter_m=0.1)
    assert below == pytest.approx(above * (0.999 / 1.001) ** 0.5, rel=2e-3)


def test_side_outlet_has_no_jump_at_a_full_bore() -> None:
    below = side_outlet_flow_m3_per_s(0.1 - 1e-9, diameter_m=0.1)
    above = side_outlet_flow_m3_per_s(0.1 + 1e-9, diameter_m=0.1)
    assert above == pytest.approx(below, rel=1e-6)


@pytest.mark.parametrize("head_m", [math.nan, math.inf])
def test_a_head_that_is_no_number_is_refused(head_m: float) -> None:
    with pytest.raises(RangeError, match="DOM-002 head_m"):
        orifice_flow_m3_per_s(head_m, diameter_m=0.01)
    with pytest.raises(RangeError, match="DOM-002 head_m"):
        standpipe_flow_m3_per_s(head_m, diameter_m=0.1)
    with pytest.raises(RangeError, match="DOM-002 head_m"):
        side_outlet_flow_m3_per_s(head_m, diameter_m=0.1)
    with pytest.raises(RangeError, match="DOM-002 head_m"):
        float_valve_flow_m3_per_s(head_m, kv_m3_per_h=1.0)

"""The steady water of the states: against the engine run until it is still, against the fluids
package, against closed forms, and what physics says must go up or down with what."""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from network.build import DEMO, PLAIN_ROOF, pipe, plan_of, record_of, tank
from network.test_levels import MENDED, changed
from network.test_limits import WARM, bed, content_m3, window
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import Finding
from roofspring.network.faults import break_all
from roofspring.network.laws import FEED_DEGC, overflow_flow_m3_per_s
from roofspring.network.levels import (
    STATES,
    DesignIntensity,
    LevelCheck,
    State,
    Steady,
    assess_levels,
    design_intensity,
    steady,
)
from roofspring.network.levels.changes import changed as with_value
from roofspring.network.levels.lines import head_over_lip_m, run_flow_m3_per_s
from roofspring.network.levels.shift import shifted
from roofspring.plan.model import Pipe, Plan
from roofspring.plan.new import NewPlanAnswers, new_plan
from roofspring.plan.read import read_text
from roofspring.rain.cloudburst import design_rain
from roofspring.units import UnitSet
from roofspring.water import kinematic_viscosity_m2_per_s

SHEDS_ALL = 'coefficient = "100 %"\nwetting = "0 mm"'
CALM = (
    MENDED.replace(
        'material = "metal"', 'material = "metal"\ncoefficient = "100 %"\nwetting = "0 mm"'
    )
    .replace('depth = "1 mm"', 'volume = "1 L"')
    .replace('reset = "48 h"', 'reset = "1000 h"')
    .replace("[filter.sand-a]", '[run]\nwater-temperature = "10 degC"\n[filter.sand-a]')
    .replace('sieve = "sand.csv"', 'skin = { law = "steady" }')
    .replace("strainer = { blocked", "strainer = { guard = true, blocked")
)
"""The demo without what moves while it runs: skins, first flush, strainers, uses."""
ROOFS_M2 = 154.0


def plan_from(text: str) -> Plan:
    loaded = tomllib.loads(text)
    loaded.pop("use", None)
    return Plan.model_validate(loaded)


def state(name: str, temp_degc: float, *, blind_frac: float | None = None) -> State:
    found = next(s for s in STATES if s.name == name)
    found = replace(found, temp_degc=temp_degc)
    return found if blind_frac is None else replace(found, blind_frac=blind_frac)


def everything_runs(plan: Plan) -> Plan:
    roofs = {
        name: roof.model_copy(update={"coefficient_frac": 1.0}) for name, roof in plan.roofs.items()
    }
    screens = {
        name: screen.model_copy(update={"efficiency_frac": 1.0})
        for name, screen in plan.screens.items()
    }
    return plan.model_copy(update={"roofs": roofs, "screens": screens})


@pytest.mark.parametrize(
    ("name", "faults"),
    [
        ("design-rain", ()),
        (
            "stuck-open",
            ("feed-a:stuck-open", "feed-b:stuck-open", "raw:overflow-blocked=50 %",
             "clean:overflow-blocked=50 %", "cistern:overflow-blocked=50 %"),
        ),
    ],
)  # fmt: skip
def test_levels_are_those_of_the_engine_run_until_it_is_still(
    name: str, faults: tuple[str, ...]
) -> None:
    """The engine under a constant rain, with the faults of the state, at 10 degrees C."""
    plan = plan_from(CALM)
    rain_m_per_s = 75.0 / 3.6e6
    solved = steady(plan, replace(state(name, FEED_DEGC), skin="given"), rain_m_per_s=rain_m_per_s)
    broken, _ = break_all(plan, faults)
    if faults:  # at worst no roof holds rain back, and the screen passes all that comes
        broken = everything_runs(broken)
    run = window(
        broken,
        steps=12 * 60,
        flow_m3_per_s=rain_m_per_s * ROOFS_M2,
        roof_m2=ROOFS_M2,
        start_m3={"raw": 1.6, "clean": 0.9, "cistern": 24.0, "sand-a": 0.05, "sand-b": 0.05},
    )
    for tank_id, area_m2 in (("raw", 1.9 / 1.45), ("clean", 1.1 / 1.3), ("cistern", 12.0)):
        base_m = plan.tanks[tank_id].base_m
        assert base_m is not None
        level_m = base_m + content_m3(run, tank_id)[-1] / area_m2
        assert solved.levels_m[tank_id] == pytest.approx(level_m, abs=2e-3)
    for filter_id, part in plan.filters.items():
        level_m = part.outlet_m + content_m3(run, filter_id)[-1] / part.area_m2
        if name == "design-rain":
            assert solved.levels_m[filter_id] == pytest.approx(level_m, abs=1e-4)
        else:  # the engine lets all over a filter's lip go at it
            assert level_m == pytest.approx(part.overflow_m, abs=1e-6)
            assert solved.levels_m[filter_id] > level_m
    left = {a.from_part: run.flow_m3[-1, i] for i, a in enumerate(run.arcs) if a.kind == "overflow"}
    for tank_id in ("raw", "clean", "cistern"):
        assert solved.over_m3_per_s[tank_id] == pytest.approx(left[tank_id] / 300.0, rel=5e-3)


def test_a_stuck_float_lets_in_what_fluids_finds() -> None:
    """Churchill's friction and loss factors, added up and solved by the fluids package."""
    plan = plan_from(MENDED)
    found = steady(plan, state("stuck-open", 4.0), rain_m_per_s=75.0 / 3.6e6)
    feed = plan.pipes["feed-a"]
    assert feed.size_m is not None and feed.valve is not None and feed.valve.kv_m3_per_s is not None
    assert feed.strainer is not None
    bore_m = feed.size_m
    head_m = found.levels_m["raw"] - 6.22  # the box stands under its inlet
    nu = kinematic_viscosity_m2_per_s(4.0)
    k_sum = 0.5 + 1.0 + 0.1 + 3 * 0.9  # entry, exit, ball valve, three elbows: the table
    k_sum += fluids.Kv_to_K(feed.valve.kv_m3_per_s * 3600.0, feed.size_m)
    k_sum += 1.65 / (1.0 - feed.strainer.blocked_frac) ** 2

    def excess_m(flow: float) -> float:
        speed = flow / (math.pi * bore_m**2 / 4.0)
        f = fluids.friction.Churchill_1977(
            fluids.Reynolds(V=speed, D=bore_m, nu=nu), feed.roughness_m / bore_m
        )
        k = k_sum + fluids.K_from_f(fd=f, L=feed.length_m, D=bore_m)
        return float(fluids.head_from_K(K=k, V=speed, g=GRAVITY_M_PER_S2)) - head_m

    flow = brentq(excess_m, 1e-9, 1e-2)
    # The standard's factor of Kv is rounded, 1.6e9 for 1.604e9: 0.1 % of the flow.
    assert found.lines["feed-a"].flow_m3_per_s == pytest.approx(flow, rel=2e-3)


def test_the_gravity_line_of_the_worked_case() -> None:
    """1.0 m, 6 m of 20.93 mm, roughness 1.5 um, loss factors 5.3 in all: 26.09 L/min, computed."""
    line = Pipe.model_validate(
        {"from": "a", "to": "b", "size": "20.93 mm", "length": "6 m",
         "fittings": ["elbow 90"] * 4 + ["gate valve"]}
    )  # fmt: skip
    flow = run_flow_m3_per_s((line,), 1.0, temp_degc=20.0)
    assert flow * 60e3 == pytest.approx(26.09, abs=0.01)


def test_pipes_in_series_lose_what_both_lose() -> None:
    """Loss adds in series: two halves of a line, each with half of its factors, are the line."""
    half = Pipe.model_validate(
        {"from": "a", "to": "b", "size": "25 mm", "length": "5 m", "fittings": ["elbow 90"]}
    )
    both = run_flow_m3_per_s((half, half), 0.8, temp_degc=10.0)
    each = run_flow_m3_per_s((half,), 0.4, temp_degc=10.0)
    assert both == pytest.approx(each, rel=1e-9)


def spilling(form: str, bore: str) -> Plan:
    return plan_of(
        PLAIN_ROOF,
        tank(
            "t", volume_m3=2.4, height_m=1.2,
            more=f'base = "0 m"\noverflow = "1 m"\noverflow-form = "{form}"',
        ),
        tank("far", volume_m3=500.0, more='base = "-5 m"\ninlet = "-5 m"'),
        pipe("p", "r", "t"), pipe("q", "t.overflow", "far", f'size = "{bore}"\nlength = "1 m"'),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("form", "bore", "l_per_s", "over_m"),
    [
        ("stand-pipe", "100 mm", 2.775, 0.030),  # weir 1.7 pi D h^1.5, computed
        ("stand-pipe", "100 mm", 6.600, 0.100),  # orifice 0.6, computed
        ("side", "100 mm", 0.9 * 4.507, 0.100),  # critical flow in a circle (CHOW_1959), computed
        ("side", "50 mm", 0.9 * 0.797, 0.050),
    ],
)
def test_an_overflow_stands_where_it_passes_what_comes(
    form: str, bore: str, l_per_s: float, over_m: float
) -> None:
    found = steady(
        spilling(form, bore), state("design-rain", 20.0), rain_m_per_s=l_per_s / 1000.0 / 100.0
    )
    assert found.levels_m["t"] - 1.0 == pytest.approx(over_m, abs=2e-4)
    assert found.over_m3_per_s["t"] == pytest.approx(l_per_s / 1000.0)
    assert found.rim_m3_per_s["t"] == 0.0


def test_an_overflow_that_is_overwhelmed_stands_at_the_brim() -> None:
    """A stand-pipe of 50 mm passes 0.6 a sqrt(2 g 0.2 m) at the brim, by hand 2.333 L/s."""
    found = steady(
        spilling("stand-pipe", "50 mm"), state("design-rain", 20.0), rain_m_per_s=5e-3 / 100.0
    )
    passes = 0.6 * math.pi * 0.05**2 / 4.0 * math.sqrt(2.0 * 9.80665 * 0.2)
    assert found.levels_m["t"] == pytest.approx(1.2)
    assert found.over_m3_per_s["t"] == pytest.approx(passes)
    assert found.rim_m3_per_s["t"] == pytest.approx(5e-3 - passes)


def test_a_filter_under_a_steady_inflow_stands_at_that_over_its_conductance() -> None:
    """A filter behind a weir is linear: h = I / k. k 2e-5 m2/s, I 1e-5 m3/s: 0.5 m (Q1)."""
    plan = plan_of(
        WARM, PLAIN_ROOF, bed("f", area_m2=1.2, conductance_m2_per_s=2e-5), pipe("p", "r", "f")
    )
    found = steady(plan, state("design-rain", 20.0), rain_m_per_s=1e-5 / 100.0)
    assert found.levels_m["f"] == pytest.approx(0.5, abs=1e-6)
    assert found.rates_m_per_s["f"] == pytest.approx(1e-5 / 1.2)


def test_a_valve_with_a_band_holds_its_level_lower_by_the_droop() -> None:
    """IEC_60534: Kv 1.7 passes 4.860 L/min under 0.3 m, and half of it half open, computed."""
    text = (
        tank("lake", volume_m3=2000.0, more='base = "0.7 m"\noutlet = "0.7 m"\noverflow = "1.3 m"')
        + bed("f", area_m2=1.0, conductance_m2_per_s=2.43e-3 / 60.0 / 0.7).replace(
            'inlet = "0 m"', 'inlet = "1 m"'
        )
        + pipe(
            "p", "lake", "f",
            'size = "50 mm"\nlength = "10 mm"\nvalve = { kind = "float", kv = "1.7 m3/h", '
            'shuts-at = "0.8 m", band = "200 mm" }',
        )
    )  # fmt: skip
    found = steady(plan_of(WARM, text), state("design-rain", 20.0), rain_m_per_s=0.0)
    assert found.levels_m["f"] == pytest.approx(0.8 - 0.5 * 0.2, abs=1e-3)


# ---- what must go up or down with what -----------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(
    low=st.floats(1e-3, 5.0), more=st.floats(1e-3, 5.0), bore_mm=st.floats(10.0, 60.0),
    temp=st.floats(4.0, 30.0), blocked=st.floats(0.0, 0.9),
)  # fmt: skip
def test_more_head_is_never_less_flow_and_more_blocked_never_more(
    low: float, more: float, bore_mm: float, temp: float, blocked: float
) -> None:
    def line(blocked_frac: float) -> tuple[Pipe, ...]:
        made = Pipe.model_validate(
            {"from": "a", "to": "b", "size": f"{bore_mm!r} mm", "length": "7 m",
             "strainer": {"blocked": f"{100.0 * blocked_frac!r} %"}}
        )  # fmt: skip
        return made, made

    flow = run_flow_m3_per_s(line(0.0), low, temp_degc=temp)
    assert run_flow_m3_per_s(line(0.0), low + more, temp_degc=temp) > flow
    assert run_flow_m3_per_s(line(blocked), low, temp_degc=temp) <= flow * (1.0 + 1e-9)


@settings(max_examples=25, deadline=None)
@given(
    blind=st.floats(0.0, 0.9), more=st.floats(0.0, 0.09), mm_per_h=st.floats(5.0, 200.0),
    wetter=st.floats(0.0, 100.0), temp=st.sampled_from([4.0, 20.0]),
)  # fmt: skip
def test_a_blinder_mesh_or_more_rain_never_lowers_what_overflows(
    blind: float, more: float, mm_per_h: float, wetter: float, temp: float
) -> None:
    plan = plan_from(MENDED)

    def solved(blind_frac: float, rain: float) -> Steady:
        at = state("stuck-open", temp, blind_frac=blind_frac)
        return steady(plan, at, rain_m_per_s=rain / 3.6e6)

    here = solved(blind, mm_per_h)
    for other in (
        solved(min(1.0 - 1e-3, blind + more), mm_per_h),
        solved(blind, mm_per_h + wetter),
    ):
        for part_id in ("raw", "cistern", "sand-a", "sand-b"):
            assert other.levels_m[part_id] >= here.levels_m[part_id] - 1e-6


@pytest.mark.parametrize("name", sorted({s.name for s in STATES}))
def test_colder_water_never_runs_faster_through_the_sand(name: str) -> None:
    plan = plan_from(DEMO.read_text("utf-8"))
    temps = [4.0, 8.0, 12.0, 20.0, 28.0]
    found = [steady(plan, state(name, t), rain_m_per_s=2e-5) for t in temps]
    for filter_id in plan.filters:
        rates = [f.rates_m_per_s[filter_id] for f in found]
        assert all(a <= b * (1.0 + 1e-9) for a, b in pairwise(rates))


@pytest.mark.parametrize("found", STATES, ids=[s.title for s in STATES])
def test_as_much_leaves_a_full_part_as_comes(found: State) -> None:
    """Mass: roofs, feeds and overflows of a train at rest."""
    plan = plan_from(DEMO.read_text("utf-8"))
    solved = steady(plan, found, rain_m_per_s=75.0 / 3.6e6)
    flows = {p: line.flow_m3_per_s for p, line in solved.lines.items()}
    for filter_id, feed, out in (
        ("sand-a", "feed-a", "filtered-a"),
        ("sand-b", "feed-b", "filtered-b"),
    ):
        left = flows[out] + solved.over_m3_per_s[filter_id] + solved.rim_m3_per_s[filter_id]
        assert flows[feed] == pytest.approx(left, rel=1e-4)
    if found.rains:
        left = solved.over_m3_per_s["raw"] + solved.rim_m3_per_s["raw"]
        assert flows["flush-to-raw"] == pytest.approx(
            left + flows["feed-a"] + flows["feed-b"], rel=1e-4
        )
        assert flows["cistern-overflow"] == pytest.approx(
            flows["raw-overflow"] + flows["clean-to-cistern"], rel=1e-4
        )


def test_the_head_falls_along_every_pipe() -> None:
    plan = plan_from(DEMO.read_text("utf-8"))
    for found in STATES:
        for line in steady(plan, found, rain_m_per_s=2e-5).lines.values():
            if line.start_m is not None and line.end_m is not None and line.flow_m3_per_s > 0.0:
                assert line.start_m + 1e-9 >= line.end_m + line.valve_m >= line.end_m


# ---- the checks on them --------------------------------------------------------------------------


def with_pipe(name: str, old: str, new: str) -> str:
    """The mended demo with something in one pipe changed."""
    start = MENDED.index(f"[pipe.{name}]")
    end = MENDED.index("\n\n", start)
    block = MENDED[start:end]
    assert block.count(old) == 1
    return MENDED[:start] + block.replace(old, new) + MENDED[end:]


SLIPS = [
    ("LVL-030", "raw.brim over raw.overflow", with_pipe("raw-overflow", "110 mm", "63 mm")),
    ("LVL-032", "raw.inlet over raw.overflow", with_pipe("raw-overflow", "110 mm", "75 mm")),
    ("LVL-031", "sand-a.rim over sand-a.overflow", with_pipe("spill-a", "50 mm", "12 mm")),
    ("LVL-033", "flush.outlet over raw.inlet", with_pipe("flush-to-raw", "100 mm", "30 mm")),
    ("LVL-012", "clean.outlet over kitchen.height", with_pipe("to-kitchen", "21 mm", "7 mm")),
    (
        "LVL-034",
        "feed-a.valve.shuts-at over sand-a.weir",
        changed(('per-person = "38 L/day"', 'per-person = "60 L/day"'), text=MENDED),
    ),
]


@pytest.mark.parametrize(("code", "where", "text"), SLIPS, ids=[s[0] for s in SLIPS])
def test_what_is_too_small_is_seen_and_the_change_that_is_told_mends_it(
    code: str, where: str, text: str
) -> None:
    plan = Plan.model_validate(tomllib.loads(text))
    check = next(c for c in assess_levels(plan).checks if c.key == (code, where))
    assert check.ok is False and check.mends
    (option,) = [o for o in check.options if o.where == check.change_where]
    after = assess_levels(with_value(plan, option.where, option.value))
    assert next(c for c in after.checks if c.key == (code, where)).ok
    assert check.states[0].margin_m == min(s.margin_m for s in check.states)
    # One change for one overflow is told once: by the brim where the inlet stands as high.
    finding = next(f for f in assess_levels(plan).findings if f.next.startswith(check.change))
    assert "tried: with it this check holds" in finding.next


def tried(text: str, code: str, where: str) -> tuple[LevelCheck, Finding]:
    answer = assess_levels(plan_from(text))
    check = next(c for c in answer.checks if c.key == (code, where))
    return check, next(f for f in answer.findings if (f.code, f.where) == (code, where))


def test_the_change_that_breaks_no_other_check_is_taken() -> None:
    """Raising this weir leaves too little head over it (LVL-015), so the sand is to be lowered."""
    text = MENDED.replace('shuts-at = "5.93 m"', 'shuts-at = "5.85 m"', 1)
    text = text.replace('weir = "5.65 m"', 'weir = "5.58 m"', 1)
    check, finding = tried(text, "LVL-007", "sand-a.weir over sand-a.sand-top")
    assert [o.where for o in check.options] == ["sand-a.weir", "sand-a.sand-top"]
    assert check.change == "lower sand-a.sand-top to 5.550 m"
    assert check.mends and check.breaks == ()
    assert finding.next.endswith("tried: with it this check holds, and no other fails")


def test_a_change_that_breaks_another_check_says_so() -> None:
    """The box is too low for its sand: the float cannot shut higher, nor the weir lie lower."""
    text = MENDED.replace('weir = "5.65 m"', 'weir = "5.74 m"', 1)
    text = text.replace('sand-top = "5.60 m"', 'sand-top = "5.70 m"', 1)
    text = text.replace('overflow = "6.13 m"', 'overflow = "5.97 m"', 1)
    check, finding = tried(text, "LVL-015", "feed-a.valve.shuts-at over sand-a.weir")
    assert check.mends
    assert check.breaks == ("LVL-008 sand-a.overflow over feed-a.valve.shuts-at",)
    assert "but then LVL-008 sand-a.overflow over feed-a.valve.shuts-at fails" in finding.next


def test_the_end_of_a_run_is_where_the_engine_cleans() -> None:
    """At the lip and at the water's temperature the bed then passes just the rate of cleaning."""
    plan = plan_from(MENDED)
    part = plan.filters["sand-a"]
    for temp in (4.0, 20.0):
        found = steady(plan, state("end-of-run", temp), rain_m_per_s=0.0)
        assert part.overflow_m is not None and part.outlet_m is not None
        at_lip = (
            found.rates_m_per_s["sand-a"]
            * (part.overflow_m - part.outlet_m)
            / (found.levels_m["sand-a"] - part.outlet_m)
        )
        assert at_lip == pytest.approx(0.1 * part.rate_limit_m_per_s, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(flow=st.floats(1e-6, 8e-3), bore_mm=st.floats(30.0, 160.0))
def test_the_head_over_a_lip_is_the_law_turned_round(flow: float, bore_mm: float) -> None:
    outlet = Pipe.model_validate({"from": "a", "to": "b", "size": f"{bore_mm!r} mm"})
    head_m = head_over_lip_m(outlet, "side", None, flow)
    assert overflow_flow_m3_per_s(outlet, head_m, form="side", fall_m=None) == pytest.approx(
        flow, rel=1e-3
    )


# ---- slips of the tape ---------------------------------------------------------------------------


@pytest.mark.parametrize(("part_id", "up_m"), [("raw", 2.0), ("raw", -3.0), ("clean", -4.0)])
def test_a_part_measured_from_another_datum_is_found_out(part_id: str, up_m: float) -> None:
    """All heights of one part too high or low by the same: the amount told lies beside it."""
    found = [
        f
        for f in assess_levels(shifted(plan_from(MENDED), part_id, up_m)).findings
        if f.code == "LVL-025"
    ]
    assert [f.where for f in found] == [part_id]
    told = re.search(r"heights are ([\d.]+) m (higher|lower)", found[0].got)
    assert told is not None
    assert told[2] == ("lower" if up_m > 0.0 else "higher")
    assert 0.0 < float(told[1]) <= abs(up_m)
    back = float(told[1]) * (-1.0 if up_m > 0.0 else 1.0)
    mended = assess_levels(shifted(plan_from(MENDED), part_id, up_m + back))
    assert all(c.ok for c in mended.checks)


def test_one_wrong_height_is_not_taken_for_another_datum() -> None:
    text = MENDED.replace('inlet = "5.44 m"', 'inlet = "6.44 m"')
    answer = assess_levels(plan_from(text))
    assert {f.code for f in answer.findings} >= {"LVL-009"}
    assert "LVL-025" not in {f.code for f in answer.findings}


def test_a_bore_in_the_wrong_unit_is_asked_about() -> None:
    answer = assess_levels(plan_from(with_pipe("feed-a", "21 mm", "0.84 m")))
    found = [f for f in answer.findings if f.code == "LVL-019"]
    assert [(f.where, f.got) for f in found] == [("pipe.feed-a.size", "0.84 m")]


def test_a_weir_over_the_overflow_is_seen_without_a_float() -> None:
    text = MENDED.replace('overflow = "6.13 m"', 'overflow = "5.60 m"', 1)
    answer = assess_levels(plan_from(text))
    check = next(
        c for c in answer.checks if c.key == ("LVL-024", "sand-a.overflow over sand-a.weir")
    )
    assert check.ok is False and check.have_m == pytest.approx(-0.05)


# ---- the rain to design for ----------------------------------------------------------------------


def test_a_long_record_says_how_hard_it_rains() -> None:
    """Thirty years, drawn with a seed; the law itself is tested where it is at home."""
    rng = np.random.default_rng(4)
    days = 30 * 365
    depth_mm = np.where(rng.random(days) < 0.3, rng.gamma(0.8, 12.0, days), 0.0)
    record = record_of(depth_mm)
    found = design_intensity(record)
    rain = design_rain(
        duration_s=300.0, return_years=10.0, kind="ARI", record=record, resamples_count=100
    )
    assert found.rain_m_per_s == pytest.approx(rain.depth_m / 300.0)
    assert found.source.startswith("five minutes once in 10 years")


def test_a_record_of_a_month_leaves_it_to_a_code() -> None:
    found = design_intensity(record_of(np.ones(30)))
    # The usual of the United Kingdom, 75 mm/h (EN_12056_3, second hand).
    assert found.rain_m_per_s == pytest.approx(75.0 / 3.6e6)


def test_more_rain_asks_for_more_room() -> None:
    plan = plan_from(MENDED)
    needs = [
        next(
            c.need_m
            for c in assess_levels(plan, rain=DesignIntensity(mm_per_h / 3.6e6, "asked")).checks
            if c.key == ("LVL-030", "raw.brim over raw.overflow")
        )
        for mm_per_h in (20.0, 75.0, 150.0)
    ]
    assert needs == sorted(needs) and needs[0] < needs[-1]


def test_a_tap_on_a_thin_line_gets_what_its_head_drives() -> None:
    """4 L/min or what comes: the head along its line never goes under the mouth."""
    plan = plan_from(with_pipe("to-kitchen", "21 mm", "7 mm"))
    line = steady(plan, state("first-filling", 4.0), rain_m_per_s=0.0).lines["to-kitchen"]
    assert 0.0 < line.flow_m3_per_s < 4e-3 / 60.0
    assert line.end_m == pytest.approx(1.05) and line.valve_m == pytest.approx(0.0, abs=1e-6)
    wide = steady(plan_from(MENDED), state("first-filling", 4.0), rain_m_per_s=0.0)
    assert wide.lines["to-kitchen"].flow_m3_per_s == pytest.approx(4e-3 / 60.0)


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("area", ["20 m2", "120 m2", "200 m2", "300 m2", "400 m2"])
def test_a_starter_plan_holds_in_every_state(units: UnitSet, area: str) -> None:
    text = new_plan(NewPlanAnswers(name="place", units=units, roof_area=area))
    answer = assess_levels(read_text(text, path=Path("plan.toml")).plan)
    assert [c.key for c in answer.checks if c.ok is False] == []

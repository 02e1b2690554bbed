"""Named faults: one contract for all of them, and sums by hand for what each does."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest

from network.build import DEMO, PLAIN_ROOF, pipe, plan_of, tank, use
from roofspring.errors import PlanError
from roofspring.network.assemble import assemble
from roofspring.network.edits import revised
from roofspring.network.faults import FAULTS, break_all, break_plan, fault_finding
from roofspring.network.laws import pipe_k_sum
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.model import Plan

PLAN = Plan.model_validate(tomllib.loads(DEMO.read_text("utf-8")))
EXAMPLES = {
    "stuck-open": "feed-a:stuck-open",
    "stuck-shut": "feed-b:stuck-shut",
    "strainer-clogged": "feed-a:strainer-clogged=90 %",
    "closed": "feed-b:closed",
    "air-locked": "feed-a:air-locked=0.8 m",
    "leak": "clean:leak=50 L/h",
    "overflow-blocked": "raw:overflow-blocked",
    "blinded": "leaf-screen:blinded",
    "out-of-service": "sand-b:out-of-service",
    "skin-clogged": "sand-a:skin-clogged=20 h",
    "gutter-blocked": "cabin:gutter-blocked",
}
# No part of these kinds can have the fault.
WRONG = {
    "stuck-open": ("to-kitchen", "raw", "sand-a"),
    "stuck-shut": ("filtered-a", "leaf-screen"),
    "strainer-clogged": ("to-house", "cabin"),
    "closed": ("raw-overflow", "cabin-down", "filtered-a", "raw"),
    "air-locked": ("to-kitchen", "cabin-down", "raw"),
    "leak": ("sand-a", "feed-a"),
    "overflow-blocked": ("sand-a", "raw-overflow"),
    "blinded": ("flush", "feed-a"),
    "out-of-service": ("raw", "feed-a"),
    "skin-clogged": ("leaf-screen",),
    "gutter-blocked": ("raw", "cabin-down"),
}


def storm(plan: Plan) -> WindowResult:
    """36 mm in an hour and the day after it; close_books has checked every part of it."""
    rain_m = np.zeros(300)
    rain_m[:12] = 0.003
    return simulate_window(plan, rain_m, step_s=300.0, month=6)


def moved_m3(window: WindowResult, **wanted: str) -> float:
    """Volume along all arcs with these attributes."""
    picked = [all(getattr(a, k) == v for k, v in wanted.items()) for a in window.arcs]
    assert any(picked)
    return float(window.flow_m3[:, picked].sum())


@pytest.mark.parametrize("name", FAULTS)
def test_the_contract_of_every_fault(name: str) -> None:
    before = PLAN.model_dump()
    broken = break_plan(PLAN, EXAMPLES[name])
    assert PLAN.model_dump() == before
    assert broken.plan != PLAN
    assert broken.where == EXAMPLES[name].partition(":")[0]
    assert broken.words.startswith(f"{broken.where}: {FAULTS[name].about}")
    assert assemble(broken.plan).topology.nodes == assemble(PLAN).topology.nodes
    window, whole = storm(broken.plan), storm(PLAN)
    assert window.residual_m3 < 1e-9
    assert not np.array_equal(window.flow_m3, whole.flow_m3)
    finding = fault_finding(broken)
    assert (finding.code, finding.severity, finding.where) == ("FLT-101", "note", broken.where)


@pytest.mark.parametrize(("name", "part"), [(n, p) for n, parts in WRONG.items() for p in parts])
def test_a_part_that_cannot_have_it_is_refused(name: str, part: str) -> None:
    amount = {"skin-clogged": "=1 h", "air-locked": "=0.2 m", "leak": "=1 L/h"}.get(name, "")
    with pytest.raises(PlanError) as refused:
        break_plan(PLAN, f"{part}:{name}{amount}")
    (problem,) = refused.value.problems
    assert problem.code == "FLT-002"
    assert problem.where == part
    assert FAULTS[name].of in problem.allowed


@pytest.mark.parametrize(
    ("fault", "code", "words"),
    [
        ("feed-a:stuck-opn", "FLT-001", 'did you mean "stuck-open"?'),
        ("feed-a", "FLT-001", "use one of these"),
        ("feed-c:stuck-open", "FLT-002", 'did you mean "feed-'),
        ("feed-a:stuck-open=3", "FLT-003", "no amount"),
        ("sand-a:skin-clogged", "FLT-003", "needs an amount"),
        ("sand-a:skin-clogged=3 m", "FLT-003", "skin-clogged="),
        ("sand-a:skin-clogged=9999999 h", "FLT-003", "outside"),
        ("feed-a:strainer-clogged=110 %", "FLT-003", "outside"),
        ("cabin:gutter-blocked=50 %", "FLT-002", "no gutter"),
    ],
)
def test_what_cannot_be_says_why(fault: str, code: str, words: str) -> None:
    with pytest.raises(PlanError) as refused:
        break_plan(PLAN, fault)
    (problem,) = refused.value.problems
    assert problem.code == code
    assert words in str(problem)


def test_several_faults_stand_one_on_the_other() -> None:
    plan, broken = break_all(PLAN, ["feed-a:stuck-shut", "feed-b:stuck-shut"])
    assert [b.where for b in broken] == ["feed-a", "feed-b"]
    assert moved_m3(storm(plan), kind="feed") == 0.0


FILTER = """
[filter.f]
area = "0.25 m2"
base = "0 m"
sand-top = "1 m"
weir = "1.05 m"
overflow = "1.55 m"
throttle = "0.1 m/h"
inlet = "1.6 m"
"""
FED = (
    PLAIN_ROOF,
    tank("raw", volume_m3=2.0, height_m=1.0, start=1.0, more='base = "3 m"'),
    FILTER,
    tank("clean", volume_m3=50.0, more='base = "-3 m"'),
    pipe("down", "r", "raw"),
    pipe("feed", "raw", "f", 'valve = { kind = "float", shuts-at = "1.5 m" }\nsize = "20 mm"'),
    pipe("out", "f", "clean"),
)


def test_a_stuck_valve_pours_the_tank_over_the_filter() -> None:
    plan = break_plan(plan_of(*FED), "feed:stuck-open").plan
    window = simulate_window(plan, np.zeros(288), step_s=300.0, month=0)
    # 2 m3 run out within hours. The throttle passes 25 L/h while it stands full, so of what came
    # 0.125 m3 (0.5 m over the weir on 0.25 m2) are above the weir, and the rest is over the lip.
    drained_h = np.flatnonzero(window.content_m3[:, window.nodes.index("raw")] < 1e-9)[0] / 12.0
    assert drained_h < 2.0
    over = moved_m3(window, kind="overflow", from_part="f")
    assert over == pytest.approx(2.0 - 0.125 - 0.025 * drained_h, abs=0.01)
    sound = simulate_window(plan_of(*FED), np.zeros(288), step_s=300.0, month=0)
    assert moved_m3(sound, kind="overflow", from_part="f") == 0.0


def test_a_clogged_strainer_has_the_loss_of_the_open_share_squared() -> None:
    # K = K0 / (1 - c)**2: 25 times at c = 0.8 (IDELCHIK_1986, as quoted in text books).
    text = FED[5].replace('size = "20 mm"', 'size = "20 mm"\nstrainer = { k = 2.0 }')
    plan = plan_of(*FED[:5], text, *FED[6:])
    clean_k, clogged_k = (
        pipe_k_sum(p.pipes["feed"], diameter_m=0.02)
        for p in (plan, break_plan(plan, "feed:strainer-clogged").plan)
    )
    assert clogged_k - clean_k == pytest.approx(2.0 * 24.0)


def test_a_blinded_screen_passes_its_share_of_the_rest() -> None:
    window, blind = storm(PLAN), storm(break_plan(PLAN, "leaf-screen:blinded=25 %").plan)
    passed, less = (moved_m3(w, kind="pass", from_part="leaf-screen") for w in (window, blind))
    assert less == pytest.approx(0.75 * passed)


def test_half_a_gutter_carries_half() -> None:
    gutter = '[roof.r.gutter]\ncapacity = "1 L/s"'
    plan = plan_of(PLAIN_ROOF, gutter, tank("t", volume_m3=9.0), pipe("p", "r", "t"))
    broken = break_plan(plan, "r:gutter-blocked=50 %").plan
    rain_m = np.full(12, 0.003)  # 100 m2: 1 L/s for an hour
    half, none = (
        simulate_window(p, rain_m, step_s=300.0, month=0)
        for p in (broken, break_plan(plan, "r:gutter-blocked").plan)
    )
    assert moved_m3(half, kind="gutter") == pytest.approx(1.8)
    assert moved_m3(half, kind="pass") == pytest.approx(1.8)
    assert moved_m3(none, kind="gutter") == pytest.approx(3.6)


def test_a_filter_out_of_service_stands_still() -> None:
    window = storm(break_plan(PLAN, "sand-b:out-of-service").plan)
    assert moved_m3(window, kind="sand", from_part="sand-b") == 0.0
    assert moved_m3(window, kind="feed", to_part="sand-b") == 0.0


def test_a_thick_skin_passes_by_darcy() -> None:
    plan = break_plan(plan_of(*FED), "f:skin-clogged=100 h").plan
    window = simulate_window(plan, np.zeros(24), step_s=300.0, month=0)
    # Filled within the first steps, the float holds 0.45 m over the weir: at most 0.45 m / 100 h on
    # 0.25 m2. The skin's resistance is given at 20 degrees C, and the water is colder than that.
    most = 0.45 / 360000.0 * 0.25 * 24 * 300.0
    assert 0.5 * most < moved_m3(window, kind="sand") < most


def test_trapped_air_holds_back_what_stands_no_higher() -> None:
    # The raw tank stands 3 to 4 m; the filter's inlet is at 1.6 m. Air that takes 2.4 m lets the
    # water run only down to 4.0 m, where it stands: none comes. With 1.9 m it runs to 3.5 m.
    for taken_m, stays_m3 in ((2.4, 2.0), (1.9, 1.0)):
        plan = break_plan(plan_of(*FED), f"feed:air-locked={taken_m} m").plan
        window = simulate_window(plan, np.zeros(24 * 12 * 30), step_s=300.0, month=0)
        row = window.nodes.index("raw")
        assert window.content_m3[-1, row] == pytest.approx(stays_m3, abs=2e-3)


def test_air_cannot_be_trapped_where_no_height_is_known() -> None:
    plan = plan_of(tank("a", volume_m3=1.0), tank("b", volume_m3=1.0), pipe("p", "a", "b"))
    with pytest.raises(PlanError, match="does not give the heights"):
        break_plan(plan, "p:air-locked=0.1 m")


def test_a_hole_in_the_floor_empties_a_tank_in_twice_the_time_of_its_first_flow() -> None:
    # Q = Q0 sqrt(h / h0) from an upright tank: empty after 2 V0 / Q0 (closed form); half of that
    # time leaves a quarter. 1 m3 at 100 L/h: 20 h, and 0.25 m3 after 10 h.
    plan = plan_of(tank("t", volume_m3=1.0, start=1.0), PLAIN_ROOF, pipe("p", "r", "t"))
    broken = break_plan(plan, "t:leak=100 L/h").plan
    window = simulate_window(broken, np.zeros(22 * 12), step_s=300.0, month=0)
    content = window.content_m3[:, window.nodes.index("t")]
    assert content[10 * 12] == pytest.approx(0.25, abs=2e-3)
    assert content[-1] < 1e-3
    assert moved_m3(window, kind="leak") == pytest.approx(1.0, abs=1e-3)


def test_a_blocked_overflow_runs_over_the_brim() -> None:
    plan = plan_of(
        PLAIN_ROOF,
        tank("t", volume_m3=1.0, start=0.9, more='base = "0 m"\noverflow = "0.9 m"'),
        "[swale.low]",
        pipe("p", "r", "t"),
        pipe("over", "t.overflow", "low", 'size = "100 mm"'),
    )
    rain_m = np.full(12, 0.001)  # 1.2 m3 in an hour on 100 m2; there is room for 0.09 to the lip
    sound, blocked, half = (
        simulate_window(p, rain_m, step_s=300.0, month=0)
        for p in (
            plan,
            break_plan(plan, "t:overflow-blocked").plan,
            break_plan(plan, "t:overflow-blocked=75 %").plan,
        )
    )
    assert moved_m3(sound, kind="rim") == 0.0
    # To the brim there is room for 0.1 m3 more.
    first_m3 = sound.content_m3[0, sound.nodes.index("t")]
    assert moved_m3(blocked, kind="rim") == pytest.approx(1.2 + first_m3 - 1.0, abs=1e-3)
    # Three quarters blocked are half the diameter: 50 mm under 100 mm of head carry 0.33 L/s.
    assert moved_m3(half, kind="rim") == 0.0


def test_only_a_pipe_of_known_size_can_be_blocked() -> None:
    plan = plan_of(tank("t", volume_m3=1.0), "[swale.s]", pipe("over", "t.overflow", "s"))
    with pytest.raises(PlanError, match="no pipe of a known size"):
        break_plan(plan, "t:overflow-blocked")


def test_a_closed_tap_sends_its_use_to_the_next_choice() -> None:
    plan = plan_of(
        tank("a", volume_m3=1.0, start=1.0),
        tank("b", volume_m3=1.0, start=1.0),
        "[tap.one]\n[tap.two]",
        pipe("to-one", "a", "one"),
        pipe("to-two", "b", "two"),
        use("u", "one two", "240 L/day"),
    )
    window = simulate_window(
        break_plan(plan, "to-one:closed").plan, np.zeros(12), step_s=300.0, month=0
    )
    assert moved_m3(window, kind="draw", from_part="b") == pytest.approx(0.010)
    both, _ = break_all(plan, ["to-one:closed", "to-two:closed"])
    dry = simulate_window(both, np.zeros(12), step_s=300.0, month=0)
    assert dry.content_m3[-1].sum() == pytest.approx(2.0)


def test_a_tap_that_two_pipes_feed_keeps_the_other() -> None:
    plan = plan_of(
        tank("a", volume_m3=1.0, start=1.0),
        tank("b", volume_m3=1.0, start=1.0),
        "[tap.one]",
        pipe("from-a", "a", "one"),
        pipe("from-b", "b", "one"),
        use("u", "one", "240 L/day"),
    )
    broken = break_plan(plan, "from-a:closed").plan
    assert broken.uses["u"].from_ == ("one",)
    window = simulate_window(broken, np.zeros(12), step_s=300.0, month=0)
    assert moved_m3(window, kind="draw", from_part="b") == pytest.approx(0.010)


def test_a_value_beyond_its_field_is_refused() -> None:
    part = PLAN.filters["sand-a"]
    for values in ({"skin_resistance_s": 5e7}, {"skin_resistance_s": float("nan")}, {"label": 3}):
        with pytest.raises(PlanError, match="PLN-051"):
            revised(part, values)
    assert revised(part, {"label": None, "area_m2": 2.0}).area_m2 == 2.0

"""How the parts behave in a run: each against arithmetic done by hand beside it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import (
    DAY_STEPS,
    PLAIN_ROOF,
    delivered_m3,
    dry,
    end_m3,
    pipe,
    plan_of,
    ran,
    record_of,
    tank,
    use,
)
from roofspring.hydraulics import fitting_k, flow_m3_per_s
from roofspring.network.assemble import assemble
from roofspring.network.laws import _behind
from roofspring.network.simulate import simulate
from roofspring.plan.geometry import volume_to_depth_m

HOURLY = '[run]\nwet-step = "1 h"\ndry-step = "1 h"\nwater-temperature = "20 degC"\n'


def float_at(height: str) -> str:
    return f'valve = {{ kind = "float", shuts-at = "{height}" }}'


# ---- roof, screen, first flush -----------------------------------------------------------------


def test_the_chain_of_one_event() -> None:
    # Computed outside this program: P 12 mm, wetting 0.5 mm, C 0.9, A 100 m2, first flush 100 L,
    # screen 0.9: 1035.0, 935.0 and 841.5 L, less what a chamber that empties in a year weeps while
    # the roof runs, for 11.5 of the 12 parts of the day.
    wept_m3 = 0.1 / 365.0 * 11.5 / 12.0
    result = ran(
        record_of([12.0]),
        DAY_STEPS,
        '[roof.r]\narea = "100 m2"\nmaterial = "slate"\ncoefficient = 0.9\nwetting = "0.5 mm"\n',
        '[first-flush.f]\nvolume = "100 L"\nreset = "365 days"\n[screen.s]\nefficiency = 0.9\n',
        tank("t", volume_m3=5.0),
        pipe("p", "r", "f") + pipe("q", "f", "s") + pipe("v", "s", "t"),
    )
    for part, volume_m3 in (
        ("r", 1.0350),
        ("f", 0.9350 - wept_m3),
        ("s", 0.8415 - 0.9 * wept_m3),
    ):
        assert result.total_m3(kind="pass", from_part=part) == pytest.approx(volume_m3, abs=1e-12)
    passed_m3 = 0.9350 - wept_m3
    assert result.total_m3(kind="weep") == pytest.approx(wept_m3, abs=1e-12)
    assert result.total_m3(kind="reject") == pytest.approx(0.1 * passed_m3, abs=1e-12)
    assert result.total_m3(kind="wetting") == pytest.approx(0.05, abs=1e-12)
    assert end_m3(result, "t")[0] == pytest.approx(0.9 * passed_m3, abs=1e-12)


def test_the_flush_volume_follows_from_depth_and_roofs() -> None:
    plan = plan_of(
        PLAIN_ROOF,
        PLAIN_ROOF.replace("roof.r", "roof.r2").replace("100 m2", "40 m2"),
        PLAIN_ROOF.replace("roof.r", "roof.elsewhere"),
        '[first-flush.f]\ndepth = "1.5 mm"\n[screen.s]\n[diverter.d]\n',
        tank("t", volume_m3=1.0),
        pipe("a", "r", "s"),
        pipe("b", "s", "d"),
        pipe("c", "d.main", "f"),
        pipe("e", "r2", "f"),
        pipe("g", "f", "t"),
        pipe("h", "elsewhere", "t"),
    )
    compiled = assemble(plan)
    volume_m3 = compiled.net.capacity_m3[compiled.topology.nodes.index("f")]
    assert volume_m3 == pytest.approx(1.5e-3 * 140.0)
    assert any(a.where == "f.volume" for a in compiled.assumptions)


def test_valves_that_shut_at_unlike_levels_are_named() -> None:
    def assumed(one: str, other: str) -> list[float]:
        compiled = assemble(
            plan_of(
                PLAIN_ROOF,
                tank("a", volume_m3=1.0, more='base = "5 m"'),
                tank("b", volume_m3=1.0, more='base = "5 m"'),
                tank("t", volume_m3=1.0, more='base = "0 m"'),
                pipe("x", "r", "a"),
                pipe("p", "a", "t", float_at(one)),
                pipe("q", "b", "t", float_at(other)),
            )
        )
        here = compiled.topology.nodes.index("t")
        levels = [float(a.value) for a in compiled.assumptions if a.where == "t.float-valves"]
        assert compiled.net.shut_m3[here] == pytest.approx(min(float(one[:3]), float(other[:3])))
        return levels

    assert assumed("0.8 m", "0.5 m") == [0.5]
    assert assumed("0.8 m", "0.8 m") == []


def test_the_chamber_weeps_empty_in_its_reset_time() -> None:
    result = ran(
        record_of([5.0, 0.0, 0.0, 5.0, 5.0]),
        DAY_STEPS,
        PLAIN_ROOF,
        '[first-flush.f]\nvolume = "100 L"\nreset = "48 h"\n',
        tank("t", volume_m3=5.0),
        pipe("p", "r", "f") + pipe("q", "f", "t"),
    )
    # Full, half, empty, full, full. Half a filling weeps away on each day that holds any: 0.5 m3
    # come, less 0.05 m3 wept and what the chamber keeps.
    np.testing.assert_allclose(end_m3(result, "f"), [0.1, 0.05, 0.0, 0.1, 0.1], atol=1e-12)
    np.testing.assert_allclose(end_m3(result, "t"), [0.35, 0.35, 0.35, 0.7, 1.15], atol=1e-12)


def test_a_roof_wets_and_dries() -> None:
    result = ran(
        record_of([3.0, 0.0, 3.0, 3.0, 0.0, 0.0, 0.0, 3.0]),
        DAY_STEPS,
        '[roof.r]\narea = "100 m2"\nmaterial = "slate"\ncoefficient = 0.8\nwetting = "1 mm"\n'
        'drying = "0.4 mm/day"\n',
    )
    # 1 mm is held; a dry day frees 0.4 mm, three dry days all of it.
    wetting = result.flow_m3[:, [a.kind == "wetting" for a in result.arcs]].sum(axis=1)
    np.testing.assert_allclose(wetting, [0.1, 0, 0.04, 0, 0, 0, 0, 0.1], atol=1e-12)
    splash = result.flow_m3[:, [a.kind == "splash" for a in result.arcs]].sum(axis=1)
    np.testing.assert_allclose(splash, [0.04, 0, 0.052, 0.06, 0, 0, 0, 0.04], atol=1e-12)


def test_a_diverter_turns_with_the_months() -> None:
    record = record_of(np.ones(365), start="2001-01-01")
    result = ran(
        record,
        DAY_STEPS,
        PLAIN_ROOF,
        "[diverter.d]\nside-months = [1, 12]\n",
        tank("a", volume_m3=100.0),
        tank("b", volume_m3=100.0),
        pipe("p", "r", "d") + pipe("q", "d.main", "a") + pipe("s", "d.side", "b"),
    )
    assert end_m3(result, "b")[-1] == pytest.approx(62 * 0.1)
    assert end_m3(result, "a")[-1] == pytest.approx(303 * 0.1)
    assert end_m3(result, "b")[30] == pytest.approx(31 * 0.1)
    assert end_m3(result, "b")[333] == pytest.approx(31 * 0.1)


@pytest.mark.parametrize("steps", ["24 h", "40 min"])
def test_a_diverter_turns_with_the_hours(steps: str) -> None:
    # Rain falls evenly all day: six hours of it are a quarter, however long the steps may be.
    result = ran(
        record_of([12.0, 0.0, 4.0]),
        DAY_STEPS.replace("24 h", steps),
        PLAIN_ROOF,
        "[diverter.d]\nside-hours = [22, 23, 0, 1, 12, 13]\n",
        tank("a", volume_m3=100.0),
        tank("b", volume_m3=100.0),
        pipe("p", "r", "d") + pipe("q", "d.main", "a") + pipe("s", "d.side", "b"),
    )
    np.testing.assert_allclose(end_m3(result, "b"), [0.3, 0.3, 0.4], rtol=1e-12)
    np.testing.assert_allclose(end_m3(result, "a"), [0.9, 0.9, 1.2], rtol=1e-12)


# ---- tanks -------------------------------------------------------------------------------------


def test_heights_that_are_not_given_hold_nothing_back() -> None:
    parts = (
        tank("a", volume_m3=1.0, start=1.0),
        tank("b", volume_m3=0.4),
        tank("c", volume_m3=2.0),
        pipe("p", "a", "b"),
        pipe("q", "b", "c"),
        use("u", "c", "10 L/day"),
    )
    result = ran(dry(2), DAY_STEPS, *parts)
    # All of it in one step through the tank that would not hold it: fill, feed and draw at once.
    np.testing.assert_allclose(end_m3(result, "c"), [0.99, 0.98])
    assert result.total_m3(kind="overflow") == 0.0


def test_a_series_of_tanks_each_full_before_the_next() -> None:
    result = ran(
        record_of([10.0, 10.0, 10.0]),
        DAY_STEPS,
        PLAIN_ROOF,
        tank("a", volume_m3=1.5),
        tank("b", volume_m3=1.0),
        pipe("p", "r", "a"),
        pipe("q", "a.overflow", "b"),
    )
    np.testing.assert_allclose(end_m3(result, "a"), [1.0, 1.5, 1.5])
    np.testing.assert_allclose(end_m3(result, "b"), [0.0, 0.5, 1.0])
    assert result.total_m3(kind="overflow", from_part="b") == pytest.approx(0.5)


def test_the_higher_outlet_runs_dry_first() -> None:
    result = ran(
        dry(1),
        DAY_STEPS,
        tank(
            "a",
            volume_m3=1.0,
            start=1.0,
            more='base = "5 m"\noutlet = "5.1 m"\nmore-outlets = { high = "5.6 m" }\n',
        ),
        tank("low", volume_m3=1.0),
        tank("high", volume_m3=1.0),
        pipe("p", "a.outlet", "low"),
        pipe("q", "a.high", "high"),
    )
    # 1.0 to 0.6 m3 runs to both alike, from 0.6 to 0.1 only to the lower, 0.1 stays.
    assert end_m3(result, "high")[0] == pytest.approx(0.2)
    assert end_m3(result, "low")[0] == pytest.approx(0.7)
    assert end_m3(result, "a")[0] == pytest.approx(0.1)


def test_draws_at_two_outlets_end_at_their_own_levels() -> None:
    result = ran(
        dry(10),
        DAY_STEPS,
        tank(
            "a",
            volume_m3=1.0,
            start=1.0,
            more='base = "5 m"\noutlet = "5.1 m"\nmore-outlets = { high = "5.6 m" }\n',
        ),
        use("garden", "a.high", "100 L/day", "importance = 1"),
        use("drink", "a", "50 L/day", "importance = 2"),
    )
    assert delivered_m3(result, "garden").sum() == pytest.approx(0.3)
    assert delivered_m3(result, "drink").sum() == pytest.approx(0.5)


def test_a_tap_gives_nothing_from_below_its_mouth() -> None:
    result = ran(
        dry(10),
        DAY_STEPS,
        tank("a", volume_m3=1.0, start=1.0, more='base = "5 m"\n'),
        '[tap.t]\nheight = "5.7 m"\n',
        pipe("p", "a", "t"),
        use("u", "t", "100 L/day"),
    )
    assert delivered_m3(result, "u").sum() == pytest.approx(0.3)


def test_nothing_runs_uphill() -> None:
    up = tank("b", volume_m3=1.0, more='base = "5 m"\ninlet = "5.5 m"\n')
    low = tank("a", volume_m3=1.0, start=1.0, more='base = "5 m"\n')
    straight = ran(dry(2), DAY_STEPS, low, up, pipe("p", "a", "b"))
    assert end_m3(straight, "b")[-1] == pytest.approx(0.5)
    # The same through a step that stands in the cellar: water rises in the pipe behind it again.
    cellar = '[disinfection.v]\nmethod = "uv"\ninlet = "1 m"\noutlet = "1 m"\n'
    through = ran(dry(2), DAY_STEPS, low, up, cellar, pipe("p", "a", "v"), pipe("q", "v", "b"))
    assert end_m3(through, "b")[-1] == pytest.approx(0.5)


def test_a_feed_runs_as_fast_as_its_pipe_lets_it() -> None:
    k = fitting_k("entry sharp") + fitting_k("exit") + 2 * fitting_k("elbow 90")
    result = ran(
        dry(1),
        '[run]\ndry-step = "60 s"\n',
        tank("a", volume_m3=1000.0, start=1.0, more='base = "5 m"\noutlet = "5.1 m"\n'),
        tank("b", volume_m3=1000.0, more='base = "0 m"\ninlet = "2 m"\n'),
        pipe("p", "a", "b", 'size = "21 mm"\nlength = "8 m"\nfittings = ["elbow 90", "elbow 90"]'),
    )
    # The level of the wide tank falls by a few centimetres only.
    moved_m3 = float(end_m3(result, "b")[0])
    heads_m = (4.0, 4.0 - moved_m3 / 1000.0)
    fast, slow = (
        flow_m3_per_s(
            h, diameter_m=0.021, length_m=8.0, roughness_m=1.5e-6, k_sum=k, temp_degc=10.0
        )
        for h in heads_m
    )
    assert slow * 86400 * 0.998 <= moved_m3 <= fast * 86400 * 1.002


@pytest.mark.parametrize(
    "shut", ['valve = { kind = "stop", open = 0.0 }', "strainer = { blocked = 1.0 }"]
)
@pytest.mark.parametrize("size", ["", 'size = "21 mm"\n'])
@pytest.mark.parametrize("place", ["before", "behind"])
def test_what_is_shut_lets_nothing_through(shut: str, size: str, place: str) -> None:
    more = {"before": "", "behind": "", place: size + shut}
    result = ran(
        dry(2),
        DAY_STEPS,
        tank("a", volume_m3=1.0, start=1.0),
        tank("b", volume_m3=1.0),
        '[disinfection.v]\nmethod = "uv"\n',
        pipe("p", "a", "v", more["before"]),
        pipe("q", "v", "b", more["behind"]),
    )
    assert end_m3(result, "b")[-1] == 0.0


def test_the_pipe_behind_a_disinfection_step_limits_the_flow_too() -> None:
    thin = 'size = "8 mm"\nlength = "30 m"\n'
    wide = 'size = "100 mm"\nlength = "1 m"\n'

    def moved_m3(first: str, second: str) -> float:
        result = ran(
            dry(1),
            HOURLY,
            tank("a", volume_m3=100.0, start=1.0, more='base = "5 m"\n'),
            tank("b", volume_m3=100.0, more='base = "0 m"\ninlet = "2 m"\n'),
            '[disinfection.v]\nmethod = "uv"\ninlet = "1 m"\noutlet = "1 m"\n',
            pipe("p", "a", "v", first),
            pipe("q", "v", "b", second),
        )
        return float(end_m3(result, "b")[0])

    assert moved_m3("", thin) == pytest.approx(moved_m3(thin, ""), rel=1e-6)
    assert moved_m3(wide, thin) == pytest.approx(moved_m3("", thin), rel=5e-3)
    assert moved_m3(thin, thin) < 0.8 * moved_m3("", thin)


def test_two_pipes_in_series_by_the_closed_form() -> None:
    # Q = c sqrt(h) each, so Q = sqrt(H / (1/c1^2 + 1/c2^2)) together.
    roots = np.linspace(0.0, 1.0, 33)
    both = _behind(2.0 * roots, 0.5 * roots, roots)
    np.testing.assert_allclose(both, roots / math.sqrt(1 / 4.0 + 1 / 0.25), rtol=1e-9)


SHAPES = st.sampled_from(["upright", "lying", "table"])


@st.composite
def shapes(draw: st.DrawFn) -> str:
    shape = draw(SHAPES)
    size = draw(st.floats(0.3, 2.0))
    if shape == "upright":
        return f'shape = "upright"\nvolume = "{size!r} m3"\nheight = "1 m"\n'
    if shape == "lying":
        return f'shape = "lying"\ndiameter = "1 m"\nlength = "{size!r} m"\n'
    low = draw(st.floats(0.05, 0.9))
    return (
        f'shape = "table"\ntable = [["0 m", "0 L"], ["0.5 m", "{low * size!r} m3"], '
        f'["1 m", "{size!r} m3"]]\n'
    )


@settings(max_examples=80, deadline=None)
@given(near=shapes(), far=shapes(), start=st.floats(0.0, 1.0), far_start=st.floats(0.0, 1.0))
def test_tanks_joined_below_water_come_to_one_level_and_never_past_it(
    near: str, far: str, start: float, far_start: float
) -> None:
    plan = plan_of(
        DAY_STEPS,
        f'[tank.a]\nbase = "0 m"\nstart = {start!r}\n{near}',
        f'[tank.b]\nbase = "0 m"\ninlet = "0 m"\nstart = {far_start!r}\n{far}',
        pipe("p", "a", "b"),
    )
    result = simulate(plan, dry(2))
    # The engine reads levels between 65 points of equal content. To its own table it is exact.
    net = assemble(plan).net
    before, after = (
        [
            float(np.interp(v, np.linspace(0.0, net.brim_m3[i], 65), net.level_m[i]))
            for i, v in enumerate(held_m3)
        ]
        for held_m3 in (result.start_m3, result.end_m3[-1])
    )
    if before[0] > before[1]:
        assert after[0] == pytest.approx(after[1], abs=1e-9)
    else:
        np.testing.assert_array_equal(result.end_m3[-1], result.start_m3)
    # To the shape: the lowest piece of a lying cylinder is 0.045 m high, and a straight line misses
    # it by less than a third of that; at a bend of a table tank it misses by a quarter of a piece
    # times the change of slope, here at most (10 - 0.53) / 64 / 4 = 0.037 m.
    for i, name in enumerate("ab"):
        part = plan.tanks[name]
        slack_m = {"lying": 0.015, "table": 0.037}.get(part.shape, 1e-9)
        depth_m = volume_to_depth_m(part, float(result.end_m3[-1, i]))
        assert after[i] == pytest.approx(depth_m, abs=slack_m)
    # Once level it stays: no water goes to and fro.
    np.testing.assert_allclose(
        result.end_m3[1], result.end_m3[0], atol=2e-3 * result.capacity_m3.max()
    )


def test_two_tanks_into_a_drowned_one_never_lift_it_above_the_higher() -> None:
    level = 'base = "0 m"\ninlet = "0 m"\n'
    result = ran(
        dry(3),
        DAY_STEPS,
        tank("a", volume_m3=1.0, start=1.0, more=level),
        tank("b", volume_m3=1.0, start=1.0, more=level),
        tank("c", volume_m3=1.0, more=level),
        pipe("p", "a", "c"),
        pipe("q", "b", "c"),
    )
    # One after the other: a to half, then b to three quarters. Nothing runs back through an inlet.
    assert end_m3(result, "c")[0] == pytest.approx(0.75)
    assert max(end_m3(result, "a")[0], end_m3(result, "b")[0]) >= end_m3(result, "c")[0] - 1e-9


# ---- float valves ------------------------------------------------------------------------------


@pytest.mark.parametrize("between", ["", "c", "cv"], ids=["pipe", "cartridge", "cartridge and UV"])
def test_a_float_valve_holds_the_level(between: str) -> None:
    stops = ["a", *between, "b"]
    steps = "".join(f'[disinfection.{s}]\nmethod = "cartridge"\n' for s in between)
    pipes = "".join(
        pipe(f"p{i}", x, y, float_at("0.5 m") if y == "b" else "")
        for i, (x, y) in enumerate(pairwise(stops))
    )
    result = ran(
        dry(19),
        HOURLY,
        tank("a", volume_m3=10.0, start=1.0, more='base = "5 m"\n'),
        tank("b", volume_m3=1.0, more='base = "0 m"\n'),
        steps,
        pipes,
        use("u", "b", "480 L/day"),
    )
    held_m3 = end_m3(result, "b")
    assert (held_m3 <= 0.5 + 1e-12).all()
    np.testing.assert_allclose(held_m3, 0.5)
    assert result.total_m3(kind="overflow") == 0.0
    np.testing.assert_allclose(end_m3(result, "a"), 10.0 - 0.5 - 0.48 * np.arange(1, 20))


def test_float_valves_of_several_feeders_share_one_room() -> None:
    result = ran(
        dry(6),
        HOURLY,
        tank("src", volume_m3=100.0, start=1.0, more='base = "9 m"\n'),
        tank("t1", volume_m3=1.0, more='base = "5 m"\n'),
        tank("t2", volume_m3=1.0, more='base = "5 m"\n'),
        tank("x", volume_m3=1.0, more='base = "0 m"\n'),
        pipe("a", "src", "t1", float_at("5.5 m")),
        pipe("b", "src", "t2", float_at("5.5 m")),
        pipe("c", "t1", "x", float_at("0.5 m")),
        pipe("d", "t2", "x", float_at("0.5 m")),
        use("u", "x", "12 m3/day"),
    )
    for name in ("t1", "t2"):
        np.testing.assert_allclose(end_m3(result, name), 0.5, atol=1e-9)
    assert (end_m3(result, "x") <= 0.5 + 1e-12).all()
    assert result.total_m3(kind="overflow") == 0.0
    assert result.residual_m3 < 1e-9


def test_a_float_valve_holds_below_an_outlet_that_lies_higher() -> None:
    result = ran(
        dry(3),
        HOURLY,
        tank("a", volume_m3=10.0, start=1.0, more='base = "5 m"\n'),
        tank("b", volume_m3=1.0, more='base = "0 m"\noutlet = "0.7 m"\n'),
        tank("c", volume_m3=1.0, more='base = "-2 m"\n'),
        pipe("p", "a", "b", float_at("0.5 m")),
        pipe("q", "b", "c"),
    )
    np.testing.assert_allclose(end_m3(result, "b"), 0.5)
    assert end_m3(result, "c")[-1] == 0.0


def test_two_float_valves_from_one_tank_do_not_overfill() -> None:
    result = ran(
        dry(4),
        HOURLY,
        tank("a", volume_m3=10.0, start=1.0, more='base = "5 m"\n'),
        tank("b", volume_m3=1.0, more='base = "0 m"\n'),
        pipe("p", "a", "b", float_at("0.6 m")),
        pipe("q", "a", "b", float_at("0.6 m")),
        use("u", "b", "100 L/day"),
    )
    np.testing.assert_allclose(end_m3(result, "b"), 0.6)


def test_an_empty_feeder_leaves_the_room_to_the_full_one() -> None:
    result = ran(
        dry(2),
        DAY_STEPS,
        tank("a", volume_m3=1.0, start=0.0, more='base = "5 m"\n'),
        tank("z", volume_m3=1.0, start=1.0, more='base = "5 m"\n'),
        tank("x", volume_m3=1.0, more='base = "0 m"\n'),
        pipe("p", "a", "x", float_at("0.5 m")),
        pipe("q", "z", "x", float_at("0.5 m")),
    )
    np.testing.assert_allclose(end_m3(result, "x"), 0.5)

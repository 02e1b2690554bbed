"""Overflows against what can reach them: plans whose every flow is known beforehand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import PLAIN_ROOF, pipe, plan_of, use
from roofspring.catchment import mesh_open_frac
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import Finding
from roofspring.hydraulics import (
    apron,
    drain_flow_m3_per_s,
    flow_m3_per_s,
    pipe_exit,
    screen_k,
    side_outlet_flow_m3_per_s,
    standpipe_flow_m3_per_s,
)
from roofspring.network.laws import bed_resistance_s
from roofspring.network.overflows import OverflowRow, Overflows, assess_overflows
from roofspring.network.overflows.mouth import Mouth
from roofspring.network.worst_flows import worst_flows
from roofspring.plan.model import Pipe, Plan

RAIN = 0.090 / 3600.0
"""90 mm/h on 100 m2: 2.5 L/s."""
TANK = (
    '[tank.t]\nvolume = "2 m3"\nheight = "2 m"\nbase = "1 m"\noutlet = "1.1 m"\n'
    'overflow = "2.8 m"\ninlet = "2.95 m"\n'
)
SWALE = '[swale.s]\nrim = "-1 m"\n'
DOWN = pipe("down", "r", "t", 'size = "100 mm"\nlength = "6 m"')


WIDE = 'outfall = { mesh-area = "1 m2" }'
"""A mesh so wide that the pipe is as if it had none."""


def over(size: str = "75 mm", more: str = WIDE) -> str:
    return pipe("over", "t.overflow", "s", f'size = "{size}"\nlength = "8 m"\n{more}')


def house(*, tank: str = TANK, spill: str = "", more: str = "") -> Plan:
    return plan_of(PLAIN_ROOF, tank, SWALE, DOWN, spill or over(), use("u", "t", "1 L/day"), more)


def assessed(plan: Plan) -> Overflows:
    return assess_overflows(plan, rain_m_per_s=RAIN, rain_source="made in a test")


def tank_row(plan: Plan) -> OverflowRow:
    (row,) = (row for row in assessed(plan).rows if row.where == "t.overflow")
    return row


def coded(plan: Plan, code: str) -> list[Finding]:
    return [f for f in assessed(plan).findings if f.code == code]


def test_a_tank_gets_the_design_rain_and_stands_as_the_overflow_says() -> None:
    row = tank_row(house())
    assert row.brings_m3_per_s == pytest.approx(2.5e-3)
    assert row.rise_m is not None
    assert side_outlet_flow_m3_per_s(row.rise_m, diameter_m=0.075) == pytest.approx(2.5e-3)
    assert row.room_m == pytest.approx(0.2) and row.carries_m3_per_s == pytest.approx(
        side_outlet_flow_m3_per_s(0.2, diameter_m=0.075)
    )
    assert row.gap_m == pytest.approx(2.95 - 2.8 - row.rise_m)
    assert row.over_far_m == pytest.approx(3.8)
    assert row.is_carried and row.cure_size_m is None and row.missing == ()


def test_a_stand_pipe_has_its_own_law() -> None:
    row = tank_row(house(tank=TANK + 'overflow-form = "stand-pipe"\n'))
    assert row.rise_m is not None
    assert standpipe_flow_m3_per_s(row.rise_m, diameter_m=0.075) == pytest.approx(2.5e-3)


def test_a_gutter_brings_no_more_than_it_carries() -> None:
    plan = plan_of(
        PLAIN_ROOF + 'gutter = { capacity = "0.7 L/s" }\n', TANK, SWALE, DOWN, over(),
        use("u", "t", "1 L/day"),
    )  # fmt: skip
    assert tank_row(plan).brings_m3_per_s == pytest.approx(0.7e-3)


def test_the_size_that_cures_does() -> None:
    small = house(spill=over("32 mm"))
    (found,) = coded(small, "OVF-102")
    row = tank_row(small)
    assert row.is_carried is False and row.cure_size_m is not None
    assert f"{1000 * row.cure_size_m:.0f} mm bore" in found.next
    cured = house(spill=over(f"{row.cure_size_m} m"))
    assert coded(cured, "OVF-102") == [] and tank_row(cured).is_carried
    # The next smaller size would not have done.
    assert row.cure_size_m == 0.063 and not tank_row(house(spill=over("50 mm"))).is_carried


def test_a_half_blind_mesh_over_the_bore_chokes_it_and_a_wide_one_does_not() -> None:
    meshed = house(tank=TANK + 'mesh = "1 mm"\n', spill=over(more=""))
    row = tank_row(meshed)
    assert row.rise_m is not None
    # Half of the bore shut is a bore of the root of a half.
    half = side_outlet_flow_m3_per_s(row.rise_m, diameter_m=0.075 * math.sqrt(0.5))
    assert half == pytest.approx(2.5e-3, rel=1e-4)
    assert row.is_carried is False and row.cure_mesh_m2 is not None and row.mesh_is_bore
    (found,) = coded(meshed, "OVF-102")
    assert "mesh across its bore half blind" in found.got and "basket" in found.next
    wide = over("75 mm", f'outfall = {{ mesh-area = "{1.01 * row.cure_mesh_m2} m2" }}')
    cured = tank_row(house(tank=TANK + 'mesh = "1 mm"\n', spill=wide))
    assert cured.is_carried and not cured.mesh_is_bore
    bare = tank_row(house())
    assert cured.rise_m is not None and bare.rise_m is not None
    k = screen_k(mesh_open_frac(1e-3, wire_m=0.5e-3) / 2.0)
    speed = 2.5e-3 / (1.01 * row.cure_mesh_m2)
    assert cured.rise_m - bare.rise_m == pytest.approx(k * speed**2 / (2.0 * GRAVITY_M_PER_S2))
    # Under a pipe that is too small anyway, no mesh helps.
    both = tank_row(house(tank=TANK + 'mesh = "1 mm"\n', spill=over("50 mm", "")))
    assert both.cure_mesh_m2 is None and both.cure_size_m == 0.09


TRAIN = (
    '[filter.f]\narea = "0.25 m2"\nsand-top = "0.2 m"\nbase = "-0.7 m"\nweir = "0.25 m"\n'
    'overflow = "0.7 m"\nrim = "0.9 m"\ninlet = "0.82 m"\n'
    '[tank.c]\nvolume = "1 m3"\nheight = "1 m"\nbase = "-1 m"\noutlet = "-0.9 m"\n'
    'overflow = "-0.2 m"\ninlet = "-0.1 m"\n'
)
FEED = pipe(
    "feed", "t", "f",
    'size = "21 mm"\nlength = "4 m"\nvalve = { kind = "float", kv = "1.7 m3/h", '
    'shuts-at = "0.6 m" }',
)  # fmt: skip
WAYS = (
    FEED
    + pipe("out", "f", "c", 'size = "21 mm"\nlength = "2 m"')
    + pipe("fo", "f.overflow", "s", 'size = "50 mm"\nlength = "9 m"')
    + pipe("co", "c.overflow", "s", 'size = "50 mm"\nlength = "9 m"')
)


def test_a_filter_gets_what_a_stuck_float_passes_and_gives_what_clean_sand_does() -> None:
    plan = house(more=TRAIN + WAYS)
    rows = {row.where: row for row in assessed(plan).rows}
    # The raw tank stands at its overflow with the rain in it, and the float is wide open.
    rise = rows["t.overflow"].rise_m
    assert rise is not None
    fed = flow_m3_per_s(
        2.8 + rise - 0.82,
        diameter_m=0.021, length_m=4.0, roughness_m=1.5e-6,
        k_sum=1.5 + 1.6e9 * 0.021**4 / 1.7**2, temp_degc=20.0,
    )  # fmt: skip
    assert rows["f.overflow"].brings_m3_per_s == pytest.approx(fed)
    box = rows["f.overflow"].rise_m
    assert box is not None
    clean = (0.7 + box - 0.25) / bed_resistance_s(plan.filters["f"]) * 0.25
    assert rows["c.overflow"].brings_m3_per_s == pytest.approx(clean)
    throttled = house(more=TRAIN.replace("area", 'throttle = "0.1 m/h"\narea', 1) + WAYS)
    rows = {row.where: row for row in assessed(throttled).rows}
    assert rows["c.overflow"].brings_m3_per_s == pytest.approx(0.1 / 3600.0 * 0.25)


def test_more_rain_never_brings_less() -> None:
    plan = house(more=TRAIN + WAYS)
    flows = [
        worst_flows(plan, rain_m_per_s=rain, rise_m=lambda _part, flow: 20.0 * flow)
        for rain in (0.0, 0.5 * RAIN, RAIN, 3.0 * RAIN)
    ]
    for part in plan.tanks:
        came = [flow.by_part[part] for flow in flows]
        assert came == sorted(came)
    assert flows[2].by_part["t"] == pytest.approx(2.5e-3)


def test_screens_and_diverters_may_send_all_either_way() -> None:
    plan = plan_of(
        PLAIN_ROOF,
        "[screen.leaf]\n[first-flush.ff]\n[diverter.d]\n",
        TANK,
        SWALE,
        pipe("a", "r", "leaf"),
        pipe("b", "leaf", "ff"),
        pipe("c", "leaf.reject", "s"),
        pipe("e", "ff", "d"),
        pipe("f", "ff.drain", "s"),
        pipe("g", "d.main", "t"),
        pipe("h", "d.side", "s"),
        over(),
        use("u", "t", "1 L/day"),
    )
    flows = worst_flows(plan, rain_m_per_s=RAIN, rise_m=lambda _part, _flow: 0.0)
    for name in "abcegh":
        assert flows.by_pipe[name] == pytest.approx(2.5e-3)
    assert flows.by_pipe["f"] == 0.0


def test_an_inlet_that_drowns() -> None:
    low = TRAIN.replace('inlet = "0.82 m"', 'inlet = "0.71 m"')
    (found,) = coded(house(more=low + WAYS), "OVF-103")
    assert found.where == "f.overflow"
    assert coded(house(more=TRAIN + WAYS), "OVF-103") == []


def test_an_overflow_into_a_higher_tank_backs_up() -> None:
    ways = WAYS.replace('from = "c.overflow"\nto = "s"', 'from = "c.overflow"\nto = "x"')
    last = (
        '[tank.x]\nvolume = "5 m3"\nheight = "2 m"\nbase = "-2.1 m"\noverflow = "-0.15 m"\n'
        'inlet = "-0.1 m"\n'
    )
    (found,) = coded(house(more=TRAIN + ways + last), "OVF-104")
    assert found.where == "c.overflow" and found.got.startswith("50 mm")
    low = last.replace('"-0.15 m"', '"-0.5 m"')
    assert coded(house(more=TRAIN + ways + low), "OVF-104") == []


def test_open_ends_want_a_guard_and_ground_that_holds() -> None:
    bare = house()
    assert [f.where for f in coded(bare, "OVF-105")] == ["pipe.over"]
    assert coded(house(spill=over(more="outfall = { flap = true }")), "OVF-105") == []
    (end,) = assessed(bare).outfalls
    steep = pipe_exit(2.5e-3, diameter_m=0.075, fall_frac=3.8 / 8.0)
    assert end.speed_m_per_s == pytest.approx(steep.speed_m_per_s) and not end.is_held
    # Fast water: the mean of depth and bore takes the place of the bore.
    stones = apron(2.5e-3, diameter_m=0.075, depth_m=steep.depth_m)
    assert end.stones.stone_m == pytest.approx(stones.stone_m)
    (washed,) = coded(bare, "OVF-106")
    assert f"{1000 * end.stones.stone_m:.0f} mm or more" in washed.next
    laid = (
        f'outfall = {{ ground = "stones", stone = "{end.stones.stone_m:.4f} m", '
        f'apron = "{end.stones.length_m} m" }}'
    ).replace(f"{end.stones.stone_m:.4f}", f"{end.stones.stone_m + 1e-3:.4f}")
    assert coded(house(spill=over(more=laid)), "OVF-106") == []
    few = laid.replace(f'apron = "{end.stones.length_m} m"', 'apron = "0.1 m"')
    (short,) = coded(house(spill=over(more=few)), "OVF-106")
    assert "stones under" in short.what


def test_slow_water_on_firm_ground_needs_nothing() -> None:
    plan = plan_of(
        PLAIN_ROOF.replace('"100 m2"', '"4 m2"'), TANK,
        '[swale.s]\nrim = "2.79 m"\nsoil = "clay"\n', DOWN,
        over("100 mm", 'outfall = { flap = true }'), use("u", "t", "1 L/day"),
    )  # fmt: skip
    (end,) = assessed(plan).outfalls
    assert end.ground == "clay" and end.is_held and end.is_guarded
    assert coded(plan, "OVF-106") == []


def test_what_is_missing_is_said() -> None:
    unsized = pipe("over", "t.overflow", "s")
    (found,) = coded(house(spill=unsized), "OVF-101")
    assert found.got == "missing: over.size"
    plan = house(more=TRAIN + WAYS.replace('size = "21 mm"\nlength = "4 m"\n', ""))
    (found,) = coded(plan, "OVF-101")
    assert "feeds f" in found.got


def test_a_line_from_the_roof_runs_full() -> None:
    plan = plan_of(
        PLAIN_ROOF + 'outlet = "3.05 m"\n', TANK, SWALE,
        pipe("down", "r", "t", 'size = "63 mm"\nlength = "6 m"'), over(),
        use("u", "t", "1 L/day"),
    )  # fmt: skip
    (row,) = assessed(plan).runoff
    carries = drain_flow_m3_per_s(0.063, fall_frac=0.1 / 6.0, manning=0.011, depth_frac=0.7)
    assert row.carries_m3_per_s == pytest.approx(carries) and carries < 2.5e-3
    (found,) = coded(plan, "ROF-112")
    assert row.cure_size_m is not None
    assert found.next.startswith(f"take a pipe of {1000 * row.cure_size_m:.0f} mm")
    cured = plan.pipes["down"].model_copy(update={"size_m": row.cure_size_m})
    wider = plan.model_copy(update={"pipes": {**plan.pipes, "down": cured}})
    assert coded(wider, "ROF-112") == []


def test_a_line_that_a_clean_bed_fills_wants_a_vent_at_the_weir() -> None:
    thin = WAYS.replace('size = "21 mm"\nlength = "2 m"', 'size = "9 mm"\nlength = "2 m"')
    (found,) = coded(house(more=TRAIN + thin), "OVF-107")
    assert found.where == "pipe.out" and "vent" in found.next
    throttled = TRAIN.replace("area", 'throttle = "0.1 m/h"\narea', 1)
    assert coded(house(more=throttled + thin), "OVF-107") == []
    wide = WAYS.replace('size = "21 mm"\nlength = "2 m"', 'size = "50 mm"\nlength = "2 m"')
    assert coded(house(more=TRAIN + wide), "OVF-107") == []


@settings(max_examples=30, deadline=None)
@given(
    bore=st.floats(0.03, 0.2),
    room=st.floats(0.01, 0.5),
    more=st.floats(0.0, 0.3),
    mesh=st.sampled_from([None, 0.5e-3, 1e-3, 5e-3]),
    wide=st.sampled_from([None, 0.005, 0.05]),
    form=st.sampled_from(["side", "stand-pipe"]),
)
def test_more_room_carries_more_and_the_rise_is_its_inverse(
    bore: float, room: float, more: float, mesh: float | None, wide: float | None, form: str
) -> None:
    pipe_ = Pipe.model_validate(
        {"from": "t.overflow", "to": "s", "size": f"{bore!r} m", "length": "5 m"}
    )
    mouth = Mouth(pipe_, form, 2.0, mesh, wide)
    carries = mouth.carries_m3_per_s(room)
    assert mouth.carries_m3_per_s(room + more) >= carries * (1.0 - 1e-6)
    assert mouth.rise_m(carries) == pytest.approx(room, rel=1e-3, abs=1e-5)
    if mesh is not None:
        bare = Mouth(pipe_, form, 2.0, None, None)
        assert carries <= bare.carries_m3_per_s(room) * (1.0 + 1e-9)

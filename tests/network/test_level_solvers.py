"""The lowest stand that works and the highest place of the sand: the answer and just beyond it."""

from __future__ import annotations

import tomllib

import pytest

from network.build import DEMO
from network.test_levels import MENDED
from roofspring.hydraulics import loss_m
from roofspring.network.laws import pipe_k_sum
from roofspring.network.levels import LowestStand, check_levels, highest_sand, lowest_stands
from roofspring.network.levels.shift import shifted, with_sand_at
from roofspring.network.levels.solve import BEYOND_M
from roofspring.plan.model import Plan

RAIN = 75.0 / 3.6e6


def plan_from(text: str) -> Plan:
    return Plan.model_validate(tomllib.loads(text))


def failing(plan: Plan) -> set[str]:
    checks, _ = check_levels(plan, rain_m_per_s=RAIN)
    return {f"{c.code} {c.where}" for c in checks if c.ok is False}


@pytest.fixture(scope="module")
def mended() -> Plan:
    return plan_from(MENDED)


@pytest.fixture(scope="module")
def stands(mended: Plan) -> tuple[LowestStand, ...]:
    return lowest_stands(mended, rain_m_per_s=RAIN)


def test_the_raw_tank_may_come_down_to_what_its_feed_loses(
    mended: Plan, stands: tuple[LowestStand, ...]
) -> None:
    """Its outlet over the inlet of the filter by the loss of the line, and no less."""
    raw = next(r for r in stands if r.where == "raw")
    feed = mended.pipes["feed-a"]
    assert feed.size_m is not None and feed.strainer is not None
    clogged = feed.model_copy(
        update={"strainer": feed.strainer.model_copy(update={"blocked_frac": 0.8})}
    )
    lost_m = loss_m(
        0.12 / 3600.0 * 0.25,
        diameter_m=feed.size_m,
        length_m=feed.length_m,
        roughness_m=feed.roughness_m,
        k_sum=pipe_k_sum(clogged, diameter_m=feed.size_m, float_open_frac=0.5),
        temp_degc=4.0,
    )
    assert raw.lowest_m is not None
    # The outlet lies 0.15 m over the floor, the inlets of both filters at 6.22 m.
    assert raw.lowest_m == pytest.approx(6.22 + lost_m - 0.15, abs=1e-3)
    assert raw.lowest_m >= 6.22 + lost_m - 0.15
    assert raw.stand_m == pytest.approx(raw.lowest_m - 6.00)
    assert "LVL-004 raw.outlet over sand-a.inlet" in raw.held_by


def test_every_answer_holds_and_fails_just_beyond(
    mended: Plan, stands: tuple[LowestStand, ...]
) -> None:
    for row in (r for r in stands if not r.with_others):
        assert row.fails == () and row.lowest_m is not None
        moved = shifted(mended, row.where, row.lowest_m - row.now_m)
        assert failing(moved) == set()
        beyond = shifted(mended, row.where, row.lowest_m - row.now_m - BEYOND_M)
        if row.held_by:
            assert set(row.held_by) <= failing(beyond)
        else:
            assert row.stand_m == pytest.approx(0.0)  # it stands on its ground
    together = mended
    for row in (r for r in stands if r.with_others):
        assert row.lowest_m is not None
        together = shifted(together, row.where, row.lowest_m - row.now_m)
    assert failing(together) == set()


def test_a_stand_that_is_too_low_is_raised_to_the_lowest_that_works() -> None:
    low = shifted(plan_from(MENDED), "raw", -0.40)
    assert any(f.startswith("LVL-004") for f in failing(low))
    raw = next(r for r in lowest_stands(low, rain_m_per_s=RAIN) if r.where == "raw")
    assert raw.fails == () and raw.lowest_m is not None and raw.lowest_m > raw.now_m
    assert failing(shifted(low, "raw", raw.lowest_m - raw.now_m)) == set()


def test_a_part_between_two_that_stand_too_close_has_no_stand_that_works() -> None:
    """The raw tank's lines come down to 6.6 m, its filters' inlets stand at 6.22 m."""
    text = MENDED.replace(
        'inlet = "8.10 m"\noutlet = "8.05 m"', 'inlet = "6.70 m"\noutlet = "6.60 m"'
    )
    raw = next(r for r in lowest_stands(plan_from(text), rain_m_per_s=RAIN) if r.where == "raw")
    assert "LVL-003 flush.outlet over raw.inlet" in raw.fails


def test_buried_tanks_and_plans_without_heights_are_left_alone(
    stands: tuple[LowestStand, ...],
) -> None:
    assert "cistern" not in {r.where for r in stands}
    bare = plan_from('format = 1\nname = "x"\n[tank.t]\nvolume = "1 m3"\nheight = "1 m"\n')
    assert lowest_stands(bare, rain_m_per_s=RAIN) == ()
    assert highest_sand(bare, rain_m_per_s=RAIN) == ()


def test_the_sand_may_rise_by_the_head_that_is_to_spare(mended: Plan) -> None:
    """LVL-015 has 18 mm to spare: sand and weir may rise by that, rounded down to a millimetre."""
    checks, _ = check_levels(mended, rain_m_per_s=RAIN)
    spare = next(c for c in checks if c.code == "LVL-015" and "sand-a" in c.where).margin_m
    assert spare is not None
    row = next(r for r in highest_sand(mended, rain_m_per_s=RAIN) if r.where == "sand-a")
    assert row.fails == () and row.highest_m is not None and row.weir_m is not None
    assert 0.0 <= row.now_m + spare - row.highest_m < 1.001e-3
    assert row.weir_m - row.highest_m == pytest.approx(0.05)
    assert failing(with_sand_at(mended, "sand-a", row.highest_m)) == set()
    beyond = failing(with_sand_at(mended, "sand-a", row.highest_m + BEYOND_M))
    assert set(row.held_by) <= beyond and row.held_by[0].startswith("LVL-015")


def test_a_check_that_fails_at_every_height_is_told_apart() -> None:
    """Nothing throttles sand-b of the demo, whatever the height of its sand."""
    plan = plan_from(DEMO.read_text("utf-8"))
    row = next(r for r in highest_sand(plan, rain_m_per_s=RAIN) if r.where == "sand-b")
    assert row.fails == ("LVL-016 sand-b",) and row.held_by[0].startswith("LVL-015")
    assert row.weir_m is not None and row.highest_m is not None
    # 20 mm of water over the sand are too little: the weir goes with it at 30 mm.
    assert row.weir_m - row.highest_m == pytest.approx(0.03)

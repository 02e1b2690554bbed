"""What the plan's graph means: where uses draw, what stands shut; file order is no matter."""

from __future__ import annotations

import random
import tomllib
from typing import Any

import numpy as np
import pytest

from network.build import (
    DATA,
    DAY_STEPS,
    DEMO,
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
from roofspring.errors import PlanError
from roofspring.network.assemble import assemble
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.network.topology import arrange
from roofspring.plan.model import Plan
from roofspring.rain import read

FULL = tank("a", volume_m3=1.0, start=1.0)


def codes(plan: Plan) -> list[str]:
    return [f.code for f in assemble(plan).findings]


def test_a_tap_is_fed_through_disinfection_and_diverter() -> None:
    result = ran(
        dry(2),
        DAY_STEPS,
        FULL,
        '[disinfection.c]\nmethod = "cartridge"\n[disinfection.v]\nmethod = "uv"\n[diverter.d]\n'
        "[tap.one]\n[tap.two]\n",
        pipe("p1", "a", "c"),
        pipe("p2", "c", "v"),
        pipe("p3", "v", "d"),
        pipe("p4", "d.main", "one"),
        pipe("p5", "d.side", "two"),
        use("u", "one", "100 L/day"),
        use("w", "two", "50 L/day"),
    )
    np.testing.assert_allclose(delivered_m3(result, "u"), 0.1)
    np.testing.assert_allclose(delivered_m3(result, "w"), 0.05)
    np.testing.assert_allclose(end_m3(result, "a"), [0.85, 0.7])


def test_a_drain_stands_shut() -> None:
    result = ran(dry(3), FULL, "[swale.s]\n", pipe("p", "a.drain", "s"), use("u", "a", "10 L/day"))
    np.testing.assert_allclose(end_m3(result, "a"), [0.99, 0.98, 0.97])


def test_a_use_without_a_tank_behind_its_tap_is_refused() -> None:
    plan = plan_of(FULL, "[tap.t]\n", pipe("p", "a.drain", "t"), use("u", "t", "10 L/day"))
    with pytest.raises(PlanError, match=r"NET-002 use\.u\.from"):
        arrange(plan)


def test_a_disinfection_step_that_splits_is_refused() -> None:
    plan = plan_of(
        FULL,
        tank("b", volume_m3=1.0),
        tank("c", volume_m3=1.0),
        '[disinfection.v]\nmethod = "uv"\n',
        pipe("p", "a", "v"),
        pipe("q", "v", "b"),
        pipe("r", "v", "c"),
    )
    with pytest.raises(PlanError, match="NET-003"):
        arrange(plan)


def test_a_diverter_between_a_tap_and_a_store_is_refused() -> None:
    # Its water would otherwise run to the ground while it stands towards the tap.
    plan = plan_of(
        FULL,
        tank("b", volume_m3=1.0),
        "[diverter.d]\n[tap.t]\n",
        pipe("p", "a", "d"),
        pipe("q", "d.main", "t"),
        pipe("r", "d.side", "b"),
        use("u", "t", "10 L/day"),
    )
    with pytest.raises(PlanError, match=r"NET-004 diverter\.d\.main"):
        arrange(plan)


def test_a_tank_that_feeds_a_tap_and_a_tank_through_disinfection() -> None:
    result = ran(
        dry(2),
        DAY_STEPS,
        FULL,
        tank("b", volume_m3=1.0),
        '[disinfection.v]\nmethod = "uv"\n[tap.t]\n',
        pipe("p", "a", "v"),
        pipe("q", "v", "b"),
        pipe("r", "v", "t"),
        use("u", "t b", "100 L/day"),
    )
    np.testing.assert_allclose(end_m3(result, "a"), 0.0, atol=1e-12)
    np.testing.assert_allclose(end_m3(result, "b"), [0.9, 0.8])


def test_float_valves_where_water_cannot_wait_are_told_and_stand_open() -> None:
    valve = 'valve = { kind = "float" }'
    cartridge = '[disinfection.c]\nmethod = "cartridge"\n'
    sand = '[filter.f]\narea = "0.25 m2"\nthrottle = "0.1 m/h"\n'
    plan = plan_of(
        PLAIN_ROOF,
        cartridge,
        sand,
        FULL,
        pipe("p", "r", "c"),
        pipe("q", "c", "f", valve),
        pipe("s", "f", "a"),
    )
    assert "NET-104" in codes(plan)
    result = simulate(plan, record_of([30.0, 0.0, 30.0]))
    assert result.total_m3(kind="overflow", from_part="f") > 0.0


def test_findings_of_the_bare_graph() -> None:
    valve = 'valve = { kind = "float" }'
    plan = plan_of(
        PLAIN_ROOF,
        FULL,
        tank("b", volume_m3=1.0),
        tank("lone", volume_m3=1.0),
        pipe("p", "a", "b", valve),
        pipe("q", "a", "b", valve),
    )
    found = [(f.code, f.where) for f in assemble(plan).findings]
    assert ("NET-101", "r.outlet") in found
    assert ("NET-102", "a.overflow") in found
    assert ("NET-103", "lone") in found
    assert ("NET-105", "b.inlet") in found


@pytest.mark.parametrize("name", ["garden", "ground", "sky", "u"])
def test_a_part_may_be_called_as_it_likes(name: str) -> None:
    # After a use, or after words that the engine has for places of its own.
    def run(store: str) -> RunResult:
        return ran(
            record_of([20.0, 0.0, 20.0]),
            DAY_STEPS,
            PLAIN_ROOF.replace("[roof.r]", f"[roof.{store}-r]"),
            tank(store, volume_m3=1.0, start=0.5),
            tank("b", volume_m3=1.0, start=0.5),
            pipe("p", f"{store}-r", store),
            pipe("q", f"{store}.overflow", "b"),
            use("garden", f"b {store}", "700 L/day"),
            use("u", store, "10 L/day"),
        )

    named, plain = run(name), run("a")
    np.testing.assert_array_equal(end_m3(named, name), end_m3(plain, "a"))
    np.testing.assert_array_equal(named.delivered_m3, plain.delivered_m3)
    assert named.total_m3(kind="overflow") == plain.total_m3(kind="overflow") > 0.0


def test_a_roof_may_be_called_sky() -> None:
    roof = PLAIN_ROOF.replace("[roof.r]", "[roof.sky]")
    result = ran(record_of([20.0]), roof, tank("a", volume_m3=5.0), pipe("p", "sky", "a"))
    assert end_m3(result, "a")[0] == pytest.approx(2.0)


def shuffled(value: Any, rng: random.Random | None) -> Any:
    """The same tables in another order; lists keep theirs, which means something."""
    if not isinstance(value, dict):
        return value
    keys = list(value)
    if rng is None:
        keys.reverse()
    else:
        rng.shuffle(keys)
    return {key: shuffled(value[key], rng) for key in keys}


# Areas whose sum depends on the order in which they are added.
THREE_ROOFS = "\n".join(
    (
        'format = 1\nname = "three roofs"\n[first-flush.f]\n',
        *(
            f'[roof.r{i}]\narea = "{area} m2"\nmaterial = "slate"\n' + pipe(f"p{i}", f"r{i}", "f")
            for i, area in enumerate((0.1, 0.2, 0.3))
        ),
        FULL,
        pipe("q", "f", "a"),
        use("u", "a", "90 L/day"),
        use("v", "a", "70 L/day"),
    )
)


@pytest.mark.parametrize("seed", [0, 1, 2])
@pytest.mark.parametrize("name", ["demo", "three roofs"])
def test_the_order_of_tables_in_the_file_is_no_matter(name: str, seed: int) -> None:
    if name == "demo":
        raw = tomllib.loads(DEMO.read_text(encoding="utf-8"))
    else:
        raw = tomllib.loads(THREE_ROOFS)
    record = read(DATA / "seattle_daily_2012_2015.csv")
    one = simulate(Plan.model_validate(raw), record)
    other = simulate(
        Plan.model_validate(shuffled(raw, random.Random(seed) if seed else None)), record
    )
    assert one.store_ids == other.store_ids
    assert one.use_ids == other.use_ids
    assert one.arcs == other.arcs
    for field in ("end_m3", "low_m3", "flow_m3", "delivered_m3", "filter_rate_m_per_s"):
        assert np.array_equal(getattr(one, field), getattr(other, field)), field

"""Materials that a plan says its water touches: named, graded, and told when not said."""

from __future__ import annotations

import tomllib
from typing import Any, get_args

import pytest

from roofspring.errors import RangeError
from roofspring.plan.hygiene import PipeTouch, RoofTouch, TankTouch
from roofspring.plan.model import Plan
from roofspring.safety.materials import materials, touched
from roofspring.safety.paths import all_routes, graph_findings, not_said, ways, zones_of
from roofspring.safety.paths.board import board

PLAN = """
format = 1
name = "bench"
[roof.r]
area = "40 m2"
material = "metal"
{roof}
[tank.raw]
volume = "1 m3"
height = "1 m"
{raw}
[filter.f]
area = "0.5 m2"
[tank.clean]
volume = "1 m3"
height = "1 m"
{clean}
[tank.garden]
volume = "1 m3"
height = "1 m"
touches = ["bitumen"]
[tap.t]
drinking = true
[pipe.a]
from = "r"
to = "raw"
{before}
[pipe.b]
from = "raw"
to = "f"
[pipe.c]
from = "f"
to = "clean"
[pipe.d]
from = "clean"
to = "t"
{after}
[pipe.e]
from = "raw.overflow"
to = "garden"
"""


def plan(**said: str) -> Plan:
    names = ("roof", "raw", "clean", "before", "after")
    lines = {n: f"touches = {said[n]}" if n in said else "" for n in names}
    return Plan.model_validate(tomllib.loads(PLAN.format(**lines)))


def found(made: Plan) -> list[tuple[str, str, str]]:
    return [
        (f.where, f.severity, f.got)
        for f in graph_findings(made, all_routes(made))
        if f.code == "SAF-158"
    ]


def test_the_names_of_the_plan_are_those_of_the_table() -> None:
    in_plan = [*get_args(RoofTouch), *get_args(TankTouch), *get_args(PipeTouch)]
    assert sorted(in_plan) == sorted(m.touches for m in materials() if m.touches)
    assert len(set(in_plan)) == len(in_plan)
    for m in materials():
        kinds: Any = {"tank": TankTouch, "pipe": PipeTouch}.get(m.part, RoofTouch)
        assert not m.touches or m.touches in get_args(kinds)
        assert not (m.touches and m.plan_material)


def test_what_the_water_touches_is_a_finding_with_the_advice_of_the_table() -> None:
    made = found(plan(roof='["moss-killer", "plastic-gutter"]', clean='["bitumen"]',
                      raw='["galvanised-steel"]'))  # fmt: skip
    assert [(where, severity) for where, severity, _ in made] == [
        ("r", "stop"), ("clean", "stop"), ("raw", "caution"),
    ]  # fmt: skip
    assert "tar compounds" in made[1][2]


def test_what_is_in_common_use_or_off_the_way_is_no_finding() -> None:
    assert found(plan(roof="[]", raw='["polyethylene"]', clean='["concrete"]')) == []


def test_drain_pipe_is_doubtful_for_filtered_water_alone() -> None:
    assert found(plan(before='["drain-pipe"]')) == []
    ((where, severity, _),) = found(plan(after='["drain-pipe"]'))
    assert (where, severity) == ("pipe.d", "caution")


def test_what_is_left_out_is_told_as_not_said_and_an_empty_list_is_said() -> None:
    silent = plan()
    missing = [n for n in not_said(zones_of(silent, ways(silent))) if n.check == "touched"]
    assert {n.key: n.where for n in missing} == {
        "roof.NAME.touches": ("r",),
        "tank.NAME.touches": ("clean", "raw"),
        "pipe.NAME.touches": ("c", "d"),
    }
    said = plan(roof="[]", raw="[]", clean="[]", before="[]", after="[]")
    missing = [n for n in not_said(zones_of(said, ways(said))) if n.check == "touched"]
    assert [n.where for n in missing] == [("c",)]
    rows = {r.about: r.state for r in board(said, [], missing)}
    assert rows["materials that give something off"] == "not said"


def test_a_material_that_no_table_has_is_refused() -> None:
    with pytest.raises(RangeError, match="DOM-004"):
        touched("kryptonite")

"""The whole fall from gutter to tap, against what the steps on the way need added up."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from network.test_levels import MENDED
from roofspring.network.levels import LevelsAnswer, assess_levels
from roofspring.plan.model import Plan
from roofspring.plan.new import NewPlanAnswers, new_plan
from roofspring.plan.read import read_text

STEPS = (  # of the starter plan, as a person would walk it down
    "house.outlet", "leaves.inlet", "leaves.outlet", "flush.inlet", "flush.outlet", "raw.inlet",
    "raw.overflow", "raw.outlet", "sand.inlet", "sand.overflow", "feed.valve.shuts-at", "sand.weir",
    "clean.inlet", "clean.overflow", "clean.outlet", "kitchen.height",
)  # fmt: skip


def starter(tap_height: str = "0.50 m") -> LevelsAnswer:
    text = new_plan(NewPlanAnswers(name="place"))
    assert text.count('height = "0.50 m"') == 1
    text = text.replace('height = "0.50 m"', f'height = "{tap_height}"')
    return assess_levels(read_text(text, path=Path("plan.toml")).plan)


def test_the_needs_of_the_steps_are_added_up() -> None:
    answer = starter()
    (row,) = answer.falls
    assert (row.upper, row.lower) == (STEPS[0], STEPS[-1])
    assert row.fall_m == pytest.approx(4.85 - 0.50)
    needs_m = 0.0
    for upper, lower in pairwise(STEPS):
        here = [c.need_m for c in answer.checks if c.where == f"{upper} over {lower}"]
        assert here, (upper, lower)
        needs_m += max(here)
    assert row.needs_m == pytest.approx(needs_m)
    assert row.to_dict()["spare_m"] == pytest.approx(4.35 - needs_m)


def test_where_every_step_holds_the_whole_does() -> None:
    plan = Plan.model_validate(tomllib.loads(MENDED))
    answer = assess_levels(plan)
    assert all(check.ok for check in answer.checks)
    assert len(answer.falls) == len(plan.roofs) * len(plan.taps)
    assert all(row.spare_m > 0.0 for row in answer.falls)
    assert [row.spare_m for row in answer.falls] == sorted(row.spare_m for row in answer.falls)


def test_a_tap_too_high_for_the_whole_fall_leaves_less_than_nothing() -> None:
    answer = starter("4.00 m")
    (row,) = answer.falls
    assert row.spare_m < 0.0
    assert any(check.ok is False for check in answer.checks)


def test_a_height_that_is_missing_tells_nothing() -> None:
    text = new_plan(NewPlanAnswers(name="place")).replace('weir = "2.35 m"', "")
    answer = assess_levels(read_text(text, path=Path("plan.toml")).plan)
    assert answer.falls == ()

"""Levels of random plans, wild ones too: an answer or problems, and drawings without overlaps."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

from hypothesis import HealthCheck, event, given, settings

from network.build import plan_of
from properties.graphs import plans
from properties.test_wild_graphs import wild_plans
from roofspring.errors import PlanError, codes
from roofspring.files import to_json
from roofspring.network.levels import STATES, assess_levels, highest_sand, steady
from roofspring.plan.model import Filter
from roofspring.plan.read import read_text
from roofspring.report.grade_line import draw_levels


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=wild_plans())
def test_any_plan_that_is_read_is_answered(text: str) -> None:
    try:
        plan = read_text(text, path=Path("plan.toml")).plan
    except PlanError as error:
        event("problems")
        assert all(p.code in codes() and p.next for p in error.problems)
        return
    answer = assess_levels(plan)
    json.loads(to_json(answer.to_dict()))
    assert all(f.code in codes() and f.next for f in answer.findings)
    for check in answer.checks:
        if check.ok is not None:
            assert check.have_m is not None and check.margin_m is not None
            assert check.ok == (check.margin_m >= -1e-9)
        assert check.mends in (None, True, False)
    event(f"{len(answer.checks)} checks")


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=plans())
def test_levels_lie_where_they_can(text: str) -> None:
    """No filter stands under its weir or over its rim, none runs over its throttle."""
    plan = plan_of(text)
    for state in STATES:
        found = steady(plan, state, rain_m_per_s=2e-5)
        for part_id, level_m in found.levels_m.items():
            part = plan.part(part_id)
            if isinstance(part, Filter) and part.outlet_m is not None:
                assert level_m >= part.outlet_m - 1e-9
                if part.rim_m is not None:
                    assert level_m <= max(part.rim_m, part.overflow_m or 0.0) + 1e-9
                if part.throttle_m_per_s is not None:
                    assert found.rates_m_per_s[part_id] <= part.throttle_m_per_s * (1.0 + 1e-12)
        assert not any(flow < 0.0 for flow in found.over_m3_per_s.values())


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=plans())
def test_any_plan_can_be_drawn_in_its_states(text: str) -> None:
    plan = plan_of(text)
    answer = assess_levels(plan)
    water = answer.water()
    assert water is not None
    boxes = draw_levels(plan, water, answer.checks).boxes
    assert [(a.what, b.what) for a, b in itertools.combinations(boxes, 2) if a.hits(b)] == []


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=plans())
def test_the_sand_is_found_a_place_or_none(text: str) -> None:
    for row in highest_sand(plan_of(text), rain_m_per_s=2e-5):
        assert row.highest_m is not None or row.fails

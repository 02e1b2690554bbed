"""One storm through the demo: where each litre went must add up, whatever the pattern."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.plan.model import Plan
from roofspring.plan.pieces import Gutter
from roofspring.rain.cloudburst import HYETOGRAPHS
from roofspring.reliability.storm import assess_storm
from roofspring.workflows.demo import demo_plan_text

PLAN = Plan.model_validate(tomllib.loads(demo_plan_text()))
ROOFS_M2 = 108.0 + 46.0


@pytest.mark.parametrize("pattern", HYETOGRAPHS)
def test_all_that_fell_is_accounted_for(pattern: str) -> None:
    answer = assess_storm(PLAN, depth_m=0.040, duration_s=7200.0, pattern=pattern)
    assert answer.fell_m3 == pytest.approx(0.040 * ROOFS_M2)
    lost = sum(w.m3 for w in answer.lost)
    assert answer.caught_m3 + lost == pytest.approx(answer.fell_m3, abs=1e-3)
    assert answer.residual_m3 < 1e-9


def test_a_full_system_spills_more_and_an_empty_one_less() -> None:
    def spilled(full: float) -> float:
        storm = assess_storm(PLAN, depth_m=0.030, duration_s=3600.0, full_frac=full)
        return sum(w.m3 for w in storm.spilled)

    assert spilled(0.0) < spilled(0.5) < spilled(1.0)


@settings(max_examples=20, deadline=None)
@given(small=st.floats(0.005, 0.05), more=st.floats(1.1, 3.0))
def test_more_rain_is_never_less_caught_or_less_spilled(small: float, more: float) -> None:
    one = assess_storm(PLAN, depth_m=small, duration_s=3600.0)
    two = assess_storm(PLAN, depth_m=small * more, duration_s=3600.0)
    assert two.caught_m3 > one.caught_m3
    assert sum(w.m3 for w in two.spilled) >= sum(w.m3 for w in one.spilled) - 1e-9


def test_levels_stay_at_the_lips() -> None:
    answer = assess_storm(PLAN, depth_m=0.080, duration_s=3600.0, full_frac=1.0)
    # Over the lip by what the overflow needs to carry the flow, and never over the brim.
    assert 7.75 < answer.peak_level_m["raw"] <= 7.90 + 1e-9
    assert 3.80 < answer.peak_level_m["cistern"] <= 4.00 + 1e-9
    assert answer.peak_level_m["sand-a"] <= 6.13


def test_a_clean_tank_that_fills_the_cistern_has_spilled_nothing() -> None:
    answer = assess_storm(PLAN, depth_m=0.020, duration_s=3600.0, full_frac=0.2)
    assert "clean tank" not in [w.where for w in answer.spilled]


def with_gutter(text: str) -> Plan:
    """The demo with the same gutter on every roof."""
    gutter = Gutter.model_validate(tomllib.loads(text))
    roofs = {k: roof.model_copy(update={"gutter": gutter}) for k, roof in PLAN.roofs.items()}
    return PLAN.model_copy(update={"roofs": roofs})


def test_a_gutter_spills_by_its_capacity_and_says_so() -> None:
    # Spread evenly, 36 mm in half an hour would be 2.16 L/s on the larger roof of 108 m2.
    plan = with_gutter('capacity = "1 L/s"')
    answer = assess_storm(plan, depth_m=0.036, duration_s=1800.0)
    over = [w for w in answer.spilled if w.where.startswith("gutter of")]
    lost = sum(w.m3 for w in answer.lost) + sum(w.m3 for w in over)
    assert over
    assert "it carries 3,600 L/h" in over[0].why
    assert answer.caught_m3 + lost == pytest.approx(answer.fell_m3, abs=1e-3)
    codes = [f.code for f in answer.findings]
    assert "ROF-101" in codes
    assert "STO-101" not in codes
    assert "ran over the gutters" in answer.sentence


def test_a_wide_gutter_catches_what_no_gutter_does() -> None:
    wide = assess_storm(with_gutter('width = "400 mm"'), depth_m=0.040, duration_s=3600.0)
    none = assess_storm(PLAN, depth_m=0.040, duration_s=3600.0)
    assert wide.caught_m3 == none.caught_m3
    assert wide.spilled == none.spilled
    assert "ROF-101" not in [f.code for f in wide.findings]
    assert "STO-101" in [f.code for f in none.findings]

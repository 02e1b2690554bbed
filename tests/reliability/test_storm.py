"""One storm through the demo: where each litre went must add up, whatever the pattern."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.plan.model import Plan
from roofspring.plan.pieces import Gutter
from roofspring.rain.cloudburst import HYETOGRAPHS
from roofspring.reliability.storm import StormAnswer, assess_storm, design_weather
from roofspring.workflows.demo import demo_plan_text

PLAN = Plan.model_validate(tomllib.loads(demo_plan_text()))
ROOFS_M2 = 108.0 + 46.0


def storm(
    plan: Plan,
    depth_m: float,
    *,
    duration_s: float = 3600.0,
    pattern: str = "alternating-block",
    full: float | None = None,
    step_s: float = 300.0,
    changes: bool = False,
) -> StormAnswer:
    """A plan through a storm made to order."""
    weather = design_weather(depth_m=depth_m, duration_s=duration_s, pattern=pattern, step_s=step_s)
    return assess_storm(plan, weather, full_frac=full, changes=changes)


@pytest.mark.parametrize("pattern", HYETOGRAPHS)
def test_all_that_fell_is_accounted_for(pattern: str) -> None:
    answer = storm(PLAN, 0.040, duration_s=7200.0, pattern=pattern)
    assert answer.fell_m3 == pytest.approx(0.040 * ROOFS_M2)
    lost = sum(w.m3 for w in answer.lost)
    assert answer.caught_m3 + lost == pytest.approx(answer.fell_m3, abs=1e-3)
    assert answer.residual_m3 < 1e-9


def test_a_full_system_spills_more_and_an_empty_one_less() -> None:
    def spilled(full: float) -> float:
        return sum(w.m3 for w in storm(PLAN, 0.030, full=full).spilled)

    assert spilled(0.0) < spilled(0.5) < spilled(1.0)


@settings(max_examples=20, deadline=None)
@given(small=st.floats(0.005, 0.05), more=st.floats(1.1, 3.0))
def test_more_rain_is_never_less_caught_or_less_spilled(small: float, more: float) -> None:
    one = storm(PLAN, small)
    two = storm(PLAN, small * more)
    assert two.caught_m3 > one.caught_m3
    assert sum(w.m3 for w in two.spilled) >= sum(w.m3 for w in one.spilled) - 1e-9


def test_levels_stay_at_the_lips() -> None:
    answer = storm(PLAN, 0.080, full=1.0)
    # Over the lip by what the overflow needs to carry the flow, and never over the brim.
    assert 7.75 < answer.peak_level_m["raw"] <= 7.90 + 1e-9
    assert 3.80 < answer.peak_level_m["cistern"] <= 4.00 + 1e-9
    assert answer.peak_level_m["sand-a"] <= 6.13


def test_a_clean_tank_that_fills_the_cistern_has_spilled_nothing() -> None:
    answer = storm(PLAN, 0.020, full=0.2)
    assert "clean tank" not in [w.where for w in answer.spilled]


def with_gutter(text: str) -> Plan:
    """The demo with the same gutter on every roof."""
    gutter = Gutter.model_validate(tomllib.loads(text))
    roofs = {k: roof.model_copy(update={"gutter": gutter}) for k, roof in PLAN.roofs.items()}
    return PLAN.model_copy(update={"roofs": roofs})


def test_a_gutter_spills_by_its_capacity_and_says_so() -> None:
    # Spread evenly, 36 mm in half an hour would be 2.16 L/s on the larger roof of 108 m2.
    plan = with_gutter('capacity = "1 L/s"')
    answer = storm(plan, 0.036, duration_s=1800.0)
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
    wide = storm(with_gutter('width = "400 mm"'), 0.040)
    none = storm(PLAN, 0.040)
    assert wide.caught_m3 == none.caught_m3
    assert wide.spilled == none.spilled
    assert "ROF-101" not in [f.code for f in wide.findings]
    assert "STO-101" in [f.code for f in none.findings]

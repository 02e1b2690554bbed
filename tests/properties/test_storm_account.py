"""The account of a storm over random graphs: it adds up, whatever is joined to what."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import plan_of
from properties.graphs import plans
from roofspring.network.assemble import assemble
from roofspring.reliability.storm import assess_storm, design_weather
from roofspring.reliability.storm.begin import filled
from roofspring.reliability.storm.run import run_storm
from roofspring.reliability.storm.trial import bypassed_m3, lost_m3


@settings(max_examples=60, deadline=None)
@given(text=plans(), depth_m=st.floats(0.001, 0.2), full=st.floats(0.0, 1.0))
def test_the_account_adds_up_and_no_litre_is_counted_twice(
    text: str, depth_m: float, full: float
) -> None:
    plan = plan_of(text)
    assembled = assemble(plan)
    weather = design_weather(depth_m=depth_m, duration_s=1800.0)
    run = run_storm(plan, assembled, weather, filled(assembled, full))
    fell_m3 = depth_m * sum(roof.area_m2 for roof in plan.roofs.values())
    assert sum(row.m3 for row in run.rows) == pytest.approx(fell_m3, rel=1e-9, abs=1e-9)
    assert lost_m3(run) <= fell_m3 * (1.0 + 1e-9) + 1e-9
    assert bypassed_m3(run) >= 0.0
    answer = assess_storm(plan, weather, full_frac=full, changes=False)
    assert answer.account == run.rows
    assert sum(answer.series.rain_m) == pytest.approx(depth_m)

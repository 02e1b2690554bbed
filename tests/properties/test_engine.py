"""What must hold of every run, whatever the plan."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.build import (
    DATA,
    DEMO,
    end_m3,
    pipe,
    plan_of,
    record_of,
    tank,
    use,
)
from properties.graphs import plans
from roofspring.network.assemble import assemble
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.read import read_plan
from roofspring.rain import RainRecord, read

# Dry spells, small rains and storms, a year's end among them.
RAIN_MM = [0, 0, 12, 0.2, 0, 60, 3, 0, 0, 0, 0, 1.5, 150, 0, 0, 0, 0, 0, 0, 8, 8, 8, 0, 0, 0]


def weather() -> RainRecord:
    return record_of(RAIN_MM, start="2002-12-20")


def daily_books(result: RunResult) -> None:
    """Every store, every day: what it holds is what it held, with what came, less what went."""
    before = np.vstack([result.start_m3, result.end_m3[:-1]])
    for i, store in enumerate(result.store_ids):
        came = result.flow_m3[:, [a.to_part == store for a in result.arcs]].sum(axis=1)
        went = result.flow_m3[:, [a.from_part == store for a in result.arcs]].sum(axis=1)
        error = before[:, i] + came - went - result.end_m3[:, i]
        assert np.abs(error).max() <= 1e-9 * max(1.0, float(came.max()) + float(before[:, i].max()))


def sound(result: RunResult) -> None:
    fell = result.total_m3(kind="rain") + float(result.start_m3.sum())
    small_m3 = 1e-12 * max(1.0, fell)
    assert result.residual_m3 <= 1e-9 * max(1.0, fell)
    assert np.isfinite(result.flow_m3).all()
    assert (result.flow_m3 >= -small_m3).all()
    assert (result.low_m3 >= -small_m3).all()
    assert (result.end_m3 >= result.low_m3 - small_m3).all()
    assert (result.end_m3 <= result.capacity_m3 + small_m3).all()
    assert (result.delivered_m3 >= -small_m3).all()
    assert (result.delivered_m3 <= result.wanted_m3 + small_m3).all()
    drawn = result.total_m3(kind="draw")
    assert drawn == pytest.approx(float(result.delivered_m3.sum()), abs=1e-9 * max(1.0, drawn))
    daily_books(result)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=plans())
def test_any_plan_runs_soundly(text: str) -> None:
    plan = plan_of(text)
    result = simulate(plan, weather())  # raises where the books do not close
    sound(result)
    for i, name in enumerate(result.filter_ids):
        throttle = plan.filters[name].throttle_m_per_s
        if throttle is not None:
            assert (result.filter_rate_m_per_s[:, i] <= throttle * (1 + 1e-12)).all()


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=plans())
def test_no_store_stands_above_the_level_its_float_valves_hold(text: str) -> None:
    plan = plan_of(text)
    compiled = assemble(plan)
    result = simulate(plan, weather(), assembled=compiled)
    for name in (*plan.tanks, *plan.filters):
        row = compiled.topology.nodes.index(name)
        into = [j for j, a in enumerate(compiled.topology.arcs) if a.to_part == name]
        if not into or not all(compiled.net.arc_float[j] for j in into):
            continue  # other water comes in too
        i = result.store_ids.index(name)
        high_m3 = max(float(compiled.net.shut_m3[row]), float(result.start_m3[i]))
        assert result.end_m3[:, i].max() <= high_m3 + 1e-9 * max(1.0, result.capacity_m3[i])

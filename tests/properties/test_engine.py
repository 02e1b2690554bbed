"""What must hold of every run, whatever the plan."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.build import (
    DATA,
    DEMO,
    pipe,
    plan_of,
    record_of,
    tank,
    use,
)
from properties.graphs import plans
from roofspring.kernels import net
from roofspring.kernels.net import UNLIMITED_M3_PER_S
from roofspring.network import laws
from roofspring.network.assemble import assemble
from roofspring.network.laws import gutter_limit_m3_per_s
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.geometry import brim_volume_m3
from roofspring.plan.model import Plan
from roofspring.plan.pieces import Gutter
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


def most_m3(plan: Plan, result: RunResult) -> npt.NDArray[np.float64]:
    """What each store can hold: up to its lip, or to its brim where its overflow has a size."""
    return np.array(
        [
            max(full, brim_volume_m3(plan.tanks[store])) if store in plan.tanks else full
            for store, full in zip(result.store_ids, result.capacity_m3, strict=True)
        ]
    )


def sound(plan: Plan, result: RunResult) -> None:
    fell = result.total_m3(kind="rain") + float(result.start_m3.sum())
    small_m3 = 1e-12 * max(1.0, fell)
    assert result.residual_m3 <= 1e-9 * max(1.0, fell)
    assert np.isfinite(result.flow_m3).all()
    assert (result.flow_m3 >= -small_m3).all()
    assert (result.low_m3 >= -small_m3).all()
    assert (result.end_m3 >= result.low_m3 - small_m3).all()
    assert (result.end_m3 <= most_m3(plan, result) + small_m3).all()
    assert (result.delivered_m3 >= -small_m3).all()
    assert (result.delivered_m3 <= result.wanted_m3 + small_m3).all()
    for shares in (result.raw_frac, result.ripeness_frac):
        assert (shares >= -1e-12).all() and (shares <= 1.0 + 1e-9).all()
    assert (result.raw_delivered_m3 >= -small_m3).all()
    assert (result.raw_delivered_m3 <= result.delivered_m3 + small_m3).all()
    assert (result.age_days >= -1e-9).all() and (result.skin_s >= 0.0).all()
    drawn = result.total_m3(kind="draw")
    assert drawn == pytest.approx(float(result.delivered_m3.sum()), abs=1e-9 * max(1.0, drawn))
    daily_books(result)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=plans())
def test_any_plan_runs_soundly(text: str) -> None:
    plan = plan_of(text)
    result = simulate(plan, weather())  # raises where the books do not close
    sound(plan, result)
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


# ---- more of one thing ---------------------------------------------------------------------------


def chain(
    *,
    roof_m2: float,
    raw_m3: float,
    cistern_m3: float,
    want_l: float,
    sand: bool,
    flush_l: float = 50.0,
    start: float = 0.3,
) -> str:
    """One line: roof, first flush, raw tank, perhaps a filter behind a float valve, cistern."""
    text = (
        f'[roof.r]\narea = "{roof_m2!r} m2"\nmaterial = "slate"\n'
        f'[first-flush.f]\nvolume = "{flush_l!r} L"\n'
        + tank("raw", volume_m3=raw_m3, start=start, more='base = "5 m"\n')
        + tank("cistern", volume_m3=cistern_m3, start=start, more='base = "0 m"\n')
        + pipe("a", "r", "f")
        + pipe("b", "f", "raw")
        + use("u", "cistern", f"{want_l!r} L/day")
    )
    if not sand:
        return text + pipe("c", "raw", "cistern", 'size = "21 mm"\n')
    return (
        text
        + '[filter.sand]\narea = "0.5 m2"\nthrottle = "0.1 m/h"\n'
        + pipe("c", "raw", "sand", 'size = "21 mm"\nvalve = { kind = "float" }\n')
        + pipe("d", "sand", "cistern")
    )


chains = st.fixed_dictionaries(
    {
        "roof_m2": st.floats(5.0, 150.0),
        "raw_m3": st.floats(0.2, 5.0),
        "cistern_m3": st.floats(0.2, 10.0),
        "want_l": st.floats(10.0, 600.0),
        "sand": st.booleans(),
    }
)


@settings(max_examples=80, deadline=None)
@given(parts=chains, more=st.floats(1.001, 3.0))
def test_more_roof_never_delivers_less(parts: dict[str, float], more: float) -> None:
    # True of a single line without rationing, with a first flush of a stated volume. It need not be
    # true with rationing (a fuller store is drawn down sooner), nor of a net in which an overflow
    # fills one store and a float valve another.
    one = simulate(plan_of(chain(**parts)), weather())  # type: ignore[arg-type]  # of mixed kinds
    two = simulate(plan_of(chain(**{**parts, "roof_m2": parts["roof_m2"] * more})), weather())  # type: ignore[arg-type]  # as above
    gained = np.cumsum(two.delivered_m3) - np.cumsum(one.delivered_m3)
    assert (gained >= -1e-9).all()


@settings(max_examples=80, deadline=None)
@given(parts=chains, more=st.floats(1.001, 3.0))
def test_a_bigger_cistern_never_spills_more_and_never_delivers_less(
    parts: dict[str, float], more: float
) -> None:
    # It begins as full in proportion, so it begins with more water and with more room.
    one = simulate(plan_of(chain(**parts)), weather())  # type: ignore[arg-type]  # as above
    two = simulate(plan_of(chain(**{**parts, "cistern_m3": parts["cistern_m3"] * more})), weather())  # type: ignore[arg-type]  # as above
    spilled = [r.total_m3(kind="overflow", from_part="cistern") for r in (one, two)]
    assert spilled[1] <= spilled[0] + 1e-9
    assert (np.cumsum(two.delivered_m3) >= np.cumsum(one.delivered_m3) - 1e-9).all()


@settings(max_examples=40, deadline=None)
@given(
    width_mm=st.floats(40.0, 150.0),
    more=st.floats(1.001, 3.0),
    what=st.sampled_from(["width", "outlets", "capacity"]),
)
def test_a_larger_gutter_never_spills_more(width_mm: float, more: float, what: str) -> None:
    one = two = f'width = "{width_mm!r} mm", length = "12 m", downpipe = "50 mm"'
    if what == "width":
        two = one.replace(f"{width_mm!r}", f"{width_mm * more!r}")
    elif what == "outlets":
        two += ", outlets = 2"
    else:
        one, two = (f'capacity = "{q!r} L/s"' for q in (width_mm / 200.0, width_mm * more / 200.0))
    spilled = []
    for gutter in (one, two):
        roof = f'[roof.r]\narea = "150 m2"\nmaterial = "slate"\ngutter = {{ {gutter} }}\n'
        plan = plan_of(
            roof, tank("t", volume_m3=9.0), pipe("p", "r", "t"), use("u", "t", "1 L/day")
        )
        spilled.append(simulate(plan, weather()).total_m3(kind="gutter"))
    assert spilled[0] > 0.0  # 150 mm in a day is more than any of these carries at its worst
    assert spilled[1] <= spilled[0]


def grown(plan: Plan, k: float) -> Plan:
    """Every area, volume and want times k; heights, rates and resistances stay."""

    def each(group: Mapping[str, Any], *names: str) -> dict[str, Any]:
        return {
            key: block.model_copy(
                update={n: k * getattr(block, n) for n in names if getattr(block, n) is not None}
            )
            for key, block in group.items()
        }

    tanks = each(plan.tanks, "volume_m3", "length_m", "leak_m3_per_s")
    for key, part in tanks.items():
        if part.table is not None:
            table = tuple((depth, k * volume) for depth, volume in part.table)
            tanks[key] = part.model_copy(update={"table": table})
    roofs = each(plan.roofs, "area_m2")
    for key, roof in roofs.items():
        if roof.gutter is not None:
            flow = k * gutter_limit_m3_per_s(roof.gutter)
            gutter = Gutter.model_validate({"capacity": f"{flow!r} m3/s"})
            roofs[key] = roof.model_copy(update={"gutter": gutter})
    pipes = {p: pipe_.model_copy(update={"size_m": None}) for p, pipe_ in plan.pipes.items()}
    return plan.model_copy(
        update={
            "roofs": roofs,
            "first_flushes": each(plan.first_flushes, "volume_m3"),
            "filters": each(plan.filters, "area_m2"),
            "uses": each(plan.uses, "per_day_m3_per_day"),
            "tanks": tanks,
            "pipes": pipes,
        }
    )


def ran_grown(plan: Plan, k: float) -> RunResult:
    """The run of a plan ``k`` times as large. What stands for a pipe without limit grows too."""
    unlimited = k * UNLIMITED_M3_PER_S
    with (
        patch.object(laws, "UNLIMITED_M3_PER_S", unlimited),
        patch.object(net, "UNLIMITED_M3_PER_S", unlimited),
    ):
        return simulate(grown(plan, k), weather())


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=plans())
def test_everything_four_times_as_large_moves_four_times_the_water(text: str) -> None:
    # Four is a power of two: what should scale does so to the last bits, and no threshold tips.
    plan = plan_of(text)
    one, four = ran_grown(plan, 1.0), ran_grown(plan, 4.0)
    slack_m3 = 1e-9 * max(1.0, float(one.flow_m3.max()))
    np.testing.assert_allclose(four.flow_m3, 4.0 * one.flow_m3, rtol=0, atol=slack_m3)
    np.testing.assert_allclose(four.end_m3, 4.0 * one.end_m3, rtol=0, atol=slack_m3)
    np.testing.assert_allclose(
        four.filter_rate_m_per_s, one.filter_rate_m_per_s, rtol=1e-9, atol=1e-9
    )


STEP_FRAC = 5e-4
"""Of what fell, for any volume: half of what design asks. Most is what goes to the sand or over."""


@pytest.mark.parametrize("pattern", ["even", "type2"])
def test_the_step_of_the_forcing_hardly_matters(pattern: str) -> None:
    record = read(DATA / "seattle_daily_2012_2015.csv")
    plan = read_plan(DEMO).plan
    totals = []
    for cut in (1.0, 2.0, 4.0, 8.0):
        run = plan.run.model_copy(update={"wet_step_s": 3600.0 / cut, "dry_step_s": 21600.0 / cut})
        rain = plan.rain.model_copy(update={"within_day": pattern})
        result = simulate(plan.model_copy(update={"run": run, "rain": rain}), record)
        totals.append(
            [
                float(result.delivered_m3.sum()),
                result.total_m3(kind="sand"),
                result.total_m3(kind="overflow", from_part="raw"),
                result.total_m3(kind="overflow", from_part="cistern"),
            ]
        )
    # The engine cuts its own steps, so what is left is when the draws of a step are taken: all
    # through it. Against steps of 7.5 min on wet days and 45 min on dry ones; shares of what fell.
    values = np.array(totals)
    off = np.abs(values[:-1] - values[-1]) / result.total_m3(kind="rain")
    assert (off <= STEP_FRAC).all(), off

"""The engine's own steps: answers converge, do not depend on the report, and go on after a stop."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from network.build import DATA, DEMO
from network.test_against_ode import demo, reference
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.plan.read import read_plan
from roofspring.rain import RainRecord, read
from train.storms import AREAS_M2, engine, made, real, worst

KEPT_DAYS = (1, 37, 200)


@cache
def still(tolerance_m: float) -> tuple[Plan, Assembled]:
    """The demo whose filters do not age, at a tolerance."""
    plan, _ = demo()
    plan = plan.model_copy(update={"run": plan.run.model_copy(update={"tolerance_m": tolerance_m})})
    return plan, assemble(plan)


@pytest.mark.parametrize("which", [(25.0, 20), "2013-06-07", "2013-05-08"])
def test_a_smaller_tolerance_comes_nearer_to_the_truth(which: str | tuple[float, int]) -> None:
    storm = real(which) if isinstance(which, str) else made(*which)
    errors_m = []
    for tolerance_m in (32e-3, 8e-3, 2e-3, 0.5e-3, 0.125e-3):
        window = engine(*still(tolerance_m), storm, "half", step_s=300.0)
        errors_m.append(worst(window, reference(which, "half"))[1])
    errors = np.array(errors_m)
    assert (errors[1:] <= 1.1 * errors[:-1] + 1e-4).all(), errors
    # What is left stands where a tank has run dry and two boxes share what comes: 0.56 mm on the
    # second storm at any tolerance, less with a shorter report. The others come to 0.05 mm, which
    # is the other formula's viscosity.
    assert errors[-1] <= 0.6e-3


@pytest.mark.parametrize("which", [(25.0, 20), "2013-06-07", "2013-11-27"])
def test_the_answer_does_not_depend_on_the_reporting_step(which: str | tuple[float, int]) -> None:
    storm = real(which) if isinstance(which, str) else made(*which)
    coarse = engine(*demo(), storm, "half", step_s=storm.step_s)
    for cut in (2, 5, 30):
        fine = engine(*demo(), storm, "half", step_s=storm.step_s / cut)
        for store, area in AREAS_M2.items():
            row = coarse.nodes.index(store)
            off_m = np.abs(fine.content_m3[::cut, row] - coarse.content_m3[:, row]).max() / area
            assert off_m <= 1e-3, (store, cut)
        fell_m3 = coarse.flow_m3[:, [a.kind == "rain" for a in coarse.arcs]].sum()
        off_m3 = np.abs(fine.flow_m3.sum(axis=0) - coarse.flow_m3.sum(axis=0)).max()
        assert off_m3 <= 1e-3 * fell_m3


def split(record: RainRecord, at: int) -> tuple[RainRecord, RainRecord]:
    """A daily record before and from a day on."""

    def part(piece: slice, start: np.datetime64) -> RainRecord:
        return replace(
            record,
            start=start,
            depth_m=record.depth_m[piece],
            kept=record.kept[piece],
            tmin_degc=None if record.tmin_degc is None else record.tmin_degc[piece],
            tmax_degc=None if record.tmax_degc is None else record.tmax_degc[piece],
        )

    day = np.timedelta64(at, "D")
    return part(slice(0, at), record.start), part(slice(at, None), record.start + day)


@pytest.mark.parametrize("at", KEPT_DAYS)
def test_a_run_that_was_stopped_goes_on_to_the_same_bits(at: int) -> None:
    # The water's temperature is a mean over days before, so it is given here.
    plan = read_plan(DEMO).plan
    run = plan.run.model_copy(update={"water_temperature_degc": 8.0})
    plan = plan.model_copy(update={"run": run})
    whole_record = read(DATA / "seattle_daily_2012_2015.csv")
    whole_record = split(whole_record, 300)[0]
    before, after = split(whole_record, at)
    whole = simulate(plan, whole_record)
    first = simulate(plan, before)
    kept = type(first.final)(*(array.copy() for array in first.final))
    second = simulate(plan, after, state=first.final)
    for was, now in zip(kept, first.final, strict=True):
        assert np.array_equal(was, now)  # a state is not changed by going on from it
    for name in ("end_m3", "low_m3", "flow_m3", "delivered_m3", "rationed", "filter_rate_m_per_s"):
        both = np.concatenate([getattr(first, name), getattr(second, name)])
        assert np.array_equal(both, getattr(whole, name)), name
    for mine, theirs in zip(second.final, whole.final, strict=True):
        assert np.array_equal(mine, theirs)
    assert first.steps_count + second.steps_count == whole.steps_count

"""Why a filter is seldom ripe: the days again by closed forms, and the cure put to the test."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.network.edits import revised, with_part
from roofspring.network.forcing import water_degc
from roofspring.network.life import clean_below_m_per_s
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.plan.read import read_plan
from roofspring.rain import RainRecord
from roofspring.reliability.filter_record import FilterRecord, filter_record
from roofspring.reliability.ripe_findings import ripe_findings
from roofspring.reliability.ripe_trials import Trial, last_years, try_to_ripen
from roofspring.reliability.unripe import (
    ripeness_again,
    running_fracs,
    spells,
    tanks_before,
    why_unripe,
)
from roofspring.workflows.demo import demo_record, write_demo

BEDS = ("sand-a", "sand-b")
Made = tuple[Plan, RainRecord, RunResult]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder: Path = tmp_path_factory.mktemp("ripe")
    write_demo(folder)
    plan, record = read_plan(folder).plan, last_years(demo_record(), 4)
    return plan, record, simulate(plan, record)


@pytest.fixture(scope="module")
def trials(made: Made) -> tuple[Trial, ...]:
    plan, record, _ = made
    return try_to_ripen(plan, record, BEDS)


def record_of(plan: Plan, record: RainRecord, run: RunResult, bed: str = "sand-a") -> FilterRecord:
    return filter_record(run, bed, plan=plan, water_degc=water_degc(plan, record))


@pytest.mark.parametrize("bed", BEDS)
def test_the_days_again_are_those_of_the_run(made: Made, bed: str) -> None:
    """The engine's own ripeness comes back from its flows and cleanings alone."""
    plan, record, run = made
    part = plan.filters[bed]
    running = running_fracs(run, bed, area_m2=part.area_m2)
    again = ripeness_again(
        run, bed, part=part, running_frac=running, water_degc=water_degc(plan, record)
    )
    np.testing.assert_allclose(again, run.ripeness_frac[:, run.filter_ids.index(bed)], rtol=1e-9)


def test_the_days_again_of_a_bed_that_runs_dry(made: Made) -> None:
    plan, record, _ = made
    part = revised(plan.filters["sand-a"], {"outlet_m": 5.55})  # under the sand's top, 5.60 m
    dry = with_part(plan, "sand-a", part)
    run = simulate(dry, record)
    running = running_fracs(run, "sand-a", area_m2=part.area_m2)
    again = ripeness_again(
        run, "sand-a", part=part, running_frac=running, water_degc=water_degc(dry, record)
    )
    np.testing.assert_allclose(
        again, run.ripeness_frac[:, run.filter_ids.index("sand-a")], rtol=1e-9, atol=1e-300
    )
    wet = simulate(plan, record)
    assert again.mean() < wet.ripeness_frac[:, wet.filter_ids.index("sand-a")].mean()


def test_never_stopped_nor_cleaned_is_the_closed_form(made: Made) -> None:
    """``1 - exp(-sum k20 1.066**(T - 20))``, k20 = ln 10 / 28 days: CAMPOS_2006 for the base."""
    plan, record, run = made
    water = water_degc(plan, record)
    part = plan.filters["sand-a"]
    new = with_part(
        plan, "sand-a", revised(part, {"skin": revised(part.skin, {"ripeness_frac": 0.0})})
    )
    at_best = ripeness_again(
        run,
        "sand-a",
        part=new.filters["sand-a"],
        running_frac=running_fracs(run, "sand-a", area_m2=part.area_m2),
        water_degc=water,
        stops=False,
        cleanings=False,
    )
    warmth = np.cumsum(math.log(10.0) / 28.0 * 1.066 ** (np.maximum(water, 0.0) - 20.0))
    np.testing.assert_allclose(at_best, 1.0 - np.exp(-warmth), rtol=1e-9, atol=1e-12)
    why = why_unripe(new, run, "sand-a", water_degc=water)
    assert why.at_best_frac == np.mean(warmth < math.log(10.0)) > 0.0


def test_the_tank_before_it_is_what_runs_dry(made: Made) -> None:
    """Counted from the books: days without flow, and the raw tank's content on them."""
    plan, record, run = made
    assert tanks_before(plan, "sand-a") == ("raw",)
    why = why_unripe(plan, run, "sand-a", water_degc=water_degc(plan, record))
    at = run.store_ids.index("raw")
    through = sum(
        run.flow_m3[:, i]
        for i, a in enumerate(run.arcs)
        if a.from_part == "sand-a" and a.kind in ("sand", "waste")
    )
    still = np.asarray(through) / 0.25 < 0.05 * 0.1
    left = run.end_m3[:, at] - run.dead_m3[at]
    assert why.empty_frac == np.mean(left[still] <= 0.01 * (run.capacity_m3[at] - run.dead_m3[at]))
    assert why.empty_frac is not None and why.empty_frac > 0.9
    long = [n for key, g in itertools.groupby(still.tolist()) if (n := len(list(g))) > 2 and key]
    assert why.stops_per_year == pytest.approx(len(long) / run.years)


@given(st.lists(st.booleans(), max_size=40))
def test_spells_are_the_true_days(days: list[bool]) -> None:
    found = spells(np.array(days, dtype=np.bool_))
    assert found == [len(list(g)) for key, g in itertools.groupby(days) if key]


def test_the_end_of_a_record() -> None:
    whole = demo_record()
    end = last_years(whole, 4)
    assert end.days_count == 1461 and end.days[-1] == whole.days[-1]
    np.testing.assert_array_equal(end.daily_depth_m, whole.daily_depth_m[-1461:])
    assert end.tmin_degc is not None and whole.tmin_degc is not None
    np.testing.assert_array_equal(end.tmin_degc, whole.tmin_degc[-1461:])
    assert last_years(end, 30).hash == end.hash


def test_as_it_is_is_a_run_from_ripe_sand(made: Made, trials: tuple[Trial, ...]) -> None:
    plan, record, _ = made
    for bed in BEDS:
        part = plan.filters[bed]
        skin = revised(part.skin, {"ripeness_frac": 1.0})
        plan = with_part(plan, bed, revised(part, {"skin": skin}))
    run = simulate(plan, record)
    now = trials[0]
    assert (now.tanks_count, now.throttle_m_per_s) == (1, None)
    assert now.unripe_frac == (run.ripeness_frac < 0.9).mean(axis=0).max()
    use = run.use_ids.index("drinking")
    served = run.delivered_m3[:, use].sum() / run.wanted_m3[:, use].sum()
    assert now.first_served_frac == pytest.approx(served)


def test_more_tank_and_a_slower_throttle_ripen_it_and_either_alone_does_not(
    trials: tuple[Trial, ...],
) -> None:
    now, tank_alone, throttle_alone, *both = trials
    assert not now.ripens and not tank_alone.ripens
    assert tank_alone.throttle_m_per_s is None and tank_alone.tanks_count == 8
    assert throttle_alone.tanks_count == 1 and throttle_alone.unripe_frac < now.unripe_frac
    good = [t for t in both if t.ripens]
    assert good
    filtered = [t.filtered_m3_per_year for t in good]
    assert filtered == sorted(filtered)  # more tank lets a faster throttle do


def test_the_plan_changed_as_the_finding_says_has_no_finding_left(
    made: Made, trials: tuple[Trial, ...]
) -> None:
    plan, record, run = made
    records = [record_of(plan, record, run, bed) for bed in BEDS]
    (finding,) = ripe_findings(records, trials, units="metric")
    assert (finding.code, finding.where) == ("BED-121", "sand-a, sand-b")
    best = max((t for t in trials if t.ripens), key=lambda t: t.filtered_m3_per_year)
    assert best.throttle_m_per_s is not None
    assert f"{best.tanks_count} times the tank" in finding.next
    assert f"{3600.0 * best.throttle_m_per_s:.3f} m/h" in finding.next
    raw = plan.tanks["raw"]
    mended = with_part(plan, "raw", revised(raw, {"tanks_count": best.tanks_count}))
    for bed in BEDS:
        part = revised(plan.filters[bed], {"throttle_m_per_s": best.throttle_m_per_s})
        mended = with_part(mended, bed, part)
    after = simulate(mended, record)
    left = [record_of(mended, record, after, bed) for bed in BEDS]
    assert ripe_findings(left, (), units="metric") == ()


def test_cleanings_close_together_are_told_as_such(made: Made) -> None:
    """Raked every ten days, under a tank that never runs dry."""
    plan, record, _ = made
    raw = revised(plan.tanks["raw"], {"tanks_count": 40})
    part = plan.filters["sand-a"]
    care = revised(part.care, {"every_s": 10 * 86400.0})
    slow = revised(part, {"throttle_m_per_s": 0.006 / 3600.0, "care": care})
    changed = with_part(with_part(plan, "raw", raw), "sand-a", slow)
    other = revised(plan.filters["sand-b"], {"throttle_m_per_s": 0.006 / 3600.0})
    changed = with_part(changed, "sand-b", other)
    found = record_of(changed, record, simulate(changed, record))
    assert found.why.never_cleaned_frac < 0.1 < found.unripe_frac - 0.1
    (finding,) = ripe_findings([found], (), units="us")
    assert "clean less often" in finding.next and "°F" in finding.got


def test_new_sand_alone_is_no_finding(made: Made) -> None:
    plan, record, run = made
    found = record_of(plan, record, run)
    new = replace(found, unripe_frac=0.3, why=replace(found.why, at_best_frac=0.25))
    assert ripe_findings([new], (), units="metric") == ()
    assert try_to_ripen(plan, record, ()) == ()


def test_a_slow_throttle_does_not_have_a_filter_cleaned(made: Made) -> None:
    """Half of the throttle's rate, where that is below a tenth of the limit of 0.4 m/h."""
    part = made[0].filters["sand-a"]
    for throttle, below in ((None, 0.04), (0.12, 0.04), (0.08, 0.04), (0.02, 0.01)):
        rate = None if throttle is None else throttle / 3600.0
        found = clean_below_m_per_s(revised(part, {"throttle_m_per_s": rate}))
        assert found == pytest.approx(below / 3600.0)

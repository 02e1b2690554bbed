"""A bed from all sides: the numbers that are published or hand-checked come through unchanged."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.hydraulics import orifice_flow_m3_per_s
from roofspring.sandfilter.bed_case import BedCase
from roofspring.sandfilter.bed_study import BedStudy, filter_facts, study_bed
from roofspring.sandfilter.bed_years import bed_years
from roofspring.sandfilter.skin import GROWTH_LAWS, Season
from roofspring.water import viscosity_ratio
from roofspring.workflows.sand_look import throttle_hole_m

HOUR, DAY = 3600.0, 86400.0
EXAMPLE = BedCase(
    area_m2=0.5,
    sand_m=0.8,
    least_sand_m=0.5,
    head_m=0.9,
    crest_over_sand_m=0.05,
    waste_s=48 * HOUR,
)
"""The worked example of slow sand: 0.8 m of d10 0.25 mm and uniformity 2, porosity 0.40, sphericity
0.80, at 0.1 m/h and 10 degrees C (our own arithmetic from the formulas that each check names)."""


def by_model(study: BedStudy, temp_degc: float) -> dict[str, float]:
    losses = next(losses for t, losses in study.losses if t == temp_degc)
    return {loss.model: loss.loss_m * 1e3 for loss in losses}


def test_head_losses_are_those_of_the_worked_example() -> None:
    """Computed apart from the stated formulas with the viscosity of IAPWS: 22.4 to 23.6 mm."""
    warm = by_model(study_bed(EXAMPLE), 20.0)
    for model, mm in (("kozeny-carman", 22.4), ("huisman-wood", 22.8), ("hazen", 23.6)):
        assert warm[model] == pytest.approx(mm, rel=0.01)
    assert warm["ergun"] == pytest.approx(18.7, rel=0.01)


def test_an_unthrottled_bed_runs_as_fast_as_darcy_says() -> None:
    """K 3.5688 m/h at 20 degrees C, L 0.8 m, H 0.5 m: 2.2305 m/h (DARCY_1856, by hand)."""
    study = study_bed(replace(EXAMPLE, head_m=0.5))
    assert study.throttling.free_m_per_s * HOUR == pytest.approx(2.2305, rel=2e-3)


@given(
    head=st.floats(0.2, 2.0),
    limit=st.floats(0.05, 0.4),
    area=st.floats(0.05, 5.0),
)
def test_the_throttle_hole_holds_the_clean_bed_at_the_limit(
    head: float, limit: float, area: float
) -> None:
    """Head over the hole and head in the bed are together all the head there is."""
    case = replace(EXAMPLE, head_m=head, limit_m_per_s=limit / HOUR, area_m2=area)
    study = study_bed(case)
    left = study.throttling.limit_head_m
    if left is None:
        assert study.throttling.free_m_per_s <= case.limit_m_per_s
        return
    hole = throttle_hole_m(study, case.limit_m_per_s, left)
    assert hole is not None
    flow = orifice_flow_m3_per_s(left, diameter_m=hole)
    assert flow == pytest.approx(area * limit / HOUR, rel=1e-9)
    bed = limit / HOUR * case.sand_m / study.conductivity_20_m_per_s
    assert left + bed == pytest.approx(head, rel=1e-9)


def test_a_cake_run_is_that_of_the_worked_example() -> None:
    """a 0.05 h/m at the water's temperature, H 0.9 m, 0.1 m/h: 72.57 days (RUTH_1935, by hand)."""
    thick = float(viscosity_ratio(10.0))
    law = replace(GROWTH_LAWS["surface-cake"], cake_s_per_m=0.05 * HOUR / thick)
    years = study_bed(replace(EXAMPLE, law=law)).years
    assert years.laws[0].usual.time_s / DAY == pytest.approx(72.57, rel=1e-3)
    slow, fast = (years.laws[0].by_rate[k].time_s / DAY for k in (1, 2))
    assert slow == pytest.approx(72.57, rel=1e-3)
    assert fast == pytest.approx(17.53, rel=1e-3)


def test_schedule_counts_scrapes_and_waste_as_by_hand() -> None:
    """0.80 to 0.50 m in scrapes of 15 mm are 20; 48 h at 0.1 m/h on 0.5 m2 are 2,400 L."""
    plan = study_bed(EXAMPLE).years.plan
    assert plan is not None
    assert plan.scrapes_left_count == 20
    assert plan.waste_m3_per_year / plan.cleanings_per_year == pytest.approx(2.4, rel=1e-12)


def test_falling_head_and_first_fill_are_those_of_the_worked_example() -> None:
    """0.30 to 0.05 m over 0.8 m of sand: 0.523 h; voids of 0.8 m at 0.1 m/h: 3.2 h."""
    study = study_bed(replace(EXAMPLE, head_m=0.3))
    assert study.fall_s / HOUR == pytest.approx(0.523, rel=2e-3)
    assert study.fill.voids_s / HOUR == pytest.approx(3.2, rel=1e-12)
    made = [(0.0, 0.30), (study.fall_s, 0.05)]
    test = study_bed(replace(EXAMPLE, head_m=0.3), readings=made, readings_degc=10.0).test
    assert test is not None and test.conductivity_20_m_per_s is not None
    assert test.conductivity_20_m_per_s == pytest.approx(study.conductivity_20_m_per_s, rel=1e-9)


def test_a_test_that_disagrees_with_the_grains_is_a_finding() -> None:
    study = study_bed(EXAMPLE, readings=[(0.0, 0.5), (60.0, 0.2)], readings_degc=10.0)
    assert "BED-102" in {f.code for f in study.findings}


def test_water_at_rest_brings_a_thousandth_of_the_oxygen_of_flow() -> None:
    """0.05 m of water at 20 degrees C: 27 to 33 mg a day by the diffusivity that is taken
    (FICK_1855; 2.1e-9 m2/s gives 33.0, HAN_BARTELS_1996 28); flow at 0.1 m/h 21,800 mg."""
    warm = study_bed(EXAMPLE).oxygen[-1]
    assert 27.0 <= warm.resting_kg_per_m2_day * 1e6 <= 33.0
    assert warm.flowing_kg_per_m2_day * 1e6 == pytest.approx(21_800, rel=2e-3)


def test_what_nobody_gave_is_not_judged() -> None:
    facts = filter_facts(replace(EXAMPLE, assumed=frozenset({"rate_m_per_s", "sand_m"})))
    assert facts.rate_m_per_s is None and facts.sand_m is None and facts.d10_m == 0.25e-3
    rows = study_bed(replace(EXAMPLE, assumed=frozenset({"sand_m"}))).accepted.rows
    assert {r.state for r in rows if r.criterion == "sand"} == {"not given"}


def test_pollen_shortens_the_runs_that_meet_it() -> None:
    case = replace(EXAMPLE, seasons=(Season(105, 150, 3.0),), temps_degc=(10.0,) * 12)
    by_month = study_bed(case).years.by_month
    plain = study_bed(EXAMPLE).years.laws[0].usual.time_s
    assert by_month[3].time_s < 0.7 * plain  # begins in April
    assert by_month[6].time_s == pytest.approx(plain, rel=0.02)  # begins in July


def test_a_bed_that_cannot_do_it_has_no_schedule() -> None:
    years = study_bed(replace(EXAMPLE, head_m=0.01)).years
    assert years.plan is None and years.years == () and years.mean_run_s == 0.0


@given(
    count=st.integers(1, 6),
    area=st.floats(0.1, 2.0),
    rate=st.floats(0.05, 0.2),
)
def test_two_filters_or_more_let_one_ripen(count: int, area: float, rate: float) -> None:
    case = replace(EXAMPLE, filters_count=count, area_m2=area, design_m_per_s=rate / HOUR)
    beds = bed_years(case, bed_resistance_s=800.0).parallel
    if beds is None:
        return
    flow = count * area * rate / HOUR
    assert beds.filters_count >= 2
    assert flow / (area * beds.filters_count) <= rate / HOUR * (1.0 + 1e-6)
    assert flow / (area * (beds.filters_count - 1)) <= 0.3 / HOUR * (1.0 + 1e-6)


@given(
    d10=st.floats(0.10e-3, 0.6e-3),
    uniformity=st.floats(1.0, 5.0),
    degc=st.floats(1.0, 30.0),
    head=st.floats(0.05, 2.0),
)
def test_any_bed_can_be_looked_at_and_written(
    d10: float, uniformity: float, degc: float, head: float
) -> None:
    study = study_bed(
        replace(EXAMPLE, d10_m=d10, uniformity=uniformity, temps_degc=(degc,) * 12, head_m=head)
    )
    text = json.dumps(study.to_dict(), allow_nan=False)
    assert json.loads(text)["years"]["runs"]
    finer = study_bed(replace(study.case, d10_m=0.9 * d10))
    for (_, ours), (_, theirs) in zip(study.losses, finer.losses, strict=True):
        for a, b in zip(ours, theirs, strict=True):
            assert b.loss_m > a.loss_m, a.model
    assert math.isfinite(study.fall_s)

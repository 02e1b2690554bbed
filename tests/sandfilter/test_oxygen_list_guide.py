"""Oxygen, the acceptance list, and the guide made from a filter's own numbers."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError, codes
from roofspring.sandfilter.acceptance import (
    CRITERIA,
    NEXT,
    FilterFacts,
    acceptance,
    unknown_facts,
)
from roofspring.sandfilter.guide import guide
from roofspring.sandfilter.oxygen import (
    oxygen_diffusivity_m2_per_s,
    oxygen_saturation_kg_per_m3,
    resting_flux_kg_per_m2_s,
    time_to_low_oxygen_s,
)
from roofspring.sandfilter.steps import Amount, GuideInputs
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE, bibliography

HOUSE = FilterFacts(
    rate_m_per_s=0.1 / 3600.0,
    rate_one_out_m_per_s=0.2 / 3600.0,
    d10_m=0.25e-3,
    uniformity=2.0,
    fines_frac=0.002,
    finer_150_frac=0.03,
    sand_m=0.7,
    least_sand_m=0.5,
    gravel_m=0.15,
    supernatant_m=0.3,
    crest_over_sand_m=0.05,
    turbidity=3.0,
    colour=5.0,
    scrape_m=0.015,
    lateral_m_per_s=0.05,
    oxygen_kg_per_m3=5e-3,
    filters_count=2,
)

BOX = GuideInputs(
    area_m2=0.5,
    sand_m=0.8,
    gravel_m=0.2,
    porosity_frac=0.4,
    conductivity_20_m_per_s=3.57 / 3600.0,
    crest_over_sand_m=0.05,
    head_m=0.9,
    rate_m_per_s=0.1 / 3600.0,
    temp_degc=10.0,
    scrape_m=0.015,
    least_sand_m=0.5,
)


@given(temp=st.floats(0.0, 39.0))
def test_warm_water_holds_less_and_lets_it_through_faster(temp: float) -> None:
    assert oxygen_saturation_kg_per_m3(temp + 1.0) < oxygen_saturation_kg_per_m3(temp)
    assert oxygen_diffusivity_m2_per_s(temp + 1.0) > oxygen_diffusivity_m2_per_s(temp)


def test_diffusion_is_near_what_other_sources_give() -> None:
    # A table of gases in water, read: 1.67, 2.01, 2.42 at 15, 20, 25 degrees C, in 1e-9 m2/s; and
    # a correlation of liquids, read: 1.97 at 20. HAN_BARTELS_1996 measured less: 12 to 18 %.
    for temp, other in ((15.0, 1.67), (20.0, 2.01), (25.0, 2.42)):
        ours = oxygen_diffusivity_m2_per_s(temp) * 1e9
        assert 0.8 * other < ours < other


@given(z=st.floats(0.01, 1.0), temp=st.floats(0.0, 40.0))
def test_twice_the_water_halves_what_seeps_in(z: float, temp: float) -> None:
    one = resting_flux_kg_per_m2_s(z, temp_degc=temp)
    assert resting_flux_kg_per_m2_s(2 * z, temp_degc=temp) == pytest.approx(one / 2, rel=1e-12)


def test_how_long_the_oxygen_lasts() -> None:
    bed = {"depth_m": 0.7, "porosity_frac": 0.4, "temp_degc": 20.0}
    small = time_to_low_oxygen_s(0.05, demand_kg_per_m2_s=1e-10, **bed)
    assert math.isinf(small)  # as much seeps in as is used
    t_s = time_to_low_oxygen_s(0.05, demand_kg_per_m2_s=5e-8, **bed)
    # By hand: (9.09 - 3) g/m3 over 0.33 m, less what seeps in, is 11 to 12 hours.
    assert 11.0 < t_s / 3600.0 < 12.0
    assert time_to_low_oxygen_s(0.05, demand_kg_per_m2_s=1e-7, **bed) < t_s
    assert time_to_low_oxygen_s(0.05, demand_kg_per_m2_s=1e-7, least_kg_per_m3=0.02, **bed) == 0.0
    with pytest.raises(RangeError, match="DOM-001"):
        oxygen_saturation_kg_per_m3(45.0)
    with pytest.raises(RangeError, match="DOM-001"):
        oxygen_diffusivity_m2_per_s(-1.0)


def test_each_criterion_has_rows_a_field_and_a_cure() -> None:
    rows = acceptance(HOUSE).rows
    assert {row.criterion for row in rows} == set(CRITERIA) == set(NEXT)
    assert unknown_facts(HOUSE) == ()
    for row in rows:
        assert row.source in bibliography() and row.seen in ("read", "quoted", "memory")
        assert row.low is not None or row.high is not None
        assert re.search(r"\d", row.limit)
        if row.low is not None and row.high is not None:
            assert row.low <= row.high
    json.dumps(acceptance(HOUSE).to_dict())


def test_a_usual_household_filter_breaks_no_common_rule_and_meets_disagreement() -> None:
    found = acceptance(HOUSE, where="filter.a").findings
    assert {f.code for f in found} <= {"BED-110", "BED-111"}
    said = {f.what for f in found if f.code == "BED-111"}
    assert any("depth of new sand" in what for what in said)
    assert any("weir crest" in what for what in said)
    assert all(f.where == "filter.a" and f.next and f.limit for f in found)
    assert "BED-110" not in {f.code for f in found}


def test_what_no_source_allows_is_a_caution_and_a_low_weir_a_stop() -> None:
    fast = acceptance(replace(HOUSE, rate_m_per_s=1.7 / 3600.0)).findings
    assert [f.severity for f in fast if f.code == "BED-110"] == ["caution"]
    low = acceptance(replace(HOUSE, crest_over_sand_m=-0.01)).findings
    assert [f.severity for f in low if f.code == "BED-112"] == ["stop"]
    assert all(f.code in codes() for f in (*fast, *low))


def test_what_is_not_given_is_shown_and_not_judged() -> None:
    held = acceptance(FilterFacts())
    assert held.findings == () and {row.state for row in held.rows} == {"not given"}
    assert len(unknown_facts(FilterFacts())) == 17


def test_a_value_on_a_limit_is_within_it() -> None:
    for rate in (0.1, 0.2, 0.4):
        rows = acceptance(FilterFacts(rate_m_per_s=rate / 3600.0)).rows
        on = [r for r in rows if r.criterion == "rate" and rate in (r.low, r.high)]
        assert on and all(row.state == "within" for row in on)


def test_the_guide_says_the_filters_own_numbers() -> None:
    made = guide(BOX)
    start = " ".join(step.plain for step in made.part("start"))
    # By hand: 0.5 x 0.8 x 0.6 x 2650 = 636 kg; 0.5 x (1.0 x 0.4 + 0.1) = 250 L; 0.1 m/h over
    # 0.5 m2 = 50 L/h, a litre in 72 s; K at 10 C 2.74 m/h: 0.8 / 2.74 x ln(0.9 / 0.05) = 51 min.
    for number in ("636 kg", "250 L", "50 L/h", "1.2 min", "50 mm", "51 min", "5 h"):
        assert number in start
    scrape = " ".join(step.plain for step in made.part("scrape"))
    # 0.5 x 0.015 x 0.6 x 2650 = 11.9 kg; (0.8 - 0.5) / 0.015 = 20; 2 days x 1.066^10 = 3.8 days,
    # x 1.2 m3 a day = 4,550 L.
    for number in ("15 mm", "11.9 kg", "20 scrapes", "3.8 days", "4,550 L", "0.5 m"):
        assert number in scrape


def test_every_place_in_the_words_has_its_amount() -> None:
    for step in guide(BOX).steps:
        places = set(re.findall(r"\{(\w+)\}", step.do))
        assert places == {amount.key for amount in step.amounts}, step.do
        assert "{" not in step.plain and step.do.endswith(".")
        assert step.why.endswith(".")
        source = step.source
        assert source in (COMMON_PRACTICE, ENGINEERING_CHOICE) or source in bibliography()
    json.dumps(guide(BOX).to_dict())


def test_cautions_that_must_not_be_missing() -> None:
    text = " ".join(guide(BOX).cautions)
    for word in ("ill", "alone", "licensed", "chlorine", "health department", "codes"):
        assert word in text


def test_two_filters_are_cleaned_one_at_a_time() -> None:
    assert "others serve" not in guide(BOX).part("scrape")[0].do
    assert "others serve" in guide(replace(BOX, filters_count=2)).part("scrape")[0].do


def test_cold_makes_the_guide_longer() -> None:
    def ripe_s(temp: float) -> float:
        made = guide(replace(BOX, temp_degc=temp)).part("ripen")[0]
        return {a.key: a.value for a in made.amounts}["ripe"]

    assert ripe_s(5.0) > 2 * ripe_s(20.0)


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (Amount("t", 45.0, "time"), "45 s"),
        (Amount("t", 72.0, "time"), "1.2 min"),
        (Amount("t", 3 * 3600.0, "time"), "3 h"),
        (Amount("t", 2.5 * 86400.0, "time"), "2.5 days"),
        (Amount("v", 63.72, "volume"), "63,700 L"),
        (Amount("n", 20.0, "count"), "20"),
        (Amount("v", 0.1 / 3600.0, "rate"), "0.1 m/h"),
    ],
)
def test_amounts_in_words(amount: Amount, text: str) -> None:
    assert amount.plain == text


def test_a_guide_needs_a_filter() -> None:
    with pytest.raises(RangeError, match="DOM-002 area_m2"):
        replace(BOX, area_m2=0.0)
    with pytest.raises(RangeError, match="DOM-002 crest_over_sand_m"):
        replace(BOX, crest_over_sand_m=-0.01)

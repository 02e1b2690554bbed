"""The walk-round and its score; results of laboratories, good and bad; materials."""

from __future__ import annotations

import re
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.catchment import roof_materials
from roofspring.errors import RangeError, UnitError
from roofspring.safety.inspection import (
    calendar,
    e_coli_band,
    judge,
    least_removal_log10,
    limits,
    litres_to_see,
    most_positive_frac,
    priority,
    questions,
    read_result,
    score,
)
from roofspring.safety.inspection.walk_round import BANDS, Band
from roofspring.safety.materials import events, materials, roof_cautions

IDS = [q.id for q in questions()]


def test_the_questions_go_from_roof_to_cup() -> None:
    assert [f"S{i:02}" for i in range(1, 43)] == IDS
    assert list(dict.fromkeys(q.place for q in questions())) == [
        "roof", "gutter", "raw tank", "filter", "clean store", "house", "people",
    ]  # fmt: skip
    assert all(q.question.endswith("?") and q.why.endswith(".") and q.how for q in questions())


@pytest.mark.parametrize(
    ("count", "band"), [(0, "low"), (2, "low"), (3, "medium"), (5, "medium"), (6, "high"),
                        (8, "high"), (9, "very high"), (10, "very high")],
)  # fmt: skip
def test_the_published_bands(count: int, band: str) -> None:
    """WHO_1997: 0 to 2, 3 to 5, 6 to 8, 9 and 10 of ten questions."""
    core = [q.id for q in questions() if q.is_core]
    found = score({i: n < count for n, i in enumerate(core)})
    assert (found.core_count, found.band) == (count, band)
    assert len(found.unanswered) == 32


@given(st.dictionaries(st.sampled_from(IDS), st.booleans()), st.sampled_from(IDS))
def test_one_more_fault_never_helps(answers: dict[str, bool], more: str) -> None:
    here, worse = score(answers), score({**answers, more: True})
    assert BANDS.index(worse.band) >= BANDS.index(here.band)
    assert len(worse.stops) >= len(here.stops)
    assert ("do not drink" in worse.words) == bool(worse.stops)


def test_a_stop_counts_whatever_the_count() -> None:
    found = score({i: i == "S28" for i in IDS})
    assert found.core_count == 0 and [q.id for q in found.stops] == ["S28"]
    assert not found.unanswered


def test_an_unknown_question() -> None:
    with pytest.raises(RangeError, match="SAF-006"):
        score({"S99": True})


def test_the_worse_of_looking_and_testing() -> None:
    assert get_args(Band) == BANDS
    assert priority("very high", e_coli_band(0.0)) == "very high"
    assert [e_coli_band(n) for n in (0.0, 1.0, 10.0, 11.0, 100.0, 101.0)] == [
        "low", "medium", "medium", "high", "high", "very high",
    ]  # fmt: skip
    with pytest.raises(RangeError, match="DOM-002"):
        e_coli_band(-1.0)


@pytest.mark.parametrize(
    ("limit", "text", "sign", "value"),
    [
        ("e-coli", "not detected", "<", 1.0),
        ("e-coli", "<1 MPN/100 mL", "<", 1.0),
        ("e-coli", ">2,419 /100 mL", ">", 2419.0),
        ("e-coli", "12 CFU/100 mL", "=", 12.0),
        ("lead", "< 0.5 ug/L", "<", 0.0005),
        ("lead", "0.012 mg/L", "=", 0.012),
        ("turbidity", "0.8 NTU", "=", 0.8),
        ("ph", "6.2", "=", 6.2),
    ],
)
def test_results_as_laboratories_write_them(limit: str, text: str, sign: str, value: float) -> None:
    found = read_result(limit, text)
    assert found.sign == sign and found.value == pytest.approx(value)


@pytest.mark.parametrize(
    ("limit", "text"),
    [
        ("e-coli", "-3 /100 mL"),
        ("e-coli", "3"),
        ("e-coli", "3 mg/L"),
        ("e-coli", "many"),
        ("e-coli", "1.2.3 /100 mL"),
        ("lead", "0.012"),
        ("lead", "not detected"),
        ("lead", "-0.1 mg/L"),
        ("turbidity", "0.8 FNU"),
        ("lead", ""),
    ],
)
def test_results_that_say_nothing_certain(limit: str, text: str) -> None:
    with pytest.raises(RangeError, match="SAF-007"):
        read_result(limit, text)


def test_units_that_nobody_knows() -> None:
    with pytest.raises(UnitError):
        read_result("lead", "3 spoons")
    with pytest.raises(UnitError):
        read_result("lead", "3 m")
    with pytest.raises(RangeError, match="DOM-004"):
        read_result("luck", "3 mg/L")


@pytest.mark.parametrize(
    ("limit", "text", "says"),
    [
        ("e-coli", "<1 /100 mL", "rules out neither Giardia"),
        ("e-coli", "<10 /100 mL", "says nothing"),
        ("e-coli", "1 /100 mL", "over the limit"),
        ("lead", "<0.05 mg/L", "says nothing"),
        ("lead", "<0.001 mg/L", "below the limit"),
        ("lead", "0.012 mg/L", "over the limit"),
        ("lead", "0.010 mg/L", "at or below"),
        ("lead", ">0.005 mg/L", "says nothing"),
        ("zinc", "6 mg/L", "taste"),
    ],
)
def test_what_a_result_says(limit: str, text: str, says: str) -> None:
    assert says in judge(read_result(limit, text))


def test_what_a_negative_cannot_prove() -> None:
    """Closed form: n tests without a finding leave up to 1 - 0.05**(1/n) of the days."""
    assert most_positive_frac(1.0) == pytest.approx(0.95)
    assert most_positive_frac(300.0) == pytest.approx(3.0 / 300.0, rel=0.01)
    assert litres_to_see(1e-5) > 1e5
    assert least_removal_log10(0.0, detection_count=1.0) == 0.0
    assert least_removal_log10(1000.0, detection_count=1.0) == pytest.approx(3.0)
    with pytest.raises(RangeError, match="DOM-002"):
        least_removal_log10(-5.0, detection_count=1.0)


def test_the_calendar_and_the_limits_belong_together() -> None:
    assert {v.limit for v in calendar()} <= set(limits())
    assert all(re.fullmatch(r"\d{4}(-\d\d-\d\d)?|n\.d\.", x.date) for x in limits().values())
    assert all(x.value >= 0.0 for x in limits().values())


def test_every_roof_of_a_plan_has_its_row() -> None:
    assert {m.plan_material for m in materials()} - {""} == set(roof_materials())
    assert [m.material for m in roof_cautions("gravel")] == ["gravel on bitumen"]
    assert {e.event for e in events()} >= {"smoke", "spray", "flood", "paint"}
    assert {m.part for m in materials()} >= {"roof", "flashing", "gutter", "paint", "tank", "pipe"}


@pytest.mark.parametrize(
    ("text", "as_ion"),
    [("10 mg/L as N", 44.27), ("10 mg/L NO3-N", 44.27), ("10 mg/L as NO3-N", 44.27),
     ("10000 ug/L as n", 44.27), ("44.27 mg/L as NO3", 44.27), ("<1 mg/L NO3", 1.0)],
)  # fmt: skip
def test_nitrate_says_what_it_is_given_as(text: str, as_ion: float) -> None:
    """EPA_NPDWR: 10 mg/L as nitrogen is 44.27 as nitrate, computed."""
    assert read_result("nitrate", text).value == pytest.approx(as_ion, rel=1e-3)


@pytest.mark.parametrize("text", ["10 mg/L", "10 mg/L as P", "10 as N"])
def test_nitrate_is_never_guessed(text: str) -> None:
    with pytest.raises((RangeError, UnitError)):
        read_result("nitrate", text)
    with pytest.raises((RangeError, UnitError)):
        read_result("nitrite", text)


def test_too_little_is_told_as_well_as_too_much() -> None:
    """Acid roof water and spent chlorine are not "below the limit" and well."""
    assert judge(read_result("ph", "5.6")).startswith("under pH 6.5")
    assert judge(read_result("chlorine", "0.1 mg/L")).startswith("under 0.2 mg/L")
    assert judge(read_result("chlorine", "0.4 mg/L")).startswith("at or below the limit")
    assert judge(read_result("ph", "9.2")).startswith("over pH 8.5")


@pytest.mark.parametrize(
    ("what", "text", "value", "sign"),
    [
        ("e-coli", ">2419 MPN/100mL", 2419, ">"), ("e-coli", "1,200 cfu/100 ml", 1200.0, "="),
        ("e-coli", "0 /100 mL", 1.0, "<"),
        ("e-coli", "3 per 100 mL", 3.0, "="), ("e-coli", "<1 CFU/100 ML", 1.0, "<"),
        ("lead", "5 ppb", 0.005, "="), ("zinc", "0.3 ppm", 0.3, "="),
        ("lead", "12 µg/l", 0.012, "="),
    ],
)  # fmt: skip
def test_as_laboratories_write_it(what: str, text: str, value: float, sign: str) -> None:
    found = read_result(what, text)
    assert found.value == pytest.approx(value) and found.sign == sign


@pytest.mark.parametrize(
    ("what", "text"),
    [("e-coli", "1,5 /100 mL"), ("e-coli", "TNTC"), ("e-coli", "3 /10 mL"), ("e-coli", "3 /L"),
     ("ph", "17"), ("lead", "0,012 mg/L"), ("turbidity", "0,350 NTU"), ("turbidity", "1,500 NTU"),
     ("e-coli", "0,500 /100 mL"), ("turbidity", "3"), ("turbidity", "nan NTU")],
)  # fmt: skip
def test_what_could_be_two_things_is_not_read(what: str, text: str) -> None:
    with pytest.raises((RangeError, UnitError)):
        read_result(what, text)


def test_counted_questions_that_nobody_looked_at_may_be_faults() -> None:
    """WHO_1997: the bands are of ten answers; with three answered the count is not known."""
    core = [q.id for q in questions() if q.is_core]
    some = score(dict.fromkeys(core[:3], False))
    assert (some.band, some.worst_band) == ("low", "high")
    assert some.words == "low to high by count (0 of 10, 7 not looked at)"
    whole = score(dict.fromkeys(core, False))
    assert whole.words == "low by count (0 of 10)" and whole.worst_band == "low"


@pytest.mark.parametrize(
    ("limit", "text", "begins"),
    [
        ("lead", "12 ug/L", "over the limit of 0.010 mg/L; give no one this water to drink"),
        ("e-coli", "4 /100 mL", "over the limit of 0 in 100 mL; do not drink it untreated: boil"),
        ("chlorine", "<0.1 mg/L", "under 0.2 mg/L, the least that is wanted"),
        ("chlorine", "<0.5 mg/L", "says nothing: the test could not see down to 0.2 mg/L"),
        ("chlorine", "0 mg/L", "under 0.2 mg/L"),
        ("chlorine", "9 mg/L", "over the limit of 4 mg/L; let it stand"),
        ("ph", "6.2", "under pH 6.5, the least that is wanted"),
        ("e-coli", "<10 /100 mL", "says nothing: the test could not see down to the limit of 0 in"),
    ],
)
def test_a_result_says_what_helps_against_it(limit: str, text: str, begins: str) -> None:
    """Boiling takes out no metal (EPA_LCRI_2024, advice to households); 0.2 mg/L: EPA_NPDWR."""
    assert judge(read_result(limit, text)).startswith(begins)


def test_no_laboratory_sees_nothing_of_a_substance() -> None:
    with pytest.raises(RangeError, match="SAF-007"):
        read_result("lead", "0 ug/L")


def test_a_name_that_is_nearly_one_is_told() -> None:
    with pytest.raises(RangeError, match='did you mean "e-coli"'):
        read_result("E. Coli", "1 /100 mL")

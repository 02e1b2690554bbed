"""Every published number, within its printed digits or the accuracy its source states."""

from __future__ import annotations

from collections import Counter

import pytest

from cases import Case, Comparison, all_cases, comparisons
from roofspring.sources import COMMON_PRACTICE, cite

CASES = all_cases()


@pytest.mark.parametrize("case", CASES, ids=[f"{c.id} {c.quantity}" for c in CASES])
def test_case(case: Case) -> None:
    assert case.got() == pytest.approx(case.expected, rel=0.0, abs=case.tolerance)


def test_no_case_is_given_twice() -> None:
    twice = [k for k, n in Counter((c.id, c.quantity) for c in CASES).items() if n > 1]
    assert twice == []


@pytest.mark.parametrize("case", CASES, ids=[f"{c.id} {c.quantity}" for c in CASES])
def test_case_says_where_it_comes_from(case: Case) -> None:
    if case.status == "common practice, no source":
        assert case.source == COMMON_PRACTICE
    elif case.status == "computed" and not case.source:
        assert case.where
    else:
        assert cite(case.source) and case.where


def test_a_case_tells_a_wrong_number_from_a_right_one() -> None:
    case = Case("X1", "a rounded number", lambda: 0.0, "1,234.50", "L", "", "made up", "computed")
    assert case.expected == 1234.5
    assert case.tolerance == pytest.approx(0.005)
    assert not abs(1234.506 - case.expected) <= case.tolerance
    assert abs(1234.504 - case.expected) <= case.tolerance


@pytest.mark.parametrize("made", comparisons(), ids=lambda c: f"{c.id} {c.quantity}")
def test_our_band_meets_the_published_one(made: Comparison) -> None:
    low, middle, high = made.ours()
    assert 0.0 <= low <= middle <= high
    assert made.meets(), made.verdict()
    assert cite(made.source) and made.where and made.note and 1 <= len(made.published) <= 2


@pytest.mark.parametrize(
    ("ours", "words"),
    [
        ((1.0, 15.0, 90.0), "our middle lies inside"),
        ((1.0, 40.0, 90.0), "our middle lies 2 times above; our band reaches it"),
        ((30.0, 40.0, 90.0), "our middle lies 2 times above; our band does not reach it"),
        ((1.0, 5.0, 12.0), "our middle lies 2 times below; our band reaches it"),
    ],
)
def test_what_two_bands_say_is_computed(ours: tuple[float, float, float], words: str) -> None:
    made = Comparison("X", "x", "", (10.0, 20.0), "", lambda: ours, "", "", "")
    assert made.verdict() == words

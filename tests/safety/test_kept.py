"""What the logbook says of the water: the newest, its age, and what it cannot prove."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from roofspring.errors import RangeError
from roofspring.logbook import Answer, Entry, WalkRound, WaterTest
from roofspring.safety.inspection import (
    blank_answers,
    calendar,
    kept,
    limits,
    questions,
    read_answers,
)

TODAY = date(2026, 11, 25)
CORE = [q.id for q in questions() if q.is_core and q.severity != "stop"]


def entry(number: int, what: WalkRound | WaterTest, days: int = 0, by: int | None = None) -> Entry:
    at = datetime(2026, 11, 25, 12, tzinfo=UTC) - timedelta(days=days)
    return Entry(number, what, at, at, "Ann", "", None, by)


def walk(*faults: str) -> WalkRound:
    answers = tuple(Answer(q.id, is_fault=q.id in faults) for q in questions())
    return WalkRound(answers, "WHO_1997", 0, "low")


def coli(count: float, point: str = "", censored: str = "no") -> WaterTest:
    assert censored in ("no", "below", "above")
    return WaterTest("e-coli", "below" if censored == "below" else "no", count, "1/100 mL", "",
                     point)  # fmt: skip


def test_the_newest_that_was_not_corrected_counts() -> None:
    found = kept([entry(1, walk("S19"), 40), entry(2, walk(), 9), entry(3, walk("S19"), 1, by=4)],
                 today=TODAY)  # fmt: skip
    assert found.walk is not None
    assert (found.walk.entry_count, found.walk.age_days, found.walk.on) == (
        2, 9.0, TODAY - timedelta(days=9),
    )  # fmt: skip
    assert not found.findings and "9 days ago" in found.says[0]


def test_a_stop_and_a_high_score_are_findings() -> None:
    (stop,) = kept([entry(1, walk("S19"))], today=TODAY).findings
    assert (stop.code, stop.severity) == ("SAF-130", "stop") and "S19" in stop.got
    (high,) = kept([entry(1, walk(*CORE[:6]))], today=TODAY).findings
    assert (high.code, high.severity) == ("SAF-131", "caution")


def test_a_test_over_its_limit_stands_until_a_newer_one_of_its_place() -> None:
    bad, good = WaterTest("lead", "no", 0.03, "mg/L", "", "kitchen"), 0.001
    assert [f.code for f in kept([entry(1, bad, 9)], today=TODAY).findings] == ["SAF-132"]
    elsewhere = WaterTest("lead", "no", good, "mg/L", "", "house")
    assert kept([entry(1, bad, 9), entry(2, elsewhere, 1)], today=TODAY).findings
    again = WaterTest("lead", "no", good, "mg/L", "", "kitchen")
    assert not kept([entry(1, bad, 9), entry(2, again, 1)], today=TODAY).findings


def test_germs_in_a_raw_tank_are_told_but_no_stop() -> None:
    found = kept([entry(1, coli(300.0, "raw"))], today=TODAY, drunk=frozenset({"kitchen"}))
    assert not found.findings and "300 in 100 mL" in " ".join(found.says)
    at_tap = kept([entry(1, coli(3.0, "kitchen"))], today=TODAY, drunk=frozenset({"kitchen"}))
    assert [f.code for f in at_tap.findings] == ["SAF-132"]


def test_clean_bottles_prove_little() -> None:
    """CLOPPER_PEARSON_1934: none of four allows 53 % of days, 1 - 0.05**(1/4)."""
    clean = [entry(n, coli(1.0, "", "below"), 90 * n) for n in range(1, 5)]
    words = " ".join(kept(clean, today=TODAY).cannot)
    assert "4 tests" in words and "53 %" in words and "Giardia" in words
    older = [entry(1, coli(1.0, "", "below"), 400)]
    assert "last year" not in " ".join(kept(older, today=TODAY).cannot)
    mixed = [*clean, entry(9, coli(2.0), 10)]
    assert "still allows" not in " ".join(kept(mixed, today=TODAY).cannot)


def test_walk_round_and_count_are_put_together() -> None:
    """WHO_1997: the worse of the two bands."""
    here = [entry(1, walk(*CORE[:3])), entry(2, coli(1.0, "", "below"))]
    assert kept(here, today=TODAY).priority == "medium"
    assert kept([*here, entry(3, coli(50.0))], today=TODAY).priority == "high"
    assert kept(here[:1], today=TODAY).priority is None
    stop = [entry(1, walk("S19")), entry(2, coli(1.0, "", "below"))]
    assert kept(stop, today=TODAY).priority == "very high"


def test_the_calendar_says_what_is_due() -> None:
    entries = [entry(1, coli(1.0, "", "below"), 92), entry(2, WaterTest("ph", "no", 6.8, "pH"), 91),
               entry(3, WaterTest("lead", "below", 0.001, "mg/L"), 500),
               entry(4, WaterTest("nitrate", "no", 2.0, "mg/L"), 500)]  # fmt: skip
    found = kept(entries, today=TODAY)
    states = {d.visit.what: d.state for d in found.due}
    assert states["E. coli"] == "due" and states["pH"] == "later" and states["nitrate"] == "once"
    assert states["lead and copper"] == "never"
    assert next(d for d in found.due if d.missing == ("copper",)).words == "never tested for copper"
    assert states["turbidity"] == "never"
    late = next(f for f in found.findings if f.code == "SAF-133")
    assert late.severity == "note" and late.got == "E. coli"
    assert {d.words for d in found.due} >= {"due since 2026-11-25", "due 2026-11-26"}
    old = kept([entry(1, walk(), 200)], today=TODAY)
    assert old.findings[0].got == "walk-round"
    assert {p for v in calendar() for p in v.parameters} <= set(limits())


def test_two_counts_of_one_day_show_what_the_filter_took() -> None:
    """log10(250 / 1) is 2.4, by hand; below detection it is "or more" (HAAS_1999)."""
    raw, filters = frozenset({"raw"}), frozenset({"sand"})

    def said(*entries: Entry) -> str:
        return " ".join(kept(entries, today=TODAY, raw=raw, filters=filters).removed)

    before, behind = entry(1, coli(250.0, "raw"), 5), entry(2, coli(1.0, "sand", "below"), 5)
    assert "2.4 log or more" in said(before, behind)
    assert "fell by 1.4 log: 250" in said(before, entry(2, coli(10.0, "sand"), 5))
    assert "did not fall" in said(before, entry(2, coli(900.0, "sand"), 5))
    assert "fell" not in said(before, entry(2, coli(1.0, "sand", "below"), 4))  # another day
    assert "fell" not in said(entry(1, coli(1.0, "raw", "below"), 5), behind)  # nothing to fall


def test_a_question_that_there_is_no_more_does_no_harm() -> None:
    old = WalkRound(
        (Answer("S01", is_fault=True), Answer("Q77", is_fault=True)), "WHO_1997", 2, "low"
    )
    found = kept([entry(1, old)], today=TODAY)
    assert found.walk is not None and found.walk.score.core_count == 1


def test_a_filled_sheet_is_read_in_many_hands() -> None:
    lines = (
        "\ufeffquestion,answer,note", "", "S01,no", " S2 = YES ; moss", "# S03,yes", "S04\tn",
        '"S05","yes",a, b', "S06,?", "s07:",
    )  # fmt: skip
    text = "\n".join(lines)
    found = [(g.question, g.is_fault, g.note) for g in read_answers(text)]
    assert found == [("S01", False, ""), ("S02", True, "moss"), ("S04", False, ""),
                     ("S05", True, "a, b")]  # fmt: skip


def test_the_address_of_a_filled_page_is_a_sheet() -> None:
    found = read_answers("safety.html?S01=no&S19=yes#walk\n")
    assert [(g.question, g.is_fault) for g in found] == [("S01", False), ("S19", True)]


def test_the_blank_sheet_has_every_question_and_reads_back() -> None:
    blank = blank_answers()
    assert all(q.question in blank for q in questions())
    filled = "\n".join(f"{line}no" if line.endswith(",") else line for line in blank.splitlines())
    assert [g.question for g in read_answers(filled)] == [q.id for q in questions()]


def test_all_problems_of_a_sheet_are_told_at_once() -> None:
    with pytest.raises(RangeError) as error:
        read_answers("S01,maybe\nS77,yes\nS02,no\nS02,yes\nhello\n", file="walk.csv")
    told = [(p.code, p.file, p.line) for p in error.value.problems]
    assert told == [("SAF-008", "walk.csv", 1), ("SAF-006", "walk.csv", 2),
                    ("SAF-008", "walk.csv", 4), ("SAF-008", "walk.csv", 5)]  # fmt: skip


def test_a_file_that_is_no_sheet_is_not_told_line_by_line() -> None:
    with pytest.raises(RangeError) as error:
        read_answers("".join(f"2026-11-{n % 28 + 1:02},3.2\n" for n in range(5000)))
    told = error.value.problems
    assert len(told) == 21 and told[-1].line == 21
    assert "more lines" in told[-1].what and "filled sheet" in told[-1].next


@pytest.mark.parametrize("text", ["", "question,answer\n", "S01,\nS02,?\n"])
def test_a_sheet_without_an_answer_is_none(text: str) -> None:
    with pytest.raises(RangeError) as error:
        read_answers(text)
    assert error.value.problems[0].code == "SAF-008"

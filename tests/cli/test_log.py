"""The logbook as a user meets it."""

from __future__ import annotations

import csv
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from cli.conftest import Ended, Run

SHEET = "S01,no\nS02,yes,a branch\nS19,yes\n"


def plain(ended: Ended) -> str:
    return re.sub(r"\s+", " ", ended.out + ended.err)


def problems(ended: Ended) -> list[str]:
    assert ended.code == 2
    return [p["code"] for p in json.loads(ended.out)["problems"]]


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    file = tmp_path / "walk.csv"
    file.write_text(SHEET, "utf-8")
    return file


def test_a_walk_round_from_a_sheet(run: Run, house: Path, sheet: Path) -> None:
    ended = run("log", "add", "walk", house, "--answers", sheet, "--who", "Ann",
                "--at", "2026-11-01", "--note", "after the storm")  # fmt: skip
    assert ended.code == 0
    words = plain(ended)
    assert "(1 of 10, 8 not looked at), but do not drink it untreated" in words
    assert "S19; 39 not looked at" in words and "after the storm" in words
    assert "S02 Do branches, wires or an antenna hang over the roof? a branch" in words
    assert "S19 STOP Does the overflow of the raw tank lead into a clean tank?" in words
    assert (house / "logbook.sqlite").exists()


def test_a_walk_round_question_by_question(run: Run, house: Path) -> None:
    typed = "y\nmaybe\nn\n\n" + "n\n" * 39
    ended = run("log", "add", "walk", house, typed=typed)
    assert ended.code == 0 and "1 not looked at" in plain(ended)
    assert "How: look" in ended.err  # the answer that was neither
    entries = json.loads(run("log", "show", house, "--json").out)["entries"]
    assert entries[0]["walk"]["faults"] == ["S01"] and entries[0]["walk"]["answered"] == 41


@pytest.mark.parametrize("typed", ["y\nq\n", "y\nn\n"])
def test_stopping_half_way_writes_nothing(run: Run, house: Path, typed: str) -> None:
    ended = run("log", "add", "walk", house, typed=typed)
    assert ended.code == 130 and "Nothing was half-written" in ended.err
    assert not (house / "logbook.sqlite").exists()


def test_a_test_says_what_it_cannot_show(run: Run, house: Path) -> None:
    ended = run("log", "add", "test", house, "e-coli", "<1 MPN/100 mL", "--point", "kitchen",
                "--method", "tray")  # fmt: skip
    assert ended.code == 0
    assert "It rules out neither Giardia nor Cryptosporidium nor viruses" in plain(ended)
    found = json.loads(run("log", "show", house, "--kind", "test", "--json").out)["entries"]
    assert found[0]["test"] == {
        "parameter": "e-coli", "censored": "below", "value": 1.0, "unit": "1/100 mL",
        "method": "tray", "sample_point": "kitchen",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("e-coli", "-- -3 /100 mL"), "SAF-007"),
        (("e-coli", "12"), "SAF-007"),
        (("lead", "12 apples"), "UNI-001"),
        (("lead", "not detected"), "SAF-007"),
        (("gold", "1 mg/L"), "DOM-004"),
        (("lead", "1 ug/L", "--at", "2031-01-01"), "LOG-006"),
        (("lead", "1 ug/L", "--at", "soon"), "LOG-006"),
        (("lead", "1 ug/L", "--point", "kitchn"), "LOG-008"),
        (("lead", "1 ug/L", "--corrects", "7"), "LOG-005"),
    ],
)
def test_bad_tests_are_refused_and_nothing_is_written(
    run: Run, house: Path, words: tuple[str, ...], code: str
) -> None:
    parts = tuple(p for w in words for p in (("--", w[3:]) if w.startswith("-- ") else (w,)))
    ended = run("log", "add", "test", "--json", house, *parts)
    assert problems(ended) == [code]
    assert json.loads(run("log", "show", house, "--json").out)["entries"] == []


def test_a_correction_leaves_the_old_entry(run: Run, house: Path) -> None:
    run("log", "add", "test", house, "turbidity", "30 NTU")
    assert run("log", "add", "test", house, "turbidity", "3.0 NTU", "--corrects", "1").code == 0
    now = json.loads(run("log", "show", house, "--json").out)["entries"]
    assert [(e["entry"], e["corrects"]) for e in now] == [(2, 1)]
    both = run("log", "show", house, "--corrected")
    assert "corrected by 2" in both.out and "corrects 1" in both.out


def test_the_export_holds_everything(run: Run, house: Path, sheet: Path, tmp_path: Path) -> None:
    run("log", "add", "walk", house, "--answers", sheet)
    run("log", "add", "test", house, "lead", "<0.5 ug/L", "--note", 'with "quotes", and a comma')
    out = tmp_path / "export"
    assert run("log", "export", house, "--out", out).code == 0
    rows = {f.name: list(csv.DictReader(f.read_text("utf-8").splitlines())) for f in out.iterdir()}
    assert set(rows) == {"walks.csv", "walk-answers.csv", "tests.csv"}
    assert [(r["question"], r["answer"], r["note"]) for r in rows["walk-answers.csv"]] == [
        ("S01", "no", ""), ("S02", "yes", "a branch"), ("S19", "yes", ""),
    ]  # fmt: skip
    (test,) = rows["tests.csv"]
    assert (test["value"], test["unit"], test["censored"]) == ("0.0005", "mg/L", "below")
    assert test["note"] == 'with "quotes", and a comma'
    assert problems(run("log", "export", house, "--out", out, "--json")) == ["OUT-002"]


def test_a_backup_is_a_logbook_and_writes_over_none(run: Run, house: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copies" / "book.sqlite"
    assert problems(run("log", "backup", house, "--out", copy, "--json")) == ["LOG-007"]
    assert problems(run("log", "export", house, "--out", copy, "--json")) == ["LOG-007"]
    run("log", "add", "test", house, "ph", "6.4")
    assert run("log", "backup", house, "--out", copy).code == 0
    assert problems(run("log", "backup", house, "--out", copy, "--json")) == ["OUT-002"]
    copy.replace(house / "logbook.sqlite")
    assert "pH 6.4" in run("log", "show", house).out


def test_a_damaged_or_foreign_book_is_told_before_any_question(run: Run, house: Path) -> None:
    (house / "logbook.sqlite").write_bytes(b"a letter from the bank, not a logbook")
    ended = run("log", "add", "walk", house, typed="y\n" * 50)
    assert ended.code == 2 and "LOG-002" in ended.err and "[y/n]" not in ended.err
    assert problems(run("safety", house, "--json")) == ["LOG-002"]
    (house / "logbook.sqlite").unlink()
    with closing(sqlite3.connect(house / "logbook.sqlite")) as db:
        db.execute("CREATE TABLE bees (hive TEXT)")
    assert problems(run("log", "show", house, "--json")) == ["LOG-004"]


@pytest.mark.parametrize("words", [("--at", "never"), ("--corrects", "1"), ("--corrects", "2")])
def test_what_stands_in_the_way_is_told_before_forty_questions(
    run: Run, house: Path, words: tuple[str, ...]
) -> None:
    if words[1] == "2":
        for _ in range(2):
            run("log", "add", "test", house, "ph", "6.4")
    ended = run("log", "add", "walk", house, *words, typed="n\n" * 50)
    assert ended.code == 2 and "[y/n]" not in ended.err
    assert "LOG-00" in ended.err


def test_a_blank_sheet_is_filled_and_taken_in(run: Run, house: Path, tmp_path: Path) -> None:
    blank = tmp_path / "blank.csv"
    assert run("log", "sheet", "--out", blank).code == 0
    assert problems(run("log", "sheet", "--out", blank, "--json")) == ["OUT-002"]
    assert problems(run("log", "add", "walk", house, "--answers", blank, "--json")) == ["SAF-008"]
    lines = blank.read_text("utf-8").splitlines()
    blank.write_text("\n".join(f"{x}no" if x.endswith(",") else x for x in lines), "utf-8")
    assert run("log", "add", "walk", house, "--answers", blank).code == 0
    spoilt = tmp_path / "spoilt.csv"
    spoilt.write_text("S01,perhaps\nS99,yes\n", "utf-8")
    ended = run("log", "add", "walk", house, "--answers", spoilt, "--json")
    assert problems(ended) == ["SAF-008", "SAF-006"]
    spoilt.write_bytes(b"\xff\xfe\x00S01")
    assert problems(run("log", "add", "walk", house, "--answers", spoilt, "--json")) == ["SAF-008"]


def test_the_safety_answer_reads_the_newest(run: Run, house: Path, sheet: Path) -> None:
    text = (house / "plan.toml").read_text("utf-8")
    (house / "plan.toml").write_text(re.sub(r"\[rain\].*?\n\n", "", text, flags=re.DOTALL), "utf-8")
    assert json.loads(run("safety", house, "--json").out)["logbook"] is None
    run("log", "add", "walk", house, "--answers", sheet)
    run("log", "add", "test", house, "e-coli", "<1 /100 mL", "--point", "kitchen")
    found = json.loads(run("safety", house, "--json").out)
    assert found["logbook"]["walk"]["stops"] == ["S19"]
    assert found["logbook"]["tests"][0]["result"] == "<1 in 100 mL"
    assert {d["what"]: d["state"] for d in found["logbook"]["due"]}["E. coli"] == "later"
    assert "SAF-130" in {f["code"] for f in found["findings"]}
    run("log", "add", "test", house, "e-coli", "300 /100 mL", "--point", "raw")
    run("log", "add", "test", house, "e-coli", "0 /100 mL", "--point", "sand-a")
    words = plain(run("safety", house))
    assert "2.5 log or more: 300 in 100 mL at raw, <1 in 100 mL at sand-a" in words
    assert "What the logbook says" in words and "still allows up to 95 % of the days" in words


def test_a_negative_count_is_told_as_one(run: Run, house: Path) -> None:
    ended = run("log", "add", "test", house, "e-coli", "-3 /100 mL")
    assert ended.code == 2
    assert "SAF-007" in ended.err and "never with a minus" in " ".join(ended.err.split())

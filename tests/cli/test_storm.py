"""The storm command as a user meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.conftest import Run
from cli.contract import EVENT_KEYS

KEYS = {
    "fell_m3",
    "caught_m3",
    "filtered_m3",
    "spilled",
    "peak_level_m",
    "account",
    "advice",
    "events",
    "minutes",
    "residual_m3",
    "findings",
}
ACCOUNT_KEYS = {"where", "how", "to_part", "words", "m3", "share_frac", "kept"}
TRIED_KEYS = {"change", "where", "words", "more_kept_m3", "more_filtered_m3", "of_lost_frac"}


def test_the_text_says_where_the_water_went(run: Run, house: Path) -> None:
    ended = run("storm", house, "--depth", "40 mm", "--duration", "30 min", "--full", "80 %")
    assert ended.code == 0
    assert ended.out.startswith("Will it catch the storm?  Of 6,160 L that fell on the roofs,")
    assert "raw tank: full; at worst" in ended.out
    assert "STO-101" in ended.out
    assert max(map(len, ended.out.splitlines())) <= 80


def test_the_stable_keys(run: Run, house: Path) -> None:
    ended = run("storm", house, "--depth", "1.5 in", "--json")
    answer = json.loads(ended.out)
    assert answer.keys() >= KEYS
    assert answer["minutes"] == 60 + 24 * 60
    for row in answer["spilled"]:
        assert row.keys() == {"where", "m3", "why"}
    for row in answer["account"]:
        assert row.keys() == ACCOUNT_KEYS
    assert sum(row["m3"] for row in answer["account"]) == pytest.approx(answer["fell_m3"])
    for row in answer["advice"]["tried"]:
        assert row.keys() == TRIED_KEYS
    for event in answer["events"]:
        assert event.keys() == EVENT_KEYS
    assert "series" not in answer


def test_without_a_depth_the_record_says_how_much(run: Run, alder_bench: Path) -> None:
    ended = run("storm", alder_bench, "--return-years", "5", "--json")
    answer = json.loads(ended.out)
    assert answer["depth_mm"] > 5.0
    assert "yearly maxima" in answer["rain_source"]


@pytest.mark.parametrize(
    ("words", "code", "where"),
    [
        (("--depth", "40"), "UNI-001", "--depth"),
        (("--depth", "40 mm", "--pattern", "square"), "STO-001", "--pattern"),
        (("--depth", "40 mm", "--full", "120 %"), "STO-002", "--full"),
        (("--depth", "40 mm", "--from", "1997-01-05"), "STO-004", "--depth"),
        (("--depth", "40 mm", "--hours", "36"), "STO-004", "--hours"),
        (("--depth", "40 mm", "--return-years", "5"), "STO-004", "--return-years"),
        (("--depth", "1e308 mm"), "STO-009", "--depth"),
        (("--depth", "-0 mm"), "STO-009", "--depth"),
        (("--depth", "40 mm", "--duration", "7 min"), "STO-009", "whole five minutes"),
        (("--duration", "0 h"), "STO-009", "--duration"),
        (("--duration", "1000 days"), "STO-009", "720 h"),
        (("--depth", "40 mm", "--step", "2 min"), "STO-005", "2 min"),
        (("--from", "2031-01-05"), "STO-006", "1996-01-01 to 1999-12-31"),
        (("--from", "5 January"), "STO-008", "--from"),
        (("--from", "1997"), "STO-008", "--from"),
        (("--from", "NaT"), "STO-008", "--from"),
        (("--depth", "40 mm", "--fault", "feed-a:stuck"), "FLT-001", "stuck-open"),
        (("--depth", "40 mm", "--fault", "feed-x:closed"), "FLT-002", "feed-a"),
        (("--depth", "40 mm", "--fault", "raw:stuck-open"), "FLT-002", "raw is no pipe"),
        (("--depth", "40 mm", "--fault", "sand-a:skin-clogged"), "FLT-003", "6"),
    ],
)
def test_bad_requests_are_refused(
    run: Run, house: Path, words: tuple[str, ...], code: str, where: str
) -> None:
    ended = run("storm", house, *words)
    assert ended.code == 2
    assert code in ended.err
    assert where in ended.err


def test_a_plan_without_rain_needs_a_depth(run: Run, house: Path) -> None:
    text = (house / "plan.toml").read_text("utf-8")
    (house / "plan.toml").write_text(text.replace('file = "rain.csv"\nform = "csv"\n', ""), "utf-8")
    assert run("storm", house, "--depth", "20 mm").code == 0
    ended = run("storm", house)
    assert ended.code == 2
    assert "STO-003" in ended.err


def test_a_few_years_do_not_tell_a_rare_storm(run: Run, house: Path) -> None:
    ended = run("storm", house, "--return-years", "5")
    assert ended.code == 2
    assert "longer record" in ended.err


def test_the_series_goes_to_a_file_and_into_the_json(run: Run, house: Path, tmp_path: Path) -> None:
    file = tmp_path / "minutes.csv"
    ended = run(
        "storm", house, "--depth", "30 mm", "--step", "1 min", "--series", file, "--with-series",
        "--json",
    )  # fmt: skip
    series = json.loads(ended.out)["series"]
    lines = file.read_text("utf-8").splitlines()
    assert len(lines) == 1 + 25 * 60 == 1 + len(series["rain_m"])
    assert lines[0].startswith("time [min],rain [mm],raw level [m]")
    assert sum(series["rain_m"]) == pytest.approx(0.030)
    assert len(series["levels_m"]["raw"]) == len(lines)


def test_the_worst_stretch_of_the_record_under_a_fault(
    run: Run, house: Path, tmp_path: Path
) -> None:
    page = tmp_path / "storm.html"
    ended = run("storm", house, "--from", "worst", "--hours", "24", "--out", page,
                "--fault", "feed-a:stuck-open")  # fmt: skip
    assert ended.code == 0
    assert "Under a fault: feed-a: its float valve is stuck open" in ended.out
    assert "rain of the record from" in ended.out
    assert f"Written: {page}" in ended.out
    assert page.read_text("utf-8").startswith("<!doctype html>")
    sound = json.loads(run("storm", house, "--from", "worst", "--hours", "24", "--json").out)
    stuck = json.loads(
        run("storm", house, "--from", "worst", "--hours", "24", "--json",
            "--fault", "feed-a:stuck-open").out
    )  # fmt: skip
    assert stuck["start"] == sound["start"]
    assert stuck["fell_m3"] == pytest.approx(sound["fell_m3"])
    spills = {row["where"] for row in stuck["spilled"]}
    assert "sand-a" in spills - {row["where"] for row in sound["spilled"]}


def test_a_file_that_cannot_be_written_is_said(run: Run, house: Path, tmp_path: Path) -> None:
    ended = run("storm", house, "--depth", "30 mm", "--series", tmp_path / "no" / "a.csv")
    assert ended.code == 2
    assert "OUT-001" in ended.err

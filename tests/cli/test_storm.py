"""The storm command as a user meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.conftest import Run

KEYS = {
    "fell_m3",
    "caught_m3",
    "filtered_m3",
    "spilled",
    "peak_level_m",
    "minutes",
    "residual_m3",
    "findings",
}


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
        (("--depth", "40 mm", "--duration", "7 min"), "REC-", ""),
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

"""Levels as a user asks for them: states, drawings, lowest stands and highest sand."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from cli.conftest import Run, put
from roofspring.network.levels import STATE_NAMES

SVG = "{http://www.w3.org/2000/svg}"


def test_every_check_has_its_states_and_every_state_its_water(run: Run, house: Path) -> None:
    answer = json.loads(run("levels", house, "--json").out)
    assert {s["state"] for s in answer["states"]} == set(STATE_NAMES)
    assert {s["temp_degc"] for s in answer["states"]} == {4.0, 20.0}
    for found in answer["states"]:
        assert set(found["level_m"]) == {"raw", "sand-a", "sand-b", "clean", "cistern"}
        assert {line["pipe_id"] for line in found["lines"]} >= {"feed-a", "to-kitchen"}
    over = next(c for c in answer["checks"] if c["where"] == "raw.brim over raw.overflow")
    margins = [s["margin_m"] for s in over["states"]]
    assert margins == sorted(margins) and over["margin_m"] == margins[0]
    assert "stuck open" in over["state"]
    weir = next(c for c in answer["checks"] if c["where"] == "sand-b.weir over sand-b.sand-top")
    assert weir["mends"] is True and weir["breaks"] == []
    assert 0.0 < answer["rain"]["rain_m_per_s"] * 3.6e6 < 300.0 and answer["rain"]["source"]
    assert not {"lowest_stands", "highest_sand", "files"} & set(answer)


def test_without_a_record_a_code_says_how_hard_it_rains(run: Run, house: Path) -> None:
    """75 mm/h, the usual of the United Kingdom (EN_12056_3, second hand)."""
    put(house, 'file = "rain.csv"\nform = "csv"\n', "")
    answer = json.loads(run("levels", house, "--json").out)
    assert answer["rain"]["rain_m_per_s"] == pytest.approx(75.0 / 3.6e6)
    assert answer["rain"]["source"].startswith("a code's own")


def test_states_are_told_worst_first(run: Run, house: Path) -> None:
    lines = run("levels", house).out.splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("state "))
    rows = [line.split() for line in lines[head + 1 :] if line.split()[:1]][1:]
    names = [row[0] for row in rows if row[0] in STATE_NAMES]
    assert names[0] == "cleaned" and set(names) == set(STATE_NAMES)


def test_lowest_stands_and_highest_sand(run: Run, house: Path) -> None:
    asked = ("levels", house, "--lowest-stand", "--highest-sand")
    answer = json.loads(run(*asked, "--json").out)
    raw = next(r for r in answer["lowest_stands"] if r["where"] == "raw" and not r["with_others"])
    assert raw["lowest_m"] < raw["now_m"] == pytest.approx(6.45)
    assert raw["held_by"][0].startswith("LVL-004") and raw["fails"] == []
    assert {r["where"] for r in answer["highest_sand"]} == {"sand-a", "sand-b"}
    text = run(*asked).out
    for words in ("lowered alone", "all lowered, from the taps up", "highest sand", "5 mm lower"):
        assert words in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_drawing_for_each_state(run: Run, house: Path, tmp_path: Path) -> None:
    out = tmp_path / "drawings"
    ended = run("levels", house, "--out", out)
    assert ended.code == 0
    assert sorted(p.name for p in out.iterdir()) == sorted(f"levels-{n}.svg" for n in STATE_NAMES)
    assert f"Written: {out / 'levels-design-rain.svg'}" in ended.out
    for file in out.iterdir():
        root = ElementTree.parse(file).getroot()
        assert root.tag == f"{SVG}svg"
        assert any("head" in "".join(t.itertext()) for t in root.iter(f"{SVG}text"))


def test_one_state_alone(run: Run, house: Path, tmp_path: Path) -> None:
    out = tmp_path / "one"
    answer = json.loads(run("levels", house, "--out", out, "--state", "cleaned", "--json").out)
    assert answer["files"] == [str(out / "levels-cleaned.svg")]
    assert [p.name for p in out.iterdir()] == ["levels-cleaned.svg"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--state", "clened", "--out", "x"), 'did you mean "cleaned"?'),
        (("--state", "cleaned"), "add --out and a folder"),
    ],
)
def test_a_state_that_cannot_be_drawn_is_a_problem(
    run: Run, house: Path, words: tuple[str, ...], said: str
) -> None:
    ended = run("levels", house, *words)
    assert ended.code == 2 and "LVL-023" in ended.err and said in ended.err
    problems = json.loads(run("levels", house, *words, "--json").out)["problems"]
    assert [p["code"] for p in problems] == ["LVL-023"]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ('length = "4 m"', 'length = "0 m"', "PLN-013"),
        ('size = "27 mm"\nlength = "9 m"', 'size = "0 mm"\nlength = "9 m"', "PLN-013"),
        ('size = "27 mm"\nlength = "9 m"', 'size = "27 m"\nlength = "9 m"', "PLN-013"),
        ('size = "27 mm"\nlength = "9 m"', 'size = "2.7 ft"\nlength = "9 m"', "LVL-019"),
        ('length = "12 m"', 'length = "1 m"', "NET-107"),
        ('length = "4 m"', 'length = "4 m"\nhigh-point = "7.0 m"', "NET-109"),
        ('length = "4 m"', 'length = "4 m"\nhigh-point = "8.5 m"', "NET-108"),
    ],
)
def test_slips_of_a_line_are_told(run: Run, house: Path, old: str, new: str, code: str) -> None:
    """Zero length or bore, a unit mixed up, heights from two datums, a pipe that climbs."""
    put(house, old, new)
    ended = run("levels", house)
    assert code in ended.out + ended.err
    assert ended.code == (2 if code.startswith("PLN") else 0)


def test_a_line_without_size_or_a_part_without_heights_is_still_answered(
    run: Run, house: Path
) -> None:
    put(house, 'size = "21 mm"\nlength = "4 m"', 'length = "4 m"')
    put(house, 'base = "4.15 m"\noutlet = "4.25 m"\noverflow = "5.35 m"\ninlet = "5.44 m"\n', "")
    ended = run("levels", house, "--json")
    assert ended.code == 0
    answer = json.loads(ended.out)
    assert all("clean" not in found["level_m"] for found in answer["states"])
    assert "LVL-020" in {f["code"] for f in answer["findings"]}

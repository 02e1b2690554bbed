"""What stands around the heights, as a user asks for it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.conftest import Run, put
from roofspring.constants import GRAVITY_M_PER_S2

GUTTER = 'gutter = { width = "125 mm", length = "24 m", outlets = 2, spills-on = "wall" }\n'


def enriched(house: Path) -> Path:
    """The demo with a gutter, a stand, a crop, and a swale that is described."""
    put(house, 'outlet = "8.60 m"\n', 'outlet = "8.60 m"\n' + GUTTER)
    put(
        house,
        'ground = "6.00 m"\n',
        'ground = "6.00 m"\nstand = { kind = "legs", height = "0.45 m", foot = "20 cm" }\n',
    )
    put(house, 'area = "14 m2"\n', 'area = "14 m2"\ndepth = "0.3 m"\nsoil = "loam"\n')
    text = (house / "plan.toml").read_text("utf-8")
    start = text.index("garden-depth")
    end = text.index("]\n", start) + 2
    changed = text[:start] + 'crop = "vegetables"\n' + text[end:]
    (house / "plan.toml").write_text(changed, "utf-8")
    return house


def test_every_key_has_what_the_plan_gives(run: Run, house: Path) -> None:
    ended = run("levels", enriched(house), "--json")
    assert (ended.code, ended.err) == (0, "")
    answer = json.loads(ended.out)
    (gutter,) = answer["drainage"]["gutters"]
    assert gutter["where"] == "cabin.gutter" and gutter["limited_by"] == "gutter"
    raw = next(row for row in answer["loads"] if row["where"] == "raw")
    # 1900 L of cold water and 38 kg of tank on four feet of 0.2 m.
    assert raw["full_kg"] == pytest.approx(1938.0, abs=1.0)
    assert raw["pressure_pa"] == pytest.approx(raw["full_kg"] * GRAVITY_M_PER_S2 / 0.16)
    assert {row["kind"] for row in answer["frost"]["rows"]} == {"tank", "filter", "pipe"}
    (swale,) = answer["swales"]
    assert swale["came_m3_per_year"] > 0.0
    (garden,) = answer["gardens"]
    assert garden["want_m3_per_year"] > 0.0
    codes = {f["code"] for f in answer["findings"]}
    assert {"LOD-101", "FRO-103", "LVL-007"} <= codes


def test_the_tables_are_printed_in_the_units_of_the_plan(run: Run, house: Path) -> None:
    metric = run("levels", enriched(house)).out
    for head in ("Gutter of", "load of", "frost in", "swale ", "garden "):
        assert f"\n{head}" in metric
    assert "licensed" in metric and "kPa" in metric
    put(house, 'show = "metric"', 'show = "us"')
    us = run("levels", house).out
    assert "psf" in us and "kPa" not in us and "in/h" in us


def test_pipes_and_overflows_are_told(run: Run, house: Path) -> None:
    answer = json.loads(run("levels", house, "--json").out)
    rows = {row["where"]: row for row in answer["pipes"]["rows"]}
    feed = rows["pipe.feed-a"]
    assert [(c["temp_degc"], c["strainer"]) for c in feed["cases"]] == [
        (4.0, "new"), (4.0, "clogged"), (20.0, "new"), (20.0, "clogged"),
    ]  # fmt: skip
    for case in feed["cases"]:
        assert sum(loss["head_m"] for loss in case["losses"]) == pytest.approx(feed["head_m"])
    overflows = answer["overflows"]
    raw = next(row for row in overflows["rows"] if row["where"] == "raw.overflow")
    # 154 m2 of roofs in the design rain, and a mesh that nobody says is wider than the pipe.
    assert raw["brings_m3_per_s"] == pytest.approx(overflows["rain_mm_per_h"] / 3.6e6 * 154.0)
    assert raw["has_mesh"] and raw["mesh_is_bore"] and raw["carries_m3_per_s"] > 0.0
    assert {"OVF-105", "OVF-106", "PIP-102"} <= {f["code"] for f in answer["findings"]}
    text = run("levels", house).out
    for head in ("Screen ", "First ", "Overflow ", "Open end ", "Pipe "):
        assert f"\n{head}" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_one_pipe_part_by_part(run: Run, house: Path) -> None:
    kitchen = 'size = "21 mm"\nlength = "12 m"\n'
    rows = '["0 m", "4.25 m"], ["4 m", "2 m"], ["6 m", "2.4 m"], ["12 m", "1.05 m"]'
    put(house, kitchen, f"{kitchen}profile = [{rows}]\n")
    text = run("levels", house, "--pipe", "to-kitchen").out
    assert "High point 6.00 m along, at 2.400 m" in text and "Low point 4.00 m along" in text
    for word in ("friction", "ball valve", "tap", "exit", "Reynolds", "turbulent"):
        assert word in text
    clogged = run("levels", house, "--pipe", "feed-a").out
    assert "1.65 to 84.2" in clogged and "clogged" in clogged
    bad = run("levels", house, "--pipe", "to-kichen")
    assert bad.code == 2 and 'did you mean "to-kitchen"?' in bad.err


def test_a_broken_record_leaves_the_heights(run: Run, house: Path) -> None:
    (house / "rain.csv").write_text("date,rain\n2020-01-01,1\n", "utf-8")
    answer = json.loads(run("levels", house, "--json").out)
    assert answer["checks"] and answer["frost"]["rows"] == []
    assert "LVL-021" in {f["code"] for f in answer["findings"]}


def test_a_crop_without_temperatures_is_a_problem_of_the_record(run: Run, house: Path) -> None:
    enriched(house)
    lines = (house / "rain.csv").read_text("utf-8").splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("date"))
    bare = lines[:head] + [line.rsplit(",", 2)[0] for line in lines[head:]]
    (house / "rain.csv").write_text("\n".join(bare) + "\n", "utf-8")
    ended = run("supply", house, "--json")
    assert ended.code == 2 and "REC-096" in ended.out


def test_the_report_has_the_tables(run: Run, house: Path) -> None:
    assert run("design", enriched(house)).code == 0
    page = (house / "report" / "report.html").read_text("utf-8")
    for title in (
        "Gutters",
        "Overflows",
        "Pipes that run full",
        "Open ends",
        "Loads",
        "Frost",
        "Swales",
        "Gardens",
    ):
        heads = (f'<h3 class="gap">{title}</h3>', f"<summary>{title}</summary>")
        assert any(head in page for head in heads), title


def test_wants_are_explained_by_what_others_found(run: Run, house: Path) -> None:
    animals = json.loads(run("explain", house, "goats.per-animal", "--json").out)
    goat = next(row for row in animals["published"] if row["what"] == "sheep or goat")
    assert (goat["least"], goat["most"]) == ("8 L/day", "8 L/day")
    people = run("explain", house, "washing.per-person").out
    assert "published" in people and "drinking and food" in people and "Sphere" in people
    assert "milking cow" in run("explain", house, "use.goats.per-animal").out
    house_table = run("explain", house, "use.goats.per-day").out
    assert "toilets" in house_table and "125 L/day" in house_table
    assert "berries" in run("explain", house, "garden.crop").out
    assert json.loads(run("explain", house, "raw.overflow", "--json").out)["published"] == []

"""`check` reads the sieve tests that the filters of a plan name."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from cli.conftest import Run, put
from sand.sands import PIT, write

KEYS = {"code", "what", "file", "line", "where", "got", "allowed", "next"}
SAND_B = 'sieve = "sand.csv"\n# no throttle'


@pytest.fixture
def demo(alder_bench: Path, tmp_path: Path) -> Path:
    """The demo's plan and sand; no rain, which is not what is looked at here."""
    for name in ("plan.toml", "sand.csv"):
        write(tmp_path, (alder_bench / name).read_text("utf-8"), name)
    put(tmp_path, 'file = "rain.csv"\nform = "csv"\n', "")
    return tmp_path


def problems(run: Run, folder: Path) -> list[dict[str, Any]]:
    ended = run("check", folder, "--json")
    assert (ended.code, ended.err) == (2, "")
    found: list[dict[str, Any]] = json.loads(ended.out)["problems"]
    for one in found:
        assert one.keys() == KEYS and one["what"] and one["next"]
    return found


def line_of(folder: Path, text: str) -> int:
    lines = (folder / "plan.toml").read_text("utf-8").splitlines()
    return 1 + next(i for i, line in enumerate(lines) if text in line)


def test_of_a_good_sieve_test_nothing_is_said(run: Run, demo: Path) -> None:
    ended = run("check", demo, "--json")
    assert ended.code == 0
    assert not [f for f in json.loads(ended.out)["findings"] if f["code"].startswith("SIV")]


def test_a_spreadsheet_is_read_too(run: Run, demo: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in (("sieve mm", "retained g"), (0.6, 60), (0.3, -90), (0.15, 45), ("pan", 5)):
        sheet.append(row)
    book.save(demo / "river.xlsx")
    put(demo, SAND_B, 'sieve = "river.xlsx"')
    (one,) = problems(run, demo)
    assert (one["code"], Path(one["file"]).name, one["line"]) == ("SIV-006", "river.xlsx", 3)
    assert one["got"] == "-90 g" and one["allowed"] == "0 or more"


def test_every_bad_row_of_every_file_comes_beside_the_slips_in_the_plan(
    run: Run, demo: Path
) -> None:
    bad = PIT.replace("0.600,92.0", "600,92.0").replace("0.150,124.0", "0.150,-124")
    write(demo, bad.replace("0.075,25.0", "0.075,x"))
    write(demo, "sieve mm,passing %\n0.6,140\n0.3,20\n", "river.csv")
    put(demo, SAND_B, 'sieve = "river.csv"')
    put(demo, "people = 5", "peeple = 5")
    found = problems(run, demo)
    said = [(p["code"], Path(p["file"]).name, p["line"], p["got"]) for p in found]
    assert said == [
        ("PLN-010", "plan.toml", line_of(demo, "peeple"), "peeple"),
        ("SIV-016", "sand.csv", 5, "600"),
        ("SIV-006", "sand.csv", 7, "-124 g"),
        ("SIV-005", "sand.csv", 8, "'x'"),
        ("SIV-007", "river.csv", 2, "140 %"),
    ]
    assert all(p["allowed"] for p in found[1:])
    shown = run("check", demo)
    assert shown.code == 2 and shown.err.startswith("5 problems:\n")


def test_a_file_that_two_filters_name_is_told_once(run: Run, demo: Path) -> None:
    write(demo, "sieve mm,retained g\n0.6,3\npan,4\n")
    assert [p["code"] for p in problems(run, demo)] == ["SIV-010"]


@pytest.mark.parametrize("content", [None, b"\xff\xfe\x00\x01", b"PK\x03\x04 torn"])
def test_one_that_cannot_be_opened_is_told_where_the_plan_names_it(
    run: Run, demo: Path, content: bytes | None
) -> None:
    put(demo, SAND_B, 'sieve = "gone.csv"')
    if content is not None:
        (demo / "gone.csv").write_bytes(content)
    (one,) = problems(run, demo)
    assert one["code"] == "SIV-001" and one["file"] == str(demo / "plan.toml")
    assert one["line"] == line_of(demo, "gone.csv")
    assert one["where"] == "filter.sand-b.sieve" and one["got"].startswith("gone.csv")


@pytest.mark.parametrize(
    ("heading", "looks_like"),
    [
        ("passing %", "percent retained on each sieve and all above it"),
        ("retained %", "percent retained on each sieve and all above it"),
    ],
)
def test_retained_and_passing_mixed_up(run: Run, demo: Path, heading: str, looks_like: str) -> None:
    write(demo, f"sieve mm,{heading}\n1.18,2\n0.6,30\n0.3,80\n0.15,97\n")
    (one,) = problems(run, demo)
    assert one["code"] == "SIV-011" and looks_like in one["got"]


def test_a_uniformity_that_no_formula_takes_is_told_with_its_line(run: Run, demo: Path) -> None:
    put(demo, f"uniformity = 2.0\n{SAND_B}", f"uniformity = 6.0\n{SAND_B}")
    (one,) = problems(run, demo)
    assert (one["code"], one["where"]) == ("PLN-013", "filter.sand-b.uniformity")
    assert one["line"] == line_of(demo, "uniformity = 6.0") and "1 to 5" in one["allowed"]


def test_a_test_that_lost_too_much_stops(run: Run, demo: Path) -> None:
    write(demo, PIT.replace("before,500.2", "before,503"))
    ended = run("check", demo, "--json", "--strict")
    (one,) = [f for f in json.loads(ended.out)["findings"] if f["code"].startswith("SIV")]
    assert ended.code == 1
    assert (one["code"], one["where"], one["got"]) == ("SIV-101", "sand.csv", "0.68 %")  # 3.4/503


def test_a_bad_record_and_a_bad_sieve_test_come_together(run: Run, demo: Path) -> None:
    put(demo, "[rain]\n", '[rain]\nfile = "rain.csv"\n')
    write(demo, "date,rain\n2020-01-01,1\n", "rain.csv")
    write(demo, "")
    assert [p["code"] for p in problems(run, demo)] == ["SIV-001", "REC-006"]


@pytest.mark.parametrize(
    "text", ["filter = 3", "[filter]\nsand = 3", "[filter.sand]\nsieve = 3", "[filter", ""]
)
def test_a_plan_that_is_hardly_one_still_lists_its_own(run: Run, demo: Path, text: str) -> None:
    (demo / "plan.toml").write_text(text, "utf-8")
    assert {p["code"][:3] for p in problems(run, demo)} == {"PLN"}

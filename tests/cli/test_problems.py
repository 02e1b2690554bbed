"""Bad input ends with 2, says everything at once, and leaves nothing behind."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from cli.conftest import Run, put

PROBLEM_KEYS = {"code", "file", "line", "where", "got", "allowed", "next"}
"""The contract's keys of a problem; ``what`` stands beside them."""


def problems(text: str) -> list[dict[str, Any]]:
    assert text.count("\n") == 1
    found = json.loads(text)
    assert set(found) == {"problems"}
    return list(found["problems"])


def spoil(house: Path) -> None:
    """Three slips of the hand, in three tables."""
    put(house, "people = 5", "peeple = 5")
    put(house, 'overflow = "7.75 m"', 'overflow = "7.75 kg"')
    put(house, 'to = "raw.inlet"', 'to = "raww.inlet"')


SLIPS = [("PLN-010", "site.peeple"), ("PLN-013", "tank.raw.overflow"), ("PLN-021", None)]


@pytest.mark.parametrize("command", ["check", "supply", "levels", "design"])
def test_a_bad_plan_lists_all_its_problems(run: Run, house: Path, command: str) -> None:
    spoil(house)
    lines = (house / "plan.toml").read_text("utf-8").splitlines()

    ended = run(command, house)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("3 problems:\n")
    for word in ("PLN-010", "PLN-013", "PLN-021", 'did you mean "people"?', '"7.75 kg"'):
        assert word in ended.err

    ended = run(command, house, "--json")
    assert (ended.code, ended.err) == (2, "")
    found = problems(ended.out)
    assert [p["code"] for p in found] == [code for code, _ in SLIPS]
    for problem, (_, where) in zip(found, SLIPS, strict=True):
        assert set(problem) >= PROBLEM_KEYS
        assert problem["what"] and problem["next"]
        assert where is None or problem["where"] == where
        word = {"PLN-010": "peeple", "PLN-013": "7.75 kg", "PLN-021": "raww"}[problem["code"]]
        assert word in lines[problem["line"] - 1]
    assert not (house / "report").exists()


@pytest.mark.parametrize("command", ["check", "supply", "levels", "design"])
def test_no_plan_there(run: Run, tmp_path: Path, command: str) -> None:
    for path in (tmp_path / "nothing", tmp_path / "plan.toml", tmp_path):
        ended = run(command, path)
        assert ended.code == 2 and ended.err.startswith("PLN-001") and "Next:" in ended.err
        assert problems(run(command, path, "--json").out)[0]["code"] == "PLN-001"


def test_a_plan_without_a_rain_record_answers_what_it_can(run: Run, house: Path) -> None:
    put(house, 'file = "rain.csv"\n', "")
    ended = run("supply", house, "--json")
    assert ended.code == 2
    (problem,) = problems(ended.out)
    assert problem["code"] == "PLN-060" and problem["where"] == "rain.file"
    assert problem["line"] and problem["next"]
    assert run("design", house).code == 0
    assert run("levels", house).code == 0
    assert run("check", house).code == 0


@pytest.mark.parametrize("command", ["check", "supply", "rain"])
def test_a_record_that_is_not_there_is_told_where_the_plan_names_it(
    run: Run, house: Path, command: str
) -> None:
    put(house, 'file = "rain.csv"', 'file = "rian.csv"')
    words = ["rain", "inspect"] if command == "rain" else [command]
    (problem,) = problems(run(*words, house, "--json").out)
    assert problem["code"] == "REC-001" and problem["where"] == "rain.file"
    assert problem["got"] == "rian.csv" and problem["file"].endswith("plan.toml")
    lines = (house / "plan.toml").read_text("utf-8").splitlines()
    assert "rian.csv" in lines[problem["line"] - 1]


BAD_RECORDS = {
    "missing": (None, "REC-001"),
    "empty": (b"", "REC-004"),
    "not text": (bytes(range(256)), "REC-003"),
    "no unit": (b"date,rain\n2020-01-01,1\n", "REC-006"),
    "a bad date": (b"date,precip_mm\n2021-02-29,1\n2021-03-01,1\n", "REC-009"),
}


@pytest.mark.parametrize("kind", BAD_RECORDS)
@pytest.mark.parametrize("command", ["check", "supply", "design"])
def test_an_unreadable_record(run: Run, house: Path, kind: str, command: str) -> None:
    content, code = BAD_RECORDS[kind]
    (house / "rain.csv").unlink()
    put(house, 'form = "csv"\n', "")
    if content is not None:
        (house / "rain.csv").write_bytes(content)
    ended = run(command, house)
    assert ended.code == 2 and code in ended.err and "rain.csv" in ended.err
    assert code in {p["code"] for p in problems(run(command, house, "--json").out)}
    assert run("rain", "inspect", house / "rain.csv").code == 2
    assert run("levels", house).code == 0


def test_a_usage_error_ends_with_two(run: Run, house: Path) -> None:
    for words in (
        ["chek", str(house)],
        ["supply", str(house), "--unknown"],
        ["supply"],
        ["supply", str(house), "too", "many"],
        ["rain", "inspct"],
    ):
        ended = run(*words)
        assert ended.code == 2 and ended.out == "" and ended.err.startswith("CMD-001")
        assert "--help" in ended.err
    assert run("rain").err.startswith("Usage:")
    assert "Did you mean 'check'?" in run("chek", house).err


def test_a_file_in_the_way_of_the_report(run: Run, house: Path) -> None:
    (house / "report").write_text("my shopping list", "utf-8")
    ended = run("design", house)
    assert ended.code == 2 and ended.err.startswith("OUT-001")
    assert problems(run("design", house, "--json").out)[0]["code"] == "OUT-001"
    assert (house / "report").read_text("utf-8") == "my shopping list"
    assert sorted(p.name for p in house.iterdir()) == [
        "plan.toml",
        "rain.csv",
        "report",
        "sand.csv",
    ]


def test_a_folder_in_the_way_of_a_file(run: Run, house: Path) -> None:
    (house / "report" / "answers.json").mkdir(parents=True)
    ended = run("design", house)
    assert ended.code == 2 and ended.err.startswith("OUT-001")
    assert not [p for p in (house / "report").iterdir() if p.suffix == ".part"]


def test_out_chooses_the_folder(run: Run, house: Path, tmp_path: Path) -> None:
    ended = run("design", house, "--out", tmp_path / "deep" / "down")
    assert ended.code == 0
    names = sorted(p.name for p in (tmp_path / "deep" / "down").iterdir())
    assert names == ["answers.json", "report.html"]
    assert not (house / "report").exists()


def start(
    *words: str | Path, program: Sequence[str] = ("-m", "roofspring"), **settings: Any
) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-W", "error", *program, *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        text=True,
        **settings,
    )


READY = "import sys; from roofspring.cli.app import main; print('ready', flush=True); main()"


def test_an_interruption_leaves_nothing_half_written(alder_bench: Path, tmp_path: Path) -> None:
    """Ctrl-C in the middle of thirty years: an older report stays, and nothing new begins."""
    folder = tmp_path / "house"
    shutil.copytree(alder_bench, folder)
    (folder / "report").mkdir()
    (folder / "report" / "report.html").write_text("the old one", "utf-8")
    process = start("design", folder, program=["-c", READY])
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    time.sleep(0.7)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (130, ""), err
    # Before it, -W error may tell of a file that Python itself had open in an import.
    assert err.splitlines()[-1] == "Stopped. Nothing was half-written."
    assert "roofspring" not in err
    assert (folder / "report" / "report.html").read_text("utf-8") == "the old one"
    files = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}
    assert files == {"plan.toml", "rain.csv", "sand.csv", "report/report.html"}


@pytest.mark.parametrize("command", ["design", "new", "demo"])
def test_an_interruption_while_a_file_is_written(
    run: Run, house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """The worst moment: the text is on the disk, under another name, and not yet in its place."""

    def interrupted(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    folder = house if command == "design" else tmp_path / "elsewhere"
    ended = run(command, folder, *(["--yes"] if command == "new" else []))
    assert ended.code == 130 and ended.err.endswith("Nothing was half-written.\n")
    left = {p.name for p in folder.rglob("*") if p.is_file()}
    assert left == ({"plan.toml", "rain.csv", "sand.csv"} if command == "design" else set())


@pytest.mark.parametrize("hidden", [False, True])
def test_an_interruption_inside_compiled_code(
    run: Run, house: Path, monkeypatch: pytest.MonkeyPatch, hidden: bool
) -> None:
    """There it comes out as another error, with the interruption as its cause."""

    def interrupted(*_: object) -> None:
        if not hidden:
            raise KeyboardInterrupt
        try:
            raise KeyboardInterrupt
        except KeyboardInterrupt as stop:
            raise SystemError("returned a result with an exception set") from stop

    monkeypatch.setattr("roofspring.network.simulate.run", interrupted)
    ended = run("supply", house)
    assert (ended.code, ended.out) == (130, "")
    assert ended.err == "Stopped. Nothing was half-written.\n"


def test_the_end_of_input_stops_the_questions(run: Run, tmp_path: Path) -> None:
    ended = run("new", tmp_path / "place", typed="metric\n")
    assert ended.code == 130 and "Stopped" in ended.err
    assert not (tmp_path / "place").exists()


def test_as_a_module_with_warnings_as_errors() -> None:
    process = start("levels", "--help")
    out, err = process.communicate(timeout=30)
    assert (process.returncode, err) == (0, "")
    assert "Will it flow?" in out

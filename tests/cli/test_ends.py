"""How a command ends where it could not answer, or could not print what it answered."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from cli.conftest import Run
from cli.test_problems import problems, start


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["chek", "HOUSE"], "'check'"),
        (["supply"], "PLAN"),
        (["supply", "HOUSE", "--futures", "99999"], "10000"),
        (["supply", "HOUSE", "--seed", "-1"], "--seed"),
        (["safety", "HOUSE", "--seed", "-1"], "--seed"),
        (["supply", "HOUSE", "--fautl", "x"], "--fault"),
        (["sand", "HOUSE", "--section", "guid"], '"guide"'),
        (["sand", "HOUSE", "--units", "imperial"], "metric"),
        (["log", "show", "HOUSE", "--kind", "tst"], "test"),
        (["rain", "inspect", "HOUSE", "--stamp", "mid"], "start"),
    ],
)
def test_a_usage_error_is_one_json_object_too(
    run: Run, house: Path, words: Sequence[str], said: str
) -> None:
    words = [str(house) if word == "HOUSE" else word for word in words]
    ended = run(*words, "--json")
    assert (ended.code, ended.err) == (2, "")
    (problem,) = problems(ended.out)
    assert problem["code"] in ("CMD-001", "SIV-021") and problem["next"]
    assert said in f"{problem['what']} {problem['allowed']} {problem['next']}"
    ended = run(*words)
    assert (ended.code, ended.out) == (2, "") and said in ended.err


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["log", "add", "test", "HOUSE", "ecoli", "<1 /100 mL"], "e-coli"),
        (["log", "add", "test", "HOUSE", "Leed", "<1 ug/L"], "lead"),
        (["levels", "HOUSE", "--pipe", "fed-a"], "feed-a"),
        (["storm", "HOUSE", "--depth", "9 mm", "--pattern", "huf1"], "huff1"),
        (["supply", "HOUSE", "--futures", "2", "--model", "whole-year"], "whole-years"),
        (["sand", "HOUSE", "--filter", "sand-c"], "sand-b"),
        (["sand", "HOUSE", "--criterion", "ten-state"], "ten-states"),
        (["sand", "HOUSE", "--gravel", "household1"], "household"),
        (["sand", "HOUSE", "--as", "passing-percnt"], "passing-percent"),
        (["rain", "inspect", "RAIN", "--form", "xls"], "xlsx"),
        (["explain", "LVL-7"], "LVL-007"),
    ],
)
def test_a_name_that_is_not_known_is_guessed(
    run: Run, house: Path, words: Sequence[str], meant: str
) -> None:
    places = {"HOUSE": str(house), "RAIN": str(house / "rain.csv")}
    ended = run(*(places.get(word, word) for word in words), "--json")
    assert (ended.code, ended.err) == (2, "")
    (problem,) = problems(ended.out)
    assert problem["next"] == f'did you mean "{meant}"?'


@pytest.mark.parametrize("as_json", [False, True])
def test_a_defect_says_that_it_is_one(
    run: Run, house: Path, monkeypatch: pytest.MonkeyPatch, as_json: bool
) -> None:
    """Not code 1, which says that there is an answer; the lines for the report stay on stderr."""

    def broken(*_: object) -> None:
        raise SystemError("a defect")

    monkeypatch.setattr("roofspring.network.simulate.run", broken)
    ended = run("supply", house, *["--json"] * as_json)
    assert ended.code == 2 and "Traceback" in ended.err
    if as_json:
        (problem,) = problems(ended.out)
        assert problem["code"] == "CMD-002" and problem["got"] == "SystemError: a defect"
    else:
        assert ended.out == "" and "CMD-002" in ended.err and "report it" in ended.err


def test_too_little_memory_says_so(run: Run, house: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise MemoryError("unable to allocate 80 GiB")

    monkeypatch.setattr("roofspring.network.simulate.run", broken)
    ended = run("supply", house)
    assert ended.code == 2 and ended.err.startswith("CMD-003")
    assert "80 GiB" in " ".join(ended.err.split()) and "Traceback" not in ended.err


@pytest.mark.parametrize("columns", ["0", "-3", "1", "40", "wide"])
def test_any_width_of_the_terminal_gets_its_answer(
    run: Run, house: Path, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ended = run("check", house)
    assert ended.code == 0 and "SAF-101" in ended.out, ended.err
    ended = run("check", house / "nothing")
    assert ended.code == 2 and ended.err.startswith("PLN-001"), ended.err


@pytest.mark.parametrize("command", ["check", "sand", "design"])
def test_a_path_that_no_disk_can_hold(run: Run, command: str) -> None:
    ended = run(command, "x" * 300)
    assert ended.code == 2 and "too long" in ended.err and "Next:" in ended.err
    (problem,) = problems(run(command, "x" * 300, "--json").out)
    assert problem["file"].startswith("xxx")


def test_a_plain_stream_still_gets_its_answer(house: Path) -> None:
    """Not every stream can write m³ or an arrow."""
    process = start("check", house, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert "SAF-101" in out and out.isascii()


@pytest.mark.parametrize("words", [("levels",), ("levels", "--json")])
def test_a_closed_pipe_is_no_defect(house: Path, words: Sequence[str]) -> None:
    """As ``| head``: the code is not 1, which would say that a finding says STOP."""
    process = start(words[0], house, *words[1:])
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    err = process.stderr.read()
    assert (process.wait(timeout=60), err) == (141, "")
    process.stderr.close()


@pytest.mark.parametrize("words", [("check",), ("check", "--json"), ("chek", "--json")])
def test_an_answer_that_finds_no_room(house: Path, words: Sequence[str]) -> None:
    with Path("/dev/full").open("w") as full:
        process = subprocess.run(
            [sys.executable, "-m", "roofspring", words[0], house, *words[1:]],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
            check=False,
        )
    assert process.returncode == 2 and process.stderr.startswith("OUT-003"), process.stderr
    assert "Traceback" not in process.stderr and "ignored" not in process.stderr


@pytest.mark.parametrize("closed", [1, 2])
def test_a_stream_that_is_not_there(house: Path, closed: int) -> None:
    process = subprocess.run(
        ["sh", "-c", f'exec "$0" -m roofspring check "$1" --json {closed}>&-', sys.executable,
         str(house)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )  # fmt: skip
    assert (process.returncode, process.stderr) == (0, "")
    assert bool(process.stdout) == (closed == 2)

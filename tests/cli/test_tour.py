"""The five-minute tour is followed to the letter: its edits are made, its commands are run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from cli.conftest import Run, put

PAGE = Path(__file__).parents[2] / "docs" / "guides" / "five-minute-tour.md"
STEP = re.compile(
    r"change\s+`(?P<old>[^`]+)`\s+to\s+`(?P<new>[^`]+)`|```console\n(?P<shown>.*?)```", re.DOTALL
)


def _check(shown: list[str], real: list[str], command: str) -> None:
    """Every line that is shown is printed, in this order; ``...`` stands for any other lines."""
    at = 0
    for line in shown:
        if line == "...":
            continue
        start, cut, _ = line.partition(" ...")
        while at < len(real) and not (real[at].startswith(start) if cut else real[at] == line):
            at += 1
        assert at < len(real), f"{command} does not print, at its place: {line}"
        at += 1


def test_the_tour_is_true(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    commands = 0
    for step in STEP.finditer(PAGE.read_text("utf-8")):
        if step["old"]:
            put(Path("alder-bench"), step["old"], step["new"])
            continue
        for block in re.split(r"^\$ ", step["shown"], flags=re.MULTILINE)[1:]:
            command, *shown = block.splitlines()
            ended = run(*shlex.split(command)[1:])
            assert ended.code == 0, ended.err
            _check(shown, ended.out.splitlines(), command)
            commands += 1
    assert commands == 10


def test_a_wrong_line_would_be_seen() -> None:
    with pytest.raises(AssertionError, match="does not print"):
        _check(["one", "...", "three"], ["one", "two"], "roofspring nothing")
    with pytest.raises(AssertionError, match="does not print"):
        _check(["two", "one"], ["one", "two"], "roofspring nothing")

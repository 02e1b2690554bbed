"""The command run in this process, on copies of Alder Bench with four of its thirty years."""

from __future__ import annotations

import io
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import pytest

from roofspring.cli.app import main
from roofspring.workflows import write_demo


@dataclass(frozen=True)
class Ended:
    """What a command left behind: exit code and both streams."""

    code: int
    out: str
    err: str


class Run(Protocol):
    def __call__(self, *words: str | Path, typed: str = "") -> Ended: ...


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """``run("levels", folder)``: as ``roofspring levels FOLDER`` in an 80-column terminal."""
    monkeypatch.setenv("COLUMNS", "80")

    def call(*words: str | Path, typed: str = "") -> Ended:
        monkeypatch.setattr(sys, "argv", ["roofspring", *map(str, words)])
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as end:
            main()
        out, err = capsys.readouterr()
        return Ended(int(end.value.code or 0), out, err)

    return call


@pytest.fixture(scope="session")
def alder_bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole demo, as it is written. Not to be changed."""
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    return folder


@pytest.fixture(scope="session")
def four_years(alder_bench: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with the first four years of its rain. Not to be changed."""
    folder = tmp_path_factory.mktemp("four-years")
    for name in ("plan.toml", "sand.csv"):
        shutil.copy(alder_bench / name, folder)
    lines = (alder_bench / "rain.csv").read_text("utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line[:4].isdigit() or line < "2000"]
    (folder / "rain.csv").write_text("".join(kept), "utf-8")
    return folder


@pytest.fixture
def house(four_years: Path, tmp_path: Path) -> Path:
    """A copy of the four-year demo that a test may spoil."""
    folder = tmp_path / "house"
    shutil.copytree(four_years, folder)
    return folder


def put(folder: Path, old: str, new: str) -> None:
    """Replace a text that stands once in the plan of a folder."""
    file = folder / "plan.toml"
    text = file.read_text("utf-8")
    assert text.count(old) == 1, old
    file.write_text(text.replace(old, new), "utf-8")

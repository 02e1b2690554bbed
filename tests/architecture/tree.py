"""The files of the project, read once for the tests that look at them."""

from __future__ import annotations

import ast
import importlib
import io
import pkgutil
import subprocess
import tokenize
from functools import cache
from pathlib import Path
from types import ModuleType

import roofspring

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "roofspring"
TESTS = ROOT / "tests"


@cache
def source_files(*endings: str) -> tuple[Path, ...]:
    """Files of the package with one of the endings."""
    return tuple(sorted(p for p in SOURCE.rglob("*") if p.suffix in endings))


@cache
def python_tests() -> tuple[Path, ...]:
    return tuple(sorted(TESTS.rglob("*.py")))


@cache
def tracked_files() -> tuple[Path, ...]:
    """What is, or would be, under version control."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return tuple(p for name in listed.split("\0") if name and (p := ROOT / name).is_file())


@cache
def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(text_of(path))


@cache
def words_of(path: Path) -> tuple[tuple[int, str], ...]:
    """Comments and string literals of a Python file, with their lines."""
    tokens = tokenize.generate_tokens(io.StringIO(text_of(path)).readline)
    return tuple(
        (t.start[0], t.string) for t in tokens if t.type in (tokenize.COMMENT, tokenize.STRING)
    )


def place(path: Path, line: int | None = None) -> str:
    name = str(path.relative_to(ROOT))
    return name if line is None else f"{name}:{line}"


@cache
def modules() -> tuple[ModuleType, ...]:
    """Every module of the package, imported."""
    return tuple(
        importlib.import_module(m.name)
        for m in pkgutil.walk_packages(roofspring.__path__, "roofspring.")
        if not m.name.endswith("__main__")
    )

"""Words that never appear, and digits that need a source."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from architecture.tree import (
    ROOT,
    TESTS,
    place,
    python_tests,
    source_files,
    text_of,
    tracked_files,
    tree_of,
    words_of,
)

PROMISES = re.compile(r"\b(?:safe(?:ly)?|potable|certified)\b", re.IGNORECASE)
"""Words that promise what no calculation can."""

PRIVATE = [
    re.compile(pattern)
    for pattern in (
        r"(?<![\w.])/" + r"(?:work|tmp|root|home|Users)/",
        r"[A-Z]:\\" + r"Users",
        "hand" + r"book/",
        r"\bpypi\."
        + r"org|python"
        + r"hosted|local"
        + r"host:\d|https?://(?!127\.0\.0\.1:\{)\d+\.\d+",
    )
]
"""Paths of one machine, private papers, package registries."""

TEXT = (".py", ".toml", ".md", ".csv", ".html", ".css", ".cff", ".txt", ".cfg", ".yml", "")
QUOTES_THE_RULE = {"CONTRIBUTING.md", "tests/architecture/test_words.py"}
"""These say which words are not used."""


def test_no_promise_in_what_a_person_reads() -> None:
    pages = [p for p in tracked_files() if p.suffix == ".md" and place(p) not in QUOTES_THE_RULE]
    wrong = [
        f"{place(path, number)}: {line.strip()}"
        for path in (*source_files(".py", ".toml", ".html", ".csv"), *pages)
        for number, line in enumerate(text_of(path).splitlines(), 1)
        if PROMISES.search(line)
    ]
    assert not wrong


def test_no_path_of_one_machine() -> None:
    wrong = [
        f"{place(path, number)}: {line.strip()[:80]}"
        for path in tracked_files()
        if path.suffix in TEXT and path != ROOT / "LICENSE"
        for number, line in enumerate(text_of(path).splitlines(), 1)
        if any(pattern.search(line) for pattern in PRIVATE)
    ]
    assert not wrong


EVIDENCE = ("reference", "analytic", "regression")
"""Folders whose files state the source of every number, in their own form."""

SOURCED = re.compile(
    r"[A-Z][A-Z0-9]*_(?:1[6-9]|20)\d\d|closed form|computed|exact|elementary|published"
    r"|by hand|spreadsheet|common practice|integral",
    re.IGNORECASE,
)
"""What a comment, a docstring or the name of a test says about where a number is from. A comment
that writes the number itself, with what it is made from, does as well."""

CALENDAR_OR_NEXT_TO_ROUND = re.compile(r"365\.25$|\d*\.?\d?(?:9{3,}|0{3,}1)$")
NEAR_LINES = 10
"""A comment above a group of tests counts for those that begin within this many lines."""


def _digits(text: str) -> int:
    return len(text.replace(".", "").strip("0"))


def _said_about(path: Path, statement: ast.stmt) -> str:
    """Comments and strings inside a top-level statement and just above it, and its name."""
    first = statement.lineno - NEAR_LINES
    assert statement.end_lineno is not None
    said = [text for line, text in words_of(path) if first <= line <= statement.end_lineno]
    return " ".join([*said, getattr(statement, "name", "").replace("_", " ")])


def _long_floats(path: Path) -> Iterator[str]:
    for statement in tree_of(path).body:
        said = None
        for node in ast.walk(statement):
            if not (isinstance(node, ast.Constant) and type(node.value) is float):
                continue
            written = ast.get_source_segment(text_of(path), node) or ""
            mantissa = re.split("[eE]", written.replace("_", ""))[0]
            if "." not in mantissa or _digits(mantissa) < 5:
                continue
            if CALENDAR_OR_NEXT_TO_ROUND.match(mantissa):
                continue
            said = _said_about(path, statement) if said is None else said
            if not SOURCED.search(said) and not re.search(rf"#[^#]*{re.escape(written)}", said):
                yield f"{place(path, node.lineno)}: {written}"


def test_long_numbers_in_tests_name_their_source() -> None:
    """Digits that nobody can trace are often the program's own."""
    found = [
        line
        for path in python_tests()
        if path.relative_to(TESTS).parts[0] not in EVIDENCE
        for line in _long_floats(path)
    ]
    assert not found

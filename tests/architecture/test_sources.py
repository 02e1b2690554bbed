"""Every number can be traced: keys exist, are used, and say how they were seen."""

from __future__ import annotations

import ast
import csv
import re
import tomllib
from collections import defaultdict

import pytest

from architecture.tree import (
    SOURCE,
    modules,
    place,
    python_tests,
    source_files,
    text_of,
    tree_of,
    words_of,
)
from roofspring.constants import Sourced
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE, KEY, bibliography, cite

BIBLIOGRAPHY = SOURCE / "sources" / "bibliography.toml"
WORD = re.compile(r"(?<![\w.])[A-Z][A-Z0-9]*(?:_[A-Z0-9]+)+(?![\w])")
DATED = re.compile(r"_(?:1[6-9]|20)\d\d[A-Z]?$")
"""An ``AUTHOR_YEAR`` key: nothing else in capitals ends in a year."""


def _mentioned() -> dict[str, list[str]]:
    """Words that look like keys, in comments, strings and tables, with their places."""
    found: dict[str, list[str]] = defaultdict(list)
    for path in (*source_files(".py"), *python_tests()):
        names = {n.id for n in ast.walk(tree_of(path)) if isinstance(n, ast.Name)}
        for line, text in words_of(path):
            for word in WORD.findall(text):
                if word not in names:
                    found[word].append(place(path, line))
    for path in source_files(".csv", ".toml"):
        if path != BIBLIOGRAPHY:
            for word in WORD.findall(text_of(path)):
                found[word].append(place(path))
    return found


def test_no_unknown_key() -> None:
    known = bibliography()
    unknown = {w: at for w, at in _mentioned().items() if DATED.search(w) and w not in known}
    assert not unknown


def test_no_unused_key() -> None:
    assert not set(bibliography()) - set(_mentioned())


def test_keys_are_sorted_and_look_like_keys() -> None:
    keys = list(tomllib.loads(text_of(BIBLIOGRAPHY)))
    assert keys == sorted(keys)
    assert all(KEY.fullmatch(key) for key in keys)


@pytest.mark.parametrize("key", bibliography())
def test_entry_is_whole(key: str) -> None:
    entry = bibliography()[key]
    assert set(entry) <= {"authors", "year", "title", "in", "seen"}
    assert all(entry.get(part, "").strip() for part in ("authors", "year", "title", "seen"))
    assert entry["seen"] in ("read", "quoted", "memory", "computed")
    assert re.fullmatch(r"\d{4}|n\.d\.", entry["year"])


def _is_source(text: str) -> bool:
    if text in ("", COMMON_PRACTICE) or text.startswith(ENGINEERING_CHOICE):
        return True
    key = text.partition(",")[0].strip()
    return key in bibliography()


def test_every_source_argument_is_a_source() -> None:
    """``source="..."`` anywhere in the package is a key, common practice or our own choice."""
    wrong = [
        f"{place(path, word.value.lineno)}: {word.value.value}"
        for path in source_files(".py")
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Call)
        for word in node.keywords
        if word.arg == "source"
        and isinstance(word.value, ast.Constant)
        and isinstance(word.value.value, str)
        and not _is_source(word.value.value)
    ]
    assert not wrong


def test_every_constant_has_a_source() -> None:
    found = {
        (module.__name__, name): value.source
        for module in modules()
        for name, value in vars(module).items()
        if isinstance(value, Sourced)
    }
    assert len(found) >= 3
    for place_, source in found.items():
        assert source and _is_source(source), place_
        assert cite(source)


def test_every_row_of_every_table_has_a_source() -> None:
    tables = source_files(".csv")
    assert tables
    for path in tables:
        lines = [line for line in text_of(path).splitlines() if not line.startswith("#")]
        for row in csv.DictReader(lines):
            assert row["source"] and _is_source(row["source"]), (place(path), row)

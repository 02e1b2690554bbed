"""The pages of codes and of sources are what the code gives today."""

from __future__ import annotations

import re

import pytest

from docs.write import DOCS, PREFIXES, SEEN, errors_markdown, sources_markdown
from roofspring.errors import codes
from roofspring.sources import bibliography

OLD = "docs/{} is old: run `make docs`, read the difference, and commit it"


def test_errors_page_is_current() -> None:
    assert (DOCS / "errors.md").read_text("utf-8") == errors_markdown(), OLD.format("errors.md")


def test_sources_page_is_current() -> None:
    assert (DOCS / "sources.md").read_text("utf-8") == sources_markdown(), OLD.format("sources.md")


def test_every_code_has_one_section() -> None:
    sections = re.findall(r"^### (.*)$", (DOCS / "errors.md").read_text("utf-8"), re.MULTILINE)
    assert sorted(sections) == sorted(codes())
    assert {code[:3] for code in codes()} == set(PREFIXES)


@pytest.mark.parametrize("key", bibliography())
def test_every_source_has_one_row_that_says_how_it_was_seen(key: str) -> None:
    rows = [
        line
        for line in (DOCS / "sources.md").read_text("utf-8").splitlines()
        if line.startswith(f"| `{key}` |")
    ]
    assert len(rows) == 1
    assert rows[0].endswith(f"| {bibliography()[key]['seen']} |")
    assert rows[0].count("|") == 4
    assert bibliography()[key]["seen"] in SEEN

"""The validation page is what the code gives today."""

from __future__ import annotations

from cases import validation_text
from reference.write_validation import PAGE


def test_validation_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == validation_text(), (
        "docs/validation.md is old: run `python tests/reference/write_validation.py`, read the "
        "difference, and commit it with the change that moved the numbers"
    )

"""The committed page of the plan file is the one that the model makes, and its example is true."""

from pathlib import Path

from roofspring.plan.fields import fields_of, tables
from roofspring.plan.read import read_text
from roofspring.plan.reference import EXAMPLE, reference_markdown

PAGE = Path(__file__).parents[2] / "docs" / "plan-file.md"


def test_page_is_up_to_date() -> None:
    assert PAGE.read_text("utf-8") == reference_markdown(), (
        "docs/plan-file.md is old: write reference_markdown() of roofspring.plan.reference to it"
    )


def test_example_reads() -> None:
    plan = read_text(EXAMPLE, path=Path("plan.toml")).plan
    assert plan.roofs and plan.tanks and plan.uses


def test_every_key_has_a_row_with_words() -> None:
    page = PAGE.read_text("utf-8")
    for table in tables():
        for field in fields_of(table).values():
            assert field.about, (table, field.key)
            if table or field.key not in tables():
                assert f"| `{field.key}` | {field.about} |" in page

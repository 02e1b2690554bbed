"""Every kind of entry of the logbook: written, read, exported alike."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roofspring.logbook import (
    KINDS,
    Answer,
    Entry,
    Kind,
    NewEntry,
    WalkRound,
    WaterTest,
    kind_of,
    open_logbook,
)
from roofspring.logbook.entries import CENSORED, HEADS
from roofspring.logbook.migrations import MIGRATIONS

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=40)
MADE: dict[str, st.SearchStrategy[WalkRound | WaterTest]] = {
    "walk": st.builds(
        WalkRound,
        st.dictionaries(st.from_regex(r"\AS\d\d\Z"), st.tuples(st.booleans(), TEXT)).map(
            lambda d: tuple(Answer(q, is_fault=f, note=n) for q, (f, n) in sorted(d.items()))
        ),
        st.just("WHO_1997"),
        st.integers(0, 10),
        TEXT,
    ),
    "test": st.builds(
        WaterTest, TEXT, st.sampled_from(CENSORED), st.floats(0.0, 1e12), TEXT, TEXT, TEXT
    ),
}


def test_every_kind_has_its_examples_and_its_row_in_the_file() -> None:
    assert set(MADE) == set(KINDS)
    said = "".join(s for m in MIGRATIONS for s in m.statements if "INTO kind" in s)
    assert all(f"'{name}'" in said for name in KINDS)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data(), who=TEXT, note=TEXT)
def test_what_is_written_is_read(
    kind: Kind, data: st.DataObject, who: str, note: str, tmp_path: Path
) -> None:
    what = data.draw(MADE[kind.name])
    assert kind_of(what) == kind.name and isinstance(what, kind.record)
    with open_logbook(tmp_path / "logbook.sqlite", write=True) as book:
        made = book.add(NewEntry(what, NOW, who, note), now=NOW)
        assert (made.what, made.who, made.note, made.at) == (what, who, note, NOW)
        assert made in book.entries()


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
@given(data=st.data())
def test_an_export_has_a_cell_for_every_head(kind: Kind, data: st.DataObject) -> None:
    what = data.draw(MADE[kind.name])
    other = next(k for k in KINDS if k != kind.name)
    entries = [Entry(1, what, NOW, NOW, "", "", None, 2),
               Entry(2, data.draw(MADE[other]), NOW, NOW, "", "", 1, None)]  # fmt: skip
    tables = kind.tables(entries)
    first = next(iter(tables.values()))
    assert first[0][: len(HEADS)] == HEADS
    assert len(first[1]) == 1  # its own entries, and no other
    for heads, rows in tables.values():
        assert len(set(heads)) == len(heads)
        assert all(len(row) == len(heads) for row in rows)
    assert made_plain(entries[0].to_dict())


def made_plain(value: object) -> bool:
    """Only what JSON has."""
    if isinstance(value, dict):
        return all(isinstance(k, str) and made_plain(v) for k, v in value.items())
    if isinstance(value, list):
        return all(made_plain(v) for v in value)
    return value is None or isinstance(value, (str, int, float, bool))

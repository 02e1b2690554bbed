"""The logbook against a plain list, whatever is added and corrected; two writers at once."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from roofspring.errors import LogbookError
from roofspring.logbook import (
    Answer,
    NewEntry,
    WalkRound,
    WaterTest,
    backup_logbook,
    current,
    kind_of,
    read_entries,
    write_entry,
)

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
WHAT = st.one_of(
    st.builds(WaterTest, st.sampled_from(["lead", "ph"]), st.just("no"), st.floats(0, 9),
              st.just("mg/L")),
    st.builds(lambda f: WalkRound((Answer("S01", is_fault=f),), "WHO_1997", int(f), "low"),
              st.booleans()),
)  # fmt: skip


class Book(RuleBasedStateMachine):
    """Adds and corrects at random; the list is what the file must say."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "logbook.sqlite"
        self.told: list[NewEntry] = []

    @rule(what=WHAT, days=st.integers(0, 900), who=st.text("ab", max_size=2))
    def add(self, what: Any, days: int, who: str) -> None:
        entry = NewEntry(what, NOW - timedelta(days=days), who)
        made = write_entry(self.path, entry, now=NOW)
        self.told.append(entry)
        assert made.number == len(self.told)

    @rule(what=WHAT, number=st.integers(1, 30))
    def correct(self, what: Any, number: int) -> None:
        entry = NewEntry(what, NOW, corrects=number)
        taken = {e.corrects for e in self.told}
        fits = number <= len(self.told) and number not in taken
        if fits and kind_of(self.told[number - 1].what) == kind_of(what):
            write_entry(self.path, entry, now=NOW)
            self.told.append(entry)
        else:
            with pytest.raises(LogbookError, match="LOG-005"):
                write_entry(self.path, entry, now=NOW)

    @invariant()
    def the_file_says_what_the_list_says(self) -> None:
        found = {e.number: e for e in read_entries(self.path)}
        assert len(found) == len(self.told)
        for number, entry in enumerate(self.told, 1):
            got = found[number]
            assert (got.what, got.at, got.who, got.corrects) == (
                entry.what, entry.at, entry.who, entry.corrects,
            )  # fmt: skip
        replaced = {e.corrects for e in self.told}
        standing = [n for n in found if n not in replaced]
        assert sorted(e.number for e in current(found.values())) == sorted(standing)
        times = [e.at for e in read_entries(self.path)]
        assert times == sorted(times)

    def teardown(self) -> None:
        if self.told:
            copy = self.path.with_name("copy.sqlite")
            assert read_entries(backup_logbook(self.path, copy)) == read_entries(self.path)
        self.folder.cleanup()


TestBook = Book.TestCase
TestBook.settings = settings(max_examples=15, stateful_step_count=12, deadline=None)

WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from roofspring.logbook import NewEntry, WaterTest, write_entry
now = datetime(2026, 11, 25, tzinfo=UTC)
for _ in range(25):
    entry = NewEntry(WaterTest("ph", "no", 6.5, "pH"), now, sys.argv[2])
    write_entry(Path(sys.argv[1]), entry, now=now)
"""


def test_two_programs_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    """Both begin where there is no file yet, so that they also race to make it."""
    book = tmp_path / "logbook.sqlite"
    running = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(book), who]) for who in ("a", "b")
    ]
    assert [p.wait() for p in running] == [0, 0]
    found = read_entries(book)
    assert sorted(e.number for e in found) == list(range(1, 51))
    assert sorted(e.who for e in found) == ["a"] * 25 + ["b"] * 25

"""The file of the logbook: whole or not at all, only added to, brought up to date, never lost."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from roofspring.errors import LogbookError, OutputError
from roofspring.logbook import (
    Answer,
    NewEntry,
    WalkRound,
    WaterTest,
    backup_logbook,
    current,
    open_logbook,
    read_entries,
    write_entry,
)
from roofspring.logbook.migrations import FIRST, MIGRATIONS, Migration

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
CLEAN = WaterTest("e-coli", "below", 1.0, "1/100 mL", "tray", "kitchen")
WALK = WalkRound((Answer("S01", is_fault=True, note="moss"), Answer("S02", is_fault=False)),
                 "WHO_1997", 1, "low")  # fmt: skip


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "logbook.sqlite"


def code_of(error: pytest.ExceptionInfo[LogbookError | OutputError]) -> str:
    return error.value.problems[0].code


def rows(path: Path, question: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute(question).fetchall()


def test_one_file_with_the_entries_as_they_were_given(book: Path) -> None:
    first = write_entry(book, NewEntry(WALK, NOW, "Ann", "after a storm"), now=NOW)
    second = write_entry(book, NewEntry(CLEAN, NOW - timedelta(days=1)), now=NOW)
    assert read_entries(book) == (second, first)  # by when it was seen
    assert (first.number, first.what, first.who, first.note) == (1, WALK, "Ann", "after a storm")
    assert (second.number, second.what, second.corrects) == (2, CLEAN, None)
    assert [p.name for p in book.parent.iterdir()] == [book.name]  # no companion is left
    assert rows(book, "PRAGMA journal_mode") == [("wal",)]
    assert rows(book, "PRAGMA user_version") == [(MIGRATIONS[-1].number,)]
    assert rows(book, "SELECT number, name FROM migration") == [(FIRST.number, FIRST.name)]


def test_no_file_is_no_entry_and_none_is_made(book: Path) -> None:
    assert read_entries(book) == () and not book.exists()


def test_a_correction_is_a_new_entry_that_names_the_old(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    better = WaterTest("e-coli", "no", 4.0, "1/100 mL")
    write_entry(book, NewEntry(better, NOW, corrects=1), now=NOW)
    old, new = read_entries(book)
    assert (old.what, old.corrected_by) == (CLEAN, 2)
    assert (new.corrects, new.corrected_by) == (1, None)
    assert current(read_entries(book)) == (new,)
    for wrong, what in ((1, CLEAN), (9, CLEAN), (2, WALK)):
        with pytest.raises(LogbookError) as error:
            write_entry(book, NewEntry(what, NOW, corrects=wrong), now=NOW)
        assert code_of(error) == "LOG-005"
    assert len(read_entries(book)) == 2


@pytest.mark.parametrize(
    "statement",
    ["UPDATE entry SET note = 'x'", "DELETE FROM entry", "UPDATE test SET value = 0.0",
     "DELETE FROM walk", "UPDATE answer SET is_fault = 0", "DELETE FROM migration"],
)  # fmt: skip
def test_rows_are_never_changed_or_deleted(book: Path, statement: str) -> None:
    """Not by this program, and not by another that opens the file."""
    for what in (WALK, CLEAN):
        write_entry(book, NewEntry(what, NOW), now=NOW)
    before = read_entries(book)
    with (
        closing(sqlite3.connect(book)) as db,
        pytest.raises(sqlite3.IntegrityError, match="never changed"),
    ):
        db.execute(statement)
    assert read_entries(book) == before


def test_nothing_is_half_written(book: Path) -> None:
    """The second of two answers to one question is refused: the entry goes with it."""
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    twice = WalkRound((WALK.answers[0], WALK.answers[0]), "WHO_1997", 2, "low")
    with pytest.raises(OutputError):
        write_entry(book, NewEntry(twice, NOW), now=NOW)
    assert len(read_entries(book)) == 1
    assert rows(book, "SELECT count(*) FROM walk") == [(0,)]


KILLED = """
import os, sqlite3, sys
from datetime import UTC, datetime
from pathlib import Path
from roofspring.logbook import NewEntry, WaterTest, open_logbook
from roofspring.logbook import store
now = datetime(2026, 11, 25, tzinfo=UTC)
book = open_logbook(Path(sys.argv[1]), write=True)
kind = store.KINDS["test"]
def die(db, number, what):
    kind.write(db, number, what)
    os._exit(9)
import dataclasses
store.KINDS["test"] = dataclasses.replace(kind, write=die)
book.add(NewEntry(WaterTest("e-coli", "no", 3.0, "1/100 mL"), now), now=now)
"""


def test_a_program_that_dies_in_the_middle_leaves_the_book_as_it_was(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    before = read_entries(book)
    done = subprocess.run([sys.executable, "-c", KILLED, str(book)], check=False)
    assert done.returncode == 9
    assert read_entries(book) == before
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    assert len(read_entries(book)) == 2


def test_a_file_that_is_held_is_said_and_left(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    with closing(sqlite3.connect(book, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with (
            pytest.raises(LogbookError) as error,
            open_logbook(book, write=True, wait_s=0.05) as mine,
        ):
            mine.add(NewEntry(CLEAN, NOW), now=NOW)
        assert code_of(error) == "LOG-001"
        assert len(read_entries(book)) == 1  # reading goes on beside a writer
        other.execute("ROLLBACK")
    assert len(read_entries(book)) == 1


def test_two_writers_wait_for_each_other(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    with open_logbook(book, write=True) as one, open_logbook(book, write=True) as two:
        for writer in (one, two, one, two):
            writer.add(NewEntry(CLEAN, NOW), now=NOW)
    assert [e.number for e in read_entries(book)] == [1, 2, 3, 4, 5]


@pytest.mark.parametrize("content", [b"not a database at all, but long enough", b""])
def test_a_file_of_something_else(book: Path, content: bytes) -> None:
    book.write_bytes(content)
    with pytest.raises(LogbookError) as error:
        read_entries(book)
    assert code_of(error) == "LOG-002"
    assert book.read_bytes() == content


def test_a_damaged_file_is_said_and_kept(book: Path) -> None:
    with open_logbook(book, write=True) as mine:
        for _ in range(300):
            mine.add(NewEntry(CLEAN, NOW, note="x" * 200), now=NOW)
    whole = book.read_bytes()
    for spoilt in (whole[: len(whole) // 2], whole[:8192] + bytes(4096) + whole[12288:]):
        book.write_bytes(spoilt)
        for act in (lambda: read_entries(book),
                    lambda: write_entry(book, NewEntry(CLEAN, NOW), now=NOW)):  # fmt: skip
            with pytest.raises(LogbookError) as error:
                act()
            assert code_of(error) == "LOG-002"
        assert book.read_bytes()[:8192] == spoilt[:8192]


def test_rows_that_belong_to_nothing_are_damage(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    with closing(sqlite3.connect(book, isolation_level=None)) as db:
        db.execute("INSERT INTO test VALUES (77, 'lead', 'no', 1.0, 'mg/L', '', '')")
    with pytest.raises(LogbookError) as error:
        read_entries(book)
    assert code_of(error) == "LOG-002"


def test_another_programs_database_is_not_touched(book: Path) -> None:
    with closing(sqlite3.connect(book)) as db:
        db.execute("CREATE TABLE bees (hive TEXT)")
    before = book.read_bytes()
    with pytest.raises(LogbookError) as error:
        write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    assert code_of(error) == "LOG-004"
    assert rows(book, "SELECT name FROM sqlite_schema") == [("bees",)]
    assert len(book.read_bytes()) == len(before)


def test_a_folder_in_its_place_is_said(book: Path) -> None:
    book.mkdir()
    for act in (lambda: read_entries(book),
                lambda: write_entry(book, NewEntry(CLEAN, NOW), now=NOW)):  # fmt: skip
        with pytest.raises(LogbookError) as error:
            act()
        assert code_of(error) == "LOG-004" and error.value.problems[0].got == "a folder"


def test_a_first_entry_that_finds_no_room_leaves_no_empty_book(book: Path) -> None:
    """An empty file would be told as a damaged logbook ever after."""
    too_much = Migration(1, "too much", (*FIRST.statements[:3], "PRAGMA max_page_count = 1",
                                         *FIRST.statements[3:]))  # fmt: skip
    with pytest.raises(OutputError) as error:
        open_logbook(book, write=True, migrations=(too_much,))
    assert code_of(error) == "OUT-001" and "full" in error.value.problems[0].got
    assert list(book.parent.iterdir()) == []
    assert read_entries(book) == ()


def test_the_first_of_two_makes_the_book(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second finds it there when its own is ready; so on a disk without links."""

    for refusal in (FileExistsError, PermissionError):

        def quicker(*_: object, refusal: type[OSError] = refusal) -> None:
            monkeypatch.undo()
            write_entry(book, NewEntry(CLEAN, NOW, "the quicker"), now=NOW)
            raise refusal

        monkeypatch.setattr(Path, "hardlink_to", quicker)
        write_entry(book, NewEntry(CLEAN, NOW, "the slower"), now=NOW)
        assert [e.who for e in read_entries(book)] == ["the quicker", "the slower"]
        assert [p.name for p in book.parent.iterdir()] == [book.name]
        book.unlink()

    def refused(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "hardlink_to", refused)
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    assert len(read_entries(book)) == 1


def test_a_number_beyond_all_is_no_entry(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    with pytest.raises(LogbookError) as error:
        write_entry(book, NewEntry(CLEAN, NOW, corrects=10**30), now=NOW)
    assert code_of(error) == "LOG-005"


SECOND = Migration(2, "a column more", ("ALTER TABLE test ADD COLUMN lab TEXT DEFAULT ''",))


def test_an_older_shape_is_copied_then_brought_up(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    with open_logbook(book, write=True, migrations=(FIRST, SECOND)) as mine:
        assert [e.what for e in mine.entries()] == [CLEAN]
    assert rows(book, "SELECT number FROM migration") == [(1,), (2,)]
    copy = book.with_name("logbook.sqlite.shape-1")
    assert [e.what for e in read_entries(copy)] == [CLEAN]
    with pytest.raises(LogbookError) as error:  # and the old program does not touch the new shape
        write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    assert code_of(error) == "LOG-003"


def test_a_step_that_fails_leaves_the_old_shape(book: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    bad = Migration(2, "fails", (*SECOND.statements, "ALTER TABLE nowhere ADD COLUMN x TEXT"))
    with pytest.raises(OutputError):
        open_logbook(book, write=True, migrations=(FIRST, bad))
    assert [e.what for e in read_entries(book)] == [CLEAN]
    assert "lab" not in {r[1] for r in rows(book, "PRAGMA table_info(test)")}


def test_a_backup_is_one_whole_file_and_writes_over_none(book: Path, tmp_path: Path) -> None:
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    copy = tmp_path / "copies.sqlite"
    with open_logbook(book, write=True) as mine:  # while it is open for writing
        mine.add(NewEntry(WALK, NOW), now=NOW)
        backup_logbook(book, copy)
    assert read_entries(copy) == read_entries(book)
    before = copy.read_bytes()
    with pytest.raises(OutputError) as error:
        backup_logbook(book, copy)
    assert code_of(error) == "OUT-002" and copy.read_bytes() == before
    with pytest.raises(OutputError):
        backup_logbook(book, tmp_path / "no-folder" / "x.sqlite")
    assert not list(tmp_path.glob(".*.part"))


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as error:
        write_entry(tmp_path / "none" / "logbook.sqlite", NewEntry(CLEAN, NOW), now=NOW)
    assert code_of(error) == "OUT-001"


def test_a_disk_that_cannot_be_written_to_is_still_read(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There SQLite cannot make the companions of a file with write-ahead logging."""
    write_entry(book, NewEntry(CLEAN, NOW), now=NOW)
    usual = sqlite3.connect

    def refused(place: str, **_how: object) -> sqlite3.Connection:
        if "immutable" not in place:
            raise sqlite3.OperationalError("unable to open database file")
        return usual(place, uri=True, isolation_level=None)

    monkeypatch.setattr(sqlite3, "connect", refused)
    assert [e.what for e in read_entries(book)] == [CLEAN]


def test_five_thousand_entries_are_read_in_a_blink(book: Path) -> None:
    with open_logbook(book, write=True) as mine:
        mine.db.execute("PRAGMA synchronous = OFF")
        mine.db.execute("BEGIN")
        for _ in range(5000):
            mine.db.execute(
                "INSERT INTO entry (kind, at_utc, written_utc, who, note) "
                "VALUES ('test', '2026-11-25T00:00:00Z', '2026-11-25T00:00:00Z', '', '')"
            )
        mine.db.execute(
            "INSERT INTO test SELECT number, 'e-coli', 'below', 1.0, '1/100 mL', '', '' FROM entry"
        )
        mine.db.execute("COMMIT")
    began = datetime.now(UTC)
    assert len(read_entries(book)) == 5000
    assert datetime.now(UTC) - began < timedelta(seconds=2)

"""The file: opened, brought up to date, added to, read and copied.

SQLite with write-ahead logging and foreign keys. An entry with all its rows is one transaction, so
that it stands whole or not at all, also when the power fails.
"""

from __future__ import annotations

import contextlib
import secrets
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from roofspring import __version__
from roofspring.errors import LogbookError, OutputError, Problem
from roofspring.logbook.entries import KINDS, Entry, NewEntry, kind_of
from roofspring.logbook.migrations import MIGRATIONS, Migration
from roofspring.logbook.times import from_text, to_text

LOGBOOK_FILE = "logbook.sqlite"
APPLICATION_ID = 0x52464C47
"""Marks the file as a logbook of this program ("RFLG")."""
WAIT_S = 5.0
"""How long another program may hold the file before we give up."""

LARGEST = 2**63 - 1
"""The last number that SQLite can hold; no entry has it."""
BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED")
DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB")


@dataclass(frozen=True)
class Logbook:
    """An open file. Close it, or use it in a ``with``."""

    path: Path
    db: sqlite3.Connection

    def __enter__(self) -> Logbook:
        return self

    def __exit__(self, *_: object) -> None:
        self.db.close()

    def add(self, entry: NewEntry, *, now: datetime) -> Entry:
        """Write one entry, whole or not at all.

        Parameters
        ----------
        entry : NewEntry
        now : datetime
            When it is written, with its zone.

        Returns
        -------
        Entry
            As it stands in the file now.

        Raises
        ------
        LogbookError (LOG-001, LOG-002)
            The file is in use, or damaged.
        LogbookError (LOG-005)
            It corrects an entry that there is not, of another kind, or corrected already.
        OutputError (OUT-001)
            The file cannot be written.
        """
        kind = kind_of(entry.what)
        with _told(self.path), _whole(self.db):
            if entry.corrects is not None:
                self.refuse_correction(entry.corrects, kind)
            done = self.db.execute(
                "INSERT INTO entry (kind, at_utc, written_utc, who, note, corrects) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                (kind, to_text(entry.at), to_text(now), entry.who, entry.note, entry.corrects),
            )
            number = int(done.lastrowid or 0)
            KINDS[kind].write(self.db, number, entry.what)
        return next(e for e in self.entries() if e.number == number)

    def refuse_correction(self, number: int, kind: str) -> None:
        """Refuse a number that an entry of a kind cannot take the place of.

        Parameters
        ----------
        number : int
        kind : str

        Raises
        ------
        LogbookError (LOG-005)
            There is none, it is of another kind, or it has been corrected already.
        """
        with _told(self.path):
            one = (min(number, LARGEST),)
            found = self.db.execute("SELECT kind FROM entry WHERE number = ?", one).fetchone()
            later = self.db.execute("SELECT number FROM entry WHERE corrects = ?", one).fetchone()
        if found is None:
            what, got = "there is no such entry to correct", f"entry {number}"
        elif found[0] != kind:
            what, got = "an entry of one kind cannot correct one of another", f"a {found[0]}"
        elif later is not None:
            what, got = "this entry has been corrected already", f"by entry {later[0]}"
        else:
            return
        raise LogbookError(
            Problem(
                "LOG-005",
                what,
                file=str(self.path),
                where=f"entry {number}",
                got=got,
                allowed=f"the number of a {KINDS[kind].title} that nothing has corrected yet",
                next="see the numbers with `roofspring log show PLAN`; nothing was written",
            )
        )

    def entries(self) -> tuple[Entry, ...]:
        """Every entry, corrected ones too, by when it was seen, then by number.

        Raises
        ------
        LogbookError (LOG-001, LOG-002)
            The file is in use, or damaged.
        """
        with _told(self.path):
            # One read transaction, so that rows of two moments are never put together.
            with _whole(self.db, begin="BEGIN"):
                what = {name: kind.read(self.db) for name, kind in KINDS.items()}
                rows = self.db.execute(
                    "SELECT e.number, e.kind, e.at_utc, e.written_utc, e.who, e.note, e.corrects, "
                    "later.number FROM entry AS e LEFT JOIN entry AS later "
                    "ON later.corrects = e.number ORDER BY e.at_utc, e.number"
                ).fetchall()
            return tuple(
                Entry(
                    number,
                    what[kind][number],
                    from_text(at),
                    from_text(written),
                    who,
                    note,
                    corrects,
                    by,
                )
                for number, kind, at, written, who, note, corrects, by in rows
            )


def open_logbook(
    path: Path,
    *,
    write: bool,
    wait_s: float = WAIT_S,
    migrations: Sequence[Migration] = MIGRATIONS,
) -> Logbook:
    """Open a logbook; for writing, make it where there is none.

    Parameters
    ----------
    path : Path
    write : bool
        False opens a file that is there, and changes nothing but an outdated shape.
    wait_s : float
        How long to wait for another program [s].
    migrations : sequence of Migration
        Steps to bring the file up to; a copy of an older one is kept beside it first.

    Returns
    -------
    Logbook

    Raises
    ------
    LogbookError (LOG-001, LOG-002, LOG-003, LOG-004)
        In use; damaged; written by a newer version; not a logbook.
    OutputError (OUT-001)
        It cannot be opened or made.
    """
    with _told(path):
        if path.is_dir():
            raise _not_ours(path, "a folder")
        if write and not path.exists():
            _make(path, migrations=migrations)
        db = _connect(path, write=write, wait_s=wait_s)
        try:
            _check(db, path)
            _bring_up(db, path, write=write, migrations=migrations)
        except BaseException:
            db.close()
            raise
    return Logbook(path, db)


def _make(path: Path, *, migrations: Sequence[Migration]) -> None:
    """A new logbook, which gets its name when it is whole; the disk may be full.

    Where another program is quicker, its logbook stays.
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(6)}.part")
    try:
        with contextlib.closing(sqlite3.connect(part, isolation_level=None)) as db:
            _bring_up(db, path, write=True, migrations=migrations)
        try:
            path.hardlink_to(part)
        except FileExistsError:
            return
        except OSError:  # a disk without links
            if not path.exists():
                part.replace(path)
    finally:
        _gone(part)


def _gone(part: Path) -> None:
    """Take away what was begun under another name, with what SQLite had beside it."""
    for beside in ("", "-journal", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            part.with_name(part.name + beside).unlink(missing_ok=True)


def _connect(path: Path, *, write: bool, wait_s: float) -> sqlite3.Connection:
    place = path.absolute().as_uri()
    mode = "rwc" if write else "rw"
    try:
        return _begun(f"{place}?mode={mode}", write=write, wait_s=wait_s)
    except sqlite3.OperationalError as error:
        left = path.with_name(f"{path.name}-wal")
        if write or _name(error) in BUSY or (left.exists() and left.stat().st_size):
            raise
        # On a disk that cannot be written to, a file that nothing else has open is read as it is.
        return _begun(f"{place}?mode=ro&immutable=1", write=False, wait_s=wait_s)


def _begun(uri: str, *, write: bool, wait_s: float) -> sqlite3.Connection:
    db = sqlite3.connect(uri, uri=True, timeout=wait_s, isolation_level=None)
    try:
        db.execute("PRAGMA schema_version")
        db.execute("PRAGMA foreign_keys = ON")
        if write:
            db.execute("PRAGMA journal_mode = WAL")
            db.execute("PRAGMA synchronous = FULL")
    except BaseException:
        db.close()
        raise
    return db


def _check(db: sqlite3.Connection, path: Path) -> None:
    """Refuse a file that is damaged, or that is not ours."""
    ours = db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    if not ours and db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        raise _not_ours(path, "a database of another kind")
    said = db.execute("PRAGMA quick_check(1)").fetchone()[0]
    orphans = db.execute("PRAGMA foreign_key_check").fetchone()
    if said != "ok" or orphans is not None:
        raise _damaged(path, said if said != "ok" else "rows that belong to no entry")


def _bring_up(
    db: sqlite3.Connection, path: Path, *, write: bool, migrations: Sequence[Migration]
) -> None:
    version = db.execute("PRAGMA user_version").fetchone()[0]
    if version > migrations[-1].number:
        raise LogbookError(
            Problem(
                "LOG-003",
                "a newer version of this program wrote the logbook",
                file=str(path),
                got=f"shape {version}",
                allowed=f"up to {migrations[-1].number}",
                next="use the newer version; nothing was changed",
            )
        )
    todo = [m for m in migrations if m.number > version]
    if not todo:
        return
    if not write and not version:  # a file that was made and never written to
        raise _damaged(path, "an empty file")
    if version:
        _copy(db, path.with_name(f"{path.name}.shape-{version}"))
    for step in todo:
        with _whole(db):
            if db.execute("PRAGMA user_version").fetchone()[0] >= step.number:
                continue  # another program was quicker
            for statement in step.statements:
                db.execute(statement)
            db.execute(
                "INSERT INTO migration VALUES (?, ?, ?, ?)",
                (step.number, step.name, to_text(datetime.now(UTC)), __version__),
            )
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            db.execute(f"PRAGMA user_version = {step.number}")


@contextmanager
def _whole(db: sqlite3.Connection, *, begin: str = "BEGIN IMMEDIATE") -> Iterator[None]:
    """One transaction: all of it, or nothing."""
    db.execute(begin)
    try:
        yield
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            db.execute("ROLLBACK")
        raise
    db.execute("COMMIT")


def read_entries(path: Path) -> tuple[Entry, ...]:
    """Every entry of a logbook, none where there is no file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    tuple of Entry

    Raises
    ------
    LogbookError, OutputError
        As `open_logbook`.
    """
    if not path.exists():
        return ()
    with open_logbook(path, write=False) as book:
        return book.entries()


def write_entry(path: Path, entry: NewEntry, *, now: datetime) -> Entry:
    """Add one entry to a logbook, which is made where there is none.

    Parameters
    ----------
    path : Path
    entry : NewEntry
    now : datetime
        With its zone.

    Returns
    -------
    Entry

    Raises
    ------
    LogbookError, OutputError
        As `open_logbook` and `Logbook.add`.
    """
    with open_logbook(path, write=True) as book:
        return book.add(entry, now=now)


def current(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries that nothing has corrected."""
    return tuple(e for e in entries if e.corrected_by is None)


def backup_logbook(path: Path, out: Path) -> Path:
    """Copy a logbook, also while something writes to it, into one new file.

    Parameters
    ----------
    path, out : Path
        ``out`` must not exist; it is checked before it gets its name.

    Returns
    -------
    Path

    Raises
    ------
    LogbookError, OutputError
        As `open_logbook`; OUT-002 where a file stands already.
    """
    if out.exists():
        raise OutputError(
            Problem(
                "OUT-002",
                "a file stands here already",
                file=str(out),
                next="name another file with --out, or move that one away",
            )
        )
    with open_logbook(path, write=False) as book, _told(out):
        _copy(book.db, out)
    return out


def _copy(db: sqlite3.Connection, out: Path) -> None:
    part = out.with_name(f".{out.name}.{secrets.token_hex(6)}.part")
    try:
        with contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
            db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, without companions
            _check(copy, out)
        part.replace(out)
    finally:
        _gone(part)


def _name(error: sqlite3.Error) -> str:
    """The family of an error of SQLite, such as SQLITE_BUSY."""
    return "_".join(str(getattr(error, "sqlite_errorname", "")).split("_")[:2])


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Errors of SQLite and of the disk, as a person can use them."""
    try:
        yield
    except sqlite3.Error as error:
        raise _said(error, path) from error
    except OSError as error:
        raise _unwritten(path, error.strerror or type(error).__name__) from error


def _said(error: sqlite3.Error, path: Path) -> LogbookError | OutputError:
    name = _name(error)
    if name in BUSY:
        return LogbookError(
            Problem(
                "LOG-001",
                "another program holds the logbook",
                file=str(path),
                got=str(error),
                allowed=f"a file that is free within {WAIT_S:g} seconds",
                next="close the other program, or wait and do it again; nothing was written",
            )
        )
    if name in DAMAGED:
        return _damaged(path, str(error))
    return _unwritten(path, str(error))


def _not_ours(path: Path, got: str) -> LogbookError:
    return LogbookError(
        Problem(
            "LOG-004",
            "this is not a logbook of this program",
            file=str(path),
            got=got,
            next="move it away; the logbook is made anew where none stands",
        )
    )


def _damaged(path: Path, got: str) -> LogbookError:
    return LogbookError(
        Problem(
            "LOG-002",
            "the logbook is damaged",
            file=str(path),
            got=got,
            next="nothing was changed. Keep the file: move it away with any -wal and -shm file "
            "beside it, put the last backup in its place, and add what is missing from the sheets",
        )
    )


def _unwritten(path: Path, got: str) -> OutputError:
    return OutputError(
        Problem(
            "OUT-001",
            "the logbook could not be opened or written",
            file=str(path),
            got=got,
            allowed="a folder that exists, that you may write to, with room left",
            next="make the folder, or free some room",
        )
    )

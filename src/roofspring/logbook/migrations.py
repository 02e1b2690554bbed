"""The shape of the file, one numbered step after another; a step that was released never changes.

Every table is STRICT. Rows are only added: triggers refuse to change or delete them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Migration:
    """One step: its number, a name, and what it does."""

    number: int
    name: str
    statements: tuple[str, ...]


def _only_added(table: str) -> tuple[str, str]:
    made = [
        f"CREATE TRIGGER {table}_no_{word} BEFORE {word.upper()} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'entries are never changed or deleted'); END"
        for word in ("update", "delete")
    ]
    return made[0], made[1]


FIRST = Migration(
    1,
    "walk-rounds and tests of the water",
    (
        "CREATE TABLE migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL, "
        "done_utc TEXT NOT NULL, program TEXT NOT NULL) STRICT",
        "CREATE TABLE kind (name TEXT PRIMARY KEY) STRICT, WITHOUT ROWID",
        "INSERT INTO kind VALUES ('walk'), ('test')",
        "CREATE TABLE entry (number INTEGER PRIMARY KEY AUTOINCREMENT, "
        "kind TEXT NOT NULL REFERENCES kind (name), "
        "at_utc TEXT NOT NULL, written_utc TEXT NOT NULL, "
        "who TEXT NOT NULL, note TEXT NOT NULL, "
        "corrects INTEGER UNIQUE REFERENCES entry (number) CHECK (corrects < number)) STRICT",
        "CREATE INDEX entry_by_kind ON entry (kind, at_utc)",
        "CREATE TABLE walk (entry INTEGER PRIMARY KEY REFERENCES entry (number), "
        "scheme TEXT NOT NULL, core_count INTEGER NOT NULL CHECK (core_count >= 0), "
        "band TEXT NOT NULL) STRICT",
        "CREATE TABLE answer (entry INTEGER NOT NULL REFERENCES walk (entry), "
        "question TEXT NOT NULL, is_fault INTEGER NOT NULL CHECK (is_fault IN (0, 1)), "
        "note TEXT NOT NULL, PRIMARY KEY (entry, question)) STRICT, WITHOUT ROWID",
        "CREATE TABLE test (entry INTEGER PRIMARY KEY REFERENCES entry (number), "
        "parameter TEXT NOT NULL, "
        "censored TEXT NOT NULL CHECK (censored IN ('no', 'below', 'above')), "
        "value REAL NOT NULL CHECK (value >= 0.0), unit TEXT NOT NULL, "
        "method TEXT NOT NULL, sample_point TEXT NOT NULL) STRICT",
        *(s for t in ("migration", "entry", "walk", "answer", "test") for s in _only_added(t)),
    ),
)
MIGRATIONS = (FIRST,)
"""Every step, in order; the number of the last is that of the file (``PRAGMA user_version``)."""

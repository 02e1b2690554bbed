"""What an entry is, and the kinds there are.

A kind is one object with one way to write itself, to be read, and to be exported. A new one needs
its record, its `Kind` in `KINDS`, and a numbered step that makes its tables.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

Censored = Literal["no", "below", "above"]
CENSORED: tuple[Censored, ...] = ("no", "below", "above")
Cell = str | int | float
Table = tuple[tuple[str, ...], tuple[tuple[Cell, ...], ...]]
"""Heads and rows of a CSV file."""


@dataclass(frozen=True)
class Answer:
    """One question of a walk-round that was answered; a fault is a "yes"."""

    question: str
    is_fault: bool
    note: str = ""


@dataclass(frozen=True)
class WalkRound:
    """A walk-round as it was answered, with the score it was given then.

    Attributes
    ----------
    answers : tuple of Answer
        Of the questions that were answered; the others count as neither.
    scheme : str
        Bibliography key of the scheme of the score.
    core_count : int
        Faults among the questions that the scheme counts.
    band : str
        By the scheme.
    """

    answers: tuple[Answer, ...]
    scheme: str
    core_count: int
    band: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "scheme": self.scheme,
            "core_count": self.core_count,
            "band": self.band,
            "faults": [a.question for a in self.answers if a.is_fault],
            "answered": len(self.answers),
            "notes": {a.question: a.note for a in self.answers if a.note},
        }


@dataclass(frozen=True)
class WaterTest:
    """One value of one bottle, strip or meter.

    Attributes
    ----------
    parameter : str
        What was tested.
    censored : str
        ``below`` for a value under what the test can see, ``above`` for one over its range.
    value : float
        In ``unit``, 0 or more; with ``below`` it is what could just have been seen.
    unit : str
        The fixed laboratory unit of the parameter.
    method : str
        How it was tested, in the words of whoever did.
    sample_point : str
        Part of the plan it was taken at, or empty.
    """

    parameter: str
    censored: Censored
    value: float
    unit: str
    method: str = ""
    sample_point: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "parameter": self.parameter,
            "censored": self.censored,
            "value": self.value,
            "unit": self.unit,
            "method": self.method,
            "sample_point": self.sample_point,
        }


What = WalkRound | WaterTest


@dataclass(frozen=True)
class NewEntry:
    """What is to be written.

    Attributes
    ----------
    what : WalkRound or WaterTest
    at : datetime
        When it was seen or sampled, with its zone.
    who, note : str
        May be empty.
    corrects : int or None
        Number of the entry that this one takes the place of; that one stays in the file.
    """

    what: What
    at: datetime
    who: str = ""
    note: str = ""
    corrects: int | None = None


@dataclass(frozen=True)
class Entry:
    """What was written.

    Attributes
    ----------
    number : int
    what : WalkRound or WaterTest
    at, written : datetime
        When it was seen, and when it was put into the book; UTC.
    who, note : str
    corrects, corrected_by : int or None
        Numbers of the entries before and after it, where it is part of a correction.
    """

    number: int
    what: What
    at: datetime
    written: datetime
    who: str
    note: str
    corrects: int | None
    corrected_by: int | None

    @property
    def kind(self) -> str:
        """Name of its kind."""
        return kind_of(self.what)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; times in UTC."""
        return {
            "entry": self.number,
            "kind": self.kind,
            "at": self.at.isoformat(),
            "written": self.written.isoformat(),
            "who": self.who,
            "note": self.note,
            "corrects": self.corrects,
            "corrected_by": self.corrected_by,
            self.kind: self.what.to_dict(),
        }


@dataclass(frozen=True)
class Kind:
    """One kind of entry.

    Attributes
    ----------
    name, title : str
    record : type
        Class of what is written.
    write : callable
        Puts it into the tables of the kind, under the number of its entry.
    read : callable
        Gives all that stand in the file, by number.
    tables : callable
        Files of an export: heads and rows by file name.
    """

    name: str
    title: str
    record: type[What]
    write: Callable[[sqlite3.Connection, int, Any], None]
    read: Callable[[sqlite3.Connection], Mapping[int, What]]
    tables: Callable[[Iterable[Entry]], Mapping[str, Table]]


def _write_walk(db: sqlite3.Connection, number: int, walk: WalkRound) -> None:
    db.execute(
        "INSERT INTO walk VALUES (?, ?, ?, ?)", (number, walk.scheme, walk.core_count, walk.band)
    )
    db.executemany(
        "INSERT INTO answer VALUES (?, ?, ?, ?)",
        [(number, a.question, int(a.is_fault), a.note) for a in walk.answers],
    )


def _read_walks(db: sqlite3.Connection) -> Mapping[int, What]:
    answers: dict[int, list[Answer]] = {}
    for number, question, is_fault, note in db.execute(
        "SELECT entry, question, is_fault, note FROM answer ORDER BY entry, question"
    ):
        answers.setdefault(number, []).append(Answer(question, bool(is_fault), note))
    rows = db.execute("SELECT entry, scheme, core_count, band FROM walk")
    return {n: WalkRound(tuple(answers.get(n, ())), s, c, b) for n, s, c, b in rows}


def _write_test(db: sqlite3.Connection, number: int, test: WaterTest) -> None:
    db.execute(
        "INSERT INTO test VALUES (?, ?, ?, ?, ?, ?, ?)",
        (number, test.parameter, test.censored, test.value, test.unit, test.method,
         test.sample_point),
    )  # fmt: skip


def _read_tests(db: sqlite3.Connection) -> Mapping[int, What]:
    rows = db.execute(
        "SELECT entry, parameter, censored, value, unit, method, sample_point FROM test"
    )
    return {row[0]: WaterTest(*row[1:]) for row in rows}


HEADS = ("entry", "at_utc", "written_utc", "who", "note", "corrects", "corrected_by")


def _common(e: Entry) -> tuple[Cell, ...]:
    return (
        e.number,
        e.at.isoformat(),
        e.written.isoformat(),
        e.who,
        e.note,
        "" if e.corrects is None else e.corrects,
        "" if e.corrected_by is None else e.corrected_by,
    )


def _walk_tables(entries: Iterable[Entry]) -> Mapping[str, Table]:
    walks = [(e, e.what) for e in entries if isinstance(e.what, WalkRound)]
    rows = tuple((*_common(e), w.scheme, w.core_count, w.band) for e, w in walks)
    answers = tuple(
        (e.number, a.question, "yes" if a.is_fault else "no", a.note)
        for e, w in walks
        for a in w.answers
    )
    return {
        "walks.csv": ((*HEADS, "scheme", "core_count", "band"), rows),
        "walk-answers.csv": (("entry", "question", "answer", "note"), answers),
    }


def _test_tables(entries: Iterable[Entry]) -> Mapping[str, Table]:
    heads = (*HEADS, "parameter", "censored", "value", "unit", "method", "sample_point")
    rows = tuple(
        (*_common(e), t.parameter, t.censored, t.value, t.unit, t.method, t.sample_point)
        for e, t in ((e, e.what) for e in entries)
        if isinstance(t, WaterTest)
    )
    return {"tests.csv": (heads, rows)}


KINDS: dict[str, Kind] = {
    k.name: k
    for k in (
        Kind("walk", "walk-round", WalkRound, _write_walk, _read_walks, _walk_tables),
        Kind("test", "test of the water", WaterTest, _write_test, _read_tests, _test_tables),
    )
}
"""Every kind by its name."""


def kind_of(what: What) -> str:
    """Name of the kind of a record.

    >>> kind_of(WaterTest("e-coli", "below", 1.0, "1/100 mL"))
    'test'
    """
    return next(k.name for k in KINDS.values() if isinstance(what, k.record))

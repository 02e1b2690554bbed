"""Keep the logbook: add what was seen or measured, show it, take it out."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from roofspring.errors import LogbookError, OutputError, Problem, RangeError
from roofspring.errors.names import did_you_mean
from roofspring.files import make_folder, write_text_atomic
from roofspring.logbook import (
    KINDS,
    LOGBOOK_FILE,
    Answer,
    Censored,
    Entry,
    NewEntry,
    Table,
    WalkRound,
    WaterTest,
    backup_logbook,
    current,
    local_day,
    open_logbook,
    read_entries,
    read_time,
    write_entry,
)
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan
from roofspring.safety.inspection import (
    Given,
    Kept,
    blank_answers,
    judge,
    kept,
    limits,
    questions,
    read_answers,
    read_result,
    score,
)
from roofspring.safety.inspection.kept import result_of, result_words, score_of
from roofspring.workflows.opening import open_plan

SCHEME = "WHO_1997"
CENSORED: dict[str, Censored] = {"=": "no", "<": "below", ">": "above"}


@dataclass(frozen=True)
class LogAnswer:
    """What was written, or what stands in the book.

    Attributes
    ----------
    file : Path
        The logbook.
    entries : tuple of Entry
    words : tuple of str
        What each entry says, in the same order.
    faults : tuple of tuple of str
        The faults of each entry that is a walk-round, with what was noted beside them.
    """

    file: Path
    entries: tuple[Entry, ...]
    words: tuple[str, ...]
    faults: tuple[tuple[str, ...], ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "logbook": str(self.file),
            "entries": [
                {**e.to_dict(), "says": w} for e, w in zip(self.entries, self.words, strict=True)
            ],
        }


def logbook_of(loaded: LoadedPlan) -> Path:
    """Where the logbook of a plan stands."""
    return loaded.path.parent / LOGBOOK_FILE


def ready_to_add(
    plan: Path,
    *,
    kind: str,
    at: str = "",
    corrects: int | None = None,
    now: datetime | None = None,
) -> None:
    """Tell what stands in the way of an entry before anybody answers forty questions for it.

    Parameters
    ----------
    plan : Path
    kind, at, corrects, now
        As they will be given.

    Raises
    ------
    PlanError, LogbookError, OutputError
        As the entry itself would.
    """
    loaded = open_plan(plan)
    if at:
        read_time(at, now=now or datetime.now(UTC))
    if corrects is not None:
        with open_logbook(_there(loaded), write=False) as book:
            book.refuse_correction(corrects, kind)
    else:
        read_entries(logbook_of(loaded))


def add_walk(
    plan: Path,
    *,
    answers: Path | None = None,
    given: Iterable[Given] | None = None,
    at: str = "",
    who: str = "",
    note: str = "",
    corrects: int | None = None,
    now: datetime | None = None,
) -> LogAnswer:
    """Put a walk-round into the logbook of a plan.

    Parameters
    ----------
    plan : Path
    answers : Path, optional
        A filled sheet, see `roofspring.safety.inspection.read_answers`.
    given : iterable of Given, optional
        The answers themselves, where there is no sheet.
    at : str
        When it was done; now when empty.
    who, note : str
    corrects : int, optional
        Entry that this one takes the place of.
    now : datetime, optional
        The clock; that of this machine when not given.

    Returns
    -------
    LogAnswer

    Raises
    ------
    PlanError, RangeError, LogbookError, OutputError
        The plan or the sheet has problems (SAF-006, SAF-008), or nothing could be written.
    """
    loaded = open_plan(plan)
    clock = now or datetime.now(UTC)
    when = read_time(at, now=clock) if at else clock
    found = (
        tuple(given or ()) if answers is None else read_answers(_text(answers), file=str(answers))
    )
    made = score({g.question: g.is_fault for g in found})
    walk = WalkRound(
        tuple(Answer(g.question, g.is_fault, g.note) for g in found),
        SCHEME,
        made.core_count,
        made.band,
    )
    return _write(loaded, NewEntry(walk, when, who, note, corrects), now=clock)


def _text(file: Path) -> str:
    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        got = error.strerror if isinstance(error, OSError) else "not text in UTF-8"
        raise RangeError(
            Problem(
                "SAF-008",
                "the filled sheet could not be read",
                file=str(file),
                got=got or type(error).__name__,
                allowed="a text file such as `roofspring log sheet` writes",
                next="check the name; save it as plain text or CSV in UTF-8",
            )
        ) from error


def add_test(
    plan: Path,
    *,
    what: str,
    value: str,
    method: str = "",
    point: str = "",
    at: str = "",
    who: str = "",
    note: str = "",
    corrects: int | None = None,
    now: datetime | None = None,
) -> LogAnswer:
    """Put a test of the water into the logbook of a plan.

    Parameters
    ----------
    plan : Path
    what : str
        Id of a limit, such as ``e-coli`` or ``lead``.
    value : str
        As the laboratory wrote it, such as ``<1 MPN/100 mL``.
    method : str
    point : str
        Part of the plan that the bottle was filled at.
    at, who, note, corrects, now
        As `add_walk`.

    Returns
    -------
    LogAnswer

    Raises
    ------
    PlanError, RangeError, UnitError, LogbookError, OutputError
        The value cannot be read (SAF-007), the point is no part of the plan (LOG-008), or nothing
        could be written.
    """
    loaded = open_plan(plan)
    clock = now or datetime.now(UTC)
    when = read_time(at, now=clock) if at else clock
    result = read_result(what, value)
    if point:
        _known_part(loaded, point)
    test = WaterTest(result.id, CENSORED[result.sign], result.value, result.unit, method, point)
    return _write(loaded, NewEntry(test, when, who, note, corrects), now=clock)


def _known_part(loaded: LoadedPlan, point: str) -> None:
    ids = [part_id for part_id, _ in loaded.plan.parts()]
    if point not in ids:
        raise LogbookError(
            Problem(
                "LOG-008",
                "the plan has no such part",
                file=str(loaded.path),
                where="sample point",
                got=repr(point),
                allowed=", ".join(ids),
                next=did_you_mean(point, ids, otherwise="name a part, or leave the point out"),
            )
        )


def _write(loaded: LoadedPlan, entry: NewEntry, *, now: datetime) -> LogAnswer:
    file = logbook_of(loaded)
    made = write_entry(file, entry, now=now)
    return _answer(file, (made,))


def _answer(file: Path, entries: tuple[Entry, ...]) -> LogAnswer:
    return LogAnswer(
        file,
        entries,
        tuple(entry_words(e) for e in entries),
        tuple(fault_lines(e) for e in entries),
    )


def fault_lines(entry: Entry) -> tuple[str, ...]:
    """Each fault of a walk-round with its question and its note; none of another kind."""
    if not isinstance(entry.what, WalkRound):
        return ()
    asked = {q.id: q for q in questions()}
    lines = []
    for a in entry.what.answers:
        if a.is_fault and a.question in asked:
            q = asked[a.question]
            stop = "STOP " if q.severity == "stop" else ""
            lines.append(f"{q.id} {stop}{q.question}" + (f" {a.note}" if a.note else ""))
    return tuple(lines)


def entry_words(entry: Entry) -> str:
    """What an entry says, in a line."""
    what = entry.what
    if isinstance(what, WalkRound):
        made = score_of(what)
        left = len(made.unanswered)
        return f"walk-round: {made.words}" + (f"; {left} not looked at" if left else "")
    result = result_of(what)
    at = f" at {what.sample_point}" if what.sample_point else ""
    return f"{limits()[what.parameter].what}{at}: {result_words(result)}; {judge(result)}"


def show_log(plan: Path, *, kind: str | None = None, corrected: bool = False) -> LogAnswer:
    """What stands in the logbook of a plan, the newest last.

    Parameters
    ----------
    plan : Path
    kind : str, optional
        Only this one.
    corrected : bool
        True shows entries that a later one took the place of, as well.

    Returns
    -------
    LogAnswer
        Without entries where there is no logbook yet.

    Raises
    ------
    PlanError, LogbookError, OutputError
        The plan or the logbook cannot be read.
    """
    loaded = open_plan(plan)
    file = logbook_of(loaded)
    entries = read_entries(file)
    if not corrected:
        entries = current(entries)
    entries = tuple(e for e in entries if kind is None or e.kind == kind)
    return _answer(file, entries)


def export_log(plan: Path, *, out: Path) -> tuple[Path, ...]:
    """Write the whole logbook, corrected entries too, as CSV files into a folder.

    Parameters
    ----------
    plan, out : Path
        No file in ``out`` is written over.

    Returns
    -------
    tuple of Path

    Raises
    ------
    PlanError, LogbookError, OutputError
        No logbook yet (LOG-007), a file stands already (OUT-002), or the folder cannot be written.
    """
    file = _there(open_plan(plan))
    entries = read_entries(file)
    tables: dict[str, Table] = {}
    for kind in KINDS.values():
        tables.update(kind.tables(entries))
    files = {out / name: table for name, table in tables.items()}
    _free(files)
    make_folder(out)
    for place, table in files.items():
        write_text_atomic(place, _csv(table))
    return tuple(files)


def _csv(table: Table) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table[0])
    writer.writerows(table[1])
    return text.getvalue()


def _free(files: Mapping[Path, object]) -> None:
    there = [f for f in files if f.exists()]
    if there:
        raise OutputError(
            Problem(
                "OUT-002",
                "a file stands here already",
                file=str(there[0]),
                next="name another folder with --out, or move that file away; nothing was written",
            )
        )


def backup_log(plan: Path, *, out: Path) -> Path:
    """Copy the logbook of a plan into one new file, also while something writes to it.

    Parameters
    ----------
    plan, out : Path

    Returns
    -------
    Path

    Raises
    ------
    PlanError, LogbookError, OutputError
        As `export_log`.
    """
    file = _there(open_plan(plan))
    make_folder(out.absolute().parent)
    return backup_logbook(file, out)


def _there(loaded: LoadedPlan) -> Path:
    file = logbook_of(loaded)
    if not file.exists():
        raise LogbookError(
            Problem(
                "LOG-007",
                "this plan has no logbook yet",
                file=str(file),
                next="add the first entry with `roofspring log add walk PLAN`",
            )
        )
    return file


def write_sheet(out: Path) -> Path:
    """Write a walk-round to fill in; never over a file.

    Raises
    ------
    OutputError
        A file stands already (OUT-002), or it cannot be written.
    """
    _free({out: None})
    make_folder(out.absolute().parent)
    write_text_atomic(out, blank_answers())
    return out


def kept_of(loaded: LoadedPlan, *, now: datetime | None = None) -> Kept | None:
    """What the logbook says of the drinking water; nothing where there is no entry.

    Raises
    ------
    LogbookError, OutputError
        The logbook cannot be read.
    """
    entries = read_entries(logbook_of(loaded))
    if not entries:
        return None
    plan = loaded.plan
    return kept(
        entries,
        today=local_day(now or datetime.now(UTC)),
        drunk=frozenset(i for i, tap in plan.taps.items() if tap.drinking),
        raw=_before_filters(plan),
        filters=frozenset(plan.filters),
    )


def _before_filters(plan: Plan) -> frozenset[str]:
    """Tanks that feed a filter."""
    feeding = {
        pipe.from_.partition(".")[0]
        for pipe in plan.pipes.values()
        if pipe.to.partition(".")[0] in plan.filters
    }
    return frozenset(feeding & set(plan.tanks))

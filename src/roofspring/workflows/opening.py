"""Open a plan with its rain record: the first step of every answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from roofspring import rain
from roofspring.errors import PlanError, Problem, RecordError
from roofspring.kernels._jit import is_ready
from roofspring.kernels.run import run
from roofspring.plan.read import LoadedPlan, read_plan
from roofspring.rain import RainRecord

Progress = Callable[[str], None]
"""Told what is being done, one short line each."""


@dataclass(frozen=True)
class Opened:
    """A plan that was read, and the record it names."""

    loaded: LoadedPlan
    record: RainRecord


def open_plan(path: Path) -> LoadedPlan:
    """Read a plan alone.

    Raises
    ------
    PlanError
        Every problem of the file at once.
    """
    return read_plan(path)


def open_with_rain(path: Path) -> Opened:
    """Read a plan and the rain record it names, gaps filled as the plan says.

    Raises
    ------
    PlanError, RecordError
        Every problem of the plan, or of the record.
    """
    loaded = read_plan(path)
    block = loaded.plan.rain
    if block.file is None:
        raise PlanError(
            Problem(
                "PLN-060",
                "the plan names no rain record, and this question needs one",
                file=str(loaded.path),
                line=loaded.lines.get("rain"),
                where="rain.file",
                allowed="a rain record beside the plan: plain CSV or GHCN-Daily",
                next='put a record beside the plan and add file = "rain.csv" to its [rain] table',
            )
        )
    record = rain.read(
        loaded.path.parent / block.file,
        form=block.form,
        unit=block.unit,
        station=block.station,
        fill=block.fill,
    )
    if record.days_count == 0:
        raise RecordError(
            Problem(
                "REC-090",
                "the rain record holds no whole day",
                file=block.file,
                next="give a record of at least one year",
            )
        )
    return Opened(loaded, record)


def run_words(record: RainRecord) -> str:
    """What a run is doing, for a line of progress; the first one says that it compiles."""
    words = f"running {record.years:.0f} years of rain through the plan"
    once = "" if is_ready(run) else " (the first run compiles the engine, once: about 10 seconds)"
    return words + once


@contextmanager
def located(loaded: LoadedPlan) -> Iterator[None]:
    """Give file and line to problems that were found after reading."""
    try:
        yield
    except PlanError as error:
        raise PlanError(tuple(_with_line(p, loaded) for p in error.problems)) from error


def _with_line(problem: Problem, loaded: LoadedPlan) -> Problem:
    if problem.file:
        return problem
    line = None
    where = problem.where
    while where and line is None:
        line = loaded.lines.get(where)
        where = where.rpartition(".")[0]
    return replace(problem, file=str(loaded.path), line=line)

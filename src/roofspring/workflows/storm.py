"""Will it catch the storm?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from roofspring.errors import Problem, RangeError, UnitError
from roofspring.errors.names import did_you_mean
from roofspring.files import write_text_atomic
from roofspring.network.assemble import assemble
from roofspring.network.faults import break_all
from roofspring.network.simulate import State, simulate
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan
from roofspring.rain import RainRecord
from roofspring.rain.cloudburst import HYETOGRAPHS, DesignRain, design_rain
from roofspring.reliability.storm import (
    StormAnswer,
    Weather,
    assess_storm,
    carried,
    design_weather,
    on_day,
    record_weather,
    series_csv,
    worst_window,
)
from roofspring.units import parse
from roofspring.workflows.opening import Progress, has_rain, located, open_plan, rain_of, run_words

DURATION, HOURS, STEP = "1 h", 36.0, "5 min"
RETURN_YEARS, PATTERN = 10.0, "alternating-block"
DEEPEST_M, LONGEST_S, SLOT_S = 10.0, 720.0 * 3600.0, 300.0
"""Limits of a storm made to order, beyond any that was measured; engineering choice."""


@dataclass(frozen=True)
class Asked:
    """Which storm, in the words of a person.

    Attributes
    ----------
    depth : str, optional
        Rain of the storm with its unit. When not given, that of ``return_years``: from the
        published table that the plan names, else from its record.
    duration : str, optional
        Length of the storm with its unit, a whole number of five minutes; 1 h when not given.
    return_years : float, optional
        Mean time between such storms [years]; 10 when not given.
    pattern : str, optional
        A name in `roofspring.rain.cloudburst.HYETOGRAPHS`.
    full : str, optional
        How full every tank is when it comes, such as ``80 %``.
    day : str, optional
        First day of a stretch of the record, such as ``2013-06-07``; or ``worst``, for the one in
        which most was lost.
    hours : float, optional
        Length of that stretch [h]; 36 when not given.
    step : str
        Step of the run with its unit.
    """

    depth: str | None = None
    duration: str | None = None
    return_years: float | None = None
    pattern: str | None = None
    full: str | None = None
    day: str | None = None
    hours: float | None = None
    step: str = STEP


WORST = "worst"


def storm(
    path: Path,
    asked: Asked = Asked(),
    *,
    faults: Sequence[str] = (),
    series: Path | None = None,
    out: Path | None = None,
    progress: Progress | None = None,
) -> StormAnswer:
    """Run one storm through the plan at a path.

    Parameters
    ----------
    path : Path
    asked : Asked
        Which storm.
    faults : sequence of str
        What breaks as it begins, such as ``feed-a:stuck-open``; see `roofspring.network.faults`.
    series : Path, optional
        File for levels and flows of every step, as CSV.
    out : Path, optional
        File for the page with the pictures.
    progress : callable, optional

    Raises
    ------
    PlanError, RecordError, RangeError, UnitError, SolveError, OutputError
        The plan, its rain or what was asked for has problems, or a file cannot be written.
    """
    tell = progress or (lambda _line: None)
    _check_together(asked)
    pattern = asked.pattern or PATTERN
    if pattern not in HYETOGRAPHS:
        raise RangeError(
            Problem(
                "STO-001",
                "this storm pattern is not known",
                where="--pattern",
                got=repr(pattern),
                allowed=", ".join(HYETOGRAPHS),
                next=did_you_mean(pattern, HYETOGRAPHS),
            )
        )
    full_frac = None if asked.full is None else _quantity(asked.full, to="", where="--full")
    if full_frac is not None and not 0.0 <= full_frac <= 1.0:
        raise RangeError(
            Problem(
                "STO-002",
                "a tank cannot be that full",
                where="--full",
                got=repr(asked.full),
                allowed="0 to 100 %",
                next="give a share of its content at the overflow",
            )
        )
    step_s = _quantity(asked.step, to="s", where="--step")
    loaded = open_plan(path)
    plan, record = loaded.plan, None
    with located(loaded):
        broken_plan, broken = break_all(plan, faults)
    state: State | None = None
    if asked.day is None:
        weather = _made_to_order(loaded, asked, pattern=pattern, step_s=step_s)
    else:
        record = rain_of(loaded)
        tell(run_words(record))
        with located(loaded):
            weather, state = _of_record(plan, record, asked, step_s=step_s)
            if broken:
                assembled = assemble(broken_plan)
                state = carried(state, to=assembled, of=assemble(plan))
    tell("running the storm through the plan, and single changes of it")
    with located(loaded):
        answer = assess_storm(
            broken_plan,
            weather,
            state=state,
            full_frac=full_frac,
            faults=broken,
            plan_hash=loaded.hash,
            rain_hash=record.hash if record else "",
        )
    if series is not None:
        write_text_atomic(series, series_csv(answer.series, units=plan.show))
    if out is not None:
        from roofspring.report.storm_page import render_storm_html

        page = render_storm_html(
            broken_plan,
            answer,
            plan_file=loaded.path.name,
            invented=record is not None and record.invented,
        )
        write_text_atomic(out, page)
    return answer


def _check_together(asked: Asked) -> None:
    """Refuse words that belong to a storm made to order beside those of a stretch of the record."""
    ordered = {
        "--depth": asked.depth,
        "--duration": asked.duration,
        "--return-years": asked.return_years,
        "--pattern": asked.pattern,
        "--full": asked.full,
    }
    clash = [name for name, value in ordered.items() if value is not None]
    if asked.day is not None and clash:
        what, where = "these belong to a storm made to order, not to one of the record", clash
    elif asked.depth is not None and asked.return_years is not None:
        raise RangeError(
            Problem(
                "STO-004",
                "a depth is given, and how rare it is to be as well",
                where="--depth, --return-years",
                allowed="one of the two: the other follows from it",
                next="leave out --depth, or --return-years",
            )
        )
    elif asked.day is None and asked.hours is not None:
        what, where = "hours are those of a stretch of the record", ["--hours"]
    else:
        return
    raise RangeError(
        Problem(
            "STO-004",
            what,
            where=", ".join(where),
            allowed="--from DAY and --hours, or --depth and the like",
            next="leave out one of the two",
        )
    )


def _check_size(*, depth_m: float | None, duration_s: float) -> None:
    """Refuse a storm that no sky sends: most often a slip of the unit."""
    slots = duration_s / SLOT_S
    for where, text, holds, allowed in (
        (
            "--depth",
            f"{1000.0 * (depth_m or 0.0):g} mm",
            depth_m is None or 0.0 < depth_m <= DEEPEST_M,
            "above 0, to 10 m",
        ),
        (
            "--duration",
            f"{duration_s / 60.0:g} min",
            0.0 < duration_s <= LONGEST_S and math.isclose(slots, round(slots), rel_tol=1e-9),
            "whole five minutes, to 720 h",
        ),
    ):
        if not holds:
            raise RangeError(
                Problem(
                    "STO-009",
                    "no storm is made to order so",
                    where=where,
                    got=text,
                    allowed=allowed,
                    next="check the value and its unit",
                )
            )


def _made_to_order(loaded: LoadedPlan, asked: Asked, *, pattern: str, step_s: float) -> Weather:
    duration_s = _quantity(asked.duration or DURATION, to="s", where="--duration")
    design = None
    depth_m = None if asked.depth is None else _quantity(asked.depth, to="m", where="--depth")
    _check_size(depth_m=depth_m, duration_s=duration_s)
    if depth_m is None:
        design = _design(
            loaded, duration_s=duration_s, return_years=asked.return_years or RETURN_YEARS
        )
        depth_m = design.depth_m
    return design_weather(
        depth_m=depth_m, duration_s=duration_s, pattern=pattern, step_s=step_s, design=design
    )


def _of_record(
    plan: Plan, record: RainRecord, asked: Asked, *, step_s: float
) -> tuple[Weather, State]:
    assembled = assemble(plan)
    hours = HOURS if asked.hours is None else asked.hours
    if asked.day == WORST:
        day = worst_window(plan, simulate(plan, record, assembled=assembled), hours=hours)
    else:
        day = _day(asked.day or "")
    weather = record_weather(plan, record, start=day, hours=hours, step_s=step_s)
    return weather, on_day(plan, record, assembled, day)


def _day(text: str) -> np.datetime64:
    try:
        return np.datetime64(date.fromisoformat(text), "D")
    except ValueError:
        raise RangeError(
            Problem(
                "STO-008",
                "this is not a day",
                where="--from",
                got=repr(text),
                allowed=f"a day like 2013-06-07, or {WORST}",
                next="write year, month and day with hyphens",
            )
        ) from None


def _design(loaded: LoadedPlan, *, duration_s: float, return_years: float) -> DesignRain:
    from roofspring.rain.readers.frequency_csv import read_frequency_table

    name = loaded.plan.rain.table
    table = None if name is None else read_frequency_table(loaded.path.parent / name)
    record = rain_of(loaded) if has_rain(loaded.plan) else None
    if table is None and record is None:
        raise RangeError(
            Problem(
                "STO-003",
                "nothing says how much rain such a storm brings",
                file=str(loaded.path),
                where="rain",
                allowed="a depth, or a plan with a rain record or a published table",
                next="give --depth, or add file or table to the [rain] table of the plan",
            )
        )
    return design_rain(
        duration_s=duration_s, return_years=return_years, kind="ARI", table=table, record=record
    )


def _quantity(text: str, *, to: str, where: str) -> float:
    try:
        return parse(text, to=to)
    except UnitError as error:
        first = error.problems[0]
        raise UnitError(
            Problem(
                first.code,
                first.what,
                where=where,
                got=first.got,
                allowed=first.allowed,
                next=first.next,
            )
        ) from error

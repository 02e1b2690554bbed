"""Will it flow? Heights first; then drainage, loads, frost, swales and gardens of the same plan."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from roofspring.errors import Finding, PlanError, Problem, RecordError, ranked
from roofspring.errors.names import did_you_mean
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.assemble import assemble
from roofspring.network.drainage import Drainage, assess_drainage
from roofspring.network.frost_times import Frost, assess_frost
from roofspring.network.garden import GardenRow, garden_findings, garden_rows
from roofspring.network.levels import (
    STATE_NAMES,
    DesignIntensity,
    HighestSand,
    LevelsAnswer,
    LowestStand,
    assess_levels,
    design_intensity,
    lowest_stands,
)
from roofspring.network.levels import highest_sand as find_highest_sand
from roofspring.network.loads import Loads, assess_loads
from roofspring.network.overflows import Overflows, assess_overflows
from roofspring.network.pipes import Pipes, assess_pipes
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.network.swale import Swales, assess_swales
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan
from roofspring.rain import RainRecord
from roofspring.rain.cloudburst import DepthTable
from roofspring.workflows.opening import Progress, has_rain, located, open_plan, rain_of, run_words


@dataclass(frozen=True)
class FlowAnswer:
    """The answer to "Will it flow?", with what stands around it.

    Attributes
    ----------
    levels : LevelsAnswer
        Heights, and the sentence.
    drainage : Drainage
    pipes : Pipes
    overflows : Overflows
    loads : Loads
    frost : Frost
    swales : Swales
    gardens : tuple of GardenRow
    findings : tuple of Finding
        Of all of them, ranked.
    lowest_stands, highest_sand : tuple, optional
        Where they were asked for.
    files : tuple of str
        Drawings that were written.
    """

    levels: LevelsAnswer
    drainage: Drainage
    pipes: Pipes
    overflows: Overflows
    loads: Loads
    frost: Frost
    swales: Swales
    gardens: tuple[GardenRow, ...]
    findings: tuple[Finding, ...]
    lowest_stands: tuple[LowestStand, ...] | None = None
    highest_sand: tuple[HighestSand, ...] | None = None
    files: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """The answer in a sentence."""
        return self.levels.sentence

    def to_dict(self) -> dict[str, Any]:
        """The keys of the level checks, and one more for each of the others."""
        asked: dict[str, Any] = {}
        if self.lowest_stands is not None:
            asked["lowest_stands"] = [row.to_dict() for row in self.lowest_stands]
        if self.highest_sand is not None:
            asked["highest_sand"] = [row.to_dict() for row in self.highest_sand]
        if self.files:
            asked["files"] = list(self.files)
        return {
            **self.levels.to_dict(),
            **asked,
            "drainage": self.drainage.to_dict(),
            "pipes": self.pipes.to_dict(),
            "overflows": self.overflows.to_dict(),
            "loads": self.loads.to_dict()["rows"],
            "frost": self.frost.to_dict(),
            "swales": self.swales.to_dict()["rows"],
            "gardens": [row.to_dict() for row in self.gardens],
            "findings": [f.to_dict() for f in self.findings],
        }


def levels(
    path: Path,
    *,
    lowest_stand: bool = False,
    highest_sand: bool = False,
    out: Path | None = None,
    state: str | None = None,
    progress: Progress | None = None,
) -> FlowAnswer:
    """Check every height of the plan at a path, its gutters, loads, frost and swales.

    A rain record is not needed. With one, how often gutters spill, frost, and what swales and
    gardens get are told too; only a swale whose soil is given makes it run the plan.

    Parameters
    ----------
    path : Path
    lowest_stand : bool
        Also find how low every tank and filter may stand.
    highest_sand : bool
        Also find how high the sand of every filter may sit.
    out : Path, optional
        Folder into which the levels drawing of every state is written.
    state : str, optional
        Draw this state alone.
    progress : callable, optional

    Returns
    -------
    FlowAnswer

    Raises
    ------
    PlanError, SolveError, OutputError
        The plan has problems, or the run failed. LVL-021 tells of a record that cannot be read.
    PlanError (LVL-023)
        There is no such state, or no folder to draw it into.
    """
    if state is not None and (state not in STATE_NAMES or out is None):
        raise PlanError(_no_state(state))
    tell = progress or (lambda _line: None)
    loaded = open_plan(path)
    plan = loaded.plan
    with located(loaded):
        record, unread = _record(loaded)
        answer = assess_levels(plan, rain=rain_to_design(loaded, record))
        stands = sand = None
        rain_m_per_s = answer.rain.rain_m_per_s
        if lowest_stand:
            tell("lowering every stand")
            stands = lowest_stands(plan, rain_m_per_s=rain_m_per_s)
        if highest_sand:
            tell("raising the sand")
            sand = find_highest_sand(plan, rain_m_per_s=rain_m_per_s)
        run = None
        if record is not None and plan.roofs and any(s.soil for s in plan.swales.values()):
            tell(run_words(record))
            run = simulate(plan, record, plan_hash=loaded.hash)
        more = (*assemble(plan).findings, *unread)
        found = around(loaded, answer, record=record, run=run, more=more)
    files = () if out is None else draw(plan, answer, out, state=state)
    return replace(found, lowest_stands=stands, highest_sand=sand, files=files)


def draw(
    plan: Plan, answer: LevelsAnswer, out: Path, *, state: str | None = None
) -> tuple[str, ...]:
    """Write the levels drawing of every state, or of one, each at its worse temperature.

    Raises
    ------
    OutputError
        The folder cannot be made or written.
    """
    from roofspring.report.grade_line import draw_levels

    made = []
    make_folder(out)
    for name in STATE_NAMES if state is None else (state,):
        water = answer.water(name)
        if water is None:  # the plan runs in a circle
            continue
        file = out / f"levels-{name}.svg"
        write_text_atomic(file, draw_levels(plan, water, answer.checks).svg + "\n")
        made.append(str(file))
    return tuple(made)


def _no_state(state: str) -> Problem:
    if state in STATE_NAMES:
        return Problem(
            "LVL-023",
            "a state to draw is named, and no folder to draw it into",
            where="--state",
            got=repr(state),
            next="add --out and a folder",
        )
    return Problem(
        "LVL-023",
        "there is no such state",
        where="--state",
        got=repr(state),
        allowed=", ".join(STATE_NAMES),
        next=did_you_mean(state, STATE_NAMES),
    )


def _record(loaded: LoadedPlan) -> tuple[RainRecord | None, tuple[Finding, ...]]:
    """The rain of a plan; heights are told all the same where it cannot be read."""
    if not has_rain(loaded.plan):
        return None, ()
    try:
        return rain_of(loaded), ()
    except RecordError as error:
        first = error.problems[0]
        return None, (
            Finding(
                "LVL-021",
                "note",
                "the rain record could not be read, so spills of gutters, frost, swales and "
                "gardens are not told",
                where="rain",
                got=f"{first.code}: {first.what}",
                next="run roofspring check, which lists what is wrong with it",
            ),
        )


def rain_to_design(loaded: LoadedPlan, record: RainRecord | None) -> DesignIntensity:
    """The rain that overflows must take, from the plan's table or record.

    Raises
    ------
    RecordError
        The published table that the plan names cannot be read.
    """
    return design_intensity(record, _table(loaded))


def _table(loaded: LoadedPlan) -> DepthTable | None:
    """The published table of short rain that the plan names."""
    plan = loaded.plan
    if plan.rain.table is None or not plan.roofs:
        return None
    from roofspring.rain.readers.frequency_csv import read_frequency_table

    return read_frequency_table(loaded.path.parent / plan.rain.table)


def around(
    loaded: LoadedPlan,
    answer: LevelsAnswer,
    *,
    record: RainRecord | None,
    run: RunResult | None,
    more: tuple[Finding, ...] = (),
) -> FlowAnswer:
    """Everything beside the heights, from what was already read and run.

    Raises
    ------
    RecordError
        The published table that the plan names cannot be read.
    """
    plan: Plan = loaded.plan
    drainage = assess_drainage(plan, record=record, table=_table(loaded))
    pipes = assess_pipes(plan)
    overflows = assess_overflows(
        plan, rain_m_per_s=answer.rain.rain_m_per_s, rain_source=answer.rain.source
    )
    told = {c.where.partition(" over ")[2] for c in answer.checks if c.ok is False}
    loads = assess_loads(plan)
    frost = assess_frost(plan, record)
    swales = assess_swales(plan, run)
    gardens = garden_rows(plan, record)
    return FlowAnswer(
        answer,
        drainage,
        pipes,
        overflows,
        loads,
        frost,
        swales,
        gardens,
        ranked(
            (
                *more,
                *answer.findings,
                *drainage.findings,
                *pipes.findings,
                *(f for f in overflows.findings if f.code != "OVF-102" or f.where not in told),
                *loads.findings,
                *frost.findings,
                *swales.findings,
                *garden_findings(gardens),
            )
        ),
    )

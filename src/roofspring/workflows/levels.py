"""Will it flow? Heights first; then drainage, loads, frost, swales and gardens of the same plan."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roofspring.errors import Finding, RecordError, ranked
from roofspring.network.assemble import assemble
from roofspring.network.drainage import Drainage, assess_drainage
from roofspring.network.frost_times import Frost, assess_frost
from roofspring.network.garden import GardenRow, garden_findings, garden_rows
from roofspring.network.levels import (
    DesignIntensity,
    LevelsAnswer,
    assess_levels,
    design_intensity,
)
from roofspring.network.loads import Loads, assess_loads
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
    loads : Loads
    frost : Frost
    swales : Swales
    gardens : tuple of GardenRow
    findings : tuple of Finding
        Of all of them, ranked.
    """

    levels: LevelsAnswer
    drainage: Drainage
    loads: Loads
    frost: Frost
    swales: Swales
    gardens: tuple[GardenRow, ...]
    findings: tuple[Finding, ...]

    @property
    def sentence(self) -> str:
        """The answer in a sentence."""
        return self.levels.sentence

    def to_dict(self) -> dict[str, Any]:
        """The keys of the level checks, and one more for each of the others."""
        return {
            **self.levels.to_dict(),
            "drainage": self.drainage.to_dict(),
            "loads": self.loads.to_dict()["rows"],
            "frost": self.frost.to_dict(),
            "swales": self.swales.to_dict()["rows"],
            "gardens": [row.to_dict() for row in self.gardens],
            "findings": [f.to_dict() for f in self.findings],
        }


def levels(path: Path, *, progress: Progress | None = None) -> FlowAnswer:
    """Check every height of the plan at a path, its gutters, loads, frost and swales.

    A rain record is not needed. With one, how often gutters spill, frost, and what swales and
    gardens get are told too; only a swale whose soil is given makes it run the plan.

    Parameters
    ----------
    path : Path
    progress : callable, optional

    Raises
    ------
    PlanError, SolveError
        The plan has problems, or the run failed. LVL-021 tells of a record that cannot be read.
    """
    loaded = open_plan(path)
    plan = loaded.plan
    with located(loaded):
        record, unread = _record(loaded)
        answer = assess_levels(plan, rain=rain_to_design(loaded, record))
        run = None
        if record is not None and plan.roofs and any(s.soil for s in plan.swales.values()):
            if progress is not None:
                progress(run_words(record))
            run = simulate(plan, record, plan_hash=loaded.hash)
        more = (*assemble(plan).findings, *unread)
        return around(loaded, answer, record=record, run=run, more=more)


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
    loads = assess_loads(plan)
    frost = assess_frost(plan, record)
    swales = assess_swales(plan, run)
    gardens = garden_rows(plan, record)
    return FlowAnswer(
        answer,
        drainage,
        loads,
        frost,
        swales,
        gardens,
        ranked(
            (
                *more,
                *answer.findings,
                *drainage.findings,
                *loads.findings,
                *frost.findings,
                *swales.findings,
                *garden_findings(gardens),
            )
        ),
    )

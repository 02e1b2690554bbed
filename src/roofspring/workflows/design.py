"""The main job: every question that can be answered, in one report."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from roofspring import __version__
from roofspring.errors import Finding, ranked
from roofspring.files import make_folder, to_json, write_text_atomic
from roofspring.network.assemble import assemble
from roofspring.network.assumptions import Assumption
from roofspring.network.frost import frost_findings
from roofspring.network.levels import assess_levels
from roofspring.network.result import Provenance
from roofspring.plan.explain import all_fields
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan
from roofspring.reliability.answer import SupplyAnswer
from roofspring.reliability.supply import assess_supply
from roofspring.report.document import IS_THE_SAND_RIGHT, WILL_IT_LAST, DesignDocument
from roofspring.report.render import render_html
from roofspring.safety.answer import SafetyAnswer
from roofspring.workflows.answers import make_futures
from roofspring.workflows.levels import FlowAnswer, around, rain_to_design
from roofspring.workflows.opening import (
    Opened,
    Progress,
    has_rain,
    located,
    open_plan,
    rain_of,
    run_words,
)
from roofspring.workflows.records import record_words
from roofspring.workflows.safety import answer_of
from roofspring.workflows.sand_design import SandOfPlan, sand_of_plan

REPORT_FILE = "report.html"
NO_SAND = SandOfPlan()
ANSWERS_FILE = "answers.json"


@dataclass(frozen=True)
class DesignAnswer:
    """All answers of one design, and the files they were written to.

    ``supply`` is None when the plan lacks what that question needs; ``not_answered`` then says
    what, as pairs of a question and a reason with the next step.
    """

    supply: SupplyAnswer | None
    levels: FlowAnswer
    safety: SafetyAnswer
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    files: tuple[str, ...]
    not_answered: tuple[tuple[str, str], ...] = ()
    sand: SandOfPlan = NO_SAND

    def to_dict(self) -> dict[str, Any]:
        """One JSON object: a key for each question, then all findings, ranked."""
        return {
            "supply": self.supply.to_dict() if self.supply else None,
            "levels": self.levels.to_dict(),
            "sand": self.sand.to_dict(),
            "safety": self.safety.to_dict(),
            "findings": [f.to_dict() for f in self.findings],
            "assumptions": [a.__dict__ for a in self.assumptions],
            "files": list(self.files),
            "not_answered": [{"question": q, "reason": r} for q, r in self.not_answered],
        }


def design(
    path: Path,
    *,
    out: Path | None = None,
    futures: int | None = None,
    progress: Progress | None = None,
) -> DesignAnswer:
    """Answer every question of the plan at a path that it can answer, and write the report.

    A plan without a rain record, a roof, a tank or a use is not run; SUP-110 says so, and heights,
    raw-water paths and the graph are answered all the same.

    Parameters
    ----------
    path : Path
        Plan file, or the folder that holds it.
    out : Path, optional
        Folder for the report; ``report`` beside the plan when not given. Made when missing.
    futures : int, optional
        Invented records to run it through as well; see `roofspring.workflows.answers.supply`.
    progress : callable, optional
        Told what is being done, one short line each.

    Returns
    -------
    DesignAnswer

    Raises
    ------
    PlanError, RecordError, SolveError, OutputError
        The plan has problems, or it names a record that cannot be read. Nothing half-written is
        left behind.
    """
    tell = progress or (lambda _line: None)
    began = time.perf_counter()
    tell("reading the plan and the rain record")
    loaded = open_plan(path)
    plan = loaded.plan
    record = rain_of(loaded) if has_rain(plan) else None
    supply = run = None
    lack = _lack(plan)
    provenance = Provenance(__version__, loaded.hash, record.hash if record else "", 0.0)
    with located(loaded):
        tell("checking every height")
        heights = assess_levels(plan, rain=rain_to_design(loaded, record))
        assembled = assemble(plan)
        if record is not None and not lack:
            tell(run_words(record))
            supply, run = assess_supply(plan, record, plan_hash=loaded.hash)
            provenance = run.provenance
            made = make_futures(Opened(loaded, record), members=futures, progress=tell)
            supply = replace(supply, futures=made)
        tell("looking at the sand")
        sand = sand_of_plan(loaded, record=record, run=run, heights=heights)
    levels = around(loaded, heights, record=record, run=run)
    tell("following the water to every drinking tap")
    drinking = answer_of(loaded, record, run)
    findings = ranked(
        dict.fromkeys(
            (
                *(supply.findings if supply else assembled.findings),
                *(record.findings if record and not supply else ()),
                *(supply.futures.findings if supply and supply.futures else ()),
                *_unanswered(lack),
                *levels.findings,
                *drinking.findings,
                *(frost_findings(record) if record else ()),
                *sand.findings,
            )
        )
    )
    not_answered: tuple[tuple[str, str], ...] = ()
    if lack:
        not_answered += ((WILL_IT_LAST, _reason(lack)),)
    if sand.lack:
        not_answered += ((IS_THE_SAND_RIGHT, f"{sand.lack}."),)
    assumptions = (*_defaults(loaded), *assembled.assumptions)
    provenance = replace(provenance, seconds=time.perf_counter() - began)
    document = DesignDocument(
        plan=plan,
        plan_file=loaded.path.name,
        plan_hash=loaded.hash,
        record=record,
        record_words=record_words(record) if record else "",
        run=run,
        supply=supply,
        levels=heights.checks,
        levels_sentence=heights.sentence,
        level_states=heights.by_state(),
        falls=heights.falls,
        water=heights.water(),
        drainage=levels.drainage,
        pipes=levels.pipes,
        overflows=levels.overflows,
        loads=levels.loads,
        frost=levels.frost,
        swales=levels.swales,
        gardens=levels.gardens,
        safety=drinking,
        findings=findings,
        assumptions=assumptions,
        provenance=provenance,
        not_answered=not_answered,
        sand=sand.parts,
    )
    tell("writing the report")
    folder = out or loaded.path.parent / "report"
    answer = DesignAnswer(
        replace(supply, findings=findings, provenance=provenance) if supply else None,
        levels,
        drinking,
        findings,
        assumptions,
        (str(folder / REPORT_FILE), str(folder / ANSWERS_FILE)),
        not_answered,
        sand,
    )
    page = render_html(document)
    make_folder(folder)
    write_text_atomic(folder / REPORT_FILE, page)
    write_text_atomic(folder / ANSWERS_FILE, to_json(answer.to_dict(), indent=1) + "\n")
    return answer


@dataclass(frozen=True)
class _Lack:
    """One thing that a run needs and the plan does not have."""

    what: str
    where: str
    next: str


def _lack(plan: Plan) -> tuple[_Lack, ...]:
    """What the plan must have before rain can be run through it, and does not."""
    needed = (
        (
            has_rain(plan),
            _Lack(
                "rain record",
                "rain.file",
                'put a record beside the plan and add file = "rain.csv" to its [rain] table',
            ),
        ),
        (plan.roofs, _Lack("roof", "roof", "add a [roof.NAME] table with its area and material")),
        (plan.tanks, _Lack("tank", "tank", "add a [tank.NAME] table with its volume and height")),
        (plan.uses, _Lack("use", "use", "add a [use.NAME] table: who draws water, and how much")),
    )
    return tuple(lack for given, lack in needed if not given)


def _unanswered(lack: tuple[_Lack, ...]) -> tuple[Finding, ...]:
    """The finding that stands for a run that was not made."""
    if not lack:
        return ()
    return (
        Finding(
            "SUP-110",
            "note",
            f"whether the water will last is not answered: {_missing(lack)}",
            where=", ".join(one.where for one in lack),
            next="; ".join(one.next for one in lack),
        ),
    )


def _missing(lack: tuple[_Lack, ...]) -> str:
    *first, last = (f"no {one.what}" for one in lack)
    return f"the plan has {', '.join(first)} and {last}" if first else f"the plan has {last}"


def _reason(lack: tuple[_Lack, ...]) -> str:
    steps = " ".join(f"{one.next[0].upper()}{one.next[1:]}." for one in lack)
    return f"{_missing(lack)}. {steps}"


def _defaults(loaded: LoadedPlan) -> tuple[Assumption, ...]:
    """Every value the person did not give and that has a fixed default."""
    return tuple(
        Assumption(e.where, e.about, e.text, "", "default", e.source or "the plan format")
        for e in all_fields(loaded)
        if e.origin == "default" and e.source
    )

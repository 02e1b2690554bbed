"""One function for each question that is answered on its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from roofspring.errors import Finding, ranked
from roofspring.network.assemble import assemble
from roofspring.network.frost import frost_findings
from roofspring.network.levels import LevelsAnswer, assess_levels
from roofspring.plan.read import LoadedPlan
from roofspring.reliability.answer import SupplyAnswer
from roofspring.reliability.supply import assess_supply
from roofspring.safety import path_findings
from roofspring.workflows.opening import Progress, located, open_plan, open_with_rain, run_words


def supply(path: Path, *, progress: Progress | None = None) -> SupplyAnswer:
    """Will it last? Run the plan at a path through its rain record.

    Raises
    ------
    PlanError, RecordError, SolveError
        The plan or the record has problems, or the run failed.
    """
    opened = open_with_rain(path)
    if progress is not None:
        progress(run_words(opened.record))
    with located(opened.loaded):
        answer, run = assess_supply(opened.loaded.plan, opened.record, plan_hash=opened.loaded.hash)
    findings = (*answer.findings, *path_findings(opened.loaded.plan, run))
    return replace(answer, findings=ranked(findings))


def levels(path: Path) -> LevelsAnswer:
    """Will it flow? Check every height of the plan at a path. Needs no rain record.

    Raises
    ------
    PlanError
        The plan has problems.
    """
    loaded = open_plan(path)
    with located(loaded):
        return assess_levels(loaded.plan)


def check(path: Path) -> tuple[LoadedPlan, tuple[Finding, ...]]:
    """Read a plan and say what is wrong with it before any run: problems raise, findings return.

    The rain record is read too where the plan names one.

    Raises
    ------
    PlanError, RecordError
        Every problem of the plan, or of the record.
    """
    loaded = open_plan(path)
    findings: list[Finding] = []
    with located(loaded):
        findings.extend(assemble(loaded.plan).findings)
        findings.extend(assess_levels(loaded.plan).findings)
    findings.extend(path_findings(loaded.plan))
    if loaded.plan.rain.file is not None:
        opened = open_with_rain(path)
        findings.extend(opened.record.findings)
        findings.extend(frost_findings(opened.record))
    return loaded, ranked(findings)

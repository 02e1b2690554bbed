"""The main job: every question that can be answered, in one report."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from roofspring.errors import Finding, ranked
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.assemble import assemble
from roofspring.network.assumptions import Assumption
from roofspring.network.frost import frost_findings
from roofspring.network.levels import LevelsAnswer, assess_levels
from roofspring.plan.explain import all_fields
from roofspring.plan.read import LoadedPlan
from roofspring.reliability.answer import SupplyAnswer
from roofspring.reliability.supply import assess_supply
from roofspring.report.document import DesignDocument
from roofspring.report.render import render_html
from roofspring.safety import path_findings
from roofspring.workflows.opening import located, open_with_rain
from roofspring.workflows.records import record_words

REPORT_FILE = "report.html"
ANSWERS_FILE = "answers.json"

Progress = Callable[[str], None]


@dataclass(frozen=True)
class DesignAnswer:
    """All answers of one design, and the files they were written to."""

    supply: SupplyAnswer
    levels: LevelsAnswer
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    files: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """One JSON object: a key for each question, then all findings, ranked."""
        return {
            "supply": self.supply.to_dict(),
            "levels": self.levels.to_dict(),
            "findings": [f.to_dict() for f in self.findings],
            "assumptions": [a.__dict__ for a in self.assumptions],
            "files": list(self.files),
        }


def design(
    path: Path, *, out: Path | None = None, progress: Progress | None = None
) -> DesignAnswer:
    """Answer every question of the plan at a path and write the report.

    Parameters
    ----------
    path : Path
        Plan file, or the folder that holds it.
    out : Path, optional
        Folder for the report; ``report`` beside the plan when not given. Made when missing.
    progress : callable, optional
        Told what is being done, one short line each.

    Returns
    -------
    DesignAnswer

    Raises
    ------
    PlanError, RecordError, SolveError, OutputError
        Nothing half-written is left behind.
    """
    tell = progress or (lambda _line: None)
    began = time.perf_counter()
    tell("reading the plan and the rain record")
    opened = open_with_rain(path)
    loaded, record = opened.loaded, opened.record
    with located(loaded):
        tell("checking every height")
        levels = assess_levels(loaded.plan)
        tell(f"running {record.years:.0f} years of rain through the plan")
        supply, run = assess_supply(loaded.plan, record, plan_hash=loaded.hash)
        assumptions = (*_defaults(loaded), *assemble(loaded.plan).assumptions)
    findings = ranked(
        (
            *supply.findings,
            *levels.findings,
            *path_findings(loaded.plan, run),
            *frost_findings(record),
        )
    )
    provenance = replace(run.provenance, seconds=time.perf_counter() - began)
    document = DesignDocument(
        plan=loaded.plan,
        plan_file=loaded.path.name,
        plan_hash=loaded.hash,
        record=record,
        record_words=record_words(record),
        run=run,
        supply=supply,
        levels=levels.checks,
        levels_sentence=levels.sentence,
        findings=findings,
        assumptions=assumptions,
        provenance=provenance,
    )
    tell("writing the report")
    folder = out or loaded.path.parent / "report"
    answer = DesignAnswer(
        replace(supply, findings=findings, provenance=provenance),
        levels,
        findings,
        assumptions,
        (str(folder / REPORT_FILE), str(folder / ANSWERS_FILE)),
    )
    page = render_html(document)
    make_folder(folder)
    write_text_atomic(folder / REPORT_FILE, page)
    write_text_atomic(folder / ANSWERS_FILE, json.dumps(answer.to_dict(), indent=1) + "\n")
    return answer


def _defaults(loaded: LoadedPlan) -> tuple[Assumption, ...]:
    """Every value the person did not give and that has a fixed default."""
    return tuple(
        Assumption(e.where, e.about, e.text, "", "default", e.source or "the plan format")
        for e in all_fields(loaded)
        if e.origin == "default" and e.source
    )

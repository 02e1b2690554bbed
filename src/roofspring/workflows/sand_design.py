"""The sand of a plan as a part of the main job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from roofspring.errors import Finding, RoofspringError
from roofspring.network.levels import LevelsAnswer
from roofspring.network.result import RunResult
from roofspring.network.sand import SandJob, sand_jobs
from roofspring.plan.read import LoadedPlan
from roofspring.rain import RainRecord
from roofspring.report.sand_chapter import SandPart, sand_part
from roofspring.sources import COMMON_PRACTICE
from roofspring.workflows.sand_answer import SandAnswer
from roofspring.workflows.sand_look import Seen, folded, look, together
from roofspring.workflows.sand_request import SandRequest


@dataclass(frozen=True)
class SandOfPlan:
    """Every sand of a plan, answered.

    ``lack`` says why a sand could not be looked at; empty where all were.
    """

    answers: tuple[SandAnswer, ...] = ()
    parts: tuple[SandPart, ...] = ()
    findings: tuple[Finding, ...] = ()
    lack: str = ""

    def to_dict(self) -> dict[str, Any] | None:
        """One entry for each sand; None for a plan without a filter that could be looked at."""
        if not self.answers:
            return None
        return {
            "sentence": " ".join(a.sentence for a in self.answers),
            "sands": [a.to_dict() for a in self.answers],
        }


def sand_of_plan(
    loaded: LoadedPlan,
    *,
    record: RainRecord | None,
    run: RunResult | None,
    heights: LevelsAnswer,
) -> SandOfPlan:
    """Look at every sand of a plan; a test that cannot be read is told, and the others go on.

    Parameters
    ----------
    loaded : LoadedPlan
    record : RainRecord or None
    run : RunResult or None
        Of the plan through that record.
    heights : LevelsAnswer
        What was found of its heights.

    Returns
    -------
    SandOfPlan
    """
    answers: list[SandAnswer] = []
    findings: list[Finding] = []
    lacks: list[str] = []
    jobs = sand_jobs(loaded.plan)
    for job in jobs:
        others = tuple(j for j in jobs if j != job)
        try:
            answer = look(
                SandRequest(path=loaded.path),
                loaded=loaded,
                jobs=(job, *others),
                seen=Seen(record, run, heights=heights),
            )
        except RoofspringError as error:
            findings.append(_unread(job, error))
            lacks.append(
                f"the sand of {', '.join(job.filters)} could not be looked at: "
                f"{error.problems[0].what}"
            )
            continue
        answers.append(answer)
        findings += answer.findings
    return SandOfPlan(
        tuple(answers),
        tuple(
            sand_part(a.facts(), filters=a.filters, sentence=a.sentence, pictures=n == 0)
            for n, a in enumerate(answers)
        ),
        folded(together(findings)),
        "; ".join(lacks),
    )


def _unread(job: SandJob, error: RoofspringError) -> Finding:
    first = error.problems[0]
    place = f"line {first.line}" if first.line else ""
    return Finding(
        "SIV-152",
        "caution",
        f"the sand could not be looked at: {first.what}",
        ", ".join(job.filters),
        " ".join(word for word in (job.sieve or "", place, first.got) if word),
        first.allowed,
        COMMON_PRACTICE,
        first.next or "see the problems with: roofspring sand PLAN",
    )

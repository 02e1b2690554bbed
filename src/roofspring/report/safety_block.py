"""What the design report says of drinking: the answer, first steps, the risk, and the words."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.plan.model import Plan
from roofspring.report._cells import Table
from roofspring.report.safety_tables import (
    change_table,
    costs_table,
    costs_title,
    risk_table,
    ways_table,
)
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.assess import YOUNG_DAYS_PER_YEAR
from roofspring.safety.paths.graph import STORM

FIRST_STEPS = 4
WEAKEST = 6


@dataclass(frozen=True)
class SafetyBlock:
    """The chapter, in words and tables."""

    sentence: str
    not_a_test: str
    first_steps: tuple[str, ...]
    tables: tuple[tuple[str, Table], ...]
    lay: tuple[str, ...]
    logbook: tuple[str, ...] = ()


def safety_block(plan: Plan, answer: SafetyAnswer) -> SafetyBlock:
    """The chapter of one answer."""
    tables: list[tuple[str, Table]] = []
    if answer.risk:
        tables = [
            ("The weakest ways to a tap", ways_table(plan, answer.routes[:WEAKEST])),
            (f"Infections among {words.PEOPLE:,} people in a year", risk_table(answer)),
            (f"What each change would do, among {words.PEOPLE:,} people", change_table(answer)),
        ]
    if answer.costs is not None:
        title = f"{costs_title(answer.costs)}, by the prices of the plan"
        tables.append((title, costs_table(answer.costs, plan.show)))
    kept = answer.kept
    return SafetyBlock(
        answer.sentence,
        words.NOT_A_TEST,
        first_steps(answer),
        tuple(tables),
        lay_lines(answer),
        () if kept is None else (*kept.says, *kept.removed, *kept.cannot),
    )


def lay_lines(answer: SafetyAnswer) -> tuple[str, ...]:
    """What everybody in the house must know: of this plan first, then what always holds."""
    lines = []
    if any(not r.barriers and r.when <= STORM for r in answer.routes):
        lines.append(words.RAW)
    water = answer.water
    if water is not None and water.is_from_run and water.young_days_per_year > YOUNG_DAYS_PER_YEAR:
        lines.append(words.YOUNG)
    if answer.missing:
        lines.append(words.NOT_SAID)
    return (*lines, *words.ALWAYS)


def first_steps(answer: SafetyAnswer) -> tuple[str, ...]:
    """What to do first: the stops, then boiling until a second step stands."""
    stops = [f for f in answer.findings if f.severity == "stop"]
    stops.sort(key=lambda f: not f.code.startswith("SAF"))
    steps = [_step(f) for f in stops]
    if any(r.infection_goal != "likely met" for r in answer.risk if not r.is_scenario):
        steps.append("Until tests and a second step are in place, boil what is drunk.")
    return tuple(dict.fromkeys(steps))[:FIRST_STEPS]


def _step(finding: Finding) -> str:
    """The next step of a finding as a sentence that says where."""
    words = finding.where.replace(",", " ").split()
    where = words[0].removeprefix("pipe.").removeprefix("source.") if words else ""
    step = finding.next
    if where and where.partition(".")[0] not in step:
        return f"At {where}: {step}."
    return f"{step[:1].upper()}{step[1:]}."

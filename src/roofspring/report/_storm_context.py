"""What the template of the storm page shows, already in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from roofspring.plan.model import Plan
from roofspring.reliability.storm import StormAnswer, Tried
from roofspring.report._cells import Table, percent
from roofspring.report._context import NOTHING_FOUND
from roofspring.report._findings import FindingRow, counts, finding_rows, sentence_case
from roofspring.report._rain_words import depth, plural, span
from roofspring.report._supply import Figure
from roofspring.report.storm_charts import (
    account_chart,
    changes_chart,
    levels_chart,
    rain_and_flows_chart,
)
from roofspring.units import show

Pairs = tuple[tuple[str, str], ...]

NOTHING_M3, NOTHING_FRAC = 5e-4, 5e-4
"""Less than this reads as 0, with no sign."""


@dataclass(frozen=True)
class StormContext:
    """The whole page."""

    title: str
    invented: bool
    answer: str
    advice: str
    faults: tuple[str, ...]
    rain: str
    figures: tuple[Figure, ...]
    account: Table
    spilled: Table
    changes: Table
    idle: Table
    events: Table
    counts: str
    findings: tuple[FindingRow, ...]
    cautions: Pairs
    computed: tuple[str, ...]
    provenance: Pairs


def build_storm_context(
    plan: Plan, answer: StormAnswer, *, plan_file: str, invented: bool
) -> StormContext:
    """Turn an answer into the words of the page."""
    tried = () if answer.advice is None else answer.advice.tried
    charts = (
        account_chart(plan, answer),
        rain_and_flows_chart(plan, answer),
        levels_chart(plan, answer),
        changes_chart(plan, answer),
    )
    return StormContext(
        title=plan.name,
        invented=invented,
        answer=answer.sentence,
        advice=answer.advice.sentence if answer.advice else "",
        faults=tuple(f"{words}." for words in answer.faults),
        rain=_rain(plan, answer),
        figures=tuple(Figure(c.id, c.title, c.caption, Markup(c.svg)) for c in charts if c),
        account=Table(
            ("Where", "Volume", "Of what fell"),
            tuple(
                (row.words, _volume(plan, row.m3), percent(row.share_frac + 0.0))
                for row in answer.account
            ),
            frozenset({1, 2}),
        ),
        spilled=Table(
            ("Where", "Volume", "Why"),
            tuple((w.where, _volume(plan, w.m3), w.why) for w in answer.spilled),
            frozenset({1}),
        ),
        changes=_changes(plan, tried),
        idle=_idle(tried),
        events=Table(
            ("From", "To", "What"),
            tuple((e.begins, e.ends, sentence_case(e.words)) for e in answer.events),
        ),
        counts=counts(answer.findings, none=NOTHING_FOUND, before="this is built or used"),
        findings=finding_rows(answer.findings),
        cautions=CAUTIONS,
        computed=_computed(answer),
        provenance=tuple(
            (name, value)
            for name, value in (
                ("Roofspring", answer.provenance.version),
                ("Plan", f"{plan_file}, {answer.provenance.plan_hash}"),
                ("Rain record", answer.provenance.rain_hash),
                ("Time taken", f"{answer.provenance.seconds:.1f} s"),
            )
            if value
        ),
    )


CAUTIONS: Pairs = (
    (
        "One storm",
        "Another storm of the same depth spills another amount: what counts is how full the tanks "
        "were and how the rain fell. Run several.",
    ),
    (
        "Overflow water",
        "Lead it away from footings, slopes, paths and neighbours. A tank that spills where it "
        "stands can wash out its own stand.",
    ),
    (
        "Weight",
        "A full tank weighs over a tonne for each cubic metre. Stands, slopes and floors under a "
        "larger tank need a licensed engineer.",
    ),
    (
        "Raw water",
        "Water that passed no filter can make people ill, most of all infants, the pregnant, the "
        "old and the immune-weak. Ask the health department before anybody drinks it.",
    ),
    (
        "Roof and tank",
        "Work on gutters and screens from a ladder that somebody holds, never in a storm. Never "
        "enter a tank or cistern alone.",
    ),
)


def _volume(plan: Plan, m3: float) -> str:
    told_m3 = 0.0 if abs(m3) < NOTHING_M3 else m3
    return show(told_m3, "small_volume", units=plan.show).replace("-", "−")


def _does_nothing(tried: Tried) -> bool:
    return max(abs(tried.more_kept_m3), abs(tried.more_filtered_m3)) < NOTHING_M3


def _idle(tried: Sequence[Tried]) -> Table:
    """The changes that would have made no difference, by name."""
    return Table(("Change",), tuple((t.words,) for t in tried if _does_nothing(t)), folded=True)


def _changes(plan: Plan, tried: Sequence[Tried]) -> Table:
    return Table(
        ("Change", "Kept more", "Of what was lost", "Filtered more"),
        tuple(
            (
                t.words,
                _volume(plan, t.more_kept_m3),
                percent(0.0 if abs(t.of_lost_frac) < NOTHING_FRAC else t.of_lost_frac).replace(
                    "-", "−"
                ),
                _volume(plan, t.more_filtered_m3),
            )
            for t in tried
            if not _does_nothing(t)
        ),
        frozenset({1, 2, 3}),
    )


def _rain(plan: Plan, answer: StormAnswer) -> str:
    when = f" from {answer.start}" if answer.start else ""
    peak = depth(answer.peak_mm_per_h / 1000.0, plan.show)
    return (
        f"The storm: {depth(answer.depth_mm / 1000.0, plan.show)} in {span(answer.duration_s)}"
        f"{when}, {answer.pattern}; at worst {peak} an hour for "
        f"{plural(max(5.0, answer.step_s / 60.0), 'minute')}; {answer.rain_source}."
    )


def _computed(answer: StormAnswer) -> tuple[str, ...]:
    start = (
        "It begins with what a run of the whole record up to that day leaves in every store."
        if answer.start
        else "It begins with the tanks as full as the plan or the question says, and the roofs dry."
    )
    made = [
        f"The whole train was run in steps of {span(answer.step_s)}; the books of every part close "
        f"to {answer.residual_m3:.0e} m³. {start}",
        "Each row of the account is the difference between this run and one of the same hours "
        "without rain, so that water that stood in the stores before is not counted.",
    ]
    if answer.advice is not None:
        made.append(
            f"{len(answer.advice.tried)} single changes were tried: sizes go up by one step, tanks "
            "and filters by one of the same kind. A changed plan begins with the same water; what "
            "is new begins empty. Kept more does not count water that spills past the filters "
            "into a store of filtered water."
        )
    return tuple(made)

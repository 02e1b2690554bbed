"""What the report's template shows, already in words: one typed record per block of the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from roofspring.network.assumptions import Assumption
from roofspring.network.levels import LevelCheck, StateRow, trial_words
from roofspring.rain.record import RainRecord
from roofspring.report._around import AroundBlock, around_blocks
from roofspring.report._cells import Table, cited, percent
from roofspring.report._findings import FindingRow, counts, finding_rows
from roofspring.report._supply import SupplyBlock, supply_block
from roofspring.report._ways import shown_ways
from roofspring.report._words import cautions, computed
from roofspring.report.document import IS_THE_SAND_RIGHT, WILL_IT_LAST, DesignDocument
from roofspring.report.flow_tables import fall_table, fall_words
from roofspring.report.grade_line import draw_levels
from roofspring.report.safety_block import SafetyBlock, safety_block
from roofspring.report.sand_chapter import SandPart
from roofspring.report.section import SectionDrawing, draw_section
from roofspring.report.water_levels import MOMENTS, START_WORDS, levels_at_start, levels_from_run
from roofspring.units import UnitSet, show

NOTHING_FOUND = "No findings. That is no proof that nothing is wrong: see what was assumed below."


@dataclass(frozen=True)
class LevelRow:
    """One height check in words."""

    what: str
    where: str
    state: str
    have: str
    need: str
    margin: str
    verdict: str
    word: str
    note: str
    source_number: str


@dataclass(frozen=True)
class ReportContext:
    """The whole page."""

    title: str
    plan_file: str
    datum: str
    last: str
    flow: str
    counts: str
    invented: bool
    findings: tuple[FindingRow, ...]
    section: SectionDrawing
    section_svg: Markup
    section_note: str
    supply: SupplyBlock | None
    safety: SafetyBlock | None
    levels: tuple[LevelRow, ...]
    level_sources: tuple[str, ...]
    level_states: Table
    falls_words: str
    falls: Table
    water_words: str
    water_svg: Markup
    widest_px: float
    around: tuple[AroundBlock, ...]
    record: tuple[tuple[str, str], ...]
    record_words: str
    assumptions: Table
    cautions: tuple[tuple[str, str], ...]
    computed: tuple[str, ...]
    sand: tuple[SandPart, ...]
    sand_not: str
    provenance: tuple[tuple[str, str], ...]


def build_context(document: DesignDocument) -> ReportContext:
    """Turn a document into the words of the page."""
    plan, supply, run = document.plan, document.supply, document.run
    units = plan.show
    block, last = None, f"Not answered: {dict(document.not_answered).get(WILL_IT_LAST, '')}"
    levels_m, levels_words = levels_at_start(plan), START_WORDS
    if run is not None and supply is not None:
        block, last = supply_block(plan, run, supply), supply.sentence
        levels_m, levels_words = levels_from_run(plan, run, moment="mean"), MOMENTS["mean"]
    section = draw_section(
        plan,
        levels_m=levels_m,
        findings=document.findings,
        levels_words=levels_words,
        ways=() if document.safety is None else shown_ways(plan, document.safety.routes),
    )
    water = None
    if document.water is not None:  # it shares style and patterns with the section before it
        water = draw_levels(plan, document.water, document.levels, beside_another="water-")
    marked = {b.what for b in section.boxes}
    guessed = ", ".join(section.estimated)
    sources = tuple(dict.fromkeys(cited(c.source) for c in _most_pressing(document.levels)))
    return ReportContext(
        title=plan.name,
        plan_file=document.plan_file,
        datum=plan.site.datum,
        last=last,
        flow=document.levels_sentence,
        counts=counts(document.findings, none=NOTHING_FOUND, before="this is built or used"),
        invented=(supply is not None and supply.invented)
        or (document.record is not None and document.record.invented),
        findings=finding_rows(
            document.findings,
            marked={n for n in range(1, len(document.findings) + 1) if f"mark {n}" in marked},
        ),
        section=section,
        section_svg=Markup(section.svg),
        section_note=f"The plan gives no height for: {guessed}." if guessed else "",
        supply=block,
        safety=None if document.safety is None else safety_block(plan, document.safety),
        levels=tuple(_level(check, units, sources) for check in _most_pressing(document.levels)),
        level_sources=sources,
        level_states=_states(document.level_states, units),
        falls_words=fall_words(document.falls, units),
        falls=fall_table(document.falls, units),
        water_words="" if document.water is None else document.water.state.title,
        water_svg=Markup("" if water is None else water.svg),
        widest_px=section.width_px if water is None else max(section.width_px, water.width_px),
        around=around_blocks(document),
        record=_record(document.record, units),
        record_words=document.record_words,
        assumptions=Table(
            ("Where", "What", "Value", "How come by", "Source"),
            _assumed(document.assumptions, units),
            frozenset({2}),
        ),
        cautions=cautions(document),
        computed=computed(document),
        sand=document.sand,
        sand_not=dict(document.not_answered).get(IS_THE_SAND_RIGHT, ""),
        provenance=tuple(
            (k, v)
            for k, v in (
                ("Roofspring", document.provenance.version),
                ("Plan", f"{document.plan_file}, {document.plan_hash}"),
                ("Rain record", document.provenance.rain_hash),
                (
                    "Seed",
                    "none" if document.provenance.seed is None else str(document.provenance.seed),
                ),
                ("Time taken", f"{document.provenance.seconds:.1f} s"),
            )
            if v
        ),
    )


def _most_pressing(checks: tuple[LevelCheck, ...]) -> list[LevelCheck]:
    """What fails first, then what could not be checked, then the least margin first."""
    order = {False: 0, None: 1, True: 2}
    return sorted(checks, key=lambda c: (order[c.ok], c.margin_m or 0.0))


def gap_words(value_m: float | None, units: UnitSet) -> str:
    """A height against another, for a cell."""
    if value_m is None:
        return ""
    if not math.isfinite(value_m):
        return "beyond any"
    text = show(value_m, "gap", units=units)
    if not any(digit in text for digit in "123456789"):  # no minus before nothing
        text = text.removeprefix("-")
    return text.replace("-", "−")


def _level(check: LevelCheck, units: UnitSet, sources: tuple[str, ...]) -> LevelRow:
    verdict = {None: "open", True: "holds", False: "fails"}[check.ok]
    note = "; ".join(words for words in (check.change, trial_words(check)) if words)
    if check.ok is None:
        note = f"give {', '.join(check.missing)}" if check.missing else "heights are missing"
    return LevelRow(
        check.what,
        check.where,
        check.state,
        gap_words(check.have_m, units),
        gap_words(check.need_m, units),
        gap_words(check.margin_m, units),
        verdict,
        {"open": "not checked", "holds": "holds", "fails": "fails"}[verdict],
        note,
        str(sources.index(cited(check.source)) + 1),
    )


def _states(rows: Sequence[StateRow], units: UnitSet) -> Table:
    """Every state with its tightest check, the worst first."""
    return Table(
        ("State", "Fails", "Tightest", "Code", "Margin"),
        tuple(
            (
                row.words,
                str(row.fails_count or ""),
                row.where,
                row.code,
                gap_words(row.margin_m, units),
            )
            for row in rows
        ),
        frozenset({1, 4}),
    )


def _assumed(assumptions: Sequence[Assumption], units: UnitSet) -> tuple[tuple[str, ...], ...]:
    """One row for each assumed value; equal ones for many parts stand in one row."""
    rows: dict[tuple[str, ...], list[str]] = {}
    for a in assumptions:
        key = (a.what, _value(a, units), a.origin, cited(a.source))
        rows.setdefault(key, []).append(a.where)
    return tuple((_places(places), *key) for key, places in rows.items())


def _places(places: Sequence[str]) -> str:
    more = f" and {len(places) - 2} more" if len(places) > 2 else ""
    return ", ".join(places[:2]) + more


def _value(assumption: Assumption, units: UnitSet) -> str:
    value = assumption.value
    if isinstance(value, str):
        return value
    return show(value, assumption.kind, units=units) if assumption.kind else f"{value:g}"


def _record(record: RainRecord | None, units: UnitSet) -> tuple[tuple[str, str], ...]:
    if record is None:
        return ()
    days = record.days
    span = f"{days[0]} to {days[-1]}" if len(days) else "empty"
    return (
        ("Name", record.name),
        ("Read from", record.source),
        ("Days", f"{span}, {record.years:.1f} years"),
        ("Step", "daily" if record.step_s >= 86400.0 else f"{record.step_s / 60.0:g} min"),
        ("Mean rain", f"{show(record.mean_m_per_year, 'rain', units=units)} a year"),
        ("Filled", f"{percent(record.filled_frac)} of the steps ({record.fill_method})"),
        (
            "Made by",
            "a generator: no gauge measured this rain" if record.invented else "a rain gauge",
        ),
    )

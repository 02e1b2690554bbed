"""What the report's template shows, already in words: one typed record per block of the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from roofspring.errors import SEVERITIES, Finding
from roofspring.network.assumptions import Assumption
from roofspring.network.levels import LevelCheck
from roofspring.reliability.answer import SupplyAnswer
from roofspring.report._ink import badge
from roofspring.report._svg import Box
from roofspring.report._words import WITHIN_DAY_WORDS, cautions, computed
from roofspring.report.charts import all_charts
from roofspring.report.document import DesignDocument
from roofspring.report.section import SectionDrawing, draw_section
from roofspring.report.water_levels import MOMENTS, levels_from_run
from roofspring.sources import cite
from roofspring.units import UNIT_SETS, UnitSet, show

SEVERITY_WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}


@dataclass(frozen=True)
class FindingRow:
    """One finding, numbered as on the drawing."""

    number: int
    severity: str
    word: str
    icon: Markup
    what: str
    next: str
    finding: Finding
    source: str
    marked: bool


@dataclass(frozen=True)
class Figure:
    """One chart with its words."""

    id: str
    title: str
    caption: str
    svg: Markup


@dataclass(frozen=True)
class Table:
    """A table of text; the columns named in ``numeric`` (from 0) are set flush right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()


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
    doubt: str
    band: str
    flow: str
    counts: str
    invented: bool
    findings: tuple[FindingRow, ...]
    section: SectionDrawing
    section_svg: Markup
    section_note: str
    charts: tuple[Figure, ...]
    facts: tuple[tuple[str, str], ...]
    uses: Table
    stores: Table
    levels: tuple[LevelRow, ...]
    level_sources: tuple[str, ...]
    methods: Table
    within_day: Table
    record: tuple[tuple[str, str], ...]
    record_words: str
    assumptions: Table
    cautions: tuple[tuple[str, str], ...]
    computed: tuple[str, ...]
    provenance: tuple[tuple[str, str], ...]


def build_context(document: DesignDocument) -> ReportContext:
    """Turn a document into the words of the page."""
    plan, supply, run = document.plan, document.supply, document.run
    units = plan.show
    section = draw_section(
        plan,
        levels_m=levels_from_run(plan, run, moment="mean"),
        findings=document.findings,
        levels_words=MOMENTS["mean"],
    )
    marked = {b.what for b in section.boxes}
    guessed = ", ".join(section.estimated)
    sources = tuple(dict.fromkeys(_cite(c.source) for c in _most_pressing(document.levels)))
    return ReportContext(
        title=plan.name,
        plan_file=document.plan_file,
        datum=plan.site.datum,
        last=supply.sentence,
        doubt=supply.doubt,
        band=_band(supply),
        flow=document.levels_sentence,
        counts=_counts(document.findings),
        invented=supply.invented or document.record.invented,
        findings=tuple(
            FindingRow(
                n,
                f.severity,
                SEVERITY_WORDS[f.severity],
                _icon(n, f.severity),
                _sentence_case(f.what),
                _sentence_case(f.next),
                f,
                _cite(f.source),
                f"mark {n}" in marked,
            )
            for n, f in enumerate(document.findings, start=1)
        ),
        section=section,
        section_svg=Markup(section.svg),
        section_note=f"The plan gives no height for: {guessed}." if guessed else "",
        charts=tuple(
            Figure(c.id, c.title, c.caption, Markup(c.svg)) for c in all_charts(plan, run, supply)
        ),
        facts=_facts(document),
        uses=_uses(document),
        stores=_stores(document),
        levels=tuple(_level(check, units, sources) for check in _most_pressing(document.levels)),
        level_sources=sources,
        methods=Table(
            ("Method", "Share served", "Storage", "Note", "Source"),
            tuple(
                (
                    m.name,
                    "" if m.served_frac is None else _percent(m.served_frac),
                    "" if m.storage_m3 is None else show(m.storage_m3, "volume", units=units),
                    m.note,
                    _cite(m.source),
                )
                for m in supply.methods
            ),
            frozenset({1, 2}),
        ),
        within_day=Table(
            ("A day's rain spread", "Share served"),
            tuple((WITHIN_DAY_WORDS.get(w, w), _percent(s)) for w, s in supply.within_day_served),
            frozenset({1}),
        ),
        record=_record(document),
        record_words=document.record_words,
        assumptions=Table(
            ("Where", "What", "Value", "How come by", "Source"),
            _assumed(document.assumptions, units),
            frozenset({2}),
        ),
        cautions=cautions(document),
        computed=computed(document),
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
        ),
    )


def _sentence_case(text: str) -> str:
    """The same text with a capital at its start."""
    return text[:1].upper() + text[1:]


def _band(supply: SupplyAnswer) -> str:
    """The served share with its spread."""
    words = f"{_percent(supply.served_frac)} of all water wanted was served."
    if supply.served_low_frac is None or supply.served_high_frac is None:
        return f"{words} The record is too short to say how far that could be off."
    return (
        f"{words} Drawing the years of the record again and again gives "
        f"{_percent(supply.served_low_frac)} to {_percent(supply.served_high_frac)} (90 % band)."
    )


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _cite(key: str) -> str:
    """The reference in words; the key itself when the bibliography does not have it."""
    try:
        return cite(key) if key else ""
    except KeyError:
        return key


def _icon(number: int, severity: str) -> Markup:
    """The mark of a finding as on the drawing; a note has a round one."""
    box = Box(1.0, 1.0, 21.0, 21.0)
    if severity == "note":
        inside = (
            '<circle class="badge-note" cx="11" cy="11" r="9.5"/>'
            f'<text class="badge-text" x="11" y="15">{number}</text>'
        )
    else:
        inside = badge(number, box, severity)
    return Markup(
        f'<svg class="icon" width="26" height="26" viewBox="0 0 22 22" aria-hidden="true">'
        f"{inside}</svg>"
    )


def _counts(findings: tuple[Finding, ...]) -> str:
    """How many findings there are of each severity, in words."""
    many = {s: sum(f.severity == s for f in findings) for s in SEVERITIES}
    if not findings:
        return "No findings. That is no proof that nothing is wrong: see what was assumed below."
    parts = []
    if many["stop"]:
        parts.append(f"{many['stop']} to mend before this is built or used")
    if many["caution"]:
        parts.append(f"{many['caution']} to weigh")
    if many["note"]:
        parts.append(f"{many['note']} to know")
    return ", ".join(parts) + "."


def _facts(document: DesignDocument) -> tuple[tuple[str, str], ...]:
    supply, units = document.supply, document.plan.show
    years = max(supply.years, 1e-9)

    def per_year(volume_m3: float) -> str:
        return f"{show(volume_m3 / years, 'volume', units=units, digits=1)} a year"

    return (
        ("Rain", f"{show(supply.rain_mm_per_year / 1000.0, 'rain', units=units)} a year"),
        ("Fell on the roofs", per_year(supply.fell_m3)),
        ("Caught", per_year(supply.caught_m3)),
        ("Wanted", per_year(supply.wanted_m3)),
        ("Delivered", per_year(supply.delivered_m3)),
        ("Spilled", per_year(supply.spilled_m3)),
        ("Days short", f"{supply.days_short:,} in {supply.years:.1f} years"),
        ("Longest shortage", f"{supply.longest_short_days} days"),
    )


def _uses(document: DesignDocument) -> Table:
    supply, units = document.supply, document.plan.show
    years = max(supply.years, 1e-9)
    unit = UNIT_SETS[units]["volume"][0]
    rows = tuple(
        (
            u.label,
            _number(u.wanted_m3 / years, units),
            _number(u.delivered_m3 / years, units),
            _percent(u.served_frac),
            f"{u.days_short:,}",
            f"{u.longest_short_days} days from {u.longest_short_from}"
            if u.longest_short_from
            else "never short",
            f"{u.days_rationed:,}",
        )
        for u in supply.uses
    )
    heads = (
        "Use",
        f"Wanted [{unit}/year]",
        f"Delivered [{unit}/year]",
        "Served",
        "Days short",
        "Longest shortage",
        "Days rationed",
    )
    return Table(heads, rows, frozenset({1, 2, 3, 4, 6}))


def _number(volume_m3: float, units: UnitSet) -> str:
    return show(volume_m3, "volume", units=units).rsplit(" ", 1)[0]


def _stores(document: DesignDocument) -> Table:
    supply, plan = document.supply, document.plan
    years = max(supply.years, 1e-9)
    unit = UNIT_SETS[plan.show]["volume"][0]
    rows = []
    for s in supply.stores:
        if s.kind != "tank":  # what stands in a filter or flush chamber is no reserve
            continue
        lasts = ", ".join(
            f"{plan.uses[use].label or use if use in plan.uses else use} {days:.0f} days"
            for use, days in s.days_of_use
        )
        volumes = (s.capacity_m3, s.dead_m3, s.min_m3, s.mean_m3, s.spilled_m3 / years)
        rows.append(
            (
                s.label,
                *(_number(v, plan.show) for v in volumes),
                f"{s.days_empty:,}",
                f"{s.days_spilling:,}",
                lasts,
            )
        )
    heads = (
        "Store",
        f"Held at the overflow [{unit}]",
        f"Out of reach [{unit}]",
        f"Lowest [{unit}]",
        f"Mean [{unit}]",
        f"Spilled [{unit}/year]",
        "Days empty",
        "Days spilling",
        "Full, it would last",
    )
    return Table(heads, tuple(rows), frozenset(range(1, 8)))


def _most_pressing(checks: tuple[LevelCheck, ...]) -> list[LevelCheck]:
    """What fails first, then what could not be checked, then the least margin first."""
    order = {False: 0, None: 1, True: 2}
    return sorted(checks, key=lambda c: (order[c.ok], c.margin_m or 0.0))


def _level(check: LevelCheck, units: UnitSet, sources: tuple[str, ...]) -> LevelRow:
    def height(value_m: float | None) -> str:
        return "" if value_m is None else show(value_m, "height", units=units).replace("-", "−")

    verdict = {None: "open", True: "holds", False: "fails"}[check.ok]
    note = check.change
    if check.ok is None:
        note = f"give {', '.join(check.missing)}" if check.missing else "heights are missing"
    return LevelRow(
        check.what,
        check.where,
        check.state,
        height(check.have_m),
        height(check.need_m),
        height(check.margin_m),
        verdict,
        {"open": "not checked", "holds": "holds", "fails": "fails"}[verdict],
        note,
        str(sources.index(_cite(check.source)) + 1),
    )


def _assumed(assumptions: Sequence[Assumption], units: UnitSet) -> tuple[tuple[str, ...], ...]:
    """One row for each assumed value; equal ones for many parts stand in one row."""
    rows: dict[tuple[str, ...], list[str]] = {}
    for a in assumptions:
        key = (a.what, _value(a, units), a.origin, _cite(a.source))
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


def _record(document: DesignDocument) -> tuple[tuple[str, str], ...]:
    record, units = document.record, document.plan.show
    days = record.days
    span = f"{days[0]} to {days[-1]}" if len(days) else "empty"
    return (
        ("Name", record.name),
        ("Read from", record.source),
        ("Days", f"{span}, {record.years:.1f} years"),
        ("Step", "daily" if record.step_s >= 86400.0 else f"{record.step_s / 60.0:g} min"),
        ("Mean rain", f"{show(record.mean_m_per_year, 'rain', units=units)} a year"),
        ("Filled", f"{_percent(record.filled_frac)} of the steps ({record.fill_method})"),
        (
            "Made by",
            "a generator: no gauge measured this rain" if record.invented else "a rain gauge",
        ),
    )

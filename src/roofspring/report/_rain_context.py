"""What the template of the rain page shows, already in words."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from roofspring.errors import Finding
from roofspring.rain.describe import WET_DAY_M, RainSummary, month_spread
from roofspring.rain.words import far
from roofspring.report._cells import Table, percent
from roofspring.report._findings import FindingRow, counts, finding_rows, sentence_case
from roofspring.report._rain_tables import (
    acceptance_table,
    design_table,
    driest_years,
    gap_years,
    months_table,
    spells_table,
    suspects_table,
)
from roofspring.report._rain_words import depth, plural, step_words, temperature
from roofspring.report.charts import Chart
from roofspring.report.rain_bursts_chart import bursts_chart
from roofspring.report.rain_charts import dry_chart, months_chart, record_chart
from roofspring.report.rain_checks_charts import (
    acceptance_chart,
    completeness_chart,
    quality_chart,
)
from roofspring.report.rain_document import RainDocument

Pairs = tuple[tuple[str, str], ...]


NOTHING_FOUND = (
    "No findings. The checks look for faults that show in the numbers; they cannot see a "
    "gauge that stands badly."
)


@dataclass(frozen=True)
class Figure:
    """A chart with its picture as markup."""

    id: str
    title: str
    caption: str
    svg: Markup


@dataclass(frozen=True)
class ModelBlock:
    """What was said of one model of invented rain."""

    name: str
    fails_on: str
    figure: Figure | None
    outside: Table


@dataclass(frozen=True)
class RainContext:
    """The whole page."""

    title: str
    answer: str
    also: str
    counts: str
    invented: bool
    findings: tuple[FindingRow, ...]
    facts: Pairs
    figures: tuple[Figure, ...]
    months: Table
    years: Table
    spells: Table
    gaps: Table
    suspects: Table
    bursts: Figure | None
    design: Table
    no_design: str
    design_kind: str
    design_sources: tuple[str, ...]
    design_notes: tuple[str, ...]
    models: tuple[ModelBlock, ...]
    record: Pairs
    words: str
    cautions: Pairs
    computed: tuple[str, ...]
    provenance: Pairs


def build_rain_context(document: RainDocument) -> RainContext:
    """Turn a document into the words of the page."""
    record, units = document.record, document.units
    spread = month_spread(record)
    charts = (
        record_chart(record, units=units),
        months_chart(spread, units=units),
        dry_chart(record, units=units),
        quality_chart(document.quality, record=record),
        None if record.invented else completeness_chart(document.completeness),
    )
    return RainContext(
        title=record.name,
        answer=_answer(document),
        also=_also(document),
        counts=counts(document.findings, none=NOTHING_FOUND),
        invented=record.invented,
        findings=finding_rows(document.findings),
        facts=_facts(document),
        figures=tuple(_figure(c) for c in charts if c is not None),
        months=months_table(document.summary, spread=spread, units=units),
        years=driest_years(record, units=units),
        spells=spells_table(record),
        gaps=gap_years(document.completeness),
        suspects=suspects_table(document.quality, units=units),
        bursts=_maybe(bursts_chart(document.design, maxima=document.maxima, units=units)),
        design=design_table(document.design, units=units),
        no_design=document.no_design,
        design_kind=_design_kind(document),
        design_sources=tuple(dict.fromkeys(r.source for r in document.design)),
        design_notes=_design_notes(document),
        models=_models(document),
        record=_record(document),
        words=document.words,
        cautions=_cautions(document),
        computed=_computed(document),
        provenance=tuple(
            (k, v)
            for k, v in (
                ("Roofspring", document.provenance.version),
                ("Rain record", document.provenance.rain_hash or record.hash),
                (
                    "Seed",
                    "" if document.provenance.seed is None else str(document.provenance.seed),
                ),
                ("Time taken", f"{document.provenance.seconds:.1f} s"),
            )
            if v
        ),
    )


def _figure(chart: Chart) -> Figure:
    return Figure(chart.id, chart.title, chart.caption, Markup(chart.svg))


def _maybe(chart: Chart | None) -> Figure | None:
    return None if chart is None else _figure(chart)


def _doubts(document: RainDocument) -> list[Finding]:
    """Stops and cautions about the record itself, not about tables or models beside it."""
    own = {*document.record.findings, *document.quality.findings}
    said = [f for f in document.findings if f in own and f.severity != "note"]
    return [f for f in said if f.code != "REC-115"] if document.record.invented else said


def _answer(document: RainDocument) -> str:
    record = document.record
    if not record.days_count:
        return "The record holds no whole day of rain: nothing can be said."
    if record.days_count >= 365:
        long = plural(round(record.years), "year")
        much = f"{depth(record.mean_m_per_year, document.units)} a year"
    else:
        long = plural(record.days_count, "day")
        much = f"{depth(float(record.years * record.mean_m_per_year), document.units)} in all"
    kind = step_words(record.step_s)
    if record.invented:
        return f"{long} of invented {kind} rain, {much}: no gauge measured it."
    doubts = _doubts(document)
    if not doubts:
        return f"{long} of {kind} rain, {much}, nothing doubtful found."
    more = f", and {len(doubts) - 1} more below" if len(doubts) > 1 else ""
    return f"{long} of {kind} rain, {much}; doubtful: {doubts[0].what}{more}."


def _also(document: RainDocument) -> str:
    """A second sentence: what a tank has to outlast."""
    summary = document.summary
    if summary is None or not summary.longest_dry_days:
        return ""
    said = f"The longest run of days under {depth(summary.wet_day_m, document.units)} is "
    said += f"{plural(summary.longest_dry_days, 'day')}, to {summary.longest_dry_last}."
    if summary.driest_year is not None and summary.driest_year_m is not None:
        said += f" The driest whole year is {summary.driest_year}, with "
        said += f"{depth(summary.driest_year_m, document.units)}."
    return said


def _facts(document: RainDocument) -> Pairs:
    summary, units = document.summary, document.units
    if summary is None:
        return ()
    made = [("Wet days", f"{summary.wet_days_per_year:.0f} a year")]
    if document.record.days_count < 365:
        made = []
    made += [
        ("Rain of a wet day, mean", depth(summary.mean_wet_day_m, units)),
        ("Greatest day", depth(summary.greatest_day_m, units)),
        ("It fell on", summary.greatest_day),
        ("Longest dry spell", plural(summary.longest_dry_days, "day")),
        ("Filled", percent(document.record.filled_frac)),
        *_temperatures(summary, document),
    ]
    return tuple(made)


def _temperatures(summary: RainSummary, document: RainDocument) -> list[tuple[str, str]]:
    named = (("Mean temperature", summary.mean_temp_degc), ("Coldest", summary.least_tmin_degc))
    return [(n, temperature(v, document.units)) for n, v in named if v is not None]


def _design_notes(document: RainDocument) -> tuple[str, ...]:
    """What was said of the depths, once for each kind of finding."""
    first = {f.code: f for r in document.design for f in r.findings}
    return tuple(
        f"{sentence_case(f.what)}. Next: {f.next}. ({f.code})" for _, f in sorted(first.items())
    )


def _design_kind(document: RainDocument) -> str:
    if any(r.kind == "ARI" for r in document.design):
        return "10 years: storms this great come 10 years apart on average"
    return "10 years: in any one year the chance is 1 in 10"


def _models(document: RainDocument) -> tuple[ModelBlock, ...]:
    return tuple(
        ModelBlock(
            table.model,
            table.fails_on,
            _maybe(acceptance_chart(table, place=n)),
            acceptance_table(table, units=document.units),
        )
        for n, table in enumerate(document.acceptance, start=1)
    )


def _record(document: RainDocument) -> Pairs:
    record = document.record
    days = record.days
    made = [
        ("Name", record.name),
        ("Read from", record.source),
        ("Days", f"{days[0]} to {days[-1]}, {len(days):,}" if len(days) else "none"),
        ("Step", step_words(record.step_s)),
        ("Filled", f"{percent(record.filled_frac)} of the steps ({record.fill_method})"),
        ("Made by", "a generator: no gauge measured it" if record.invented else "a rain gauge"),
    ]
    if document.neighbours:
        near = (
            f"{n.record.name}, {far(n.distance_m, document.units)}" for n in document.neighbours
        )
        made.append(("Judged beside", "; ".join(near)))
    if document.table is not None:
        where = f", {document.table.location}" if document.table.location else ""
        made.append(("Table of heavy rain", f"{document.table.source}{where}"))
    return tuple(made)


def _cautions(document: RainDocument) -> Pairs:
    record = document.record
    made = [
        (
            "Rare events",
            f"{_long(document)} of rain say little about what comes once in 50 or 100 years, dry "
            "or wet. Read the band, not the number in its middle.",
        ),
        (
            "The next years",
            "The years to come need not be like these. A drier run of years than any in the record "
            "will come some time.",
        ),
        (
            "Invented rain",
            "Rain that a generator made was measured by nobody. It can show how much luck there is "
            "in an answer. Never build from invented rain alone.",
        ),
        (
            "Gauge and roof",
            "The gauge may stand far from your roof, or higher or lower. A gauge also catches less "
            "than falls, in wind and most of all in snow.",
        ),
    ]
    if record.step_s > 3600.0:
        made.append(
            (
                "Cloudbursts",
                f"A {step_words(record.step_s)} record does not know how hard it rains within "
                "minutes, which is what gutters and overflows must take. Depths scaled to short "
                "durations are a rule of thumb. Ask for a table of the place.",
            )
        )
    return tuple(made)


def _long(document: RainDocument) -> str:
    record = document.record
    if record.days_count < 365:
        return f"{plural(record.days_count, 'day')}".capitalize()
    return plural(round(record.years), "year").capitalize()


def _computed(document: RainDocument) -> tuple[str, ...]:
    made = [
        f"A day counts as wet from {depth(WET_DAY_M, document.units)} on, and a dry spell is a run "
        "of days under it (the threshold of the ETCCDI climate indices). Months and years are "
        "counted only where every day has a value, measured or filled.",
        f"{plural(len(document.quality.checks), 'check')} ran: on impossible values, gaps, zeros "
        "that should be gaps, repeated stretches, totals of several days, rounding, habits of the "
        "week, and breaks. Each is set so that a good record is seldom accused.",
    ]
    if document.design:
        made.append(
            "Heavy rain is read from a published table where there is one. Elsewhere a law of "
            "extremes (GEV, by L-moments) is fitted to the greatest rain of each year, and its "
            "band is drawn by resampling. The band knows the luck of the draw; it does not know "
            "whether the law is right. Shorter durations than the record has are scaled by a rule, "
            "and the doubt of the rule is joined to the band."
        )
    return tuple(made)

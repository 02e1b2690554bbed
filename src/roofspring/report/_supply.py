"""What the page shows of a run through the rain: charts, uses, stores, other methods."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.reliability.answer import SupplyAnswer
from roofspring.report._cells import Table, cited, percent
from roofspring.report._words import WITHIN_DAY_WORDS
from roofspring.report.charts import all_charts
from roofspring.units import UNIT_SETS, UnitSet, show


@dataclass(frozen=True)
class Figure:
    """One chart with its words."""

    id: str
    title: str
    caption: str
    svg: Markup


@dataclass(frozen=True)
class SupplyBlock:
    """The answer to "Will it last?" in words, tables and pictures."""

    band: str
    doubt: str
    futures: tuple[str, ...]
    charts: tuple[Figure, ...]
    facts: tuple[tuple[str, str], ...]
    uses: Table
    stores: Table
    worst: Table
    methods: Table
    within_day: Table


def supply_block(plan: Plan, run: RunResult, supply: SupplyAnswer) -> SupplyBlock:
    """Turn a run and its answer into the words of the page."""
    return SupplyBlock(
        band=_band(supply),
        doubt=supply.doubt,
        futures=()
        if supply.futures is None
        else (supply.futures.sentence, supply.futures.acceptance),
        charts=tuple(
            Figure(c.id, c.title, c.caption, Markup(c.svg)) for c in all_charts(plan, run, supply)
        ),
        facts=_facts(supply, plan.show),
        uses=_uses(supply, plan.show),
        stores=_stores(plan, supply),
        worst=Table(
            ("What happened", "From", "To"),
            tuple((e.words[:1].upper() + e.words[1:], e.begins, e.ends) for e in supply.worst),
            frozenset({1, 2}),
        ),
        methods=_methods(supply, plan.show),
        within_day=_within_day(supply, plan.show),
    )


def _methods(supply: SupplyAnswer, units: UnitSet) -> Table:
    return Table(
        ("Method", "Share served", "Storage", "Note", "Source"),
        tuple(
            (
                m.name,
                "" if m.served_frac is None else percent(m.served_frac),
                "" if m.storage_m3 is None else show(m.storage_m3, "volume", units=units),
                m.note,
                cited(m.source),
            )
            for m in supply.methods
        ),
        frozenset({1, 2}),
    )


def _band(supply: SupplyAnswer) -> str:
    """The served share with its spread."""
    words = f"{percent(supply.served_frac)} of all water wanted was served."
    if supply.served_low_frac is None or supply.served_high_frac is None:
        return f"{words} The record is too short to say how far that could be off."
    return (
        f"{words} Drawing the years of the record again and again gives "
        f"{percent(supply.served_low_frac)} to {percent(supply.served_high_frac)} (90 % band)."
    )


def _within_day(supply: SupplyAnswer, units: UnitSet) -> Table:
    unit = UNIT_SETS[units]["volume"][0]
    return Table(
        (
            "A day's rain spread",
            "Share served",
            f"Caught [{unit}/year]",
            f"Spilled by the first store [{unit}/year]",
        ),
        tuple(
            (
                WITHIN_DAY_WORDS.get(w.method, w.method),
                percent(w.served_frac),
                _number(w.caught_m3_per_year, units),
                _number(w.first_spill_m3_per_year, units),
            )
            for w in supply.within_day_ways
        ),
        frozenset({1, 2, 3}),
    )


def _facts(supply: SupplyAnswer, units: UnitSet) -> tuple[tuple[str, str], ...]:
    years = max(supply.years, 1e-9)
    digits = 1 if units == "metric" else 0

    def per_year(volume_m3: float) -> str:
        return f"{show(volume_m3 / years, 'volume', units=units, digits=digits)} a year"

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


def _uses(supply: SupplyAnswer, units: UnitSet) -> Table:
    years = max(supply.years, 1e-9)
    unit = UNIT_SETS[units]["volume"][0]
    rows = tuple(
        (
            u.label,
            _number(u.wanted_m3 / years, units),
            _number(u.delivered_m3 / years, units),
            percent(u.served_frac),
            percent(u.raw_frac),
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
        "Of it unfiltered",
        "Days short",
        "Longest shortage",
        "Days rationed",
    )
    return Table(heads, rows, frozenset(range(1, 8)))


def _number(volume_m3: float, units: UnitSet) -> str:
    return show(volume_m3, "volume", units=units).rsplit(" ", 1)[0]


def _stores(plan: Plan, supply: SupplyAnswer) -> Table:
    years = max(supply.years, 1e-9)
    unit = UNIT_SETS[plan.show]["volume"][0]
    rows = []
    for s in supply.stores:
        if s.kind != "tank":  # what stands in a filter or flush chamber is no reserve
            continue
        lasts = "; ".join(
            f"{plan.uses[use].label or use if use in plan.uses else use}\u00a0{days:,.0f} days"
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

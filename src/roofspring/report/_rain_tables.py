"""Tables of the rain page."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from roofspring.rain.cloudburst import DesignRain
from roofspring.rain.completeness import Completeness
from roofspring.rain.describe import (
    MonthSpread,
    RainSummary,
    dry_spells,
    longest_dry_by_year,
    year_days,
)
from roofspring.rain.futures.acceptance import AcceptanceTable
from roofspring.rain.quality import CHECKS, QualityReport
from roofspring.rain.record import RainRecord
from roofspring.report._cells import Table
from roofspring.report._rain_words import depth, plural, span
from roofspring.units import MONTH_NAMES, UNIT_SETS, UnitSet

SPELLS, DRIEST, SUSPECTS = 10, 5, 40
"""Rows shown at most."""
NOTHING = Table((), ())
HOW = {"table": "the table", "record": "the record"}


def months_table(summary: RainSummary | None, *, spread: MonthSpread, units: UnitSet) -> Table:
    """Rain of each calendar month: mean and spread."""
    if summary is None or not any(spread.years_count):
        return NOTHING

    def cell(value: float | None) -> str:
        return "" if value is None else depth(value, units)

    many = max(spread.years_count) > 1
    rows = tuple(
        (
            MONTH_NAMES[m],
            cell(summary.mean_m_by_month[m]) if spread.years_count[m] else "",
            *((cell(p[m]) for p in (spread.p10_m, spread.p50_m, spread.p90_m)) if many else ()),
            str(spread.years_count[m]),
        )
        for m in range(12)
    )
    parts = ("1 year in 10 has less", "Half have less", "1 year in 10 has more") if many else ()
    heads = ("Month", "Mean", *parts, "Whole months")
    return Table(heads, rows, frozenset(range(1, len(heads))))


def driest_years(record: RainRecord, *, units: UnitSet) -> Table:
    """The driest whole years."""
    table = year_days(record)
    longest = longest_dry_by_year(record)  # whole years only
    totals = {
        int(y): float(np.nansum(row))
        for y, row in zip(table.years, table.depth_m, strict=True)
        if int(y) in longest
    }
    if len(totals) < 2:
        return NOTHING
    mean = sum(totals.values()) / len(totals)
    rows = tuple(
        (str(y), depth(totals[y], units), f"{100.0 * totals[y] / mean:.0f} %" if mean else "",
         plural(longest[y], "day"))
        for y in sorted(totals, key=lambda y: totals[y])[:DRIEST]
    )  # fmt: skip
    heads = ("Year", "Rain", "Of the mean year", "Longest dry spell in it")
    return Table(heads, rows, frozenset({1, 2, 3}))


def spells_table(record: RainRecord) -> Table:
    """The longest dry spells."""
    rows = tuple((s.first, s.last, str(s.length_days)) for s in dry_spells(record)[:SPELLS])
    return Table(("First day", "Last day", "Days"), rows, frozenset({2})) if rows else NOTHING


def gap_years(complete: Completeness) -> Table:
    """Years with days that were not measured."""
    rows = tuple(
        (
            y.name,
            f"{y.days_count - y.filled_count - y.failed_count - y.missing_count}",
            str(y.filled_count + y.failed_count),
            str(y.missing_count),
            plural(y.longest_gap_days, "day"),
            str(sum(m.usable for m in complete.months if m.name.startswith(f"{y.name}-"))),
        )
        for y in complete.years
        if not y.whole
    )
    if not rows:
        return NOTHING
    heads = ("Year", "Days measured", "Filled", "Missing", "Longest gap", "Months usable")
    return Table(heads, rows, frozenset({1, 2, 3, 4, 5}))


def suspects_table(quality: QualityReport, *, units: UnitSet) -> Table:
    """Stretches of days that the checks point at, first those with a stop."""
    severity = {f.code: f.severity for f in quality.findings}
    order = {"stop": 0, "caution": 1, "note": 2}
    rows = sorted(quality.rows, key=lambda r: order[severity.get(r.code, "note")])
    made = [
        (CHECKS[r.check].title if r.check in CHECKS else r.check, r.first, r.last,
         _value(r.value, r.unit, units), r.code)
        for r in rows[:SUSPECTS]
    ]  # fmt: skip
    if len(rows) > SUSPECTS:
        made.append((f"and {len(rows) - SUSPECTS:,} more", "", "", "", ""))
    if not made:
        return NOTHING
    return Table(("Check", "First day", "Last day", "Value", "Code"), tuple(made), frozenset({3}))


def design_table(design: Sequence[DesignRain], *, units: UnitSet) -> Table:
    """Depths by duration and return period, with their bands and how they were come by."""
    if not design:
        return NOTHING
    years = sorted({r.return_years for r in design})
    durations = sorted({r.duration_s for r in design})
    cells = {(r.duration_s, r.return_years): r for r in design}
    rows = []
    for duration in durations:
        mine = [cells.get((duration, y)) for y in years]
        how = dict.fromkeys(_how(r) for r in mine if r is not None)
        rows.append((span(duration), *(_depths(r, units) for r in mine), ", ".join(how)))
    heads = ("Duration", *(f"{y:g} years" for y in years), "From")
    return Table(heads, tuple(rows), frozenset(range(1, len(years) + 1)))


def _how(rain: DesignRain) -> str:
    return HOW.get(rain.way, f"scaled from {span(rain.base_s)}")


def _depths(rain: DesignRain | None, units: UnitSet) -> str:
    if rain is None:
        return ""
    said = depth(rain.depth_m, units)
    if rain.low_m is None or rain.high_m is None:
        return said
    return f"{said} ({depth(rain.low_m, units).split()[0]}–{depth(rain.high_m, units).split()[0]})"


def acceptance_table(table: AcceptanceTable, *, units: UnitSet) -> Table:
    """The statistics of a record that lie outside the band of a model."""
    rows = tuple(
        (
            r.statistic,
            r.month,
            _value(r.observed, r.unit, units),
            f"{_value(r.p05, r.unit, units)} to {_value(r.p95, r.unit, units)}",
            "too low" if r.observed > r.p95 else "too high",
        )
        for r in table.failed
    )
    heads = ("Statistic", "Month", "Record", "Model, 9 of 10", "The model is")
    return Table(heads, rows, frozenset({2, 3})) if rows else NOTHING


def _value(value: float, unit: str, units: UnitSet) -> str:
    """A number with the unit that checks and statistics carry."""
    name, size, _ = UNIT_SETS[units]["rain"]
    if unit == "m":
        return depth(value, units)
    if unit == "m2":
        return f"{value / size**2:.3g} {name}²"
    if unit == "days":
        return f"{value:.3g} days" if value != 1 else "1 day"
    if unit == "frac":
        return f"{100.0 * value:.1f} %"
    return f"{value:.3g}"

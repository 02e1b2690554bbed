"""What stands around the heights, as tables: gutters, loads, frost, swales, gardens."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.network.drainage import often_cell
from roofspring.report._cells import Table, percent
from roofspring.report.document import DesignDocument
from roofspring.units import show


@dataclass(frozen=True)
class AroundBlock:
    """One table with its heading and what to know before reading it."""

    title: str
    words: str
    table: Table


def around_blocks(document: DesignDocument) -> tuple[AroundBlock, ...]:
    """The tables that have rows."""
    blocks = (
        _gutters(document),
        _loads(document),
        _frost(document),
        _swales(document),
        _gardens(document),
    )
    return tuple(block for block in blocks if block.table.rows)


def _gutters(document: DesignDocument) -> AroundBlock:
    units = document.plan.show
    return AroundBlock(
        "Gutters",
        f"Rain: {document.drainage.rain_source}. A gutter is full where its section, the hole in "
        "its sole or its downpipe carries no more; five minutes of rain decide. In brackets: the "
        "band of the rain.",
        Table(
            ("Gutter of", "Carries", "Limited by", "Full at", "Spills once in", "Wanted"),
            tuple(
                (
                    row.label,
                    show(row.carries_m3_per_s, "flow", units=units, digits=0),
                    row.limited_by,
                    f"{row.full_mm_per_h:.0f} mm/h",
                    often_cell(row),
                    f"{row.wanted_years:g} years",
                )
                for row in document.drainage.gutters
            ),
            frozenset({1, 3, 4, 5}),
        ),
    )


def _loads(document: DesignDocument) -> AroundBlock:
    units = document.plan.show
    return AroundBlock(
        "Loads",
        "First sums, full of cold water. Stands, slopes, floors, wind and earthquake need a "
        "licensed engineer.",
        Table(
            ("Of", "Full", "Stands on", "Presses", "Ground bears", "Empty, moved by wind of"),
            tuple(
                (
                    row.label + (f", each of {row.count}" if row.count > 1 else ""),
                    show(row.full_kg, "mass", units=units),
                    row.stand,
                    f"{row.pressure_pa / 1e3:.0f} kPa",
                    f"{row.bears_pa / 1e3:.0f} kPa",
                    ""
                    if row.tips_m_per_s is None or row.slides_m_per_s is None
                    else f"{min(row.tips_m_per_s, row.slides_m_per_s):.0f} m/s",
                )
                for row in document.loads.rows
            ),
            frozenset({1, 3, 4, 5}),
        ),
    )


def _frost(document: DesignDocument) -> AroundBlock:
    units = document.plan.show
    return AroundBlock(
        "Frost",
        "Still water through the temperatures of the record. Hours are from 8 °C at the mean of "
        "the coldest day. In one winter in ten it freezes before the first date, and in one in "
        "ten it still freezes after the last.",
        Table(
            ("Part", "Insulation", "Hours to freeze", "Winters", "Drain from", "Fill after"),
            tuple(
                (
                    row.where,
                    show(row.insulation_m, "gap", units=units),
                    f"{row.hurt_hours:.{0 if row.hurt_hours >= 10.0 else 1}f}",
                    percent(row.freezing_years_frac),
                    row.drain_before,
                    row.fill_after,
                )
                for row in document.frost.rows
            ),
            frozenset({1, 2, 3}),
        ),
    )


def _swales(document: DesignDocument) -> AroundBlock:
    units = document.plan.show

    def volume(value_m3: float | None) -> str:
        return "not run" if value_m3 is None else show(value_m3, "volume", units=units)

    return AroundBlock(
        "Swales",
        "The overflow of the run, soaking away by Green and Ampt; a test hole in your own soil "
        "says more than its name.",
        Table(
            ("Swale", "Soil", "Holds", "Drains in", "Takes a year", "Spills a year"),
            tuple(
                (
                    row.where,
                    row.soil,
                    volume(row.holds_m3),
                    f"{row.drain_hours:.0f} h",
                    volume(row.came_m3_per_year),
                    volume(row.spilled_m3_per_year),
                )
                for row in document.swales.rows
            ),
            frozenset({2, 3, 4, 5}),
        ),
    )


def _gardens(document: DesignDocument) -> AroundBlock:
    units = document.plan.show
    return AroundBlock(
        "Gardens",
        "Evaporation by Hargreaves from the temperatures of the record, times the crop's "
        "coefficient, less the rain its roots can hold.",
        Table(
            ("Use", "Crop", "Evaporates a year", "Rain in season", "Wants a year", "Most a day"),
            tuple(
                (
                    row.where,
                    row.crop,
                    show(row.crop_m_per_year, "rain", units=units),
                    show(row.rain_m_per_year, "rain", units=units),
                    show(row.want_m3_per_year, "volume", units=units),
                    show(row.most_m3_per_day, "small_volume", units=units),
                )
                for row in document.gardens
            ),
            frozenset({2, 3, 4, 5}),
        ),
    )

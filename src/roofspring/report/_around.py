"""What stands around the heights, as tables: gutters, pipes, overflows, loads and gardens."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.catchment import SCREEN_HEAD_M
from roofspring.report._cells import Table, percent
from roofspring.report.document import DesignDocument
from roofspring.report.flow_tables import (
    debris_table,
    flush_table,
    gutter_table,
    loss_table,
    outfall_table,
    overflow_table,
    pipe_table,
    run_words,
    runoff_table,
    screen_table,
)
from roofspring.units import show


@dataclass(frozen=True)
class AroundBlock:
    """One table with its heading and what to know before reading it; folded away where it is
    there to look things up in."""

    title: str
    words: str
    table: Table
    folded: bool = False


def around_blocks(document: DesignDocument) -> tuple[AroundBlock, ...]:
    """The tables that have rows."""
    blocks = (
        _gutters(document),
        *_water_ways(document),
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
        gutter_table(document.drainage, units),
    )


def _water_ways(document: DesignDocument) -> tuple[AroundBlock, ...]:
    """Screens, lines from the roof, overflows and pipes."""
    units, drainage, overflows = document.plan.show, document.drainage, document.overflows
    rain = show(overflows.rain_mm_per_h / 3.6e6, "intensity", units=units)
    return (
        AroundBlock(
            "Screens",
            f"Area for {rain} of rain, half of the mesh blinded, under "
            f"{show(SCREEN_HEAD_M, 'gap', units=units)} of water.",
            screen_table(drainage, units),
        ),
        AroundBlock(
            "First flush",
            "What it holds back, over the roofs that drain to it, and the share of the dirt that "
            "is still washed off after it.",
            flush_table(drainage, units),
        ),
        AroundBlock(
            "Dirt through the year",
            "What falls on roofs in which months; common practice. Ladders: have somebody hold "
            "them, never in a storm.",
            debris_table(drainage),
            folded=True,
        ),
        AroundBlock(
            "Lines from the roof",
            f"Seven tenths full by Manning's formula, against {rain} on the roofs above.",
            runoff_table(overflows, units),
            folded=True,
        ),
        AroundBlock(
            "Overflows",
            f"The most that can come at once: {rain} of rain, floats stuck open, filters clean and "
            "warm, nothing drawn. Carried with water to the brim and a mesh half blind.",
            overflow_table(overflows, units),
        ),
        AroundBlock(
            "Open ends",
            "How fast the most that can come leaves the pipe, and the stones that hold there "
            "(FHWA HEC 14).",
            outfall_table(overflows, units),
            folded=True,
        ),
        AroundBlock(
            "Pipes that run full",
            "The store above full and every valve wide open; cold is 4 °C, warm 20 °C; a clogged "
            "strainer has four fifths of its openings shut.",
            pipe_table(document.pipes, units),
            folded=True,
        ),
        *(
            AroundBlock(
                f"Pipe {row.label}, part by part",
                " ".join(run_words(row, units)),
                loss_table(row, units),
                folded=True,
            )
            for row in document.pipes.rows
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
                    show(row.pressure_pa, "pressure", units=units),
                    show(row.bears_pa, "pressure", units=units),
                    ""
                    if row.tips_m_per_s is None or row.slides_m_per_s is None
                    else show(min(row.tips_m_per_s, row.slides_m_per_s), "speed", units=units),
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
        folded=True,
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

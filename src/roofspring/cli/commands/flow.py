"""What stands around the heights, in a terminal: gutters, pipes, overflows, loads, frost."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from roofspring.cli import show
from roofspring.units import show as in_units

if TYPE_CHECKING:
    from roofspring.network.pipes import PipeRow
    from roofspring.report._cells import Table
    from roofspring.units import UnitSet
    from roofspring.workflows import FlowAnswer


def print_around(answer: FlowAnswer, units: UnitSet) -> None:
    """One table for each of them that the plan has."""
    _print_water_ways(answer, units)
    _print_loads(answer, units)
    _print_frost(answer, units)
    _print_swales(answer, units)
    _print_gardens(answer, units)


def _print_water_ways(answer: FlowAnswer, units: UnitSet) -> None:
    from roofspring.report import flow_tables as tables

    overflows = answer.overflows
    for table in (
        tables.gutter_table(answer.drainage, units),
        tables.screen_table(answer.drainage, units),
        tables.flush_table(answer.drainage, units),
        tables.runoff_table(overflows, units),
    ):
        _print(table)
    if overflows.rows:
        show.out().print("")
        show.print_text(
            "The most that can come to each overflow at once: "
            f"{in_units(overflows.rain_mm_per_h / 3.6e6, 'intensity', units=units)} of rain "
            f"({overflows.rain_source}), floats stuck open, nothing drawn; the mesh half blind."
        )
    _print(tables.overflow_table(overflows, units), leave_out=("Leads to",))
    _print(tables.outfall_table(overflows, units))
    if answer.pipes.rows:
        show.out().print("")
        show.print_text(
            "Pipes with the store above full and every valve wide open. For one of them part by "
            "part, add --pipe with its name."
        )
    _print(tables.pipe_table(answer.pipes, units), leave_out=("Flow is", "Fills in"))


def pipe_row(answer: FlowAnswer, name: str) -> PipeRow:
    """What was computed of one pipe.

    Raises
    ------
    PlanError
        PLN-050: no pipe of this name was computed.
    """
    from roofspring.errors import PlanError, Problem
    from roofspring.errors.names import did_you_mean

    rows = {row.where.removeprefix("pipe."): row for row in answer.pipes.rows}
    row = rows.get(name.removeprefix("pipe."))
    if row is None:
        raise PlanError(
            Problem(
                "PLN-050",
                "no pipe of this name runs full between what holds water and where it goes",
                got=name[:80],
                allowed=", ".join(rows) or "none: sizes or heights are missing",
                next=did_you_mean(name, tuple(rows), otherwise="name one of these"),
            )
        )
    return row


def print_pipe(row: PipeRow, units: UnitSet) -> None:
    """One pipe part by part."""
    from roofspring.report import flow_tables as tables

    for words in tables.run_words(row, units):
        show.print_text(words)
    _print(tables.loss_table(row, units))


def _print(table: Table, *, leave_out: tuple[str, ...] = ()) -> None:
    """A table, its heads broken at a space, without the columns that a terminal has no room for."""
    kept = [i for i, head in enumerate(table.heads) if head not in leave_out]
    heads = [table.heads[i] for i in kept]
    show.print_table(
        ["\n".join(textwrap.wrap(head, max(9, len(head) // 2 + 1))) for head in heads],
        ([row[i] for i in kept] for row in table.rows),
    )


def _print_loads(answer: FlowAnswer, units: UnitSet) -> None:
    if not answer.loads.rows:
        return
    show.out().print("")
    show.print_text(
        "Full tanks are heavy: stands, slopes, floors, wind and earthquake need a licensed "
        "engineer. First sums:"
    )
    show.print_table(
        ("load of", "full", "stands on", "presses", "bears", "empty,\nmoved by"),
        (
            (
                row.label + (f", each of {row.count}" if row.count > 1 else ""),
                in_units(row.full_kg, "mass", units=units),
                row.stand,
                in_units(row.pressure_pa, "pressure", units=units),
                in_units(row.bears_pa, "pressure", units=units),
                _wind(row.tips_m_per_s, row.slides_m_per_s, units),
            )
            for row in answer.loads.rows
        ),
    )


def _wind(tips_m_per_s: float | None, slides_m_per_s: float | None, units: UnitSet) -> str:
    if tips_m_per_s is None or slides_m_per_s is None:
        return ""
    return in_units(min(tips_m_per_s, slides_m_per_s), "speed", units=units)


def _print_frost(answer: FlowAnswer, units: UnitSet) -> None:
    show.print_table(
        ("frost in", "insulated", "hours to\nfreeze", "winters", "drain from", "fill after"),
        (
            (
                row.where,
                in_units(row.insulation_m, "gap", units=units),
                f"{row.hurt_hours:.{0 if row.hurt_hours >= 10.0 else 1}f}",
                f"{100 * row.freezing_years_frac:.0f} %",
                row.drain_before,
                row.fill_after,
            )
            for row in answer.frost.rows
        ),
    )


def _print_swales(answer: FlowAnswer, units: UnitSet) -> None:
    show.print_table(
        ("swale", "soil", "holds", "drains in\nhours", "takes\na year", "spills\na year"),
        (
            (
                row.where,
                row.soil,
                in_units(row.holds_m3, "volume", units=units),
                f"{row.drain_hours:.0f}",
                _volume(row.came_m3_per_year, units),
                _volume(row.spilled_m3_per_year, units),
            )
            for row in answer.swales.rows
        ),
    )


def _volume(value_m3: float | None, units: UnitSet) -> str:
    return "not run" if value_m3 is None else in_units(value_m3, "volume", units=units)


def _print_gardens(answer: FlowAnswer, units: UnitSet) -> None:
    show.print_table(
        ("garden", "crop", "evaporates\na year", "rain in\nseason", "wants\na year", "most\na day"),
        (
            (
                row.where,
                row.crop,
                in_units(row.crop_m_per_year, "rain", units=units),
                in_units(row.rain_m_per_year, "rain", units=units),
                in_units(row.want_m3_per_year, "volume", units=units),
                in_units(row.most_m3_per_day, "small_volume", units=units),
            )
            for row in answer.gardens
        ),
    )

"""What stands around the heights, in a terminal: gutters, loads, frost, swales and gardens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roofspring.cli import show
from roofspring.network.drainage import often_cell
from roofspring.units import show as in_units

if TYPE_CHECKING:
    from roofspring.units import UnitSet
    from roofspring.workflows import FlowAnswer


def print_around(answer: FlowAnswer, units: UnitSet) -> None:
    """One table for each of them that the plan has."""
    _print_gutters(answer, units)
    _print_loads(answer, units)
    _print_frost(answer, units)
    _print_swales(answer, units)
    _print_gardens(answer, units)


def _print_gutters(answer: FlowAnswer, units: UnitSet) -> None:
    show.print_table(
        ("gutter of", "carries", "limited\nby", "full at\nmm/h", "spills\nonce in", "wanted"),
        (
            (
                row.label,
                in_units(row.carries_m3_per_s, "flow", units=units, digits=0),
                row.limited_by,
                f"{row.full_mm_per_h:.0f}",
                often_cell(row),
                f"{row.wanted_years:g} years",
            )
            for row in answer.drainage.gutters
        ),
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
        ("load of", "full", "stands on", "presses\nkPa", "bears\nkPa", "empty, moved by\nm/s"),
        (
            (
                row.label + (f", each of {row.count}" if row.count > 1 else ""),
                in_units(row.full_kg, "mass", units=units),
                row.stand,
                f"{row.pressure_pa / 1e3:.0f}",
                f"{row.bears_pa / 1e3:.0f}",
                _wind(row.tips_m_per_s, row.slides_m_per_s),
            )
            for row in answer.loads.rows
        ),
    )


def _wind(tips_m_per_s: float | None, slides_m_per_s: float | None) -> str:
    if tips_m_per_s is None or slides_m_per_s is None:
        return ""
    return f"{min(tips_m_per_s, slides_m_per_s):.0f}"


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

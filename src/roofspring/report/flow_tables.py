"""Pipes, overflows, open ends, screens and first flushes as tables of text."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofspring.network.drainage import Drainage, often_cell, years_cell
from roofspring.network.levels import FallRow
from roofspring.network.overflows import Overflows
from roofspring.network.pipes import PipeCase, PipeRow, Pipes
from roofspring.report._cells import Table, percent
from roofspring.units import MONTH_NAMES, UnitSet, show, written


def fall_words(rows: Sequence[FallRow], units: UnitSet) -> str:
    """What is left of the fall at the tap where it is least; ``rows`` begin with that one."""
    if not rows:
        return ""
    roof, tap = _ends(rows[0])
    fall, needs, off = (
        show(value_m, "length", units=units)
        for value_m in (rows[0].fall_m, rows[0].needs_m, abs(rows[0].spare_m))
    )
    takes = f"losses, air gaps and bands on the way take {needs}"
    if rows[0].spare_m < 0.0:
        return (
            f"{off} are missing at the tap {tap}: {takes}, each at its worst, and from the gutter "
            f"of {roof} there are only {fall}. Shifting what stands between does not help; the "
            "gutter must rise, the tap come down, or a step take less."
        )
    least = "" if len(rows) == 1 else ", the least of all"
    return (
        f"{off} are left at the tap {tap}{least}: {takes} of the {fall} from the gutter of {roof}, "
        "each at its worst. The depth of the tanks must fit into what is left."
    )


def fall_table(rows: Sequence[FallRow], units: UnitSet) -> Table:
    """A row for each gutter and each tap that its water runs down to."""
    return Table(
        ("From gutter to tap", "Fall", "Taken", "Left"),
        tuple(
            (
                " to ".join(_ends(row)),
                *(
                    show(value_m, "length", units=units)
                    for value_m in (row.fall_m, row.needs_m, row.spare_m)
                ),
            )
            for row in rows
        ),
        frozenset({1, 2, 3}),
        folded=True,
    )


def _ends(row: FallRow) -> tuple[str, str]:
    """The roof and the tap of a way down."""
    return row.upper.removesuffix(".outlet"), row.lower.removesuffix(".height")


def gutter_table(drainage: Drainage, units: UnitSet) -> Table:
    """A row for each gutter, and under it one for each section where they are not alike."""
    rows: list[tuple[str, ...]] = []
    for row in drainage.gutters:
        rows.append(
            (
                row.label,
                show(row.carries_m3_per_s, "tap_flow", units=units),
                row.limited_by,
                show(row.full_mm_per_h / 3.6e6, "intensity", units=units),
                often_cell(row),
                f"{row.wanted_years:g} years",
            )
        )
        if len({section.full_mm_per_h for section in row.sections}) < 2:
            continue
        for n, section in enumerate(row.sections, start=1):
            length = (
                "" if section.length_m is None else show(section.length_m, "length", units=units)
            )
            often = section.spills_years
            rows.append(
                (
                    f"section {n}, {length}",
                    show(section.carries_m3_per_s, "tap_flow", units=units),
                    section.limited_by,
                    show(section.full_mm_per_h / 3.6e6, "intensity", units=units),
                    "not known" if often is None else f"{years_cell(often)} years",
                    "",
                )
            )
    heads = ("Gutter of", "Carries", "Limited by", "Full at", "Spills once in", "Wanted")
    return Table(heads, tuple(rows), frozenset({1, 3, 4, 5}))


def pipe_table(pipes: Pipes, units: UnitSet) -> Table:
    """A row for each pipe: what it carries at its worst and best, and its times."""
    return Table(
        ("Pipe", "Head", "Cold, clogged", "Warm, new", "Speed", "Flow is", "Most lost in",
         "Fills in", "Empties store in"),
        tuple(
            (
                row.label,
                show(row.head_m, "length", units=units),
                show(row.worst.flow_m3_per_s, "tap_flow", units=units),
                show(row.best.flow_m3_per_s, "tap_flow", units=units),
                show(row.best.speed_m_per_s, "speed", units=units, digits=2),
                row.worst.regime
                if row.worst.regime == row.best.regime
                else f"{row.worst.regime} to {row.best.regime}",
                max(row.best.losses, key=lambda loss: loss.head_m).what,
                _time(row.fills_s),
                _time(row.falls_s),
            )
            for row in pipes.rows
        ),
        frozenset({1, 2, 3, 4, 7, 8}),
    )  # fmt: skip


def loss_table(row: PipeRow, units: UnitSet) -> Table:
    """One pipe part by part: head lost to each thing along it, case by case."""
    cases = row.cases
    return Table(
        ("Part by part", "K", *(case_words(case, units) for case in cases)),
        (
            *_case_lines(row, units),
            *(
                (
                    loss.what,
                    _factor(cases, n),
                    *(show(case.losses[n].head_m, "gap", units=units) for case in cases),
                )
                for n, loss in enumerate(cases[0].losses)
            ),
        ),
        frozenset(range(1, len(cases) + 2)),
    )


def _factor(cases: tuple[PipeCase, ...], n: int) -> str:
    """The loss factor; of a strainer new and clogged."""
    factors = [case.losses[n].k_factor for case in cases]
    known = sorted({f"{k:.3g}": k for k in factors if k is not None}.items(), key=lambda i: i[1])
    return " to ".join(text for text, _ in known)


def _case_lines(row: PipeRow, units: UnitSet) -> tuple[tuple[str, ...], ...]:
    return (
        ("flow", "", *(show(c.flow_m3_per_s, "tap_flow", units=units) for c in row.cases)),
        ("speed", "", *(show(c.speed_m_per_s, "speed", units=units, digits=2) for c in row.cases)),
        ("Reynolds number", "", *(f"{c.reynolds:,.0f}" for c in row.cases)),
        ("flow is", "", *(c.regime for c in row.cases)),
    )


def case_words(case: PipeCase, units: UnitSet) -> str:
    """A case in few words, like ``4 °C, strainer new``."""
    degrees = f"{case.temp_degc:.0f} °C"
    if units == "us":
        degrees = f"{1.8 * case.temp_degc + 32.0:.0f} °F"
    return f"{degrees}, strainer {case.strainer}" if case.strainer else degrees


def run_words(row: PipeRow, units: UnitSet) -> tuple[str, ...]:
    """What the run of a pipe up and down does, in sentences."""

    def length(value_m: float) -> str:
        return show(value_m, "length", units=units)

    def height(value_m: float) -> str:
        return show(value_m, "height", units=units)

    said = [
        f"{row.from_} to {row.to}: {length(row.length_m)} of "
        f"{show(row.size_m, 'pipe', units=units)} bore under {length(row.head_m)} of head, the "
        "store full and all valves wide open."
    ]
    if not row.has_profile:
        said.append("Its run is not given; it is taken to go evenly from end to end.")
    said.extend(
        f"High point {length(high.station_m)} along, at {height(high.height_m)}: air is carried on "
        f"at {show(high.sweep_m_per_s, 'speed', units=units, digits=2)}."
        for high in row.highs
    )
    said.extend(
        f"Low point {length(low.station_m)} along, at {height(low.height_m)}: "
        f"{show(low.holds_m3, 'small_volume', units=units, digits=1)} stay there."
        for low in row.lows
    )
    if row.fills_s is not None and row.drains_s is not None:
        drains = (
            "it does not run empty by itself"
            if math.isinf(row.drains_s)
            else f"it runs empty in {_time(row.drains_s)}"
        )
        said.append(f"It fills in {_time(row.fills_s)}; {drains}.")
    if row.surge_m is not None:
        said.append(
            f"Shut at once at its end: {length(row.surge_m)} of head; the pipe is made for "
            f"{length(row.rated_m)}."
        )
    return tuple(said)


def overflow_table(overflows: Overflows, units: UnitSet) -> Table:
    """A row for each overflow, with the most that can come to it."""

    def flow(value: float | None) -> str:
        if value is None or math.isinf(value):
            return "not known"
        return show(value, "tap_flow", units=units)

    def gap(value_m: float | None) -> str:
        if value_m is None:
            return "not known"
        return "never carried" if math.isinf(value_m) else show(value_m, "gap", units=units)

    return Table(
        ("Overflow of", "Leads to", "Can come", "Carries", "Stands over lip", "Room to brim",
         "Inlet over it"),
        tuple(
            (
                row.label,
                row.leads_to,
                flow(row.brings_m3_per_s),
                flow(row.carries_m3_per_s),
                gap(row.rise_m),
                gap(row.room_m),
                "drowned" if row.gap_m is not None and row.gap_m < 0.0 else gap(row.gap_m),
            )
            for row in overflows.rows
        ),
        frozenset({2, 3, 4, 5, 6}),
    )  # fmt: skip


def outfall_table(overflows: Overflows, units: UnitSet) -> Table:
    """A row for each open end over a swale."""
    return Table(
        ("Open end", "Can come", "Speed", "On", "Bears", "Stones that hold", "Long", "Wide"),
        tuple(
            (
                row.where.removeprefix("pipe."),
                show(row.flow_m3_per_s, "tap_flow", units=units),
                show(row.speed_m_per_s, "speed", units=units, digits=1),
                row.ground.replace("-", " "),
                show(row.bears_m_per_s, "speed", units=units, digits=1),
                "none needed" if row.is_held else show(row.stones.stone_m, "gap", units=units),
                "" if row.is_held else show(row.stones.length_m, "length", units=units),
                "" if row.is_held else show(row.stones.wide_m, "length", units=units),
            )
            for row in overflows.outfalls
        ),
        frozenset({1, 2, 4, 5, 6, 7}),
    )


def runoff_table(overflows: Overflows, units: UnitSet) -> Table:
    """A row for each line from the roof that runs part full."""
    return Table(
        ("Line from the roof", "Can come", "Carries", "Fall"),
        tuple(
            (
                row.label,
                show(row.brings_m3_per_s, "tap_flow", units=units),
                show(row.carries_m3_per_s, "tap_flow", units=units),
                percent(row.fall_frac),
            )
            for row in overflows.runoff
        ),
        frozenset({1, 2, 3}),
    )


def screen_table(drainage: Drainage, units: UnitSet) -> Table:
    """A row for each screen whose mesh is known."""
    return Table(
        ("Screen", "Can come", "Needs", "Has"),
        tuple(
            (
                row.where,
                show(row.flow_m3_per_s, "tap_flow", units=units),
                show(row.needs_m2, "area", units=units, digits=3),
                "not given"
                if row.has_m2 is None
                else show(row.has_m2, "area", units=units, digits=3),
            )
            for row in drainage.screens
        ),
        frozenset({1, 2, 3}),
    )


def flush_table(drainage: Drainage, units: UnitSet) -> Table:
    """A row for each first flush."""
    return Table(
        ("First flush", "Holds back", "Wash-off left"),
        tuple(
            (row.where, show(row.holds_m, "depth", units=units), percent(row.left_frac))
            for row in drainage.flushes
        ),
        frozenset({1, 2}),
    )


def debris_table(drainage: Drainage) -> Table:
    """What falls on the roof through the year."""
    return Table(
        ("What falls", "Months", "What to do"),
        tuple((row.what, months_words(row.months), row.do) for row in drainage.debris),
    )


def months_words(months: tuple[int, ...]) -> str:
    """A run of months by its first and last, across the turn of the year too.

    >>> months_words((12, 1, 2)), months_words((9, 10, 11)), months_words((5,))
    ('December to February', 'September to November', 'May')
    """
    inside = set(months)
    first = next((m for m in months if (m - 2) % 12 + 1 not in inside), months[0])
    last = next((m for m in months if m % 12 + 1 not in inside), months[-1])
    if first == last:
        return MONTH_NAMES[first - 1]
    return f"{MONTH_NAMES[first - 1]} to {MONTH_NAMES[last - 1]}"


def _time(time_s: float | None) -> str:
    if time_s is None:
        return ""
    return "never" if math.isinf(time_s) else written(time_s, to="s", digits=2)

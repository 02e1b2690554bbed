"""The command that sets every height against the one it must clear, in every state."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, PlanPath, Strict

if TYPE_CHECKING:
    from roofspring.network.levels import HighestSand, LevelsAnswer, LowestStand
    from roofspring.units import UnitSet


def levels(
    plan: PlanPath,
    lowest_stand: Annotated[
        bool,
        typer.Option("--lowest-stand", help="Also: how low each tank and filter may stand."),
    ] = False,
    highest_sand: Annotated[
        bool,
        typer.Option("--highest-sand", help="Also: how high the sand of each filter may sit."),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Folder for the drawings, one for each state."),
    ] = None,
    state: Annotated[
        str | None,
        typer.Option("--state", help="Draw this state alone, like design-rain."),
    ] = None,
    pipe: Annotated[
        str | None, typer.Option("--pipe", metavar="NAME", help="One pipe, part by part.")
    ] = None,
    json: Json = False,
    strict: Strict = False,
) -> None:
    """Will it flow? Every height in every state; gutters, pipes, overflows, loads, frost."""
    from roofspring import workflows

    with show.working("reading the plan", quiet=json) as tell:
        flow = workflows.levels(
            plan,
            lowest_stand=lowest_stand,
            highest_sand=highest_sand,
            out=out,
            state=state,
            progress=tell,
        )
    row = None
    if pipe is not None:
        from roofspring.cli.commands.flow import pipe_row, print_pipe

        row = pipe_row(flow, pipe)
    if json:
        show.print_json(flow.to_dict())
    elif row is not None:
        print_pipe(row, flow.levels.show)
    else:
        from roofspring.cli.commands.flow import print_around

        show.print_text(f"Will it flow?  {flow.levels.sentence}")
        _print_checks(flow.levels)
        _print_states(flow.levels)
        _print_falls(flow.levels)
        if flow.lowest_stands is not None:
            _print_stands(flow.lowest_stands, flow.levels.show)
        if flow.highest_sand is not None:
            _print_sand(flow.highest_sand, flow.levels.show)
        print_around(flow, flow.levels.show)
        show.out().print("")
        show.print_findings(flow.findings)
        for file in flow.files:
            show.out().print(f"Written: {file}")
    raise typer.Exit(show.stop_code(flow.findings, strict=strict))


def _print_checks(answer: LevelsAnswer) -> None:
    """Every check in its worst state: what fails, what could not be made, then by margin."""
    unit = _unit("gap", answer.show)
    order = {False: 0, None: 1, True: 2}
    rows = sorted(answer.checks, key=lambda c: (order[c.ok], c.margin_m or 0.0, c.key))
    show.print_table(
        ("height over height", "code", f"have\n{unit}", f"need\n{unit}", f"margin\n{unit}", ""),
        (
            (
                c.where,
                c.code,
                _bare(c.have_m, "gap", answer.show),
                _bare(c.need_m, "gap", answer.show),
                _bare(c.margin_m, "gap", answer.show),
                {True: "holds", False: "FAILS", None: "not checked"}[c.ok],
            )
            for c in rows
        ),
    )


def _print_states(answer: LevelsAnswer) -> None:
    """Every state with its tightest check, the worst first."""
    rows = answer.by_state()
    if not rows:
        return
    from roofspring.units import show as in_units

    rain = in_units(answer.rain.rain_m_per_s, "intensity", units=answer.show)
    show.out().print("")
    show.print_text(
        f"What flows was solved in every state, cold and warm; the design rain is {rain} "
        f"({answer.rain.source})."
    )
    show.print_table(
        ("state", "°C", "fails", "tightest", f"margin\n{_unit('gap', answer.show)}"),
        (
            (
                row.state,
                f"{row.temp_degc:.0f}",
                str(row.fails_count or ""),
                row.where,
                _bare(row.margin_m, "gap", answer.show),
            )
            for row in rows
        ),
    )


def _print_falls(answer: LevelsAnswer) -> None:
    """The whole way from each gutter to each tap."""
    if not answer.falls:
        return
    unit = _unit("height", answer.show)
    show.out().print("")
    show.print_text(
        "The whole way down, and what its steps need added up, each at its worst; tanks may stand "
        "as deep as what is spare. With nothing to spare no shifting of parts helps."
    )
    show.print_table(
        ("from gutter to tap", f"fall\n{unit}", f"needs\n{unit}", f"spare\n{unit}"),
        (
            (
                f"{row.upper} to {row.lower}",
                *(
                    _bare(value, "height", answer.show)
                    for value in (row.fall_m, row.needs_m, row.spare_m)
                ),
            )
            for row in answer.falls
        ),
    )


def _print_stands(rows: tuple[LowestStand, ...], units: UnitSet) -> None:
    """How low each may stand; then what holds each where it is."""
    unit = _unit("height", units)
    for together in (False, True):
        shown = [row for row in rows if row.with_others == together]
        show.print_table(
            (
                "all lowered, from the taps up" if together else "lowered alone",
                f"floor now\n{unit}",
                f"lowest\n{unit}",
                f"over ground\n{unit}",
            ),
            (
                (
                    row.where,
                    _bare(row.now_m, "height", units),
                    _bare(row.lowest_m, "height", units) or "none",
                    _bare(row.stand_m, "height", units),
                )
                for row in shown
            ),
        )
        show.out().print("")
        for row in shown:
            rest = "it stands on the ground" if row.stand_m is not None else "nothing within 5 m"
            _print_held(row, "lower", rest)


def _print_sand(rows: tuple[HighestSand, ...], units: UnitSet) -> None:
    """How high the sand of each filter may sit; then what holds it down."""
    unit = _unit("height", units)
    show.print_table(
        (
            "highest sand, its weir with it",
            f"now\n{unit}",
            f"highest\n{unit}",
            f"weir then\n{unit}",
        ),
        (
            (
                row.where,
                _bare(row.now_m, "height", units),
                _bare(row.highest_m, "height", units) or "none",
                _bare(row.weir_m, "height", units),
            )
            for row in rows
        ),
    )
    show.out().print("")
    for row in rows:
        _print_held(row, "higher", "nothing within 5 m")


def _print_held(row: LowestStand | HighestSand, way: str, rest: str) -> None:
    """Why a height is the last that works, or why none does."""
    held = ", ".join(row.held_by)
    if row.fails:
        show.print_text(f"{row.where}: at every height this fails: {', '.join(row.fails)}.")
    if held and row.held_by != row.fails:
        show.print_text(f"{row.where}: 5 mm {way}, this fails: {held}.")
    elif not held:
        show.print_text(f"{row.where}: no check stops it; {rest}.")


def _unit(kind: str, units: UnitSet) -> str:
    from roofspring.units import UNIT_SETS

    return UNIT_SETS[units][kind][0]


def _bare(value_m: float | None, kind: str, units: UnitSet) -> str:
    """A value for a cell under a head that has its unit."""
    from math import isfinite

    from roofspring.units import show as in_units

    if value_m is None:
        return ""
    if not isfinite(value_m):
        return "beyond"
    return in_units(round(value_m, 6) + 0.0, kind, units=units).rpartition(" ")[0]

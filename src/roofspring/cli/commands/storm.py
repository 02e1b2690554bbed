"""The command that runs one storm."""

from __future__ import annotations

from typing import Annotated

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, PlanPath, Strict


def storm(
    plan: PlanPath,
    depth: Annotated[
        str | None, typer.Option("--depth", help='Rain of the storm, like "60 mm".')
    ] = None,
    duration: Annotated[
        str, typer.Option("--duration", help="Its length, whole five minutes.")
    ] = "1 h",
    return_years: Annotated[
        float,
        typer.Option("--return-years", min=1.0, help="Without a depth: as rare as this."),
    ] = 10.0,
    pattern: Annotated[
        str, typer.Option("--pattern", help="alternating-block, chicago, type2, huff1 to huff4.")
    ] = "alternating-block",
    full: Annotated[
        str | None, typer.Option("--full", help='How full tanks are before, like "80 %".')
    ] = None,
    json: Json = False,
    strict: Strict = False,
) -> None:
    """Will it catch the storm? One cloudburst in five-minute steps, and where it went."""
    from roofspring import workflows

    with show.working("running the storm through the plan", quiet=json):
        answer = workflows.storm(
            plan,
            depth=depth,
            duration=duration,
            return_years=return_years,
            pattern=pattern,
            full=full,
        )
    if json:
        show.print_json(answer.to_dict())
    else:
        from roofspring.units import show as in_units

        rain = in_units(answer.depth_mm / 1000.0, "depth", units=answer.show)
        show.print_text(f"Will it catch the storm?  {answer.sentence}")
        show.print_text(
            f"The storm: {rain} in {_length(answer.duration_s)}, {answer.pattern}, at "
            f"worst {answer.peak_mm_per_h:.0f} mm/h for five minutes; {answer.rain_source}."
        )
        for title, rows in (
            ("Spilled", answer.spilled),
            ("Never reached a store", answer.lost),
        ):
            if rows:
                show.out().print("")
                show.print_text(f"{title}:")
            for w in rows:
                volume = in_units(w.m3, "small_volume", units=answer.show)
                show.print_text(f"{volume}, {w.where}: {w.why}", indent="    ")
        show.print_table(
            ("highest level", "m over\ndatum"),
            ((part, f"{level:.2f}") for part, level in answer.peak_level_m.items()),
        )
        show.out().print("")
        show.print_findings(answer.findings)
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _length(duration_s: float) -> str:
    hours = duration_s / 3600.0
    if hours < 1.0:
        return f"{duration_s / 60.0:.0f} minutes"
    return "1 hour" if hours == 1.0 else f"{hours:g} hours"

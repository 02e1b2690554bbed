"""The command that runs one storm."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Faults, Json, PlanPath, Strict

if TYPE_CHECKING:
    from roofspring.reliability.storm import StormAnswer

MOST_CHANGES, MOST_EVENTS = 6, 12
LEAST_TOLD_M3 = 1e-4


def storm(
    plan: PlanPath,
    depth: Annotated[
        str | None, typer.Option("--depth", help='Rain of the storm, like "60 mm".')
    ] = None,
    duration: Annotated[
        str | None, typer.Option("--duration", help="Its length, whole five minutes; else 1 h.")
    ] = None,
    return_years: Annotated[
        float | None,
        typer.Option("--return-years", min=1.0, help="Without a depth: as rare as this; else 10."),
    ] = None,
    pattern: Annotated[
        str | None,
        typer.Option("--pattern", help="alternating-block, chicago, type2, huff1 to huff4."),
    ] = None,
    full: Annotated[
        str | None, typer.Option("--full", help='How full tanks are before, like "80 %".')
    ] = None,
    day: Annotated[
        str | None,
        typer.Option("--from", metavar="DAY", help="Instead: the record from this day, or worst."),
    ] = None,
    hours: Annotated[
        float | None, typer.Option("--hours", min=1.0, max=720.0, help="Its length; else 36.")
    ] = None,
    step: Annotated[str, typer.Option("--step", help='Step of the run, like "1 min".')] = "5 min",
    fault: Faults = None,
    series: Annotated[
        Path | None,
        typer.Option("--series", metavar="FILE", help="CSV with levels and flows of each step."),
    ] = None,
    with_series: Annotated[
        bool, typer.Option("--with-series", help="Put them into the JSON as well.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="HTML page with the pictures.")
    ] = None,
    json: Json = False,
    strict: Strict = False,
) -> None:
    """Will it catch the storm? One storm step by step, and where each litre went."""
    from roofspring import workflows

    asked = workflows.StormAsked(
        depth=depth,
        duration=duration,
        return_years=return_years,
        pattern=pattern,
        full=full,
        day=day,
        hours=hours,
        step=step,
    )
    with show.working("running the storm through the plan", quiet=json) as tell:
        answer = workflows.storm(
            plan, asked, faults=fault or (), series=series, out=out, progress=tell
        )
    if json:
        show.print_json(answer.to_dict(series=with_series))
    else:
        _print(answer)
        for file in (series, out):
            if file is not None:
                show.out().print(f"Written: {file}")
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _print(answer: StormAnswer) -> None:
    from roofspring.units import show as in_units

    def volume(value_m3: float) -> str:
        return in_units(round(value_m3, 6) + 0.0, "small_volume", units=answer.show)

    rain = in_units(answer.depth_mm / 1000.0, "depth", units=answer.show)
    peak, unit = in_units(answer.peak_mm_per_h / 1000.0, "rain", units=answer.show).split()
    show.print_text(f"Will it catch the storm?  {answer.sentence}")
    if answer.advice is not None:
        show.print_text(answer.advice.sentence)
    for words in answer.faults:
        show.print_text(f"Under a fault: {words}.")
    when = f" from {answer.start}" if answer.start else ""
    show.print_text(
        f"The storm: {rain} in {_length(answer.duration_s)}{when}, {answer.pattern}, at "
        f"worst {peak} {unit}/h for {max(5.0, answer.step_s / 60.0):.0f} minutes; "
        f"{answer.rain_source}."
    )
    for title, rows in (
        ("Spilled", answer.spilled),
        ("Never reached a store", answer.lost),
    ):
        if rows:
            show.out().print("")
            show.print_text(f"{title}:")
        for w in rows:
            show.print_text(f"{volume(w.m3)}, {w.where}: {w.why}", indent="    ")
    show.print_table(
        ("where the rain of the storm went", "volume", "of what fell"),
        (
            (
                row.words,
                volume(row.m3),
                f"{100.0 * row.share_frac:.1f} %",
            )
            for row in answer.account
            if abs(row.m3) >= LEAST_TOLD_M3
        ),
    )
    if answer.advice is not None:
        show.print_table(
            ("a single change", "kept\nmore", "filtered\nmore"),
            (
                (t.words, volume(t.more_kept_m3), volume(t.more_filtered_m3))
                for t in answer.advice.tried[:MOST_CHANGES]
            ),
        )
    show.print_table(
        ("what happened", "from", "to"),
        ((e.words, e.begins, e.ends) for e in answer.events[:MOST_EVENTS]),
    )
    if len(answer.events) > MOST_EVENTS:
        show.print_text(f"and {len(answer.events) - MOST_EVENTS} more: see --json or --out.")
    show.print_table(
        ("highest level", "m over\ndatum"),
        ((part, f"{level:.2f}") for part, level in answer.peak_level_m.items()),
    )
    show.print_table(
        ("swale", "came", "soaked\naway", "over\nthe rim", "deepest"),
        (
            (
                row.where,
                volume(row.came_m3),
                volume(row.soaked_m3),
                volume(row.spilled_m3),
                in_units(row.deepest_m, "gap", units=answer.show),
            )
            for row in answer.swales
        ),
    )
    show.out().print("")
    show.print_findings(answer.findings)


def _length(duration_s: float) -> str:
    hours = duration_s / 3600.0
    if hours < 1.0:
        return f"{duration_s / 60.0:.0f} minutes"
    return "1 hour" if hours == 1.0 else f"{hours:g} hours"

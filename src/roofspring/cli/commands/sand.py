"""The command that looks at a sand."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, cast

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, Out, Strict

if TYPE_CHECKING:
    from roofspring.workflows.sand_answer import SandAnswer

Many = list[str] | None


def sand(
    what: Annotated[
        Path | None,
        typer.Argument(metavar="FILE|PLAN", help="Sieve test (CSV, XLSX), or plan file or folder."),
    ] = None,
    sieve: Annotated[
        Many, typer.Option("--sieve", help='Typed instead: "0.600 mm=120 g", "pan=3 g".')
    ] = None,
    kind: Annotated[
        str | None,
        typer.Option("--as", help="What the values are, like passing-percent."),
    ] = None,
    before: Annotated[
        str | None, typer.Option("--before", help="Dry mass before sieving, with its unit.")
    ] = None,
    sheet: Annotated[str | None, typer.Option("--sheet", help="Sheet of a spreadsheet.")] = None,
    filter_id: Annotated[
        str | None, typer.Option("--filter", help="Which filter of the plan.")
    ] = None,
    d10: Annotated[
        str | None, typer.Option("--d10", help='Wanted effective size, like "0.25 mm".')
    ] = None,
    uniformity: Annotated[
        float | None, typer.Option("--uniformity", help="Wanted uniformity coefficient.")
    ] = None,
    criterion: Annotated[
        str | None,
        typer.Option(
            "--criterion",
            help="Published limits to follow: ten-states, visscher-1990, huisman-wood-1974, ...",
        ),
    ] = None,
    area: Annotated[
        str | None, typer.Option("--area", help="Area of the bed, with its unit.")
    ] = None,
    depth: Annotated[
        str | None, typer.Option("--depth", help="Depth of the sand, with its unit.")
    ] = None,
    price: Annotated[
        str | None, typer.Option("--price", help='Price of this sand, like "45/t".')
    ] = None,
    blend: Annotated[
        Many, typer.Option("--blend", help='Another sand to mix in: "fine.csv" or "fine.csv=60/t".')
    ] = None,
    gravel: Annotated[
        str | None,
        typer.Option(
            "--gravel", help="Rule for the gravel: huisman-wood, sherard-5, terzaghi-4, household."
        ),
    ] = None,
    hole: Annotated[
        str | None, typer.Option("--hole", help="Diameter of the drain holes, with its unit.")
    ] = None,
    pipe: Annotated[
        str | None, typer.Option("--pipe", help="Inside diameter of the drain pipe.")
    ] = None,
    mesh: Annotated[
        Many, typer.Option("--mesh", help='Without sieves: "fly-screen=95 %" fell through.')
    ] = None,
    jar_sand: Annotated[
        str | None, typer.Option("--jar-sand", help="Height of the sand in a settling jar.")
    ] = None,
    jar_silt: Annotated[
        str | None, typer.Option("--jar-silt", help="Height of the silt over it.")
    ] = None,
    units: Annotated[
        str | None, typer.Option("--units", help="metric or us; a plan's own without it.")
    ] = None,
    json: Json = False,
    out: Out = None,
    strict: Strict = False,
) -> None:
    """Is the sand right? Its sieve curve, what to take out, buy, mix and lay under it."""
    from roofspring import workflows

    if units not in (None, "metric", "us"):
        raise typer.BadParameter("metric or us", param_hint="--units")
    request = workflows.SandRequest(
        path=what,
        sieves=tuple(sieve or ()),
        kind=kind,
        before=before,
        sheet=sheet,
        filter_id=filter_id,
        d10=d10,
        uniformity=uniformity,
        criterion=criterion,
        area=area,
        depth=depth,
        price=price,
        blend=tuple(blend or ()),
        gravel=gravel,
        hole=hole,
        pipe=pipe,
        meshes=tuple(mesh or ()),
        jar_sand=jar_sand,
        jar_silt=jar_silt,
        units=cast("Literal['metric', 'us'] | None", units),
    )
    with show.working("looking at the sand", quiet=json):
        answer = workflows.sand(request, out=out)
    if json:
        show.print_json(answer.to_dict())
    else:
        _print(answer)
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _print(answer: SandAnswer) -> None:
    from roofspring.report.sand_page import SandFacts, sand_sections

    show.print_text(f"Is the sand right?  {answer.sentence}")
    if answer.also:
        show.print_text(answer.also)
    facts = SandFacts(answer.study, answer.drain, answer.show)
    for section in sand_sections(facts, pictures=False):
        show.out().print("")
        show.out().print(section.heading)
        for words in section.paragraphs:
            show.print_text(words)
        _print_facts(section.facts)
        for name, table in section.tables:
            if section.id in TERMINAL:
                show.out().print("")
                show.out().print(f"{name}:")
                show.print_table([_two_lines(head) for head in table.heads], table.rows)
    show.out().print("")
    show.print_findings(answer.findings)
    for file in answer.files:
        show.out().print(f"\nWritten: {file}")


TERMINAL = ("grading", "cut", "blend", "gravel")
"""Sections whose tables are narrow enough for a terminal; the page has them all."""


def _two_lines(head: str) -> str:
    """A head of several words on two lines, so that columns stay narrow."""
    words = head.split()
    half = (len(words) + 1) // 2
    return " ".join(words[:half]) + ("\n" + " ".join(words[half:]) if words[half:] else "")


def _print_facts(facts: Iterable[tuple[str, str]]) -> None:
    for name, value in facts:
        show.print_text(f"{name}: {value}", indent="    ")

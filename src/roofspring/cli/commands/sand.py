"""The command that looks at a sand."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, Out, Strict

if TYPE_CHECKING:
    from roofspring.report._cells import Table
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
    stated_d10: Annotated[
        str | None,
        typer.Option("--stated-d10", help="Effective size on a supplier's sheet, without a test."),
    ] = None,
    stated_uniformity: Annotated[
        float | None,
        typer.Option("--stated-uniformity", help="Uniformity coefficient on that sheet."),
    ] = None,
    fall: Annotated[
        Many,
        typer.Option("--fall", help='A reading of a falling-head test: "10 min=240 mm".'),
    ] = None,
    fall_temp: Annotated[
        str | None, typer.Option("--fall-temp", help="Water temperature of that test.")
    ] = None,
    section: Annotated[
        Many,
        typer.Option(
            "--section", help="Print these sections only, with all their tables, like guide."
        ),
    ] = None,
    units: Annotated[
        Literal["metric", "us"] | None,
        typer.Option("--units", help="metric or us; a plan's own without it."),
    ] = None,
    json: Json = False,
    out: Out = None,
    strict: Strict = False,
) -> None:
    """Is the sand right? Sieve curve, cuts, blends, gravel; the bed's flow, years, and guide."""
    from roofspring import workflows
    from roofspring.report.sand_page import SECTION_IDS
    from roofspring.workflows.sand_request import unnamed

    for name in section or ():
        if name not in SECTION_IDS:
            raise unnamed("the answer has no such section", "--section", name, SECTION_IDS)
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
        stated_d10=stated_d10,
        stated_uniformity=stated_uniformity,
        fall=tuple(fall or ()),
        fall_temp=fall_temp,
        units=units,
    )
    with show.working("looking at the sand", quiet=json) as tell:
        answer = workflows.sand(request, out=out, progress=tell)
    if json:
        show.print_json(answer.to_dict())
    else:
        _print(answer, only=tuple(section or ()))
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _print(answer: SandAnswer, *, only: tuple[str, ...]) -> None:
    from roofspring.report.sand_page import sand_sections

    show.print_text(f"Is the sand right?  {answer.sentence}")
    if answer.also:
        show.print_text(answer.also)
    facts = answer.facts()
    unknown = not facts.records and not any(bed.known for bed in facts.beds)
    later = (*ASKED, *OF_A_BED) if unknown else ASKED
    if unknown and not any(bed.study.test for bed in facts.beds):
        later = (*later, "fall")
    sections = sand_sections(facts, pictures=False)
    for section in sections:
        if section.id not in only and (only or section.id in later):
            continue
        show.out().print("")
        show.out().print(section.heading)
        for words in section.paragraphs:
            show.print_text(words)
        _print_facts(section.facts)
        if section.id == "guide":
            _print_steps(section.tables)
            continue
        for name, table in section.tables:
            if not table.numeric and not only:
                continue
            if not table.numeric:
                _print_rows(name, table)
            elif section.id in (only or TERMINAL):
                show.out().print("")
                show.out().print(f"{name}:")
                show.print_table([_two_lines(head) for head in table.heads], table.rows)
    if not only:
        show.out().print("")
        more = [section.id for section in sections if section.id in later]
        show.print_text(f"More, with --section: {', '.join(more)}.")
    show.out().print("")
    show.print_findings(answer.findings)
    for file in answer.files:
        show.out().print(f"\nWritten: {file}")


TERMINAL = ("grading", "cut", "blend", "gravel", "runs", "removal")
"""Sections whose tables are narrow enough for a terminal; the page has them all."""
ASKED = ("limits", "checks", "ripening", "oxygen", "guide")
"""Sections that are printed when they are asked for."""
OF_A_BED = ("loss", "throttle", "water", "runs", "cleaning", "removal")
"""Printed of a sand that somebody knows something of; else when they are asked for."""


def _print_rows(name: str, table: Table) -> None:
    """A table of words, row by row."""
    show.out().print("")
    show.out().print(f"{name}:")
    for first, *rest in table.rows:
        said = zip(table.heads[1:], rest, strict=True)
        show.print_text(f"{first[:1].upper()}{first[1:]}")
        _print_facts((head, cell) for head, cell in said if cell != "none")


def _print_steps(parts: Iterable[tuple[str, Table]]) -> None:
    """The guide: what to do, and why, under each part's name."""
    for name, table in parts:
        show.out().print("")
        show.out().print(f"{name}:")
        for do, why in table.rows:
            show.print_text(do)
            show.print_text(why, indent="   ")


def _two_lines(head: str) -> str:
    """A head of several words on two lines, so that columns stay narrow."""
    words = head.split()
    half = (len(words) + 1) // 2
    return " ".join(words[:half]) + ("\n" + " ".join(words[half:]) if words[half:] else "")


def _print_facts(facts: Iterable[tuple[str, str]]) -> None:
    for name, value in facts:
        show.print_text(f"{name}: {value}", indent="    ")

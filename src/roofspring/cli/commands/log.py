"""Commands of the logbook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, PlanPath

if TYPE_CHECKING:
    from roofspring.safety.inspection import Given
    from roofspring.workflows import LogAnswer

At = Annotated[
    str, typer.Option("--at", metavar="WHEN", help='"2026-11-25", "2026-11-25 14:30"; now.')
]
Who = Annotated[str, typer.Option("--who", help="Who looked or took the sample.")]
Note = Annotated[str, typer.Option("--note", help="Anything worth knowing later.")]
Corrects = Annotated[
    int | None,
    typer.Option("--corrects", metavar="N", help="Entry that this one takes the place of."),
]


def add_walk(
    plan: PlanPath,
    answers: Annotated[
        Path | None,
        typer.Option("--answers", metavar="FILE", help="Filled sheet; asked one by one without."),
    ] = None,
    at: At = "",
    who: Who = "",
    note: Note = "",
    corrects: Corrects = None,
    json: Json = False,
) -> None:
    """Put a walk-round into the logbook, from a filled sheet or question by question."""
    from roofspring import workflows

    workflows.ready_to_add(plan, kind="walk", at=at, corrects=corrects)
    given = _ask() if answers is None else None
    _print(
        workflows.add_walk(
            plan, answers=answers, given=given, at=at, who=who, note=note, corrects=corrects
        ),
        json=json,
        added=True,
    )


def _ask() -> list[Given]:
    from roofspring.safety.inspection import Given, questions

    typer.echo(
        "From the roof to the cup: y for yes (a fault), n for no, Enter where you did not look, "
        "q to stop without writing.",
        err=True,
    )
    given, place = [], ""
    for q in questions():
        if q.place != place:
            place = q.place
            typer.echo(f"\n{place.capitalize()}", err=True)
        mark = "STOP " if q.severity == "stop" else ""
        while True:
            said = typer.prompt(
                f"{q.id} {mark}{q.question} [y/n]", default="", show_default=False, err=True
            )
            word = said.strip().lower()
            if word in ("q", "quit"):
                raise typer.Abort
            if word in ("y", "yes", "n", "no", "", "?"):
                break
            typer.echo(f"    How: {q.how}. Answer y, n or Enter.", err=True)
        if word in ("y", "yes", "n", "no"):
            given.append(Given(q.id, word[0] == "y", ""))
    return given


def add_test(
    plan: PlanPath,
    what: Annotated[str, typer.Argument(metavar="WHAT", help="e-coli, lead, turbidity, ...")],
    value: Annotated[
        str, typer.Argument(metavar="VALUE", help='As the laboratory wrote it, "<1 /100 mL".')
    ],
    method: Annotated[str, typer.Option("--method", help="How it was tested.")] = "",
    point: Annotated[
        str, typer.Option("--point", metavar="PART", help="Part of the plan it was taken at.")
    ] = "",
    at: At = "",
    who: Who = "",
    note: Note = "",
    corrects: Corrects = None,
    json: Json = False,
) -> None:
    """Put a test of the water into the logbook; says what it shows and what it cannot."""
    from roofspring import workflows

    answer = workflows.add_test(
        plan,
        what=what,
        value=value,
        method=method,
        point=point,
        at=at,
        who=who,
        note=note,
        corrects=corrects,
    )
    _print(answer, json=json, added=True)


def show_log(
    plan: PlanPath,
    kind: Annotated[
        Literal["walk", "test"] | None, typer.Option("--kind", help="Only this kind.")
    ] = None,
    corrected: Annotated[
        bool, typer.Option("--corrected", help="Entries that were corrected later as well.")
    ] = False,
    json: Json = False,
) -> None:
    """What stands in the logbook, the newest last."""
    from roofspring import workflows

    _print(workflows.show_log(plan, kind=kind, corrected=corrected), json=json, added=False)


def _capital(words: str) -> str:
    return words if words.startswith("pH") else f"{words[0].upper()}{words[1:]}"


def export(
    plan: PlanPath,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the CSV files.")],
    json: Json = False,
) -> None:
    """Write the whole logbook, corrected entries too, as CSV files."""
    from roofspring import workflows

    _written(workflows.export_log(plan, out=out), json=json)


def backup(
    plan: PlanPath,
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="New file; never written over.")
    ],
    json: Json = False,
) -> None:
    """Copy the logbook into one new file, and check the copy."""
    from roofspring import workflows

    _written((workflows.backup_log(plan, out=out),), json=json)


def sheet(
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="New file; never written over.")
    ],
    json: Json = False,
) -> None:
    """Write the questions of the walk-round as a plain file to fill in."""
    from roofspring import workflows

    _written((workflows.write_sheet(out),), json=json)


def _written(files: tuple[Path, ...], *, json: bool) -> None:
    if json:
        show.print_json({"files": [str(f) for f in files]})
        return
    for file in files:
        show.out().print(f"Written: {file}")


def _print(answer: LogAnswer, *, json: bool, added: bool) -> None:
    if json:
        show.print_json(answer.to_dict())
        return
    if not answer.entries:
        show.print_text(
            "The logbook has no such entry yet. Add one with `roofspring log add walk PLAN` or "
            "`roofspring log add test PLAN WHAT VALUE`."
        )
        return
    told = zip(answer.entries, answer.words, answer.faults, strict=True)
    for entry, words, faults in told:
        about = [entry.at.astimezone().strftime("%Y-%m-%d %H:%M")]
        about += [f"by {entry.who}"] * bool(entry.who)
        about += [f"corrects {entry.corrects}"] * (entry.corrects is not None)
        about += [f"corrected by {entry.corrected_by}"] * (entry.corrected_by is not None)
        show.out().print(f"{entry.number:4}  {', '.join(about)}")
        show.print_text(f"{_capital(words)}.", indent="      ")
        for fault in faults:
            show.print_text(fault, indent="        ")
        if entry.note:
            show.print_text(f"Note: {entry.note}", indent="      ")
    if added:
        show.out().print(f"Added to {answer.file}")

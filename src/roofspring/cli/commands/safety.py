"""The command that says what is known of the drinking water."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from roofspring.cli import show
from roofspring.cli.commands.answers import Json, Out, PlanPath, Strict

if TYPE_CHECKING:
    from roofspring.safety.answer import SafetyAnswer


def safety(
    plan: PlanPath,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Another number, other luck.")] = 1,
    json: Json = False,
    out: Out = None,
    strict: Strict = False,
) -> None:
    """Is it fit to drink? Every way to a tap, the risk with its spread, what would change it."""
    from roofspring import workflows

    with show.working("reading the plan", quiet=json) as tell:
        answer = workflows.safety(plan, out=out, seed=seed, progress=tell)
    if json:
        show.print_json(answer.to_dict())
    else:
        _print(answer)
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _print(answer: SafetyAnswer) -> None:
    from roofspring.report.safety_tables import counted_words
    from roofspring.safety import words
    from roofspring.safety.paths.graph import WHEN_WORDS
    from roofspring.safety.prices import NO_PRICES

    costs = answer.costs
    unpriced = (NO_PRICES,) if answer.risk and costs is None else ()
    show.print_text(f"Is it fit to drink?  {answer.sentence}")
    for heading, lines in (
        ("What the evidence shows", answer.evidence),
        ("What the logbook says", _kept(answer)),
        ("What it cannot show", answer.unknown),
        ("What would change it", (*answer.change, *unpriced)),
        ("What that would cost", (*costs.each, *costs.says) if costs else ()),
    ):
        if lines:
            show.out().print(f"\n{heading}:")
            for line in lines:
                show.print_text(line, indent="    ")
    show.print_table(
        ("weakest ways to a tap", "bacteria\nlog", "viruses\nlog", "protozoa\nlog"),
        (
            (f"{r.words}, {WHEN_WORDS[r.when]}", *(counted_words(r, g) for g in r.log10))
            for r in answer.routes[:WAYS]
        ),
    )
    show.out().print("")
    show.print_findings(answer.findings)
    if answer.risk:
        show.out().print("")
        for line in (words.WHO_FIRST, words.ILL):
            show.print_text(line)
    for file in answer.files:
        show.out().print(f"\nWritten: {file}")


def _kept(answer: SafetyAnswer) -> tuple[str, ...]:
    if answer.kept is None:
        return ()
    due = answer.kept.due
    late = [f"{d.visit.what} {d.words}" for d in due if d.state == "due"]
    late += [f"{d.visit.what} {d.words}" for d in due if d.state == "never" and d.words != NEVER]
    never = [d.visit.what for d in due if d.words == NEVER]
    late += [f"{NEVER}: {', '.join(never)}"] * bool(never)
    line = (f"By the calendar: {'; '.join(late)}.",) if late else ()
    return (*answer.kept.says, *answer.kept.removed, *answer.kept.cannot, *line)


NEVER = "never tested"
WAYS = 6
"""Ways shown in a terminal; the page and the JSON have them all."""

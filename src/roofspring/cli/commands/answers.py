"""Commands that answer a question about a plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from roofspring.cli import show

if TYPE_CHECKING:
    from roofspring.reliability.answer import SupplyAnswer
    from roofspring.units import UnitSet

PlanPath = Annotated[Path, typer.Argument(metavar="PLAN", help="Plan file, or its folder.")]
Json = Annotated[bool, typer.Option("--json", help="One JSON object on stdout, nothing else.")]
Strict = Annotated[bool, typer.Option("--strict", help="End with 1 when a finding says stop.")]
FutureCount = Annotated[
    int | None,
    typer.Option("--futures", min=0, max=10_000, help="Invented records to run through as well."),
]
Faults = Annotated[
    list[str] | None,
    typer.Option("--fault", metavar="PART:FAULT", help='Run it broken, like "feed-a:stuck-open".'),
]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Folder for what is written.")
]


def check(plan: PlanPath, json: Json = False, strict: Strict = False) -> None:
    """Read a plan, its rain record and its sieve tests; list what is wrong, without a run."""
    from roofspring import workflows

    loaded, findings = workflows.check(plan)
    if json:
        show.print_json(
            {
                "plan": str(loaded.path),
                "hash": loaded.hash,
                "findings": [f.to_dict() for f in findings],
            }
        )
    else:
        plan_ = loaded.plan
        counts = ", ".join(
            _counted(n, word)
            for n, word in (
                (len(list(plan_.parts())), "part"),
                (len(plan_.pipes), "pipe"),
                (len(plan_.uses), "use"),
            )
        )
        show.print_text(f"{plan_.name}: {counts}; {_counted(len(findings), 'finding')}.")
        show.print_findings(findings)
    raise typer.Exit(show.stop_code(findings, strict=strict))


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


def design(
    plan: PlanPath,
    json: Json = False,
    out: Out = None,
    futures: FutureCount = None,
    strict: Strict = False,
) -> None:
    """The main job: answer every question, rank what is wrong, write the report."""
    from roofspring import workflows

    with show.working("reading the plan", quiet=json) as tell:
        answer = workflows.design(plan, out=out, futures=futures, progress=tell)
    if json:
        show.print_json(answer.to_dict())
    else:
        if answer.supply is not None:
            _print_supply(answer.supply)
        for question, reason in answer.not_answered:
            show.print_text(f"{question}  Not answered: {reason}")
        show.out().print("")
        show.print_text(f"Will it flow?  {answer.levels.sentence}")
        for found in answer.sand.answers:
            show.out().print("")
            show.print_text(f"Is the sand right?  {found.sentence} {found.also}".strip())
        show.out().print("")
        show.print_findings(answer.findings)
        show.out().print("")
        for file in answer.files:
            show.out().print(f"Written: {file}")
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def supply(
    plan: PlanPath,
    json: Json = False,
    futures: FutureCount = None,
    model: Annotated[
        str | None,
        typer.Option("--model", help="Model of rain for the futures, like whole-years."),
    ] = None,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Another number, other futures.")] = 1,
    fault: Faults = None,
    strict: Strict = False,
) -> None:
    """Will it last? Every tank and use through the whole rain record."""
    from roofspring import workflows

    with show.working("reading the plan", quiet=json) as tell:
        answer = workflows.supply(
            plan, futures=futures, model=model, seed=seed, faults=fault or (), progress=tell
        )
    if json:
        show.print_json(answer.to_dict())
    else:
        _print_supply(answer)
        show.out().print("")
        show.print_findings(answer.findings)
    raise typer.Exit(show.stop_code(answer.findings, strict=strict))


def _print_supply(answer: SupplyAnswer) -> None:
    from roofspring.units import show as in_units

    def volume(value_m3: float) -> str:
        return in_units(value_m3, "volume", units=units)

    units: UnitSet = answer.show
    show.print_text(f"Will it last?  {answer.sentence}")
    for words in answer.faults:
        show.print_text(f"Under a fault: {words}.")
    show.print_text(answer.doubt)
    if answer.futures is not None:
        show.print_text(answer.futures.sentence)
        if answer.futures.acceptance:
            show.print_text(answer.futures.acceptance)
    if answer.filled_frac > 0.0:
        show.print_text(
            f"{100 * answer.filled_frac:.1f} % of the rain was filled in, not measured."
        )
    years = answer.years
    show.print_table(
        (
            "use",
            "wanted\na year",
            "got\na year",
            "served",
            "of it\nraw",
            "days\nshort",
            "longest\non end",
            "on\nration",
        ),
        (
            (
                u.label,
                volume(u.wanted_m3 / years),
                volume(u.delivered_m3 / years),
                f"{100 * u.served_frac:.1f} %",
                f"{100 * u.raw_frac:.0f} %",
                f"{u.days_short:,}",
                f"{u.longest_short_days:,}",
                f"{u.days_rationed:,}",
            )
            for u in answer.uses
        ),
    )
    show.print_table(
        ("store", "holds", "lowest", "mean", "spills\na year", "days\nempty"),
        (
            (
                s.label,
                volume(s.capacity_m3),
                volume(s.min_m3),
                volume(s.mean_m3),
                volume(s.spilled_m3 / years),
                f"{s.days_empty:,}",
            )
            for s in answer.stores
            if s.kind == "tank"
        ),
    )
    show.print_table(
        ("the worst that happened", "from", "to"),
        ((e.words, e.begins, e.ends) for e in answer.worst),
    )

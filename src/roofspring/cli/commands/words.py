"""Commands that explain: a value, a code, a rain record, this machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from roofspring.cli import show

Json = Annotated[bool, typer.Option("--json", help="One JSON object on stdout, nothing else.")]


def explain(
    what: Annotated[
        str,
        typer.Argument(metavar="PLAN|CODE", help="Plan file or folder, or a code like LVL-007."),
    ],
    field: Annotated[
        str | None, typer.Argument(metavar="PART.FIELD", help="A value, like raw.overflow.")
    ] = None,
    json: Json = False,
) -> None:
    """Say where a value of a plan comes from, or what a code means."""
    from roofspring import workflows

    if field is None:
        code = workflows.explain_code(what)
        if json:
            show.print_json(code)
        else:
            show.out().print(f"{code['code']}  {code['title']}")
            show.print_text(code["means"])
            show.print_text(f"Do: {code['do']}")
        return
    found = workflows.explain_value(Path(what), field)
    if json:
        show.print_json(found)
        return
    show.out().print(f"{found['where']} = {found['value']}")
    show.print_text(found["about"])
    show.print_text(f"Origin: {found['origin']}")
    if found["source"]:
        show.print_text(f"Source: {found['source']}")
    if found["allowed"]:
        show.print_text(f"Allowed: {found['allowed']}")
    if found["published"]:
        show.print_table(
            ("published", "least", "most"),
            ((row["what"], row["least"], row["most"]) for row in found["published"]),
        )
        for source in dict.fromkeys(row["source"] for row in found["published"]):
            show.print_text(f"Source: {source}")


def doctor(json: Json = False) -> None:
    """Say what is installed and what is missing."""
    from roofspring import workflows

    rows = workflows.doctor()
    if json:
        show.print_json({"rows": [list(row) for row in rows]})
        return
    for what, found in rows:
        show.out().print(f"{what:18}  {found}")

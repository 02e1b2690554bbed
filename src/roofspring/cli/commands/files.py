"""Commands that write a plan to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from roofspring.cli import show

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="Folder; made when missing.")]


def new(
    folder: Folder,
    yes: Annotated[bool, typer.Option("--yes", help="Take the default answers.")] = False,
) -> None:
    """Write a starter plan from a few questions."""
    from roofspring import workflows
    from roofspring.plan.new import NewPlanAnswers

    workflows.free_place(folder)
    ask = NewPlanAnswers(name=folder.resolve().name or "my place")
    if not yes:
        units = typer.prompt("Units of the answers, metric or us", default=ask.units)
        ask = NewPlanAnswers(
            name=typer.prompt("Name of the place", default=ask.name),
            units="us" if units.strip().lower() == "us" else "metric",
            people_count=typer.prompt("People in the house", default=ask.people_count, type=int),
            roof_area=typer.prompt(
                "Roof area as seen from above, with its unit", default=ask.roof_area
            ),
            roof_material=typer.prompt(
                "Roof: metal, glazed-tile, slate, concrete-tile, asphalt-shingle, membrane, gravel",
                default=ask.roof_material,
            ),
            eave_height=typer.prompt(
                "Height of the gutter lip over the ground, with its unit", default=ask.eave_height
            ),
            rain_file=typer.prompt(
                "Rain record, a file beside the plan (empty for none yet)", default=""
            )
            or None,
        )
    file = workflows.new(folder, ask)
    show.out().print(
        f"Written: {file}\nNext: measure, write your heights into it, then run\n"
        f"    roofspring check {folder}"
    )


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="[DIR]", help="Folder; made when missing.")
    ] = Path("alder-bench"),
) -> None:
    """Write Alder Bench, an invented place with planted faults, and run the main job on it."""
    from roofspring import workflows

    with show.working("writing Alder Bench", quiet=False) as tell:
        workflows.write_demo(folder)
        answer = workflows.design(folder, progress=tell)
    if answer.supply is not None:  # the demo has its rain record
        show.print_text(f"Will it last?  {answer.supply.sentence}")
    show.print_text(f"Will it flow?  {answer.levels.sentence}")
    show.out().print("")
    show.print_findings(f for f in answer.findings if f.severity == "stop")
    show.out().print(f"\nThe whole answer, with drawing and charts: {answer.files[0]}")

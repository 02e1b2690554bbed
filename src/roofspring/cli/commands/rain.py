"""Commands on rain records."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from roofspring.cli import show

if TYPE_CHECKING:
    from roofspring.rain import RainSummary
    from roofspring.units import UnitSet
    from roofspring.workflows import RainAnswer, RecordFile

Json = Annotated[bool, typer.Option("--json", help="One JSON object on stdout, nothing else.")]
File = Annotated[
    Path, typer.Argument(metavar="FILE", help="Rain record, or a plan that names one.")
]
Form = Annotated[
    str | None, typer.Option("--form", help="csv, xlsx, ghcn-dly, ...; told from the file.")
]
Unit = Annotated[
    str | None, typer.Option("--unit", help="mm, 0.1 mm, cm, in, ..., where the file is silent.")
]
Station = Annotated[
    str | None, typer.Option("--station", help="Station id, where the file holds several.")
]
Stamp = Annotated[
    Literal["start", "end"] | None,
    typer.Option("--stamp", help="Which end of its step a time marks; start when not given."),
]
Tip = Annotated[
    str | None, typer.Option("--tip", help='Depth of one tip, like "0.2 mm": rows are tips.')
]
TipStep = Annotated[
    str | None, typer.Option("--tip-step", help="Step that tips are added up to; 5 min.")
]
Sheet = Annotated[str | None, typer.Option("--sheet", help="Sheet of a spreadsheet.")]
WHOLE_YEAR = 0.99
"""Records shorter than this many years are told as sums, not by the year."""

New = Annotated[Path, typer.Option("--out", metavar="CSV", help="New file; never written over.")]
Units = Annotated[
    Literal["metric", "us"] | None,
    typer.Option("--units", help="Units of the answer; those of the plan, or metric."),
]
Downloads = Annotated[
    Path, typer.Option("--out", metavar="DIR", help="Folder of downloads; made when missing.")
]


def inspect(
    file: File,
    form: Form = None,
    unit: Unit = None,
    station: Station = None,
    stamp: Stamp = None,
    tip: Tip = None,
    tip_step: TipStep = None,
    sheet: Sheet = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Write a page of pictures here.")
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option("--table", metavar="CSV", help="Published table of rain depths."),
    ] = None,
    units: Units = None,
    json: Json = False,
) -> None:
    """Read a rain record and say what is in it and what is doubtful."""
    from roofspring import workflows

    record = _record(file, form, unit, station, stamp, tip, tip_step, sheet, units)
    with show.working("reading the record", quiet=json):
        answer = workflows.inspect_rain(record, out=out, table=table)
    _print_answer(answer, json=json)


def read(
    file: File,
    out: New,
    form: Form = None,
    unit: Unit = None,
    station: Station = None,
    stamp: Stamp = None,
    tip: Tip = None,
    tip_step: TipStep = None,
    sheet: Sheet = None,
    fill: Annotated[
        str | None,
        typer.Option("--fill", help="none, same-season, or beside a plan with neighbours more."),
    ] = None,
    units: Units = None,
    json: Json = False,
) -> None:
    """Turn a record of any form into a plain CSV with a mark on every value."""
    from roofspring import workflows

    record = _record(file, form, unit, station, stamp, tip, tip_step, sheet, units)
    with show.working("reading the record", quiet=json):
        answer = workflows.read_rain(record, out=out, fill=fill)
    _print_answer(answer, json=json)


def make(
    file: File,
    out: New,
    model: Annotated[
        str | None,
        typer.Option("--model", help="whole-years, markov-1-gamma, ...; by the record's length."),
    ] = None,
    years: Annotated[int, typer.Option("--years", min=1, max=10_000, help="Years to invent.")] = 30,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Another number, another sky.")] = 1,
    form: Form = None,
    unit: Unit = None,
    station: Station = None,
    stamp: Stamp = None,
    tip: Tip = None,
    tip_step: TipStep = None,
    sheet: Sheet = None,
    units: Units = None,
    json: Json = False,
) -> None:
    """Invent years of rain like those of a record, and say where they differ from it."""
    from roofspring import workflows

    record = _record(file, form, unit, station, stamp, tip, tip_step, sheet, units)
    with show.working("inventing rain", quiet=json):
        made = workflows.make_rain(record, out=out, model=model, years=years, seed=seed)
    if json:
        show.print_json(made.to_dict())
        return
    for text in (made.words, *made.fit.splitlines(), *made.acceptance.splitlines()):
        show.print_text(text)
    show.print_findings(made.findings)
    _print_files(made.files)


def fetch(
    station: Annotated[str, typer.Argument(metavar="STATION", help="GHCN-Daily station id.")],
    out: Downloads = Path("rain-downloads"),
    json: Json = False,
) -> None:
    """Get the GHCN-Daily record of a station from its publisher. Needs the internet."""
    from roofspring import workflows

    with show.working("asking the publisher", quiet=json):
        path, findings = workflows.fetch_rain(station, folder=out)
    if json:
        show.print_json({"files": [str(path)], "findings": [f.to_dict() for f in findings]})
        return
    show.print_findings(findings)
    _print_files((str(path),))


def near(
    latitude: Annotated[float, typer.Option("--latitude", help="Degrees, north positive.")],
    longitude: Annotated[float, typer.Option("--longitude", help="Degrees, east positive.")],
    count: Annotated[int, typer.Option("--count", min=1, help="Stations to list.")] = 5,
    out: Downloads = Path("rain-downloads"),
    units: Annotated[
        Literal["metric", "us"], typer.Option("--units", help="Units of the answer.")
    ] = "metric",
    json: Json = False,
) -> None:
    """List GHCN-Daily stations near a place, nearest first. Needs the internet once."""
    from roofspring import workflows
    from roofspring.rain.words import far

    with show.working("asking the publisher", quiet=json):
        stations = workflows.near_stations(latitude, longitude, folder=out, count=count)
    if json:
        show.print_json({"stations": [asdict(s) for s in stations]})
        return
    show.print_table(
        ("station", "name", "away", "rain"),
        (
            (
                s.identifier,
                s.name,
                far(s.distance_m, units),
                f"{s.first_year} to {s.last_year}",
            )
            for s in stations
        ),
    )


def _record(
    file: Path,
    form: str | None,
    unit: str | None,
    station: str | None,
    stamp: Literal["start", "end"] | None,
    tip: str | None,
    tip_step: str | None,
    sheet: str | None,
    units: Literal["metric", "us"] | None,
) -> RecordFile:
    from roofspring import workflows
    from roofspring.units import parse

    return workflows.RecordFile(
        file,
        form=form,
        unit=unit,
        station=station,
        stamp=stamp,
        tip=tip,
        tip_step_s=None if tip_step is None else parse(tip_step, to="s"),
        sheet=sheet,
        units=units,
    )


def _print_answer(answer: RainAnswer, *, json: bool) -> None:
    if json:
        show.print_json(answer.to_dict())
        return
    show.print_text(answer.words)
    show.print_text(_summary_words(answer.summary, answer.units))
    show.print_findings(answer.findings)
    _print_files(answer.files)


def _summary_words(s: RainSummary, units: UnitSet) -> str:
    """How much fell, how long it was dry, and the wettest day."""
    from roofspring.rain.words import depth, lasting, plural

    whole = s.years > WHOLE_YEAR
    share = 1.0 if whole else s.years
    over = "a year" if whole else f"in {lasting(s.years)}"
    wet = plural(round(share * s.wet_days_per_year), "wet day")
    said = [f"{depth(share * s.mean_m_per_year, units)} {over}, on {wet}"]
    if s.longest_dry_days:
        days = plural(s.longest_dry_days, "day")
        upto = "" if s.longest_dry_days == 1 else f" to {s.longest_dry_last}"
        said.append(f"longest dry spell {days}, {s.longest_dry_first}{upto}")
    if s.greatest_day_m > 0.0:
        said.append(f"wettest day {depth(s.greatest_day_m, units)}, {s.greatest_day}")
    return "; ".join(said) + "."


def _print_files(files: tuple[str, ...]) -> None:
    for file in files:
        show.out().print(f"Written: {file}")

"""The `roofspring` command."""

from __future__ import annotations

from typing import Annotated

import typer

from roofspring import __version__
from roofspring.cli.commands import answers, files, levels, log, rain, safety, sand, storm, words

app = typer.Typer(
    name="roofspring",
    help="Design and run a household's drinking water from its own roof, by gravity.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(value: bool) -> None:  # noqa: FBT001 - the shape typer calls back with
    if value:
        typer.echo(f"roofspring {__version__}")
        raise typer.Exit


@app.callback()
def top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")
    ] = False,
) -> None:
    """Say the version, or run a command."""


app.command("new")(files.new)
app.command("demo")(files.demo)
app.command("check")(answers.check)
app.command("design")(answers.design)
app.command("supply")(answers.supply)
app.command("storm")(storm.storm)
app.command("levels")(levels.levels)
app.command("sand")(sand.sand)
app.command("safety")(safety.safety)
app.command("explain")(words.explain)
app.command("doctor")(words.doctor)
rain_app = typer.Typer(help="Rain records.", no_args_is_help=True, rich_markup_mode=None)
rain_app.command("read")(rain.read)
rain_app.command("inspect")(rain.inspect)
rain_app.command("make")(rain.make)
rain_app.command("fetch")(rain.fetch)
rain_app.command("near")(rain.near)
app.add_typer(rain_app, name="rain")
log_app = typer.Typer(help="The logbook.", no_args_is_help=True, rich_markup_mode=None)
add_app = typer.Typer(help="Add an entry.", no_args_is_help=True, rich_markup_mode=None)
add_app.command("walk")(log.add_walk)
add_app.command("test", context_settings={"ignore_unknown_options": True})(log.add_test)
log_app.add_typer(add_app, name="add")
log_app.command("show")(log.show_log)
log_app.command("export")(log.export)
log_app.command("backup")(log.backup)
log_app.command("sheet")(log.sheet)
app.add_typer(log_app, name="log")


def main() -> None:
    """Run the command line, and end with one of the codes of ``docs/commands.md``."""
    from roofspring.cli import ends

    ends.run(lambda: app(prog_name="roofspring", standalone_mode=False))

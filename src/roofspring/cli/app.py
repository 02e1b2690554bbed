"""The `roofspring` command."""

from __future__ import annotations

import io
import sys
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
    """Run the command line; problems end it with code 2, an interruption with 130."""
    from roofspring.cli.show import EXIT_BAD_INPUT, EXIT_STOPPED, print_problems
    from roofspring.errors import RoofspringError

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without m³ still gets its answer
    try:
        app(prog_name="roofspring", standalone_mode=True)
    except RoofspringError as error:
        print_problems(error, as_json="--json" in sys.argv)
        sys.exit(EXIT_BAD_INPUT)
    except SystemExit as end:  # typer has caught the interruption, or the end of its questions
        if end.code != EXIT_STOPPED and not isinstance(end.__context__, typer.Abort):
            raise
        _stop()
    except BaseException as error:
        if not _is_interruption(error):
            raise
        _stop()


def _stop() -> None:
    from roofspring.cli.show import EXIT_STOPPED, err

    err().print("Stopped. Nothing was half-written.")
    sys.exit(EXIT_STOPPED)


def _is_interruption(error: BaseException | None) -> bool:
    """Whether Ctrl-C is behind an error: in compiled code it comes out as the cause of another."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt):
            return True
        error = error.__cause__ or error.__context__
    return False

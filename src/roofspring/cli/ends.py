"""How a command ends: its exit code, and what is said where it cannot answer."""

from __future__ import annotations

import errno
import io
import os
import sys
import traceback
from collections.abc import Callable
from typing import Any, NoReturn

import typer

from roofspring.cli.show import (
    EXIT_ANSWERED,
    EXIT_BAD_INPUT,
    EXIT_NOBODY_READS,
    EXIT_STOPPED,
    err,
    print_problems,
)
from roofspring.errors import CommandError, OutputError, Problem, RoofspringError

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
"""What writing into an open file ends with when its disk is full or gone."""


def run(command: Callable[[], Any]) -> NoReturn:
    """Run the command line and leave.

    Parameters
    ----------
    command : callable
        The parser without its own endings: gives an exit code, or None, or raises.

    Raises
    ------
    SystemExit
        Always.
    """
    _ready_streams()
    as_json = "--json" in sys.argv
    try:
        code = _code(command, as_json=as_json)
    except typer.Abort:
        _stop()
    except BaseException as error:
        if _behind(error, KeyboardInterrupt):
            _stop()
        if _behind(error, BrokenPipeError):
            _let_go_of_stdout()
            sys.exit(EXIT_NOBODY_READS)
        if isinstance(error, SystemExit):
            raise
        found = _told(error)
        unprinted = found.problems[0].code == "OUT-003"
        print_problems(found, as_json=as_json and not unprinted)
        sys.exit(EXIT_BAD_INPUT)
    if code == EXIT_STOPPED:  # the parser has caught the interruption
        _stop()
    sys.exit(code)


def _code(command: Callable[[], Any], *, as_json: bool) -> int:
    """The exit code of a command that could be followed, or whose problems could be told."""
    try:
        code = command()
    except RoofspringError as error:
        print_problems(error, as_json=as_json)
        code = EXIT_BAD_INPUT
    except typer.TyperException as error:
        _say_usage(error, as_json=as_json)
        code = EXIT_BAD_INPUT
    sys.stdout.flush()
    return EXIT_ANSWERED if code is None else int(code)


def _ready_streams() -> None:
    """A closed stream swallows what it is given; a terminal without m³ still gets its answer."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, io.TextIOWrapper(io.FileIO(os.devnull, "w"), encoding="utf-8"))
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _stop() -> NoReturn:
    err().print("Stopped. Nothing was half-written.")
    sys.exit(EXIT_STOPPED)


def _behind(error: BaseException | None, kind: type[BaseException]) -> bool:
    """Whether an error of a kind is behind another.

    Ctrl-C in compiled code, and a closed pipe, come out as the cause of another error.
    """
    while error is not None:
        if isinstance(error, kind):
            return True
        error = error.__cause__ or error.__context__
    return False


def _let_go_of_stdout() -> None:
    """Send what still waits to be printed nowhere, so that the exit does not stumble over it."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    except (OSError, ValueError):  # a stream without a file behind it
        sys.stdout = io.StringIO()


def _say_usage(error: typer.TyperException, *, as_json: bool) -> None:
    """An error of the command line as a problem like any other; help where nothing was asked."""
    context = getattr(error, "ctx", None)
    command = "roofspring" if context is None else context.command_path
    what = error.format_message()
    if context is not None and what == context.get_help():
        typer.echo(what, err=True)
        return
    problem = Problem(
        "CMD-001",
        f"{what[:1].lower()}{what[1:]}".removesuffix("."),
        where=command,
        next=f"see {command} --help",
    )
    print_problems(CommandError(problem), as_json=as_json)


def _told(error: BaseException) -> RoofspringError:
    """An error that nobody foresaw, as a person can use it."""
    if isinstance(error, MemoryError):
        return CommandError(
            Problem(
                "CMD-003",
                "this machine has not enough memory for it",
                got=str(error),
                next="close other programs, or ask for fewer years, futures or steps; no file was "
                "left half-written",
            )
        )
    if isinstance(error, OSError) and error.filename is None and error.errno in FULL:
        _let_go_of_stdout()
        return OutputError(
            Problem(
                "OUT-003",
                "the answer could not be printed whole",
                got=os.strerror(error.errno or 0),
                next="free some room where it is sent to, or send it elsewhere; then ask again",
            )
        )
    if isinstance(error, OSError) and error.filename is not None:
        return OutputError(
            Problem(
                "OUT-004",
                "a file could not be used",
                file=os.fsdecode(error.filename)[:200],
                got=error.strerror or type(error).__name__,
                next="check the name, and that you may read what stands there",
            )
        )
    traceback.print_exception(error)
    return CommandError(
        Problem(
            "CMD-002",
            "a defect of Roofspring, not of what you gave it",
            got=f"{type(error).__name__}: {error}"[:200],
            next="please report it with the lines above, the command and the plan file; no file "
            "was left half-written",
        )
    )

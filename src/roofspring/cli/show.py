"""How answers, findings and problems look in a terminal, and as JSON."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.console import Console

from roofspring.errors import Finding, RoofspringError
from roofspring.files import to_json
from roofspring.sources import cite
from roofspring.units import unbroken

EXIT_ANSWERED, EXIT_STOP, EXIT_BAD_INPUT = 0, 1, 2
EXIT_STOPPED, EXIT_NOBODY_READS = 130, 141
"""As shells count an interruption and a closed pipe."""
WIDEST, USUAL_WIDTH, LEAST_WIDTH = 100, 80, 20
NARROWEST, GAP = 12, "  "
"""Columns of the first column of a table at least, and what stands between two."""
WORDS = {"stop": "STOP", "caution": "CAUTION", "note": "note"}


def out() -> Console:
    """Where answers go. Plain text when it is not a terminal."""
    return _console(stderr=False)


def err() -> Console:
    """Where progress and problems go."""
    return _console(stderr=True)


def _console(*, stderr: bool) -> Console:
    console = Console(stderr=stderr, highlight=False, markup=False, soft_wrap=True, emoji=False)
    if console.width < 1:  # such a terminal would be shown nothing
        console.width = USUAL_WIDTH
    return console


@contextmanager
def working(what: str, *, quiet: bool) -> Iterator[Any]:
    """A line on stderr that says what is being done; nothing when quiet or not a terminal."""
    console = err()
    if quiet or not console.is_terminal:
        yield lambda _line: None
        return
    with console.status(what) as status:
        yield status.update


def print_json(value: Any) -> None:
    """One JSON object on stdout."""
    sys.stdout.write(to_json(value) + "\n")


def print_problems(error: RoofspringError, *, as_json: bool) -> None:
    """All problems at once: as text on stderr, or as one JSON object on stdout."""
    if as_json:
        print_json({"problems": [p.to_dict() for p in error.problems]})
        return
    count = len(error.problems)
    if count > 1:
        err().print(f"{count} problems:")
    for problem in error.problems:
        for line in str(problem).splitlines():
            if line[0] == " ":
                err().print(_filled(line.strip(), indent="    "))
            else:  # the place stays beside the code
                err().print(_filled(line.replace(" ", "\u00a0", 1), hanging="    "))


def print_text(text: str, *, indent: str = "") -> None:
    """A paragraph, its lines broken to fit the terminal."""
    out().print(_filled(text, indent=indent))


def _filled(text: str, *, indent: str = "", hanging: str | None = None) -> str:
    """Lines that fit the terminal; a number stays with its unit, a long path is never cut."""
    return textwrap.fill(
        unbroken(text),
        _width(),
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    ).replace("\u00a0", " ")


def _width() -> int:
    """Columns to fill; a terminal with hardly any is taken to have a few."""
    return min(max(out().width, LEAST_WIDTH), WIDEST)


def print_findings(findings: Iterable[Finding]) -> None:
    """Every finding with what was found, what is needed and what to do."""
    for f in findings:
        where = f" {f.where}" if f.where else ""
        out().print(f"{WORDS[f.severity]:7} {f.code}{where}", style=_style(f))
        for text in _lines(f):
            print_text(text, indent="        ")


def _lines(f: Finding) -> Iterator[str]:
    yield f"{f.what[0].upper()}{f.what[1:]}."
    if f.got or f.limit:
        got = f"Found: {f.got}. " if f.got else ""
        limit = f"Needed: {f.limit}" if f.limit else ""
        source = f" ({cite(f.source)})" if f.source and limit else ""
        yield f"{got}{limit}{source}{'.' if limit else ''}".strip()
    if f.next:
        yield f"Next: {f.next}."


def _style(f: Finding) -> str:
    return {"stop": "bold red", "caution": "bold yellow", "note": "bold"}[f.severity]


def print_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table under a blank line: words to the left, the other columns to the right.

    A head may take two lines. When the terminal is narrow, long words in the first column go on in
    the next line; numbers are never broken. Nothing is printed when there is no row.
    """
    table = [[head.split("\n") for head in heads]]
    cells = [list(row) for row in rows]
    if not cells:
        return
    widths = [
        max(len(text) for text in (*head, *(row[i] for row in cells)))
        for i, head in enumerate(table[0])
    ]
    room = _width() - sum(w + len(GAP) for w in widths[1:])
    widths[0] = max(NARROWEST, min(widths[0], room))
    table += [[_wrapped(row[0], widths[0]), *([text] for text in row[1:])] for row in cells]
    out().print("")
    for row in table:
        for line in range(max(len(cell) for cell in row)):
            texts = [cell[line] if line < len(cell) else "" for cell in row]
            columns = [texts[0].ljust(widths[0])]
            columns += [t.rjust(w) for t, w in zip(texts[1:], widths[1:], strict=True)]
            out().print(GAP.join(columns).rstrip())


def _wrapped(text: str, width: int) -> list[str]:
    """Lines no longer than a width; a number stays with its unit."""
    lines = textwrap.wrap(unbroken(text), width)
    return [line.replace("\u00a0", " ") for line in lines]


def stop_code(findings: Iterable[Finding], *, strict: bool) -> int:
    """0, or 1 under ``--strict`` when a finding says stop."""
    return EXIT_STOP if strict and any(f.severity == "stop" for f in findings) else EXIT_ANSWERED

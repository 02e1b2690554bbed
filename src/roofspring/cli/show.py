"""How answers, findings and problems look in a terminal, and as JSON."""

from __future__ import annotations

import json
import math
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.console import Console
from rich.table import Table

from roofspring.errors import Finding, RoofspringError
from roofspring.sources import cite

EXIT_ANSWERED, EXIT_STOP, EXIT_BAD_INPUT, EXIT_STOPPED = 0, 1, 2, 130
WORDS = {"stop": "STOP", "caution": "CAUTION", "note": "note"}


def out() -> Console:
    """Where answers go. Plain text when it is not a terminal."""
    return Console(highlight=False, markup=False, soft_wrap=True, emoji=False)


def err() -> Console:
    """Where progress and problems go."""
    return Console(stderr=True, highlight=False, markup=False, soft_wrap=True, emoji=False)


@contextmanager
def working(what: str, *, quiet: bool) -> Iterator[Any]:
    """A line on stderr that says what is being done; nothing when quiet or not a terminal."""
    console = err()
    if quiet or not console.is_terminal:
        yield lambda _line: None
        return
    with console.status(what) as status:
        yield status.update


def to_json(value: Any) -> str:
    """JSON with numbers that every reader takes: infinities and not-a-number become null."""
    return json.dumps(_plain(value), ensure_ascii=False, allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    return value


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
        err().print(str(problem))


def print_findings(findings: Iterable[Finding], *, width: int = 100) -> None:
    """Every finding with what was found, what is needed and what to do."""
    console = out()
    for f in findings:
        where = f" {f.where}" if f.where else ""
        console.print(f"{WORDS[f.severity]:7} {f.code}{where}", style=_style(f))
        for text in _lines(f):
            console.print(textwrap.fill(text, width, initial_indent="        ",
                                        subsequent_indent="        "))


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


def print_table(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A small table; columns of numbers stand to the right."""
    table = Table(title=title, title_justify="left", box=None, pad_edge=False, padding=(0, 2))
    for i, head in enumerate(heads):
        table.add_column(head, justify="left" if i == 0 else "right")
    for row in rows:
        table.add_row(*row)
    Console(highlight=False, markup=False, emoji=False, width=None).print(table)


def stop_code(findings: Iterable[Finding], *, strict: bool) -> int:
    """0, or 1 under ``--strict`` when a finding says stop."""
    return EXIT_STOP if strict and any(f.severity == "stop" for f in findings) else EXIT_ANSWERED

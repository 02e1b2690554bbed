"""The error tree, and the two records that tell a person what is wrong.

A `Problem` is bad input: the work cannot go on until it is mended, and all problems of one file
are raised together. A `Finding` is engineering trouble in a plan that could be read: the answer is
given, and the finding stands beside it. Every code of either kind is described once, in
``codes.toml``, from which ``docs/errors.md`` and ``roofspring explain CODE`` are made.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

Severity = Literal["stop", "caution", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "caution", "note")


@dataclass(frozen=True)
class Problem:
    """One thing in the input that must be mended: what, where, got, allowed, next."""

    code: str
    what: str
    file: str = ""
    line: int | None = None
    where: str = ""
    got: str = ""
    allowed: str = ""
    next: str = ""

    def __str__(self) -> str:
        place = ":".join(str(p) for p in (self.file, self.line) if p not in ("", None))
        head = " ".join(p for p in (self.code, place, self.where) if p)
        got = f" (found {self.got})" if self.got else ""
        lines = [f"{head}: {self.what}{got}"]
        if self.allowed:
            lines.append(f"    Allowed: {self.allowed}")
        if self.next:
            lines.append(f"    Next: {self.next}")
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Finding:
    """Engineering trouble a designer must see, the same in CLI, site and report.

    ``source`` is a bibliography key, or ``common practice, no source``.
    """

    code: str
    severity: Severity
    what: str
    where: str = ""
    got: str = ""
    limit: str = ""
    source: str = ""
    next: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def ranked(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings: stops first, then cautions, then notes; by code and place within each."""
    return tuple(sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), f.code, f.where)))


class RoofspringError(Exception):
    """Anything that stops the work. Carries one or more problems."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (
            (problems,) if isinstance(problems, Problem) else tuple(problems)
        )
        super().__init__("\n".join(str(p) for p in self.problems))


class PlanError(RoofspringError):
    """PLN: the user changes the plan file."""


class RecordError(RoofspringError):
    """REC: the user changes, or describes better, the rain record."""


class SieveError(RoofspringError):
    """SIV: the user changes the sieve test, or what is wanted of the sand."""


class UnitError(RoofspringError):
    """UNI: a text is not a quantity of the wanted kind."""


class RangeError(RoofspringError, ValueError):
    """DOM: a formula was asked outside the range it holds in."""


class LogbookError(RoofspringError):
    """LOG: the logbook cannot be used, or an entry is not one."""


class SolveError(RoofspringError):
    """SOL: a run did not finish or did not close."""


class OutputError(RoofspringError):
    """OUT: a file could not be written."""


class CommandError(RoofspringError):
    """CMD: the command line cannot be followed, or the program itself failed."""


@cache
def codes() -> dict[str, dict[str, str]]:
    """Every code with its ``title``, ``means`` and ``do``."""
    return tomllib.loads(resources.files(__name__).joinpath("codes.toml").read_text("utf-8"))

"""Read a plan file: everything that is wrong with it at once, or a whole plan."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from roofspring.errors import PlanError, Problem
from roofspring.plan.migrate import STEPS, Step, migrate, readable_versions
from roofspring.plan.model import FORMAT, Plan
from roofspring.plan.plantext import PlanText, in_order
from roofspring.plan.shape_problems import shape_problems
from roofspring.plan.validate import cross_problems

PLAN_FILE = "plan.toml"
LARGEST_BYTES_COUNT = 2_000_000
LONGEST_LINE_COUNT = 2000
DEEPEST_COUNT = 12


@dataclass(frozen=True)
class LoadedPlan:
    """A plan that was read without a problem, with the text it came from."""

    plan: Plan
    path: Path
    text: str = field(repr=False)
    source: PlanText = field(repr=False)
    hash: str
    """The first 12 hex digits of the SHA-256 of the text."""

    @cached_property
    def lines(self) -> Mapping[str, int]:
        """Line of every key and table of the file by its path, like ``tank.raw.volume``."""
        return {
            ".".join(str(part) for part in path): place.line
            for path, place in self.source.places.items()
            if all(isinstance(part, str) for part in path)
        }

    def given(self, path: str) -> bool:
        """Whether the file itself holds the key, like ``tank.raw.volume``."""
        return path in self.lines

    def raw(self, path: str) -> str:
        """The value of a key as written in the file; empty where the file does not hold it."""
        return self.source.raw(tuple(path.split(".")))


@dataclass(frozen=True)
class NamedFile:
    """A file that a plan names: where the plan does so, on which line, and by what name."""

    where: str
    line: int | None
    name: str


def named_sieves(path: Path) -> tuple[NamedFile, ...]:
    """The sieve tests that a plan names, whatever else is wrong with the plan.

    Parameters
    ----------
    path : Path
        As for `read_plan`.

    Returns
    -------
    tuple of NamedFile
        In the order of the file; none where the text is no plan at all, which `read_plan` tells.
    """
    file = path / PLAN_FILE if path.is_dir() else path
    try:
        raw, source = _parsed(_text_of(file), name=str(file))
    except PlanError:
        return ()
    filters = raw.get("filter")
    found = []
    for name, part in filters.items() if isinstance(filters, Mapping) else ():
        if isinstance(part, Mapping) and isinstance(part.get("sieve"), str):
            key = ("filter", name, "sieve")
            found.append(NamedFile(".".join(key), source.line(key), part["sieve"]))
    return tuple(found)


def read_plan(path: Path) -> LoadedPlan:
    """Read a plan from its file, or from the folder that holds ``plan.toml``.

    Parameters
    ----------
    path : Path

    Returns
    -------
    LoadedPlan

    Raises
    ------
    PlanError
        PLN-001 to PLN-049: every problem of the file at once, in the order of its lines.
    """
    file = path / PLAN_FILE if path.is_dir() else path
    return read_text(_text_of(file), path=file)


def read_text(
    text: str, *, path: Path, steps: Mapping[int, Step] = STEPS, newest: int = FORMAT
) -> LoadedPlan:
    """Read a plan from its text.

    Parameters
    ----------
    text : str
        The content of a plan file.
    path : Path
        Where it stands, or would stand: named in problems, and the rain file is beside it.
    steps : mapping of int to function, optional
        Migrations, see `roofspring.plan.migrate`.
    newest : int, optional
        The format that the model holds.

    Returns
    -------
    LoadedPlan

    Raises
    ------
    PlanError
        As `read_plan`.
    """
    raw, source = _parsed(text, name=str(path))
    _check_format(raw, source, steps=steps, newest=newest)
    raw = migrate(raw, steps=steps, to=newest)
    problems: list[Problem] = []
    plan: Plan | None = None
    try:
        plan = Plan.model_validate(raw)
    except ValidationError as error:
        problems += shape_problems(error, source)
    problems += cross_problems(raw, source)
    if problems or plan is None:
        raise PlanError(in_order(problems))
    return LoadedPlan(plan, path, text, source, hashlib.sha256(text.encode()).hexdigest()[:12])


def _text_of(file: Path) -> str:
    """The text of a file, with line ends made plain."""

    def refuse(code: str, what: str, next_step: str, allowed: str = "") -> PlanError:
        return PlanError(Problem(code, what, file=str(file), allowed=allowed, next=next_step))

    try:
        with file.open("rb") as stream:
            data = stream.read(LARGEST_BYTES_COUNT + 1)
    except FileNotFoundError:
        raise refuse(
            "PLN-001", "there is no plan here", "check the name, or start a new plan"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        step = "check the name, and that you may read what stands there"
        raise refuse("PLN-001", f"the file cannot be opened: {reason}", step) from error
    if len(data) > LARGEST_BYTES_COUNT:
        limit = f"at most {LARGEST_BYTES_COUNT // 1_000_000} MB"
        raise refuse(
            "PLN-002", "the file is too large for a plan", "check that this is the plan", limit
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        problem = Problem(
            "PLN-003",
            "the file is not text in UTF-8",
            file=str(file),
            line=line,
            got=f"byte {data[error.start]:#04x}",
            next="save it as UTF-8 in a text editor, or check that this is the plan",
        )
        raise PlanError(problem) from error
    text = text.replace("\r\n", "\n")
    return text if "\n" in text else text.replace("\r", "\n")  # line ends of the oldest kind


def _parsed(text: str, *, name: str) -> tuple[dict[str, Any], PlanText]:
    """The content of a TOML text, with its places."""
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE_COUNT:
            raise PlanError(
                Problem(
                    "PLN-007",
                    "this line is too long for a plan",
                    file=name,
                    line=number,
                    got=f"{len(line):,} characters",
                    allowed=f"at most {LONGEST_LINE_COUNT:,} characters",
                    next="break a list over several lines",
                )
            )
    try:
        raw = tomllib.loads(text + "\n")
        too_deep = _too_deep(raw)
    except tomllib.TOMLDecodeError as error:
        raise PlanError(_syntax_problem(str(error), text, name)) from error
    except RecursionError:
        too_deep = True
    except ValueError as error:  # a number with thousands of digits
        raise PlanError(_syntax_problem(str(error), text, name)) from error
    if too_deep:
        raise PlanError(
            Problem(
                "PLN-007",
                "tables or lists stand too deep within each other",
                file=name,
                allowed=f"at most {DEEPEST_COUNT} deep",
                next="write the tables as the reference page shows them",
            )
        )
    return raw, PlanText.of(text, name=name)


def _too_deep(raw: dict[str, Any]) -> bool:
    layer: list[Any] = [raw]
    for _ in range(DEEPEST_COUNT):
        deeper: list[Any] = []
        for item in layer:
            children = item.values() if isinstance(item, dict) else item
            deeper += [child for child in children if isinstance(child, (dict, list))]
        layer = deeper
    return bool(layer)


def _syntax_problem(message: str, text: str, name: str) -> Problem:
    """A parser's message as a problem, with the line it speaks of."""
    lines = text.split("\n")
    number, column = len(lines), 0
    if m := re.search(r"\s*\(at line (\d+), column (\d+)\)$", message):
        number, column = min(int(m[1]), len(lines)), int(m[2])
        message = message[: m.start()]
    message = message.removesuffix(" (at end of document)")
    shown = lines[number - 1].strip()[:80]
    return Problem(
        "PLN-004",
        f"this is not TOML: {message[:1].lower()}{message[1:]}"
        + (f", at column {column}" if column else ""),
        file=name,
        line=number,
        got=shown,
        allowed='lines like key = "value" under headings like [tank.raw]',
        next="mend this line; a quote, bracket or equals sign may be missing here or above",
    )


def _check_format(
    raw: Mapping[str, Any], source: PlanText, *, steps: Mapping[int, Step], newest: int
) -> None:
    version = raw.get("format")
    known = readable_versions(steps=steps, to=newest)
    allowed = " or ".join(str(v) for v in known)
    if isinstance(version, int) and not isinstance(version, bool) and version in known:
        return
    if version is None:
        what, step = (
            "the version of the file format is missing",
            f"write format = {newest} at the top",
        )
        problem = Problem(
            "PLN-005", what, file=source.name, line=1, where="format", allowed=allowed, next=step
        )
    elif isinstance(version, int) and not isinstance(version, bool) and version > newest:
        problem = source.problem(
            "PLN-006",
            ("format",),
            "this plan was written for a newer version of the program",
            allowed=allowed,
            next_step="update the program",
        )
    else:
        problem = source.problem(
            "PLN-005",
            ("format",),
            "there is no such version of the file format",
            allowed=allowed,
            next_step=f"write format = {newest}",
        )
    raise PlanError(problem)

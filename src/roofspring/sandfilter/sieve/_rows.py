"""The rows of a sieve test, and what is wrong with them one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, get_args

from roofspring.errors import Problem, SieveError
from roofspring.sandfilter.sieve.sizes import sieve_name

Kind = Literal[
    "retained-mass",
    "cumulative-retained-mass",
    "retained-percent",
    "cumulative-retained-percent",
    "passing-percent",
]
KINDS: tuple[Kind, ...] = get_args(Kind)
KIND_WORDS: dict[Kind, str] = {
    "retained-mass": "mass retained on each sieve",
    "cumulative-retained-mass": "mass retained on each sieve and all above it",
    "retained-percent": "percent retained on each sieve",
    "cumulative-retained-percent": "percent retained on each sieve and all above it",
    "passing-percent": "percent passing each sieve",
}


@dataclass(frozen=True)
class SieveRow:
    """One sieve, or the pan (``opening_m`` None), with its value: a mass [kg] or a share."""

    opening_m: float | None
    value: float
    line: int | None = None

    @property
    def name(self) -> str:
        """The sieve for a reader."""
        return "pan" if self.opening_m is None else sieve_name(self.opening_m)


class Trouble:
    """The problems of one test, listed together."""

    def __init__(self, file: str) -> None:
        self._file = file
        self.found: list[Problem] = []

    def add(
        self,
        code: str,
        what: str,
        *,
        row: SieveRow | None = None,
        where: str = "",
        got: str = "",
        allowed: str = "",
        next: str = "",
    ) -> None:
        """Note one problem, with the line of its row."""
        line = None if row is None else row.line
        place = where or ("" if row is None else row.name)
        self.found.append(Problem(code, what, self._file, line, place, got, allowed, next))

    def check(self) -> None:
        """Raise all that was noted, if anything was."""
        if self.found:
            raise SieveError(self.found)


def opening_of(row: SieveRow) -> float:
    """Opening of a row that is a sieve [m]."""
    assert row.opening_m is not None
    return row.opening_m


def value_text(row: SieveRow, kind: Kind) -> str:
    """A value for a message."""
    return f"{1000.0 * row.value:g} g" if kind.endswith("mass") else f"{100.0 * row.value:g} %"


def check_rows(
    rows: Sequence[SieveRow], kind: Kind, trouble: Trouble, *, all_read: bool = True
) -> None:
    """Note what is wrong with single rows and with their order.

    Where rows could not be read (``all_read`` false), nobody counts those that are left.
    """
    for row in rows:
        if not math.isfinite(row.value) or row.value < 0.0:
            trouble.add(
                "SIV-006",
                "a mass or percent on a sieve cannot be negative or endless",
                row=row,
                got=value_text(row, kind),
                allowed="0 or more",
                next="weigh again: was the empty sieve taken off the balance?",
            )
        elif kind.endswith("percent") and row.value > 1.0 + 1e-9:
            trouble.add(
                "SIV-007",
                "a percent cannot be over 100",
                row=row,
                got=value_text(row, kind),
                allowed="0 to 100 %",
                next="check the decimal point, or whether the column holds masses",
            )
    sieves = [r for r in rows if r.opening_m is not None]
    if len(sieves) < 2 and all_read:
        trouble.add(
            "SIV-010",
            "one sieve makes no grading curve" if sieves else "no sieve is given",
            got=f"{len(sieves)} sieve{'' if len(sieves) == 1 else 's'} and "
            f"{len(rows) - len(sieves)} pan",
            allowed="two sieves or more; five to eight tell much more",
            next="sieve through more sizes, or use the household meshes for a rough answer",
        )
    seen: dict[float, SieveRow] = {}
    for row in sieves:
        first = seen.setdefault(opening_of(row), row)
        if first is not row:
            trouble.add(
                "SIV-008",
                "this sieve is given twice",
                row=row,
                got=value_text(row, kind),
                allowed=f"once; first given {f'on line {first.line}' if first.line else 'before'}",
                next="delete one, or correct its opening",
            )
    if len(rows) - len(sieves) > 1:
        trouble.add("SIV-008", "the pan is given twice", row=rows[-1], next="delete one")
    _check_order(rows, trouble)


def _check_order(rows: Sequence[SieveRow], trouble: Trouble) -> None:
    sizes = [0.0 if r.opening_m is None else r.opening_m for r in rows]
    if len(sizes) < 3 or len(set(sizes)) < len(sizes):
        return
    falling = sum(a > b for a, b in pairwise(sizes))
    down = 2 * falling >= len(sizes) - 1
    for above, row in pairwise(rows):
        a, b = ((0.0 if r.opening_m is None else r.opening_m) for r in (above, row))
        if (a > b) != down:
            trouble.add(
                "SIV-009",
                "the sieves are not in order of size",
                row=row,
                got=f"{row.name} after {above.name}",
                allowed="coarsest first down to the pan, or finest first",
                next="look for a typing error in an opening; else put the rows in order",
            )
            return

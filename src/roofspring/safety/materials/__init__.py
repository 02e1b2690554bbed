"""What roofs, tanks and pipes give off, and what to do after smoke, spray, flood and paint."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from roofspring.errors.limits import known

Grade = Literal["usual", "ask", "wait", "doubtful", "avoid"]

GRADES: dict[Grade, str] = {
    "usual": "in common use; the caution still holds",
    "ask": "find out more, or test",
    "wait": "throw away the first rains",
    "doubtful": "test, or drink from another roof",
    "avoid": "not where people drink",
}
"""What each grade means. None of them says that water may be drunk."""


@dataclass(frozen=True)
class Material:
    """What a material gives off, and what to do about it.

    Attributes
    ----------
    material, part : str
        Its name, and where it is found: roof, flashing, paint, gutter, tank or pipe.
    plan_material : str
        The roof surface of that name in a plan; empty where a plan has none.
    touches : str
        Its name in ``touches`` of a roof, tank or pipe; empty where another field says it.
    grade, gives_off, advice, source, seen : str
    """

    material: str
    part: str
    plan_material: str
    touches: str
    grade: Grade
    gives_off: str
    advice: str
    source: str
    seen: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class Event:
    """Something that happens, and what to do."""

    event: str
    title: str
    advice: str
    source: str
    seen: str


def _rows(name: str) -> list[dict[str, str]]:
    text = resources.files(__name__).joinpath(f"tables/{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def materials() -> tuple[Material, ...]:
    """Every material, in the order of the file.

    >>> materials()[0].part
    'roof'
    """
    made = []
    for row in _rows("materials"):
        grade = next(g for g in GRADES if g == row["grade"])
        words = {k: v for k, v in row.items() if k != "grade"}
        made.append(Material(grade=grade, **words))
    return tuple(made)


@cache
def events() -> tuple[Event, ...]:
    """Smoke, spray, flood and the like, in the order of the file."""
    return tuple(Event(**row) for row in _rows("events"))


def roof_cautions(plan_material: str) -> tuple[Material, ...]:
    """Rows that speak against a roof surface of a plan; none for one in common use.

    >>> [m.grade for m in roof_cautions("asphalt-shingle")], roof_cautions("metal")
    (['doubtful'], ())
    """
    return tuple(
        m
        for m in materials()
        if m.plan_material == plan_material and m.grade in ("doubtful", "avoid")
    )


def touched(name: str) -> Material:
    """The row of a name in ``touches``.

    Parameters
    ----------
    name : str

    Returns
    -------
    Material

    Raises
    ------
    RangeError (DOM-004)
        A name that the table does not have.

    Examples
    --------
    >>> touched("bitumen").grade
    'avoid'
    """
    named = {m.touches: m for m in materials() if m.touches}
    known("material", name, named)
    return named[name]

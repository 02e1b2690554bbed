"""One value of a plan to change: named as a check names it, tried on a copy of the plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeVar

from roofspring.network.edits import revised, with_part, with_pipe
from roofspring.plan.model import Filter, Plan
from roofspring.plan.pieces import Block
from roofspring.units import UNIT_SETS, UnitSet, show

B = TypeVar("B", bound=Block)
Kind = Literal["height", "pipe", "rate", "area"]
DIGITS = {"height": 3, "pipe": 0, "rate": 2, "area": 2}
"""Decimals that a change is told with, so that what is told can be read off a rule."""


@dataclass(frozen=True)
class Change:
    """A single value to change, in SI, as it is told.

    ``where`` is such as ``raw.overflow``, ``feed-a.valve.shuts-at``, ``pipe.spill.size`` or
    ``sand.care.below``;
    ``kind`` says whether ``value`` is a height or a bore [m], a rate [m/s] or an area [m2].
    """

    verb: str
    where: str
    value: float
    kind: Kind = "height"

    def words(self, units: UnitSet) -> str:
        """The change as a person is told it."""
        text = show(self.value, self.kind, units=units, digits=_digits(self.kind, units))
        at_least = "at least " if self.kind == "pipe" else ""
        return f"{self.verb} {self.where} to {at_least}{text}"


def _digits(kind: Kind, units: UnitSet) -> int:
    return 2 if units == "us" and kind == "pipe" else DIGITS[kind]


def told(verb: str, where: str, value: float, *, units: UnitSet, kind: Kind = "height") -> Change:
    """A change whose value is rounded as it will be told, to the side on which it helps."""
    size = UNIT_SETS[units][kind][1] * 10.0 ** -_digits(kind, units)
    steps = value / size
    lowers = verb in ("lower", "set")
    whole = math.floor(steps + 1e-6) if lowers else math.ceil(steps - 1e-6)
    return Change(verb, where, whole * size, kind)


def changed(plan: Plan, where: str, value: float) -> Plan:
    """A copy of the plan with one value changed.

    Parameters
    ----------
    plan : Plan
    where : str
        As in `Change`.
    value : float
        In SI.

    Returns
    -------
    Plan

    Raises
    ------
    PlanError (PLN-051)
        The field does not take such a value.
    KeyError
        The plan has no such value.
    """
    pieces = where.split(".")
    if pieces[0] == "pipe":
        pieces = pieces[1:]
    name, field = pieces[0], pieces[1:]
    if name in plan.pipes and (len(field) == 2 or name not in dict(plan.parts())):
        pipe = plan.pipes[name]
        if field[0] == "valve":
            assert pipe.valve is not None
            return with_pipe(
                plan, name, revised(pipe, {"valve": _with(pipe.valve, field[1], value)})
            )
        return with_pipe(plan, name, _with(pipe, field[0], value))
    part = plan.part(name)
    outlets: Mapping[str, float] = getattr(part, "more_outlets", {})
    if field[0] in outlets:
        return with_part(plan, name, revised(part, {"more_outlets": {**outlets, field[0]: value}}))
    if field[0] == "care":
        assert isinstance(part, Filter)
        return with_part(plan, name, revised(part, {"care": _with(part.care, field[1], value)}))
    return with_part(plan, name, _with(part, field[0], value))


def _with(block: B, alias: str, value: float) -> B:
    """A copy of one table with the value that the file calls ``alias``."""
    for field, info in type(block).model_fields.items():
        if alias in (info.alias, field.removesuffix("_m")):
            return revised(block, {field: value})
    raise KeyError(alias)

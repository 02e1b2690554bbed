"""A plan with one thing in it changed: what faults and tried changes are made of.

A plan never changes; each function gives a new one. New values are in SI and must lie within the
limits of their field, as if they had stood in the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeVar, get_type_hints

from pydantic import TypeAdapter, ValidationError

from roofspring.errors import PlanError, Problem
from roofspring.plan.fields import allowed, reads_of, tables
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Part, Pipe, Plan
from roofspring.plan.pieces import Block

B = TypeVar("B", bound=Block)


def revised(block: B, values: Mapping[str, Any]) -> B:
    """A copy of one table of the plan with other values.

    Parameters
    ----------
    block : Block
        A part, a pipe, a valve and so on.
    values : mapping
        By attribute, in SI.

    Raises
    ------
    PlanError (PLN-051)
        A value that its field does not take.

    Examples
    --------
    >>> from roofspring.plan.pieces import Strainer
    >>> revised(Strainer(), {"blocked_frac": 0.5}).blocked_frac
    0.5
    """
    hints = get_type_hints(type(block), include_extras=True)
    for name, value in values.items():
        if not _takes(hints[name], value):
            reads = reads_of(hints[name])
            unit = reads.unit if reads is not None else ""
            got = f"{value:g} {unit}".strip() if isinstance(value, float) else repr(value)
            raise PlanError(
                Problem(
                    "PLN-051",
                    "outside what such a value can be",
                    where=type(block).model_fields[name].alias or name,
                    got=got,
                    allowed=allowed(hints[name]),
                    next="ask for less of a change",
                )
            )
    return block.model_copy(update=dict(values))


def _takes(annotation: Any, value: Any) -> bool:
    """Whether a field of the plan takes a value in SI."""
    reads = reads_of(annotation)
    if reads is not None and value is not None:
        return isinstance(value, float) and reads.low <= value <= reads.high
    try:
        TypeAdapter(annotation).validate_python(value)
    except ValidationError:
        return False
    return True


def with_part(plan: Plan, part_id: str, part: Part) -> Plan:
    """The plan with one part put in, or put in the place of the one of that id."""
    group = next(name for name, of in _groups() if isinstance(part, of))
    members: Mapping[str, Part] = getattr(plan, group)
    return plan.model_copy(update={group: {**members, part_id: part}})


def with_pipe(plan: Plan, pipe_id: str, pipe: Pipe) -> Plan:
    """The plan with one pipe put in, or put in the place of the one of that id."""
    return plan.model_copy(update={"pipes": {**plan.pipes, pipe_id: pipe}})


def without_pipe(plan: Plan, pipe_id: str) -> Plan:
    """The plan without one of its pipes."""
    return plan.model_copy(
        update={"pipes": {name: p for name, p in plan.pipes.items() if name != pipe_id}}
    )


def new_id(plan: Plan, wanted: str) -> str:
    """A name that no part and no pipe has yet."""
    taken = {part_id for part_id, _ in plan.parts()} | set(plan.pipes)
    name, number = wanted[:36], 1
    while name in taken:
        number += 1
        name = f"{wanted[:36]}-{number}"
    return name


def connection(plan: Plan, pipe_id: str) -> Connection:
    """Both ends of one pipe."""
    return next(c for c in connections(plan) if c.pipe_id == pipe_id)


def overflow_pipe(plan: Plan, part_id: str) -> tuple[str, Pipe] | None:
    """The pipe of a known size that leads the overflow of a tank or filter away."""
    for pipe_id, pipe in sorted(plan.pipes.items()):
        c = connection(plan, pipe_id)
        if (c.from_part, c.from_port) == (part_id, "overflow") and pipe.size_m is not None:
            return pipe_id, pipe
    return None


def _groups() -> Iterator[tuple[str, type[Block]]]:
    for name, info in Plan.model_fields.items():
        model = tables().get(info.alias or name)
        if model is not None and issubclass(model, Part):
            yield name, model

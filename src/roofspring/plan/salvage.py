"""The readable part of a plan that has bad values, so that the other checks can still be made."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from roofspring.plan.fields import part_groups
from roofspring.plan.lines import KeyPath
from roofspring.plan.model import Plan

_ROUNDS = 8
# Values that take the place of a required one that is missing or bad. No check looks at them.
_STAND_INS: dict[tuple[str, str], str] = {
    ("", "name"): "",
    ("roof", "area"): "1 m2",
    ("roof", "material"): "metal",
    ("filter", "area"): "1 m2",
    ("disinfection", "method"): "uv",
    ("source", "water"): "mains",
}


@dataclass(frozen=True)
class Salvage:
    """What could be read: the plan without the bad values, and the paths that were left out."""

    plan: Plan
    dropped: frozenset[KeyPath]
    part_ids: Mapping[str, tuple[str, ...]]
    """Every part id of the file, also of parts that could not be read, with its kinds."""
    outlet_names: Mapping[str, tuple[str, ...]]
    """The names of further outlets by tank, also of those with a bad height."""

    def whole(self, *path: str) -> bool:
        """Whether nothing was left out at a path, above it or below it."""
        return not any(path[: len(d)] == d[: len(path)] for d in self.dropped)


def salvage(raw: Mapping[str, Any]) -> Salvage | None:
    """Leave out what the model refuses until it accepts the rest; None when that does not end."""
    content: dict[str, Any] = deepcopy(dict(raw))
    dropped: set[KeyPath] = set()
    for _ in range(_ROUNDS):
        try:
            plan = Plan.model_validate(content)
        except ValidationError as error:
            for detail in error.errors():
                _mend(content, detail["loc"], dropped, missing=detail["type"] == "missing")
        else:
            return Salvage(plan, frozenset(dropped), _part_ids(raw), _outlet_names(raw))
    return None


def _mend(content: dict[str, Any], loc: KeyPath, dropped: set[KeyPath], *, missing: bool) -> None:
    path: list[str] = []
    for step in loc:
        if isinstance(step, int) or step == "[key]":
            break
        path.append(step)
    if missing:
        table = path[0] if len(path) == 3 else ""
        stand_in = _STAND_INS.get((table, path[-1])) if len(path) in (1, 3) else None
        if stand_in is not None:
            holder = _holder(content, path)
            if holder is not None:
                holder[path[-1]] = stand_in
            dropped.add(tuple(path))
            return
        path = path[:-1]
    holder = _holder(content, path)
    if holder is not None:
        holder.pop(path[-1], None)
    dropped.add(tuple(path))


def _holder(content: dict[str, Any], path: list[str]) -> dict[str, Any] | None:
    if not path:
        return None
    here: Any = content
    for step in path[:-1]:
        here = here.get(step) if isinstance(here, dict) else None
    return here if isinstance(here, dict) else None


def _part_ids(raw: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for kind in part_groups():
        group = raw.get(kind)
        for part_id in group if isinstance(group, dict) else ():
            found[part_id] = (*found.get(part_id, ()), kind)
    return found


def _outlet_names(raw: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
    tanks = raw.get("tank")
    found = {}
    for part_id, tank in tanks.items() if isinstance(tanks, dict) else ():
        more = tank.get("more-outlets") if isinstance(tank, dict) else None
        found[part_id] = tuple(more) if isinstance(more, dict) else ()
    return found

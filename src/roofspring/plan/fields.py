"""The plan model looked at from outside: its tables, their fields, and each field in words."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BeforeValidator

from roofspring.plan.hygiene import Cover
from roofspring.plan.model import Plan
from roofspring.plan.money import Replacement
from roofspring.plan.outdoors import Growing, Outfall, Shelter, Soak, Stand
from roofspring.plan.pieces import Block, Care, Gutter, Skin, Strainer, Valve
from roofspring.plan.quantities import Reads
from roofspring.units import UnitSet, written

SINGLE_TABLES = ("site", "rain", "normals", "run", "money")
NOT_PARTS = ("pipe", "source", "use", "neighbour", "price")
LISTS = ("price.replacements",)
"""Tables that stand as rows of a list inside another."""


@dataclass(frozen=True)
class Field:
    """One key that a table of the plan file may hold."""

    table: str
    """``site``, ``tank``, ``pipe.valve`` and so on; empty for the top of the file."""
    key: str
    name: str
    """The name of the attribute that holds it."""
    about: str
    allowed: str
    unit: str
    """The SI unit of the value, empty where it has none or is not a quantity."""
    required: bool
    default: Any
    """The value that stands in; None where none does, or where it is derived or required."""
    source: str
    derived: str
    annotation: Any
    """The type in the model, as written there."""

    def show(self, value: Any, units: UnitSet = "metric") -> str:
        """A value of this field as a person would write it in the file."""
        return _shown(value, self.annotation, units)


@cache
def tables() -> Mapping[str, type[Block]]:
    """Every table by its name in the file, in the order of the model."""
    found: dict[str, type[Block]] = {"": Plan}
    hints = get_type_hints(Plan, include_extras=True)
    for name, info in Plan.model_fields.items():
        for candidate in (hints[name], *get_args(hints[name])):
            if isinstance(candidate, type) and issubclass(candidate, Block):
                found[info.alias or name] = candidate
    found["roof.gutter"] = Gutter
    found["filter.skin"] = Skin
    found["filter.care"] = Care
    found["tank.cover"] = Cover
    found["tank.stand"] = Stand
    found["tank.shelter"] = found["filter.shelter"] = found["pipe.shelter"] = Shelter
    found["swale.soak"] = Soak
    found["use.growing"] = Growing
    found["pipe.valve"] = Valve
    found["pipe.strainer"] = Strainer
    found["pipe.outfall"] = Outfall
    found["price.replacements"] = Replacement
    return found


@cache
def fields_of(table: str) -> Mapping[str, Field]:
    """The fields of one table by their key in the file."""
    found = {}
    hints = get_type_hints(tables()[table], include_extras=True)
    for name, info in tables()[table].model_fields.items():
        key = info.alias or name
        extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        reads = reads_of(hints[name])
        found[key] = Field(
            table=table,
            key=key,
            name=name,
            about=info.description or "",
            allowed=allowed(hints[name]),
            unit=reads.unit if reads else "",
            required=info.is_required(),
            default=None if info.is_required() else info.get_default(),
            source=str(extra.get("source", "")),
            derived=str(extra.get("derived", "")),
            annotation=hints[name],
        )
    return found


def table_names() -> tuple[str, ...]:
    """The tables that stand at the top of the file: site, rain, run and the like, and each kind."""
    return tuple(name for name in tables() if name and "." not in name)


def is_group(table: str) -> bool:
    """Whether a top table holds named things, as in ``[tank.raw]``."""
    return table in table_names() and table not in SINGLE_TABLES


def table_at(path: tuple[str | int, ...]) -> str | None:
    """The name of the table that a key path leads into, or None when it leads to no table."""
    if path and isinstance(path[-1], int):
        listed = table_at(path[:-1])
        return listed if listed in LISTS else None
    words = [part for part in path if isinstance(part, str)]
    if len(words) != len(path):
        return None
    if not words:
        return ""
    top, *rest = words
    if top in SINGLE_TABLES:
        return top if not rest else None
    if not is_group(top) or not rest:
        return None
    if len(rest) == 1:
        return top
    deeper = f"{top}.{rest[1]}"
    return deeper if len(rest) == 2 and deeper in tables() else None


def fixed_names(group: str) -> tuple[str, ...]:
    """The names that the things of a group must bear; none where a name is free."""
    args = get_args(fields_of("")[group].annotation)
    return get_args(args[0]) if args and get_origin(args[0]) is Literal else ()


def part_groups() -> tuple[str, ...]:
    """The kinds of part, as tables: roof, screen, tank and so on, without pipes and uses."""
    return tuple(name for name in table_names() if is_group(name) and name not in NOT_PARTS)


def allowed(annotation: Any) -> str:
    """What a field accepts, in words."""
    origin, args = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _allowed_annotated(args[0], args[1:])
    if _is_union(annotation):
        return allowed(args[0])
    if origin is Literal:
        words = [f'"{a}"' if isinstance(a, str) else str(a) for a in args]
        return words[0] if len(words) == 1 else "one of " + ", ".join(words)
    if origin is tuple and _is_block(args[0]):
        table = next(name for name, model in tables().items() if model is args[0])
        keys = ", ".join(f"{key} = ..." for key in fields_of(table))
        return f"a list of rows in braces, like [{{ {keys} }}]"
    if origin is tuple and args[1] is Ellipsis:
        return f"a list; each item {allowed(args[0])}"
    if origin is tuple:
        return f"a pair of {allowed(args[0])} and {allowed(args[1])}"
    if origin is Mapping:
        return "a table of names" if _is_block(args[1]) else f"names, each with {allowed(args[1])}"
    return "a table"


def _allowed_annotated(kind: Any, metadata: tuple[Any, ...]) -> str:
    for meta in metadata:
        if isinstance(meta, BeforeValidator) and isinstance(meta.func, Reads):
            return meta.func.allowed
    limits: dict[str, Any] = {}
    for meta in metadata:
        for item in getattr(meta, "metadata", None) or (meta,):
            for name in ("ge", "le", "pattern", "max_length"):
                if getattr(item, name, None) is not None:
                    limits[name] = getattr(item, name)
    if kind is bool:
        return "true or false"
    if kind is int:
        return f"a whole number from {limits['ge']:,} to {limits['le']:,}"
    if "max_length" in limits:
        return f"text in quotes, at most {limits['max_length']} characters"
    if r"\." in limits["pattern"]:
        return 'a part, or a part and one of its openings, in quotes, like "raw.outlet"'
    return "a name of small letters, digits and hyphens, a letter first, at most 40"


def reads_of(annotation: Any) -> Reads | None:
    """The quantity reader inside a field's type, or None for what is not a quantity."""
    args = get_args(annotation)
    if get_origin(annotation) is Annotated:
        for meta in args[1:]:
            if isinstance(meta, BeforeValidator) and isinstance(meta.func, Reads):
                return meta.func
        return None
    if get_origin(annotation) is Mapping:
        return reads_of(args[1])
    return reads_of(args[0]) if args else None


def _is_union(annotation: Any) -> bool:
    return get_origin(annotation) in (Union, types.UnionType)


def _is_block(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, Block)


def _shown(value: Any, annotation: Any, units: UnitSet) -> str:
    args = get_args(annotation)
    if _is_union(annotation):
        annotation, args = args[0], get_args(args[0])
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        reads = reads_of(annotation)
        assert reads is not None
        return written(value, to=reads.unit, units=units, digits=reads.digits)
    if isinstance(value, tuple):
        kinds = (args[0],) * len(value) if args[1:] == (Ellipsis,) else args
        items = [_shown(v, kind, units) for v, kind in zip(value, kinds, strict=True)]
        if _is_block(kinds[0] if kinds else None):
            items = [f"{{ {item} }}" for item in items]
        if not items:
            return "none"
        if len(items) > 2 and len(set(items)) == 1:
            return f"{len(items)} times {items[0]}"
        return "[" + ", ".join(items) + "]"
    if isinstance(value, Mapping):
        return ", ".join(f"{k} = {_shown(v, args[1], units)}" for k, v in value.items()) or "none"
    if isinstance(value, Block):
        table = next(name for name, model in tables().items() if model is type(value))
        given = {f.key: f for f in fields_of(table).values() if f.name in value.model_fields_set}
        return ", ".join(f"{k} = {f.show(getattr(value, f.name), units)}" for k, f in given.items())
    return str(value)

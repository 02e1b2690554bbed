"""What the model refuses, told as problems: unknown keys, missing keys, values of a wrong kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from roofspring.errors import Problem
from roofspring.errors.names import did_you_mean
from roofspring.plan.fields import (
    Field,
    fields_of,
    fixed_names,
    is_group,
    table_at,
    table_names,
)
from roofspring.plan.lines import KeyPath
from roofspring.plan.plantext import PlanText
from roofspring.plan.quantities import ValueRefused

_CONTAINER_TYPES = ("model_type", "mapping_type", "dict_type", "model_attributes_type")
_LIMIT_TYPES = ("greater_than_equal", "less_than_equal")


def shape_problems(error: ValidationError, text: PlanText) -> Iterable[Problem]:
    """One problem for each thing that the model refused."""
    for detail in error.errors():
        yield _problem(detail, text)


def _problem(detail: ErrorDetails, text: PlanText) -> Problem:
    path, kind = detail["loc"], detail["type"]
    if path and path[-1] == "[key]":
        return _bad_name(path[:-1], text)
    if kind == "extra_forbidden":
        return _unknown(path, text, value=detail["input"])
    if kind == "missing":
        return _missing(path, text)
    if kind in _CONTAINER_TYPES:
        return _not_a_table(path, text)
    field = _field(path)
    allowed = field.allowed if field else ""
    refused = detail.get("ctx", {}).get("error")
    if isinstance(refused, ValueRefused):
        return text.problem(
            "PLN-013", path, refused.what, allowed=refused.allowed, next_step=refused.next_step
        )
    if kind == "literal_error":
        choices = _choices(field)
        step = did_you_mean(str(detail["input"]), choices, otherwise="write one of these words")
        return text.problem(
            "PLN-014", path, "not one of the choices", allowed=allowed, next_step=step
        )
    if kind in _LIMIT_TYPES:
        what, step = "outside what such a value can be", "check the number"
        return text.problem("PLN-013", path, what, allowed=allowed, next_step=step)
    what, step = "this kind of value does not belong here", "write it as described"
    return text.problem("PLN-015", path, what, allowed=allowed, next_step=step)


def _field(path: KeyPath) -> Field | None:
    """The field a path lies in: the longest leading part of it that names one."""
    for depth in range(len(path), 0, -1):
        table, key = table_at(path[: depth - 1]), path[depth - 1]
        if table is not None and isinstance(key, str) and key in fields_of(table):
            return fields_of(table)[key]
    return None


def _choices(field: Field | None) -> tuple[str, ...]:
    annotation: Any = field.annotation if field else None
    for candidate in (annotation, *get_args(annotation)):
        if get_origin(candidate) is Literal:
            return tuple(str(choice) for choice in get_args(candidate))
    return ()


def _bad_name(path: KeyPath, text: PlanText) -> Problem:
    names = fixed_names(str(path[0])) if len(path) == 2 else ()
    if names:
        return text.problem(
            "PLN-014",
            path,
            f"a {path[0]} can be of these things only",
            got=str(path[-1])[:60],
            allowed=", ".join(names),
            next_step=did_you_mean(str(path[-1]), names, otherwise="use one of these names"),
        )
    return text.problem(
        "PLN-016",
        path,
        "this name cannot be used",
        got=str(path[-1])[:60],
        allowed="small letters, digits and hyphens, a letter first, at most 40",
        next_step='rename it, for example "raw-tank"',
    )


def _unknown(path: KeyPath, text: PlanText, *, value: object) -> Problem:
    word = str(path[-1])
    table = table_at(path[:-1]) or ""
    keys = tuple(fields_of(table)) if len(path) > 1 or not isinstance(value, Mapping) else ()
    if not keys:
        names = table_names()
        step = did_you_mean(word, names, otherwise="remove it, or use one of these tables")
        return text.problem(
            "PLN-011",
            path,
            "the plan has no table of this name",
            got=word[:60],
            allowed=", ".join(names),
            next_step=step,
        )
    step = did_you_mean(word, keys, otherwise="remove it, or use one of these keys")
    return text.problem(
        "PLN-010",
        path,
        "this key is not known here",
        got=word[:60],
        allowed=", ".join(keys),
        next_step=step,
    )


def _missing(path: KeyPath, text: PlanText) -> Problem:
    field = _field(path)
    in_row = any(isinstance(step, int) for step in path)
    return text.problem(
        "PLN-012",
        path,
        "this must be given" + (f": {field.about[:1].lower() + field.about[1:]}" if field else ""),
        allowed=field.allowed if field else "",
        next_step=f"write {path[-1]} = ... inside the braces of this row"
        if in_row
        else f"add a line that starts with {path[-1]} =",
    )


def _not_a_table(path: KeyPath, text: PlanText) -> Problem:
    top = str(path[0])
    if is_group(top) and len(path) <= 2:
        what = f"a {top} needs a name of its own"
        names = fixed_names(top)
        choice = f"NAME being {' or '.join(names)}" if names else "with a name of your choice"
        step = f"head its lines with [{top}.NAME], {choice}"
    elif isinstance(path[-1], int):
        what, step = "a row in braces belongs here", "write { key = value, key = value }"
    else:
        what, step = (
            "a table belongs here",
            f"write [{'.'.join(str(p) for p in path)}] and its keys",
        )
    return text.problem("PLN-015", path, what, allowed="a table", next_step=step)

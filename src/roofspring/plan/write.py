"""Change one value of a plan file; comments, order and blank lines stay."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import tomlkit
from tomlkit.exceptions import TOMLKitError

from roofspring.errors import PlanError, Problem
from roofspring.files import write_text_atomic
from roofspring.plan.explain import explain
from roofspring.plan.fields import Field, fields_of, reads_of, table_at
from roofspring.plan.read import LoadedPlan, read_text


def set_value(loaded: LoadedPlan, name: str, value: str) -> str:
    """The text of a plan with one value changed or added.

    Parameters
    ----------
    loaded : LoadedPlan
    name : str
        As in `roofspring.plan.explain.explain`, like ``raw.overflow``.
    value : str
        As a person would say it: ``1.30 m``, ``90 %``, ``3``, ``true``; for a list or a table, its
        TOML text, like ``'["kitchen", "yard"]'``.

    Returns
    -------
    str
        The new text. It reads as a plan that differs in this value only.

    Raises
    ------
    PlanError
        PLN-050: there is no such value. PLN-051: it cannot be written at this place. Any other PLN
        code: the plan would no longer hold together.
    """
    where = explain(loaded, name).where
    path = where.split(".")
    table = table_at(tuple(path[:-1])) or ""
    content = _content(fields_of(table)[path[-1]], value, where)
    wanted = _expected(loaded.text, path, content)
    text = _added(loaded, path, content)
    if text is None or _content_of(text) != wanted:
        text = _changed(loaded.text, path, content, where)
    if _content_of(text) != wanted:
        raise _cannot(where, "the file is laid out in a way that this change would disturb")
    return read_text(text, path=loaded.path).text


def save(path: Path, text: str) -> None:
    """Write a plan file whole or not at all.

    Parameters
    ----------
    path : Path
        The file. Its folder must be there.
    text : str
        Must read as a plan.

    Raises
    ------
    PlanError
        Its problems, where the text does not read as a plan.
    OutputError
        OUT-001: the file could not be written. The old file then stays as it was.
    """
    read_text(text, path=path)
    write_text_atomic(path, text)


def _content(field: Field, value: str, where: str) -> Any:
    """The value as it goes into the file: text stays text where the field takes text."""
    if _takes_text(field.annotation) and not _is_number(field, value):
        return value
    try:
        parsed = tomllib.loads(f"x = {value}\n")
        if len(parsed) > 1:
            raise ValueError("more than one value")
        return parsed["x"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        problem = Problem(
            "PLN-051",
            "this is not such a value",
            where=where,
            got=value[:80],
            allowed=field.allowed,
            next="write it as it would stand in the file",
        )
        raise PlanError(problem) from error


def _is_number(field: Field, value: str) -> bool:
    """Whether a share or factor is given as a plain number, which then stands without quotes."""
    plain = reads_of(field.annotation) is not None and not field.unit
    return plain and re.fullmatch(r"[0-9]+(\.[0-9]+)?", value) is not None


def _takes_text(annotation: Any) -> bool:
    """Whether a text is put in quotes: quantities, words and names."""
    origin, args = get_origin(annotation), get_args(annotation)
    if type(None) in args:
        return _takes_text(args[0])
    if origin is Literal:
        return isinstance(args[0], str)
    return bool(args) and args[0] in (str, float)


def _added(loaded: LoadedPlan, path: list[str], content: Any) -> str | None:
    """The text with a new line under the last key of the table; None where that is not the case."""
    places = loaded.source.places
    if tuple(path) in places:
        return None
    *way, key = path
    entry = f"{key} = {tomlkit.item(content).as_string()}"
    if way and tuple(way) not in places:
        if len(way) == 1:
            return loaded.text.rstrip("\n") + f"\n\n[{way[0]}]\n{entry}\n"
        entry = f"{way.pop()} = {{ {entry} }}"
    holder = tuple(way)
    last = max(
        (
            place.line + place.text.count("\n")
            for other, place in places.items()
            if other[:-1] == holder and place.text
        ),
        default=loaded.source.line(holder) or 0,
    )
    lines = loaded.text.split("\n")
    return "\n".join([*lines[:last], entry, *lines[last:]])


def _content_of(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _changed(text: str, path: list[str], content: Any, where: str) -> str:
    try:
        document = tomlkit.parse(text)
        if document.as_string() != text:
            raise _cannot(where, "the file holds something that would not be kept as it is")
        holder: Any = document
        for step in path[:-1]:
            if step not in holder:
                holder[step] = tomlkit.table()
            holder = holder[step]
        holder[path[-1]] = content
        return document.as_string()
    except (TOMLKitError, TypeError, KeyError, ValueError, AttributeError) as error:
        raise _cannot(where, "the file is laid out in a way that cannot be changed here") from error


def _expected(text: str, path: list[str], content: Any) -> dict[str, Any]:
    wanted = tomllib.loads(text)
    holder = wanted
    for step in path[:-1]:
        holder = holder.setdefault(step, {})
    holder[path[-1]] = content
    return wanted


def _cannot(where: str, what: str) -> PlanError:
    return PlanError(
        Problem("PLN-051", what, where=where, next="change this value by hand in a text editor")
    )

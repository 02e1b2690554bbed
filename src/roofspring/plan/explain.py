"""Where each value of a plan comes from: the file, a default with its source, or other values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from roofspring.errors import PlanError, Problem
from roofspring.errors.names import did_you_mean
from roofspring.plan.fields import (
    LISTS,
    NOT_PARTS,
    SINGLE_TABLES,
    Field,
    fields_of,
    is_group,
    table_names,
    tables,
)
from roofspring.plan.pieces import Block
from roofspring.plan.read import LoadedPlan
from roofspring.sources import NOT_SAID

Origin = Literal["given", "default", "derived", "not given"]


@dataclass(frozen=True)
class Explanation:
    """One value of a plan, and the reason why it is what it is."""

    where: str
    """Full path, like ``tank.raw.overflow``."""
    about: str
    value: Any
    """SI float, text, list or table as the model holds it; None where there is none."""
    unit: str
    """SI unit of the value, empty for text, shares and counts."""
    text: str
    """The value in the plan's units; for a derived one, in words how it is found."""
    origin: Origin
    line: int | None
    """Line of the file, where the value is given."""
    as_written: str
    source: str
    """Bibliography key or plain statement behind a default."""
    allowed: str


def explain(loaded: LoadedPlan, name: str) -> Explanation:
    """Explain one value of a plan.

    Parameters
    ----------
    loaded : LoadedPlan
    name : str
        ``raw.overflow`` or ``tank.raw.overflow``; ``site.people``; ``pipe.feed.size`` or
        ``feed.size``; ``pipe.feed.valve.kv``. A name without its kind means a part, else a pipe,
        else a use.

    Returns
    -------
    Explanation

    Raises
    ------
    PlanError
        PLN-050: the plan has no such value.
    """
    table, holder, block, key = locate(loaded, name)
    field = fields_of(table).get(key)
    if field is None:
        raise _unknown(
            name, key, tuple(fields_of(table)), f"{holder or 'the plan'} has no key {key}"
        )
    return _explained(loaded, holder, block, field)


def all_fields(loaded: LoadedPlan) -> tuple[Explanation, ...]:
    """Every value of the site, the rain, the run, and of every part, pipe and use.

    Parameters
    ----------
    loaded : LoadedPlan

    Returns
    -------
    tuple of Explanation
        In the order of the model, things of one kind by id. A valve or strainer that the plan does
        not have is one entry; one that it has is told key by key.
    """
    return tuple(_all_fields(loaded))


def locate(loaded: LoadedPlan, name: str) -> tuple[str, str, Block | None, str]:
    """The table, its path in the file, its block if the plan has it, and the key a name means.

    Raises
    ------
    PlanError
        PLN-050: the name leads to no table of the plan.
    """
    *way, key = name.strip().split(".")
    if not way:
        return "", "", loaded.plan, key
    top = way[0]
    if top in SINGLE_TABLES and len(way) == 1:
        return top, top, _attribute(loaded.plan, "", top), key
    if is_group(top) and len(way) >= 2:
        kind, item, deeper = top, way[1], way[2:]
    else:
        kind, item, deeper = _kind_of(loaded, name, top), top, way[1:]
    group: Mapping[str, Block] = _attribute(loaded.plan, "", kind)
    if item not in group:
        raise _unknown(name, item, tuple(group), f"the plan has no {kind} called {item}")
    block: Block | None = group[item]
    path = f"{kind}.{item}"
    if not deeper:
        return kind, path, block, key
    table = f"{kind}.{deeper[0]}"
    inner = [t for t in tables() if t not in LISTS]
    if len(deeper) > 1 or table not in inner:
        keys = tuple(t.partition(".")[2] for t in inner if t.startswith(f"{kind}."))
        raise _unknown(name, deeper[0], keys, f"{path} has no table {'.'.join(deeper)}")
    return table, f"{path}.{deeper[0]}", _attribute(block, kind, deeper[0]), key


def _kind_of(loaded: LoadedPlan, name: str, item: str) -> str:
    kinds = [kind for kind in table_names() if is_group(kind)]
    kinds.sort(key=lambda k: NOT_PARTS.index(k) + 1 if k in NOT_PARTS else 0)  # parts first
    everything = {kind: tuple(_attribute(loaded.plan, "", kind)) for kind in kinds}
    for kind in kinds:
        if item in everything[kind]:
            return kind
    options = [*SINGLE_TABLES, *(i for ids in everything.values() for i in ids)]
    raise _unknown(name, item, tuple(options), f"the plan has nothing called {item}")


def _attribute(block: Any, table: str, key: str) -> Any:
    return getattr(block, fields_of(table)[key].name) if block is not None else None


def _unknown(name: str, word: str, options: tuple[str, ...], what: str) -> PlanError:
    return PlanError(
        Problem(
            "PLN-050",
            what,
            got=name[:80],
            allowed=", ".join(options),
            next=did_you_mean(word, options, otherwise="write it as part.key"),
        )
    )


def _explained(loaded: LoadedPlan, holder: str, block: Block | None, field: Field) -> Explanation:
    where = f"{holder}.{field.key}" if holder else field.key
    value = getattr(block, field.name) if block is not None else field.default
    is_given = block is not None and field.name in block.model_fields_set
    if is_given:
        origin: Origin = "given"
        text = field.show(value, loaded.plan.show)
    elif field.derived == NOT_SAID:
        origin, text = "not given", NOT_SAID
    elif field.derived:
        origin, text = "derived", field.derived
    elif value is None:
        origin, text = "not given", "not given"
    else:
        origin, text = "default", field.show(value, loaded.plan.show)
    return Explanation(
        where=where,
        about=field.about,
        value=value,
        unit=field.unit,
        text=text,
        origin=origin,
        line=loaded.source.line(tuple(where.split("."))) if is_given else None,
        as_written=loaded.raw(where) if is_given else "",
        source="" if is_given else field.source,
        allowed=field.allowed,
    )


def _all_fields(loaded: LoadedPlan) -> Iterator[Explanation]:
    plan = loaded.plan
    top = fields_of("")
    for key, field in top.items():
        if key not in table_names():
            yield _explained(loaded, "", plan, field)
    for table in table_names():
        content = _attribute(plan, "", table)
        blocks = sorted(content.items()) if is_group(table) else [("", content)]
        for item, block in blocks:
            if block is None:  # a table that the plan need not have
                continue
            yield from _block_fields(loaded, table, f"{table}.{item}" if item else table, block)


def _block_fields(
    loaded: LoadedPlan, table: str, holder: str, block: Block
) -> Iterator[Explanation]:
    for key, field in fields_of(table).items():
        inner = f"{table}.{key}"
        inner_block = getattr(block, field.name)
        if inner in tables() and inner not in LISTS and inner_block is not None:
            yield from _block_fields(loaded, inner, f"{holder}.{key}", inner_block)
        else:
            yield _explained(loaded, holder, block, field)

"""One height over another: how a check is made, and which single values would mend it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roofspring.network.heights import lip_height_m
from roofspring.network.levels.changes import Change, told
from roofspring.network.levels.checks import LevelCheck
from roofspring.plan.graph import Connection
from roofspring.plan.model import Part, Swale
from roofspring.units import UnitSet

HOLDS_M = 1e-9
"""What rounding may take from a margin."""


@dataclass(frozen=True)
class Height:
    """One height of the plan by name, such as ``raw.overflow``."""

    name: str
    value_m: float | None


def pair(
    code: str,
    what: str,
    upper: Height,
    lower: Height,
    need_m: float,
    state: str,
    source: str,
    *,
    units: UnitSet,
    move: Height | None = None,
    more: Sequence[Change] = (),
    fixed: Sequence[str] = (),
) -> Iterator[LevelCheck]:
    """One check that ``upper`` stands ``need_m`` over ``lower``.

    Either height may be changed to mend it: ``move`` first, else the upper one; none that is named
    in ``fixed``. ``more`` are other single changes, tried before. None is made for a line that
    the plan has shut: no height would help, and LVL-018 says so.
    """
    if math.isinf(need_m) and need_m > 0.0 and not more:
        return
    where = f"{upper.name} over {lower.name}"
    missing = tuple(h.name for h in (upper, lower) if h.value_m is None)
    if upper.value_m is None or lower.value_m is None:
        if len(missing) == 1:  # with both left out the part is simply not described yet
            yield LevelCheck(
                code, what, where, state, None, need_m, None, None, source, missing=missing
            )
        return
    have_m = upper.value_m - lower.value_m
    margin_m = have_m - need_m
    ok = margin_m >= -HOLDS_M
    options: list[Change] = []
    if not ok and math.isfinite(need_m):
        lowers = told("lower", lower.name, upper.value_m - need_m, units=units)
        raises = told("raise", upper.name, lower.value_m + need_m, units=units)
        both = [raises, lowers] if move is None or move.name == upper.name else [lowers, raises]
        options = [c for c in both if c.where not in fixed]
    options = [] if ok else [*more, *options]
    first = options[0] if options else None
    yield LevelCheck(
        code,
        what,
        where,
        state,
        have_m,
        need_m,
        margin_m,
        ok,
        source,
        change="" if first is None else first.words(units),
        change_where="" if first is None else first.where,
        change_to_m=first.value if first and first.kind in ("height", "pipe") else None,
        options=tuple(options),
        upper_m=upper.value_m,
        lower_m=lower.value_m,
    )


def ends_of(c: Connection, parts: dict[str, Part]) -> tuple[Height, Height]:
    """The heights at both ends of a pipe: where its water leaves, and where it comes in."""
    upper, lower = parts[c.from_part], parts[c.to_part]
    from_m = lip_height_m(upper) if c.from_port == "overflow" else upper.height_m(c.from_port)
    to_name = f"{c.to_part}.rim" if isinstance(lower, Swale) else f"{c.to_part}.{c.to_port}"
    return (
        Height(f"{c.from_part}.{c.from_port}", from_m),
        Height(to_name, lower.height_m(c.to_port)),
    )

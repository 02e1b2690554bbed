"""Pipes across the sheet: level where they can, never uphill unless the plan makes them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Filter, Plan, Roof
from roofspring.report._layout import Placed
from roofspring.report._svg import Box

Point = tuple[float, float]

THROUGH_BODY = 160.0
THROUGH_TEXT = 70.0
ALONG_PIPE = 240.0
ACROSS_PIPE = 14.0
BEND = 7.0


@dataclass(frozen=True)
class Route:
    """One pipe on the sheet."""

    connection: Connection
    points: tuple[Point, ...]
    water: str

    @property
    def length_px(self) -> float:
        """Length on the sheet."""
        return sum(abs(xb - xa) + abs(yb - ya) for (xa, ya), (xb, yb) in pairwise(self.points))

    @property
    def drop(self) -> tuple[Point, Point]:
        """The last stretch, down into the part it feeds."""
        return self.points[-2], self.points[-1]


def water_kinds(plan: Plan) -> tuple[dict[str, str], dict[str, str]]:
    """What flows in each part and each pipe: ``raw``, ``filtered``, ``mixed`` or ``none``.

    Water counts as filtered after the outlet of a sand filter. A part that raw water reaches as
    well holds mixed water.
    """
    parts = dict(plan.parts())
    joined = [c for c in connections(plan) if c.from_part in parts and c.to_part in parts]
    holds: dict[str, set[str]] = {
        p: {"raw"} if isinstance(part, Roof) else set() for p, part in parts.items()
    }
    changed = True
    while changed:
        changed = False
        for c in joined:
            new = _leaves(c, parts, holds) - holds[c.to_part]
            holds[c.to_part] |= new
            changed = changed or bool(new)
    return (
        {p: _word(kinds) for p, kinds in holds.items()},
        {c.pipe_id: _word(_leaves(c, parts, holds)) for c in joined},
    )


def _leaves(c: Connection, parts: Mapping[str, object], holds: Mapping[str, set[str]]) -> set[str]:
    if isinstance(parts[c.from_part], Filter) and c.from_port == "outlet":
        return {"filtered"} if holds[c.from_part] else set()
    return holds[c.from_part]


def _word(kinds: set[str]) -> str:
    return "mixed" if len(kinds) > 1 else next(iter(kinds), "none")


def routes(plan: Plan, placed: Mapping[str, Placed]) -> tuple[Route, ...]:
    """Lay every pipe, the shortest first, each around what is there already.

    The longest comes first in the answer: painted in that order, no branch of a tee is cut.
    """
    joined = [c for c in connections(plan) if c.from_part in placed and c.to_part in placed]
    _, waters = water_kinds(plan)
    entries = _entries(joined, placed)

    def reach(c: Connection) -> tuple[float, str]:
        start, end = placed[c.from_part], placed[c.to_part]
        return (
            abs(entries[c.pipe_id] - start.box.x1) + abs(end.y("inlet") - start.y("outlet")),
            c.pipe_id,
        )

    bodies = [p.box for p in placed.values()]
    texts = [b for p in placed.values() for b in p.boxes]
    made: list[Route] = []
    for c in sorted(joined, key=reach):
        start, end = placed[c.from_part], placed[c.to_part]
        first = (start.box.x1, start.y(c.from_port))
        last = (entries[c.pipe_id], end.y(c.to_port))
        others = [b for b in bodies if b.what not in (c.from_part, c.to_part)]
        laid = [s for r in made if not _shares_end(c, r.connection) for s in _stretches(r.points)]
        best: tuple[Point, ...] = ()
        least = math.inf
        for option in _options(first, last):
            cost = _cost(option, bodies=others, texts=texts, laid=laid, end=end, most=least)
            if cost < least:
                best, least = option, cost
        made.append(Route(c, best, waters[c.pipe_id]))
    return tuple(sorted(made, key=lambda r: (-r.length_px, r.connection.pipe_id)))


def _entries(joined: Sequence[Connection], placed: Mapping[str, Placed]) -> dict[str, float]:
    """Where each pipe comes down into the part it feeds: side by side."""
    entries = {}
    for part_id, part in placed.items():
        arriving = sorted(
            (c for c in joined if c.to_part == part_id),
            key=lambda c: (placed[c.from_part].box.x1, c.pipe_id),
        )
        room = part.box.x1 - 3.0 - part.inlet_x
        step = min(11.0, room / max(1, len(arriving)))
        for k, c in enumerate(arriving):
            entries[c.pipe_id] = part.inlet_x + step * k
    return entries


def _options(first: Point, last: Point) -> list[tuple[Point, ...]]:
    (xs, ys), (xe, ye) = first, last
    made: list[tuple[Point, ...]] = []
    if xe > xs and ye >= ys:
        made.append(((xs, ys), (xe, ys), (xe, ye)))
    levels = []
    if ye > ys + 16.0:
        steps = max(2, min(30, int((ye - ys - 8.0) / 7.0)))
        levels = [ys + (ye - 8.0 - ys) * k / steps for k in range(1, steps + 1)]
    elif ye >= ys:
        levels = [0.5 * (ys + ye)]
    else:
        levels = [ye - 12.0 - 7.0 * k for k in range(4)]
    for k in range(5):
        lane = xs + 7.0 + 6.0 * k
        made.extend(((xs, ys), (lane, ys), (lane, y), (xe, y), (xe, ye)) for y in levels)
    return made


@dataclass(frozen=True)
class _Stretch:
    """One straight piece of a pipe."""

    box: Box
    is_upright: bool


def _stretches(points: tuple[Point, ...]) -> list[_Stretch]:
    return [
        _Stretch(Box(min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb)), xa == xb)
        for (xa, ya), (xb, yb) in pairwise(points)
    ]


def _cost(
    points: tuple[Point, ...],
    *,
    bodies: Sequence[Box],
    texts: Sequence[Box],
    laid: Sequence[_Stretch],
    end: Placed,
    most: float,
) -> float:
    """What a way costs, or what was summed when it came to ``most``: it only grows."""
    cost = BEND * len(points)
    for stretch in _stretches(points):
        line = stretch.box
        cost += 0.05 * (line.x1 - line.x0 + line.y1 - line.y0)
        cost += THROUGH_BODY * sum(line.hits(b, gap=4.0) for b in bodies)
        cost += THROUGH_TEXT * sum(line.hits(b) for b in texts)
        if line.y0 == line.y1 and line.hits(end.box) and line.x1 > end.box.x0 + 2.0:
            cost += 30.0
        for other in laid:
            if line.hits(other.box, gap=3.0):
                cost += ALONG_PIPE if stretch.is_upright == other.is_upright else ACROSS_PIPE
        if cost >= most:
            break
    return cost


def _shares_end(a: Connection, b: Connection) -> bool:
    """Pipes of one tee may run together."""
    return (a.from_part, a.from_port) == (b.from_part, b.from_port)

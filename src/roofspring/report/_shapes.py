"""From parts of the plan to bodies with heights: what the section drawing has to show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import networkx as nx

from roofspring.plan.graph import Connection, connections, flow_graph
from roofspring.plan.model import Plan
from roofspring.report._forms import Around, Body, Mark, any_height, body_of

FALL_M = 0.4
"""Fall guessed from one part to the next where the plan gives no height. Drawn as a guess."""
FLOAT_BELOW_OVERFLOW_M = 0.05
"""Where the plan file says nothing, a float valve is shut this far under the overflow lip."""


def flow_order(plan: Plan) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """Parts in the order of flow, and the parts upstream of each. Loops are cut somewhere."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    known = dict(plan.parts())
    graph.add_nodes_from(known)
    graph.add_edges_from(
        (a, b) for a, b in flow_graph(plan).edges() if a in known and b in known and a != b
    )
    while not nx.is_directed_acyclic_graph(graph):
        graph.remove_edge(*list(nx.find_cycle(graph))[-1][:2])
    layer: dict[str, int] = {}
    for part_id in nx.lexicographical_topological_sort(graph):
        layer[part_id] = 1 + max((layer[p] for p in graph.predecessors(part_id)), default=-1)
    ends = {"tap": 1, "swale": 2}
    order = sorted(known, key=lambda p: (ends.get(known[p].kind, 0), layer[p], p))
    return tuple(order), {p: tuple(sorted(graph.predecessors(p))) for p in known}


def bodies(plan: Plan, *, levels_m: Mapping[str, float]) -> dict[str, Body]:
    """Every part of the plan as a body, in the order of flow.

    A part without any height is hung a little below what feeds it, or above what it feeds, and is
    marked as estimated.
    """
    order, upstream = flow_order(plan)
    known = dict(plan.parts())
    joined = [c for c in connections(plan) if c.from_part in known and c.to_part in known]
    made: dict[str, Body] = {}
    waiting = []
    for part_id in sorted(order, key=lambda p: (len(_ancestors(p, upstream)), p)):
        part = known[part_id]
        hint = _from_upstream(part_id, joined, made)
        if hint is None and not any_height(part):
            waiting.append(part_id)
            continue
        made[part_id] = body_of(part, Around(part_id, hint, plan.show))
    for part_id in reversed(waiting):
        hint = _from_downstream(part_id, joined, made)
        made[part_id] = body_of(known[part_id], Around(part_id, hint, plan.show))
    floats = _floats(joined, made)
    return {p: _with_water(made[p], levels_m.get(p), floats.get(p, ())) for p in order}


def _ancestors(part_id: str, upstream: Mapping[str, Sequence[str]]) -> set[str]:
    """Everything upstream of a part."""
    seen: set[str] = set()
    waiting = list(upstream[part_id])
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting.extend(upstream[one])
    return seen


def _from_upstream(
    part_id: str, joined: Sequence[Connection], made: Mapping[str, Body]
) -> float | None:
    heights = [
        made[c.from_part].port_m(c.from_port)
        for c in joined
        if c.to_part == part_id and c.from_part in made
    ]
    return min(heights) - FALL_M if heights else None


def _from_downstream(part_id: str, joined: Sequence[Connection], made: Mapping[str, Body]) -> float:
    heights = [
        made[c.to_part].port_m(c.to_port)
        for c in joined
        if c.from_part == part_id and c.to_part in made
    ]
    return max(heights) + FALL_M if heights else 1.0


def _floats(joined: Sequence[Connection], made: Mapping[str, Body]) -> dict[str, list[float]]:
    """Water levels at which the float valves of each part are shut."""
    found: dict[str, list[float]] = {}
    for c in joined:
        if c.pipe.valve is not None and c.pipe.valve.kind == "float":
            shut = c.pipe.valve.shuts_at_m
            if shut is None and "overflow" in made[c.to_part].ports_m:
                shut = made[c.to_part].ports_m["overflow"] - FLOAT_BELOW_OVERFLOW_M
            if shut is not None and shut not in found.setdefault(c.to_part, []):
                found[c.to_part].append(shut)
    return found


def _with_water(body: Body, level_m: float | None, floats: Sequence[float]) -> Body:
    marks = [*body.marks, *(Mark(z, "float", "float") for z in floats)]
    inner = dict(body.inner_m)
    if body.kind in ("tank", "filter") and level_m is not None and math.isfinite(level_m):
        inner["water"] = min(max(level_m, body.bottom_m), body.top_m)
        marks.append(Mark(level_m, "water", "water"))
    return replace(body, marks=tuple(marks), inner_m=inner)

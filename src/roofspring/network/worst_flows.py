"""The most water that each line can bring at once: cloudburst, stuck floats, full stores above."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import networkx as nx

from roofspring.network.drainage import peak_area_m2
from roofspring.network.heights import bed_heights, lip_height_m
from roofspring.network.laws import (
    REFERENCE_DEGC,
    bed_resistance_s,
    gutter_limit_m3_per_s,
    pipe_flow_m3_per_s,
)
from roofspring.network.topology import is_shut
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    FirstFlush,
    Part,
    Plan,
    Roof,
    Screen,
    Tank,
)

Rise = Callable[[str, float], float]
"""How far water stands over the overflow lip of a part that takes a flow [m]."""


@dataclass(frozen=True)
class WorstFlows:
    """Most that each pipe, and each part, can get at once [m3/s].

    Infinite where a line has no size or no heights, so that nothing says what it brings.
    """

    by_pipe: Mapping[str, float]
    by_part: Mapping[str, float]


def worst_flows(plan: Plan, *, rain_m_per_s: float, rise_m: Rise) -> WorstFlows:
    """Follow the most that can come, from the roofs down.

    Every float is stuck open, every tap shut, every store full and spilling, every filter bed clean
    and warm; a screen may pass all that comes or throw all of it off, and a diverter may stand
    either way. A gutter brings no more than it carries. First-flush chambers are full.

    Parameters
    ----------
    plan : Plan
    rain_m_per_s : float
        Design intensity [m/s].
    rise_m : callable
        From a part's id and the flow that it spills to the water over its lip.

    Returns
    -------
    WorstFlows

    Raises
    ------
    Nothing.
    """
    parts = dict(plan.parts())
    joined = [c for c in connections(plan) if not is_shut(parts[c.from_part], c.from_port)]
    leaving: dict[str, list[Connection]] = {}
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(parts)
    for c in joined:
        leaving.setdefault(c.from_part, []).append(c)
        graph.add_edge(c.from_part, c.to_part)
    by_pipe: dict[str, float] = {}
    by_part: dict[str, float] = dict.fromkeys(parts, 0.0)
    for part_id in nx.lexicographical_topological_sort(graph):
        part, came = parts[part_id], by_part[part_id]
        if isinstance(part, Roof):
            came = rain_m_per_s * peak_area_m2(part)
            if part.gutter is not None:
                came = min(came, gutter_limit_m3_per_s(part.gutter))
            by_part[part_id] = came
        top_m = _top_m(part_id, part, came, rise_m)
        for c in leaving.get(part_id, []):
            flow = _leaves(c, part, came, top_m, parts)
            by_pipe[c.pipe_id] = flow
            by_part[c.to_part] += flow
    return WorstFlows(by_pipe, by_part)


def _top_m(part_id: str, part: Part, came_m3_per_s: float, rise_m: Rise) -> float | None:
    """Water of a store that spills all that comes to it."""
    lip_m = lip_height_m(part)
    if lip_m is None or not math.isfinite(came_m3_per_s):
        return lip_m
    return lip_m + rise_m(part_id, came_m3_per_s)


def _leaves(
    c: Connection, part: Part, came: float, top_m: float | None, parts: dict[str, Part]
) -> float:
    """Most that goes by one pipe of a part."""
    if isinstance(part, (Tank, Filter)) and c.from_port == "overflow":
        return came
    if isinstance(part, FirstFlush) and c.from_port == "drain":
        return 0.0  # it weeps
    if isinstance(part, (Roof, Screen, FirstFlush, Diverter, Disinfection)):
        return came
    if isinstance(part, Filter):
        return _filtered(c, part, top_m, parts)
    end_m = parts[c.to_part].height_m(c.to_port)
    if top_m is None or end_m is None:
        return math.inf
    return _piped(c, top_m - end_m)


def _filtered(c: Connection, part: Filter, top_m: float | None, parts: dict[str, Part]) -> float:
    """What a clean bed under a spilling box gives, no more than its throttle and its pipe pass."""
    heights = bed_heights(part)
    head_m = heights.overflow_over_weir_m if top_m is None else top_m - heights.weir_m
    flow = max(0.0, head_m) / bed_resistance_s(part) * part.area_m2
    if part.throttle_m_per_s is not None:
        flow = min(flow, part.throttle_m_per_s * part.area_m2)
    end_m = parts[c.to_part].height_m(c.to_port)
    if top_m is not None and end_m is not None:
        flow = min(flow, _piped(c, top_m - end_m))
    return flow


def _piped(c: Connection, head_m: float) -> float:
    if c.pipe.size_m is None:
        return math.inf if head_m > 0.0 else 0.0
    return pipe_flow_m3_per_s(c.pipe, head_m, temp_degc=REFERENCE_DEGC)

"""The steady water of one state: the level in every part, and the head along every pipe.

The laws are the engine's (`network.laws`); what is solved here is only the balance, and nothing is
known of heights that the plan does not give.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx

from roofspring.network.levels.balance import STILL_M, Balance
from roofspring.network.levels.heads import Heads, Line
from roofspring.network.levels.states import State
from roofspring.plan.graph import flow_graph
from roofspring.plan.model import Plan

MOST_TURNS = 60


@dataclass(frozen=True)
class Steady:
    """The water of one state.

    Attributes
    ----------
    levels_m : mapping
        Of every tank and filter, where heights are given [m over the datum].
    lines : mapping
        Of every pipe that water is led through, by its id.
    over_m3_per_s : mapping
        What each tank and filter spills over its lip.
    rim_m3_per_s : mapping
        What goes over a brim because the overflow cannot take it.
    rates_m_per_s : mapping
        Of every filter.
    """

    state: State
    levels_m: Mapping[str, float]
    lines: Mapping[str, Line]
    over_m3_per_s: Mapping[str, float]
    rim_m3_per_s: Mapping[str, float]
    rates_m_per_s: Mapping[str, float]


def flow_order(plan: Plan) -> tuple[str, ...] | None:
    """Parts in the order of flow; None where the plan runs in a circle."""
    graph = nx.DiGraph(flow_graph(plan))
    if not nx.is_directed_acyclic_graph(graph):
        return None
    return tuple(nx.lexicographical_topological_sort(graph))


def in_circle(plan: Plan) -> tuple[str, ...]:
    """Parts of a circle that the plan runs in; none where it has none."""
    graph = nx.DiGraph(flow_graph(plan))
    rings = (ring for ring in nx.strongly_connected_components(graph) if len(ring) > 1)
    return tuple(sorted(next(rings, set())))


def steady(plan: Plan, state: State, *, rain_m_per_s: float) -> Steady:
    """The steady water of a plan in a state.

    Parameters
    ----------
    plan : Plan
        Without circles.
    state : State
    rain_m_per_s : float
        Design rain; it falls where the state says that it rains.

    Returns
    -------
    Steady
    """
    order = flow_order(plan)
    assert order is not None
    at = Balance(plan, order, state, rain_m_per_s if state.rains else 0.0)
    for _ in range(MOST_TURNS):
        before = dict(at.levels)
        at.turn()
        if before.keys() == at.levels.keys() and all(
            abs(at.levels[p] - z) <= STILL_M for p, z in before.items()
        ):
            break
    return Steady(
        state, dict(at.levels), Heads(at).all(), dict(at.over), dict(at.rim), dict(at.rate)
    )

"""The plan as a graph: which outlet is joined to which inlet."""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx

from roofspring.plan.model import Pipe, Plan, split_port


@dataclass(frozen=True)
class Connection:
    """One pipe with both its ends resolved to a part and a port."""

    pipe_id: str
    from_part: str
    from_port: str
    to_part: str
    to_port: str
    pipe: Pipe


def connections(plan: Plan) -> tuple[Connection, ...]:
    """Every pipe of the plan, sorted by id. A bare part id means its outlet, or its inlet."""
    made = []
    for pipe_id, pipe in sorted(plan.pipes.items()):
        from_part, from_port = split_port(pipe.from_, default="outlet")
        to_part, to_port = split_port(pipe.to, default="inlet")
        made.append(Connection(pipe_id, from_part, from_port, to_part, to_port, pipe))
    return tuple(made)


def flow_graph(plan: Plan) -> nx.MultiDiGraph[str]:
    """Parts as nodes, pipes as edges keyed by pipe id, in the direction of flow."""
    graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
    for part_id, part in plan.parts():
        graph.add_node(part_id, part=part)
    for c in connections(plan):
        graph.add_edge(c.from_part, c.to_part, key=c.pipe_id, connection=c)
    return graph

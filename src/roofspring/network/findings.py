"""What the graph itself says: water that goes nowhere, parts that nothing reaches."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Finding
from roofspring.network.result import GROUND
from roofspring.network.topology import Topology
from roofspring.plan.model import Filter, Plan, Roof, Tank
from roofspring.sources import COMMON_PRACTICE


def graph_findings(plan: Plan, topology: Topology) -> tuple[Finding, ...]:
    """Findings that need no run."""
    return (
        *_nothing(topology),
        *_lost_water(topology),
        *_open_overflows(topology),
        *_unreached(topology),
        *_valves_without_effect(plan, topology),
        *_floats_side_by_side(topology),
    )


def _nothing(topology: Topology) -> Iterator[Finding]:
    if not topology.parts:
        yield Finding(
            "NET-106",
            "caution",
            "the plan has no parts yet: there is nothing to check or run",
            next="add a roof, a tank and a use; docs/plan-file.md shows the smallest plan",
        )


def _lost_water(topology: Topology) -> Iterator[Finding]:
    for part_id, arc in sorted(topology.out.items()):
        if topology.arcs[arc].to_part == GROUND:
            yield Finding(
                "NET-101",
                "caution",
                "the water of this part is lost: no pipe leaves its outlet",
                where=f"{part_id}.{topology.arcs[arc].from_port}",
                next="add a pipe from it, or take the part out of the plan",
            )


def _open_overflows(topology: Topology) -> Iterator[Finding]:
    for part_id, arc in sorted(topology.side.items()):
        part = topology.parts[part_id]
        if isinstance(part, (Tank, Filter)) and topology.arcs[arc].to_part == GROUND:
            yield Finding(
                "NET-102",
                "caution",
                "no pipe leads this overflow away: it spills where the part stands",
                where=f"{part_id}.overflow",
                source=COMMON_PRACTICE,
                next="pipe it to a swale or other outfall, away from footings and paths",
            )


def _unreached(topology: Topology) -> Iterator[Finding]:
    reached = {arc.to_part for arc in topology.arcs if arc.kind != "draw"}
    for part_id in topology.nodes[:-1]:
        part = topology.parts[part_id]
        if not isinstance(part, Roof) and part_id not in reached:
            yield Finding(
                "NET-103",
                "caution",
                "no water reaches this part",
                where=part_id,
                next="lead a pipe to its inlet, or take it out of the plan",
            )


def _valves_without_effect(plan: Plan, topology: Topology) -> Iterator[Finding]:
    for arc in topology.arcs:
        if not arc.pipe_id:
            continue
        valve = plan.pipes[arc.pipe_id].valve
        metered = arc.kind == "feed" or topology.waits(arc.from_part)
        if valve is not None and valve.kind == "float" and not metered:
            yield Finding(
                "NET-104",
                "stop",
                "this float valve would dam up water that has nowhere to wait",
                where=f"pipe.{arc.pipe_id}.valve",
                got=f"a float valve on the {arc.kind} water of {arc.from_part}",
                limit="a float valve belongs on a pipe from a tank's outlet",
                source=COMMON_PRACTICE,
                next="put a tank before it; the run was made as if the valve stood open",
            )


def _floats_side_by_side(topology: Topology) -> Iterator[Finding]:
    for tank_id, feeds in sorted(topology.feeds.items()):
        floats = [
            c.to_part for c, _ in feeds if c.pipe.valve is not None and c.pipe.valve.kind == "float"
        ]
        for part_id in sorted({p for p in floats if floats.count(p) > 1}):
            yield Finding(
                "NET-105",
                "caution",
                "two float valves from one tank fill one part",
                where=f"{part_id}.inlet",
                got=f"{floats.count(part_id)} from {tank_id}",
                next="one valve of the right size is easier to keep",
            )

"""What the graph itself says: water that goes nowhere, parts that nothing reaches, bad lines."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofspring.errors import Finding
from roofspring.hydraulics import (
    WALL_WAVES_M_PER_S,
    closing_time_s,
    flow_m3_per_s,
    loss_factor_of_kv,
    surge_head_m,
)
from roofspring.network.heights import lip_height_m
from roofspring.network.laws import FEED_DEGC, TAP_KV_M3_PER_H, pipe_k_sum
from roofspring.network.result import GROUND
from roofspring.network.topology import Topology
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Filter, Part, Plan, Roof, Tank, Tap
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import show

SIPHON_M = 0.05
"""Fall beyond a crest from which a siphon is to be feared; engineering choice."""


def graph_findings(plan: Plan, topology: Topology) -> tuple[Finding, ...]:
    """Findings that need no run."""
    return (
        *_nothing(topology),
        *_lost_water(topology),
        *_open_overflows(topology),
        *_unreached(topology),
        *_valves_without_effect(plan, topology),
        *_floats_side_by_side(topology),
        *_lines(plan),
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


def _lines(plan: Plan) -> Iterator[Finding]:
    """What the heights at the two ends of each pipe say of it."""
    parts = dict(plan.parts())
    for c in connections(plan):
        yield from _too_short(c, parts, plan)
        yield from _high_point(c, parts, plan)
        yield from _drawn_back(c, parts, plan)
    yield from _hammer(plan)


def _ends_m(c: Connection, parts: dict[str, Part]) -> tuple[float | None, float | None]:
    """Heights of the water way at both ends of a pipe."""
    upper = parts[c.from_part]
    from_m = lip_height_m(upper) if c.from_port == "overflow" else upper.height_m(c.from_port)
    return from_m, parts[c.to_part].height_m(c.to_port)


def _too_short(c: Connection, parts: dict[str, Part], plan: Plan) -> Iterator[Finding]:
    from_m, to_m = _ends_m(c, parts)
    if from_m is None or to_m is None or "length_m" not in c.pipe.model_fields_set:
        return
    if abs(from_m - to_m) > c.pipe.length_m * (1.0 + 1e-6):
        yield Finding(
            "NET-107",
            "caution",
            "this pipe is shorter than the difference in height of its ends: they are not measured "
            "from one datum, or a height or the length is wrong",
            where=f"pipe.{c.pipe_id}",
            got=f"{show(abs(from_m - to_m), 'length', units=plan.show)} between "
            f"{c.from_part}.{c.from_port} and {c.to_part}.{c.to_port}",
            limit=f"at most {show(c.pipe.length_m, 'length', units=plan.show)}, its length",
            next="measure both heights from one datum, and the pipe along its run",
        )


def _high_point(c: Connection, parts: dict[str, Part], plan: Plan) -> Iterator[Finding]:
    """Water runs only while it stands above the crest: no siphon is counted on."""
    crest_m, (from_m, to_m) = c.pipe.crest_m, _ends_m(c, parts)
    if crest_m is None or from_m is None or crest_m <= from_m:
        return
    lip_m = lip_height_m(parts[c.from_part])

    def height(value_m: float) -> str:
        return show(value_m, "height", units=plan.show)

    if lip_m is not None and crest_m >= lip_m:
        yield Finding(
            "NET-108",
            "stop",
            "this pipe climbs over the fullest water it comes from: nothing runs",
            where=f"pipe.{c.pipe_id}.{'high-point' if c.pipe.profile is None else 'profile'}",
            got=height(crest_m),
            limit=f"below {height(lip_m)}, the overflow of {c.from_part}",
            source=COMMON_PRACTICE,
            next="lay it lower, falling all the way",
        )
        return
    siphons = to_m is not None and to_m < from_m - SIPHON_M
    yield Finding(
        "NET-109",
        "caution",
        "this pipe climbs: water under its high point stays in the tank, and air gathers there"
        + (
            "; once full it can also siphon on, below the level at which the run lets it stop"
            if siphons
            else ""
        ),
        where=f"pipe.{c.pipe_id}.{'high-point' if c.pipe.profile is None else 'profile'}",
        got=height(crest_m),
        limit=f"at most {height(from_m)}, the height it leaves from",
        source=COMMON_PRACTICE,
        next="lay it lower; if it cannot be, vent its high point above the highest water: that "
        "lets air out and breaks the siphon",
    )


def _hammer(plan: Plan) -> Iterator[Finding]:
    """Taps and on-off floats that shut at once on fast lines, the worst of them told."""
    parts = dict(plan.parts())
    found = [
        (surge_m / c.pipe.rated_m, surge_m, speed, head_m, c)
        for c in connections(plan)
        for surge_m, speed, head_m in _surges(c, parts)
        if surge_m > c.pipe.rated_m
    ]
    if found:
        _, surge_m, speed, head_m, c = max(found, key=lambda one: one[0])
        pipe = c.pipe
        slow = "take taps and valves that turn slowly"
        if head_m < pipe.rated_m:
            time_s = closing_time_s(
                speed,
                length_m=pipe.length_m,
                surge_m=pipe.rated_m - head_m,
                wave_m_per_s=WALL_WAVES_M_PER_S[pipe.wall],
            )
            slow += f", over {max(0.1, time_s):.1f} seconds or more"
        yield Finding(
            "NET-110",
            "caution" if "rated_m" in pipe.model_fields_set else "note",
            "a valve that shuts at once knocks on this line: water hammer",
            where=f"pipe.{c.pipe_id}",
            got=f"up to {show(surge_m, 'length', units=plan.show, digits=0)} of head, "
            f"at {show(speed, 'speed', units=plan.show, digits=1)} with the tank full"
            + (f"; {len(found) - 1} more lines like it" if len(found) > 1 else ""),
            limit=f"{show(pipe.rated_m, 'length', units=plan.show, digits=0)}, what the pipe is "
            "made for",
            source="STREETER_WYLIE_1979, water hammer (Joukowsky's law)",
            next=f"{slow}; fasten the pipe, or choose a wider one",
        )


def _surges(c: Connection, parts: dict[str, Part]) -> Iterator[tuple[float, float, float]]:
    """Head, speed and standing head when a quick valve shuts at the end of a full tank's line."""
    valve, tank = c.pipe.valve, parts[c.from_part]
    quick = isinstance(parts[c.to_part], Tap) or (
        valve is not None and valve.kind == "float" and valve.action == "on-off"
    )
    top_m, to_m = lip_height_m(tank), parts[c.to_part].height_m(c.to_port)
    if not quick or not isinstance(tank, Tank) or top_m is None or to_m is None:
        return
    if c.pipe.size_m is not None:
        k_sum = pipe_k_sum(c.pipe, diameter_m=c.pipe.size_m)
        if isinstance(parts[c.to_part], Tap):
            k_sum += loss_factor_of_kv(TAP_KV_M3_PER_H, diameter_m=c.pipe.size_m)
        flow = flow_m3_per_s(
            top_m - to_m,
            diameter_m=c.pipe.size_m,
            length_m=c.pipe.length_m,
            roughness_m=c.pipe.roughness_m,
            k_sum=k_sum,
            temp_degc=FEED_DEGC,
        )
        speed = flow / (math.pi * c.pipe.size_m**2 / 4.0)
        wave = WALL_WAVES_M_PER_S[c.pipe.wall]
        yield surge_head_m(speed, wave_m_per_s=wave) + top_m - to_m, speed, top_m - to_m


def _drawn_back(c: Connection, parts: dict[str, Part], plan: Plan) -> Iterator[Finding]:
    """An inlet under water, fed from a tank: it can be drawn back when that is drained."""
    tank, far = parts[c.from_part], parts[c.to_part]
    valve = c.pipe.valve
    if not isinstance(tank, Tank) or not isinstance(far, (Tank, Filter)):
        return
    if c.from_port == "overflow" or (valve is not None and valve.kind == "check"):
        return
    inlet_m, lip_m = far.height_m(c.to_port), lip_height_m(far)
    if inlet_m is not None and lip_m is not None and inlet_m < lip_m:
        yield Finding(
            "NET-111",
            "caution",
            "this inlet can stand under water: water is drawn back through it when the tank above "
            "is drained or its line breaks",
            where=f"{c.to_part}.{c.to_port}",
            got=f"{show(lip_m - inlet_m, 'gap', units=plan.show)} under the overflow",
            limit="over it, with an air gap of two pipe bores",
            source=COMMON_PRACTICE,
            next="raise the inlet over the overflow; a check valve alone wears and leaks. A line "
            "from public mains needs an air gap and a licensed plumber",
        )

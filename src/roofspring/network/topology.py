"""The plan's graph, put in flow order, with every way that water can move as an arc."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

import networkx as nx

from roofspring.errors import PlanError, Problem
from roofspring.network.result import GROUND, Arc, ArcKind
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
    Tap,
    split_port,
)

SKY = "(sky)"

# Ports that stand shut in daily running and are opened by hand for cleaning.
SHUT_PORTS = ((Tank, "drain"), (Filter, "drain"))


@dataclass(frozen=True)
class DrawPoint:
    """Where a use takes water: a tank's port, and the tap mouth below which nothing comes."""

    tank_id: str
    port: str
    tap_id: str | None
    arc: int


@dataclass(frozen=True)
class Topology:
    """Nodes in flow order (the ground last), arcs, and where each special arc stands.

    ``out`` and ``side`` give, by part id, the arc of the main and of the second way out; ``feeds``
    the pipes that leave a tank's outlets for another part.
    """

    nodes: tuple[str, ...]
    parts: Mapping[str, Part]
    arcs: tuple[Arc, ...]
    out: Mapping[str, int]
    side: Mapping[str, int]
    rain: Mapping[str, int]
    wetting: Mapping[str, int]
    splash: Mapping[str, int]
    slid: Mapping[str, int]
    gutter: Mapping[str, int]
    rim: Mapping[str, int]
    leak: Mapping[str, int]
    evaporation: Mapping[str, int]
    waste: Mapping[str, int]
    feeds: Mapping[str, tuple[tuple[Connection, int], ...]]
    draws: Mapping[str, tuple[DrawPoint, ...]]

    def waits(self, part_id: str) -> bool:
        """True for a disinfection step that only tanks feed: held-back water stays in them."""
        into = [arc for arc in self.arcs if arc.to_part == part_id and arc.kind != "draw"]
        return isinstance(self.parts[part_id], Disinfection) and all(
            arc.kind == "feed" or self.waits(arc.from_part) for arc in into
        )


def is_shut(part: Part, port: str) -> bool:
    """True for a cleaning drain, which stands shut while the system runs."""
    return any(isinstance(part, kind) and port == name for kind, name in SHUT_PORTS)


def arrange(plan: Plan) -> Topology:
    """Put the plan's parts in flow order and list every arc.

    Raises
    ------
    PlanError (NET-002, NET-003, NET-004)
        A use draws from a tap that no tank stands behind; a disinfection step that splits; a
        diverter between a tap and a store.
    """
    parts = dict(plan.parts())
    joined = [c for c in connections(plan) if not is_shut(parts[c.from_part], c.from_port)]
    leads = _leading(parts, joined)
    carrying = [c for c in joined if leads[c.from_part] and leads[c.to_part]]
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(p for p in parts if leads[p])
    graph.add_edges_from((c.from_part, c.to_part) for c in carrying)
    nodes = (*nx.lexicographical_topological_sort(graph), GROUND)
    by_port: dict[tuple[str, str], list[Connection]] = {}
    for c in carrying:
        by_port.setdefault((c.from_part, c.from_port), []).append(c)
    problems: list[Problem] = []
    to_taps = {(c.from_part, c.from_port) for c in joined if not leads[c.to_part]}
    build = _Builder(by_port, to_taps)
    for node in nodes[:-1]:
        build.add(node, parts[node], problems)
    draws = {
        use_id: build.draw_points(use_id, plan, parts, joined, problems)
        for use_id in sorted(plan.uses)
    }
    if problems:
        raise PlanError(problems)
    return Topology(
        nodes=nodes,
        parts=parts,
        arcs=tuple(build.arcs),
        out=build.out,
        side=build.side,
        rain=build.rain,
        wetting=build.wetting,
        splash=build.splash,
        slid=build.slid,
        gutter=build.gutter,
        rim=build.rim,
        leak=build.leak,
        evaporation=build.evaporation,
        waste=build.waste,
        feeds={tank: tuple(feeds) for tank, feeds in build.feeds.items()},
        draws=draws,
    )


def _leading(parts: Mapping[str, Part], joined: list[Connection]) -> dict[str, bool]:
    """Which parts water can run through by itself: not taps, nor what only taps stand behind."""
    ahead: dict[str, list[str]] = {}
    for c in joined:
        ahead.setdefault(c.from_part, []).append(c.to_part)
    known: dict[str, bool] = {}

    def leads(part_id: str) -> bool:
        if part_id not in known:
            part = parts[part_id]
            if isinstance(part, Tap):
                known[part_id] = False
            elif isinstance(part, (Disinfection, Diverter)):
                known[part_id] = any(leads(next_id) for next_id in ahead.get(part_id, ()))
            else:
                known[part_id] = True
        return known[part_id]

    return {part_id: leads(part_id) for part_id in parts}


class _Builder:
    """Collects arcs node by node."""

    def __init__(
        self,
        by_port: Mapping[tuple[str, str], list[Connection]],
        to_taps: Set[tuple[str, str]],
    ) -> None:
        self.by_port, self.to_taps = by_port, to_taps
        self.arcs: list[Arc] = []
        self.out: dict[str, int] = {}
        self.side: dict[str, int] = {}
        self.rain: dict[str, int] = {}
        self.wetting: dict[str, int] = {}
        self.splash: dict[str, int] = {}
        self.slid: dict[str, int] = {}
        self.gutter: dict[str, int] = {}
        self.rim: dict[str, int] = {}
        self.leak: dict[str, int] = {}
        self.evaporation: dict[str, int] = {}
        self.waste: dict[str, int] = {}
        self.feeds: dict[str, list[tuple[Connection, int]]] = {}

    def add(self, node: str, part: Part, problems: list[Problem]) -> None:
        """Add the arcs that leave one part."""
        if isinstance(part, Roof):
            self.rain[node] = self._arc("rain", SKY, "", node)
            self.wetting[node] = self._arc("wetting", node, "", GROUND)
            self.splash[node] = self._arc("splash", node, "", GROUND)
            self.slid[node] = self._arc("slid", node, "", GROUND)
            if part.gutter is not None:
                self.gutter[node] = self._arc("gutter", node, "", GROUND)
            self.out[node] = self._piped("pass", node, "outlet")
        elif isinstance(part, Screen):
            self.out[node] = self._piped("pass", node, "outlet")
            self.side[node] = self._piped("reject", node, "reject")
        elif isinstance(part, FirstFlush):
            self.out[node] = self._piped("pass", node, "outlet")
            self.side[node] = self._piped("weep", node, "drain")
        elif isinstance(part, Diverter):
            taps = [p for p in ("main", "side") if (node, p) in self.to_taps]
            if taps:
                problems.append(_half_a_tap(node, taps[0]))
            self.out[node] = self._piped("pass", node, "main")
            self.side[node] = self._piped("pass", node, "side")
        elif isinstance(part, Disinfection):
            if len(self.by_port.get((node, "outlet"), ())) > 1:
                problems.append(_splits(node))
            self.out[node] = self._piped("pass", node, "outlet")
        elif isinstance(part, Filter):
            self.out[node] = self._piped("sand", node, "outlet")
            self.side[node] = self._piped("overflow", node, "overflow")
            self.waste[node] = self._arc("waste", node, "", GROUND)
            if self.overflow_pipe(node) is not None:
                self.rim[node] = self._arc("rim", node, "", GROUND)
        elif isinstance(part, Tank):
            self.side[node] = self._piped("overflow", node, "overflow")
            if self.overflow_pipe(node) is not None:
                self.rim[node] = self._arc("rim", node, "", GROUND)
            if part.evaporation_m_per_day is not None:
                self.evaporation[node] = self._arc("evaporation", node, "", GROUND)
            if part.leak_m3_per_s > 0.0:
                self.leak[node] = self._arc("leak", node, "", GROUND)
            for port in ("outlet", *sorted(part.more_outlets)):
                for c in self.by_port.get((node, port), ()):
                    arc = self._arc("feed", node, port, c.to_part, c.pipe_id)
                    self.feeds.setdefault(node, []).append((c, arc))

    def draw_points(
        self,
        use_id: str,
        plan: Plan,
        parts: Mapping[str, Part],
        joined: list[Connection],
        problems: list[Problem],
    ) -> tuple[DrawPoint, ...]:
        """The tanks a use draws from, first choice first."""
        points: list[DrawPoint] = []
        for reference in plan.uses[use_id].from_:
            source, port = split_port(reference, default="outlet")
            found = (
                [(source, port, None)]
                if isinstance(parts[source], Tank)
                else [(*tank, source) for tank in _tanks_behind(source, parts, joined)]
            )
            if not found:
                problems.append(_no_tank(use_id, source))
            for tank_id, tank_port, tap_id in found:
                same = (tank_id, tank_port, tap_id)
                if same not in ((p.tank_id, p.port, p.tap_id) for p in points):
                    arc = self._arc("draw", tank_id, tank_port, use_id)
                    points.append(DrawPoint(tank_id, tank_port, tap_id, arc))
        return tuple(points)

    def overflow_pipe(self, part_id: str) -> Connection | None:
        """The pipe that leads the overflow of a tank or filter away, where its size is given."""
        found = self.by_port.get((part_id, "overflow"), [])
        return found[0] if found and found[0].pipe.size_m is not None else None

    def _piped(self, kind: ArcKind, node: str, port: str) -> int:
        found = self.by_port.get((node, port))
        if not found:
            return self._arc(kind, node, port, GROUND)
        return self._arc(kind, node, port, found[0].to_part, found[0].pipe_id)

    def _arc(
        self, kind: ArcKind, from_part: str, port: str, to_part: str, pipe_id: str = ""
    ) -> int:
        self.arcs.append(Arc(kind, from_part, port, to_part, pipe_id))
        return len(self.arcs) - 1


def _tanks_behind(
    part_id: str, parts: Mapping[str, Part], joined: list[Connection]
) -> list[tuple[str, str]]:
    """Tanks and ports that a tap is fed from, through disinfection steps and diverters."""
    found: list[tuple[str, str]] = []
    for c in joined:
        if c.to_part != part_id:
            continue
        if isinstance(parts[c.from_part], Tank):
            found.append((c.from_part, c.from_port))
        elif isinstance(parts[c.from_part], (Disinfection, Diverter)):
            found.extend(_tanks_behind(c.from_part, parts, joined))
    return found


def _no_tank(use_id: str, source: str) -> Problem:
    return Problem(
        "NET-002",
        "this use draws where no tank stands behind",
        where=f"use.{use_id}.from",
        got=repr(source),
        allowed="a tank, or a tap that a tank's outlet feeds by a pipe",
        next=f"lead a pipe from a tank's outlet to {source}, or draw from a tank",
    )


def _half_a_tap(node: str, port: str) -> Problem:
    return Problem(
        "NET-004",
        "a diverter cannot stand between a tap and a store: the store would fill only while the "
        "tap is cut off",
        where=f"diverter.{node}.{port}",
        allowed="both ways to taps, or none",
        next="lead a pipe from the tank to the tap past the diverter",
    )


def _splits(node: str) -> Problem:
    return Problem(
        "NET-003",
        "the water of a disinfection step cannot go to two parts at once",
        where=f"disinfection.{node}.outlet",
        allowed="one pipe to a tank or filter, besides pipes to taps",
        next="lead it to one tank, and branch from the tank",
    )

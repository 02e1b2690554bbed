"""Tanks and filters looked at one by one for what spoils the water in them."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from roofspring.errors import Finding
from roofspring.plan.graph import Connection
from roofspring.plan.model import Roof, Tank
from roofspring.safety.paths.graph import STORM
from roofspring.safety.paths.zones import Zones
from roofspring.sources import COMMON_PRACTICE


def vessel_findings(zones: Zones) -> Iterator[Finding]:
    """Findings on single tanks and filters: SAF-144 to SAF-146, SAF-148, SAF-151 and SAF-154."""
    yield from _shared_walls(zones)
    yield from _shared_drains(zones)
    yield from _filters_without_store(zones)
    yield from _unvented(zones)
    yield from _not_shut_off(zones)
    yield from _lids(zones)


def _shared_walls(zones: Zones) -> Iterator[Finding]:
    told: set[frozenset[str]] = set()
    for tank_id, tank in zones.tanks.items():
        for other in tank.cover.walled_with:
            pair = frozenset((tank_id, other))
            if other in zones.plan.tanks and zones.is_raw(tank_id) != zones.is_raw(other):
                if pair in told:
                    continue
                told.add(pair)
                raw, clean = sorted(pair, key=lambda p: not zones.is_raw(p))
                yield Finding(
                    "SAF-144",
                    "caution",
                    "only a wall parts clean water from raw: a crack in it is not seen",
                    where=clean,
                    got=f"{clean} beside {raw}",
                    limit="two walls with air between them",
                    source=COMMON_PRACTICE,
                    next="store clean water in a vessel of its own; until then keep its level over "
                    "that of the raw side",
                )


def _shared_drains(zones: Zones) -> Iterator[Finding]:
    """Cleaning drains of raw and clean vessels that meet in one closed line."""
    parts = dict(zones.plan.parts())
    meeting: dict[str, list[Connection]] = {}
    for c in zones.joined:
        is_open = isinstance(parts[c.to_part], Roof) or parts[c.to_part].kind in ("swale", "tap")
        checked = c.pipe.valve is not None and c.pipe.valve.kind == "check"
        if c.from_port in ("drain", "overflow") and not is_open and not checked:
            meeting.setdefault(c.to_part, []).append(c)
    for to_id, lines in sorted(meeting.items()):
        drains = [c for c in lines if c.from_port == "drain"]
        clean = [c for c in lines if not zones.is_raw(c.from_part)]
        raw = [c for c in lines if zones.is_raw(c.from_part)]
        if not drains or not clean or not raw:
            continue
        yield Finding(
            "SAF-145",
            "stop",
            "drains of raw and of clean vessels meet: dirty water backs up into the clean one",
            where=f"pipe.{clean[0].pipe_id}",
            got=f"{', '.join(c.from_part for c in (*raw, *clean))} into {to_id}",
            limit="each drain ends in the open by itself",
            source="WHO_GDWQ_2011",
            next="end each drain over the ground, with air between it and everything else",
        )


def _filters_without_store(zones: Zones) -> Iterator[Finding]:
    parts = dict(zones.plan.parts())
    flow: nx.DiGraph[str] = nx.DiGraph()
    flow.add_nodes_from(parts)
    flow.add_edges_from(
        (w.from_part, w.to_part)
        for w in zones.everything
        if w.when <= STORM and not isinstance(parts.get(w.from_part), Tank)
    )
    reached = set().union(*(nx.descendants(flow, r) for r in zones.plan.roofs), set())
    for filter_id in sorted(set(zones.plan.filters) & reached):
        if filter_id in zones.before:
            yield Finding(
                "SAF-146",
                "caution",
                "rain comes to the sand at once: it runs in bursts, and starves in between",
                where=filter_id,
                got="no store stands between roof and sand",
                limit="a store before the filter that feeds it day and night",
                source="HUISMAN_WOOD_1974",
                next="put a raw tank with a float valve before it",
            )


def _unvented(zones: Zones) -> Iterator[Finding]:
    for tank_id, tank in zones.tanks.items():
        if tank.cover.vent is False and tank.cover.lid in ("locked", "shut"):
            yield Finding(
                "SAF-148",
                "caution",
                "a shut tank without a vent breathes by its overflow alone: when that is blocked, "
                "a wide outlet sucks its walls in",
                where=tank_id,
                limit="a meshed vent that looks down",
                source=COMMON_PRACTICE,
                next="give it a vent with gauze of 1 mm or finer",
            )


def _not_shut_off(zones: Zones) -> Iterator[Finding]:
    """Vessels that cannot be emptied or shut off for cleaning, as far as the plan says."""
    plan = zones.plan
    drained = {c.from_part for c in zones.joined if c.from_port == "drain"}
    leaving: dict[str, list[Connection]] = {}
    for c in zones.joined:
        if c.from_port not in ("drain", "overflow"):
            leaving.setdefault(c.from_part, []).append(c)
    lacking: dict[str, list[str]] = {"a drain": [], "a valve in a pipe from it": []}
    for part_id in (*zones.tanks, *sorted(set(plan.filters) & zones.before)):
        tank = plan.tanks.get(part_id)
        drain_m = plan.filters[part_id].drain_m if tank is None else tank.drain_m
        if drain_m is None and part_id not in drained:
            lacking["a drain"].append(part_id)
        if tank is not None and not all(_can_shut(c) for c in leaving.get(part_id, ())):
            lacking["a valve in a pipe from it"].append(part_id)
    got = [f"without {what}: {', '.join(where)}" for what, where in lacking.items() if where]
    if got:
        yield Finding(
            "SAF-151",
            "note",
            "the plan gives no drain, or no valve, by which these could be cleaned",
            where=", ".join(dict.fromkeys(p for where in lacking.values() for p in where)),
            got="; ".join(got),
            limit="every vessel can be shut off by itself and emptied to the open",
            source=COMMON_PRACTICE,
            next="fit them, and give drain, and valve or fittings, in the plan",
        )


def _can_shut(c: Connection) -> bool:
    if c.pipe.valve is not None and c.pipe.valve.kind != "check":
        return True
    return any("valve" in f and "check" not in f for f in c.pipe.fittings)


LIDS = {
    "none": ("stop", "an open tank: children drown in it, and animals get in"),
    "loose": ("stop", "a loose lid: a child can lift it, and animals get in"),
    "shut": ("caution", "a lid that is not locked: a child may open it"),
}


def _lids(zones: Zones) -> Iterator[Finding]:
    for tank_id, tank in zones.tanks.items():
        found = LIDS.get(tank.cover.lid or "")
        if found is not None:
            yield Finding(
                "SAF-154",
                "stop" if found[0] == "stop" else "caution",
                found[1],
                where=tank_id,
                limit="a tight lid, locked against children",
                source=COMMON_PRACTICE,
                next='fit a tight lid and a lock, and write lid = "locked"; never climb in alone',
            )

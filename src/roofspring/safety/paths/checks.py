"""The plan looked over for what lets germs in: openings, light, mishaps, barriers out of order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import networkx as nx
import numpy as np

from roofspring.constants import SECONDS_PER_DAY, Sourced
from roofspring.errors import Finding, Severity
from roofspring.network.result import RunResult
from roofspring.plan.model import Disinfection, Plan
from roofspring.safety.paths.facts import lamps_before_taps, not_said, not_said_finding, sampling
from roofspring.safety.paths.graph import (
    BACK,
    HOSE,
    OPENED,
    STORM,
    TURNED,
    WHEN_WORDS,
    Way,
    is_roof,
    ways,
)
from roofspring.safety.paths.lamps import lamp_findings, past_lamp
from roofspring.safety.paths.other_water import ground_findings, source_findings
from roofspring.safety.paths.routes import Route, is_cleared, is_round_the_sand, kinds_of
from roofspring.safety.paths.time_and_lead import time_findings
from roofspring.safety.paths.touched import material_findings
from roofspring.safety.paths.vessels import vessel_findings
from roofspring.safety.paths.zones import Zones, zones_of
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import show

MESH_MOST = Sourced(1e-3, "m", "QLD_MOSQUITO", "aperture of metal gauze on tank openings")
AGE_MOST = Sourced(7 * SECONDS_PER_DAY, "s", ENGINEERING_CHOICE, "stored without a residual")

MISHAPS = {
    TURNED: (
        "SAF-104",
        "a diverter turned the other way sends unfiltered water to a drinking tap",
        "a diverter turned the other way sends water to a drinking tap past one of its barriers",
        "take that pipe away, or lock the diverter and hang a label on it",
    ),
    OPENED: (
        "SAF-105",
        "a cleaning drain, once opened, sends unfiltered water to a drinking tap",
        "a cleaning drain, once opened, sends water to a drinking tap past one of its barriers",
        "let that drain end in the open, with air between it and everything else",
    ),
}
THROWN_OUT = {"drain": "the first, dirtiest water", "reject": "what the screen threw off"}


def graph_findings(
    plan: Plan, routes: Sequence[Route], result: RunResult | None = None
) -> Iterator[Finding]:
    """Every graph check of the plan.

    Parameters
    ----------
    plan : Plan
    routes : sequence of Route
        From `all_routes`.
    result : RunResult, optional
        Gives the age of the water in the stores.

    Yields
    ------
    Finding
        SAF-104 to SAF-116, SAF-118, SAF-140 to SAF-158. None when nobody drinks.
    """
    if not any(tap.drinking for tap in plan.taps.values()):
        return
    everything = ways(plan)
    yield from _mishaps(plan, routes)
    yield from _back_flow(plan, routes, everything)
    zones = zones_of(plan, everything)
    yield from _missed(routes, zones)
    yield from _chlorine_to_sand(plan, everything)
    yield from _light_before_sand(plan, routes)
    yield from _thrown_back(zones)
    yield from _dark(routes, zones)
    yield from lamp_findings(routes, zones)
    yield from _stores(zones)
    yield from _after_last_barrier(plan, routes, result)
    yield from _no_sampling(zones)
    yield from source_findings(plan, routes, zones)
    yield from ground_findings(plan, zones)
    yield from vessel_findings(zones)
    yield from time_findings(zones, result)
    yield from material_findings(zones)
    yield from not_said_finding(not_said(zones))


def _mishaps(plan: Plan, routes: Sequence[Route]) -> Iterator[Finding]:
    for when, (code, bare, missed, mend) in MISHAPS.items():
        seen: set[str] = set()
        for r in routes:
            weak = r.is_bypass or not r.barriers
            if r.when != when or not weak or not is_roof(plan, r.start) or r.tap in seen:
                continue
            seen.add(r.tap)
            yield Finding(
                code,
                "stop" if when == OPENED and not r.barriers else "caution",
                missed if r.barriers else bare,
                where=r.tap,
                got=r.words + _passes(r),
                limit="no valve or drain in any position leads round the filter",
                source="WHO_GDWQ_2011",
                next=mend,
            )


def _back_flow(plan: Plan, routes: Sequence[Route], everything: Sequence[Way]) -> Iterator[Finding]:
    seen: set[str] = set()
    for r in routes:
        if r.when != BACK or r.start in seen or is_roof(plan, r.start):
            continue
        seen.add(r.start)
        if r.start.startswith(HOSE + ":"):
            tap_id = r.start.removeprefix(HOSE + ":")
            yield Finding(
                "SAF-106",
                _hose_severity(plan, tap_id, everything),
                "a hose on this tap can draw dirty water back to a store that people drink from",
                where=tap_id,
                got=f"the end of the hose → {' → '.join(r.parts[1:])}",
                limit="a vacuum breaker, or air between the tap and all that it fills",
                source="MUNICIPAL_AIR_GAP",
                next=f"fit a vacuum breaker and set guard = true for {tap_id}, or put a check "
                "valve in its pipe",
            )
        else:
            yield Finding(
                "SAF-107",
                "stop",
                "ground water can flow back into a store that people drink from",
                where=f"pipe.{r.pipes[0]}",
                got=r.words,
                limit="the end of an overflow stands in air, over any water that can gather there",
                source="WHO_GDWQ_2011",
                next="end the pipe higher, in air, or lower what it ends in",
            )


def _hose_severity(plan: Plan, tap_id: str, everything: Sequence[Way]) -> Severity:
    """A hose that lies under the store's outlet needs somebody to lift it: a note."""
    mouth = plan.taps[tap_id].inlet_m
    for way in everything:
        if way.to_part == tap_id:
            outlet = plan.part(way.from_part).height_m(way.from_port)
            if mouth is not None and outlet is not None and mouth < outlet:
                return "note"
    return "caution"


def _passes(route: Route) -> str:
    return f": passes {', '.join(sorted(route.mechanisms))} only" if route.barriers else ""


def _missed(routes: Sequence[Route], zones: Zones) -> Iterator[Finding]:
    """Ways with some barriers, but not all; and taps behind one kind of barrier alone.

    Roof water that gets round the sand is a stop whatever stands behind: it fouls the clean
    store, and neither light nor chlorine counts in water that is not clear.
    """
    plan = zones.plan
    seen: set[str] = set()
    for r in routes:
        if not r.is_bypass or not r.barriers or r.when > STORM:
            continue
        is_raw = is_round_the_sand(plan, r)
        where = _leaves_by(r, zones) if is_raw else r.tap
        if where in seen:
            continue
        seen.add(where)
        yield Finding(
            "SAF-108",
            "stop" if is_raw else "caution",
            "unfiltered roof water runs past the filter into what people drink, and only "
            f"{kinds_of(r.mechanisms)} stands before the tap"
            if is_raw
            else "some water reaches this tap past one of its barriers",
            where=where,
            got=f"{r.words}, {WHEN_WORDS[r.when]}{_passes(r)}",
            limit="every way passes every barrier that is counted on",
            source="WHO_GDWQ_2011",
            next="lead that pipe to the garden or a swale instead, then clean and disinfect what "
            "it has filled; until then boil what is drunk"
            if is_raw and where != r.tap
            else "move the barrier down, where all ways have joined, or take that way away",
        )
    alone: dict[str, list[str]] = {}
    for tap in sorted({r.tap for r in routes}):
        kinds = frozenset().union(
            *(r.mechanisms for r in routes if r.tap == tap and r.when <= STORM)
        )
        if len(kinds) > 1:
            kinds -= {"cartridge"}  # takes out no bacteria and no viruses
        if len(kinds) == 1:
            alone.setdefault(next(iter(kinds)), []).append(tap)
    for kind, taps in sorted(alone.items()):
        yield Finding(
            "SAF-109",
            "stop" if kind == "cartridge" else "caution",
            "a cartridge alone stands before a tap: it takes out neither bacteria nor viruses"
            if kind == "cartridge"
            else "one kind of barrier alone stands before a tap: a bad day of it has no second",
            where=", ".join(taps),
            got=kind,
            limit="two barriers of different kinds",
            source="WHO_GDWQ_2011",
            next=SECOND.get(kind, "put a filter before it"),
        )


SECOND = {
    "sand": "add light, chlorine or boiling after the filter",
    "cartridge": "add light or boiling after it, and sand before it; until then boil what is drunk",
}


def _leaves_by(route: Route, zones: Zones) -> str:
    """The pipe by which a route leaves the raw side; its tap where it never was there."""
    for here, there, pipe in zip(route.parts, route.parts[1:], route.pipes, strict=False):
        if zones.is_raw(here) and not zones.is_raw(there):
            return f"pipe.{pipe}"
    return route.tap


def _thrown_back(zones: Zones) -> Iterator[Finding]:
    """Dirty water that was held back or thrown off, and runs into the raw store after all."""
    parts = dict(zones.plan.parts())
    for c in zones.joined:
        thrown = THROWN_OUT.get(c.from_port)
        is_first = parts[c.from_part].kind in ("first-flush", "screen")
        if thrown is None or not is_first or not zones.is_raw(c.to_part):
            continue
        yield Finding(
            "SAF-118",
            "caution",
            f"{thrown} runs back to what people drink",
            where=f"pipe.{c.pipe_id}",
            got=f"{c.from_part} → {c.to_part}",
            limit="it ends in the open, with air under its end",
            source=COMMON_PRACTICE,
            next="lead it to the garden or a swale",
        )


def _chlorine_to_sand(plan: Plan, everything: Sequence[Way]) -> Iterator[Finding]:
    flow: nx.DiGraph[object] = nx.DiGraph()
    flow.add_nodes_from(p for p, _ in plan.parts())
    flow.add_edges_from((w.from_part, w.to_part) for w in everything)
    for part_id, step in sorted(plan.disinfections.items()):
        if step.method != "chlorine":
            continue
        hit = sorted(set(plan.filters) & nx.descendants(flow, part_id))
        for filter_id in hit:
            yield Finding(
                "SAF-110",
                "stop",
                "chlorinated water can reach the sand and kills the living skin that does the work",
                where=filter_id,
                got=" → ".join(map(str, nx.shortest_path(flow, part_id, filter_id))),
                limit="chlorine only after the filter",
                source="EMERGENCY_WASH_T9",
                next="dose into the clean tank, and cut every way from there back to the filter",
            )


def _light_before_sand(plan: Plan, routes: Sequence[Route]) -> Iterator[Finding]:
    done: set[str] = set()
    lamps = {d for d, step in plan.disinfections.items() if step.method == "uv"}
    for r in routes:
        for part_id in r.barriers:
            if (
                part_id in lamps
                and part_id not in done
                and r.when <= STORM
                and not is_cleared(plan, r.parts, part_id)
            ):
                done.add(part_id)
                yield Finding(
                    "SAF-111",
                    "caution",
                    "water that no filter has cleared comes to the lamp: dirt shades the germs",
                    where=part_id,
                    got=f"{r.words}; counted from nothing up",
                    limit="under 1 NTU before the lamp, and known transmittance",
                    source="NSF_55",
                    next="put the lamp after a filter or a fine cartridge, and let nothing join "
                    "between",
                )


def _dark(routes: Sequence[Route], zones: Zones) -> Iterator[Finding]:
    """Lamps that let water by when their power fails, and what stands before the tap then."""
    for lamp in lamps_before_taps(zones):
        if zones.plan.disinfections[lamp].shuts_off is not False:
            continue
        left = [r.mechanisms - {"uv", "cartridge"} for r in past_lamp(routes, lamp)]
        bare = not all(left)
        kinds = kinds_of(frozenset().union(*left))
        yield Finding(
            "SAF-147",
            "stop" if bare else "caution",
            "when power or lamp fails, water runs by untreated, and nobody sees it",
            where=lamp,
            got="then nothing stands before a tap" if bare else f"then {kinds} is all there is",
            limit="a valve that shuts when the power or the lamp fails",
            source=COMMON_PRACTICE,
            next="fit a normally closed valve that the lamp's own sensor holds open, and set "
            "shuts-off = true; until then draw only while its light shows, and boil after a cut",
        )


def _stores(zones: Zones) -> Iterator[Finding]:
    plan = zones.plan
    for tank_id, tank in zones.tanks.items():
        if tank.mesh_m is not None and tank.mesh_m > MESH_MOST.value:
            yield Finding(
                "SAF-112",
                "caution",
                "the mesh over vent and overflow lets mosquitoes through",
                where=tank_id,
                got=show(tank.mesh_m, "pipe", units=plan.show, digits=1),
                limit=f"at most {show(MESH_MOST.value, 'pipe', units=plan.show, digits=1)}",
                source=MESH_MOST.source,
                next="put finer metal gauze over every opening, and give mesh in the plan",
            )
        if tank.opaque is False:
            yield Finding(
                "SAF-113",
                "caution",
                "light reaches the stored water: algae grow, and feed other things",
                where=tank_id,
                limit="dark",
                source=COMMON_PRACTICE,
                next="paint, wrap or shade it, and set opaque = true",
            )
        if tank.reused:
            yield Finding(
                "SAF-114",
                "stop",
                "a used container of unknown contents stands on the way to a drinking tap",
                where=tank_id,
                got="what it held before soaks into plastic and comes out for years; no filter "
                "here takes it out",
                limit="a container with papers that show food alone",
                source=COMMON_PRACTICE,
                next="use it for the garden, or have its water tested for what it may have held",
            )


def _after_last_barrier(
    plan: Plan, routes: Sequence[Route], result: RunResult | None
) -> Iterator[Finding]:
    """Stores behind the last barrier, with nothing left in the water that goes on working."""
    done: set[str] = set()
    for r in sorted(routes, key=lambda r: (-len(r.barriers), r.when)):
        if r.when >= STORM and not r.barriers:
            continue
        last = max((r.parts.index(b) for b in r.barriers), default=len(r.parts))
        if last < len(r.parts) and _method(plan, r.parts[last]) == "chlorine":
            continue
        for part_id in r.parts[last + 1 :]:
            if part_id in plan.tanks and part_id not in done:
                done.add(part_id)
                yield _stored(part_id, result)


def _stored(tank_id: str, result: RunResult | None) -> Finding:
    age_days = None
    if result is not None and tank_id in result.store_ids and len(result.days):
        age_days = float(np.percentile(result.age_days[:, result.store_ids.index(tank_id)], 95.0))
    old = age_days is not None and age_days * SECONDS_PER_DAY > AGE_MOST.value
    return Finding(
        "SAF-115",
        "caution" if old else "note",
        "water is stored after its last barrier, and nothing in it stops what gets in or regrows",
        where=tank_id,
        got=""
        if age_days is None
        else f"on one day in twenty its water had fallen over {age_days:.0f} days earlier",
        limit="light or boiling at the tap, or chlorine kept in the store",
        source=AGE_MOST.source,
        next="keep the store shut, dark and meshed, clean it yearly, and put a last step at the "
        "tap",
    )


def _method(plan: Plan, part_id: str) -> str:
    part = plan.part(part_id)
    return part.method if isinstance(part, Disinfection) else "sand"


def _no_sampling(zones: Zones) -> Iterator[Finding]:
    """Places where a sample must be drawn to test each step, and where the plan says none can."""
    missing = [words for words, state in sampling(zones).items() if state is False]
    if missing:
        yield Finding(
            "SAF-116",
            "note",
            "no sample can be drawn here, so what the steps take out cannot be tested",
            where=", ".join(sorted(zones.plan.filters)),
            got="; ".join(missing),
            limit="three small taps: raw water, after the filter, after the last step",
            source=COMMON_PRACTICE,
            next="add sampling taps, labelled NOT FOR DRINKING before the last step, and set "
            "sample-tap = true",
        )

"""Time that water has on its way, too long or too short; and lead that it meets there."""

from __future__ import annotations

import math
from collections.abc import Iterator

import networkx as nx

from roofspring.constants import SECONDS_PER_DAY, Sourced
from roofspring.errors import Finding
from roofspring.network.result import RunResult
from roofspring.plan.geometry import dead_volume_m3
from roofspring.plan.graph import Connection
from roofspring.plan.model import Plan, split_port
from roofspring.safety.disinfection import contact_time_s, giardia_ct_mg_min_per_l
from roofspring.safety.paths.graph import STORM
from roofspring.safety.paths.zones import Zones
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import show, temp_text

LONG_STAY = Sourced(30 * SECONDS_PER_DAY, "s", ENGINEERING_CHOICE, "mean stay without a residual")
STALE_FRAC = Sourced(0.1, "", ENGINEERING_CHOICE, "content of a tap's pipe over a day's draw")
TAP_FLOW = Sourced(0.1e-3, "m3/s", ENGINEERING_CHOICE, "flow of a tap wide open")
RESIDUAL = Sourced(0.2, "mg/L", "LANTAGNE_2008", "least free chlorine after half an hour")
COLD_DEGC, CONTACT_PH, CONTACT_LOG10 = 5.0, 8.0, 3.0
"""Water for which contact is reckoned where nothing is known: cold and alkaline asks for more."""


def time_findings(zones: Zones, result: RunResult | None = None) -> Iterator[Finding]:
    """Findings on the time that water has, and on lead that it meets.

    Parameters
    ----------
    zones : Zones
    result : RunResult, optional
        Gives how long water stays, and what the taps draw.

    Yields
    ------
    Finding
        SAF-149, SAF-150, SAF-152, SAF-153.
    """
    yield from _long_stays(zones, result)
    yield from _dead_ends(zones, result)
    yield from _chlorine_without_time(zones)
    yield from _lead(zones)


def _long_stays(zones: Zones, result: RunResult | None) -> Iterator[Finding]:
    if result is None or not len(result.days):
        return
    for tank_id in zones.tanks:
        if zones.is_raw(tank_id) or tank_id not in result.store_ids:
            continue
        column = result.store_ids.index(tank_id)
        own_days = _own_stay_days(result, tank_id, column)
        if own_days is not None and own_days * SECONDS_PER_DAY > LONG_STAY.value:
            yield Finding(
                "SAF-149",
                "note",
                "clean water stays long in this store: germs that get in have time to grow",
                where=tank_id,
                got=f"{own_days:.0f} days in the mean of the run",
                limit=f"{LONG_STAY.value / SECONDS_PER_DAY:.0f} days without chlorine in it",
                source=LONG_STAY.source,
                next="draw from it often, keep it dark, cool, shut and clean, and put a last step "
                "at the tap; no germ is counted as dying in it, for it is filled all the time",
            )


def _own_stay_days(result: RunResult, tank_id: str, column: int) -> float | None:
    """Mean content over mean throughput [days]; None where nothing went through."""
    moved = sum(
        float(result.flow_m3[:, i].sum())
        for i, arc in enumerate(result.arcs)
        if arc.from_part == tank_id and arc.kind not in ("leak", "evaporation")
    )
    if moved <= 0.0:
        return None
    return float(result.end_m3[:, column].mean()) * len(result.days) / moved


def _dead_ends(zones: Zones, result: RunResult | None) -> Iterator[Finding]:
    plan = zones.plan
    drawn = {split_port(ref, default="")[0] for use in plan.uses.values() for ref in use.from_}
    by_tap: dict[str, float] = {}
    if result is not None and len(result.days):
        for i, use_id in enumerate(result.use_ids):
            first = split_port(plan.uses[use_id].from_[0], default="")[0]
            by_tap[first] = by_tap.get(first, 0.0) + float(result.delivered_m3[:, i].mean())
    for c in zones.joined:
        tap = plan.taps.get(c.to_part)
        if tap is None or not tap.drinking:
            continue
        holds_m3 = (
            None if c.pipe.size_m is None else math.pi / 4.0 * c.pipe.size_m**2 * c.pipe.length_m
        )
        if c.to_part not in drawn and plan.uses:
            yield _dead_end(
                plan,
                c,
                "nothing in the plan draws from this tap: water stands in its pipe",
                holds_m3,
            )
        elif holds_m3 is not None and holds_m3 > STALE_FRAC.value * by_tap.get(c.to_part, math.inf):
            yield _dead_end(
                plan, c, "the pipe to this tap holds much of what is drawn in a day", holds_m3
            )


def _dead_end(plan: Plan, c: Connection, what: str, holds_m3: float | None) -> Finding:
    return Finding(
        "SAF-150",
        "note",
        what,
        where=f"pipe.{c.pipe_id}",
        got=""
        if holds_m3 is None
        else f"it holds {show(holds_m3, 'small_volume', units=plan.show)}",
        limit="water drawn within a week, and a tenth of a day's draw at most in the pipe",
        source=STALE_FRAC.source,
        next="let it run before drinking until that much has gone, shorten or narrow the pipe, or "
        "take the tap away",
    )


def _chlorine_without_time(zones: Zones) -> Iterator[Finding]:
    """Chlorine steps behind which the water has too little time before a drinking tap."""
    plan = zones.plan
    need_s = (
        60.0
        * giardia_ct_mg_min_per_l(
            CONTACT_LOG10, temp_degc=COLD_DEGC, ph=CONTACT_PH, chlorine_mg_per_l=RESIDUAL.value
        )
        / RESIDUAL.value
    )
    for step_id, step in sorted(plan.disinfections.items()):
        if step.method != "chlorine" or step_id not in zones.before:
            continue
        store_m3, where = _least_contact(zones, step_id)
        time_s = contact_time_s(store_m3, flow_m3_per_s=TAP_FLOW.value) if store_m3 > 0.0 else 0.0
        if time_s >= need_s:
            continue
        yield Finding(
            "SAF-152",
            "caution",
            "chlorine has too little time before the tap"
            if where
            else "no store stands between the chlorine and a tap: it has no time to work",
            where=step_id,
            got=f"{time_s / 60.0:.0f} minutes in the water that stays in {where} when it is drawn "
            "down"
            if where
            else "only what the pipe holds",
            limit=f"{need_s / 60.0:.0f} minutes at {RESIDUAL.value:g} mg/L, "
            f"{temp_text(COLD_DEGC, plan.show)} and pH {CONTACT_PH:g}, for 3 log of Giardia; less "
            "when warm or for bacteria alone",
            source="EPA_1991",
            next="dose a tank that is full and shut off, wait, test what is left, then drink; or "
            "put the dose before a store whose outlet stands well over its floor",
        )


def _least_contact(zones: Zones, step_id: str) -> tuple[float, str]:
    """Least water below an outlet on any way from a step to a tap, and the tanks on that way."""
    plan = zones.plan
    flow: nx.DiGraph[str] = nx.DiGraph()
    for w in zones.everything:
        if w.when <= STORM:
            held = (
                dead_volume_m3(plan.tanks[w.from_part], w.from_port)
                if w.from_part in plan.tanks
                else 0.0
            )
            if flow.has_edge(w.from_part, w.to_part):
                held = min(held, flow.edges[w.from_part, w.to_part]["held"])
            flow.add_edge(w.from_part, w.to_part, held=held)
    best: tuple[float, str] | None = None
    for tap_id, tap in sorted(plan.taps.items()):
        if tap.drinking and tap_id in flow and nx.has_path(flow, step_id, tap_id):
            path = nx.dijkstra_path(flow, step_id, tap_id, weight="held")
            held = nx.path_weight(flow, path, "held")
            tanks = ", ".join(p for p in path if p in plan.tanks)
            if best is None or held < best[0]:
                best = (held, tanks)
    return best if best is not None else (math.inf, "")


def _lead(zones: Zones) -> Iterator[Finding]:
    bad = [f"pipe.{c.pipe_id}" for c in zones.pipes() if c.pipe.lead]
    bad += [r for r, roof in sorted(zones.plan.roofs.items()) if roof.lead and r in zones.before]
    for where in bad:
        yield Finding(
            "SAF-153",
            "stop",
            "lead stands on the way to a drinking tap: soft rain water dissolves it, and no "
            "barrier here takes it out",
            where=where,
            limit="no lead; 10 µg/L is where the law acts, and none is known to do no harm",
            source="EPA_LCRI_2024",
            next="take it out; until then test for lead after a night's standing, and give infants "
            "and pregnant women other water. Boiling does not help",
        )

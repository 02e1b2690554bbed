"""Every overflow against what can reach it, and what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.heights import lip_height_m
from roofspring.network.laws import check_fittings
from roofspring.network.overflows.rows import (
    OutfallRow,
    OverflowRow,
    RunoffRow,
    brim_m,
    mouth_of,
    outfall_rows,
    overflow_rows,
    runoff_rows,
    weir_lines,
)
from roofspring.network.worst_flows import WorstFlows, worst_flows
from roofspring.plan.graph import connections
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import UnitSet, show


@dataclass(frozen=True)
class Overflows:
    """Overflows, open ends and lines from the roof of a whole plan.

    ``rain_mm_per_h`` is the intensity they are held against, and ``rain_source`` where it is from.
    """

    rain_mm_per_h: float
    rain_source: str
    rows: tuple[OverflowRow, ...]
    outfalls: tuple[OutfallRow, ...]
    runoff: tuple[RunoffRow, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        made = asdict(self)
        del made["findings"]
        return made


def assess_overflows(plan: Plan, *, rain_m_per_s: float, rain_source: str) -> Overflows:
    """Hold every overflow against the most that can reach it.

    Parameters
    ----------
    plan : Plan
    rain_m_per_s : float
        Design intensity [m/s].
    rain_source : str

    Returns
    -------
    Overflows

    Raises
    ------
    PlanError (NET-001)
        A pipe names an unknown fitting.
    """
    check_fittings(plan)

    def rise_m(part_id: str, flow_m3_per_s: float) -> float:
        """Water over a lip, no higher than the brim, where it runs over."""
        part, mouth = plan.part(part_id), mouth_of(plan, part_id)
        lip_m, top_m = lip_height_m(part), brim_m(part)
        room_m = math.inf if lip_m is None or top_m is None else max(0.0, top_m - lip_m)
        if mouth is None:
            return 0.0 if math.isinf(room_m) else room_m
        return min(room_m, mouth.rise_m(flow_m3_per_s))

    flows = worst_flows(plan, rain_m_per_s=rain_m_per_s, rise_m=rise_m)
    rows = tuple(overflow_rows(plan, flows))
    outfalls = tuple(outfall_rows(plan, flows))
    runoff = tuple(runoff_rows(plan, flows))
    return Overflows(
        rain_m_per_s * 3.6e6,
        rain_source,
        rows,
        outfalls,
        runoff,
        (*_findings(plan, rows, outfalls, runoff), *_siphons(plan, flows)),
    )


def _findings(
    plan: Plan,
    rows: tuple[OverflowRow, ...],
    outfalls: tuple[OutfallRow, ...],
    runoff: tuple[RunoffRow, ...],
) -> Iterator[Finding]:
    units: UnitSet = plan.show
    lacking = [row for row in rows if row.missing]
    if lacking:
        yield Finding(
            "OVF-101",
            "note",
            "whether these overflows carry what can reach them is not known",
            where=lacking[0].where,
            got="missing: " + ", ".join(dict.fromkeys(m for row in lacking for m in row.missing)),
            next="give what is missing",
        )
    fed = {
        c.to_part
        for c in connections(plan)
        if isinstance(plan.part(c.from_part), (Tank, Filter)) and c.from_port != "overflow"
    }
    for row in rows:
        yield from _too_small(row, units)
        yield from _drowned(row, units, is_fed=row.where.rpartition(".")[0] in fed)
        yield from _backs_up(row, plan, units)
    open_ends = [row for row in outfalls if not row.is_guarded]
    if open_ends:
        yield Finding(
            "OVF-105",
            "note",
            "animals can creep into the tank by these open ends",
            where=open_ends[0].where,
            got=f"so do {', '.join(row.where for row in open_ends[1:])}"
            if len(open_ends) > 1
            else "",
            source=COMMON_PRACTICE,
            next="fit a flap or a water seal, or a mesh several times as wide as the pipe, and "
            "clean it",
        )
    yield from _washes(outfalls, units)
    for line in runoff:
        yield from _runs_full(line, units)


def _flow(value: float, units: UnitSet) -> str:
    return show(value, "flow", units=units, digits=0)


def _too_small(row: OverflowRow, units: UnitSet) -> Iterator[Finding]:
    if row.is_carried is not False:
        return
    assert row.carries_m3_per_s is not None and row.room_m is not None
    if row.cure_mesh_m2 is not None:
        area = show(row.cure_mesh_m2, "area", units=units, digits=3)
        cure = f"make the mesh over it at least {area} wide, as a basket or a hood, not a disc in "
        cure += "the pipe; or seal it with a flap instead"
    elif row.cure_size_m is not None:
        cure = f"take a pipe of {show(row.cure_size_m, 'pipe', units=units)} bore"
    else:
        cure = "lower the overflow for more room under the brim, fit a second one, or let less in"
    yield Finding(
        "OVF-102",
        "caution",
        "this overflow cannot carry all that can reach it, and the rest runs over the brim",
        where=row.where,
        got=f"{_flow(row.carries_m3_per_s, units)} with water to the brim"
        + (" and the mesh across its bore half blind" if row.mesh_is_bore else ""),
        limit=f"{_flow(row.brings_m3_per_s, units)}: the cloudburst, floats stuck open, nothing "
        "drawn",
        source=ENGINEERING_CHOICE,
        next=cure,
    )


def _drowned(row: OverflowRow, units: UnitSet, *, is_fed: bool) -> Iterator[Finding]:
    if is_fed and row.gap_m is not None and row.gap_m < 0.0 and row.is_carried:
        yield Finding(
            "OVF-103",
            "caution",
            "the inlet drowns when this part spills all that can reach it: water can then be drawn "
            "back into the line that feeds it",
            where=row.where,
            got=f"water stands {show(-row.gap_m, 'gap', units=units)} over the inlet",
            limit="an air gap",
            source=COMMON_PRACTICE,
            next=f"raise the inlet by {show(-row.gap_m, 'gap', units=units)} and two pipe bores, "
            "or take a wider overflow",
        )


def _backs_up(row: OverflowRow, plan: Plan, units: UnitSet) -> Iterator[Finding]:
    if row.over_far_m is None or row.over_far_m >= 0.0 or row.leads_to in plan.swales:
        return
    yield Finding(
        "OVF-104",
        "caution",
        f"this overflow backs up: {row.leads_to}, full and spilling, stands higher than its lip",
        where=row.where,
        got=f"{show(-row.over_far_m, 'gap', units=units)} over the lip",
        limit="under it",
        source=COMMON_PRACTICE,
        next=f"lower the overflow of {row.leads_to}, or lead this one elsewhere",
    )


def _washes(outfalls: tuple[OutfallRow, ...], units: UnitSet) -> Iterator[Finding]:
    """Open ends that wash out the ground, told once, by the one that needs the greatest stones."""
    loose = [row for row in outfalls if not row.is_held]
    if not loose:
        return

    def speed(value: float) -> str:
        return show(value, "speed", units=units, digits=1)

    row = max(loose, key=lambda end: end.stones.stone_m)
    stones, others = row.stones, [end.where for end in loose if end is not row]
    yield Finding(
        "OVF-106",
        "note",
        "the stones under this open end are too small or too few for all that can come"
        if row.ground == "stones"
        else "all that can come washes out the ground under this open end",
        where=row.where,
        got=f"{speed(row.speed_m_per_s)} at the end of the pipe, on {row.ground.replace('-', ' ')}"
        + (f"; so do {', '.join(others)}" if others else ""),
        limit=f"{speed(row.bears_m_per_s)} without stones",
        source={"grass": COMMON_PRACTICE}.get(row.ground, "FORTIER_SCOBEY_1926"),
        next=f"lay stones of {show(stones.stone_m, 'gap', units=units)} or more (half by mass), "
        f"{show(stones.thick_m, 'gap', units=units)} thick, "
        f"{show(stones.length_m, 'length', units=units)} long and "
        f"{show(stones.wide_m, 'length', units=units)} wide at the far end (FHWA HEC 14)",
    )


def _siphons(plan: Plan, flows: WorstFlows) -> Iterator[Finding]:
    """Lines from a weir that a clean bed fills, so that they can draw the box down past it."""
    units: UnitSet = plan.show
    for c, carries in weir_lines(plan):
        most = flows.by_pipe.get(c.pipe_id, 0.0)
        if most <= carries:
            continue
        yield Finding(
            "OVF-107",
            "caution",
            "clean and with its box full, this filter fills the line behind its weir: without air "
            "let in there, the line draws as a siphon, and can draw the sand dry",
            where=f"pipe.{c.pipe_id}",
            got=f"up to {_flow(most, units)}",
            limit=f"{_flow(carries, units)}, seven tenths full",
            source=COMMON_PRACTICE,
            next="fit an open vent at the weir, throttle the filter, or take a wider line",
        )


def _runs_full(row: RunoffRow, units: UnitSet) -> Iterator[Finding]:
    if row.carries_m3_per_s >= row.brings_m3_per_s:
        return
    yield Finding(
        "ROF-112",
        "caution",
        "this line from the roof carries less than can come to it: the gutter or the part above "
        "spills",
        where=row.where,
        got=f"{_flow(row.carries_m3_per_s, units)} seven tenths full, at a fall of "
        f"{100.0 * row.fall_frac:.1f} %",
        limit=_flow(row.brings_m3_per_s, units),
        source="CHOW_1959, Manning's formula",
        next="lay it steeper, or lead part of the roof elsewhere"
        if row.cure_size_m is None
        else f"take a pipe of {show(row.cure_size_m, 'pipe', units=units)} bore, or lay it steeper",
    )

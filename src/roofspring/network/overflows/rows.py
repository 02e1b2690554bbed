"""One row for each overflow, each open end over a swale, and each line that runs part full."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.hydraulics import (
    Apron,
    apron,
    downpipe_flow_m3_per_s,
    drain_flow_m3_per_s,
    ground_speed_m_per_s,
    pipe_exit,
)
from roofspring.hydraulics.outfall import PIPE_MANNING
from roofspring.network.heights import lip_height_m
from roofspring.network.overflows.mouth import Mouth
from roofspring.network.pipes.rows import ends_m
from roofspring.network.worst_flows import WorstFlows
from roofspring.plan.geometry import inside_height_m
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Filter, FirstFlush, Part, Pipe, Plan, Roof, Screen, Swale, Tank
from roofspring.units import UnitSet

FULL_FRAC = 0.7
"""Depth over bore at which a drain counts as full, so that air goes along; EN 12056-3, from
memory."""
UPRIGHT_FRAC = 0.5
"""Fall over length from which a line counts as a downpipe; engineering choice."""
BORES_M: dict[UnitSet, tuple[float, ...]] = {
    "metric": (0.050, 0.063, 0.075, 0.090, 0.100, 0.110, 0.125, 0.150, 0.200, 0.250),
    "us": tuple(0.0254 * inches for inches in (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)),
}
"""Bores to choose from; the trade's nominal sizes, inside a little less or more."""


@dataclass(frozen=True)
class OverflowRow:
    """One overflow with what can reach it.

    Attributes
    ----------
    where, label, leads_to : str
    brings_m3_per_s : float
        Most that can come to the part [m3/s]; infinite where the plan does not say.
    size_m : float or None
        Bore of its pipe.
    has_mesh, mesh_is_bore : bool
        Whether a mesh stands over it, and whether that is no wider than its bore, as it is taken to
        be where the plan does not say.
    room_m : float or None
        From the lip to the brim or rim [m].
    carries_m3_per_s : float or None
        With water up to the brim and the mesh half blind [m3/s].
    rise_m : float or None
        Water over the lip when all that can come does [m]; infinite where it is never carried.
    gap_m : float or None
        Air left between that water and the inlet [m]; negative where the inlet drowns.
    over_far_m : float or None
        Lip over the highest water it leads to [m]; negative where that backs up.
    cure_size_m : float or None
        Smallest bore that carries it; None where it is carried, or none of the sizes does.
    cure_mesh_m2 : float or None
        Area of mesh that carries it; None where there is none, or a wider pipe is needed first.
    missing : tuple of str
        What the plan lacks to say more.
    """

    where: str
    label: str
    leads_to: str
    brings_m3_per_s: float
    size_m: float | None
    has_mesh: bool
    mesh_is_bore: bool
    room_m: float | None
    carries_m3_per_s: float | None
    rise_m: float | None
    gap_m: float | None
    over_far_m: float | None
    cure_size_m: float | None
    cure_mesh_m2: float | None
    missing: tuple[str, ...]

    @property
    def is_carried(self) -> bool | None:
        """Whether all that can come is; None where that is not known."""
        if self.carries_m3_per_s is None or not math.isfinite(self.brings_m3_per_s):
            return None
        return self.carries_m3_per_s >= self.brings_m3_per_s * (1.0 - 1e-6)


@dataclass(frozen=True)
class OutfallRow:
    """One open end over a swale.

    Attributes
    ----------
    where, ground : str
    flow_m3_per_s, speed_m_per_s, bears_m_per_s : float
        Most that can come, its speed at the end, and what the ground bears.
    stones : Apron
        Stones that hold.
    is_held : bool
        By the ground, or by the stones that the plan has there.
    is_guarded : bool
        A flap, a seal or a mesh keeps animals out.
    """

    where: str
    ground: str
    flow_m3_per_s: float
    speed_m_per_s: float
    bears_m_per_s: float
    stones: Apron
    is_held: bool
    is_guarded: bool


@dataclass(frozen=True)
class RunoffRow:
    """One line from the roof: what can come, and what it carries seven tenths full."""

    where: str
    label: str
    brings_m3_per_s: float
    carries_m3_per_s: float
    fall_frac: float
    cure_size_m: float | None


def mouth_of(plan: Plan, part_id: str) -> Mouth | None:
    """The overflow of a tank or filter; None where no pipe with a size leaves it."""
    found = _over(plan, part_id)
    if found is None or found.pipe.size_m is None:
        return None
    part = plan.part(part_id)
    return _mouth(found, part, dict(plan.parts()), found.pipe)


def _mouth(c: Connection, part: Part, parts: dict[str, Part], pipe: Pipe) -> Mouth:
    lip_m, far_m = lip_height_m(part), parts[c.to_part].height_m(c.to_port)
    outfall = pipe.outfall
    mesh_m = part.mesh_m if isinstance(part, Tank) else None
    if outfall is not None and outfall.mesh_m is not None:
        mesh_m = outfall.mesh_m
    area_m2 = None if outfall is None else outfall.mesh_area_m2
    return Mouth(
        pipe,
        part.overflow_form if isinstance(part, Tank) else "side",
        None if lip_m is None or far_m is None else lip_m - far_m,
        mesh_m,
        area_m2,
    )


def _over(plan: Plan, part_id: str) -> Connection | None:
    return next(
        (c for c in connections(plan) if (c.from_part, c.from_port) == (part_id, "overflow")), None
    )


def brim_m(part: Part) -> float | None:
    """Height of a tank's brim or of a filter's rim."""
    if isinstance(part, Tank):
        return None if part.base_m is None else part.base_m + inside_height_m(part)
    return part.rim_m if isinstance(part, Filter) else None


def overflow_rows(plan: Plan, flows: WorstFlows) -> Iterator[OverflowRow]:
    """A row for each tank and filter whose overflow is piped."""
    parts = dict(plan.parts())
    for part_id, part in parts.items():
        c = _over(plan, part_id)
        if c is not None and isinstance(part, (Tank, Filter)):
            yield _overflow_row(plan, c, part, parts, flows)


def _overflow_row(
    plan: Plan, c: Connection, part: Tank | Filter, parts: dict[str, Part], flows: WorstFlows
) -> OverflowRow:
    part_id, brings = c.from_part, flows.by_part[c.from_part]
    lip_m, top_m, far = lip_height_m(part), brim_m(part), parts[c.to_part]
    room_m = None if lip_m is None or top_m is None else top_m - lip_m
    mouth = mouth_of(plan, part_id)
    rise_m = carries = gap_m = over_far_m = cure_size_m = cure_mesh_m2 = None
    if mouth is not None and math.isfinite(brings):
        rise_m = mouth.rise_m(brings)
    if mouth is not None and room_m is not None:
        carries = mouth.carries_m3_per_s(room_m)
    if lip_m is not None and rise_m is not None and part.inlet_m is not None:
        gap_m = part.inlet_m - lip_m - rise_m
    if lip_m is not None:
        far_m = _far_water_m(plan, c.to_part, far, flows)
        over_far_m = None if far_m is None else lip_m - far_m
    if mouth is not None and rise_m is not None and room_m is not None and rise_m > room_m:
        if mouth.mesh_m is not None:  # else nothing says how fine it must be
            area_m2 = mouth.mesh_for_m2(brings, room_m=0.9 * room_m)
            cure_mesh_m2 = area_m2 if math.isfinite(area_m2) else None
        if cure_mesh_m2 is None:
            cure_size_m = _cure(plan, c, part, parts, brings, room_m)
    missing = [
        name
        for name, value in (
            (f"{c.pipe_id}.size", c.pipe.size_m),
            (f"{part_id}.{'rim' if isinstance(part, Filter) else 'base'}", top_m),
            (f"{part_id}.overflow", lip_m),
        )
        if value is None
    ]
    if not math.isfinite(brings):
        missing.append(f"sizes and heights of what feeds {part_id}")
    return OverflowRow(
        f"{part_id}.overflow",
        part.label or part_id,
        c.to_part,
        brings,
        c.pipe.size_m,
        mouth is not None and mouth.mesh_m is not None,
        c.pipe.outfall is None or c.pipe.outfall.mesh_area_m2 is None,
        room_m,
        carries,
        rise_m,
        gap_m,
        over_far_m,
        cure_size_m,
        cure_mesh_m2,
        tuple(missing),
    )


def _far_water_m(plan: Plan, far_id: str, far: Part, flows: WorstFlows) -> float | None:
    """Highest water where an overflow leads: a full swale, or a tank that spills itself."""
    if isinstance(far, Swale):
        return far.inlet_m
    lip_m, mouth = lip_height_m(far), mouth_of(plan, far_id)
    if lip_m is None or mouth is None or not math.isfinite(flows.by_part[far_id]):
        return lip_m
    top_m = brim_m(far)
    water_m = lip_m + mouth.rise_m(flows.by_part[far_id])
    return water_m if top_m is None else min(top_m, water_m)


def _cure(
    plan: Plan, c: Connection, part: Part, parts: dict[str, Part], brings: float, room_m: float
) -> float | None:
    """Smallest bore at which the water stays under the brim, with the mesh as it is."""
    for bore_m in BORES_M[plan.show]:
        if bore_m <= (c.pipe.size_m or 0.0):
            continue
        wider = _mouth(c, part, parts, c.pipe.model_copy(update={"size_m": bore_m}))
        if wider.rise_m(brings) <= 0.9 * room_m:
            return bore_m
    return None


def outfall_rows(plan: Plan, flows: WorstFlows) -> Iterator[OutfallRow]:
    """A row for each pipe with a size that ends at a swale."""
    parts = dict(plan.parts())
    for c in connections(plan):
        swale, size_m = parts[c.to_part], c.pipe.size_m
        flow = flows.by_pipe.get(c.pipe_id, 0.0)
        if not isinstance(swale, Swale) or size_m is None:
            continue
        if flow <= 0.0 or not math.isfinite(flow):
            continue
        from_m, to_m = ends_m(c, parts)
        fall = 0.0 if from_m is None or to_m is None else max(0.0, from_m - to_m)
        end = pipe_exit(flow, diameter_m=size_m, fall_frac=min(1.0, fall / c.pipe.length_m))
        fast = end.speed_m_per_s**2 > GRAVITY_M_PER_S2 * end.depth_m
        stones = apron(flow, diameter_m=size_m, depth_m=end.depth_m if fast else None)
        outfall = c.pipe.outfall
        ground: str = swale.soil or "soil"
        if outfall is not None and outfall.ground != "soil":
            ground = outfall.ground
        is_held, bears = False, ground_speed_m_per_s("soil" if ground == "stones" else ground)
        if outfall is not None and ground == "stones":
            is_held = (outfall.stone_m or 0.0) >= stones.stone_m * (1.0 - 1e-6)
            is_held = is_held and outfall.apron_m >= stones.length_m * (1.0 - 1e-6)
        elif end.speed_m_per_s <= bears:
            is_held = True
        source = parts[c.from_part]
        meshed = isinstance(source, Tank) and source.mesh_m is not None
        guarded = meshed or (outfall is not None and (outfall.flap or outfall.mesh_m is not None))
        yield OutfallRow(
            f"pipe.{c.pipe_id}",
            ground,
            flow,
            end.speed_m_per_s,
            bears,
            stones,
            is_held,
            guarded or not isinstance(source, (Tank, Filter)),
        )


def runoff_rows(plan: Plan, flows: WorstFlows) -> Iterator[RunoffRow]:
    """A row for each line from a roof, screen or first flush whose size and fall are known."""
    parts = dict(plan.parts())
    for c in connections(plan):
        if not isinstance(parts[c.from_part], (Roof, Screen, FirstFlush)):
            continue
        from_m, to_m = ends_m(c, parts)
        brings = flows.by_pipe.get(c.pipe_id, 0.0)
        if c.pipe.size_m is None or from_m is None or to_m is None or to_m >= from_m:
            continue
        if brings <= 0.0:
            continue
        fall_frac = min(1.0, (from_m - to_m) / c.pipe.length_m)
        carries = _part_full_m3_per_s(c.pipe.size_m, fall_frac)
        cure_m = None
        if carries < brings:
            wider = (b for b in BORES_M[plan.show] if b > (c.pipe.size_m or 0.0))
            cure_m = next((b for b in wider if _part_full_m3_per_s(b, fall_frac) >= brings), None)
        yield RunoffRow(
            f"pipe.{c.pipe_id}", c.pipe.label or c.pipe_id, brings, carries, fall_frac, cure_m
        )


def weir_lines(plan: Plan) -> Iterator[tuple[Connection, float]]:
    """Lines from the weir of a filter, with what they carry while air goes along."""
    parts = dict(plan.parts())
    for c in connections(plan):
        from_m, to_m = ends_m(c, parts)
        if not isinstance(parts[c.from_part], Filter) or c.from_port != "outlet":
            continue
        if c.pipe.size_m is None or from_m is None or to_m is None or to_m >= from_m:
            continue
        fall_frac = min(1.0, (from_m - to_m) / c.pipe.length_m)
        yield c, _part_full_m3_per_s(c.pipe.size_m, fall_frac)


def _part_full_m3_per_s(bore_m: float, fall_frac: float) -> float:
    sloped = drain_flow_m3_per_s(
        bore_m, fall_frac=fall_frac, manning=PIPE_MANNING, depth_frac=FULL_FRAC
    )
    return sloped if fall_frac < UPRIGHT_FRAC else min(sloped, downpipe_flow_m3_per_s(bore_m))

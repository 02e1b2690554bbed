"""What left over overflows and gutters, and what never reached a store, each with why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.network.assemble import Assembled
from roofspring.network.events import after_filters, is_spill
from roofspring.network.result import GROUND
from roofspring.network.window import WindowResult
from roofspring.plan.geometry import volume_to_depth_m
from roofspring.plan.model import Filter, FirstFlush, Plan, Tank
from roofspring.units import show

FloatArray = npt.NDArray[np.float64]

LEAST_TOLD_M3 = 1e-4
_LOST = {
    "wetting": "wetted the roof and dried off",
    "splash": "splashed, blew or leaked away",
    "slid": "slid off as snow",
    "reject": "thrown off by the screen with the leaves",
    "weep": "held by the first flush and wept away",
    "leak": "leaked away",
}


@dataclass(frozen=True)
class Went:
    """Where some of the water went, and why."""

    where: str
    m3: float
    why: str


def spilled(plan: Plan, window: WindowResult) -> tuple[Went, ...]:
    """What left over each overflow, the most first, with the flows that made it do so."""
    rows = []
    flow = flow_words(plan)
    moved = window.flow_m3.sum(axis=0)
    filtered = after_filters(window.arcs)
    for j, arc in enumerate(window.arcs):
        over_brim = arc.kind == "rim"
        if not (over_brim or is_spill(plan, arc, filtered)) or moved[j] < LEAST_TOLD_M3:
            continue
        into = [i for i, a in enumerate(window.arcs) if a.to_part == arc.from_part]
        out = [
            i
            for i, a in enumerate(window.arcs)
            if a.from_part == arc.from_part and a.kind not in ("overflow", "rim")
        ]
        peak = int(np.argmax(window.flow_m3[:, j]))
        came = float(window.flow_m3[peak, into].sum()) / window.step_s
        went = float(window.flow_m3[peak, out].sum()) / window.step_s
        minutes = int((window.flow_m3[:, j] > 0.0).sum()) * window.step_s / 60.0
        part = dict(plan.parts())[arc.from_part]
        to = "the ground" if arc.to_part == GROUND else arc.to_part
        rows.append(
            Went(
                part.label or arc.from_part,
                float(moved[j]),
                f"{'over its brim' if over_brim else 'full'}; at worst {flow(came)} came in and "
                f"{flow(went)} went on; it spilled to {to} for {minutes:.0f} minutes",
            )
        )
    return tuple(sorted(rows, key=lambda w: (-w.m3, w.where)))


def over_gutters(
    plan: Plan, window: WindowResult, assembled: Assembled
) -> tuple[tuple[str, Went], ...]:
    """Roof by roof, what ran over its gutter, with what it carries and the worst step."""
    rows = []
    flow = flow_words(plan)
    for j, arc in enumerate(window.arcs):
        over = window.flow_m3[:, j]
        if arc.kind != "gutter" or over.sum() < LEAST_TOLD_M3:
            continue
        roof = arc.from_part
        came = over + window.flow_m3[:, assembled.topology.out[roof]]
        carries = assembled.net.gutter_m3_per_s[window.nodes.index(roof)]
        minutes = int((over > 0.0).sum()) * window.step_s / 60.0
        went = Went(
            f"gutter of {plan.roofs[roof].label or roof}",
            float(over.sum()),
            f"it carries {flow(carries)}; at worst {flow(came.max() / window.step_s)} ran off the "
            f"roof in {span_words(window.step_s)}; it spilled to the ground for "
            f"{minutes:.0f} minutes",
        )
        rows.append((roof, went))
    return tuple(rows)


def lost(plan: Plan, window: WindowResult) -> tuple[Went, ...]:
    """What never reached a store."""
    parts = dict(plan.parts())
    moved = window.flow_m3.sum(axis=0)
    rows: dict[tuple[str, str], float] = {}
    for arc, volume in zip(window.arcs, moved, strict=True):
        if arc.kind in _LOST and arc.to_part not in (*plan.tanks, *plan.filters):
            name = parts[arc.from_part].label or arc.from_part
            key = (name, _LOST[arc.kind])
            rows[key] = rows.get(key, 0.0) + float(volume)
    for i, part_id in enumerate(window.nodes):
        part = parts.get(part_id)
        if isinstance(part, FirstFlush):
            held_m3 = float(window.content_m3[-1, i])
            rows[(part.label or part_id, "still held by the first flush")] = held_m3
    return tuple(
        Went(where, m3, why) for (where, why), m3 in sorted(rows.items()) if m3 >= LEAST_TOLD_M3
    )


def level_m(plan: Plan, part_id: str, content_m3: FloatArray) -> FloatArray | None:
    """Levels of a tank or filter whose heights are given [m above the datum]; else None."""
    part = dict(plan.parts()).get(part_id)
    if isinstance(part, Tank) and part.base_m is not None:
        depths_m = [volume_to_depth_m(part, float(v)) for v in content_m3]
        return part.base_m + np.array(depths_m)
    if isinstance(part, Filter) and part.outlet_m is not None:
        return part.outlet_m + content_m3 / part.area_m2
    return None


def peaks_m(plan: Plan, window: WindowResult) -> dict[str, float]:
    """Highest level of each tank and filter whose heights are given [m above the datum]."""
    peaks = {}
    for i, part_id in enumerate(window.nodes):
        most_m = level_m(plan, part_id, window.content_m3[:, i].max(keepdims=True))
        if most_m is not None:
            peaks[part_id] = float(most_m[0])
    return peaks


def flow_words(plan: Plan) -> Callable[[float], str]:
    """Flows in the units of a plan."""
    return lambda m3_per_s: show(float(m3_per_s), "flow", units=plan.show, digits=0)


def volume_words(plan: Plan) -> Callable[[float], str]:
    """Volumes in the units of a plan."""
    return lambda m3: show(m3, "small_volume" if abs(m3) < 10.0 else "volume", units=plan.show)


def span_words(step_s: float) -> str:
    """A step in words."""
    minutes = round(step_s / 60.0)
    return {1: "a minute", 5: "five minutes"}.get(minutes, f"{minutes} minutes")

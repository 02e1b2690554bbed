"""What the storm says is wrong, and what it took for granted."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Finding
from roofspring.network.edits import overflow_pipe, revised
from roofspring.network.laws import overflow_flow_m3_per_s
from roofspring.network.window import WindowResult
from roofspring.plan.geometry import inside_height_m, overflow_volume_m3, volume_to_depth_m
from roofspring.plan.model import Pipe, Plan, Tank
from roofspring.reliability.storm.changes import DOWNPIPE_SIZES_M
from roofspring.reliability.storm.spills import LEAST_TOLD_M3, Went, flow_words, volume_words
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import show


def gutter_findings(rows: tuple[tuple[str, Went], ...]) -> Iterator[Finding]:
    """A caution for each gutter that ran over."""
    for roof, went in rows:
        yield Finding(
            "ROF-101",
            "caution",
            "the gutter carries less than runs off the roof in the worst of this storm",
            where=f"{roof}.gutter",
            got=went.why,
            source="EN_12056_3",
            next="widen the gutter or the downpipe, give it a second outlet, or accept the loss",
        )


def overflow_findings(plan: Plan, window: WindowResult) -> Iterator[Finding]:
    """A caution for each overflow that could not carry what came, with the size that would."""
    flow = flow_words(plan)
    for j, arc in enumerate(window.arcs):
        over_m3 = float(window.flow_m3[:, j].sum())
        found = overflow_pipe(plan, arc.from_part) if arc.kind == "rim" else None
        if found is None or over_m3 < LEAST_TOLD_M3:
            continue
        tank = plan.tanks[arc.from_part]
        both = [a.kind in ("rim", "overflow") and a.from_part == arc.from_part for a in window.arcs]
        worst_m3_per_s = float(window.flow_m3[:, both].sum(axis=1).max()) / window.step_s
        carries_m3_per_s = _at_brim_m3_per_s(tank, found[1])
        size_m = _wide_enough_m(tank, found[1], worst_m3_per_s)
        wider = (
            "give it a second overflow, or lead less water to it"
            if size_m is None
            else f"a pipe of {show(size_m, 'pipe', units=plan.show)} would carry it; the lip can "
            "also stand lower under the brim"
        )
        yield Finding(
            "STO-103",
            "caution",
            "the overflow cannot carry what comes: water stands to the brim and runs over it",
            where=f"{arc.from_part}.overflow",
            got=f"{flow(worst_m3_per_s)} at worst; {volume_words(plan)(over_m3)} ran over the brim",
            limit=f"at most {flow(carries_m3_per_s)}, which it carries with the water at the brim",
            source="CHOW_1959" if tank.overflow_form == "side" else "STREETER_WYLIE_1979",
            next=wider,
        )


def _at_brim_m3_per_s(tank: Tank, pipe: Pipe) -> float:
    lip_m = volume_to_depth_m(tank, overflow_volume_m3(tank))
    head_m = inside_height_m(tank) - lip_m
    return overflow_flow_m3_per_s(pipe, head_m, form=tank.overflow_form, fall_m=None)


def _wide_enough_m(tank: Tank, pipe: Pipe, flow_m3_per_s: float) -> float | None:
    """The least size of the ladder whose mouth takes a flow with the water at the brim."""
    for size_m in DOWNPIPE_SIZES_M:
        wider = revised(pipe, {"size_m": size_m})
        if _at_brim_m3_per_s(tank, wider) >= flow_m3_per_s:
            return size_m
    return None


def limit_findings(plan: Plan) -> Iterator[Finding]:
    """What the storm takes to be wide enough."""
    bare = [roof_id for roof_id, roof in sorted(plan.roofs.items()) if roof.gutter is None]
    if bare:
        yield Finding(
            "STO-101",
            "note",
            "no gutter is given for these roofs, so they are taken to have gutters and downpipes "
            "that carry all that comes: what they would spill is counted as caught",
            where=", ".join(bare),
            source=ENGINEERING_CHOICE,
            next="add gutter to [roof...], or read the caught volume as the most that can be "
            "caught",
        )
    wide = [
        *sorted(plan.screens),
        *(f"{tank}.overflow" for tank in sorted(plan.tanks) if overflow_pipe(plan, tank) is None),
        *(f"{part}.overflow" for part in sorted(plan.filters)),
    ]
    if wide:
        yield Finding(
            "STO-102",
            "note",
            "these screens and overflows are taken to be wide enough: what more than they carry "
            "comes to them is not seen",
            where=", ".join(wide),
            source=ENGINEERING_CHOICE,
            next="give the overflow pipes of tanks their size; try a blinded screen with --fault",
        )

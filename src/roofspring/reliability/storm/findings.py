"""What the storm says is wrong, and what it took for granted."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Finding
from roofspring.network.edges import rim_flow_m3_per_s
from roofspring.network.edits import overflow_pipe, revised
from roofspring.network.laws import overflow_flow_m3_per_s
from roofspring.network.window import WindowResult
from roofspring.plan.geometry import inside_height_m, overflow_volume_m3, volume_to_depth_m
from roofspring.plan.model import Filter, Pipe, Plan, Tank
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
        part = dict(plan.parts())[arc.from_part]
        assert isinstance(part, (Tank, Filter))
        both = [a.kind in ("rim", "overflow") and a.from_part == arc.from_part for a in window.arcs]
        worst_m3_per_s = float(window.flow_m3[:, both].sum(axis=1).max()) / window.step_s
        carries_m3_per_s = _at_brim_m3_per_s(part, found[1])
        size_m = _wide_enough_m(part, found[1], worst_m3_per_s)
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
            source="CHOW_1959" if _form(part) == "side" else "STREETER_WYLIE_1979",
            next=wider,
        )


def _form(part: Tank | Filter) -> str:
    return part.overflow_form if isinstance(part, Tank) else "side"


def _at_brim_m3_per_s(part: Tank | Filter, pipe: Pipe) -> float:
    if isinstance(part, Filter):
        return rim_flow_m3_per_s(part, pipe, far_m=None) or 0.0
    lip_m = volume_to_depth_m(part, overflow_volume_m3(part))
    head_m = inside_height_m(part) - lip_m
    return overflow_flow_m3_per_s(pipe, head_m, form=_form(part), fall_m=None)


def _wide_enough_m(part: Tank | Filter, pipe: Pipe, flow_m3_per_s: float) -> float | None:
    """The least size of the ladder whose mouth takes a flow with the water at the brim."""
    for size_m in DOWNPIPE_SIZES_M:
        wider = revised(pipe, {"size_m": size_m})
        if _at_brim_m3_per_s(part, wider) >= flow_m3_per_s:
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
        *(
            f"{name}.overflow"
            for name, sand in sorted(plan.filters.items())
            if (pipe := overflow_pipe(plan, name)) is None
            or rim_flow_m3_per_s(sand, pipe[1], far_m=None) is None
        ),
    ]
    if wide:
        yield Finding(
            "STO-102",
            "note",
            "these screens and overflows are taken to be wide enough: what more than they carry "
            "comes to them is not seen",
            where=", ".join(wide),
            source=ENGINEERING_CHOICE,
            next="give the overflow pipes their size, and filters their rim; try a blinded screen "
            "with --fault",
        )

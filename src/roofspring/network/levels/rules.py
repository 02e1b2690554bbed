"""The rules of the checklist that ask the same in every state: which height stands over which.

The rules are written part by part; each gives its checks for one part or pipe. Those that depend on
what flows stand in `state_rules`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from roofspring.network.heights import lip_height_m, shut_height_m
from roofspring.network.levels.checks import LevelCheck
from roofspring.network.levels.lines import Run, runs
from roofspring.network.levels.pairs import Height, ends_of, pair
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
)
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import UnitSet

FALL_FRAC = 0.01  # least fall of a line that runs part full; common practice
INLET_OVER_LIP_M = 0.05  # engineering choice: water over the lip while it spills, and some air
WEIR_OVER_SAND_M = 0.03  # least standing water over the sand
LIP_OVER_SHUT_M = 0.03  # float droop and ripples
RIM_OVER_LIP_M = 0.10  # freeboard
AIR_GAP_DIAMETERS = 2.0
LEAST_DRIVE_M = 0.05  # engineering choice: enough to see that water will run, not at what rate


def still_rules(plan: Plan) -> Iterator[LevelCheck]:
    """Every check of heights alone that applies to a plan."""
    parts = dict(plan.parts())
    joined = connections(plan)
    runoff = runoff_parts(parts, joined)
    for c in joined:
        yield from _fall(c, parts, runoff, plan.show)
    for run in runs(plan):
        yield from _on(run, parts, plan.show)
    for part_id, part in parts.items():
        if isinstance(part, Tank):
            yield from _tank(part_id, part, joined, plan.show)
        elif isinstance(part, Filter):
            yield from _filter(part_id, part, joined, plan.show)
        elif isinstance(part, Roof):
            yield from pair(
                "LVL-001",
                "the gutter outlet lies below the eave",
                Height(f"{part_id}.eave", part.eave_m),
                Height(f"{part_id}.outlet", part.outlet_m),
                0.0,
                "raining",
                COMMON_PRACTICE,
                units=plan.show,
            )
        elif isinstance(part, (Screen, FirstFlush)):
            yield from pair(
                "LVL-002",
                "water falls through this part",
                Height(f"{part_id}.inlet", part.inlet_m),
                Height(f"{part_id}.outlet", part.outlet_m),
                0.0,
                "raining",
                COMMON_PRACTICE,
                units=plan.show,
            )


def runoff_parts(parts: dict[str, Part], joined: tuple[Connection, ...]) -> set[str]:
    """Roofs, screens, first-flush chambers, and what stands between them and the first store."""
    reached = {i for i, part in parts.items() if isinstance(part, (Roof, Screen, FirstFlush))}
    grown = True
    while grown:
        more = {
            c.to_part
            for c in joined
            if c.from_part in reached and isinstance(parts[c.to_part], (Disinfection, Diverter))
        } - reached
        reached |= more
        grown = bool(more)
    return reached


def _fall(
    c: Connection, parts: dict[str, Part], runoff: set[str], units: UnitSet
) -> Iterator[LevelCheck]:
    """Lines that run part full: downpipes, screen and flush lines, overflows."""
    if c.from_part not in runoff and c.from_port != "overflow":
        return
    upper, lower = ends_of(c, parts)
    code = "LVL-010" if c.from_port == "overflow" else "LVL-003"
    what = (
        "the overflow line falls all the way"
        if c.from_port == "overflow"
        else "the line from the roof falls all the way"
    )
    yield from pair(
        code,
        what,
        upper,
        lower,
        FALL_FRAC * c.pipe.length_m,
        "spilling or raining",
        f"{COMMON_PRACTICE}: 1 % fall",
        units=units,
    )


def _on(run: Run, parts: dict[str, Part], units: UnitSet) -> Iterator[LevelCheck]:
    """What a full tank holds must stand over all that it is led to: water does not climb."""
    tank = parts[run[0].from_part]
    if not isinstance(tank, Tank):
        return
    lip = Height(f"{run[0].from_part}.overflow", lip_height_m(tank))
    for c in run:
        if isinstance(parts[c.to_part], Filter):
            continue  # its own rule asks for more
        lower = ends_of(c, parts)[1]
        if isinstance(parts[c.to_part], Tap):
            lower = Height(f"{c.to_part}.height", lower.value_m)
        yield from pair(
            "LVL-017",
            "a full tank stands over what it feeds",
            lip,
            lower,
            LEAST_DRIVE_M,
            "tank full",
            ENGINEERING_CHOICE,
            units=units,
            move=lower,
        )


def _tank(
    part_id: str, tank: Tank, joined: tuple[Connection, ...], units: UnitSet
) -> Iterator[LevelCheck]:
    fed = [c for c in joined if c.to_part == part_id]
    lip = Height(f"{part_id}.overflow", lip_height_m(tank))
    if fed and tank.overflow_m is not None:
        yield from pair(
            "LVL-005",
            "the inlet stands clear of the water when the tank overflows",
            Height(f"{part_id}.inlet", tank.inlet_m),
            lip,
            INLET_OVER_LIP_M,
            "overflowing",
            ENGINEERING_CHOICE,
            units=units,
        )
    if tank.overflow_m is not None:
        yield from pair(
            "LVL-011",
            "the overflow lies above the outlet",
            lip,
            Height(f"{part_id}.outlet", tank.outlet_m or tank.base_m),
            0.0,
            "standing",
            COMMON_PRACTICE,
            units=units,
        )


def _filter(
    part_id: str, part: Filter, joined: tuple[Connection, ...], units: UnitSet
) -> Iterator[LevelCheck]:
    made = partial(pair, units=units)
    lip = Height(f"{part_id}.overflow", part.overflow_m)
    yield from made(
        "LVL-007",
        "the weir keeps water standing over the sand",
        Height(f"{part_id}.weir", part.outlet_m),
        Height(f"{part_id}.sand-top", part.sand_top_m),
        WEIR_OVER_SAND_M,
        "no inflow",
        "CAWST_SHEET",
    )
    yield from made(
        "LVL-013",
        "the sand fits between the floor and its surface",
        Height(f"{part_id}.sand-top", part.sand_top_m),
        Height(f"{part_id}.base", part.base_m),
        part.sand_depth_m,
        "built",
        ENGINEERING_CHOICE,
    )
    yield from made(
        "LVL-014",
        "the box has freeboard over its overflow",
        Height(f"{part_id}.rim", part.rim_m),
        lip,
        RIM_OVER_LIP_M,
        "overflowing",
        COMMON_PRACTICE,
    )
    yield from made(
        "LVL-024",
        "water can stand over the weir before it overflows",
        Height(f"{part_id}.overflow", lip_height_m(part)),
        Height(f"{part_id}.weir", part.outlet_m),
        LEAST_DRIVE_M,
        "overflowing",
        ENGINEERING_CHOICE,
    )
    for c in joined:
        if c.to_part != part_id or c.pipe.valve is None or c.pipe.valve.kind != "float":
            continue
        shut_m, assumed = shut_height_m(part, c.pipe)
        shut = Height(f"{c.pipe_id}.valve.shuts-at", None if assumed else shut_m)
        yield from made(
            "LVL-006",
            "an air gap keeps raw water from being drawn back",
            Height(f"{part_id}.inlet", part.inlet_m),
            lip,
            AIR_GAP_DIAMETERS * (c.pipe.size_m or 0.0),
            "overflowing",
            f"{COMMON_PRACTICE}: two pipe bores",
        )
        yield from made(
            "LVL-008",
            "the float valve shuts before the box overflows",
            lip,
            shut,
            LIP_OVER_SHUT_M,
            "float shut",
            COMMON_PRACTICE,
            move=shut,
        )

"""A part of a plan moved up or down as a whole, and the sand of a filter with its weir."""

from __future__ import annotations

from typing import Any

from roofspring.network.edits import revised, with_part, with_pipe
from roofspring.network.levels.rules import WEIR_OVER_SAND_M
from roofspring.plan.model import Filter, Plan, Tank

RIGID = (
    "base_m", "inlet_m", "outlet_m", "overflow_m", "drain_m", "sand_top_m", "rim_m",
)  # fmt: skip
"""Heights that go up and down with the stand of a part; the ground stays."""
NUDGE_M = 1e-3
"""A move so small that it only shows which margins move, and which way."""


def on_heights(part: Tank | Filter) -> bool:
    """Whether the plan gives any height of a part that goes with its stand."""
    return any(getattr(part, name, None) is not None for name in RIGID)


def shifted(plan: Plan, part_id: str, up_m: float) -> Plan:
    """A copy of the plan with one part raised as a whole, and the floats in it.

    Raises
    ------
    PlanError (PLN-051)
        A height beyond what a plan takes.
    """
    part = plan.part(part_id)
    assert isinstance(part, (Tank, Filter))
    values: dict[str, Any] = {}
    for name in RIGID:
        height_m = getattr(part, name, None)
        if height_m is not None:
            values[name] = height_m + up_m
    if isinstance(part, Tank) and part.more_outlets:
        values["more_outlets"] = {port: z + up_m for port, z in part.more_outlets.items()}
    plan = with_part(plan, part_id, revised(part, values))
    for pipe_id, pipe in plan.pipes.items():
        valve = pipe.valve
        if pipe.to.partition(".")[0] != part_id or valve is None or valve.shuts_at_m is None:
            continue
        moved = revised(valve, {"shuts_at_m": valve.shuts_at_m + up_m})
        plan = with_pipe(plan, pipe_id, revised(pipe, {"valve": moved}))
    return plan


def with_sand_at(plan: Plan, filter_id: str, top_m: float) -> Plan:
    """A copy of the plan with the sand of a filter at another height, and its weir with it.

    The weir keeps its height over the sand, but at least 30 mm.
    """
    part = plan.filters[filter_id]
    assert part.sand_top_m is not None and part.outlet_m is not None
    over_m = max(part.outlet_m - part.sand_top_m, WEIR_OVER_SAND_M)
    return with_part(
        plan, filter_id, revised(part, {"sand_top_m": top_m, "outlet_m": top_m + over_m})
    )

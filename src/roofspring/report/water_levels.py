"""Contents of a run back to water levels above the datum; without a run, where one would start."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from roofspring.network.result import RunResult
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.report._forms import Body, inside_height_m
from roofspring.report._shapes import bodies

Moment = Literal["mean", "last", "lowest"]
MOMENTS: dict[Moment, str] = {
    "mean": "mean of the run",
    "last": "last day of the run",
    "lowest": "lowest of the run",
}
START_WORDS = "where a run would start: no run was made"


def levels_at_start(plan: Plan) -> dict[str, float]:
    """Water level of every tank and filter [m above the datum] where a run would start.

    Tanks are as full as the plan says (half, when it says nothing), filters stand at their weir.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of part id to float
    """
    shapes = bodies(plan, levels_m={})
    levels = {p: shapes[p].inner_m["weir"] for p in plan.filters}
    for tank_id, tank in plan.tanks.items():
        levels[tank_id] = _tank_level_m(tank, shapes[tank_id], share_frac=tank.start_frac)
    return levels


def levels_from_run(plan: Plan, run: RunResult, *, moment: Moment = "mean") -> dict[str, float]:
    """Water level of every tank and filter [m above the datum] at one moment of a run.

    Parameters
    ----------
    plan : Plan
        The plan that was run.
    run : RunResult
    moment : {"mean", "last", "lowest"}
        ``mean`` is the level of the mean content, not the mean of the levels.

    Returns
    -------
    dict of part id to float
    """
    if not len(run.days):
        return {}
    content = {
        "mean": run.end_m3.mean(axis=0),
        "last": run.end_m3[-1],
        "lowest": run.low_m3.min(axis=0),
    }[moment]
    shapes = bodies(plan, levels_m={})
    levels = {}
    for i, store_id in enumerate(run.store_ids):
        body = shapes.get(store_id)
        if body is None:
            continue
        part = plan.part(store_id)
        if isinstance(part, Filter):
            levels[store_id] = body.inner_m["weir"] + float(content[i]) / part.area_m2
        elif isinstance(part, Tank):
            share = float(content[i] / run.capacity_m3[i]) if run.capacity_m3[i] > 0.0 else 0.0
            levels[store_id] = _tank_level_m(part, body, share_frac=share)
    return levels


def _tank_level_m(tank: Tank, body: Body, *, share_frac: float) -> float:
    lip = body.port_m("overflow") - body.bottom_m
    return body.bottom_m + depth_m(tank, share_frac=share_frac, lip_m=lip)


def depth_m(tank: Tank, *, share_frac: float, lip_m: float) -> float:
    """Depth of water [m] when a tank holds a share of what it holds at its overflow lip.

    Parameters
    ----------
    tank : Tank
    share_frac : float
        Content over the content at the lip, 0 to 1.
    lip_m : float
        Depth of the lip over the floor [m].

    Returns
    -------
    float

    Examples
    --------
    >>> depth_m(Tank.model_validate({"shape": "box"}), share_frac=0.5, lip_m=2.0)
    1.0
    """
    share = min(max(share_frac, 0.0), 1.0)
    if tank.table:
        depths, volumes = np.array(tank.table, dtype=float).T
        full = float(np.interp(lip_m, depths, volumes))
        return float(np.interp(share * full, volumes, depths))
    inside = inside_height_m(tank)
    if tank.shape != "lying" or not inside:
        return share * lip_m
    wanted = share * _segment(min(lip_m / inside, 1.0))
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _segment(middle) < wanted else (low, middle)
    return 0.5 * (low + high) * inside


def _segment(fill_frac: float) -> float:
    """Area of a circle below a fill height, as a share of the whole circle."""
    angle = 2.0 * math.acos(1.0 - 2.0 * fill_frac)
    return (angle - math.sin(angle)) / (2.0 * math.pi)

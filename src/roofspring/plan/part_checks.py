"""Checks of tanks, filters, lamps: a shape that yields a capacity, heights that can all be true."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from roofspring.errors import Problem
from roofspring.plan.geometry import brim_volume_m3, inside_height_m
from roofspring.plan.model import Filter, Tank
from roofspring.plan.plantext import PlanText
from roofspring.plan.salvage import Salvage
from roofspring.units import written

_SIZE_KEYS = {
    "volume": "volume_m3",
    "length": "length_m",
    "width": "width_m",
    "diameter": "diameter_m",
    "height": "height_inside_m",
    "table": "table",
}
# For each shape, sets of keys of which one must be given. A volume beside a full set must agree.
_COMPLETE: dict[str, tuple[frozenset[str], ...]] = {
    "upright": (frozenset({"diameter", "height"}), frozenset({"volume", "height"})),
    "box": (frozenset({"length", "width", "height"}), frozenset({"volume", "height"})),
    "lying": (frozenset({"diameter", "length"}),),
    "table": (frozenset({"table"}),),
}
_MAY_STAND_BESIDE = {"lying": frozenset({"volume"})}
_WORDS = {
    "upright": "diameter and height, or volume and height",
    "box": "length, width and height, or volume and height",
    "lying": "diameter and length",
    "table": "a table",
}
_SHAPE_SLACK_FRAC = 0.05
_HEIGHT_SLACK_M = 1e-6


def part_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """Problems within single parts: PLN-028 to PLN-039, PLN-053."""
    for tank_id, tank in sorted(saved.plan.tanks.items()):
        yield from _outlet_name_problems(tank_id, tank, saved, text)
        sizes = ("shape", "count", *_SIZE_KEYS)
        if all(saved.whole("tank", tank_id, key) for key in sizes):
            problems = list(_shape_problems(tank_id, tank, saved, text))
            yield from problems
            if not problems:
                yield from _tank_height_problems(tank_id, tank, saved, text)
    for filter_id, sand in sorted(saved.plan.filters.items()):
        yield from _filter_problems(filter_id, sand, saved, text)
    yield from _lamp_key_problems(saved, text)


def _outlet_name_problems(
    tank_id: str, tank: Tank, saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    taken = tank.inlets + tank.outlets
    for name in saved.outlet_names.get(tank_id, ()):
        if name in taken:
            yield text.problem(
                "PLN-029",
                ("tank", tank_id, "more-outlets", name),
                "every tank already has an opening of this name",
                got=name,
                allowed="any other name than " + ", ".join(taken),
                next_step="rename it",
            )


def _shape_problems(tank_id: str, tank: Tank, saved: Salvage, text: PlanText) -> Iterator[Problem]:
    path = ("tank", tank_id)
    held = {key for key, name in _SIZE_KEYS.items() if getattr(tank, name) is not None}
    options = _COMPLETE[tank.shape]
    known = frozenset().union(*options, _MAY_STAND_BESIDE.get(tank.shape, ()))
    for key in sorted(held - known):
        yield text.problem(
            "PLN-031",
            (*path, key),
            f"a tank of the shape {tank.shape} is not described by {key}",
            allowed=_WORDS[tank.shape],
            next_step="remove this key, or change the shape",
        )
    chosen = next((option for option in options if option <= held), None)
    if chosen is None:
        given = ", ".join(sorted(held & known)) or "nothing"
        yield text.problem(
            "PLN-030",
            path,
            f"the size of this {tank.shape} tank is not complete",
            got=f"{given} given",
            allowed=_WORDS[tank.shape],
            next_step="add what is missing",
        )
    elif tank.shape == "table":
        yield from _table_problems(tank_id, tank, text)
    else:
        yield from _volume_problems(tank_id, tank, chosen, saved, text)


def _volume_problems(
    tank_id: str, tank: Tank, chosen: frozenset[str], saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    path = ("tank", tank_id, "volume")
    by_size_m3 = brim_volume_m3(tank) / tank.tanks_count
    volume_m3, units = tank.volume_m3, saved.plan.show
    if volume_m3 is None:
        return
    if volume_m3 == 0.0:
        yield text.problem(
            "PLN-031", path, "the tank holds nothing", allowed="more than 0", next_step="mend it"
        )
    elif "volume" not in chosen and not math.isclose(
        by_size_m3, volume_m3, rel_tol=_SHAPE_SLACK_FRAC
    ):
        yield text.problem(
            "PLN-031",
            path,
            f"the other sizes make {written(by_size_m3, to='m3', units=units, digits=4)}",
            allowed=f"the same within {_SHAPE_SLACK_FRAC:.0%}",
            next_step="remove the volume, or mend the sizes",
        )
    elif tank.shape == "box" and "volume" in chosen:
        yield from _loose_side_problems(tank_id, tank, text)


def _loose_side_problems(tank_id: str, tank: Tank, text: PlanText) -> Iterator[Problem]:
    """One side of a box beside its volume says nothing alone, so it would be silently unused."""
    for key in ("length", "width"):
        if getattr(tank, _SIZE_KEYS[key]) is not None:
            yield text.problem(
                "PLN-031",
                ("tank", tank_id, key),
                "one side of a box beside its volume is not used",
                allowed=_WORDS["box"],
                next_step="give both length and width, or neither",
            )


def _table_problems(tank_id: str, tank: Tank, text: PlanText) -> Iterator[Problem]:
    rows = tank.table or ()
    path = ("tank", tank_id, "table")
    rule = "rows from the floor up: depth 0 with volume 0 first, then both larger in each row"
    if len(rows) < 2:
        yield text.problem(
            "PLN-032", path, "a table needs two rows or more", allowed=rule, next_step="add rows"
        )
    elif rows[0] != (0.0, 0.0):
        yield text.problem(
            "PLN-032",
            (*path, 0),
            "the first row is not the empty tank",
            allowed=rule,
            next_step='begin with ["0 m", "0 L"]',
        )
    for i in range(1, len(rows)):
        if rows[i][0] <= rows[i - 1][0] or rows[i][1] <= rows[i - 1][1]:
            yield text.problem(
                "PLN-032",
                (*path, i),
                "this row does not lie above the one before",
                allowed=rule,
                next_step="sort the rows, and check their units",
            )


def _tank_height_problems(
    tank_id: str, tank: Tank, saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    fixed = {"outlet": tank.outlet_m, "overflow": tank.overflow_m, "drain": tank.drain_m}
    ports: dict[tuple[str, ...], float | None] = {
        ("tank", tank_id, key): height for key, height in fixed.items()
    }
    ports |= {("tank", tank_id, "more-outlets", k): h for k, h in tank.more_outlets.items()}
    known = {path: height for path, height in ports.items() if height is not None}
    if tank.base_m is None:
        if known and saved.whole("tank", tank_id, "base"):
            path = min(known, key=lambda p: text.line(p) or 0)
            yield text.problem(
                "PLN-035",
                path,
                "the height of this opening is given, but not the height of the tank's floor",
                next_step=f"add base to [tank.{tank_id}], or leave the height out",
            )
        return
    brim_m = tank.base_m + inside_height_m(tank)
    span = f"from the floor at {_said(tank.base_m, saved)} to the brim at {_said(brim_m, saved)}"
    for path, height_m in known.items():
        if not tank.base_m - _HEIGHT_SLACK_M <= height_m <= brim_m + _HEIGHT_SLACK_M:
            yield text.problem(
                "PLN-033",
                path,
                "this opening lies outside the tank",
                allowed=span,
                next_step="check this height, the base and the height inside; one datum for all",
            )
    if tank.inlet_m is not None and tank.inlet_m < tank.base_m - _HEIGHT_SLACK_M:
        yield text.problem(
            "PLN-033",
            ("tank", tank_id, "inlet"),
            "the inlet lies below the floor of the tank",
            allowed=f"at or above the floor at {_said(tank.base_m, saved)}",
            next_step="check this height and the base; one datum for all",
        )
    if tank.overflow_m is not None:
        for path, height_m in known.items():
            if path[-1] not in ("overflow", "drain") and height_m >= tank.overflow_m:
                yield text.problem(
                    "PLN-034",
                    path,
                    "no water stands at this outlet: the overflow lies at or below it",
                    allowed=f"below the overflow at {_said(tank.overflow_m, saved)}",
                    next_step="lower the outlet, or raise the overflow",
                )


def _filter_problems(
    filter_id: str, sand: Filter, saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    heights = {
        "base": sand.base_m,
        "sand-top": sand.sand_top_m,
        "overflow": sand.overflow_m,
        "rim": sand.rim_m,
    }
    order = [(key, height) for key, height in heights.items() if height is not None]
    for (low_key, low_m), (key, height_m) in pairwise(order):
        may_be_equal = (low_key, key) == ("overflow", "rim")
        if height_m < low_m or (height_m == low_m and not may_be_equal):
            yield text.problem(
                "PLN-036",
                ("filter", filter_id, key),
                f"{key} lies below {low_key}"
                if height_m < low_m
                else f"{key} lies level with {low_key}",
                allowed=f"above {low_key} at {_said(low_m, saved)}",
                next_step="check both heights; from below: base, sand-top, overflow, rim",
            )
    depth_known = saved.whole("filter", filter_id, "sand-depth")
    if sand.base_m is not None and sand.sand_top_m is not None and depth_known:
        room_m = sand.sand_top_m - sand.base_m
        if 0.0 < room_m < sand.sand_depth_m - _HEIGHT_SLACK_M:
            yield text.problem(
                "PLN-036",
                ("filter", filter_id, "sand-depth"),
                "the sand is deeper than the room between the floor and its surface",
                allowed=f"at most {_said(room_m, saved)}",
                next_step="check sand-depth (0.7 m when left out), base and sand-top",
            )


def _lamp_key_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """A dose of light, and how much of it the water lets by, say nothing of another method."""
    for step_id, step in sorted(saved.plan.disinfections.items()):
        if step.method == "uv" or not saved.whole("disinfection", step_id, "method"):
            continue
        held = {"dose": step.dose_mj_per_cm2, "transmittance": step.transmittance_frac}
        for key in (k for k, value in held.items() if value is not None):
            yield text.problem(
                "PLN-053",
                ("disinfection", step_id, key),
                f"{step.method} is not described by {key}",
                allowed='only with method = "uv"',
                next_step="remove this key, or change the method",
            )


def _said(length_m: float, saved: Salvage) -> str:
    """A length in the units of the plan."""
    return written(length_m, to="m", units=saved.plan.show)

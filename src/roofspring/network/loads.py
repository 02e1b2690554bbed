"""Loads of a plan: the mass of every full tank and filter, the ground under it, and the wind.

First sums. They find what is plainly wrong; a licensed engineer decides. Of a tank whose stand the
plan does not give, the sums are shown and nothing is found: nobody knows whether it is tied down.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.plan.geometry import brim_volume_m3, inside_height_m, plan_area_m2
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.plan.outdoors import Stand
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.structure import (
    bearing_soils,
    full_mass_kg,
    light_mass_kg,
    pressure_pa,
    runner_area_m2,
    sliding_wind_m_per_s,
    tipping_wind_m_per_s,
)
from roofspring.units import show

LEGS_COUNT = 4
STORM_M_PER_S = 40.0
"""Wind that an empty tank should stand; engineering choice near the basic speeds of building
codes, which the local code replaces."""
TALL_FRAC = 1.0
"""Height of a stand over its width from which it needs an engineer's design; engineering choice."""
RAISED_M = 0.6
SAND_KG_PER_M3 = 2650.0
WATER_KG_PER_M3 = 1000.0


@dataclass(frozen=True)
class LoadRow:
    """One tank of a set, or one filter box.

    Attributes
    ----------
    where, label : str
    count : int
    full_kg, empty_kg : float
        Of each [kg].
    stand, soil : str
    stand_m : float
        Height of the stand [m].
    is_buried : bool
        Its floor lies in the ground, so that wind and stand are left out.
    is_tied : bool
    pressure_pa, bears_pa : float
        Under what touches the ground, and what a code presumes the ground bears [Pa].
    used_frac : float
        The one over the other; infinite where a code gives nothing.
    tips_m_per_s, slides_m_per_s : float or None
        Wind that tips, and that slides, the empty tank; None where it does not apply [m/s].
    """

    where: str
    label: str
    count: int
    full_kg: float
    empty_kg: float
    stand: str
    soil: str
    stand_m: float
    is_buried: bool
    is_tied: bool
    pressure_pa: float
    bears_pa: float
    used_frac: float
    tips_m_per_s: float | None
    slides_m_per_s: float | None


@dataclass(frozen=True)
class Loads:
    """Loads of a whole plan, the heaviest first."""

    rows: tuple[LoadRow, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        return {"rows": [asdict(row) for row in self.rows]}


def assess_loads(plan: Plan) -> Loads:
    """The mass of every tank and filter, and what it does to the ground and in the wind.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Loads

    Raises
    ------
    Nothing.
    """
    rows = [_tank_row(tank_id, tank) for tank_id, tank in sorted(plan.tanks.items())]
    rows += [_filter_row(filter_id, part) for filter_id, part in sorted(plan.filters.items())]
    rows.sort(key=lambda row: (-row.full_kg, row.where))
    return Loads(tuple(rows), tuple(_findings(plan, rows)))


def _tank_row(tank_id: str, tank: Tank) -> LoadRow:
    stand = tank.stand or Stand.model_validate({"kind": "ground"})
    one_m3 = brim_volume_m3(tank) / tank.tanks_count
    empty_kg = stand.empty_kg if stand.empty_kg is not None else light_mass_kg(one_m3)
    full_kg = full_mass_kg(one_m3, empty_kg=empty_kg)
    face_m, across_m = _sides_m(tank)
    base_m = stand.width_m or across_m
    touching_m2 = {
        "ground": face_m * across_m if tank.shape != "upright" else math.pi / 4.0 * face_m**2,
        "slab": max(base_m, face_m) * base_m,
        "pallet": runner_area_m2(base_m),
        "legs": LEGS_COUNT * stand.foot_m**2,
    }[stand.kind]
    is_buried = (
        tank.base_m is not None and tank.ground_m is not None and (tank.base_m < tank.ground_m)
    )
    bears_pa = bearing_soils()[stand.soil].bears_pa
    pressure = pressure_pa(full_kg, area_m2=touching_m2)
    tips = slides = None
    if not is_buried and not tank.shelter.indoors and empty_kg > 0.0:
        height_m = inside_height_m(tank)
        tips = tipping_wind_m_per_s(
            empty_kg, face_m=face_m, height_m=height_m, base_m=base_m, stand_m=stand.height_m
        )
        slides = sliding_wind_m_per_s(empty_kg, face_m=face_m, height_m=height_m)
    return LoadRow(
        tank_id,
        tank.label or tank_id,
        tank.tanks_count,
        full_kg,
        empty_kg,
        stand.kind if tank.stand else "not given",
        stand.soil,
        stand.height_m,
        is_buried,
        stand.tied,
        pressure,
        bears_pa,
        pressure / bears_pa if bears_pa > 0.0 else math.inf,
        tips,
        slides,
    )


def _sides_m(tank: Tank) -> tuple[float, float]:
    """The longer and the shorter side of one tank as seen from above."""
    if tank.shape == "box" and tank.length_m is not None and tank.width_m is not None:
        return max(tank.length_m, tank.width_m), min(tank.length_m, tank.width_m)
    area_m2 = plan_area_m2(tank) / tank.tanks_count
    if tank.shape == "lying":
        assert tank.length_m is not None and tank.diameter_m is not None
        return max(tank.length_m, tank.diameter_m), min(tank.length_m, tank.diameter_m)
    if tank.shape == "upright":
        across_m = math.sqrt(4.0 * area_m2 / math.pi)
        return across_m, across_m
    return math.sqrt(area_m2), math.sqrt(area_m2)


def _filter_row(filter_id: str, part: Filter) -> LoadRow:
    """A box of sand and water: gravel and the drain are counted as sand where heights say so."""
    solid_m, deep_m = part.sand_depth_m, part.sand_depth_m
    if part.base_m is not None and part.sand_top_m is not None:
        solid_m = max(solid_m, part.sand_top_m - part.base_m)
    top_m = part.rim_m if part.rim_m is not None else part.overflow_m
    if part.base_m is not None and top_m is not None:
        deep_m = max(solid_m, top_m - part.base_m)
    empty_kg = light_mass_kg(part.area_m2 * max(deep_m, 1e-3))
    grains_m3 = part.area_m2 * solid_m * (1.0 - part.porosity_frac)
    water_m3 = part.area_m2 * deep_m - grains_m3
    full_kg = empty_kg + SAND_KG_PER_M3 * grains_m3 + WATER_KG_PER_M3 * water_m3
    soil = bearing_soils()["unknown"]
    pressure = pressure_pa(full_kg, area_m2=part.area_m2)
    is_buried = (
        part.base_m is not None and part.ground_m is not None and (part.base_m < part.ground_m)
    )
    return LoadRow(
        where=filter_id,
        label=part.label or filter_id,
        count=1,
        full_kg=full_kg,
        empty_kg=empty_kg,
        stand="not given",
        soil=soil.name,
        stand_m=0.0,
        is_buried=is_buried,
        is_tied=True,  # its sand holds it down
        pressure_pa=pressure,
        bears_pa=soil.bears_pa,
        used_frac=pressure / soil.bears_pa,
        tips_m_per_s=None,
        slides_m_per_s=None,
    )


def _findings(plan: Plan, rows: list[LoadRow]) -> Iterator[Finding]:
    def mass(value: float) -> str:
        return show(value, "mass", units=plan.show)

    for row in rows:
        if row.stand != "not given" and row.used_frac > 1.0 and not row.is_buried:
            bears = "nothing without a test" if row.bears_pa == 0.0 else _kpa(row.bears_pa)
            soil = bearing_soils()[row.soil]
            yield Finding(
                "LOD-101",
                "stop",
                "the ground is pressed harder than a code lets one count on",
                where=f"{row.where}.stand",
                got=f"{_kpa(row.pressure_pa)} under its {row.stand}",
                limit=f"{bears} on {_soil_words(row.soil)}",
                source=soil.source,
                next="spread the load on a slab over compacted gravel, or have the soil tested; a "
                "licensed engineer decides",
            )
        winds = [w for w in (row.tips_m_per_s, row.slides_m_per_s) if w is not None]
        loose = row.stand != "not given" and not row.is_tied
        if winds and loose and min(winds) < STORM_M_PER_S:
            tips = row.tips_m_per_s is not None and row.tips_m_per_s == min(winds)
            yield Finding(
                "LOD-102",
                "caution",
                "wind moves this tank when it is empty and nothing holds it down",
                where=row.where,
                got=f"{min(winds):.0f} m/s ({min(winds) * 3.6:.0f} km/h) "
                f"{'tips' if tips else 'slides'} it, at {mass(row.empty_kg)} empty",
                limit=f"{STORM_M_PER_S:.0f} m/s",
                source=ENGINEERING_CHOICE,
                next="strap it down, or keep a third of it full in the windy season; then write "
                "stand = { tied = true, ... } in the plan",
            )
    for tank_id, tank in sorted(plan.tanks.items()):
        stand = tank.stand
        if stand is not None and stand.kind == "pallet":
            yield Finding(
                "LOD-104",
                "caution",
                "pallets are made for transport: under standing water timber creeps, rots, tilts",
                where=f"{tank_id}.stand",
                source=COMMON_PRACTICE,
                next="set the tank on a frame or a level slab; never one full tote on another",
            )
        if stand is None or stand.height_m == 0.0:
            continue
        width_m = stand.width_m or _sides_m(tank)[1]
        if stand.height_m > TALL_FRAC * width_m or stand.height_m > RAISED_M:
            tall = stand.height_m > TALL_FRAC * width_m
            yield Finding(
                "LOD-103",
                "stop" if tall else "caution",
                "this stand is taller than it is wide" if tall else "this stand is a raised one",
                where=f"{tank_id}.stand.height",
                got=show(stand.height_m, "length", units=plan.show),
                limit=f"at most its width, {show(width_m, 'length', units=plan.show)}, and braced; "
                f"over {show(RAISED_M, 'length', units=plan.show)} only as an engineer draws it",
                source=ENGINEERING_CHOICE,
                next="lower or widen it, and have it and its bracing against wind and earthquake "
                "designed by a licensed engineer",
            )


def _kpa(value_pa: float) -> str:
    return f"{value_pa / 1e3:.0f} kPa"


def _soil_words(soil: str) -> str:
    return "soil that nobody knows" if soil == "unknown" else soil.replace("-", " ")

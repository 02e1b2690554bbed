"""Tables inside a part that say how it stands outdoors: its stand, shelter, soil and crop."""

from __future__ import annotations

from typing import Literal

from roofspring.plan.pieces import Block
from roofspring.plan.quantities import (
    Area,
    Flag,
    Grain,
    Length,
    Mass,
    Month,
    Rate,
    Share,
    SmallLength,
    given,
)
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE


class Stand(Block):
    """What a tank stands on."""

    kind: Literal["slab", "pallet", "legs", "ground"] = given(
        "A slab, pallets on three runners, four legs, or the ground itself"
    )
    height_m: SmallLength = given("Height of the stand", alias="height", default=0.0)
    width_m: Length | None = given(
        "Its width, at its narrowest, as seen from above",
        alias="width",
        derived="that of the tank",
    )
    foot_m: Length = given(
        "Side of the square foot under each leg",
        alias="foot",
        default=0.3,
        source=ENGINEERING_CHOICE,
    )
    soil: Literal["bedrock", "layered-rock", "gravel", "sand", "clay", "fill", "unknown"] = given(
        "Ground under it", default="unknown", source="CFR_3285_202"
    )
    empty_kg: Mass | None = given(
        "Mass of one empty tank, with what is fixed to it",
        alias="empty-mass",
        derived="20 kg for each m³, light as plastic is: " + ENGINEERING_CHOICE,
    )
    tied: Flag = given("The tank is strapped or bolted down", default=False)


class Shelter(Block):
    """What keeps frost from a tank, a filter or a pipe."""

    insulation_m: SmallLength = given(
        "Thickness of the insulation all round", alias="insulation", default=0.0
    )
    kind: Literal["foam", "wool", "straw", "sawdust"] = given(
        "What it is", default="foam", source=COMMON_PRACTICE
    )
    indoors: Flag = given("It stands where it does not freeze", default=False)
    buried_m: SmallLength = given("Depth of earth over it", alias="buried-depth", default=0.0)


class Growing(Block):
    """How a crop is grown."""

    months: tuple[Month, ...] = given(
        "Months, 1 to 12, in which it grows, in their order",
        derived="April to September, or October to March south of the equator",
    )
    root_store_m: SmallLength = given(
        "Depth of water that its roots can draw from the soil without want",
        alias="root-store",
        default=25e-3,
        source=ENGINEERING_CHOICE,
    )
    reaches_frac: Share = given(
        "Share of the water given that reaches the roots",
        alias="reaches",
        default=0.9,
        source=ENGINEERING_CHOICE,
    )


class Soak(Block):
    """How water leaves a swale, and what is near it."""

    rate_m_per_s: Rate | None = given(
        "Rate at which a filled test hole of its depth was seen to sink, when wet through",
        alias="rate",
        derived="by the soil, from the table of soils",
    )
    from_building_m: Length | None = given(
        "Distance to the nearest footing or cellar", alias="from-building", default=None
    )
    over_water_table_m: SmallLength | None = given(
        "Height of its bottom over the highest ground water", alias="over-water-table", default=None
    )


class Outfall(Block):
    """The open end of a pipe that leads to a swale."""

    ground: Literal["soil", "grass", "stones"] = given(
        "What the water falls on: bare soil, turf or laid stones", default="soil"
    )
    stone_m: Grain | None = given(
        "Middle size of the stones, half of them by mass smaller", alias="stone", default=None
    )
    apron_m: SmallLength = given(
        "Length of the stones from the pipe's end", alias="apron", default=0.0
    )
    flap: Flag = given("A flap or a water seal keeps animals and backflow out", default=False)
    mesh_m: Grain | None = given("Opening of the mesh over it", alias="mesh", default=None)
    mesh_area_m2: Area | None = given(
        "Area of that mesh, or of the mesh inside the tank over the overflow",
        alias="mesh-area",
        derived="the bore of the pipe",
    )

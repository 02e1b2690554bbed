"""What may get into the water: how a tank is shut, and other water that is led to the system."""

from __future__ import annotations

from typing import Any, Literal

from roofspring.plan.pieces import Block, Id, PortRef, Text
from roofspring.plan.quantities import Flag, Length, SmallLength, given
from roofspring.sources import NOT_SAID

RoofTouch = Literal[
    "bare-zinc", "copper", "treated-wood", "asbestos-cement", "plants", "old-paint", "new-paint",
    "moss-killer", "plastic-gutter", "zinc-gutter",
]  # fmt: skip
TankTouch = Literal["polyethylene", "concrete", "coated-steel", "galvanised-steel", "bitumen"]
PipeTouch = Literal["drinking-water-plastic", "drain-pipe", "copper-pipe"]


def touches(about: str) -> Any:
    """The field that names what the water of a part touches."""
    return given(f"{about}; [] where there is none of these", derived=NOT_SAID)


class Cover(Block):
    """How a tank is shut, and what can get in."""

    lid: Literal["locked", "shut", "loose", "none"] | None = given(
        "Its lid: locked, shut tight but not locked, loose, or none", derived=NOT_SAID
    )
    vent: Flag | None = given("It breathes by an opening besides its overflow", derived=NOT_SAID)
    watertight: Flag | None = given(
        "It was filled, left and watched: no water is lost, and none seeps in", derived=NOT_SAID
    )
    walled_with: tuple[Id, ...] = given(
        "Other tanks that only a wall parts from it", alias="walled-with", default=()
    )
    from_sewage_m: Length | None = given(
        "Distance to the nearest latrine, septic tank, drain field or animal pen",
        alias="from-sewage",
        derived=NOT_SAID,
    )


class Source(Block):
    """Water other than rain that is led to a part. It is not in the water balance of the run."""

    water: Literal["mains", "well", "spring", "tanker"] = given(
        "What water it is: a public main, a well, a spring, or brought by a tanker"
    )
    to: PortRef = given("Part and inlet that it is led to, like clean.inlet")
    size_m: Length | None = given("Inside diameter of its mouth", alias="size", derived=NOT_SAID)
    air_gap_m: SmallLength | None = given(
        "Free fall from its mouth to the overflow lip of what it fills; 0 where its mouth is in "
        "the water or joined to a pipe",
        alias="air-gap",
        derived=NOT_SAID,
    )
    beside_wall: Flag = given(
        "Its mouth is nearer to a wall than three times its size",
        alias="beside-wall",
        default=False,
    )
    device: Literal["none", "check", "tested"] | None = given(
        "What keeps water from running back in it: nothing, a check valve, or a backflow preventer "
        "that is tested every year",
        derived=NOT_SAID,
    )
    label: Text | None = given("Name for people", derived="the id")

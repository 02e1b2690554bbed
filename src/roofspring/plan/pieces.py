"""What the plan model is made of: the table as such, and the tables that stand inside another."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints

from roofspring.plan.quantities import (
    Count,
    Factor,
    Flow,
    Ganged,
    Height,
    Length,
    Share,
    SmallLength,
    given,
)
from roofspring.sources import ENGINEERING_CHOICE

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}$", strict=True)]
Text = Annotated[str, StringConstraints(strict=True, max_length=400)]
PortRef = Annotated[
    str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}(\.[a-z][a-z0-9-]{0,39})?$", strict=True)
]


class Block(BaseModel):
    """One table of the plan file. Unknown keys are refused; nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Gutter(Block):
    """The gutter of a roof: level, spilling over its front edge when it carries no more."""

    shape: Literal["half-round", "box"] = given(
        "Shape of its section", default="half-round", source=ENGINEERING_CHOICE
    )
    width_m: Length | None = given(
        "Width inside, at the level at which it spills; needed unless capacity is given",
        alias="width",
        default=None,
    )
    depth_m: Length | None = given(
        "Depth inside of a box, up to the level at which it spills", alias="depth", default=None
    )
    length_m: Length | None = given(
        "Whole length, shared by its outlets", alias="length", derived="too short to matter"
    )
    corners_count: Count = given(
        "Corners; any of them takes 15 % of the flow", alias="corners", default=0
    )
    outlets_count: Ganged = given("Places at which it drains", alias="outlets", default=1)
    downpipe_m: Length | None = given(
        "Inside diameter of the downpipe at each outlet",
        alias="downpipe",
        derived="wide enough not to limit the flow",
    )
    capacity_m3_per_s: Flow | None = given(
        'Flow that it carries, stated outright, like "1.5 L/s"',
        alias="capacity",
        derived="by its shape and size",
    )


class Valve(Block):
    """A valve in a pipe."""

    kind: Literal["float", "stop", "throttle", "check"] = given("What it is")
    kv_m3_per_s: Flow | None = given(
        'Flow at 1 bar with the valve open, like "1.7 m3/h"',
        alias="kv",
        derived="a full bore without loss",
    )
    open_frac: Share = given("How far it is open", alias="open", default=1.0)
    shuts_at_m: Height | None = given(
        "Water level at which a float valve is shut",
        alias="shuts-at",
        derived="50 mm under the overflow lip of the part it feeds",
    )
    band_m: SmallLength = given(
        "Fall of the water over which a float valve goes from shut to open",
        alias="band",
        default=0.0,
        source=ENGINEERING_CHOICE,
    )
    action: Literal["in-step", "on-off"] = given(
        "Whether a float valve opens in step with the falling water, or all at once at the foot of "
        "its band, to shut again at the top",
        default="in-step",
    )


class Strainer(Block):
    """A strainer in a pipe."""

    blocked_frac: Share = given("Share of it that is clogged", alias="blocked", default=0.0)
    k_factor: Factor = given(
        "Loss factor when clean", alias="k", default=1.65, source="IDELCHIK_1986"
    )

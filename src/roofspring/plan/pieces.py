"""What the plan model is made of: the table as such, and the tables that stand inside another."""

from __future__ import annotations

import unicodedata
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints

from roofspring.plan.quantities import (
    Bore,
    Count,
    Duration,
    Factor,
    Flag,
    Flow,
    Ganged,
    Height,
    Length,
    Month,
    Rate,
    Share,
    Slowness,
    SmallLength,
    ValueRefused,
    given,
)
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}$", strict=True)]


def _printable(value: str) -> str:
    """Refuse text that shows nothing, or that would speak to a terminal instead of a person."""
    if not value.strip():
        raise ValueRefused(
            "the text is empty", allowed=TEXT, next_step="say it, or remove the line"
        )
    if any(unicodedata.category(c) == "Cc" and c not in "\n\t" for c in value):
        raise ValueRefused(
            "the text has characters that cannot be printed",
            allowed=TEXT,
            next_step="take out what begins with a backslash, like \\u001b",
        )
    return value


LONGEST_TEXT_COUNT = 400
TEXT = f"text in quotes, at most {LONGEST_TEXT_COUNT} characters"
Text = Annotated[
    str,
    StringConstraints(strict=True, max_length=LONGEST_TEXT_COUNT),
    AfterValidator(_printable),
]
PortRef = Annotated[
    str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{0,39}(\.[a-z][a-z0-9-]{0,39})?$", strict=True)
]


class Block(BaseModel):
    """One table of the plan file. Unknown keys are refused; nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Gutter(Block):
    """The gutter of a roof, spilling over its front edge when it carries no more."""

    shape: Literal["half-round", "box", "trapezoid"] = given(
        "Shape of its section", default="half-round", source=ENGINEERING_CHOICE
    )
    width_m: Length | None = given(
        "Width inside, at the level at which it spills; needed unless capacity is given",
        alias="width",
        default=None,
    )
    depth_m: Length | None = given(
        "Depth inside of a box or trapezoid, up to the level at which it spills",
        alias="depth",
        default=None,
    )
    sole_m: SmallLength | None = given(
        "Width of the sole of a trapezoid", alias="sole", derived="two thirds of the width"
    )
    fall_frac: Share = given("Fall toward its outlets over length", alias="fall", default=0.0)
    length_m: Length | None = given(
        "Whole length, shared by its outlets", alias="length", derived="too short to matter"
    )
    sections_m: tuple[Length, ...] | None = given(
        "Length that drains to each outlet, in their order, where they are not equal",
        alias="sections",
        derived="equal shares of the length",
    )
    corners_count: Count = given(
        "Corners; any of them takes 15 % of the flow", alias="corners", default=0
    )
    outlets_count: Ganged = given("Places at which it drains", alias="outlets", default=1)
    downpipe_m: Bore | None = given(
        "Inside diameter of the downpipe at each outlet",
        alias="downpipe",
        derived="wide enough not to limit the flow",
    )
    spills_on: Literal["ground", "wall", "path"] = given(
        "What is under its edge: open ground, a wall or footing, or a path or door",
        alias="spills-on",
        default="ground",
    )
    capacity_m3_per_s: Flow | None = given(
        'Flow that it carries, stated outright, like "1.5 L/s"',
        alias="capacity",
        derived="by its shape and size",
    )

    @property
    def whole_m(self) -> float | None:
        """Whole length; None where neither it nor its sections are given."""
        if self.length_m is None and self.sections_m is not None:
            return sum(self.sections_m)
        return self.length_m


class Skin(Block):
    """How the living skin on a filter's sand grows."""

    law: Literal["surface-cake", "by-time", "by-water", "steady"] = given(
        "A cake that grows with the water filtered, loss that grows by a share with time or with "
        "water, or no growth",
        default="surface-cake",
        source="RUTH_1935",
    )
    cake_s_per_m: Slowness | None = given(
        "Resistance that a depth of water filtered adds, at 20 °C, for a cake",
        alias="cake",
        derived="0.05 h/m: " + ENGINEERING_CHOICE,
    )
    growth_per_day: Factor | None = given(
        "Share by which the whole resistance grows in a day of running, for growth by time",
        alias="per-day",
        derived="0.057: " + ENGINEERING_CHOICE,
    )
    growth_per_m: Factor | None = given(
        "Share by which the whole resistance grows with a metre of water filtered, for growth by "
        "water",
        alias="per-metre",
        derived="0.024: " + ENGINEERING_CHOICE,
    )
    season_months: tuple[Month, ...] = given(
        "Months, 1 to 12, of pollen, leaf fall or algae", alias="season", default=()
    )
    season_factor: Factor = given(
        "Growth in these months over that in others",
        alias="season-factor",
        default=1.0,
    )
    ripeness_frac: Share = given(
        "Ripeness when the run begins: 0 new sand, 1 ripe",
        alias="ripeness",
        default=0.9,
        source=ENGINEERING_CHOICE,
    )


class Care(Block):
    """When and how a filter is cleaned."""

    by: Literal["scrape", "rake", "swirl"] = given("How it is cleaned", default="scrape")
    below_m_per_s: Rate | None = given(
        "Cleaned when, with the water at its highest, it passes less than this",
        alias="below",
        derived="a tenth of the rate limit, or half of the throttle if that is less: "
        + ENGINEERING_CHOICE,
    )
    every_s: Duration | None = given(
        "Cleaned by the calendar too, this often", alias="every", default=None
    )
    removes_m: SmallLength | None = given(
        "Sand that one cleaning takes", alias="removes", derived="by the way of cleaning"
    )
    waste_s: Duration | None = given(
        "Time for which its water runs to waste after a cleaning",
        alias="waste",
        derived="by the way of cleaning, longer when cold",
    )
    least_sand_m: SmallLength = given(
        "Depth of sand at which it is sanded anew",
        alias="least-sand",
        default=0.5,
        source="HUISMAN_WOOD_1974",
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

    blocked_frac: Share = given(
        "Share of it that is clogged and that rinsing does not free", alias="blocked", default=0.0
    )
    guard: Flag = given(
        "A guard of gravel and mesh at the tank's drain keeps coarse matter from it", default=False
    )
    fouls_after_m: SmallLength | None = given(
        "Rain on the roofs after which it is clogged, where raw water passes it",
        alias="fouls-after",
        derived="100 mm, four storms of an inch, without a guard; never with one: "
        + COMMON_PRACTICE,
    )
    rinsed_every_s: Duration = given(
        "How often it is rinsed", alias="rinsed-every", default=7 * 86400.0, source=COMMON_PRACTICE
    )
    k_factor: Factor = given(
        "Loss factor when clean", alias="k", default=1.65, source="IDELCHIK_1986"
    )

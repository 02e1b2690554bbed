"""The plan, format 1: a graph of parts and pipes, in SI, exactly as the person wrote it.

Field names carry their unit; the name in the file (the alias) does not, because there the value
does. Heights are above one datum that the person chooses. A height that is left out is ``None``:
the questions that need it say so, the others are still answered.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar, Literal

from roofspring.plan.hygiene import Cover, PipeTouch, RoofTouch, Source, TankTouch, touches
from roofspring.plan.money import Money, Price, Priced
from roofspring.plan.outdoors import Growing, Outfall, Shelter, Soak, Stand
from roofspring.plan.pieces import (
    Block,
    Care,
    Gutter,
    Id,
    PortRef,
    Skin,
    Strainer,
    Text,
    Valve,
)
from roofspring.plan.quantities import (
    Area,
    Bore,
    Clearness,
    Count,
    Daily,
    DepthPerDay,
    Dose,
    Duration,
    Factor,
    Flag,
    Flow,
    Ganged,
    Grain,
    Height,
    Hour,
    Length,
    Month,
    Rate,
    Roundness,
    Share,
    SlowRate,
    SmallLength,
    Station,
    Uniformity,
    Voids,
    Volume,
    given,
)
from roofspring.plan.site import RunBlock, Site
from roofspring.plan.weather import Neighbour, Normals, RainBlock
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE, NOT_SAID

FORMAT = 1
MONTHS_COUNT = 12


class Part(Block):
    """Anything that stands in the graph."""

    kind: ClassVar[str]
    inlets: ClassVar[tuple[str, ...]] = ()
    outlets: ClassVar[tuple[str, ...]] = ()
    single: ClassVar[tuple[str, ...]] = ()
    """Outlets that may feed one pipe only."""

    label: Text | None = given("Name for people", derived="the id")

    def height_m(self, port: str) -> float | None:
        """Height of a port above the datum [m], or None when the plan does not give it."""
        value: float | None = getattr(self, f"{port}_m", None)
        return value


class Roof(Part):
    """A roof that drains to one gutter outlet."""

    kind = "roof"
    outlets = ("outlet",)
    single = ("outlet",)

    area_m2: Area = given("Plan area, overhang included (as seen from above)", alias="area")
    material: Literal[
        "metal", "glazed-tile", "slate", "concrete-tile", "asphalt-shingle", "membrane", "gravel"
    ] = given("Roof surface")
    coefficient_frac: Share | None = given(
        "Share of the rain, after wetting, that runs off",
        alias="coefficient",
        derived="by the material, from the roof table",
    )
    wetting_m: SmallLength | None = given(
        "Rain held by the dry surface before any runs off",
        alias="wetting",
        derived="by the material, from the roof table",
    )
    drying_m_per_s: SlowRate = given(
        "Rate at which the wet surface dries",
        alias="drying",
        default=1e-3 / 86400.0,
        source=ENGINEERING_CHOICE,
    )
    snow_lost_frac: Share = given(
        "Share of the snow that slides off or is held by ice in the gutter, where the record has "
        "temperatures",
        alias="snow-lost",
        default=0.5,
        source=ENGINEERING_CHOICE,
    )
    eave_m: Height | None = given("Height of the gutter lip", alias="eave", default=None)
    outlet_m: Height | None = given("Height of the gutter outlet", alias="outlet", default=None)
    rise_m: SmallLength | None = given(
        "Height of its ridge over the eave: wind drives rain onto it",
        alias="rise",
        derived="as if rain fell straight down",
    )
    lead: Flag | None = given(
        "Lead flashing, lead-headed nails or old lead paint is on it", derived=NOT_SAID
    )
    touches: tuple[RoofTouch, ...] | None = touches("What its water touches besides its surface")
    gutter: Gutter | None = given(
        "Its gutter; without one, all that runs off is carried away", default=None
    )


class Screen(Part):
    """A leaf screen: passes most water, throws the rest off with the leaves."""

    kind = "screen"
    inlets = ("inlet",)
    outlets = ("outlet", "reject")
    single = ("outlet", "reject")

    efficiency_frac: Share = given(
        "Share of the water that passes", alias="efficiency", default=0.9, source="BS_8515"
    )
    mesh_m: Grain | None = given("Opening of the mesh", alias="mesh", default=None)
    area_m2: Area | None = given("Area of the mesh", alias="area", default=None)
    blinds_after_m: SmallLength | None = given(
        "Rain on the roofs after which leaves and dirt have blinded it",
        alias="blinds-after",
        derived="it stays open",
    )
    rinsed_every_s: Duration = given(
        "How often it is rinsed", alias="rinsed-every", default=30 * 86400.0, source=COMMON_PRACTICE
    )
    inlet_m: Height | None = given("Height of the inlet", alias="inlet", default=None)
    outlet_m: Height | None = given("Height of the outlet", alias="outlet", default=None)
    reject_m: Height | None = given(
        "Height of the lip over which rejected water leaves", alias="reject", default=None
    )


class FirstFlush(Part):
    """A chamber that takes the first, dirtiest water of each rain and weeps empty again."""

    kind = "first-flush"
    inlets = ("inlet",)
    outlets = ("outlet", "drain")
    single = ("outlet", "drain")

    volume_m3: Volume | None = given(
        "Water held back", alias="volume", derived="depth times the roof area that drains to it"
    )
    depth_m: SmallLength = given(
        "Depth of runoff held back, where no volume is given",
        alias="depth",
        default=2e-3,
        source="MARTINSON_THOMAS_2005",
    )
    reset_s: Duration = given(
        "Time in which the full chamber weeps empty",
        alias="reset",
        default=86400.0,
        source=ENGINEERING_CHOICE,
    )
    inlet_m: Height | None = given("Height of the inlet", alias="inlet", default=None)
    outlet_m: Height | None = given("Height of the outlet", alias="outlet", default=None)
    drain_m: Height | None = given("Height of the weep drain", alias="drain", default=None)


class Tank(Part):
    """A tank or cistern; ``count`` of them ganged at one level act as one."""

    kind = "tank"
    inlets = ("inlet",)
    outlets = ("outlet", "overflow", "drain")
    single = ("overflow",)

    shape: Literal["box", "upright", "lying", "table"] = given(
        "box, upright or lying cylinder, or a table of depths and volumes", default="upright"
    )
    volume_m3: Volume | None = given(
        "Volume of one tank to its brim, where its sides are upright and its size is not given",
        alias="volume",
        default=None,
    )
    length_m: Length | None = given("Inside length", alias="length", default=None)
    width_m: Length | None = given("Inside width", alias="width", default=None)
    diameter_m: Length | None = given("Inside diameter", alias="diameter", default=None)
    height_inside_m: Length | None = given(
        "Inside height, floor to brim", alias="height", default=None
    )
    table: tuple[tuple[SmallLength, Volume], ...] | None = given(
        'Rows of depth over the floor and volume, like [["0 m", "0 L"], ["1 m", "900 L"]]',
        default=None,
    )
    tanks_count: Ganged = given("Equal tanks joined at one level", alias="count", default=1)
    ground_m: Height | None = given(
        "Height of the ground it stands on or beside", alias="ground", default=None
    )
    base_m: Height | None = given("Height of the inside floor", alias="base", default=None)
    inlet_m: Height | None = given("Height of the inlet", alias="inlet", default=None)
    outlet_m: Height | None = given(
        "Height of the outlet; water below it is out of reach", alias="outlet", derived="the floor"
    )
    overflow_m: Height | None = given(
        "Height of the overflow lip", alias="overflow", derived="the brim"
    )
    overflow_form: Literal["side", "stand-pipe"] = given(
        "A level pipe through the wall, whose bottom is the lip, or an upright pipe inside",
        alias="overflow-form",
        default="side",
        source=ENGINEERING_CHOICE,
    )
    drain_m: Height | None = given("Height of the drain", alias="drain", default=None)
    leak_m3_per_s: Flow = given(
        "What leaks away when the tank is full, through a hole at its floor",
        alias="leak",
        default=0.0,
    )
    evaporation_m_per_day: tuple[DepthPerDay, ...] | None = given(
        "Depth that the open water loses in a day, for each of the twelve months, January first",
        alias="evaporation",
        derived="it is covered",
    )
    more_outlets: Mapping[Id, Height] = given(
        "Further outlets by name, with their heights", alias="more-outlets", default={}
    )
    start_frac: Share = given(
        "Share of the store that is full when the run begins",
        alias="start",
        default=0.5,
        source=ENGINEERING_CHOICE,
    )
    opaque: Flag | None = given("No light reaches the water", derived=NOT_SAID)
    cover: Cover = given("How it is shut, and what can get in", default=Cover())
    stand: Stand | None = given("What it stands on", default=None)
    shelter: Shelter = given("What keeps frost from it", default=Shelter())
    mesh_m: Grain | None = given("Mesh over vents and overflow", alias="mesh", default=None)
    reused: Flag | None = given(
        "A used container, and what it held before is not known for certain", derived=NOT_SAID
    )
    touches: tuple[TankTouch, ...] | None = touches("What it is made of or lined with")
    sample_tap: Flag | None = given(
        "A small tap for samples is on it", alias="sample-tap", derived=NOT_SAID
    )

    def height_m(self, port: str) -> float | None:
        """Height of a port, further outlets included."""
        return self.more_outlets.get(port, super().height_m(port))


class Filter(Part):
    """A slow sand filter behind a free outlet weir."""

    kind = "filter"
    inlets = ("inlet",)
    outlets = ("outlet", "overflow", "drain")
    single = ("outlet", "overflow")

    area_m2: Area = given("Plan area of the sand", alias="area")
    sand_depth_m: Length = given(
        "Depth of the sand bed", alias="sand-depth", default=0.7, source="VISSCHER_1990"
    )
    d10_m: Grain = given(
        "Effective size of the sand, d10", alias="d10", default=0.25e-3, source="VISSCHER_1990"
    )
    uniformity: Uniformity = given(
        "Uniformity coefficient, d60/d10", default=2.0, source="VISSCHER_1990"
    )
    sieve: Text | None = given(
        "Sieve test of the sand that it is to be filled from, a path beside the plan file",
        default=None,
    )
    gravel: Literal["huisman-wood", "sherard-5", "terzaghi-4", "household"] = given(
        "Published rule by which the gravel under the sand is chosen",
        default="huisman-wood",
        source="HUISMAN_WOOD_1974",
    )
    drain_hole_m: Grain = given(
        "Diameter of the holes in the drain pipe",
        alias="drain-hole",
        default=3e-3,
        source="VAN_DIJK_OOMEN_1978",
    )
    porosity_frac: Voids = given(
        "Share of the bed that is void",
        alias="porosity",
        default=0.40,
        source=ENGINEERING_CHOICE,
    )
    sphericity_frac: Roundness = given(
        "Roundness of the grains, 1 for a ball",
        alias="sphericity",
        default=0.80,
        source=ENGINEERING_CHOICE,
    )
    skin_resistance_s: Duration = given(
        "Resistance of its living skin when the run begins, at 20 °C: head over rate, a time",
        alias="skin-resistance",
        default=4320.0,
        source=ENGINEERING_CHOICE,
    )
    skin: Skin = given("How the skin on its sand grows", default=Skin())
    care: Care = given("When and how it is cleaned", default=Care())
    shelter: Shelter = given("What keeps frost from it", default=Shelter())
    throttle_m_per_s: Rate | None = given(
        "Rate that the throttle passes at most; leave out when nothing throttles the filter",
        alias="throttle",
        default=None,
    )
    rate_limit_m_per_s: Rate = given(
        "Highest rate allowed",
        alias="rate-limit",
        default=0.4 / 3600.0,
        source="HUISMAN_WOOD_1974",
    )
    ground_m: Height | None = given(
        "Height of the ground it stands on or beside", alias="ground", default=None
    )
    base_m: Height | None = given("Height of the inside floor", alias="base", default=None)
    sand_top_m: Height | None = given("Height of the sand surface", alias="sand-top", default=None)
    inlet_m: Height | None = given(
        "Height of the inlet: the seat of its float valve", alias="inlet", default=None
    )
    overflow_m: Height | None = given("Height of the overflow lip", alias="overflow", default=None)
    rim_m: Height | None = given("Height of the top edge of the box", alias="rim", default=None)
    outlet_m: Height | None = given("Height of the outlet weir crest", alias="weir", default=None)
    drain_m: Height | None = given("Height of the drain", alias="drain", default=None)
    sample_tap: Flag | None = given(
        "Filtered water can be sampled as it leaves it", alias="sample-tap", derived=NOT_SAID
    )


class Disinfection(Part):
    """A disinfection step that the water passes on its way."""

    kind = "disinfection"
    inlets = ("inlet",)
    outlets = ("outlet",)

    method: Literal["uv", "chlorine", "boiling", "cartridge"] = given("What is done")
    shuts_off: Flag | None = given(
        "A valve shuts the water off when the power or the lamp fails",
        alias="shuts-off",
        derived=NOT_SAID,
    )
    dose_mj_per_cm2: Dose | None = given(
        "Dose a lamp was proven for, at its alarm point", alias="dose", derived=NOT_SAID
    )
    transmittance_frac: Clearness | None = given(
        "Share of its light that 1 cm of water lets by", alias="transmittance", derived=NOT_SAID
    )
    inlet_m: Height | None = given("Height of the inlet", alias="inlet", default=None)
    outlet_m: Height | None = given("Height of the outlet", alias="outlet", default=None)


class Diverter(Part):
    """A valve that sends all water one of two ways."""

    kind = "diverter"
    inlets = ("inlet",)
    outlets = ("main", "side")
    single = ("main", "side")

    position: Literal["main", "side"] = given("Where it stands", default="main")
    side_months: tuple[Month, ...] = given(
        "Months, 1 to 12, in which it stands to the side", alias="side-months", default=()
    )
    side_hours: tuple[Hour, ...] = given(
        "Hours of the day, 0 to 23, in which it stands to the side", alias="side-hours", default=()
    )
    watch: Id | None = given("Tank by whose level a float turns it to the side", default=None)
    side_above_frac: Share = given(
        "It stands to the side while the tank it watches is fuller than this",
        alias="side-above",
        default=0.95,
        source=ENGINEERING_CHOICE,
    )
    inlet_m: Height | None = given("Height of the inlet", alias="inlet", default=None)
    main_m: Height | None = given("Height of the main outlet", alias="main", default=None)
    side_m: Height | None = given("Height of the side outlet", alias="side", default=None)


class Tap(Part):
    """A tap."""

    kind = "tap"
    inlets = ("inlet",)

    drinking: Flag = given("People drink from it", default=False)
    guard: Flag = given(
        "A vacuum breaker or air gap keeps a hose on it from being sucked back", default=False
    )
    inlet_m: Height | None = given("Height of the tap mouth", alias="height", default=None)
    head_needed_m: SmallLength = given(
        "Water level needed above the mouth for a useful flow",
        alias="head-needed",
        default=0.5,
        source=COMMON_PRACTICE,
    )


class Swale(Part):
    """A ditch on the level that takes overflow and lets it soak away."""

    kind = "swale"
    inlets = ("inlet",)

    area_m2: Area | None = given("Area of the bottom", alias="area", default=None)
    depth_m: SmallLength | None = given("Depth, bottom to rim", alias="depth", default=None)
    soil: (
        Literal[
            "sand", "loamy-sand", "sandy-loam", "loam", "silt-loam", "sandy-clay-loam",
            "clay-loam", "silty-clay-loam", "silty-clay", "clay",
        ]
        | None
    ) = given("Soil under it, by its feel", default=None)  # fmt: skip
    soak: Soak = given("How water leaves it, and what is near", default=Soak())
    inlet_m: Height | None = given("Height of the rim", alias="rim", default=None)


class Pipe(Block):
    """A pipe from an outlet of one part to an inlet of another."""

    from_: PortRef = given("Part and outlet it leaves, like raw.outlet", alias="from")
    to: PortRef = given("Part and inlet it enters, like sand-a.inlet")
    size_m: Bore | None = given(
        "Inside diameter", alias="size", derived="wide enough not to limit the flow"
    )
    length_m: Length = given(
        "Length along the pipe", alias="length", default=1.0, source=ENGINEERING_CHOICE
    )
    roughness_m: SmallLength = given(
        "Roughness of the wall", alias="roughness", default=1.5e-6, source=COMMON_PRACTICE
    )
    wall: Literal["soft-plastic", "stiff-plastic", "copper", "steel"] = given(
        "What its wall is: how hard water knocks in it", default="soft-plastic"
    )
    rated_m: Length = given(
        "Head of water that it is made for; 10 m are about 1 bar",
        alias="rated",
        default=60.0,
        source=ENGINEERING_CHOICE,
    )
    high_point_m: Height | None = given(
        "Height of its highest point, where it climbs above both its ends",
        alias="high-point",
        default=None,
    )
    profile: tuple[tuple[Station, Height], ...] | None = given(
        "Its run: rows of distance along the pipe and height, from one end to the other, like "
        '[["0 m", "5.10 m"], ["4 m", "4.20 m"], ["9 m", "4.45 m"]]',
        derived="it falls or climbs evenly from end to end",
    )
    fittings: tuple[Text, ...] = given("Fittings along it, by name", default=())
    valve: Valve | None = given("A valve in it", default=None)
    strainer: Strainer | None = given("A strainer in it", default=None)
    lead: Flag | None = given("Lead, lead solder or old brass is in it", derived=NOT_SAID)
    touches: tuple[PipeTouch, ...] | None = touches("What it is made of")
    outfall: Outfall | None = given("Its open end, where it leads to a swale", default=None)
    shelter: Shelter = given("What keeps frost from it", default=Shelter())
    label: Text | None = given("Name for people", derived="the id")

    @property
    def crest_m(self) -> float | None:
        """Height of its highest point, by its profile or as stated; None where neither is given."""
        if self.profile is not None:
            return max(height_m for _, height_m in self.profile)
        return self.high_point_m


class Use(Block):
    """Water that somebody or something wants every day."""

    from_: tuple[PortRef, ...] = given(
        "Taps or tanks it draws from, first choice first", alias="from"
    )
    per_person_m3_per_day: Daily | None = given("For each person", alias="per-person", default=None)
    people_count: Count | None = given("People", alias="people", derived="the people of the site")
    per_animal_m3_per_day: Daily | None = given("For each animal", alias="per-animal", default=None)
    animals_count: Count | None = given("Animals", alias="animals", default=None)
    garden_area_m2: Area | None = given("Garden watered", alias="garden-area", default=None)
    garden_m_per_day: tuple[DepthPerDay, ...] | None = given(
        "Depth of water for each of the twelve months, January first",
        alias="garden-depth",
        default=None,
    )
    crop: (
        Literal[
            "berries", "strawberry", "tomato", "vegetables", "squash", "roots", "legumes", "maize",
            "lawn",
        ]
        | None
    ) = given("What grows there: then weather says how much it wants", default=None)  # fmt: skip
    growing: Growing = given("How the crop is grown", default=Growing())
    per_day_m3_per_day: Daily | None = given("For the whole", alias="per-day", default=None)
    months: tuple[Factor, ...] = given(
        "Factor for each of the twelve months, January first", default=(1.0,) * MONTHS_COUNT
    )
    hours: tuple[Factor, ...] = given(
        "Weight of each of the 24 hours of the day, midnight first",
        default=(1.0,) * 24,
        source=ENGINEERING_CHOICE,
    )
    importance: Count = given("1 is served first, larger numbers later", default=5)
    ration_below_frac: Share = given(
        "Ration when its stores together hold less than this share",
        alias="ration-below",
        default=0.0,
    )
    ration_to_frac: Share = given(
        "Share of the want that is given while rationed", alias="ration-to", default=1.0
    )
    label: Text | None = given("Name for people", derived="the id")


class Plan(Block):
    """A whole plan: the site, the rain, the parts, the pipes and the uses."""

    format: Literal[1] = given("Version of this file format")
    name: Text = given("Name of the place")
    show: Literal["metric", "us"] = given("Units of the answers", default="metric")
    site: Site = given("Where the system stands", default=Site())
    rain: RainBlock = given("The rain record", default=RainBlock())
    normals: Normals | None = given("Mean weather by month, without a record", default=None)
    neighbours: Mapping[Id, Neighbour] = given(
        "Rain records of other gauges nearby", alias="neighbour", default={}
    )
    run: RunBlock = given("How the run is made", default=RunBlock())
    roofs: Mapping[Id, Roof] = given("Roofs", alias="roof", default={})
    screens: Mapping[Id, Screen] = given("Screens", alias="screen", default={})
    first_flushes: Mapping[Id, FirstFlush] = given(
        "First-flush chambers", alias="first-flush", default={}
    )
    tanks: Mapping[Id, Tank] = given("Tanks and cisterns", alias="tank", default={})
    filters: Mapping[Id, Filter] = given("Slow sand filters", alias="filter", default={})
    disinfections: Mapping[Id, Disinfection] = given(
        "Disinfection steps", alias="disinfection", default={}
    )
    diverters: Mapping[Id, Diverter] = given("Diverters", alias="diverter", default={})
    taps: Mapping[Id, Tap] = given("Taps", alias="tap", default={})
    swales: Mapping[Id, Swale] = given("Swales", alias="swale", default={})
    pipes: Mapping[Id, Pipe] = given("Pipes", alias="pipe", default={})
    sources: Mapping[Id, Source] = given("Other water led in", alias="source", default={})
    uses: Mapping[Id, Use] = given("Uses", alias="use", default={})
    money: Money = given("How prices are reckoned", default=Money())
    prices: Mapping[Priced, Price] = given("Prices of the owner", alias="price", default={})

    def parts(self) -> Iterator[tuple[str, Part]]:
        """Every part with its id, sorted by id, so that the order in the file does not matter."""
        groups: tuple[Mapping[str, Any], ...] = (
            self.roofs,
            self.screens,
            self.first_flushes,
            self.tanks,
            self.filters,
            self.disinfections,
            self.diverters,
            self.taps,
            self.swales,
        )
        everything: dict[str, Part] = {}
        for group in groups:
            everything.update(group)
        yield from sorted(everything.items())

    def part(self, part_id: str) -> Part:
        """One part by its id.

        Raises
        ------
        KeyError
            No part has that id.
        """
        return dict(self.parts())[part_id]


def split_port(reference: str, *, default: str) -> tuple[str, str]:
    """Split ``"raw.overflow"`` into part and port; a bare part id means its ``default`` port."""
    part, _, port = reference.partition(".")
    return part, port or default

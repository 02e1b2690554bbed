"""Each kind of part as a body with heights: what the section drawing has to show of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import singledispatch

from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    FirstFlush,
    Part,
    Roof,
    Screen,
    Swale,
    Tank,
    Tap,
)
from roofspring.safety.paths.graph import is_counted
from roofspring.units import UnitSet, show


@dataclass(frozen=True)
class Mark:
    """One height to be written beside a body."""

    z_m: float
    text: str
    kind: str = "height"  # height | water | float


@dataclass(frozen=True)
class Body:
    """One part as it is drawn. ``width_m`` is None for a symbol that has no width of its own."""

    part_id: str
    kind: str
    name: str
    note: str
    top_m: float
    bottom_m: float
    width_m: float | None = None
    ground_m: float | None = None
    marks: tuple[Mark, ...] = ()
    ports_m: Mapping[str, float] = field(default_factory=dict)
    inner_m: Mapping[str, float] = field(default_factory=dict)
    """Heights of what is inside: sand top and foot, weir, water."""
    lying: bool = False
    estimated: bool = False

    def port_m(self, port: str) -> float:
        """Height of a port, or of the middle of the body when the port has none."""
        return self.ports_m.get(port, 0.5 * (self.top_m + self.bottom_m))


@dataclass(frozen=True)
class Around:
    """What a part knows of its surroundings when it is drawn."""

    part_id: str
    hint_m: float | None
    """A guess at its height, from its neighbours; used where the plan gives none."""
    units: UnitSet

    @property
    def guess_m(self) -> float:
        """The guess, or the datum when there is none."""
        return self.hint_m if self.hint_m is not None else 0.0


def any_height(part: Part) -> bool:
    """Whether the plan gives any height of this part, its ground left aside."""
    names = [n for n in type(part).model_fields if n.endswith("_m")]
    skip = {
        "length_m", "width_m", "diameter_m", "height_inside_m", "mesh_m", "wetting_m", "depth_m",
        "sand_depth_m", "d10_m", "head_needed_m", "ground_m",
    }  # fmt: skip
    return any(getattr(part, n) is not None for n in names if n not in skip)


def _marks(*pairs: tuple[float | None, str]) -> tuple[Mark, ...]:
    return tuple(Mark(z, text) for z, text in pairs if z is not None)


@singledispatch
def body_of(part: Part, around: Around) -> Body:
    """The body of a part."""
    raise TypeError(f"a {part.kind} ({around.part_id}) has no body: register one with body_of")


def _name(part: Part, around: Around) -> str:
    return part.label or around.part_id


@body_of.register
def _(part: Roof, around: Around) -> Body:
    outlet = part.outlet_m
    if outlet is None:
        outlet = part.eave_m - 0.1 if part.eave_m is not None else around.guess_m
    eave = part.eave_m if part.eave_m is not None else outlet + 0.1
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        f"roof, {show(part.area_m2, 'area', units=around.units, digits=0)}",
        eave,
        min(outlet, eave),
        marks=_marks((part.eave_m, "eave"), (part.outlet_m, "outlet")),
        ports_m={"outlet": outlet},
        estimated=not any_height(part),
    )


@body_of.register
def _(part: Screen, around: Around) -> Body:
    return _through(
        part,
        around,
        note="leaf screen" if part.label else "",
        ports={"outlet": part.outlet_m, "reject": part.reject_m},
        drop_m=0.15,
    )


@body_of.register
def _(part: Diverter, around: Around) -> Body:
    return _through(
        part,
        around,
        note=f"set to {part.position}",
        ports={"main": part.main_m, "side": part.side_m},
        drop_m=0.1,
    )


@body_of.register
def _(part: Disinfection, around: Around) -> Body:
    words = {"uv": "UV light"}
    note = words.get(part.method, part.method)
    return _through(
        part,
        around,
        note=note if is_counted(part) else f"{note}, not counted",
        ports={"outlet": part.outlet_m},
        drop_m=0.1,
    )


@body_of.register
def _(part: FirstFlush, around: Around) -> Body:
    body = _through(
        part,
        around,
        note="first flush" if part.label or "flush" not in around.part_id else "",
        ports={"outlet": part.outlet_m, "drain": part.drain_m},
        drop_m=0.05,
    )
    if part.drain_m is None:
        drain = body.port_m("outlet") - 0.8
        return replace(body, bottom_m=drain, ports_m={**body.ports_m, "drain": drain})
    return body


def _through(
    part: Part,
    around: Around,
    *,
    note: str,
    ports: Mapping[str, float | None],
    drop_m: float,
) -> Body:
    """A part that water only passes: an inlet, and outlets a little lower."""
    inlet = part.height_m("inlet")
    given = [z for z in (inlet, *ports.values()) if z is not None]
    start = max(given) if given else around.guess_m
    if inlet is None:
        inlet = start
    heights = {"inlet": inlet}
    for port, z in ports.items():
        heights[port] = inlet - drop_m if z is None else z
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        note,
        max(heights.values()),
        min(heights.values()),
        marks=_marks((part.height_m("inlet"), "inlet"), *((z, p) for p, z in ports.items())),
        ports_m=heights,
        estimated=not given,
    )


def _cross_area_m2(part: Tank) -> float | None:
    """Plan area of one upright tank where the plan tells it."""
    if part.diameter_m is not None:
        return math.pi * part.diameter_m**2 / 4.0
    if part.length_m is not None and part.width_m is not None:
        return part.length_m * part.width_m
    if part.volume_m3 is not None and part.height_inside_m:
        return part.volume_m3 / part.height_inside_m
    return None


def inside_height_m(part: Tank) -> float | None:
    """Inside height of a tank, from whatever the plan gives."""
    if part.height_inside_m is not None:
        return part.height_inside_m
    if part.table:
        return part.table[-1][0]
    if part.shape == "lying":
        return part.diameter_m
    area = _cross_area_m2(part)
    return part.volume_m3 / area if part.volume_m3 is not None and area else None


def _width_m(part: Tank, height_m: float) -> float | None:
    """Width of a tank as the section cuts it."""
    area = _cross_area_m2(part)
    if part.shape == "table" and part.table and height_m > 0.0:
        return math.sqrt(part.table[-1][1] / height_m)
    if part.shape == "lying":
        return part.length_m or part.diameter_m
    if part.shape == "box":
        return part.length_m or part.width_m or (math.sqrt(area) if area else None)
    if part.diameter_m is not None:
        return part.diameter_m
    return 2.0 * math.sqrt(area / math.pi) if area else None


@body_of.register
def _(part: Tank, around: Around) -> Body:
    inside = inside_height_m(part)
    height = inside if inside else 1.2
    over = part.overflow_m if part.overflow_m is not None else part.inlet_m
    base, guessed = part.base_m, part.base_m is None
    if base is None:
        lows = [
            z for z in (part.outlet_m, part.drain_m, *part.more_outlets.values()) if z is not None
        ]
        if lows:
            base = min(lows) - 0.1
        elif over is not None:
            base = over - height
        else:
            base = around.guess_m - height - 0.1
    if inside:
        brim = base + inside
    elif over is not None and over > base:
        brim = over + 0.05
    else:
        brim, guessed = base + height, True
    ports = {
        "inlet": part.inlet_m if part.inlet_m is not None else brim + 0.1,
        "outlet": part.outlet_m if part.outlet_m is not None else base,
        "overflow": part.overflow_m if part.overflow_m is not None else brim,
        "drain": part.drain_m if part.drain_m is not None else base,
        **part.more_outlets,
    }
    volume = part.volume_m3
    width = _width_m(part, brim - base)
    if volume is None and part.table:
        volume = part.table[-1][1]
    elif volume is None and part.shape == "lying" and part.length_m and part.diameter_m:
        volume = math.pi / 4.0 * part.diameter_m**2 * part.length_m
    elif volume is None and (area := _cross_area_m2(part)):
        volume = area * (brim - base)
    small = volume is not None and volume < 10.0 and around.units == "metric"
    note = ""
    if volume is not None:
        kind = "small_volume" if small else "volume"
        note = show(volume, kind, units=around.units, digits=0 if around.units == "us" else None)
        note += " to brim"
    if part.tanks_count > 1:
        note = f"{part.tanks_count} × {note}" if note else f"{part.tanks_count} tanks"
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        note,
        brim,
        base,
        width_m=width,
        ground_m=part.ground_m,
        marks=_marks(
            (part.inlet_m, "inlet"),
            (part.overflow_m, "overflow"),
            (part.outlet_m, "outlet"),
            (part.drain_m, "drain"),
            *((z, name) for name, z in part.more_outlets.items()),
            (part.base_m, "floor"),
            (part.ground_m, "ground"),
        ),
        ports_m=ports,
        lying=part.shape == "lying",
        estimated=guessed,
    )


@body_of.register
def _(part: Filter, around: Around) -> Body:
    top = part.sand_top_m
    if top is None:
        if part.outlet_m is not None:
            top = part.outlet_m - 0.05
        elif part.base_m is not None:
            top = part.base_m + part.sand_depth_m + 0.2
        else:
            over = part.overflow_m if part.overflow_m is not None else part.inlet_m
            top = (over if over is not None else around.guess_m) - 0.5
    foot = top - part.sand_depth_m
    base = part.base_m if part.base_m is not None else foot - 0.2
    lips = [z for z in (part.overflow_m, part.inlet_m) if z is not None]
    rim = part.rim_m if part.rim_m is not None else max([top + 0.6, *(z + 0.15 for z in lips)])
    rim = max(rim, base + 0.1)
    weir = part.outlet_m if part.outlet_m is not None else top + 0.05
    ports = {
        "inlet": part.inlet_m if part.inlet_m is not None else rim - 0.1,
        "overflow": part.overflow_m if part.overflow_m is not None else rim - 0.15,
        "outlet": weir,
        "drain": part.drain_m if part.drain_m is not None else base,
    }
    marks = _marks(
        (part.rim_m, "rim"),
        (part.inlet_m, "inlet"),
        (part.overflow_m, "overflow"),
        (part.outlet_m, "weir"),
        (part.sand_top_m, "sand"),
        (part.drain_m, "drain"),
        (part.base_m, "floor"),
        (part.ground_m, "ground"),
    )
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        f"sand {show(part.area_m2, 'area', units=around.units, digits=2)}",
        rim,
        base,
        width_m=math.sqrt(part.area_m2),
        ground_m=part.ground_m,
        marks=marks,
        ports_m=ports,
        inner_m={"sand_top": top, "sand_foot": max(foot, base), "weir": weir},
        estimated=None in (part.base_m, part.sand_top_m) or not (lips or part.rim_m is not None),
    )


@body_of.register
def _(part: Tap, around: Around) -> Body:
    z = part.inlet_m if part.inlet_m is not None else around.guess_m
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        "drinking tap" if part.drinking else "tap",
        z,
        z,
        marks=_marks((part.inlet_m, "")),
        ports_m={"inlet": z},
        estimated=part.inlet_m is None,
    )


@body_of.register
def _(part: Swale, around: Around) -> Body:
    z = part.inlet_m if part.inlet_m is not None else around.guess_m
    area = f", {show(part.area_m2, 'area', units=around.units, digits=0)}" if part.area_m2 else ""
    return Body(
        around.part_id,
        part.kind,
        _name(part, around),
        f"swale{area}" if area else "soaks away",
        z,
        z,
        marks=_marks((part.inlet_m, "rim")),
        ports_m={"inlet": z},
        estimated=part.inlet_m is None,
    )

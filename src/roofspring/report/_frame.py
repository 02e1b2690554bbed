"""What stands around the section: height scale, datum and legend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from roofspring.plan.model import Plan
from roofspring.report import _ink
from roofspring.report._forms import Body
from roofspring.report._layout import LINE_PX, NAME_PX, TEXT_PX, Scale, free_place
from roofspring.report._routes import water_kinds
from roofspring.report._svg import Box, tag, text_width, write
from roofspring.units import UNIT_SETS

AXIS_PX = 64.0
WORDS = {"raw": "raw water", "filtered": "filtered water", "mixed": "raw and filtered, mixed"}


def datum_box(text: str, scale: Scale, taken: Sequence[Box], width: float) -> Box:
    """A free place for the words of the datum, on its line or below."""
    wide = text_width(text[:60], TEXT_PX) + 6.0
    y = scale.y(0.0)
    box = Box(AXIS_PX + 4.0, y - 16.0, AXIS_PX + 4.0 + wide, y - 2.0, "datum")
    along = [(dx, 0.0) for dx in range(0, max(1, int(width - AXIS_PX - wide - 8.0)), 12)]
    below = [(dx, dy) for dy in range(17, 4000, 17) for dx in (0.0,)]
    return free_place(box, taken=taken, steps=[*along, *below])


def axis(plan: Plan, scale: Scale, *, width: float, top: float, bottom: float) -> str:
    """Height scale at the left, light lines across, and the datum."""
    unit, size, _ = UNIT_SETS[plan.show]["height"]
    steps = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
    step = next((s for s in steps if s * size * scale.px_per_m >= 26.0), steps[-1])
    low = int((scale.zero_px - bottom) / scale.px_per_m / size / step) - 1
    high = int((scale.zero_px - top) / scale.px_per_m / size / step) + 1
    made = ""
    for k in range(low, high + 1):
        y = scale.y(k * step * size)
        if top - 4.0 <= y <= bottom:
            made += (
                tag("path", class_="grid", d=f"M{AXIS_PX:.2f} {y:.2f}H{width - 6:.2f}") if k else ""
            )
            made += tag("path", class_="axis", d=f"M{AXIS_PX - 6:.2f} {y:.2f}h6")
            made += write(
                f"{k * step:g}".replace("-", "−"), AXIS_PX - 10.0, y + 4.0, "h", text_anchor="end"
            )
    made += tag("path", class_="axis", d=f"M{AXIS_PX:.2f} {top:.2f}V{bottom:.2f}")
    middle = 0.5 * (top + bottom)
    words = f"height above the datum [{unit}]"
    made += write(
        words, 14.0, middle, "s", text_anchor="middle", transform=f"rotate(-90 14 {middle:.2f})"
    )
    y = scale.y(0.0)
    return made + tag("path", class_="datum", d=f"M{AXIS_PX - 6:.2f} {y:.2f}H{width - 6:.2f}")


def legend(
    plan: Plan,
    shapes: Mapping[str, Body],
    *,
    width: float,
    top: float,
    words: str,
    more: Sequence[tuple[str, str]] = (),
) -> tuple[str, float]:
    """What the signs mean, in rows under the drawing; and the height of the sheet."""
    kinds = sorted(set(water_kinds(plan)[1].values()) & set(WORDS), key=list(WORDS).index)
    items: list[tuple[str, str]] = [
        (
            tag("rect", x=0, y=-9, width=26, height=12, fill=f"url(#rs-{k})")
            + tag("path", class_=f"pipe {k}", d="M0 -3H26"),
            WORDS[k],
        )
        for k in kinds
    ]
    if any(m.kind == "water" for b in shapes.values() for m in b.marks):
        level = f"water level{words and f' ({words})'}"
        items.append((_ink.triangle(13.0, 1.0, "tri-water"), level))
    items.append((_ink.triangle(13.0, 1.0, "tri"), "height of the part"))
    if any(b.kind == "tank" for b in shapes.values()):
        items.append(
            (tag("rect", x=2, y=-9, width=22, height=12, fill="url(#rs-dead)"), "out of reach")
        )
    if any(m.kind == "float" for b in shapes.values() for m in b.marks):
        bow = tag("path", class_="thin", d="M4 -9h8l-8 10h8z")
        items.append((bow + tag("circle", class_="tri", cx=20, cy=-1, r=3.6), "float valve"))
    if any(b.estimated for b in shapes.values()):
        dash = tag("path", class_="wall", stroke_dasharray="5 4", d="M0 -3H26")
        items.append((dash, "height not given: place is a guess"))
    items.extend(more)
    x, y, made = AXIS_PX, top + NAME_PX, ""
    for sign, text in items:
        wide = 34.0 + text_width(text, TEXT_PX) + 18.0
        if x + wide > width and x > AXIS_PX:
            x, y = AXIS_PX, y + LINE_PX + 4.0
        made += tag(
            "g", sign + write(text, 34.0, 1.0, "s"), transform=f"translate({x:.2f} {y:.2f})"
        )
        x += wide
    y += LINE_PX + 6.0
    note = "Heights, tanks and filters are to one scale. Distances between parts are not to scale."
    made += write(note, AXIS_PX, y, "s")
    return tag("g", made, class_="legend"), y + 12.0

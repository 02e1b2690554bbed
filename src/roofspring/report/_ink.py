"""Drawing one body of the section: tank, filter, tap, and the rest, as SVG markup."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from roofspring.report._layout import NAME_LINE_PX, NAME_PX, Label, Placed
from roofspring.report._svg import Box, tag, write

STYLE = """
.rs text{font-family:system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans",sans-serif;fill:#1d2521}
.rs .h{font-size:11.5px;fill:#46524b;font-variant-numeric:tabular-nums}
.rs .h .b{font-weight:650;fill:#1d2521}
.rs .n{font-size:13px;font-weight:650}
.rs .s{font-size:11.5px;fill:#46524b}
.rs .halo{paint-order:stroke;stroke:#fff;stroke-width:3.5px;stroke-linejoin:round}
.rs .wall{fill:none;stroke:#1d2521;stroke-width:2}
.rs .body{fill:#fff;stroke:none}
.rs .guess .wall{stroke-dasharray:5 4}
.rs .thin{fill:none;stroke:#1d2521;stroke-width:1}
.rs .lead{fill:none;stroke:#6b766f;stroke-width:.8}
.rs .tri{fill:#fff;stroke:#1d2521;stroke-width:1}
.rs .tri-water{fill:#1d2521;stroke:#1d2521;stroke-width:1}
.rs .grid{stroke:#e3e7e2;stroke-width:1}
.rs .axis{stroke:#1d2521;stroke-width:1}
.rs .datum{stroke:#1d2521;stroke-width:1.2;stroke-dasharray:14 4 2 4}
.rs .ground{stroke:#5b4a32;stroke-width:1.6}
.rs .soil{stroke:#5b4a32;stroke-width:.9}
.rs .riser{fill:#cfe4f6;stroke:#0b5fa5;stroke-width:1.2}
.rs .stand{fill:#eceae4;stroke:#8a8576;stroke-width:.8}
.rs .pipe{fill:none;stroke-width:2.6;stroke-linejoin:round}
.rs .under{fill:none;stroke:#fff;stroke-width:6;stroke-linejoin:round}
.rs .raw{stroke:#a35a00;stroke-dasharray:7 3.5}
.rs .filtered{stroke:#0b5fa5}
.rs .mixed{stroke:#6d3aa0;stroke-dasharray:12 3 2.5 3}
.rs .none{stroke:#6b766f;stroke-width:1.4;stroke-dasharray:2 3}
.rs .tip-raw{fill:#a35a00}.rs .tip-filtered{fill:#0b5fa5}.rs .tip-mixed{fill:#6d3aa0}
.rs .tip-none{fill:#6b766f}
.rs .alarm-stop{fill:none;stroke:#b3141c;stroke-width:3}
.rs .alarm-caution{fill:none;stroke:#b87400;stroke-width:3;stroke-dasharray:2 3}
.rs .alarm-pipe{stroke-width:9;stroke-dasharray:none;opacity:.38}
.rs .way{fill:none;stroke:#b3141c;stroke-width:3.2;stroke-dasharray:11 5}
.rs .mishap{stroke-width:3.4;stroke-dasharray:.1 7;stroke-linecap:round}
.rs .tip-way{fill:#b3141c;stroke:#fff;stroke-width:.8}
.rs .way-tag{fill:#fff;stroke:#b3141c;stroke-width:1.8}
.rs .on-way{fill:#8c0f16}
.rs .other{fill:none;stroke:#1d2521;stroke-width:2.6;stroke-dasharray:1.5 2.5}
.rs .tip-other{fill:#1d2521}
.rs .paper{fill:#fff;opacity:.88}
.rs .badge-stop{fill:#b3141c;stroke:#fff;stroke-width:1.2}
.rs .badge-caution{fill:#ffd166;stroke:#5c3c00;stroke-width:1.4}
.rs .badge-text{font-size:11px;font-weight:700;text-anchor:middle}
.rs .two-digits{font-size:9px}
.rs .on-stop{fill:#fff}
.rs .grade{fill:none;stroke:#00713c;stroke-width:1.8}
.rs .grade-drop{stroke-dasharray:3 2.5}
.rs .grade-mark{fill:#fff;stroke:#00713c;stroke-width:1.2}
.rs .grade-text{fill:#00552d}
.rs .under-thin{fill:none;stroke:#fff;stroke-width:3.6;stroke-linejoin:round;opacity:.8}
.rs .dim{fill:none;stroke:#46524b;stroke-width:1.1}
.rs .dim-fails{fill:none;stroke:#b3141c;stroke-width:1.8}
.rs .fails-text{fill:#b3141c;font-weight:650}
.rs .part:focus{outline:none}
.rs .part:focus .wall,.rs .part:hover .wall{stroke-width:3.4}
"""

DEFS = (
    '<pattern id="rs-raw" width="9" height="9" patternUnits="userSpaceOnUse">'
    '<rect width="9" height="9" fill="#f6dfbd"/><circle cx="2.2" cy="2.2" r="1" fill="#a35a00"/>'
    '<circle cx="6.7" cy="6.7" r="1" fill="#a35a00"/></pattern>'
    '<pattern id="rs-filtered" width="24" height="9" patternUnits="userSpaceOnUse">'
    '<rect width="24" height="9" fill="#cfe4f6"/>'
    '<path d="M2 3h11M15 7.5h7" stroke="#0b5fa5" stroke-width=".8"/></pattern>'
    '<pattern id="rs-mixed" width="12" height="12" patternUnits="userSpaceOnUse">'
    '<rect width="12" height="12" fill="#e2d6f0"/><path d="M1 3h8" stroke="#6d3aa0" '
    'stroke-width=".8"/><circle cx="6" cy="8.5" r="1.2" fill="#6d3aa0"/></pattern>'
    '<pattern id="rs-none" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="8" height="8" fill="#eef0ee"/></pattern>'
    '<pattern id="rs-dead" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V6" stroke="#1d2521" stroke-width="1.1"/></pattern>'
    '<pattern id="rs-sand" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#f1e3b6"/><circle cx="1.5" cy="1.5" r=".7" fill="#7a6114"/>'
    '<circle cx="4.5" cy="4.3" r=".7" fill="#7a6114"/></pattern>'
    '<pattern id="rs-gravel" width="9" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="9" height="8" fill="#dddad2"/><ellipse cx="3" cy="4" rx="2.3" ry="1.7" '
    'fill="#fff" stroke="#57534a" stroke-width=".8"/><circle cx="7.4" cy="1.6" r="1.2" '
    'fill="#fff" stroke="#57534a" stroke-width=".7"/></pattern>'
)


def rect(box: Box, css: str, *, fill: str = "", rx: float = 0.0) -> str:
    """A rectangle."""
    more: dict[str, str | float | int] = {"fill": fill} if fill else {}
    if rx:
        more["rx"] = rx
    return tag(
        "rect",
        class_=css,
        x=box.x0,
        y=box.y0,
        width=box.x1 - box.x0,
        height=max(0.0, box.y1 - box.y0),
        **more,
    )


def line(points: list[tuple[float, float]], css: str) -> str:
    """A line through points."""
    return tag("path", class_=css, d="M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points))


def triangle(x: float, y: float, css: str, *, size: float = 8.0) -> str:
    """The level mark: a triangle that stands on its point at the level."""
    h = size * 0.85
    return tag("path", class_=css, d=f"M{x:.2f} {y:.2f}l{-size / 2:.2f} {-h:.2f}h{size:.2f}z")


def label(item: Label) -> str:
    """One written height with its level mark and leader."""
    row = item.shelf[0][1]
    css = "tri-water" if item.mark.kind == "water" else "tri"
    return (
        rect(item.box, "paper")
        + line(list(item.shelf), "lead")
        + triangle(item.triangle_x, row, css)
        + write(item.text, item.text_x, item.text_y, "h", strong_from=item.text.rfind(" ") + 1)
    )


def names(placed: Placed) -> str:
    """Name and second line of a part."""
    box = placed.name_box
    middle = 0.5 * (box.x0 + box.x1)
    notes = 1 if placed.body.note else 0
    notes += 1 if placed.body.estimated else 0
    made = rect(box, "paper") if box.y1 <= placed.box.y1 and box.y0 >= placed.box.y0 else ""
    for i, text in enumerate(placed.name_lines):
        css = "n halo" if i < len(placed.name_lines) - notes else "s halo"
        y = box.y0 + NAME_PX + NAME_LINE_PX * i - 1.0
        made += write(text, middle, y, css, text_anchor="middle")
    return made


def spill(placed: Placed, port: str) -> str:
    """An outlet without a pipe: a short arrow to the ground."""
    x, y = placed.box.x1, placed.y(port)
    path = tag("path", class_="pipe none", d=f"M{x:.2f} {y:.2f}h8v11")
    return path + tag("path", class_="tip-none", d=f"M{x + 8:.2f} {y + 17:.2f}l-3.6 -6h7.2z")


def ground(placed: Placed) -> str:
    """Ground line with soil strokes, and the stand between ground and floor."""
    if placed.ground is None:
        return ""
    y, box = placed.ground.y0, placed.box
    made = ""
    if box.y1 < y:
        made += rect(Box(box.x0, box.y1, box.x1, y), "stand")
        made += line([(box.x0, box.y1), (box.x1, y)], "soil")
        made += line([(box.x1, box.y1), (box.x0, y)], "soil")
    buried = y < box.y1
    pieces = (
        [(placed.ground.x0, box.x0), (box.x1, placed.ground.x1)]
        if buried
        else [(placed.ground.x0, placed.ground.x1)]
    )
    for x0, x1 in pieces:
        made += line([(x0, y), (x1, y)], "ground")
        x = x0 + 6.0
        while x <= x1:
            made += line([(x, y), (x - 5.0, y + 6.0)], "soil")
            x += 7.0
    return made


def tank(placed: Placed, water: str) -> str:
    """A tank cut open: water to its level, what is out of reach hatched, the overflow lip."""
    box, body, y = placed.box, placed.body, placed.scale.y
    round_px = min(0.5 * (box.y1 - box.y0), 16.0) if body.lying else 1.5
    made = rect(box, "body", rx=round_px)
    level = body.inner_m.get("water")
    if level is not None and level > body.bottom_m:
        top = y(level)
        wet = Box(box.x0, top, box.x1, box.y1)
        made += rect(wet, "wet", fill=f"url(#rs-{water})", rx=min(round_px, 0.5 * (wet.y1 - top)))
        dead = min(level, body.port_m("outlet"), *_more_outlets(body.ports_m))
        if dead > body.bottom_m + 1e-9:
            made += rect(Box(box.x0, y(dead), box.x1, box.y1), "dead", fill="url(#rs-dead)")
        made += line([(box.x0, top), (box.x1, top)], "thin")
    lip = y(body.port_m("overflow"))
    if box.y0 <= lip <= box.y1:
        made += line([(box.x1 - 9.0, lip), (box.x1, lip)], "wall")
    made += rect(box, "wall", rx=round_px)
    if placed.cut:
        x = box.x0 + 0.62 * (box.x1 - box.x0)
        zig = [(x, box.y0 - 4.0), (x, box.y0 + 12.0), (x + 6.0, box.y0 + 16.0)]
        zig += [(x - 6.0, box.y0 + 24.0), (x, box.y0 + 28.0), (x, box.y1 + 4.0)]
        made += line(zig, "under") + line(zig, "thin")
    return made


def _more_outlets(ports: Mapping[str, float]) -> list[float]:
    return [z for p, z in ports.items() if p not in ("inlet", "outlet", "overflow", "drain")]


def sand_filter(placed: Placed, water: str) -> str:
    """A filter cut open: gravel, sand, water above it, and the weir riser at the outlet."""
    box, body, y = placed.box, placed.body, placed.scale.y
    top, foot = y(body.inner_m["sand_top"]), y(body.inner_m["sand_foot"])
    made = rect(box, "body")
    level = body.inner_m.get("water", max(body.inner_m["weir"], body.inner_m["sand_top"]))
    if y(level) < top:
        made += rect(Box(box.x0, y(level), box.x1, top), "wet", fill=f"url(#rs-{water})")
        made += line([(box.x0, y(level)), (box.x1, y(level))], "thin")
    made += rect(Box(box.x0, top, box.x1, foot), "sand", fill="url(#rs-sand)")
    made += rect(Box(box.x0, foot, box.x1, box.y1), "gravel", fill="url(#rs-gravel)")
    made += line([(box.x0, top), (box.x1, top)], "thin")
    made += line([(box.x0, foot), (box.x1, foot)], "thin")
    made += line([(box.x0, box.y0), (box.x0, box.y1), (box.x1, box.y1), (box.x1, box.y0)], "wall")
    crest = y(body.inner_m["weir"])
    riser = Box(box.x1, crest, box.x1 + 6.0, box.y1 - 3.0)
    made += rect(riser, "riser")
    made += line([(box.x1, crest), (box.x1 + 9.0, crest)], "wall")
    return made


def roof(placed: Placed, _water: str) -> str:
    """A roof slope with its gutter at the right."""
    box = placed.box
    eave, outlet = placed.scale.y(placed.body.top_m), placed.y("outlet")
    edge = box.x1 - 14.0
    slope = [(box.x0, box.y0), (edge + 4.0, eave - 3.0), (edge + 4.0, eave + 1.0)]
    slope += [(box.x0, box.y0 + 5.0)]
    made = tag(
        "path",
        class_="wall",
        fill="#e6e9e6",
        d="M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in slope) + "z",
    )
    low = max(outlet, eave + 5.0)
    gutter = [(edge, eave), (edge, low), (box.x1, low), (box.x1, eave)]
    return made + line(gutter, "wall")


def screen(placed: Placed, _water: str) -> str:
    """A sloping mesh."""
    box = placed.box
    made = rect(box, "body")
    made += line([(box.x0, box.y0 + 3.0), (box.x1, box.y1 - 3.0)], "wall")
    made += tag(
        "path",
        class_="thin",
        stroke_dasharray="2 3",
        d=f"M{box.x0:.2f} {box.y0 + 7:.2f}L{box.x1:.2f} {box.y1 + 1:.2f}",
    )
    return made


def first_flush(placed: Placed, _water: str) -> str:
    """A standing chamber with a ball and a weep."""
    box = placed.box
    made = rect(box, "body", rx=4.0) + rect(
        Box(box.x0, box.y0 + 0.45 * (box.y1 - box.y0), box.x1, box.y1),
        "wet",
        fill="url(#rs-raw)",
        rx=3.0,
    )
    made += rect(box, "wall", rx=4.0)
    middle = 0.5 * (box.x0 + box.x1)
    made += tag("path", class_="thin", d=f"M{middle:.2f} {box.y1:.2f}v7m-2 -3l2 3l2 -3")
    return made


def tap(placed: Placed, _water: str) -> str:
    """A bib tap: the mouth is at the height of the part."""
    box = placed.box
    middle, mouth = 0.5 * (box.x0 + box.x1), placed.y("inlet")
    return (
        tag("path", class_="wall", d=f"M{middle - 8:.2f} {mouth - 9:.2f}h11q5 0 5 5v4")
        + line([(middle - 1.0, mouth - 9.0), (middle - 1.0, mouth - 14.0)], "wall")
        + line([(middle - 6.0, mouth - 14.0), (middle + 4.0, mouth - 14.0)], "wall")
        + tag("circle", class_="tip-filtered", cx=middle + 8.0, cy=mouth + 5.0, r=1.8)
    )


def swale(placed: Placed, _water: str) -> str:
    """A ditch with water soaking away."""
    box = placed.box
    rim, floor = placed.y("inlet"), box.y1 - 6.0
    ditch = [(box.x0, rim), (box.x0 + 16.0, rim), (box.x0 + 28.0, floor)]
    ditch += [(box.x1 - 28.0, floor), (box.x1 - 16.0, rim), (box.x1, rim)]
    made = line(ditch, "wall")
    for k in range(3):
        x = box.x0 + 34.0 + 8.0 * k
        made += tag(
            "path", class_="soil", fill="none", d=f"M{x:.2f} {floor + 2:.2f}v5m-2 -2l2 2l2 -2"
        )
    return made


def box_symbol(placed: Placed, _water: str) -> str:
    """A plain box for a disinfection step, a lozenge for a diverter."""
    box = placed.box
    if placed.body.kind == "diverter":
        x, y = 0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1)
        d = f"M{box.x0:.2f} {y:.2f}L{x:.2f} {box.y0:.2f}L{box.x1:.2f} {y:.2f}L{x:.2f} {box.y1:.2f}z"
        return tag("path", class_="body", d=d) + tag("path", class_="wall", d=d)
    return (
        rect(box, "body", rx=5.0)
        + rect(box, "wall", rx=5.0)
        + tag(
            "path",
            class_="thin",
            d=f"M{box.x0 + 8:.2f} {0.5 * (box.y0 + box.y1):.2f}"
            f"h{box.x1 - box.x0 - 16:.2f}m-5 -4l5 4l-5 4",
        )
    )


PAINTERS: Mapping[str, Callable[[Placed, str], str]] = {
    "tank": tank,
    "filter": sand_filter,
    "roof": roof,
    "screen": screen,
    "first-flush": first_flush,
    "tap": tap,
    "swale": swale,
    "disinfection": box_symbol,
    "diverter": box_symbol,
}


def badge(number: int, box: Box, severity: str) -> str:
    """The numbered mark of a finding: an octagon for stop, a triangle for caution."""
    x, y, r = 0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1), 0.5 * (box.x1 - box.x0)
    css = "badge-text two-digits" if number > 9 else "badge-text"
    if severity == "stop":
        a, b = r, r * 0.42
        d = f"M{x - b:.2f} {y - a:.2f}h{2 * b:.2f}L{x + a:.2f} {y - b:.2f}v{2 * b:.2f}"
        d += f"L{x + b:.2f} {y + a:.2f}h{-2 * b:.2f}L{x - a:.2f} {y + b:.2f}v{-2 * b:.2f}z"
        digits = write(str(number), x, y + 4.0, f"{css} on-stop", text_anchor="middle")
        return tag("path", class_="badge-stop", d=d) + digits
    d = f"M{x:.2f} {y - r:.2f}L{x + r:.2f} {y + r * 0.85:.2f}H{x - r:.2f}z"
    digits = write(str(number), x, y + 6.0, css, text_anchor="middle")
    return tag("path", class_="badge-caution", d=d) + digits

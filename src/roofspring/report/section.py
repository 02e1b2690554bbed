"""The section drawing: the whole train from eave to tap, heights to scale."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise

from roofspring.errors import Finding
from roofspring.plan.graph import connections
from roofspring.plan.model import Plan
from roofspring.report import _ink
from roofspring.report._forms import Body, Mark
from roofspring.report._frame import AXIS_PX, WORDS, axis, datum_box
from roofspring.report._frame import legend as draw_legend
from roofspring.report._layout import (
    BADGE_PX,
    Overlay,
    Placed,
    Scale,
    Sheet,
    footprint,
    free_place,
    place,
    settle,
)
from roofspring.report._routes import Route, routes, water_kinds
from roofspring.report._shapes import bodies, flow_order
from roofspring.report._svg import Box, clean_text, tag, write
from roofspring.report._ways import ShownWay, draw_ways, ways_legend
from roofspring.units import UNIT_SETS

MARGIN_PX = 16.0
TOP_PX = 14.0
HEIGHT_WANTED_PX = 500.0
ARROW_FROM_PX = 90.0
LEAST_WIDTH_PX = 720.0


Overlayer = Callable[[Mapping[str, Placed], Sequence[Route], Sequence[Box]], Overlay]
"""From placed parts, pipes and taken boxes to what is drawn over them."""


@dataclass(frozen=True)
class SectionDrawing:
    """The drawing, and what a check needs to know about it.

    Attributes
    ----------
    svg : str
        One ``<svg>`` element, complete in itself.
    width_px, height_px : float
        Its natural size.
    px_per_m, zero_px : float
        A height ``z`` [m] above the datum is drawn at ``zero_px - z * px_per_m``.
    boxes : tuple of Box
        Every written thing: heights, names, marks of findings. No two overlap.
    estimated : tuple of str
        Parts whose place was guessed because the plan gives no height.
    """

    svg: str
    width_px: float
    height_px: float
    px_per_m: float
    zero_px: float
    boxes: tuple[Box, ...]
    estimated: tuple[str, ...]


def draw_section(
    plan: Plan,
    *,
    levels_m: Mapping[str, float] | None = None,
    findings: Sequence[Finding] = (),
    levels_words: str = "",
    ways: Sequence[ShownWay] = (),
    overlay: Overlayer | None = None,
    beside_px: Mapping[str, float] | None = None,
    beside_another: str = "",
    sheet_css: str = "",
) -> SectionDrawing:
    """Draw the train to scale, in the order of flow from left to right.

    Parameters
    ----------
    plan : Plan
        Any graph of parts; nothing needs to be complete.
    levels_m : mapping of part id to float, optional
        Water levels to show, above the datum [m].
    findings : sequence of Finding
        Ranked; the mark of a finding carries its place in this list, from 1. Stops and cautions
        that name a part or a pipe are marked.
    levels_words : str
        What the water levels are, for the note under the drawing.
    ways : sequence of ShownWay
        Ways of unfiltered water to drinking taps, drawn in red over all else.
    overlay : callable, optional
        Draws more over it, where there is room.
    beside_px : mapping of part id to float, optional
        Room to keep free at the right of a part [px].
    beside_another : str
        What goes before its ids where it stands on a page on which another section has the style
        and the patterns that both use.
    sheet_css : str
        More style, for a sheet of its own.

    Returns
    -------
    SectionDrawing
    """
    shapes = bodies(plan, levels_m=levels_m or {})
    scale = _scale(list(shapes.values()))
    named = _named(plan, findings)
    badges = {
        target: [n for n, f, t in named if t[0] == target] for target in {t[0] for _, _, t in named}
    }
    severity = {n: f.severity for n, f, _ in named}
    written = _height_writer(plan, shapes)
    room = beside_px or {}
    sheet = _set_out(plan, shapes, scale=scale, badges=badges, written=written, beside_px=room)
    # Now that the highest thing is known, set out again from the top edge of the sheet.
    top = min([scale.y(0.0) - 30.0, *(b.y0 for b in sheet.taken())])
    scale = replace(scale, zero_px=scale.zero_px - top + TOP_PX)
    sheet = _set_out(plan, shapes, scale=scale, badges=badges, written=written, beside_px=room)
    placed = sheet.placed
    width = max([LEAST_WIDTH_PX, *(b.x1 + MARGIN_PX for b in sheet.taken())])
    lines = routes(plan, placed)
    bottom = max([scale.y(0.0), *(b.y1 for b in sheet.taken())]) + 8.0
    marks = _pipe_marks(lines, badges, sheet)
    taken = [b for p in placed.values() for b in footprint(p)] + [b for _, b in marks]
    over = draw_ways(
        plan,
        ways,
        placed=placed,
        lines=lines,
        badges=badges,
        severity=severity,
        taken=taken,
        before_id=beside_another,
    )
    taken += over.boxes
    datum_text = f"datum 0: {clean_text(plan.site.datum)}"
    more = Overlay() if overlay is None else overlay(placed, lines, taken)
    taken += more.boxes
    width = max([width, *(b.x1 + MARGIN_PX for b in taken)])
    bottom = max([bottom, *(b.y1 + 8.0 for b in (*over.boxes, *more.boxes))])
    datum_place = datum_box(datum_text, scale, taken, width)
    datum_text = datum_text if len(datum_text) < 60 else datum_text[:59] + "…"
    bottom = max(bottom, datum_place.y1 + 6.0)
    legend, height = draw_legend(
        plan, shapes, width=width, top=bottom + 12.0, words=levels_words, more=more.signs
    )
    rows, height = ways_legend(over, width=width, top=height)
    part_water, _ = water_kinds(plan)
    alarms = {name: f.severity for _, f, t in reversed(named) for name in t}
    paint = [
        axis(plan, scale, width=width, top=TOP_PX, bottom=bottom),
        write(datum_text, datum_place.x0 + 2.0, datum_place.y1 - 3.5, "s halo"),
        *(_ink.ground(p) for p in placed.values()),
        *(_pipe(r, alarms.get(r.connection.pipe_id), placed, beside_another) for r in lines),
        *(_arrows(r) for r in lines),
        over.under,
        more.under,
        *(
            _part(p, part_water[i], alarms.get(i), severity, beside_another)
            for i, p in placed.items()
        ),
        *(_ink.spill(placed[p], port) for p, port in _unpiped(plan)),
        *(_drop(r, placed) for r in lines),
        over.over,
        more.over,
        *(_ink.badge(n, b, severity[n]) for n, b in marks),
        legend + rows,
    ]
    guessed = tuple(p for p, body in shapes.items() if body.estimated)
    words = (
        f"Section through {plan.name}, from the roofs at the left to the taps at the right, "
        f"heights to scale above the datum ({plan.site.datum})."
    )
    svg = tag(
        "svg",
        tag("title", escape(clean_text(f"Section of {plan.name}")))
        + tag("desc", escape(clean_text(words)))
        + ("" if beside_another else tag("style", _ink.STYLE + sheet_css) + tag("defs", _ink.DEFS))
        + "".join(paint),
        xmlns="http://www.w3.org/2000/svg",
        class_="rs section",
        viewBox=f"0 0 {width:.0f} {height:.0f}",
        width=round(width),
        height=round(height),
        role="group",
        aria_label=words,
    )
    boxes = [b for p in placed.values() for b in p.boxes] + [b for _, b in marks]
    boxes += [*over.boxes, *more.boxes, datum_place]
    return SectionDrawing(svg, width, height, scale.px_per_m, scale.zero_px, tuple(boxes), guessed)


def _scale(shapes: Sequence[Body]) -> Scale:
    heights = [z for b in shapes for z in (b.top_m, b.bottom_m, *(m.z_m for m in b.marks))] + [0.0]
    span = max(max(heights) - min(heights), 1.0)
    per_m = min(90.0, max(3.0, HEIGHT_WANTED_PX / span))
    return Scale(per_m, max(heights) * per_m)


def _height_writer(plan: Plan, shapes: Mapping[str, Body]) -> dict[str, dict[Mark, str]]:
    """The text of every height: no more decimals than the plan was given with."""
    _, size, decimals = UNIT_SETS[plan.show]["height"]
    numbers = [m.z_m / size for b in shapes.values() for m in b.marks if m.kind != "water"]
    if plan.show == "metric" and all(abs(z * 100.0 - round(z * 100.0)) < 1e-6 for z in numbers):
        decimals = 2
    return {
        p: {m: f"{m.text} {m.z_m / size:.{decimals}f}".strip().replace("-", "−") for m in b.marks}
        for p, b in shapes.items()
    }


def _set_out(
    plan: Plan,
    shapes: Mapping[str, Body],
    *,
    scale: Scale,
    badges: Mapping[str, Sequence[int]],
    written: Mapping[str, Mapping[Mark, str]],
    beside_px: Mapping[str, float],
) -> Sheet:
    """Place the parts one after the other, each to the right of what feeds it."""
    _, upstream = flow_order(plan)
    arriving: dict[str, int] = {}
    for c in connections(plan):
        arriving[c.to_part] = arriving.get(c.to_part, 0) + 1
    sheet = Sheet()
    for part_id, body in shapes.items():
        alone = place(
            body,
            scale=scale,
            texts=written[part_id],
            inlets_count=arriving.get(part_id, 1),
            badges=badges.get(part_id, ()),
            beside_px=beside_px.get(part_id, 0.0),
        )
        feeders = [sheet.placed[p].box for p in upstream[part_id] if p in sheet.placed]
        # A swale may lie under what spills into it; all else stands to the right of its feeder.
        before = [b.x0 if body.kind == "swale" else b.x1 + 22.0 for b in feeders]
        sheet.placed[part_id] = settle(
            alone,
            sheet,
            after_px=max([AXIS_PX, *before]),
            least_px=max([AXIS_PX + 4.0, *(b.x1 + 18.0 for b in feeders if body.kind == "tap")]),
        )
    return sheet


def _named(plan: Plan, findings: Sequence[Finding]) -> list[tuple[int, Finding, tuple[str, ...]]]:
    """Each finding to be marked: its number, itself, and the parts and pipes it names."""
    parts = {p for p, _ in plan.parts()}
    joined = connections(plan)
    made = []
    for number, finding in enumerate(findings, start=1):
        if finding.severity == "note":
            continue
        names: list[str] = []
        for word in re.split(r"[^a-z0-9.-]+", finding.where.lower()):
            pieces = word.strip(".").split(".")
            if pieces[0] == "source" and pieces[1:2] and pieces[1] in plan.sources:
                names.append(f"source.{pieces[1]}")
                continue
            if pieces[0] in plan.pipes and pieces[0] not in parts:
                names.append(pieces[0])
                continue
            hit = next((i for i, p in enumerate(pieces) if p in parts or p in plan.pipes), None)
            if hit is None:
                continue
            names.append(pieces[hit])
            port = pieces[hit + 1] if hit + 1 < len(pieces) else ""
            names += [
                c.pipe_id
                for c in joined
                if port and (c.from_part, c.from_port) == (pieces[hit], port)
            ]
        if names:
            made.append((number, finding, tuple(dict.fromkeys(names))))
    return made


def _unpiped(plan: Plan) -> list[tuple[str, str]]:
    """Overflows and rejects that no pipe takes away."""
    piped = {(c.from_part, c.from_port) for c in connections(plan)}
    return [
        (p, port)
        for p, part in plan.parts()
        for port in part.outlets
        if port in ("overflow", "reject") and (p, port) not in piped
    ]


def _pipe_marks(
    lines: Sequence[Route], badges: Mapping[str, Sequence[int]], sheet: Sheet
) -> list[tuple[int, Box]]:
    """Marks of findings on pipes: on the longest stretch, where there is room."""
    taken = sheet.taken()
    made = []
    for route in lines:
        stretches = sorted(
            pairwise(route.points), key=lambda s: -(abs(s[0][0] - s[1][0]) + abs(s[0][1] - s[1][1]))
        )
        for number in badges.get(route.connection.pipe_id, ()):
            places = [
                (xa + (xb - xa) * t, ya + (yb - ya) * t)
                for (xa, ya), (xb, yb) in stretches
                for t in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
            ]
            x, y = places[0]
            places += [(x + BADGE_PX * k, y - BADGE_PX) for k in range(400)]
            half = BADGE_PX / 2.0
            box = free_place(
                Box(-half, -half, half, half, f"mark {number}"), taken=taken, steps=places
            )
            taken.append(box)
            made.append((number, box))
    return made


def _words(placed: Placed) -> str:
    body = placed.body
    heights = ", ".join(la.text for la in placed.labels) or "no height given"
    note = f" ({body.note})" if body.note else ""
    return f"{body.name}{note}: {heights}"


def _part(
    placed: Placed, water: str, alarm: str | None, severity: Mapping[int, str], before_id: str
) -> str:
    body, words = placed.body, _words(placed)
    inside = tag("title", escape(clean_text(words)))
    inside += _ink.PAINTERS[body.kind](placed, water)
    if alarm:
        b = placed.box
        around = Box(b.x0 - 5.0, b.y0 - 5.0, b.x1 + 5.0, b.y1 + 5.0)
        inside += _ink.rect(around, f"alarm-{alarm}", rx=4.0)
    inside += "".join(_ink.label(la) for la in placed.labels) + _ink.names(placed)
    inside += "".join(_ink.badge(n, b, severity[n]) for n, b in placed.badges)
    return tag(
        "g",
        inside,
        id=f"{before_id}part-{body.part_id}",
        class_="part guess" if body.estimated else "part",
        tabindex=0,
        role="img",
        aria_label=words,
    )


def _pipe(route: Route, alarm: str | None, placed: Mapping[str, Placed], before_id: str) -> str:
    c = route.connection
    names = (placed[c.from_part].body.name, placed[c.to_part].body.name)
    label = c.pipe.label or c.pipe_id
    words = f"pipe {label}: {names[0]} {c.from_port} to {names[1]}"
    words += f", {WORDS[route.water]}" if route.water in WORDS else ""
    made = tag("title", escape(clean_text(words))) + _ink.line(list(route.points), "under")
    if alarm:
        made += _ink.line(list(route.points), f"alarm-{alarm} alarm-pipe")
    made += _ink.line(list(route.points), f"pipe {route.water}")
    return tag("g", made, id=f"{before_id}pipe-{c.pipe_id}", class_="pipe-group")


def _arrows(route: Route) -> str:
    """The way of the flow, on every long level stretch."""
    made = ""
    for (xa, ya), (xb, yb) in pairwise(route.points):
        if ya == yb and abs(xb - xa) > ARROW_FROM_PX:
            x, way = 0.5 * (xa + xb), 7.0 if xb > xa else -7.0
            tip = f"M{x + way:.2f} {ya:.2f}l{-1.4 * way:.2f} -4.4v8.8z"
            made += tag("path", class_=f"tip-{route.water}", d=tip)
    return made


def _drop(route: Route, placed: Mapping[str, Placed]) -> str:
    """The last stretch again, over the body it enters: arrowhead, float valve."""
    (xa, ya), (xb, yb) = route.drop
    down = yb >= ya
    start = max(ya, yb - 26.0) if down else min(ya, yb + 26.0)
    made = _ink.line([(xa, start), (xb, yb)], f"pipe {route.water}")
    tip = 6.5 if down else -6.5
    made += tag("path", class_=f"tip-{route.water}", d=f"M{xb:.2f} {yb:.2f}l-4.2 {-tip:.2f}h8.4z")
    valve = route.connection.pipe.valve
    if valve is None:
        return made
    y = yb - 12.0 if down else yb + 12.0
    bow = f"M{xb - 4:.2f} {y - 5:.2f}h8l-8 10h8z"
    made += tag("path", class_="thin", fill="#fff", d=bow)
    if valve.kind == "float":
        end = placed[route.connection.to_part]
        shut = next((m.z_m for m in end.body.marks if m.kind == "float"), None)
        ball = end.scale.y(shut) if shut is not None else yb + 8.0
        made += _ink.line([(xb + 4.0, y), (xb + 10.0, ball)], "thin")
        made += tag("circle", class_="tri", cx=xb + 10.0, cy=ball, r=3.6)
    return made

"""Where each body and each written height goes on the sheet, so that nothing overlaps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from roofspring.report._forms import Body, Mark
from roofspring.report._svg import BOLD, Box, text_width, wrap

TEXT_PX = 11.5
NAME_PX = 13.0
LINE_PX = 14.0
NAME_LINE_PX = 15.0
LEADER_PX = 14.0
TRIANGLE_PX = 10.0
GAP_PX = 14.0
WIDEST_PX = 250.0
"""A wider tank is drawn with a break line, the trade's sign for "longer than shown"."""
INSIDE_FROM_PX = 165.0
"""From this width on, heights and names are written inside the body."""
BADGE_PX = 19.0

# Symbols without a size of their own: (width, px above the top height, px below the bottom height)
SYMBOLS: Mapping[str, tuple[float, float, float]] = {
    "roof": (92.0, 36.0, 6.0),
    "screen": (34.0, 6.0, 6.0),
    "first-flush": (18.0, 4.0, 4.0),
    "diverter": (26.0, 6.0, 6.0),
    "disinfection": (46.0, 10.0, 14.0),
    "tap": (30.0, 14.0, 8.0),
    "swale": (76.0, 2.0, 22.0),
}


@dataclass(frozen=True)
class Scale:
    """Heights to pixels, the same across as up."""

    px_per_m: float
    zero_px: float

    def y(self, z_m: float) -> float:
        """Place of a height on the sheet."""
        return self.zero_px - z_m * self.px_per_m


@dataclass(frozen=True)
class Overlay:
    """What is painted over a section, the boxes that its words take, and what explains it.

    ``under`` lies over the pipes and under the parts; ``over`` over all. ``signs`` stand in the
    legend, ``rows`` under it.
    """

    over: str = ""
    under: str = ""
    boxes: tuple[Box, ...] = ()
    signs: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Label:
    """One written height: text and level mark in ``box``, leader to the true height."""

    mark: Mark
    text: str
    box: Box
    text_x: float
    text_y: float
    triangle_x: float
    shelf: tuple[tuple[float, float], ...]
    """Points of the leader, from the label to the tick at the true height."""


@dataclass(frozen=True)
class Placed:
    """A body with its place on the sheet."""

    body: Body
    box: Box
    scale: Scale
    labels: tuple[Label, ...]
    name_lines: tuple[str, ...]
    name_box: Box
    inlet_x: float
    cut: bool = False
    """Drawn narrower than it is."""
    badges: tuple[tuple[int, Box], ...] = ()
    ground: Box | None = None
    beside: Box | None = None
    """Room kept free at its right, for what is drawn over it."""

    @property
    def boxes(self) -> list[Box]:
        """All written things of this part."""
        found = [label.box for label in self.labels] + [box for _, box in self.badges]
        return [*found, self.name_box]

    def y(self, port: str) -> float:
        """Place of a port."""
        return self.scale.y(self.body.port_m(port))


@dataclass
class Sheet:
    """What has been placed so far."""

    placed: dict[str, Placed] = field(default_factory=dict)

    def taken(self) -> list[Box]:
        """Every box that is taken."""
        return [b for p in self.placed.values() for b in footprint(p)]


def spread(wanted: Sequence[float], *, gap: float) -> list[float]:
    """Move a rising row of positions apart to ``gap``, each as near its wish as the others allow.

    Clusters that touch are merged and centred on the mean of their wishes.
    """
    groups: list[list[float]] = []  # [mean wish of the first place, count]
    for want in wanted:
        groups.append([want, 1.0])
        while len(groups) > 1 and groups[-2][0] + gap * groups[-2][1] > groups[-1][0]:
            first, many = groups[-2]
            last, few = groups.pop()
            groups[-1] = [(first * many + (last - gap * many) * few) / (many + few), many + few]
    return [start + gap * k for start, count in groups for k in range(int(count))]


def label_stack(
    body: Body, box: Box, *, scale: Scale, texts: Mapping[Mark, str], inside: bool
) -> tuple[Label, ...]:
    """Write the heights of one body in a column beside it (or inside a wide one)."""
    marks = sorted(texts, key=lambda m: (-m.z_m, m.text))
    if not marks:
        return ()
    widest = max(text_width(texts[m], TEXT_PX) for m in marks)
    rows = spread([scale.y(m.z_m) for m in marks], gap=LINE_PX)
    labels = []
    for mark, row in zip(marks, rows, strict=True):
        true = scale.y(mark.z_m)
        if inside:
            near = box.x0 + LEADER_PX
            triangle = near + TRIANGLE_PX / 2.0
            x0, x1 = near, near + TRIANGLE_PX + 2.0 + widest
            text_x = near + TRIANGLE_PX + 2.0
            shelf = ((x0 + TRIANGLE_PX, row), (x0, row), (box.x0 + 5.0, true), (box.x0, true))
        else:
            x1 = box.x0 - LEADER_PX
            x0 = x1 - TRIANGLE_PX - 2.0 - text_width(texts[mark], TEXT_PX)
            triangle = x1 - TRIANGLE_PX / 2.0
            text_x = x0
            shelf = ((x1 - TRIANGLE_PX, row), (x1, row), (box.x0 - 5.0, true), (box.x0, true))
        labels.append(
            Label(
                mark,
                texts[mark],
                Box(x0, row - 8.0, x1, row + 5.0, f"{body.part_id}:{mark.text}"),
                text_x,
                row + 3.5,
                triangle,
                shelf,
            )
        )
    return tuple(labels)


def footprint(placed: Placed) -> list[Box]:
    """All boxes that a part needs for itself."""
    more = [box for box in (placed.ground, placed.beside) if box is not None]
    return [placed.box, *placed.boxes, *more]


def place(
    body: Body,
    *,
    scale: Scale,
    texts: Mapping[Mark, str],
    inlets_count: int,
    badges: Sequence[int],
    beside_px: float = 0.0,
) -> Placed:
    """Lay out one part with the left edge of its body at 0."""
    across, above, below = SYMBOLS.get(body.kind, (70.0, 0.0, 0.0))
    width = across if body.width_m is None else body.width_m * scale.px_per_m
    cut = body.width_m is not None and width > WIDEST_PX
    width = min(max(width, 16.0), WIDEST_PX)
    top, bottom = scale.y(body.top_m) - above, scale.y(body.bottom_m) + below
    bottom = max(bottom, top + 8.0)
    box = Box(0.0, top, width, bottom, body.part_id)
    inside = width >= INSIDE_FROM_PX and bottom - top > 60.0
    roof = body.kind == "roof"
    # Under a roof there is room: its heights are written there, beside the gutter at its right.
    anchor = Box(width - 14.0, top, width, bottom) if roof else box
    labels = label_stack(body, anchor, scale=scale, texts=texts, inside=inside)
    left = min([0.0, *(la.box.x0 for la in labels)])
    foot = max([bottom, *(la.box.y1 for la in labels)])
    ground = None
    if body.ground_m is not None:
        y = scale.y(body.ground_m)
        foot = max(foot, y + 8.0)
        ground = Box(-14.0, y, width + 14.0, y + 8.0, f"{body.part_id}:ground line")
    lines = _name_lines(body)
    tall = NAME_LINE_PX * len(lines) + 3.0
    wide = max(text_width(t, NAME_PX, weight=BOLD) for t in lines) + 4.0
    if inside:
        right = max([0.0, *(la.box.x1 for la in labels)])
        middle = max(0.5 * (right + width), right + wide / 2.0 + 6.0)
        y0 = top + 0.42 * (bottom - top) - tall / 2.0
    elif roof:
        highest = min([top - (BADGE_PX if badges else 2.0), *(la.box.y0 for la in labels)])
        middle, y0 = width / 2.0, highest - tall
    elif body.kind in ("screen", "diverter", "disinfection") and labels:
        # Water falls on from here: the name goes over the heights, at the left.
        middle = -LEADER_PX - wide / 2.0
        y0 = min([top, *(la.box.y0 for la in labels)]) - tall
    else:
        middle, y0 = 0.5 * (left + width), foot + 3.0
    name_box = Box(middle - wide / 2.0, y0, middle + wide / 2.0, y0 + tall, f"{body.part_id}:name")
    made_badges = tuple(
        (
            number,
            Box(
                width - 4.0 + BADGE_PX * k + 2.0 * k,
                top - BADGE_PX + 3.0,
                width - 4.0 + BADGE_PX * (k + 1) + 2.0 * k,
                top + 3.0,
                f"mark {number}",
            ),
        )
        for k, number in enumerate(badges)
    )
    entry = (max(la.box.x1 for la in labels) + 10.0) if inside and labels else min(9.0, width / 2.0)
    if body.width_m is None:
        entry = width / 2.0 - 4.0 * (inlets_count - 1)
    beside = Box(width, top, width + beside_px, bottom) if beside_px > 0.0 else None
    return Placed(
        body,
        box,
        scale,
        labels,
        tuple(lines),
        name_box,
        max(entry, 3.0),
        cut,
        made_badges,
        ground,
        beside,
    )


def _name_lines(body: Body) -> list[str]:
    lines = wrap(body.name, width_chars=18, lines=2)
    if body.note:
        lines.append(body.note)
    if body.estimated:
        lines.append("height not given")
    return lines


def shift(placed: Placed, dx: float) -> Placed:
    """The same part further right."""
    return Placed(
        placed.body,
        placed.box.moved(dx),
        placed.scale,
        tuple(
            Label(
                la.mark,
                la.text,
                la.box.moved(dx),
                la.text_x + dx,
                la.text_y,
                la.triangle_x + dx,
                tuple((x + dx, y) for x, y in la.shelf),
            )
            for la in placed.labels
        ),
        placed.name_lines,
        placed.name_box.moved(dx),
        placed.inlet_x + dx,
        placed.cut,
        tuple((n, b.moved(dx)) for n, b in placed.badges),
        placed.ground.moved(dx) if placed.ground else None,
        placed.beside.moved(dx) if placed.beside else None,
    )


def settle(placed: Placed, sheet: Sheet, *, after_px: float, least_px: float) -> Placed:
    """Push a part right, its body from ``after_px`` on, until it stands free of all others."""
    left = min(b.x0 for b in footprint(placed))
    here = shift(placed, max(after_px, least_px - left))
    taken = sheet.taken()
    while True:
        hit = [
            (other.x1 + GAP_PX / 2.0 - mine.x0)
            for mine in footprint(here)
            for other in taken
            if mine.hits(other, gap=GAP_PX / 2.0 - 1.0)
        ]
        if not hit:
            return here
        here = shift(here, max(1.0, min(hit)))


def free_place(box: Box, *, taken: Iterable[Box], steps: Iterable[tuple[float, float]]) -> Box:
    """The first of the offered moves at which the box meets nothing; else the last one."""
    others = list(taken)
    here = box
    for dx, dy in steps:
        here = box.moved(dx, dy)
        if not any(here.hits(o, gap=1.0) for o in others):
            return here
    return here

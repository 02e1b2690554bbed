"""Ways that let germs through, drawn over the section: red, dashed, lettered; and other water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from string import ascii_uppercase

from roofspring.plan.model import Plan, split_port
from roofspring.report import _ink
from roofspring.report._frame import AXIS_PX
from roofspring.report._layout import BADGE_PX, LINE_PX, TEXT_PX, Overlay, Placed, free_place
from roofspring.report._routes import Point
from roofspring.report._routes import Route as Line
from roofspring.report._svg import Box, clean_text, tag, text_width, wrap, write
from roofspring.safety.paths import Route, place_words
from roofspring.safety.paths.graph import GROUND, HOSE, SOURCE, STORM, WHEN_WORDS
from roofspring.safety.paths.routes import is_round_the_sand, kinds_of

MOST = 4
"""Ways that are drawn; the table has them all."""
BESIDE_PX = (4.5, -4.5, 8.5, -8.5)
"""How far each is drawn beside the pipes that it runs through."""
TAG_PX = 17.0
PER_CHAR_PX = 6.4


@dataclass(frozen=True)
class ShownWay:
    """One way to a tap without a barrier or round the sand, or several roofs' ways that end alike.

    Attributes
    ----------
    letter, words : str
        Its mark on the drawing, and what it is.
    routes : tuple of Route
    is_open : bool
        Open in daily running or in a storm; otherwise it takes a mishap.
    """

    letter: str
    words: str
    routes: tuple[Route, ...]
    is_open: bool


def shown_ways(plan: Plan, routes: Sequence[Route]) -> tuple[ShownWay, ...]:
    """The ways to draw: those that no barrier stands on, and those of roof water round the sand.

    Open ones come first. Mains water is not one.

    Parameters
    ----------
    plan : Plan
    routes : sequence of Route
        The weakest first, as `roofspring.safety.paths.all_routes` gives them.

    Returns
    -------
    tuple of ShownWay
        `MOST` of them at most.
    """
    alike: dict[tuple[int, str, str, tuple[str, ...]], list[Route]] = {}
    for r in routes:
        if (not r.barriers and not r.is_supplied) or is_round_the_sand(plan, r):
            start = "roof" if r.start in plan.roofs else r.start
            alike.setdefault((r.when, r.tap, start, r.barriers), []).append(r)
    made = []
    groups = sorted(alike.items(), key=lambda g: (g[0][0] > STORM, bool(g[0][3]), g[0]))
    for letter, ((when, _, start, past), same) in zip(ascii_uppercase, groups[:MOST], strict=False):
        way = " → ".join(place_words(plan, p) for p in same[0].parts[1:])
        but = f", past the filter and through {kinds_of(same[0].mechanisms)} alone" if past else ""
        words = f"{_what(plan, start)}, {WHEN_WORDS[when]}{but}: → {way}"
        made.append(ShownWay(letter, words, tuple(same), when <= STORM))
    return tuple(made)


def _what(plan: Plan, start: str) -> str:
    kind = start.partition(":")[0]
    if start == "roof":
        return "unfiltered roof water"
    if kind == HOSE:
        return "whatever a hose lies in"
    if kind == SOURCE:
        return f"water of {place_words(plan, start)}"
    return "ground water" if kind == GROUND else f"water out of {place_words(plan, start)}"


def draw_ways(
    plan: Plan,
    ways: Sequence[ShownWay],
    *,
    placed: Mapping[str, Placed],
    lines: Sequence[Line],
    badges: Mapping[str, Sequence[int]],
    severity: Mapping[int, str],
    taken: Sequence[Box],
    before_id: str = "",
) -> Overlay:
    """Paint other water and the ways, each with its letter where there is room.

    Parameters
    ----------
    plan : Plan
    ways : sequence of ShownWay
    placed : mapping of str to Placed
        Where each part stands on the sheet.
    lines : sequence of Line
        Where each pipe runs.
    badges : mapping of str to sequence of int
        Numbers of findings by what they name; those of other water are ``source.NAME``.
    severity : mapping of int to str
    taken : sequence of Box
        Places that must stay free of new words.
    before_id : str
        What goes before the ids of other water, where another section stands on the page.

    Returns
    -------
    Overlay
    """
    busy = list(taken)
    boxes: list[Box] = []
    under = over = ""
    mouths: dict[str, Point] = {}
    for source_id in sorted(plan.sources):
        made, mouth, new = _source(plan, source_id, placed, badges, severity, busy, before_id)
        over, boxes = over + made, boxes + new
        busy += new
        mouths[source_id] = mouth
    by_pipe = {line.connection.pipe_id: line for line in lines}
    for way, beside in zip(ways, BESIDE_PX, strict=False):
        low, high, tags = _way(way, beside, placed, by_pipe, mouths, busy)
        under, over, boxes = under + low, over + high, boxes + tags
        busy += tags
    rows = tuple((_sign(way), way.words) for way in ways)
    return Overlay(over, under, tuple(boxes), rows=rows)


def _source(
    plan: Plan,
    source_id: str,
    placed: Mapping[str, Placed],
    badges: Mapping[str, Sequence[int]],
    severity: Mapping[int, str],
    busy: Sequence[Box],
    before_id: str,
) -> tuple[str, Point, list[Box]]:
    """Other water: its name over the part that it is led to, and an arrow down."""
    to = placed[split_port(plan.sources[source_id].to, default="inlet")[0]]
    text = place_words(plan, f"{SOURCE}:{source_id}")
    wide = text_width(text, TEXT_PX) + 6.0
    numbers = badges.get(f"source.{source_id}", ())
    whole = wide + (BADGE_PX + 2.0) * len(numbers)
    x, y = to.box.x1 - 8.0, to.box.y0
    first = Box(x - wide / 2.0, y - 34.0, x - wide / 2.0 + whole, y - 14.0, f"source {source_id}")
    steps = [(dx, -12.0 * k) for k in range(10) for dx in (0.0, -18.0, 18.0, -36.0, 36.0)]
    steps += [(0.0, 60.0 + dy) for dy in range(0, 4000, 20)]
    box = free_place(first, taken=busy, steps=steps)
    foot = (min(max(box.x0 + wide / 2.0, to.box.x0 + 4.0), to.box.x1 - 4.0), y)
    start = (box.x0 + wide / 2.0, box.y1 if box.y1 <= y else box.y0)
    made = _ink.line([start, foot], "other")
    made += tag("path", class_="tip-other", d=f"M{foot[0]:.2f} {foot[1]:.2f}l-4 -8h8z")
    made += write(text, box.x0 + 3.0, box.y1 - 5.0, "s halo")
    marks = []
    for k, number in enumerate(numbers):
        x0 = box.x0 + wide + k * (BADGE_PX + 2.0)
        mark = Box(x0, box.y0, x0 + BADGE_PX, box.y0 + BADGE_PX, f"mark {number}")
        marks.append(mark)
        made += _ink.badge(number, mark, severity[number])
    words = Box(box.x0, box.y0, box.x0 + wide, box.y1, box.what)
    return tag("g", made, id=f"{before_id}source-{source_id}"), start, [words, *marks]


def _way(
    way: ShownWay,
    beside: float,
    placed: Mapping[str, Placed],
    by_pipe: Mapping[str, Line],
    mouths: Mapping[str, Point],
    busy: Sequence[Box],
) -> tuple[str, str, list[Box]]:
    """Lines beside the pipes, what goes over the parts, and the letters."""
    css = "way" if way.is_open else "way mishap"
    drawn: set[str] = set()
    under = over = ""
    tags: list[Box] = []
    for route in way.routes:
        runs = _runs(route, placed, by_pipe, mouths)
        for points in runs:
            text = _d(points, beside)
            if text not in drawn:
                drawn.add(text)
                under += tag("path", class_=css, d=text) + _tips(points, beside)
        for before, after in pairwise(runs):
            # The last drop into a part, and on to where the next pipe leaves it.
            link = [_near(before[-2], before[-1]), before[-1], after[0]]
            text = _d(link, beside)
            if text not in drawn:
                drawn.add(text)
                over += tag("path", class_=css, d=text) + _tips(link, beside)
        end = runs[-1][-2:]
        over += tag("path", class_=css, d=_d([_near(*end), end[1]], beside))
    longest = sorted(
        (s for run in _runs(way.routes[0], placed, by_pipe, mouths) for s in pairwise(run)),
        key=lambda s: -(abs(s[0][0] - s[1][0]) + abs(s[0][1] - s[1][1])),
    )
    for a, b in longest[:2]:
        places = [
            (a[0] + (b[0] - a[0]) * t + beside + side, a[1] + (b[1] - a[1]) * t + beside + up)
            for side, up in ((0.0, 0.0), (0.0, -TAG_PX), (0.0, TAG_PX), (TAG_PX, 0.0))
            for t in (0.5, 0.35, 0.65, 0.2, 0.8)
        ]
        places = [(x, y) for x, y in places if x > AXIS_PX and y > TAG_PX]
        middle = (max(0.5 * (a[0] + b[0]), AXIS_PX + TAG_PX), max(0.5 * (a[1] + b[1]), TAG_PX))
        if not tags:
            places += [(middle[0], middle[1] + TAG_PX * k) for k in range(1, 400)]
        half = TAG_PX / 2.0
        small = Box(-half, -half, half, half, f"way {way.letter}{len(tags)}")
        box = free_place(small, taken=[*busy, *tags], steps=places)
        if not places or (tags and any(box.hits(b, gap=1.0) for b in (*busy, *tags))):
            continue  # one letter is enough where there is no room for a second
        tags.append(box)
        over += _tag(way.letter, 0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1))
    title = tag("title", escape(clean_text(f"{way.letter}: {way.words}")))
    return (
        tag("g", title + under, id=f"way-{way.letter}", class_="way-group"),
        tag("g", title + over, class_="way-group"),
        tags,
    )


def _d(points: Sequence[Point], beside: float) -> str:
    return "M" + "L".join(f"{x + beside:.2f} {y + beside:.2f}" for x, y in points)


def _near(start: Point, end: Point, *, most_px: float = 26.0) -> Point:
    """The point on a stretch that lies a little before its end."""
    long = abs(end[0] - start[0]) + abs(end[1] - start[1])
    t = min(1.0, most_px / long) if long > 0.0 else 0.0
    return end[0] + (start[0] - end[0]) * t, end[1] + (start[1] - end[1]) * t


def _runs(
    route: Route,
    placed: Mapping[str, Placed],
    by_pipe: Mapping[str, Line],
    mouths: Mapping[str, Point],
) -> list[list[Point]]:
    """A way across the sheet, pipe by pipe: against the flow where it runs back."""
    runs: list[list[Point]] = []
    for (start, end), pipe_id in zip(pairwise(route.parts), route.pipes, strict=True):
        line = by_pipe.get(pipe_id)
        if line is not None:
            forward = line.connection.from_part == start and line.connection.to_part == end
            runs.append(list(line.points if forward else reversed(line.points)))
            continue
        box = placed[end].box
        kind, _, name = start.partition(":")
        if kind == SOURCE:
            runs.append([mouths[name], (box.x1 - 8.0, box.y0 + 2.0)])
        else:
            y = box.y0 + 0.8 * (box.y1 - box.y0)
            runs.append([(box.x0 - 26.0, y), (box.x0 + 6.0, y)])
    return runs


def _tips(points: Sequence[Point], beside: float) -> str:
    """Arrowheads on every long stretch, so that the way of the water is seen without colour."""
    made = ""
    for (xa, ya), (xb, yb) in pairwise(points):
        across, along = xb - xa, yb - ya
        if abs(across) + abs(along) < 40.0:
            continue
        long = (across**2 + along**2) ** 0.5
        ux, uy = across / long, along / long
        x, y = xa + 0.62 * across + beside, ya + 0.62 * along + beside
        corners = [
            (x + 6.0 * ux, y + 6.0 * uy),
            (x - 5.0 * ux + 5.0 * uy, y - 5.0 * uy - 5.0 * ux),
            (x - 5.0 * ux - 5.0 * uy, y - 5.0 * uy + 5.0 * ux),
        ]
        d = "M" + "L".join(f"{px:.2f} {py:.2f}" for px, py in corners) + "z"
        made += tag("path", class_="tip-way", d=d)
    return made


def _tag(letter: str, x: float, y: float) -> str:
    disc = tag("circle", class_="way-tag", cx=x, cy=y, r=TAG_PX / 2.0 - 1.0)
    return disc + write(letter, x, y + 4.0, "badge-text on-way", text_anchor="middle")


def _sign(way: ShownWay) -> str:
    css = "way" if way.is_open else "way mishap"
    line = tag("path", class_=css, d="M22 -4H62") + tag(
        "path", class_="tip-way", d="M62 -9v10l8 -5z"
    )
    return _tag(way.letter, 8.0, -4.0) + line


def ways_legend(overlay: Overlay, *, width: float, top: float) -> tuple[str, float]:
    """The rows under the legend that say what each letter is; and the height of the sheet."""
    if not overlay.rows:
        return "", top
    y = top + LINE_PX
    heading = (
        "Red: ways without a barrier, or past the filter. Dashes: open as drawn; dots: by mishap."
    )
    made = write(heading, AXIS_PX, y, "n")
    chars = max(40, int((width - AXIS_PX - 90.0) / PER_CHAR_PX))
    for sign, words in overlay.rows:
        y += LINE_PX + 6.0
        made += tag("g", sign, transform=f"translate({AXIS_PX:.2f} {y:.2f})")
        for k, text in enumerate(wrap(words, width_chars=chars, lines=3)):
            y += LINE_PX if k else 0.0
            made += write(text, AXIS_PX + 80.0, y, "s")
    return tag("g", made, class_="legend"), y + 12.0

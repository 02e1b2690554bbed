"""The levels drawing: the section with the water of one state and the head along every pipe.

It is the section of the report with more drawn over it: where a pipe runs full, the height to which
water would rise in a tube set on it; what the sand takes; and what fails, in the warning colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from roofspring.network.levels import LevelCheck, Line, Steady
from roofspring.plan.model import Plan
from roofspring.report import _ink
from roofspring.report._layout import TEXT_PX, Overlay, Placed, free_place
from roofspring.report._routes import Route
from roofspring.report._svg import Box, tag, text_width, write
from roofspring.report.section import SectionDrawing, draw_section
from roofspring.units import UNIT_SETS, UnitSet, show

LINE_TALL_PX = 14.0
OUT_PX = 12.0
"""How far beside a body its dimension lines stand."""
APART_PX = 9.0
MOST_TRIES = 60
SHEET_CSS = (
    "@page{size:A3 landscape;margin:10mm}@media print{.rs.section{width:100%;height:auto}}\n"
)
"""Of a drawing in a file of its own: printed on one sheet, whatever its width."""


def draw_levels(
    plan: Plan,
    found: Steady,
    checks: Sequence[LevelCheck] = (),
    *,
    beside_another: str = "",
) -> SectionDrawing:
    """Draw the section with the water of one state, to scale.

    Parameters
    ----------
    plan : Plan
    found : Steady
        The water of the state that is drawn.
    checks : sequence of LevelCheck
        Those that fail, in this state or in all, are marked.
    beside_another : str
        As for `draw_section`.

    Returns
    -------
    SectionDrawing
    """
    failed = [c for c in checks if fails_in(c, found)]

    def overlay(
        placed: Mapping[str, Placed], lines: Sequence[Route], taken: Sequence[Box]
    ) -> Overlay:
        return _Painter(plan, found, failed, placed, lines, taken).overlay()

    return draw_section(
        plan,
        levels_m={p: z for p, z in found.levels_m.items() if math.isfinite(z)},
        levels_words=found.state.title,
        overlay=overlay,
        beside_px=_room_px(plan, failed),
        beside_another=beside_another,
        sheet_css="" if beside_another else SHEET_CSS,
    )


def _room_px(plan: Plan, failed: Sequence[LevelCheck]) -> dict[str, float]:
    """Room for the dimension lines at the right of each part."""
    room = dict.fromkeys(plan.filters, OUT_PX + APART_PX)
    for check in failed:
        part_id = part_of(plan, check)
        room[part_id] = room.get(part_id, OUT_PX) + APART_PX
    return room


def part_of(plan: Plan, check: LevelCheck) -> str:
    """The part beside which a check is drawn."""
    name = check.where.split(" over ")[0].split(".")[0]
    if name in plan.pipes and name not in dict(plan.parts()):
        return plan.pipes[name].to.partition(".")[0]
    return name


def fails_in(check: LevelCheck, found: Steady) -> bool:
    """Whether a check fails in a state; one that asks the same in all fails in each."""
    if check.ok is not False:
        return False
    if not check.states:
        return True
    return any(s.state.startswith(found.state.title) and not s.ok for s in check.states)


@dataclass(frozen=True)
class _Note:
    """A line of text that belongs to a place on the sheet."""

    text: str
    x: float
    y: float
    css: str


class _Painter:
    """Draws what lies over the section, each text where there is room."""

    def __init__(
        self,
        plan: Plan,
        found: Steady,
        failed: Sequence[LevelCheck],
        placed: Mapping[str, Placed],
        lines: Sequence[Route],
        taken: Sequence[Box],
    ) -> None:
        self.plan, self.found, self.failed, self.placed = plan, found, failed, placed
        self.routes = {r.connection.pipe_id: r for r in lines}
        self.taken = list(taken)
        self.pipes = [
            Box(min(xa, xb) - 1.0, min(ya, yb) - 1.0, max(xa, xb) + 1.0, max(ya, yb) + 1.0)
            for route in lines
            for (xa, ya), (xb, yb) in pairwise(route.points)
        ]
        self.boxes: list[Box] = []
        self.units: UnitSet = plan.show
        first = next(iter(placed.values()), None)
        self.scale = None if first is None else first.scale

    def overlay(self) -> Overlay:
        """Everything, and the signs that explain it."""
        if self.scale is None:
            return Overlay()
        grade = [*self._drops(), *self._grade_lines()]
        heads = list(self._grade_notes())
        losses = list(self._sand_losses())
        fails = list(self._failures())
        signs = []
        if grade:
            signs.append(
                (tag("path", class_="grade", d="M0 -3H26"), "head along a pipe that runs full")
            )
        if losses:
            arrow = tag("path", class_="dim", d="M13 -11V3M9 -11h8M9 3h8")
            signs.append((arrow, "head that sand and skin take"))
        if fails:
            arrow = tag("path", class_="dim-fails", d="M13 -11V3M8 -11h10M8 3h10")
            signs.append((arrow, "margin that fails"))
        svg = tag("g", "".join((*heads, *losses, *fails)), class_="levels")
        return Overlay(svg, "".join(grade), tuple(self.boxes), tuple(signs))

    def _y(self, z_m: float) -> float:
        assert self.scale is not None
        return self.scale.y(z_m)

    def _height(self, z_m: float) -> str:
        decimals = 2 if self.units == "metric" else UNIT_SETS[self.units]["height"][2]
        return show(z_m, "height", units=self.units, digits=decimals).replace("-", "−")

    def _note(self, note: _Note, *, leader_from: tuple[float, float] | None = None) -> str:
        """Write a line of text beside its place, moved to where it meets nothing."""
        wide = text_width(note.text, TEXT_PX) + 4.0
        box = Box(note.x, note.y - 11.0, note.x + wide, note.y + 3.0, f"level: {note.text}")
        half = LINE_TALL_PX / 2.0
        steps = sorted(
            (
                (dx, dy)
                for k in range(MOST_TRIES)
                for dx in (0.0, 30.0, 70.0, -wide - 8.0, -wide - 40.0)
                for dy in (-half * k, half * k)
            ),
            key=lambda s: (max(s[0], -s[0] - wide) + abs(s[1]), s[1]),
        )
        here = free_place(box, taken=[*self.taken, *self.pipes], steps=steps)
        if any(here.hits(other, gap=1.0) for other in self.taken):
            here = free_place(box, taken=self.taken, steps=steps)
        self.taken.append(here)
        self.boxes.append(here)
        made = ""
        moved = abs(here.x0 - box.x0) + abs(here.y0 - box.y0) > LINE_TALL_PX
        if leader_from is not None and moved:
            x = here.x0 if here.x0 > leader_from[0] else here.x1
            made += _ink.line([leader_from, (x, here.y1 - 5.0)], "lead")
        return made + write(note.text, here.x0 + 2.0, here.y1 - 3.0, note.css)

    def _running(self) -> Iterator[tuple[Route, Line, float, float]]:
        """Pipes that run full, with the head at both ends, before what their valve takes."""
        for pipe_id, line in sorted(self.found.lines.items()):
            route = self.routes.get(pipe_id)
            if route is None or not line.is_full or line.start_m is None or line.end_m is None:
                continue
            if line.flow_m3_per_s > 0.0:
                yield route, line, line.start_m, line.end_m + line.valve_m

    def _drops(self) -> Iterator[str]:
        """What a float valve or a tap takes at the end of its pipe."""
        for route, line, _, before_m in self._running():
            if line.valve_m > 0.0 and line.end_m is not None:
                x = route.points[-1][0]
                yield _ink.line(
                    [(x, self._y(before_m)), (x, self._y(line.end_m))], "grade grade-drop"
                )

    def _grade_lines(self) -> Iterator[str]:
        """The head along every pipe that runs full."""
        for route, line, start_m, before_m in self._running():
            (x0, _), (x1, _) = route.points[0], route.points[-1]
            points = [(x0, self._y(start_m)), (x1, self._y(before_m))]
            label = route.connection.pipe.label or line.pipe_id
            words = (
                f"head along {label}: {self._height(start_m)} to {self._height(before_m)}, "
                f"{show(line.flow_m3_per_s, 'flow', units=self.units, digits=0)}"
            )
            body = tag("title", escape(words)) + _ink.line(points, "under-thin")
            body += _ink.line(points, "grade")
            yield tag("g", body)

    def _grade_notes(self) -> Iterator[str]:
        """The head at the end of every pipe that runs full, clear of what others drop there."""
        for route, line, _, before_m in self._running():
            x, y = route.points[-1][0], self._y(before_m)
            low = y if line.end_m is None else self._y(line.end_m)
            self.pipes.append(Box(x - 4.0, min(y - 6.0, low), x + 4.0, max(y, low)))
        for route, _, _, before_m in self._running():
            x, y = route.points[-1][0], self._y(before_m)
            text = f"head {self._height(before_m)}"
            note = _Note(text, x + 6.0, y - 4.0, "h halo grade-text")
            mark = _ink.triangle(x, y, "grade-mark", size=7.0)
            yield mark + self._note(note, leader_from=(x, y - 3.0))

    def _sand_losses(self) -> Iterator[str]:
        """What sand and skin take in every filter."""
        for filter_id in self.plan.filters:
            placed, level_m = self.placed.get(filter_id), self.found.levels_m.get(filter_id)
            weir_m = self.plan.filters[filter_id].outlet_m
            if placed is None or level_m is None or weir_m is None or level_m <= weir_m:
                continue
            x = placed.box.x1 + OUT_PX
            made = self._dimension(x, level_m, weir_m, "dim")
            text = show(level_m - weir_m, "gap", units=self.units)
            rate = self.found.rates_m_per_s.get(filter_id)
            if rate is not None and math.isfinite(rate):
                text += f" at {show(rate, 'rate', units=self.units)}"
            middle = 0.5 * (self._y(level_m) + self._y(weir_m))
            yield made + self._note(
                _Note(text, x + 5.0, middle + 4.0, "h halo"), leader_from=(x, middle)
            )

    def _dimension(self, x: float, upper_m: float, lower_m: float, css: str) -> str:
        """A dimension line between two heights, ticks at both; arrows from outside when tiny."""
        y0, y1 = self._y(upper_m), self._y(lower_m)
        if y0 > y1:
            y0, y1 = y1, y0
        d = f"M{x - 4:.2f} {y0:.2f}h8M{x - 4:.2f} {y1:.2f}h8"
        if y1 - y0 >= 8.0:
            d += f"M{x:.2f} {y0:.2f}V{y1:.2f}"
        else:
            d += f"M{x:.2f} {y0 - 11:.2f}V{y0 - 1:.2f}M{x:.2f} {y1 + 11:.2f}V{y1 + 1:.2f}"
            d += f"M{x - 2.5:.2f} {y0 - 4.5:.2f}l2.5 3.5l2.5 -3.5"
            d += f"M{x - 2.5:.2f} {y1 + 4.5:.2f}l2.5 -3.5l2.5 3.5"
        return tag("path", class_=css, d=d)

    def _failures(self) -> Iterator[str]:
        """Every check that fails: the two heights, and what is missing."""
        beside: dict[str, int] = {}
        for check in self.failed:
            part_id = part_of(self.plan, check)
            placed = self.placed.get(part_id)
            if placed is None or check.margin_m is None:
                continue
            k = beside.get(part_id, 0)
            beside[part_id] = k + 1
            x = placed.box.x1 + OUT_PX + APART_PX * (k + 1)
            short = (
                f"{show(-check.margin_m, 'gap', units=self.units)} short"
                if math.isfinite(check.margin_m)
                else "not enough by far"
            )
            upper_m, lower_m = check.upper_m, check.lower_m
            if upper_m is None or lower_m is None:
                upper_m = self.found.levels_m.get(part_id)
                weir_m = placed.body.inner_m.get("weir")
                if upper_m is None or weir_m is None:
                    continue
                lower_m = weir_m
                short = f"{show(-check.margin_m, 'gap', units=self.units)} too much head"
            made = self._dimension(x, upper_m, lower_m, "dim-fails")
            middle = 0.5 * (self._y(upper_m) + self._y(lower_m))
            note = _Note(f"{check.code}: {short}", x + 6.0, middle + 4.0, "h halo fails-text")
            title = tag("title", escape(f"{check.where}: {check.what}"))
            yield tag("g", title + made + self._note(note, leader_from=(x, middle)))

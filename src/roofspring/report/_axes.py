"""A small drawing board for charts: scales, ticks and marks as SVG text without styles."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from roofspring.report._svg import Box, clean_text, tag, text_width
from roofspring.report.charts import INK, MONTHS, Chart

WIDE_PX = 560.0
TEXT_PX = 16
WIDEST_FONT = 1.16
"""Text here is as wide as the reader's font makes it, unlike that of the section, which is pressed
into the width it is given: room for the widest of the common ones."""
GRID, SOFT, PAPER = "#dfe3de", "#46524b", "#ffffff"


@dataclass(frozen=True)
class Scale:
    """From a value to a place on the sheet; a logarithmic one for values above 0."""

    low: float
    high: float
    start_px: float
    end_px: float
    log: bool = False

    def __call__(self, value: float) -> float:
        """Place [px]."""
        low, high = (math.log(v) if self.log else v for v in (self.low, self.high))
        at = math.log(value) if self.log else value
        share = (at - low) / (high - low) if high > low else 0.5
        return self.start_px + share * (self.end_px - self.start_px)


def words(
    text: str,
    x: float,
    y: float,
    *,
    anchor: str = "start",
    size: int = TEXT_PX,
    fill: str = INK,
    weight: str = "normal",
    halo: str = "",
) -> str:
    """A line of text with its baseline at ``y``; with a halo it stays legible over lines."""
    more: dict[str, str | float | int] = {"font_weight": weight} if weight != "normal" else {}
    if halo:
        more |= {"stroke": halo, "stroke_width": 4, "paint_order": "stroke"}
    content = escape(clean_text(text), quote=False)
    return tag("text", content, x=x, y=y, text_anchor=anchor, font_size=size, fill=fill, **more)


def rect(x: float, y: float, wide: float, high: float, fill: str, *, stroke: str = "none") -> str:
    """A rectangle."""
    return tag("rect", x=x, y=y, width=max(0.0, wide), height=max(0.0, high), fill=fill,
               stroke=stroke)  # fmt: skip


def areas(boxes: Sequence[Box], fill: str, *, stroke: str = "none") -> str:
    """Many rectangles of one kind as one path; nothing without any."""
    if not boxes:
        return ""
    d = "".join(
        f"M{b.x0:.5g} {b.y0:.5g}h{b.x1 - b.x0:.3g}v{b.y1 - b.y0:.3g}h{b.x0 - b.x1:.3g}z"
        for b in boxes
    )
    return tag("path", d=d, fill=fill, stroke=stroke, stroke_width=1.6)


def line(
    points: Iterable[tuple[float, float]], colour: str, *, wide: float = 1.0, dash: str = ""
) -> str:
    """A line through points."""
    d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    more: dict[str, str | float | int] = {"stroke_dasharray": dash} if dash else {}
    return tag("path", d=d, fill="none", stroke=colour, stroke_width=wide, **more)


def hatch(name: str, colour: str = INK) -> str:
    """A pattern of oblique lines; fill with ``url(#name)``."""
    inside = tag("rect", width=6, height=6, fill=PAPER)
    inside += tag("path", d="M0 0V6", stroke=colour, stroke_width=2.2)
    pattern = tag("pattern", inside, id=name, width=5, height=6, patternUnits="userSpaceOnUse",
                  patternTransform="rotate(45)")  # fmt: skip
    return tag("defs", pattern)


def steps(low: float, high: float, *, most: int) -> list[float]:
    """Round numbers from ``low`` to ``high``, ``most`` at most."""
    if not high > low:
        return [low]
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= rough * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def decades(low: float, high: float) -> list[float]:
    """1, 2 and 5 times powers of ten from ``low`` to ``high``; powers alone over long spans."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    kinds = (1.0, 2.0, 5.0) if high / low < 3000.0 else (1.0,)
    marks = (k * 10.0**p for p in powers for k in kinds)
    return [v for v in marks if low * (1 - 1e-9) <= v <= high * (1 + 1e-9)]


def dates(first: np.datetime64, last: np.datetime64) -> list[tuple[np.datetime64, str]]:
    """Up to seven round dates between two days, with their words."""
    span = int((last - first).astype(np.int64)) + 1
    if span > 3 * 365:
        low, high = (int(str(d)[:4]) for d in (first, last))
        step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 500) if (high - low) / s <= 6.5)
        years = range(-(-low // step) * step, high + 1, step)
        marks = [(np.datetime64(f"{y:04d}-01-01"), str(y)) for y in years]
    elif span > 50:
        months = np.arange(first.astype("datetime64[M]"), last.astype("datetime64[M]") + 1)
        step = -(-len(months) // 6)
        marks = [
            (m.astype("datetime64[D]"), f"{MONTHS[int(str(m)[5:7]) - 1]} {str(m)[:4]}")
            for m in months[::step]
        ]
    else:
        days = first + np.arange(0, span, -(-span // 4))
        marks = [(d, str(d)) for d in days]
    return [(d, text) for d, text in marks if first <= d <= last]


def day_number(day: str | np.datetime64) -> int:
    """Days since 1970, to place a day on a scale."""
    return int(np.datetime64(str(day), "D").astype(np.int64))


def grid(
    marks: Sequence[tuple[float, str]],
    *,
    left: float,
    right: float,
    place: Callable[[float], float],
) -> str:
    """Light lines across with their numbers at the left."""
    made = ""
    for value, text in marks:
        y = place(value)
        made += line([(left, y), (right, y)], GRID)
        made += words(text, left - 8.0, y + 5.5, anchor="end")
    return made


def below(marks: Sequence[tuple[float, str]], y: float, *, left: float, right: float) -> str:
    """Ticks and words under a panel, at places [px]; words stay inside the sheet."""
    made, taken = line([(left, y), (right, y)], INK), -1e9
    for x, text in marks:
        wide = WIDEST_FONT * text_width(text, TEXT_PX)
        start = min(max(0.0, x - 0.5 * wide), WIDE_PX - wide)
        made += line([(x, y), (x, y + 6.0)], INK)
        if start > taken + 6.0:  # else the words would run into those before
            made += words(text, start, y + 23.0)
            taken = start + wide
    return made


def number(value: float) -> str:
    """A number of a scale without needless zeros."""
    return f"{value:,.10g}"


def joined(segments: Sequence[tuple[float, float]], *, least_px: float) -> list[tuple[int, int]]:
    """Stretches of a line [px] on whole pixels, wide enough to see, joined where they touch."""
    made: list[tuple[int, int]] = []
    for a, b in sorted(segments):
        start, end = math.floor(a), math.ceil(max(b, a + least_px))
        if made and start <= made[-1][1]:
            made[-1] = (made[-1][0], max(end, made[-1][1]))
        else:
            made.append((start, end))
    return made


def sheet(chart_id: str, *, title: str, caption: str, high: float, body: str) -> Chart:
    """Close a chart: its root element, with the words for those who do not see it."""
    svg = tag(
        "svg",
        body,
        xmlns="http://www.w3.org/2000/svg",
        class_="chart",
        width=WIDE_PX,
        height=high,
        viewBox=f"0 0 {WIDE_PX:g} {high:g}",
        role="img",
        aria_label=f"{title} {caption}",
        font_family="sans-serif",
    )
    return Chart(chart_id, title, caption, svg)

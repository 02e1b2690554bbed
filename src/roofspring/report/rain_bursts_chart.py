"""The picture of short, heavy rain: mean intensity by duration and rarity."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from roofspring.rain.cloudburst import AnnualMaxima, DesignRain
from roofspring.report._axes import (
    GRID,
    PAPER,
    Scale,
    below,
    decades,
    grid,
    line,
    number,
    sheet,
    words,
)
from roofspring.report._rain_words import depth, often, span
from roofspring.report._svg import tag
from roofspring.report.charts import BLUE, INK, Chart
from roofspring.units import UNIT_SETS, UnitSet

BAND_YEARS = 10.0
TOLD_S = 900.0
"""Duration that the title tells: what a gutter must take; engineering choice."""
_TICKS = (
    (300.0, "5 min"), (900.0, "15"), (3600.0, "1 h"), (10800.0, "3"), (43200.0, "12"),
    (86400.0, "1 d"), (259200.0, "3"), (604800.0, "7 d"),
)  # fmt: skip
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 456.0, 34.0, 352.0
_LABEL_PX = 18.0
_SOLID = {"table": "read from the table", "record": "fitted to the years of the record"}


def bursts_chart(
    design: Sequence[DesignRain],
    *,
    maxima: Sequence[AnnualMaxima] = (),
    units: UnitSet = "metric",
) -> Chart | None:
    """Mean intensity against duration, a curve for each return period.

    Parameters
    ----------
    design : sequence of DesignRain
        In any order; of one kind of return period.
    maxima : sequence of AnnualMaxima
        The record's own, drawn as dots.
    units : {"metric", "us"}

    Returns
    -------
    Chart or None
        None without a curve of two durations.
    """
    curves = _curves(design)
    if not any(len(c) > 1 for c in curves.values()):
        return None
    unit, size, _ = UNIT_SETS[units]["rain"]
    per_hour = 3600.0 / size
    dots = [
        (m.duration_s, float(d) / m.duration_s * per_hour)
        for m in maxima
        for d in m.depth_m
        if d > 0.0
    ]
    band = curves.get(BAND_YEARS, [])
    rates = [r.mean_m_per_s * per_hour for r in design]
    rates += [b / r.duration_s * per_hour for r in band for b in (r.low_m, r.high_m) if b]
    rates += [rate for _, rate in dots]
    spans = [r.duration_s for r in design]
    x = Scale(min(spans), max(spans), _LEFT, _RIGHT, log=True)
    y = Scale(min(rates) / 1.15, max(rates) * 1.15, _BOTTOM, _TOP, log=True)
    made = words(f"mean intensity [{unit}/h]", 2.0, 16.0)
    marks = [(v, number(v)) for v in decades(y.low, y.high)]
    made += grid(marks, left=_LEFT, right=_RIGHT, place=y)
    ticks = [(x(s), text) for s, text in _TICKS if x.low <= s <= x.high]
    made += "".join(line([(at, _TOP), (at, _BOTTOM)], GRID) for at, _ in ticks)
    made += _band(band, x, y, per_hour)
    made += "".join(
        tag("circle", cx=x(s), cy=y(rate), r=2.6, fill=PAPER, stroke=INK, stroke_width=1)
        for s, rate in dots
    )
    ends = []
    for years, curve in sorted(curves.items()):
        colour, wide = (BLUE, 3.2) if years == BAND_YEARS else (INK, 2.0)
        points = [(x(r.duration_s), y(r.mean_m_per_s * per_hour)) for r in curve]
        for (a, b), ends_px in zip(pairwise(curve), pairwise(points), strict=True):
            dash = "7 4" if "scaled" in (a.way, b.way) else ""
            made += line(ends_px, colour, wide=wide, dash=dash)
        ends.append((points[-1][1], f"{years:g} years", colour))
    made += _labels(ends)
    made += below(ticks, _BOTTOM, left=_LEFT, right=_RIGHT)
    made += words("duration", 0.5 * (_LEFT + _RIGHT), _BOTTOM + 46.0, anchor="middle")
    caption = "Each curve is the mean intensity that is exceeded once in so many years. "
    ways = {r.way for r in design}
    if ways - {"scaled"}:
        caption += f"Solid: {' or '.join(_SOLID[w] for w in _SOLID if w in ways)}. "
    if "scaled" in ways:
        caption += "Dashed: scaled from a longer duration by a rule that is not of the place. "
    if any(r.low_m is not None for r in band):
        caption += f"Blue: the {_level(band)} band of {BAND_YEARS:g} years. "
    if dots:
        caption += "Dots: the greatest of each year in the record."
    return sheet(
        "bursts",
        title=_title(curves, units),
        caption=caption.strip(),
        high=_BOTTOM + 54.0,
        body=made,
    )


def _curves(design: Sequence[DesignRain]) -> dict[float, list[DesignRain]]:
    curves: dict[float, list[DesignRain]] = {}
    for rain in sorted(design, key=lambda r: r.duration_s):
        curves.setdefault(rain.return_years, []).append(rain)
    return curves


def _band(curve: Sequence[DesignRain], x: Scale, y: Scale, per_hour: float) -> str:
    known = [
        (x(r.duration_s), r.low_m / r.duration_s * per_hour, r.high_m / r.duration_s * per_hour)
        for r in curve
        if r.low_m and r.high_m
    ]
    if len(known) < 2:
        return ""
    there = [f"{at:.1f} {y(max(low, y.low)):.1f}" for at, low, _ in known]
    back = [f"{at:.1f} {y(high):.1f}" for at, _, high in known[::-1]]
    return tag("path", d="M" + "L".join(there + back) + "z", fill=BLUE, fill_opacity=0.2)


def _labels(ends: Sequence[tuple[float, str, str]]) -> str:
    """Names at the right ends of the curves, pushed apart where they would overlap."""
    made, last = "", -1e9
    order = sorted(ends)
    places = []
    for at, _, _ in order:
        last = max(at, last + _LABEL_PX)
        places.append(last)
    over = max(0.0, places[-1] - (_BOTTOM - 2.0))
    for (at, text, colour), place in zip(order, places, strict=True):
        y = place - over
        made += line([(_RIGHT + 2.0, at), (_RIGHT + 12.0, y)], colour)
        made += words(text, _RIGHT + 14.0, y + 5.0, fill=colour, size=15)
    return made


def _level(band: Sequence[DesignRain]) -> str:
    level = next((r.level_frac for r in band if r.level_frac is not None), None)
    return f"{100.0 * level:.0f} %" if level is not None else "doubt"


def _title(curves: dict[float, list[DesignRain]], units: UnitSet) -> str:
    years = BAND_YEARS if BAND_YEARS in curves else max(curves)
    rain = min(curves[years], key=lambda r: abs(r.duration_s - TOLD_S))
    title = (
        f"{often(years, rain.kind)}, {depth(rain.depth_m, units)} or more falls in "
        f"{span(rain.duration_s)}"
    )
    if rain.low_m is not None and rain.high_m is not None:
        title += f" (band {depth(rain.low_m, units)} to {depth(rain.high_m, units)})"
    return f"{title}."

"""Pictures of a sand: its grading curve on semi-logarithmic paper, and the box that it fills."""

from __future__ import annotations

import math
from typing import Any

from roofspring.report._axes import GRID, PAPER, SOFT, WIDE_PX, line, rect, sheet, words
from roofspring.report.charts import (
    BLUE,
    BROWN,
    GREY,
    INK,
    WIDTH_PX,
    Chart,
    finished,
    table_chart,
)
from roofspring.sandfilter.gravel import GravelDesign
from roofspring.sandfilter.sieve import GradingCurve
from roofspring.sandfilter.study import SandStudy
from roofspring.sandfilter.underdrain import Underdrain
from roofspring.units import UnitSet, show

BAND = "#f2c879"
OTHERS = ("#6db1e8", "#7a4fa3", "#3f7d5a", GREY)
SAND_FILLS = ("#ecd9a8", "#d8c9a6", "#c3bba6", "#aeaa9f", "#999a95", "#84888a")
MOST_DECADES_MM = (0.01, 1000.0)


def grading_chart(study: SandStudy) -> Chart | None:
    """Share that passes each size, over the logarithm of size, with the wanted band.

    Parameters
    ----------
    study : SandStudy

    Returns
    -------
    Chart or None
        None for a sand that was not sieved.
    """
    curve = study.curve
    if curve is None:
        return None
    import altair as alt

    drawn = _curves(study, curve)
    low_mm, high_mm = _paper(study, [c for _, c, _ in drawn])
    ticks = [
        k * 10.0**p
        for p in range(math.floor(math.log10(low_mm)), math.ceil(math.log10(high_mm)) + 1)
        for k in range(1, 10)
        if low_mm * 0.999 <= k * 10.0**p <= high_mm * 1.001
    ]
    x = alt.X(
        "mm:Q",
        title="grain size [mm], logarithmic",
        scale=alt.Scale(type="log", domain=[low_mm, high_mm], nice=False),
        axis=alt.Axis(
            values=ticks,
            grid=True,
            # 1, 2 and 5 of each decade are named, and every line is drawn.
            labelExpr="indexof([1,2,5], toNumber(slice(format(datum.value, '.0e'), 0, 1))) >= 0"
            " ? format(datum.value, '~g') : ''",
            labelOverlap=False,
        ),
    )
    y = alt.Y(
        "percent:Q",
        title="passing [% by mass]",
        scale=alt.Scale(domain=[0, 100]),
        axis=alt.Axis(values=list(range(0, 101, 10)), grid=True),
    )
    layers: list[Any] = [_band(study, x, y)]
    layers.append(
        table_chart([{"percent": 10}, {"percent": 60}])
        .mark_rule(color=INK, strokeDash=[5, 3])
        .encode(y=y)
    )
    reach = _reach(study, curve, x, y)
    layers += [] if reach is None else [reach]
    names = [name for name, _, _ in drawn]
    colours = [colour for _, _, colour in drawn]
    rows = [
        {"mm": size_m * 1e3, "percent": 100.0 * share, "sand": name}
        for name, c, _ in drawn
        for size_m, share in zip(c.sizes_m, c.passing_frac, strict=True)
    ]
    colour = alt.Color(
        "sand:N",
        sort=names,
        title=None,
        scale=alt.Scale(domain=names, range=colours),
        legend=alt.Legend(
            orient="top",
            direction="vertical",
            labelLimit=380,
            symbolType="stroke",
            symbolStrokeWidth=2.5,
            symbolSize=300,
        ),
    )
    dash = alt.StrokeDash(
        "sand:N",
        sort=names,
        scale=alt.Scale(domain=names, range=[[1, 0], [8, 4], [3, 3], [10, 3, 2, 3], [2, 2]]),
        legend=None,
    )
    base = table_chart(rows).encode(x=x, y=y, color=colour)
    layers += [base.mark_line(strokeWidth=2.5).encode(strokeDash=dash), base.mark_point(size=36)]
    chart = alt.layer(*layers).properties(width=WIDTH_PX, height=330)
    d10, even = curve.size(0.10), curve.uniformity
    uniform = "the uniformity cannot be read" if even is None else f"uniformity {even:.2f}"
    wanted = study.wanted
    return finished(
        chart,
        chart_id="grading",
        title=f"{curve.name}: effective size {d10.text}, {uniform}.",
        caption=(
            "Share of the mass that is finer than each size. Points: the sieves; between them the "
            "line is straight on this paper, and beyond them nothing is known. Dashed across: 10 "
            f"and 60 %. Shaded: where a sand of effective size {wanted.d10_low_m * 1e3:.2f} to "
            f"{wanted.d10_high_m * 1e3:.2f} mm and uniformity up to {wanted.uniformity_most:g} "
            "runs between them."
            + (
                ""
                if reach is None
                else " Thick bar on the 60 % line: where this sand, with its effective size, may "
                "cross it."
            )
        ),
    )


def _curves(study: SandStudy, curve: GradingCurve) -> list[tuple[str, GradingCurve, str]]:
    """What is drawn: a name, a curve and a colour, each name once."""
    found = [(f"{curve.name}, as it is", curve, BLUE)]
    if study.advised is not None and study.advised.curve is not None:
        found.append((f"{curve.name}, after the cuts", study.advised.curve, BROWN))
    for stock, colour in zip(study.stocks[1:], OTHERS, strict=False):
        found.append((stock.name, stock.curve, colour))
    found += [("blend", b.curve, INK) for _, b in study.blends if b.curve is not None]
    named: dict[str, tuple[str, GradingCurve, str]] = {}
    for name, c, colour in found:
        unique = name if name not in named else f"{name} ({len(named) + 1})"
        named[unique] = (unique, c, colour)
    return list(named.values())[:5]


def _paper(study: SandStudy, curves: list[GradingCurve]) -> tuple[float, float]:
    """From where to where the paper runs: whole tenths of a decade around all that is drawn."""
    sizes = [d * 1e3 for c in curves for d in (c.sizes_m[0], c.sizes_m[-1])]
    wanted = study.wanted
    sizes += [wanted.d10_low_m * 1e3, wanted.d10_high_m * wanted.uniformity_most * 1e3]
    low = 10.0 ** (math.floor(10.0 * math.log10(min(sizes)) - 0.5) / 10.0)
    high = 10.0 ** (math.ceil(10.0 * math.log10(max(sizes)) + 0.5) / 10.0)
    return max(low, MOST_DECADES_MM[0]), min(high, MOST_DECADES_MM[1])


def _reach(study: SandStudy, curve: GradingCurve, x: Any, y: Any) -> Any:
    """Where a sand of this effective size may cross 60 %: as far as the uniformity allows."""
    import altair as alt

    d10_m = curve.size(0.10).size_m
    if d10_m is None:
        return None
    end = 1e3 * d10_m * study.wanted.uniformity_most
    return (
        table_chart([{"mm": 1e3 * d10_m, "end": end, "percent": 60}])
        .mark_rule(color=BLUE, strokeWidth=9, opacity=0.35)
        .encode(x=x, x2=alt.X2("end:Q"), y=y)
    )


def _band(study: SandStudy, x: Any, y: Any) -> Any:
    import altair as alt

    wanted = study.wanted
    low, high = wanted.d10_low_m * 1e3, wanted.d10_high_m * 1e3
    rows = [
        {"percent": 10.0 + 5.0 * k, "mm": low, "end": high * wanted.uniformity_most ** (k / 10.0)}
        for k in range(11)
    ]
    return (
        table_chart(rows)
        .mark_area(color=BAND, opacity=0.55, orient="horizontal")
        .encode(x=x, x2=alt.X2("end:Q"), y=y)
    )


def box_chart(
    gravel: GravelDesign, *, sand_m: float, drain: Underdrain | None, pipe_m: float, units: UnitSet
) -> Chart | None:
    """The box under the water to scale: sand, gravel layers and the drain pipe.

    Parameters
    ----------
    gravel : GravelDesign
    sand_m : float
        Depth of the sand [m].
    drain : Underdrain, optional
    pipe_m : float
        Inside diameter of the drain pipe [m]; not drawn without a drain.
    units : {"metric", "us"}

    Returns
    -------
    Chart or None
        None without layers.
    """
    if not gravel.layers:
        return None
    whole_m = sand_m + gravel.thickness_m
    high_px = 420.0
    scale = high_px / whole_m
    left, right, top = 12.0, 190.0, 14.0
    rows: list[tuple[str, str, float]] = [("sand", "", sand_m)]
    rows += [(layer.text, "", layer.thickness_m) for layer in gravel.layers]
    bottoms, y = [], top
    made = ""
    for n, (_, _, thick_m) in enumerate(rows):
        tall, fill = thick_m * scale, SAND_FILLS[min(n, len(SAND_FILLS) - 1)]
        made += rect(left, y, right - left, tall, fill, stroke=SOFT)
        bottoms.append((y, y + tall))
        y += tall
    if drain is not None:
        made += _pipe(left, right, y, pipe_m * scale)
    made += _labels([(n, t) for n, _, t in rows], bottoms, right, units)
    made += line([(left, top), (left, y)], INK, wide=2.0)
    made += line([(right, top), (right, y)], INK, wide=2.0)
    made += line([(left, y), (right, y)], INK, wide=2.0)
    thick = show(gravel.thickness_m, "gap", units=units)
    count = len(gravel.layers)
    return sheet(
        "box",
        title=f"{count} layer{'s' if count > 1 else ''} of gravel, {thick} in all, under the sand.",
        caption="Heights to one scale. Each layer holds back the one above it; the lowest lies "
        "around the drain pipe.",
        high=y + 16.0,
        body=rect(0.0, 0.0, WIDE_PX, y + 16.0, PAPER) + made,
    )


def _pipe(left: float, right: float, bottom: float, wide_px: float) -> str:
    """The drain pipe on the floor, cut open along its length."""
    y = bottom - wide_px - 3.0
    made = rect(left + 8.0, y, right - left - 16.0, wide_px, PAPER, stroke=INK)
    for k in range(1, 12):
        x = left + 8.0 + k * (right - left - 16.0) / 12.0
        made += line([(x, y + wide_px - 2.5), (x, y + wide_px + 2.5)], INK, wide=2.0)
    return made


def _labels(
    rows: list[tuple[str, float]],
    bottoms: list[tuple[float, float]],
    right: float,
    units: UnitSet,
) -> str:
    """A line of words for each layer, pushed apart where layers are thin."""
    made, last = "", -99.0
    for (name, thick_m), (top, bottom) in zip(rows, bottoms, strict=True):
        middle = 0.5 * (top + bottom)
        y = max(middle + 5.5, last + 21.0)
        last = y
        text = (
            f"{show(thick_m, 'gap', units=units)}: {name if name == 'sand' else 'gravel ' + name}"
        )
        made += line([(right, middle), (right + 22.0, y - 5.5)], GRID, wide=1.5)
        made += words(text, right + 28.0, y)
    return made


def sizes_text(curve: GradingCurve) -> tuple[tuple[str, str], ...]:
    """Names and sizes, for tables and the terminal: d5 to d95."""
    shares = (0.05, 0.10, 0.15, 0.50, 0.60, 0.85, 0.90, 0.95)
    return tuple((f"d{100 * s:.0f}", curve.size(s).text) for s in shares)

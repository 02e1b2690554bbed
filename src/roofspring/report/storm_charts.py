"""Pictures of one storm: its rain and flows, levels, where each litre went, and single changes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from roofspring.network.heights import lip_height_m
from roofspring.plan.model import Plan
from roofspring.reliability.storm import StormAnswer
from roofspring.report._axes import (
    GRID,
    PAPER,
    SOFT,
    WIDE_PX,
    Scale,
    below,
    line,
    number,
    rect,
    sheet,
    steps,
    words,
)
from roofspring.report._routes import water_kinds
from roofspring.report._svg import tag
from roofspring.report.charts import BLUE, BROWN, INK, MONTHS, RED, Chart
from roofspring.units import UNIT_SETS, UnitSet, show

FloatArray = npt.NDArray[np.float64]

_LEFT, _RIGHT = 70.0, WIDE_PX - 8.0
_BINS = 500
_PANEL_PX, _GAP_PX = 74.0, 40.0
_BAR_PX, _ROW_PX, _BARS_RIGHT = 15.0, 46.0, 430.0
_RAIN = "#1c5f9e"
WATER_INKS = {"raw": BROWN, "filtered": BLUE, "mixed": "#6d3aa0"}
MOST_ROWS, MOST_CHANGES, MOST_LEVELS = 9, 8, 8
LEAST_SHARE_FRAC = 0.005


def rain_and_flows_chart(plan: Plan, answer: StormAnswer) -> Chart:
    """Rain, what came into the first tanks, what was lost over edges, what passed the sand."""
    units = plan.show
    rain, rain_m, _ = UNIT_SETS[units]["rain"]
    flow, flow_size, _ = UNIT_SETS[units]["flow"]
    series = answer.series
    end_s = _zoom_s(answer)
    count = round(end_s / series.step_s)
    ways = _ways(answer)
    panels = [
        (
            f"rain [{rain}/h]",
            np.array(series.rain_m[:count]) / rain_m * 3600.0 / series.step_s,
            _RAIN,
        ),
        (f"roof water into tanks [{flow}]", ways["in"][:count] / flow_size, BROWN),
        (f"lost over edges and overflows [{flow}]", ways["lost"][:count] / flow_size, RED),
        (f"through the sand [{flow}]", ways["sand"][:count] / flow_size, BLUE),
    ]
    x = Scale(0.0, end_s, _LEFT, _RIGHT)
    made, top = "", 26.0
    for name, values, colour in panels:
        most = float(values.max(initial=0.0))
        y = Scale(0.0, most or 1.0, top + _PANEL_PX, top)
        made += words(name, _LEFT, top - 9.0)
        made += _across(y, ["0", _round(most)] if most > 0.0 else ["0"])
        made += _stairs(values, x, y, colour, end_s)
        top += _PANEL_PX + _GAP_PX
    bottom = top - _GAP_PX
    made += below(_times(answer, end_s, x), bottom, left=_LEFT, right=_RIGHT)
    made += words(_time_words(answer), 0.5 * (_LEFT + _RIGHT), bottom + 46.0, anchor="middle")
    peak_in = show(float(ways["in"].max(initial=0.0)), "flow", units=units, digits=0)
    peak_sand = show(float(ways["sand"].max(initial=0.0)), "flow", units=units, digits=0)
    zoom = "" if count >= len(series.rain_m) else " Only the storm and the hours after it."
    return sheet(
        "storm-flows",
        title=f"At worst {peak_in} came into the tanks, and {peak_sand} passed the sand.",
        caption=f"Each panel has a scale of its own; its highest value stands beside it.{zoom}",
        high=bottom + 54.0,
        body=made,
    )


def levels_chart(plan: Plan, answer: StormAnswer) -> Chart | None:
    """Level of each tank and filter against its lip; None where no heights are given."""
    units = plan.show
    unit, size, _ = UNIT_SETS[units]["height"]
    stores = [p for p in answer.series.levels_m if p in (*plan.tanks, *plan.filters)]
    stores.sort(key=lambda p: (p in plan.filters, -(lip_height_m(plan.part(p)) or 0.0), p))
    stores = stores[:MOST_LEVELS]
    if not stores:
        return None
    end_s = len(answer.series.rain_m) * answer.series.step_s
    x = Scale(0.0, end_s, _LEFT, _RIGHT)
    kinds = water_kinds(plan)[0]
    inks = {p: WATER_INKS.get(kinds.get(p, ""), BLUE) for p in stores}
    made, top, full = "", 26.0, []
    for part_id in stores:
        levels = np.array(answer.series.levels_m[part_id])
        part = plan.part(part_id)
        lip_m = lip_height_m(part)
        foot_m = plan.tanks[part_id].base_m if part_id in plan.tanks else part.height_m("outlet")
        low = min(float(levels.min()), foot_m if foot_m is not None else float(levels.min()))
        high = max(float(levels.max()), lip_m if lip_m is not None else float(levels.max()))
        y = Scale(low, high + 0.04 * max(high - low, 0.01), top + _PANEL_PX, top)
        made += words(f"{part.label or part_id} [{unit}]", _LEFT, top - 9.0)
        bins = _binned(levels)
        at = np.linspace(0.0, end_s, len(bins))
        made += _area([(x(t), y(v)) for t, v in zip(at, bins, strict=True)], y(low), inks[part_id])
        made += _across(y, [f"{low / size:.2f}"], [low])
        if lip_m is not None:
            made += line([(_LEFT, y(lip_m)), (_RIGHT, y(lip_m))], INK, wide=1.4, dash="6 4")
            made += words(f"{lip_m / size:.2f}", _LEFT - 8.0, y(lip_m) + 5.5, anchor="end")
            if float(levels.max()) >= lip_m - 1e-6:
                full.append(part.label or part_id)
        top += _PANEL_PX + _GAP_PX
    bottom = top - _GAP_PX
    made += below(_times(answer, end_s, x), bottom, left=_LEFT, right=_RIGHT)
    made += words(_time_words(answer), 0.5 * (_LEFT + _RIGHT), bottom + 46.0, anchor="middle")
    title = f"Full to the lip: {', '.join(full)}." if full else "Nothing was full to its lip."
    return sheet(
        "storm-levels",
        title=title,
        caption="Height of the water above the datum, from the floor, or the weir of a filter, "
        "up. Dashed: the lip of the overflow. Brown: raw water; blue: filtered; violet: both.",
        high=bottom + 54.0,
        body=made,
    )


def account_chart(plan: Plan, answer: StormAnswer) -> Chart | None:
    """Where the water of the storm went, a bar for each place; None when nothing fell."""
    told = [row for row in answer.account if row.share_frac >= LEAST_SHARE_FRAC][:MOST_ROWS]
    if not told:
        return None
    rest_m3 = answer.fell_m3 - sum(row.m3 for row in told)
    bars = [(row.words, row.m3, BLUE if row.kept else RED) for row in told]
    if rest_m3 > 1e-6:
        bars.append(("all other places", rest_m3, SOFT))
    body, bottom = _bars(bars, plan.show, of_m3=answer.fell_m3)
    kept = answer.kept_m3 / answer.fell_m3 if answer.fell_m3 > 0.0 else 0.0
    past = ""
    if answer.bypassed_m3 > 1e-3:
        past = f", {_volume(answer.bypassed_m3, plan.show)} of it past the filters"
    return sheet(
        "storm-account",
        title=f"{100.0 * kept:.0f} % of what fell was kept or used{past}.",
        caption="What the storm added, against the same hours without rain. Blue: drawn, or still "
        "in a tank or filter at the end. Red: gone. All bars add up to what fell.",
        high=bottom + 6.0,
        body=body,
    )


def changes_chart(plan: Plan, answer: StormAnswer) -> Chart | None:
    """What each single change would have kept, the best first; None without one that helps."""
    if answer.advice is None:
        return None
    told = [t for t in answer.advice.tried if t.more_kept_m3 >= 1e-3][:MOST_CHANGES]
    if not told:
        return None
    lost_m3 = answer.advice.catchable_m3
    body, bottom = _bars([(t.words, t.more_kept_m3, BLUE) for t in told], plan.show, of_m3=lost_m3)
    return sheet(
        "storm-changes",
        title=f"Kept most: {told[0].words}.",
        caption=f"What would have been kept with one change at a time, of the "
        f"{_volume(lost_m3, plan.show)} that were lost. Best of {len(answer.advice.tried)} tried.",
        high=bottom + 6.0,
        body=body,
    )


def _bars(
    bars: Sequence[tuple[str, float, str]], units: UnitSet, *, of_m3: float
) -> tuple[str, float]:
    """Bars under their words, with volume and share at the right."""
    most = max(m3 for _, m3, _ in bars)
    x = Scale(0.0, most or 1.0, 2.0, _BARS_RIGHT)
    made = ""
    for k, (name, m3, colour) in enumerate(bars):
        top = 4.0 + k * _ROW_PX
        share = f" ({100.0 * m3 / of_m3:.0f} %)" if of_m3 > 0.0 else ""
        made += words(_short(name), 2.0, top + 14.0)
        made += rect(2.0, top + 20.0, max(1.0, x(m3) - 2.0), _BAR_PX, colour)
        made += words(f"{_volume(m3, units)}{share}", max(2.0, x(m3)) + 6.0, top + 33.0, size=15)
    return made, 4.0 + len(bars) * _ROW_PX


def _short(text: str, most: int = 62) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip(' ,;:')}…"


def _volume(m3: float, units: UnitSet) -> str:
    return show(m3, "small_volume" if m3 < 10.0 else "volume", units=units)


def _ways(answer: StormAnswer) -> dict[str, FloatArray]:
    """Flows of each step, added up by what they are to a person [m3/s]."""
    return {
        name: np.array(values)
        for name, values in (
            ("in", answer.series.into_tanks_m3_per_s),
            ("lost", answer.series.lost_m3_per_s),
            ("sand", answer.series.sand_m3_per_s),
        )
    }


def _zoom_s(answer: StormAnswer) -> float:
    """How much of the run the flows are shown for: three times a storm made to order."""
    whole_s = len(answer.series.rain_m) * answer.series.step_s
    if answer.start:
        return whole_s
    hours = np.ceil(3.0 * answer.duration_s / 3600.0)
    return float(min(whole_s, hours * 3600.0))


def _stairs(values: FloatArray, x: Scale, y: Scale, colour: str, end_s: float) -> str:
    """The greatest value of each step or bin, as a stepped area."""
    bins = _binned(values)
    edges = np.linspace(0.0, end_s, len(bins) + 1)
    points = []
    for k, value in enumerate(bins):
        points += [(x(edges[k]), y(value)), (x(edges[k + 1]), y(value))]
    return _area(points, y(0.0), colour)


def _area(points: Sequence[tuple[float, float]], foot_px: float, colour: str) -> str:
    d = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in points)
    closed = f"{d}L{points[-1][0]:.1f} {foot_px:.1f}L{points[0][0]:.1f} {foot_px:.1f}z"
    fill = tag("path", d=closed, fill=colour, fill_opacity=0.3)
    return fill + tag("path", d=d, fill="none", stroke=colour, stroke_width=1.6)


def _binned(values: FloatArray) -> FloatArray:
    """At most so many values, each the greatest of its stretch."""
    if len(values) <= _BINS:
        return values
    starts = np.linspace(0, len(values), _BINS, endpoint=False).astype(np.int64)
    most: FloatArray = np.maximum.reduceat(values, starts)
    return most


def _across(y: Scale, texts: Sequence[str], at: Sequence[float] | None = None) -> str:
    made = ""
    for value, text in zip(at or (y.low, y.high), texts, strict=False):
        made += line([(_LEFT, y(value)), (_RIGHT, y(value))], GRID)
        made += words(text, _LEFT - 8.0, y(value) + 5.5, anchor="end", halo=PAPER)
    return made


def _round(value: float) -> str:
    """Three digits; under a thousandth is next to nothing, and no room is left for its zeros."""
    return "<0.001" if 0.0 < value < 1e-3 else number(float(f"{value:.3g}"))


def _times(answer: StormAnswer, end_s: float, x: Scale) -> list[tuple[float, str]]:
    """Round times along the axis."""
    hours = end_s / 3600.0
    if not answer.start:
        return [(x(h * 3600.0), number(h)) for h in steps(0.0, hours, most=6)]
    step = next((s for s in (3, 6, 12, 24, 48, 96, 168) if hours / s <= 6.5), 168)
    start = np.datetime64(answer.start, "h")
    marks = []
    for h in range(0, int(hours) + 1, step):
        moment = str(start + np.timedelta64(h, "h"))
        day = f"{int(moment[8:10])} {MONTHS[int(moment[5:7]) - 1]}"
        marks.append((x(h * 3600.0), day if moment.endswith("T00") else f"{moment[-2:]}:00"))
    return marks


def _time_words(answer: StormAnswer) -> str:
    return f"from {answer.start}" if answer.start else "hours after the storm begins"

"""Pictures of a bed's life: head against days, sand by year, ripening, and what a run saw."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from roofspring.reliability.filter_record import FilterRecord
from roofspring.report.charts import (
    BLUE,
    BROWN,
    GREY,
    INK,
    RED,
    WIDTH_PX,
    Chart,
    finished,
    table_chart,
)
from roofspring.sandfilter.bed_study import BedStudy
from roofspring.units import UNIT_SETS, UnitSet, show

DASHES: tuple[list[int], ...] = ([1, 0], [8, 4], [3, 3])
LAW_COLOURS = (BLUE, BROWN, "#7a4fa3")
LAW_WORDS = {"surface-cake": "cake", "by-time": "by time", "by-water": "by water"}
BINS_MOST = 360
MOST_DRAWN = 4
YEAR_DAYS = 365.25


def loss_chart(bed: BedStudy, units: UnitSet) -> Chart | None:
    """Head lost at the design rate against days since cleaning, under each law of growth."""
    import altair as alt

    unit, size, _ = UNIT_SETS[units]["length"]
    laws = [runs for runs in bed.years.laws if runs.loss]
    if not laws:
        return None
    names = [LAW_WORDS[runs.law.name] for runs in laws]
    rows = [
        {"day": round(t, 3), "head": round(h / size, 5), "law": LAW_WORDS[runs.law.name]}
        for runs in laws
        for t, h in runs.loss
    ]
    head = bed.case.head_m
    longest = max(runs.loss[-1][0] for runs in laws)
    x = alt.X(
        "day:Q", title="days since cleaning", scale=alt.Scale(domain=[0, longest], nice=False)
    )
    y = alt.Y("head:Q", title=f"head lost [{unit}]", scale=alt.Scale(domain=[0, head / size * 1.1]))
    lines = (
        table_chart(rows)
        .mark_line(strokeWidth=2.5)
        .encode(
            x=x,
            y=y,
            color=alt.Color(
                "law:N",
                sort=names,
                title="growth",
                scale=alt.Scale(domain=names, range=list(LAW_COLOURS[: len(names)])),
                legend=alt.Legend(
                    orient="top",
                    direction="horizontal",
                    symbolType="stroke",
                    symbolStrokeWidth=2.5,
                    symbolSize=300,
                ),
            ),
            strokeDash=alt.StrokeDash(
                "law:N",
                sort=names,
                scale=alt.Scale(domain=names, range=list(DASHES[: len(names)])),
                legend=None,
            ),
        )
    )
    rule = table_chart([{"head": head / size}]).mark_rule(color=RED, strokeDash=[5, 3]).encode(y=y)
    lengths = [runs.usual.time_s / 86400.0 for runs in laws]
    span = f"{min(lengths):.0f} to {max(lengths):.0f} days"
    return finished(
        alt.layer(rule, lines).properties(width=WIDTH_PX, height=230),
        chart_id="loss",
        title=f"From cleaning to cleaning {span}, by the law of growth.",
        caption=f"At {show(bed.case.design_m_per_s, 'rate', units=units)} in water of the year's "
        f"mean temperature, outside the pollen season. Dashed red: all the head there is, "
        f"{show(head, 'length', units=units)}.",
    )


def sand_chart(bed: BedStudy, units: UnitSet) -> Chart | None:
    """Sand left at the end of each year of the schedule."""
    import altair as alt

    years, case = bed.years.years, bed.case
    if not years:
        return None
    unit, size, _ = UNIT_SETS[units]["length"]
    rows: list[dict[str, Any]] = [
        {"year": y.year, "sand": round(y.sand_left_m / size, 4),
         "what": "new sand in this year" if y.resands_count else "scraped only"}
        for y in years
    ]  # fmt: skip
    y_axis = alt.Y("sand:Q", title=f"sand left [{unit}]",
                   scale=alt.Scale(domain=[0, case.sand_m / size * 1.08]))  # fmt: skip
    kinds = ["scraped only", "new sand in this year"]
    bars = (
        table_chart(rows)
        .mark_bar(stroke=INK, strokeWidth=0.5)
        .encode(
            x=alt.X("year:O", title="year", axis=alt.Axis(labelAngle=0)),
            y=y_axis,
            color=alt.Color(
                "what:N",
                sort=kinds,
                title=None,
                scale=alt.Scale(domain=kinds, range=["#ecd9a8", "#b08a3c"]),
                legend=alt.Legend(orient="top", direction="horizontal", labelLimit=220),
            ),
        )
    )
    rule = (
        table_chart([{"sand": case.least_sand_m / size}])
        .mark_rule(color=RED, strokeDash=[5, 3])
        .encode(y=y_axis)
    )
    first = next((y.year for y in years if y.resands_count), None)
    pace = "the pace of the run through the rain"
    if case.seen_per_year is None:
        pace = "the pace of a filter that runs day and night"
    when = f"New sand first in year {first}" if first else f"No new sand in {len(years)} years"
    return finished(
        alt.layer(bars, rule).properties(width=WIDTH_PX, height=200),
        chart_id="sand-left",
        title=f"{when}, at {pace}.",
        caption=f"Sand at the end of each year; a scrape takes "
        f"{show(case.scrape_m, 'gap', units=units)}. Dashed red: at "
        f"{show(case.least_sand_m, 'length', units=units)} new sand must come.",
    )


def record_chart(records: tuple[FilterRecord, ...], units: UnitSet) -> Chart | None:
    """Ripeness and sand of each filter through the record."""
    import altair as alt

    records = tuple(r for r in records if len(r.days))
    if not records:
        return None
    unit, size, _ = UNIT_SETS[units]["length"]
    days = records[0].days
    step = max(1, -(-len(days) // BINS_MOST))
    edges = np.arange(0, len(days), step)
    dates = [str(d) for d in days[edges]]
    names = [r.filter_id for r in records][:MOST_DRAWN]
    ripe, sand = [], []
    for record in records[:MOST_DRAWN]:
        low = np.minimum.reduceat(record.ripeness_frac, edges)
        left = np.minimum.reduceat(record.sand_m, edges) / size
        ripe += [
            {"day": d, "ripe": round(float(v), 4), "filter": record.filter_id}
            for d, v in zip(dates, low, strict=True)
        ]
        sand += [
            {"day": d, "sand": round(float(v), 4), "filter": record.filter_id}
            for d, v in zip(dates, left, strict=True)
        ]
    x = alt.X("day:T", title=None, axis=alt.Axis(grid=False, tickCount=6))
    colour = alt.Color(
        "filter:N",
        sort=names,
        title=None,
        scale=alt.Scale(domain=names, range=[BLUE, BROWN, "#7a4fa3", GREY][: len(names)]),
        legend=alt.Legend(
            orient="top",
            direction="horizontal",
            symbolType="stroke",
            symbolStrokeWidth=2.5,
            symbolSize=300,
        ),
    )
    ripe_y = alt.Y("ripe:Q", title="ripeness [-]", scale=alt.Scale(domain=[0, 1]))
    line = table_chart([{"ripe": 0.9}]).mark_rule(color=RED, strokeDash=[5, 3]).encode(y=ripe_y)
    top = max(r.first_sand_m for r in records) / size * 1.08
    panels = [
        alt.layer(
            line, table_chart(ripe).mark_line(strokeWidth=1.4).encode(x=x, y=ripe_y, color=colour)
        ).properties(width=WIDTH_PX, height=150),
        table_chart(sand)
        .mark_line(strokeWidth=2, interpolate="step-after")
        .encode(
            x=x,
            y=alt.Y("sand:Q", title=f"sand [{unit}]", scale=alt.Scale(domain=[0, top])),
            color=colour,
        )
        .properties(width=WIDTH_PX, height=120),
    ]
    worst = max(records, key=lambda r: r.unripe_frac)
    which = f", of the first {MOST_DRAWN} filters" if len(records) > MOST_DRAWN else ""
    period = "day" if step == 1 else f"{step} days"
    return finished(
        alt.vconcat(*panels, spacing=12).resolve_scale(x="shared"),
        chart_id="record",
        title=f"{worst.filter_id} was less than ripe on {100.0 * worst.unripe_frac:.0f} % of the "
        "days.",
        caption=f"Lowest ripeness and sand in each {period}{which}. Dashed red: a ripeness of 0.9, "
        "from which a filter is called ripe. Steps down in the sand are scrapes, steps up new "
        "sand.",
    )


def ripening_chart(bed: BedStudy, units: UnitSet) -> Chart:
    """Days to ripen new sand against water temperature."""
    import altair as alt

    def shown(temp: float) -> float:
        return temp if units == "metric" else temp * 1.8 + 32.0

    unit = "°C" if units == "metric" else "°F"
    rows = [
        {"temp": shown(r.temp_degc), "low": r.start.low_s / 86400.0,
         "ripe": r.ripe_s / 86400.0, "high": r.start.high_s / 86400.0}
        for r in bed.years.ripening
    ]  # fmt: skip
    base = table_chart(rows).encode(
        x=alt.X("temp:Q", title=f"water temperature [{unit}]", scale=alt.Scale(zero=False))
    )
    y = alt.Y("ripe:Q", title="days to waste, new sand")
    layers = [
        base.mark_area(color=BLUE, opacity=0.25).encode(
            y=alt.Y("low:Q", title="days to waste, new sand"), y2="high:Q"
        ),
        base.mark_line(color=BLUE, strokeWidth=2.5).encode(y=y),
        base.mark_point(color=BLUE, filled=True, size=60, opacity=1).encode(y=y),
    ]
    cold, warm = bed.years.ripening[1], bed.years.ripening[4]
    ratio = cold.ripe_s / warm.ripe_s if warm.ripe_s > 0.0 else math.nan
    return finished(
        alt.layer(*layers).properties(width=WIDTH_PX, height=210),
        chart_id="ripening",
        title=f"In water of {shown(cold.temp_degc):.0f} {unit} new sand takes {ratio:.1f} times as "
        f"long as at {shown(warm.temp_degc):.0f} {unit}.",
        caption="Line: until nine tenths of the ripeness is there. Shaded: least to most that is "
        "published for warm water, stretched by the cold; that stretch is our inference from how "
        "bacteria grow.",
    )

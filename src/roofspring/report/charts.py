"""The report's charts, as SVG text that needs nothing else to be shown."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.network.events import short_days
from roofspring.network.result import RunResult
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.reliability.answer import SupplyAnswer
from roofspring.report._svg import clean_text
from roofspring.units import MONTH_NAMES, UNIT_SETS, show

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WIDTH_PX = 470
BINS_MOST = 400
IMPORTANT = 2
"""Uses of this importance or a higher one (a lower number) are the important ones."""
INK, BLUE, BROWN, RED, GREY = "#1d2521", "#0b5fa5", "#a35a00", "#b3141c", "#8a938d"


@dataclass(frozen=True)
class Chart:
    """One chart: what it shows in words, and the picture."""

    id: str
    title: str
    """The reading, as a sentence."""
    caption: str
    """How to read it, and what it is made of."""
    svg: str


def important_uses(plan: Plan, run: RunResult) -> tuple[str, ...]:
    """Uses of importance 1 and 2; those of the highest importance when there are none."""
    ranks = {u: plan.uses[u].importance for u in run.use_ids if u in plan.uses}
    limit = max(IMPORTANT, min(ranks.values(), default=IMPORTANT))
    return tuple(u for u in run.use_ids if ranks.get(u, limit + 1) <= limit)


def days_short(run: RunResult, uses: Sequence[str]) -> npt.NDArray[np.bool_]:
    """Days on which any of the uses got less than it wanted, days of rationing included."""
    columns = [i for i, u in enumerate(run.use_ids) if u in uses]
    return np.asarray(short_days(run)[:, columns].any(axis=1), dtype=np.bool_)


def all_charts(plan: Plan, run: RunResult, supply: SupplyAnswer) -> tuple[Chart, ...]:
    """Every chart that the run has numbers for."""
    made = [
        stores_chart(plan, run) if len(run.days) and _main_stores(plan, run) else None,
        curve_chart(plan, supply) if supply.curve else None,
        months_chart(plan, supply) if supply.months else None,
        short_chart(plan, run) if len(run.days) and run.use_ids else None,
    ]
    return tuple(chart for chart in made if chart is not None)


def _main_stores(plan: Plan, run: RunResult) -> list[int]:
    """Tanks, largest first, four at most; without a tank, the filters."""
    parts = dict(plan.parts())
    for kind in (Tank, Filter):
        found = [i for i, s in enumerate(run.store_ids) if isinstance(parts.get(s), kind)]
        if found:
            return sorted(found, key=lambda i: (-float(run.capacity_m3[i]), i))[:4]
    return []


def stores_chart(plan: Plan, run: RunResult) -> Chart:
    """Content of the main stores through the record, with the short days of important uses."""
    import altair as alt

    unit, size, _ = UNIT_SETS[plan.show]["volume"]
    step = max(1, -(-len(run.days) // BINS_MOST))
    edges = np.arange(0, len(run.days), step)
    dates = [str(d) for d in run.days[edges]]
    short = np.add.reduceat(days_short(run, important_uses(plan, run)), edges) > 0
    x = alt.X("day:T", title=None, axis=alt.Axis(grid=False, tickCount=6))
    panels = []
    picked = _main_stores(plan, run)
    for i in picked:
        low = np.minimum.reduceat(run.low_m3[:, i], edges) / size
        high = np.maximum.reduceat(run.end_m3[:, i], edges) / size
        rows = [
            {"day": d, "low": round(float(lo), 4), "high": round(float(max(lo, hi)), 4)}
            for d, lo, hi in zip(dates, low, high, strict=True)
        ]
        part = plan.part(run.store_ids[i])
        full = float(run.capacity_m3[i]) / size
        name = clean_text(part.label or run.store_ids[i])[:24]
        base = table_chart(rows).encode(x=x)
        band = base.mark_area(color=BLUE, opacity=0.45, line={"color": BLUE, "strokeWidth": 1})
        y = alt.Y(
            "high:Q", title=f"{name} [{unit}]", scale=alt.Scale(domain=[0, full * 1.06 or 1.0])
        )
        lips = [{"z": full}, {"z": float(run.dead_m3[i]) / size}]
        rule = table_chart(lips).mark_rule(color=INK, strokeDash=[5, 3])
        panels.append(
            alt.layer(band.encode(y=y, y2="low:Q"), rule.encode(y="z:Q")).properties(
                width=WIDTH_PX, height=110
            )
        )
    ticks = [{"day": d, "what": "short"} for d, s in zip(dates, short, strict=True) if s]
    # The first and last day keep the axis of this panel as long as the others.
    frame = [{"day": dates[0], "what": "short"}, {"day": dates[-1], "what": "short"}]
    y_short = alt.Y("what:N", title=None, axis=alt.Axis(ticks=False, domain=False))
    panels.append(
        alt.layer(
            table_chart(frame).mark_point(opacity=0).encode(x=x, y=y_short),
            table_chart(ticks or frame)
            .mark_tick(color=RED, thickness=2, size=16, opacity=1.0 if ticks else 0.0)
            .encode(x=x, y=y_short),
        ).properties(width=WIDTH_PX, height=22)
    )
    main = picked[0]
    when = int(run.low_m3[:, main].argmin())
    name = plan.part(run.store_ids[main]).label or run.store_ids[main]
    title = (
        f"The {name} was lowest on {run.days[when]}: "
        f"{show(float(run.low_m3[when, main]), 'volume', units=plan.show)} of "
        f"{show(float(run.capacity_m3[main]), 'volume', units=plan.show)}."
    )
    period = "each day" if step == 1 else f"each {step} days"
    caption = (
        f"Lowest and highest content within {period}. Dashed: full to the overflow, and out of "
        "reach of the outlet. Red ticks: a use of importance 1 or 2 got less than it wanted."
    )
    chart = alt.vconcat(*panels, spacing=12).resolve_scale(x="shared")
    return finished(chart, chart_id="stores", title=title, caption=caption)


def curve_chart(plan: Plan, supply: SupplyAnswer) -> Chart:
    """Share served against the size of the main clean store, with the present one marked."""
    import altair as alt

    unit, size, _ = UNIT_SETS[plan.show]["volume"]
    points = sorted(supply.curve, key=lambda p: p.capacity_m3)
    rows = [
        {"size": round(p.capacity_m3 / size, 4), "served": round(100.0 * p.served_frac, 3)}
        for p in points
    ]
    base = table_chart(rows).encode(
        x=alt.X("size:Q", title=f"held by the {supply.curve_store} at its overflow [{unit}]"),
        y=alt.Y("served:Q", title="share of the want served [%]", scale=alt.Scale(zero=False)),
    )
    layers = [base.mark_line(color=BLUE, strokeWidth=2), base.mark_point(color=BLUE, filled=True)]
    now = next((s for s in supply.stores if s.id == supply.curve_store), None)
    title = f"What a larger or smaller {supply.curve_store} would serve."
    if now is not None:
        sizes, served = [p.capacity_m3 for p in points], [p.served_frac for p in points]
        here = float(np.interp(now.capacity_m3, sizes, served))
        mark = [
            {"size": now.capacity_m3 / size, "served": 100.0 * here, "text": "as planned"},
        ]
        spot = table_chart(mark).encode(x="size:Q", y="served:Q")
        layers += [
            spot.mark_rule(color=RED, strokeDash=[5, 3]).encode(y=alt.Y()),
            spot.mark_point(color=RED, filled=True, size=110, shape="diamond", opacity=1),
            spot.mark_text(
                color=RED, align="left", dx=10, dy=14, fontSize=15, fontWeight="bold"
            ).encode(text="text:N"),
        ]
        title = (
            f"As planned, the {now.label} holds "
            f"{show(now.capacity_m3, 'volume', units=plan.show)} and about {100 * here:.0f} % of "
            f"the want is served"
        )
        double = 2.0 * now.capacity_m3
        title += (
            f"; twice that size would serve about {100 * np.interp(double, sizes, served):.0f} %."
            if double <= sizes[-1]
            else "."
        )
    caption = (
        "Each point is the share of the want served if this store held that much and all else "
        "stayed as it is. Between the points the line is straight."
    )
    chart = alt.layer(*layers).properties(width=WIDTH_PX, height=250)
    return finished(chart, chart_id="curve", title=title, caption=caption)


def months_chart(plan: Plan, supply: SupplyAnswer) -> Chart:
    """Water caught, wanted, delivered and spilled in the mean month, with the rain below."""
    import altair as alt

    unit, size, _ = UNIT_SETS[plan.show]["volume"]
    rain_unit, rain_size, _ = UNIT_SETS[plan.show]["rain"]
    kinds = {"caught": BLUE, "wanted": INK, "delivered": "#6db1e8", "spilled": "#e0a458"}
    rows = [
        {
            "month": MONTHS[m.month - 1],
            "kind": kind,
            "volume": round(getattr(m, f"{kind}_m3") / size, 4),
        }
        for m in supply.months
        for kind in kinds
    ]
    x = alt.X("month:N", sort=list(MONTHS), title=None, axis=alt.Axis(labelAngle=0))
    bars = (
        table_chart(rows)
        .mark_bar(stroke=INK, strokeWidth=0.5)
        .encode(
            x=x,
            xOffset=alt.XOffset("kind:N", sort=list(kinds)),
            y=alt.Y("volume:Q", title=f"water [{unit} per month]"),
            color=alt.Color(
                "kind:N",
                sort=list(kinds),
                title=None,
                scale=alt.Scale(domain=list(kinds), range=list(kinds.values())),
                legend=alt.Legend(orient="top", direction="horizontal"),
            ),
        )
        .properties(width=WIDTH_PX, height=200)
    )
    rain = [
        {"month": MONTHS[m.month - 1], "rain": round(m.rain_m / rain_size, 3)}
        for m in supply.months
    ]
    below = (
        table_chart(rain)
        .mark_bar(color=GREY)
        .encode(x=x, y=alt.Y("rain:Q", title=f"rain [{rain_unit}]"))
        .properties(width=WIDTH_PX, height=80)
    )
    wanting = [m for m in supply.months if m.wanted_m3 > 0.0]
    title = "Water caught, wanted, delivered and spilled in the mean month."
    if wanting:
        worst = min(wanting, key=lambda m: m.delivered_m3 / m.wanted_m3)
        title = (
            f"{MONTH_NAMES[worst.month - 1]} is the tightest month: "
            f"{100 * worst.delivered_m3 / worst.wanted_m3:.0f} % of the want is delivered."
        )
    caption = "Means of each calendar month over the years of the record."
    chart = alt.vconcat(bars, below, spacing=10)
    return finished(chart, chart_id="months", title=title, caption=caption)


def short_chart(plan: Plan, run: RunResult) -> Chart:
    """Days short in each month of each year."""
    import altair as alt

    uses = important_uses(plan, run)
    short = days_short(run, uses)
    month_of = run.days.astype("datetime64[M]")
    months, first = np.unique(month_of, return_index=True)
    counts = np.add.reduceat(short.astype(np.int64), first)
    rows: list[dict[str, Any]] = [
        {"year": str(m)[:4], "month": MONTHS[int(str(m)[5:7]) - 1], "days": int(n)}
        for m, n in zip(months, counts, strict=True)
    ]
    years = sorted({row["year"] for row in rows})
    base = table_chart(rows).encode(
        x=alt.X("month:N", sort=list(MONTHS), title=None, axis=alt.Axis(labelAngle=0)),
        y=alt.Y("year:N", sort=years, title=None),
    )
    colour = alt.Color(
        "days:Q",
        title="days short",
        scale=alt.Scale(domain=[0, 31], range=["#f4f5f2", "#f2c879", "#b3141c", "#4a0a0e"]),
        legend=alt.Legend(orient="top", gradientLength=200),
    )
    numbers = (
        base.transform_filter("datum.days > 0")
        .mark_text(fontSize=12)
        .encode(
            text="days:Q",
            color=alt.condition("datum.days > 12", alt.value("#fff"), alt.value(INK)),
        )
    )
    cells = base.mark_rect(stroke="#fff", strokeWidth=1).encode(color=colour)
    total, years_count = int(short.sum()), len(years)
    hit = len({row["year"] for row in rows if row["days"]})
    names = ", ".join(plan.uses[u].label or u for u in uses if u in plan.uses)
    title = (
        f"Important uses were short on {total:,} days, in {hit} of {years_count} calendar years."
        if total
        else "Important uses were never short in this record."
    )
    caption = f"Days in each month on which {names} got less than was wanted, rationing included."
    chart = alt.layer(cells, numbers).properties(
        width=WIDTH_PX, height=max(60, min(18 * years_count, 620))
    )
    return finished(chart, chart_id="short", title=title, caption=caption)


def table_chart(rows: Sequence[dict[str, Any]]) -> Any:
    """A chart without marks over some rows."""
    import altair as alt

    # Plain, and a tuple: a list would be copied deep, and a record checked, at every step.
    return alt.Chart({"values": tuple(rows)})


def finished(chart: Any, *, chart_id: str, title: str, caption: str) -> Chart:
    """Turn a chart into SVG text with its own ids, a role and a text alternative."""
    import vl_convert

    spec = (
        chart.configure(font="sans-serif", background="transparent", padding=4)
        .configure_axis(
            labelFontSize=15,
            titleFontSize=15,
            titleFontWeight="normal",
            labelColor=INK,
            titleColor=INK,
            gridColor="#e3e7e2",
            labelLimit=200,
        )
        .configure_legend(labelFontSize=15, titleFontSize=15, labelColor=INK, titleColor=INK)
        .configure_view(stroke="#c9cfca")
        .to_dict()
    )
    svg = vl_convert.vegalite_to_svg(spec)
    return Chart(chart_id, title, caption, _own(svg, chart_id, f"{title} {caption}"))


def _own(svg: str, chart_id: str, words: str) -> str:
    """Make the ids of one SVG its own, and its root element ours."""
    svg = re.sub(r'\bid="([^"]+)"', rf'id="chart-{chart_id}-\1"', svg)
    svg = re.sub(r"url\(#([^)]+)\)", rf"url(#chart-{chart_id}-\1)", svg)
    inner = svg[svg.index(">") + 1 :]
    head = re.match(r"<svg[^>]*>", svg)
    size = dict(re.findall(r'\b(width|height|viewBox)="([^"]+)"', head.group() if head else ""))
    inner = re.sub(r' (?:role|aria-[a-z]+)="[^"]*"', "", inner)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" width="{size["width"]}" '
        f'height="{size["height"]}" viewBox="{size["viewBox"]}" role="img" '
        f'aria-label="{escape(clean_text(words))}">{inner}'
    )

"""Pictures of the risk: each germ's band beside the goals, and what is needed beside it."""

from __future__ import annotations

from typing import Any

from roofspring.report.charts import BLUE, GREY, INK, RED, WIDTH_PX, Chart, finished, table_chart
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.risk import DALY_TARGET, INFECTION_TARGET

LEAST = 1e-9
"""Numbers under this are drawn at it: no axis shows nothing."""
LABELS_PX = 195
"""Room for the longest name of a germ in the widest of the usual typefaces."""


def risk_chart(answer: SafetyAnswer) -> Chart:
    """Infections and healthy years lost, on a log axis, with the two goals."""
    import altair as alt

    panels = []
    for field, target, most, title in (
        (
            "infections_per_person_year",
            INFECTION_TARGET.value,
            1.0,
            "chance of infection in a year",
        ),
        ("daly_per_person_year", DALY_TARGET.value, 1e-2, "healthy years lost a person and year"),
    ):
        rows: list[dict[str, Any]] = []
        for r in answer.risk:
            bands = getattr(r, field)
            rows.append(
                {
                    "germ": r.label,
                    **{k: max(LEAST, float(f"{v:.2g}")) for k, v in bands.items()},
                }
            )
        order = [r.label for r in answer.risk]
        y = alt.Y("germ:N", sort=order, title=None, axis=alt.Axis(minExtent=LABELS_PX))
        scale = alt.Scale(type="log", domainMax=most, nice=False)
        x = alt.X(
            "p05:Q",
            title=title,
            scale=scale,
            axis=alt.Axis(format="~e", tickCount=6, labelOverlap=True),
        )
        base = table_chart(rows).encode(y=y)
        bars = base.mark_bar(color=BLUE, opacity=0.45, height=14).encode(x=x, x2="p95:Q")
        middle = base.mark_tick(color=INK, thickness=3, size=20).encode(
            x=alt.X("p50:Q", scale=scale)
        )
        goal = (
            table_chart([{"goal": target}])
            .mark_rule(color=RED, strokeWidth=2, strokeDash=[5, 3])
            .encode(x=alt.X("goal:Q", scale=scale))
        )
        panels.append(alt.layer(bars, middle, goal).properties(width=WIDTH_PX - 80, height=150))
    title = "The spread is wide: what is not known matters more than the middle."
    caption = (
        "Blue: from the 5th to the 95th of a hundred households of which no more is known than of "
        "yours; black: the middle. Red: the goals, 1 infection in 10,000 people a year and a "
        "millionth of a healthy year. Each grid line is a factor of ten or more; a bar at the left "
        "edge goes on beyond it."
    )
    chart = alt.vconcat(*panels, spacing=14)
    return finished(chart, chart_id="risk", title=title, caption=caption)


def needed_chart(answer: SafetyAnswer) -> Chart:
    """Log reduction counted, as a range, and the two that are needed."""
    import altair as alt

    rows = [
        {
            "germ": r.label,
            "low": round(r.counted_log10, 2),
            "high": round(r.counted_high_log10, 2),
            "daly": round(r.needed_log10, 2),
            "infection": round(r.needed_infection_log10, 2),
        }
        for r in answer.risk
    ]
    order = [r.label for r in answer.risk]
    y = alt.Y("germ:N", sort=order, title=None, axis=alt.Axis(minExtent=LABELS_PX))
    base = table_chart(rows).encode(y=y)
    x = alt.X("low:Q", title="log reduction (each step is a factor of ten)",
              scale=alt.Scale(domainMin=0.0))  # fmt: skip
    layers = [
        base.mark_bar(color=GREY, opacity=0.35, height=18)
        .encode(x=alt.X("zero:Q"), x2="low:Q")
        .transform_calculate(zero="0"),
        base.mark_bar(color=BLUE, opacity=0.45, height=18).encode(x=x, x2="high:Q"),
        base.mark_tick(color=RED, thickness=3, size=26).encode(x="infection:Q"),
        base.mark_tick(color=INK, thickness=3, size=26).encode(x="daly:Q"),
    ]
    short = [r for r in answer.risk if r.counted_log10 < r.needed_infection_log10]
    title = (
        f"For {len(short)} of {len(answer.risk)} germs less is counted than is needed."
        if short
        else "As much is counted as is needed, at the low ends."
    )
    caption = (
        "Grey: what is counted at the least, as passage over the whole time, bypass included; "
        "blue: up to the most. Red: needed for the goal of infections; black: for healthy years."
    )
    chart = alt.layer(*layers).properties(width=WIDTH_PX - 80, height=190)
    return finished(chart, chart_id="needed", title=title, caption=caption)

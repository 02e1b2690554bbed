"""Pictures of what a rain record is worth: doubtful stretches, gaps, and tests of invented rain."""

from __future__ import annotations

import numpy as np

from roofspring.rain.completeness import Completeness, Period
from roofspring.rain.futures.acceptance import AcceptanceRow, AcceptanceTable
from roofspring.rain.quality import CHECKS, QualityReport
from roofspring.rain.record import RainRecord
from roofspring.report._axes import (
    GRID,
    PAPER,
    SOFT,
    WIDE_PX,
    Scale,
    areas,
    below,
    dates,
    day_number,
    hatch,
    joined,
    line,
    rect,
    sheet,
    words,
)
from roofspring.report._rain_words import plural
from roofspring.report._svg import Box, tag
from roofspring.report.charts import BLUE, INK, MONTHS, RED, Chart
from roofspring.units import MONTH_NAMES

_ORANGE, _PALE, _HATCHED = "#d98a2b", "#dcebf5", "url(#chart-complete-missing)"


def quality_chart(quality: QualityReport, *, record: RainRecord) -> Chart | None:
    """Stretches of days that a check points at, on a time line for each check.

    Parameters
    ----------
    quality : QualityReport
    record : RainRecord
        The one that was checked.

    Returns
    -------
    Chart or None
        None when no check points at any day.
    """
    names = [n for n in quality.checks if any(r.check == n for r in quality.rows)]
    if not names:
        return None
    days = record.days
    left, right, row_px, top = 6.0, WIDE_PX - 6.0, 46.0, 8.0
    x = Scale(float(day_number(days[0])), float(day_number(days[-1]) + 1), left, right)
    made = ""
    for k, name in enumerate(names):
        y = top + row_px * k
        rows = [r for r in quality.rows if r.check == name]
        made += words(CHECKS[name].title if name in CHECKS else name, left, y + 14.0)
        made += words(str(len(rows)), right, y + 14.0, anchor="end", fill=SOFT)
        made += rect(left, y + 20.0, right - left, 15.0, "#eef1ed")
        spans = [(x(day_number(r.first)), x(day_number(r.last) + 1)) for r in rows]
        d = "".join(f"M{a} {y + 27.5:g}h{b - a}" for a, b in joined(spans, least_px=3.0))
        made += tag("path", d=d, stroke=RED, stroke_width=15)
    bottom = top + row_px * len(names)
    made += below(
        [(x(day_number(d)), text) for d, text in dates(days[0], days[-1])],
        bottom,
        left=left,
        right=right,
    )
    most = max(names, key=lambda n: sum(r.check == n for r in quality.rows))
    title = (
        f"{len(names)} of {len(quality.checks)} checks point at days of the record, "
        f"most often: {CHECKS[most].title if most in CHECKS else most}."
    )
    caption = (
        "Red: the stretch of days that a check means; very short ones are drawn wider. The number "
        "at the right counts the stretches. Checks that point at nothing are left out."
    )
    return sheet("quality", title=title, caption=caption, high=bottom + 32.0, body=made)


def completeness_chart(complete: Completeness) -> Chart | None:
    """Months by years: measured whole, filled, missing.

    Parameters
    ----------
    complete : Completeness

    Returns
    -------
    Chart or None
        None without a month, and when all are whole: there is nothing to see.
    """
    if all(m.whole for m in complete.months):
        return None
    years = sorted({int(m.name[:4]) for m in complete.months})
    row_px = float(min(22, max(7, 540 // len(years))))
    left, top, wide = 50.0, 66.0, 42.0
    made = hatch("chart-complete-missing") + _complete_key()
    for m in range(12):
        made += words(MONTHS[m], left + wide * (m + 0.5), top - 8.0, anchor="middle", size=15)
    boxes: dict[str, list[Box]] = {_PALE: [], _ORANGE: [], _HATCHED: [], "none": []}
    for month in complete.months:
        x = left + wide * (int(month.name[5:7]) - 1)
        y = top + row_px * (int(month.name[:4]) - years[0])
        _split(month, Box(x, y, x + wide - 2.0, y + row_px - 1.5), boxes)
    for fill, some in boxes.items():
        made += areas(some, fill, stroke=INK if fill == "none" else "none")
    label_each = next(s for s in (1, 2, 5, 10, 20) if s * row_px >= 17.0)
    for year in range(years[0], years[-1] + 1):
        if year % label_each == 0 or len(years) == 1:
            y = top + row_px * (year - years[0] + 0.5) + 5.0
            made += words(str(year), left - 6.0, y, anchor="end", size=15)
    bottom = top + row_px * (years[-1] - years[0] + 1)
    whole = sum(m.whole for m in complete.months)
    filled = sum(m.filled_count + m.failed_count for m in complete.months)
    missing = sum(m.missing_count for m in complete.months)
    counts = ((filled, "filled"), (missing, "missing"))
    lacks = " and ".join(f"{plural(n, 'day')} {what}" for n, what in counts if n)
    title = f"{whole} of {plural(len(complete.months), 'month')} are whole; {lacks} in the rest."
    bad = sum(not m.usable for m in complete.months)
    caption = (
        "Each cell is a month, split by its share of days measured, filled and missing. Days that "
        "the record does not reach count as missing."
    )
    if bad:
        caption += (
            f" {plural(bad, 'month')} {'has' if bad == 1 else 'have'} a heavy outline: 11 or more "
            "days not measured, or 5 or more in a row."
        )
    return sheet("complete", title=title, caption=caption, high=bottom + 6.0, body=made)


def _complete_key() -> str:
    made, x = "", 50.0
    for fill, text in (
        (_PALE, "measured"), (_ORANGE, "filled"), (_HATCHED, "missing"),
    ):  # fmt: skip
        made += rect(x, 8.0, 24.0, 15.0, fill, stroke=SOFT) + words(text, x + 31.0, 21.0)
        x += 130.0
    return made


def _split(month: Period, cell: Box, boxes: dict[str, list[Box]]) -> None:
    """Share a month's cell out: measured under all, then missing and filled from the right."""
    wide = cell.x1 - cell.x0
    boxes[_PALE].append(cell)
    right = cell.x1
    filled = month.filled_count + month.failed_count
    for count, fill in ((month.missing_count, _HATCHED), (filled, _ORANGE)):
        if count:
            left = max(cell.x0, right - max(2.5, wide * count / month.days_count))
            boxes[fill].append(Box(left, cell.y0, right, cell.y1))
            right = left
    if not month.usable:
        boxes["none"].append(cell)


def acceptance_chart(table: AcceptanceTable, *, place: int = 1) -> Chart | None:
    """Where the record stands in the band of invented records, for each statistic.

    Parameters
    ----------
    table : AcceptanceTable
    place : int
        Which of several on the page, from 1: part of the id.

    Returns
    -------
    Chart or None
        None for a table without rows.
    """
    if not table.rows:
        return None
    monthly = list(dict.fromkeys(r.statistic for r in table.rows if r.month))
    yearly = [r for r in table.rows if not r.month]
    left, top, cell, row_px = 176.0, 60.0, 31.0, 40.0
    made = _acceptance_key()
    if monthly:
        for m, name in enumerate(MONTHS):
            x = left + cell * (m + 0.5)
            made += words(name[0], x, top - 4.0, anchor="middle")
    y = top
    for name in monthly:
        made += words(name, left - 10.0, y + 25.0, anchor="end", size=15)
        for row in (r for r in table.rows if r.statistic == name and r.month):
            made += _stand(row, left + cell * (_month(row.month) + 0.5), y, row_px)
        y += row_px
        made += line([(0.0, y), (WIDE_PX, y)], GRID)
    y += 12.0 if monthly and yearly else 0.0
    for k, row in enumerate(yearly):
        column, line_at = k % 2, y + row_px * (k // 2)
        x = 18.0 + column * 282.0
        made += _stand(row, x, line_at, row_px)
        made += words(row.statistic, x + 18.0, line_at + 25.0, size=15)
    y += row_px * (-(-len(yearly) // 2))
    outside = len(table.failed)
    title = (
        f"{table.model}: {table.inside_count} of {len(table.rows)} statistics of the record lie "
        f"inside the band of {table.members} invented records; {outside} "
        f"{'lies' if outside == 1 else 'lie'} outside."
    )
    caption = (
        f"Bars: nine of ten invented records of {table.years} years. Dot: the record, inside. "
        "Triangle: the record lies above (points up) or below (points down). Chance alone would "
        f"put about {0.1 * len(table.rows):.0f} outside."
    )
    return sheet(f"acceptance-{place}", title=title, caption=caption, high=y + 6.0, body=made)


def _acceptance_key() -> str:
    made = rect(8.0, 6.0, 9.0, 24.0, _PALE, stroke=BLUE) + words("invented records", 26.0, 24.0)
    made += tag("circle", cx=186.0, cy=18.0, r=5.0, fill=INK) + words("inside", 198.0, 24.0)
    made += _triangle(282.0, 18.0, up=1.0) + words("record above", 296.0, 24.0)
    return made + _triangle(424.0, 18.0, up=-1.0) + words("record below", 438.0, 24.0)


def _stand(row: AcceptanceRow, x: float, y: float, row_px: float) -> str:
    """One statistic: the band as a bar of fixed height, and where the record stands."""
    top, bottom = y + 10.0, y + row_px - 10.0
    made = rect(x - 4.5, top, 9.0, bottom - top, _PALE, stroke=BLUE)
    if row.inside:
        share = (row.observed - row.p05) / (row.p95 - row.p05) if row.p95 > row.p05 else 0.5
        middle = bottom + float(np.clip(share, 0.0, 1.0)) * (top - bottom)
        return made + tag("circle", cx=x, cy=middle, r=5.0, fill=INK)
    up = row.observed > row.p95
    return made + _triangle(x, top - 3.0 if up else bottom + 3.0, up=1.0 if up else -1.0)


def _triangle(x: float, y: float, *, up: float) -> str:
    d = f"M{x - 7:.1f} {y + 5 * up:.1f}h14L{x:.1f} {y - 7 * up:.1f}z"
    return tag("path", d=d, fill=RED, stroke=PAPER, stroke_width=1)


def _month(name: str) -> int:
    """0 to 11, from a name as acceptance tables write it."""
    short = [m.lower() for m in MONTHS]
    return short.index(name[:3].lower()) if name[:3].lower() in short else MONTH_NAMES.index(name)

"""Pictures of a rain record: its days, its months and its dry spells."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from roofspring.rain.describe import (
    WET_DAY_M,
    DrySpell,
    MonthSpread,
    dry_spells,
    longest_dry_by_year,
    year_days,
)
from roofspring.rain.record import FloatArray, RainRecord
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
    grid,
    hatch,
    line,
    number,
    rect,
    sheet,
    steps,
    words,
)
from roofspring.report._rain_words import depth, plural
from roofspring.report._svg import Box, tag
from roofspring.report.charts import BROWN, INK, MONTHS, Chart
from roofspring.units import MONTH_NAMES, UNIT_SETS, UnitSet

BoolArray = npt.NDArray[np.bool_]
BIN_DAYS = 5
BINS = 73
SHADES = ("#faf4e3", "#c0d9eb", "#88bade", "#4a90c4", "#1c5f9e", "#0a2a52")
LIGHT_BLUE = "#8fbfe0"
BREAKS: dict[UnitSet, tuple[float, ...]] = {
    "metric": (1.0, 5.0, 15.0, 40.0, 80.0),
    "us": (0.04, 0.2, 0.6, 1.5, 3.0),
}
"""Limits between the shades, in the unit of rain: rain in five days."""
FEW_YEARS = 10
MOST_SPELLS = 200


def record_chart(record: RainRecord, *, units: UnitSet = "metric") -> Chart | None:
    """Rain of five days at a time, a row for each year; and the total of each year.

    Parameters
    ----------
    record : RainRecord
    units : {"metric", "us"}

    Returns
    -------
    Chart or None
        None for a record without a day.
    """
    if not record.days_count:
        return None
    unit, size, _ = UNIT_SETS[units]["rain"]
    bins, empty, outside = _five_days(record)
    years = year_days(record).years
    totals, whole = _year_totals(record)
    row_px = float(min(18, max(6, 540 // len(years))))
    left, top, cell = 50.0, 84.0, 5.0
    bottom = top + row_px * len(years)
    shade = np.digitize(bins / size, BREAKS[units])
    made = hatch("chart-record-gap") + _shade_key(units, unit, gaps=bool(empty.any()))
    made += words("year", WIDE_PX - 4.0, top - 10.0, anchor="end", fill=SOFT)
    for name, at in (("Jan", 0), ("Apr", 90), ("Jul", 181), ("Oct", 273)):
        x = left + cell * at / BIN_DAYS
        made += line([(x, top - 6.0), (x, bottom)], GRID) + words(name, x, top - 10.0)
    cells = ""
    for k, colour in enumerate((*SHADES, "url(#chart-record-gap)")):
        mine = (shade == k) & ~empty & ~outside if k < len(SHADES) else empty
        path = _runs(mine)
        if path and k < len(SHADES):
            cells += tag("path", d=path, stroke=colour, fill="none")
        elif path:  # no pattern in a stretched group: it would be stretched too
            places = ((left + cell * a, top + row_px * r, n) for r, a, n in _run_list(mine))
            made += areas([Box(x, y, x + cell * n, y + row_px) for x, y, n in places], colour)
    move = f"translate({left:g} {top + 0.5 * row_px:g}) scale({cell:g} {row_px:g})"
    made += tag("g", cells, transform=move, shape_rendering="crispEdges")
    place = Scale(0.0, float(totals.max()) or 1.0, 426.0, WIDE_PX - 4.0)
    label_each = next(s for s in (1, 2, 5, 10, 20) if s * row_px >= 17.0)
    for r, year in enumerate(years.tolist()):
        y = top + row_px * r
        if year % label_each == 0 or len(years) == 1:
            made += words(str(year), left - 6.0, y + 0.5 * row_px + 5.0, anchor="end", size=15)
        wide = place(float(totals[r])) - place.start_px
        fill, stroke = (LIGHT_BLUE, "none") if whole[r] else (PAPER, SOFT)
        made += rect(place.start_px, y + 1.0, wide, row_px - 2.0, fill, stroke=stroke)
    made += line([(place.start_px, top), (place.start_px, bottom)], INK)
    title = f"{depth(float(totals.sum()), units)} fell in {plural(record.days_count, 'day')}."
    if whole.sum() >= 2:
        low = int(np.where(whole, totals, np.inf).argmin())
        high = int(np.where(whole, totals, -np.inf).argmax())
        title = (
            f"The driest whole year, {years[low]}, had {depth(float(totals[low]), units)}; "
            f"the wettest, {years[high]}, had {depth(float(totals[high]), units)}."
        )
    caption = (
        "Each row is a year, each cell the rain of five days. Bars at the right: rain of the year, "
        f"up to {depth(float(totals.max()), units)}; an open bar is a year that is not whole."
    )
    if empty.any():
        caption += " Hatched: a day without a value."
    return sheet("record", title=title, caption=caption, high=bottom + 8.0, body=made)


def _five_days(record: RainRecord) -> tuple[FloatArray, BoolArray, BoolArray]:
    """Rain by year and five days, cells with a day without a value, and cells outside."""
    table = year_days(record).depth_m
    there = np.isfinite(year_days(replace(record, depth_m=np.zeros_like(record.depth_m))).depth_m)
    day = np.arange(366)
    of_bin = (day - (day >= 59)) // BIN_DAYS  # 29 February goes with the day before
    starts = np.searchsorted(of_bin, np.arange(BINS))
    rain = np.add.reduceat(np.nan_to_num(table), starts, axis=1)
    empty = np.add.reduceat(there & np.isnan(table), starts, axis=1) > 0
    outside = np.add.reduceat(there, starts, axis=1) == 0
    return rain, empty, outside


def _year_totals(record: RainRecord) -> tuple[FloatArray, BoolArray]:
    """Rain of each year, and whether the record has a value for all of its days."""
    table = year_days(record)
    days = 365 + np.array([y % 4 == 0 and (y % 100 != 0 or y % 400 == 0) for y in table.years])
    return np.nansum(table.depth_m, axis=1), np.isfinite(table.depth_m).sum(axis=1) == days


def _run_list(mask: BoolArray) -> list[tuple[int, int, int]]:
    """Runs of True: row, first column, length."""
    edges = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    rows, starts = np.nonzero(edges == 1)
    ends = np.nonzero(edges == -1)[1]
    return list(zip(rows.tolist(), starts.tolist(), (ends - starts).tolist(), strict=True))


def _runs(mask: BoolArray) -> str:
    return "".join(f"M{a} {r}h{n}" for r, a, n in _run_list(mask))


def _shade_key(units: UnitSet, unit: str, *, gaps: bool) -> str:
    """What the shades mean."""
    x, y, wide = 50.0, 12.0, 46.0
    made = ""
    for k, colour in enumerate(SHADES):
        made += rect(x + wide * k, y, wide, 16.0, colour, stroke=SOFT)
    for k, limit in enumerate(BREAKS[units]):
        made += words(number(limit), x + wide * (k + 1), y + 33.0, anchor="middle", size=15)
    end = x + wide * len(SHADES)
    made += words(f"{unit} per 5 days", end + 8.0, y + 13.0, size=15)
    if gaps:
        made += rect(end + 8.0, y + 21.0, 22.0, 14.0, "url(#chart-record-gap)", stroke=SOFT)
        made += words("no value", end + 36.0, y + 33.0, size=15)
    return made


def months_chart(spread: MonthSpread, *, units: UnitSet = "metric") -> Chart | None:
    """Rain of each calendar month: the middle year, with one dry and one wet year in ten.

    Parameters
    ----------
    spread : MonthSpread
    units : {"metric", "us"}

    Returns
    -------
    Chart or None
        None when no month is whole.
    """
    unit, size, _ = UNIT_SETS[units]["rain"]
    middle = {m: v for m, v in enumerate(spread.p50_m) if v is not None}
    if not middle:
        return None
    top_m = max(v for v in (*spread.p90_m, *spread.p50_m) if v is not None) or size
    left, right, bottom = 58.0, WIDE_PX - 4.0, 276.0
    place = Scale(0.0, top_m / size * 1.04, bottom, 34.0)
    made = words(f"rain of the month [{unit}]", 2.0, 16.0)
    marks = [(v, number(v)) for v in steps(0.0, top_m / size, most=5)]
    made += grid(marks, left=left, right=right, place=place)
    step = (right - left) / 12.0
    for m in range(12):
        x = left + step * (m + 0.5)
        made += words(MONTHS[m], x, bottom + 22.0, anchor="middle")
        if m not in middle:
            made += words("?", x, bottom - 6.0, anchor="middle", fill=SOFT)
            continue
        y = place(middle[m] / size)
        made += rect(x - 13.0, y, 26.0, bottom - y, LIGHT_BLUE, stroke=INK)
        low, high = spread.p10_m[m], spread.p90_m[m]
        if low is not None and high is not None and spread.years_count[m] > 1:
            y_low, y_high = place(low / size), place(high / size)
            made += line([(x, y_low), (x, y_high)], INK, wide=2.2)
            made += "".join(
                line([(x - 6.0, y_end), (x + 6.0, y_end)], INK, wide=2.2)
                for y_end in (y_low, y_high)
            )
    made += line([(left, bottom), (right, bottom)], INK)
    most, least = max(middle, key=lambda m: middle[m]), min(middle, key=lambda m: middle[m])
    years = max(spread.years_count)
    usual = "in its middle year" if years > 1 else "in its only year"
    title = f"{MONTH_NAMES[most]} is the wettest month, with {depth(middle[most], units)} {usual}"
    if len(middle) > 1:
        title += f"; {MONTH_NAMES[least]} the driest, with {depth(middle[least], units)}"
    caption = f"Whole months only, {plural(years, 'year')} at most."
    if years > 1:
        caption = (
            "Bars: half of the years have more. Lines: from the rain that one year in ten does not "
            f"reach to the rain that one in ten exceeds. {caption}"
        )
    if years < FEW_YEARS:
        caption += " So few years hardly show how much the months differ from year to year."
    if len(middle) < 12:
        caption += " A question mark: no whole month in the record."
    return sheet("months", title=f"{title}.", caption=caption, high=bottom + 30.0, body=made)


def dry_chart(record: RainRecord, *, units: UnitSet = "metric") -> Chart | None:
    """Dry spells through the record: when, and how long.

    Parameters
    ----------
    record : RainRecord
    units : {"metric", "us"}

    Returns
    -------
    Chart or None
        None without a dry day.
    """
    spells = dry_spells(record)
    if not spells:
        return None
    days, longest = record.days, spells[0]
    left, right, bottom = 58.0, WIDE_PX - 6.0, 276.0
    x = Scale(float(day_number(days[0])), float(day_number(days[-1]) + 1), left, right)
    y = Scale(0.0, longest.length_days * 1.18, bottom, 34.0)
    made = words("length of the dry spell [days]", 2.0, 16.0)
    marks = [(v, number(v)) for v in steps(0.0, longest.length_days, most=5) if v == int(v)]
    made += grid(marks, left=left, right=right, place=y)
    bars = ""
    shown = spells[:MOST_SPELLS]
    for spell in shown[::-1]:
        a, b = x(day_number(spell.first)), x(day_number(spell.last) + 1)
        wide, top = max(1.6, b - a), y(spell.length_days)
        bars += f"M{a:.1f} {bottom:g}V{top:.1f}h{wide:.1f}V{bottom:g}z"
    made += tag("path", d=bars, fill=BROWN)
    a, b, top = (
        x(day_number(longest.first)),
        x(day_number(longest.last) + 1),
        y(longest.length_days),
    )
    made += rect(a, top, max(3.0, b - a), bottom - top, INK)
    caption = (
        f"Each bar is a run of days with less than {_wet(units)} each, from its first day to its "
        "last. The longest is black."
    )
    yearly = np.array(list(longest_dry_by_year(record).values()), dtype=np.float64)
    if len(yearly) >= 5:
        half, tenth = (int(np.ceil(np.quantile(yearly, q))) for q in (0.5, 0.9))
        for value, text in ((half, "1 year in 2"), (tenth, "1 year in 10")):
            made += line([(left, y(value)), (right, y(value))], INK, wide=1.4, dash="6 4")
            if value == half and y(half) - y(tenth) < 19.0:
                continue
            made += words(text, right, y(value) - 5.0, anchor="end", size=15, halo=PAPER)
        caption += (
            f" Dashed: in half of the {len(yearly)} whole years the longest spell has {half} days "
            f"or more; in one of ten, {tenth} days or more (spells cut at the turn of the year)."
        )
    anchor = "start" if a < 0.35 * WIDE_PX else "end" if a > 0.65 * WIDE_PX else "middle"
    made += words(
        f"{longest.length_days} days, to {longest.last}",
        a if anchor != "end" else b, top - 7.0, anchor=anchor, weight="bold", halo=PAPER,
    )  # fmt: skip
    made += below(
        [(x(day_number(d)), text) for d, text in dates(days[0], days[-1])],
        bottom,
        left=left,
        right=right,
    )
    if len(spells) > len(shown):
        caption += f" The {MOST_SPELLS} longest of {len(spells):,} are drawn."
    title = _dry_title(longest, str(days[0]), str(days[-1]))
    return sheet("dry", title=title, caption=caption, high=bottom + 32.0, body=made)


def _dry_title(longest: DrySpell, first: str, last: str) -> str:
    title = f"The longest dry spell, {plural(longest.length_days, 'day')}, ended on {longest.last}"
    if longest.last == last:
        title = (
            f"The longest dry spell had lasted {plural(longest.length_days, 'day')} when the "
            "record ended, and may have gone on"
        )
    elif longest.first == first:
        title += " and had begun before the record, or on its first day"
    return f"{title}."


def _wet(units: UnitSet) -> str:
    return depth(WET_DAY_M, units)

"""Habits of observers: round numbers, and days of the week."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from roofspring.rain.quality._base import WET_DAY_M, Check, Days, IntArray, Seen, Span, seen
from roofspring.rain.record import FloatArray
from roofspring.units import UNIT_SETS, UnitSet, written

CHANCE = 0.001
"""Chance of a false alarm for all tests of one check together; engineering choice."""

TIMES_EXPECTED = 1.5
YEAR_CHANCE = 0.01
INCH_MM = 25.4
COARSE_MM = 1.0
GRIDS_MM = {"1 mm": 1.0, "5 mm": 5.0, "10 mm": 10.0, "0.1 in": 2.54, "0.5 in": 12.7}
_STEPS_MM = (12.7, 10.0, 5.0, 2.54, 2.0, 1.0, 0.5, 0.254, 0.2, 0.1, 0.01)
_TOLERANCE_MM, _MOST_MM, _LEAST_VALUES = 0.0501, 80.0, 50
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class WeekDays:
    """A record by day of the week, Monday first, for a picture.

    Attributes
    ----------
    days_count, wet_days_count : (7,) int64
    mean_m : (7,) float64
        Mean rain of all days [m].
    chance_of_counts_frac, chance_of_depths_frac : float
        Chance of such differences or greater when all days are alike: of the share of wet days
        (chi-square), and of the depths of wet days (Kruskal and Wallis). 1 with too few days, and
        for depths that are all one, which have no ranks.
    """

    days_count: IntArray
    wet_days_count: IntArray
    mean_m: FloatArray
    chance_of_counts_frac: float
    chance_of_depths_frac: float


def resolution_mm(depth_mm: FloatArray) -> float:
    """The coarsest step of which 99 % of the values are multiples, give or take 0.05 mm [mm]."""
    for step in _STEPS_MM:
        tolerance = min(_TOLERANCE_MM, step / 4.0)
        if (np.abs(depth_mm - step * np.round(depth_mm / step)) <= tolerance).mean() >= 0.99:
            return step
    return _STEPS_MM[-1]


def rounding(days: Days) -> Iterator[Seen]:
    """More values on a coarse grid than their neighbours on the fine one let expect."""
    from scipy import stats  # late: slow to import

    mask = days.own & (days.depth_m > 0.0)
    depth_mm = days.depth_m[mask] * 1e3
    if len(depth_mm) < _LEAST_VALUES or days.record.steps_per_day_count > 1:
        return  # sums of hours are not what an observer read
    fine = resolution_mm(depth_mm)
    step = partial(_step, units=days.units)
    if fine >= COARSE_MM:
        yield seen(
            "REC-125",
            "note",
            f"every value is a multiple of {step(fine)}: lighter rain was not written",
            where=days.dates(0, -1),
            got=f"{len(depth_mm):,} values in steps of {step(fine)}",
            limit=f"steps under {step(COARSE_MM)}",
            next="read no count of wet days or dry spells from this record",
            spans=[(0, len(days.days) - 1, fine / 1e3)],
            unit="m",
        )
        return
    year = days.year[mask]
    found: list[tuple[float, str, int, float]] = []
    for name, grid in GRIDS_MM.items():
        if grid < 3.0 * fine or (fine == INCH_MM / 100.0 and not name.endswith("in")):
            continue  # a grid of millimetres means nothing to a record in hundredths of an inch
        observed, expected = _on_grid(depth_mm, grid, fine)
        chance = float(stats.poisson.logsf(observed - 1, max(expected, 1e-9)))
        if observed >= TIMES_EXPECTED * expected and chance < np.log(CHANCE / len(GRIDS_MM)):
            found.append((chance, name, observed, expected))
    if not found:
        return
    # A habit shows on every grid that divides its own: the least likely one is named.
    _, name, observed, expected = min(found)
    spans: list[Span] = []
    for y in np.unique(year):
        mine, wanted = _on_grid(depth_mm[year == y], GRIDS_MM[name], fine)
        if mine >= TIMES_EXPECTED * wanted and stats.poisson.sf(mine - 1, wanted) < YEAR_CHANCE:
            at = np.flatnonzero(days.year == y)
            spans.append((int(at[0]), int(at[-1]), mine / max(wanted, 1.0)))
    yield seen(
        "REC-125",
        "note",
        f"more values are multiples of {name} than chance gives: the observer rounded",
        where=f"{len(spans)} years stand out" if len(spans) > 1 else days.dates(0, -1),
        got=f"{observed:,} values, {expected:,.0f} expected",
        limit=f"{TIMES_EXPECTED:g} times what is expected, with a chance under {CHANCE:g}",
        next="trust small values less; sums over a month are hardly touched",
        spans=spans,
    )


def _step(value_mm: float, *, units: UnitSet) -> str:
    """A step that someone reads in, in the unit in which it is round."""
    return written(value_mm / 1e3, to="m", units=units, digits=3)


def _on_grid(depth_mm: FloatArray, grid_mm: float, fine_mm: float) -> tuple[int, float]:
    """Values on the grid, and as many as the density of the others around lets expect."""
    width = max(fine_mm, 0.1)
    near = np.round(depth_mm / grid_mm)
    off = np.abs(depth_mm - near * grid_mm)
    inside = (near >= 1.0) & (depth_mm <= _MOST_MM)
    # On the grid: within half a fine step. Around: the rest of the grid cell, which is as wide as
    # all the fine steps in it less those that count as on it.
    on = inside & (off <= width / 2.0 + 1e-6)
    fine_points = np.arange(1, int((_MOST_MM + grid_mm) / fine_mm) + 1) * fine_mm
    cell = np.round(fine_points / grid_mm)
    points_on = np.abs(fine_points - cell * grid_mm) <= width / 2.0 + 1e-6
    cells = int(_MOST_MM / grid_mm)
    per_cell = np.bincount(near[inside & ~on].astype(int), minlength=cells + 2)
    count_on = np.bincount(cell[points_on].astype(int), minlength=cells + 2)
    count_off = np.bincount(cell[~points_on].astype(int), minlength=cells + 2)
    size = min(len(per_cell), len(count_on), len(count_off))
    share = count_on[1:size] / np.maximum(count_off[1:size], 1)
    return int(on.sum()), float((per_cell[1:size] * share).sum())


def week_days(days: Days) -> WeekDays:
    """Days, wet days and mean rain by day of the week, and how odd they are."""
    from scipy import stats  # late: slow to import

    week = (days.days.astype(np.int64) + 3)[days.own] % 7  # 1 January 1970 was a Thursday
    depth = days.depth_m[days.own]
    wet = depth >= WET_DAY_M
    count, rainy = np.bincount(week, minlength=7), np.bincount(week[wet], minlength=7)
    odd_counts = odd_depths = 1.0
    if wet.sum() >= 7 * 10 and (~wet).sum() >= 7 * 10:
        odd_counts = float(stats.chi2_contingency(np.array([rainy, count - rainy])).pvalue)
        if rainy.min() >= 5 and np.ptp(depth[wet]) > 0.0:
            odd_depths = float(stats.kruskal(*(depth[wet & (week == d)] for d in range(7))).pvalue)
    mean = np.bincount(week, depth, 7) / np.maximum(count, 1)
    return WeekDays(count, rainy, mean, odd_counts, odd_depths)


def day_of_week(days: Days) -> Iterator[Seen]:
    """Rain does not know the week; observers do."""
    by_day = week_days(days)
    chance = min(by_day.chance_of_counts_frac, by_day.chance_of_depths_frac)
    if chance >= CHANCE / 2.0:
        return
    share = by_day.wet_days_count / np.maximum(by_day.days_count, 1)
    low, high = int(share.argmin()), int(share.argmax())
    pairs = zip(WEEKDAYS, by_day.mean_m, strict=True)
    unit, size, _ = UNIT_SETS[days.units]["rain"]
    digits = 1 if days.units == "metric" else 2
    means = ", ".join(f"{name[:2]} {mean / size:.{digits}f}" for name, mean in pairs)
    yield seen(
        "REC-126",
        "caution",
        "rain depends on the day of the week: the gauge was not read every day",
        where=days.dates(0, -1),
        got=f"wet days: {WEEKDAYS[low]} {share[low]:.0%}, {WEEKDAYS[high]} {share[high]:.0%}; "
        f"mean {means} {unit}",
        limit=f"a chance under {CHANCE:g} that it is luck, two tests together",
        next="ask when the gauge was read; totals on Mondays hold the rain of the weekend",
        spans=[(0, len(days.days) - 1, chance)],
    )


ROUNDING = Check(
    "rounding",
    "round numbers",
    ("REC-125",),
    f"{TIMES_EXPECTED:g} times what is expected on a grid of {', '.join(GRIDS_MM)}; Poisson, "
    f"chance {CHANCE:g} for all grids",
    rounding,
)
WEEK = Check(
    "day-of-week",
    "days of the week",
    ("REC-126",),
    f"chi-square of wet days, Kruskal and Wallis of depths, chance {CHANCE:g} for both",
    day_of_week,
)

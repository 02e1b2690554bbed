"""Zeros that were not dry days: years, seasons and winters that nobody measured."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from roofspring.rain.gaps.neighbour import on_steps_of
from roofspring.rain.quality._base import WET_DAY_M, Check, Days, Seen, Span, run_pairs, seen
from roofspring.rain.words import air, plural

EXPECTED_WET_DAYS = 20
NEIGHBOUR_RUN_DAYS, NEIGHBOUR_WET_DAYS, NEIGHBOUR_SUM_M = 10, 5, 0.020
NEIGHBOUR_WET_SHARE = 0.15
FROST_DEGC, MILD_DEGC = -1.0, (1.0, 8.0)
FROST_LEAST_DAYS, FROST_WET_SHARE, FROST_EXPECTED_DAYS = 60, 0.1, 10


def dry_years(days: Days) -> Iterator[Seen]:
    """Whole years, or a whole record, of zeros."""
    daily = days.depth_m
    if not len(daily):
        return
    names, first, counts = np.unique(days.year, return_index=True, return_counts=True)
    sums = np.add.reduceat(daily, first)
    dry = (sums == 0.0) & (counts >= 365)
    if dry.any() or not daily.any():
        at = np.flatnonzero(dry) if dry.any() else np.arange(len(names))
        yield seen(
            "REC-103",
            "stop",
            "no rain at all in whole years: missing values were probably written as 0",
            where=", ".join(str(y) for y in names[dry]) or days.dates(0, -1),
            got=f"{int(dry.sum()) or 'all'} of {plural(len(names), 'year')} without rain",
            next="compare with a neighbouring station; if the 0 are missing values, "
            "empty those cells; few places on earth have a year without rain",
            spans=[(int(first[i]), int(first[i] + counts[i] - 1), float(counts[i])) for i in at],
            unit="days",
        )


def zero_runs(days: Days) -> Iterator[Seen]:
    """Runs of zeros where the same days of other years are wet."""
    daily, of_year = days.depth_m, days.of_year
    _, first, counts = np.unique(days.year, return_index=True, return_counts=True)
    if not daily.any() or ((np.add.reduceat(daily, first) == 0.0) & (counts >= 365)).any():
        return  # `dry_years` has said so
    wet_by_day = np.bincount(of_year, daily >= WET_DAY_M, 366)
    days_by_day = np.bincount(of_year, minlength=366)
    odd: list[Span] = []
    for a, b in run_pairs(daily == 0.0, least=EXPECTED_WET_DAYS):
        others = days_by_day - np.bincount(of_year[a:b], minlength=366)
        share = wet_by_day / np.maximum(others, 1)
        if share[of_year[a:b]].sum() >= EXPECTED_WET_DAYS:
            odd.append((a, b - 1, float(b - a)))
    if odd:
        longest = max(odd, key=lambda span: span[2])
        yield seen(
            "REC-104",
            "caution",
            "a long run of exact zeros in a season that is wet in other years: "
            "the gauge may have stood still",
            where=days.dates(longest[0], longest[1]),
            got=f"{plural(len(odd), 'run')}, longest {plural(longest[2], 'day')}",
            limit=f"a run in which the rest of the record has {EXPECTED_WET_DAYS} days "
            f"of {days.as_read(WET_DAY_M)} or more",
            next="compare with a neighbouring station before you trust the drought",
            spans=odd,
            unit="days",
        )


def dry_beside_neighbours(days: Days) -> Iterator[Seen]:
    """Runs of zeros while every neighbour that was measured had rain on several days."""
    n = days.record.steps_per_day_count
    count = len(days.days)
    near = [
        on_steps_of(days.record, neighbour)[: count * n].reshape(count, n).sum(axis=1)
        for neighbour in days.neighbours
    ]
    odd: list[Span] = []
    for a, b in run_pairs((days.depth_m == 0.0) & days.own, least=NEIGHBOUR_RUN_DAYS):
        there = [x[a:b] for x in near if np.isfinite(x[a:b]).mean() > 0.5]
        wet = [int((x >= WET_DAY_M).sum()) for x in there]
        sums = [float(np.nansum(x)) for x in there]
        need = max(NEIGHBOUR_WET_DAYS, NEIGHBOUR_WET_SHARE * (b - a))
        if there and min(wet) >= need and min(sums) >= NEIGHBOUR_SUM_M:
            odd.append((a, b - 1, float(np.mean(sums))))
    if odd:
        worst = max(odd, key=lambda span: span[2])
        yield seen(
            "REC-123",
            "caution",
            "exact zeros while every neighbour had rain: the gauge was probably not read",
            where=days.dates(worst[0], worst[1]),
            got=f"{plural(len(odd), 'run')}, up to {days.rain(worst[2])} at the neighbours",
            limit=f"{NEIGHBOUR_RUN_DAYS} days of zeros with {NEIGHBOUR_WET_DAYS} wet days "
            f"({NEIGHBOUR_WET_SHARE:.0%} of a longer run) and {days.as_read(NEIGHBOUR_SUM_M)} at "
            "each neighbour",
            next="empty those cells and fill them from the neighbours",
            spans=odd,
            unit="m",
        )


def unmeasured_snow(days: Days) -> Iterator[Seen]:
    """Hardly ever a value on days of frost: snow was not melted and measured."""
    temp = days.tmean_degc
    if temp is None:
        return
    known = days.own & np.isfinite(temp)
    frost = known & (temp <= FROST_DEGC)
    mild = known & (temp >= MILD_DEGC[0]) & (temp <= MILD_DEGC[1])
    if frost.sum() < FROST_LEAST_DAYS or mild.sum() < FROST_LEAST_DAYS:
        return
    wet_mild, wet_frost = (days.depth_m[mild] > 0).mean(), (days.depth_m[frost] > 0).mean()
    always = wet_frost <= FROST_WET_SHARE * wet_mild
    always = bool(always and wet_mild * frost.sum() >= FROST_EXPECTED_DAYS)
    expect = wet_mild if always else wet_frost
    winter = days.year + (days.month >= 6)
    odd: list[Span] = []
    for name in np.unique(winter[frost]):
        mine = np.flatnonzero(frost & (winter == name))
        none = not days.depth_m[mine].any()
        if (none and expect * len(mine) >= FROST_EXPECTED_DAYS) or (always and none):
            odd.append((int(mine[0]), int(mine[-1]), float(len(mine))))
    if always or odd:
        yield seen(
            "REC-190",
            "caution",
            "hardly any value on days of frost, in winters when snow must have fallen: "
            "snow was probably not melted and measured",
            where=days.dates(odd[0][0], odd[0][1]) if odd else days.dates(0, -1),
            got=f"{plural(len(odd), 'winter')} without a value in frost; a value on "
            f"{wet_frost:.0%} of the days of frost, {wet_mild:.0%} of the days between "
            f"{air(MILD_DEGC[0], days.units)} and {air(MILD_DEGC[1], days.units)}",
            limit=f"a tenth of the share on mild days, or a winter in which "
            f"{FROST_EXPECTED_DAYS} values were to be expected",
            next="empty the zeros of frost and fill them, or take a station that melts its snow; "
            "do not read a winter drought from this record",
            spans=odd,
            unit="days",
        )


DRY_YEARS = Check("dry-years", "whole years of zeros", ("REC-103",), "any year", dry_years)
ZERO_RUNS = Check(
    "zero-runs",
    "zeros in a wet season",
    ("REC-104",),
    f"zeros through {EXPECTED_WET_DAYS} expected wet days",
    zero_runs,
)
BESIDE = Check(
    "zeros-beside-neighbours",
    "zeros while the neighbours had rain",
    ("REC-123",),
    f"{NEIGHBOUR_RUN_DAYS} days, {NEIGHBOUR_WET_DAYS} wet days and "
    f"{NEIGHBOUR_SUM_M * 1e3:.0f} mm at each neighbour",
    dry_beside_neighbours,
)
SNOW = Check(
    "unmeasured-snow",
    "winter zeros that were snow",
    ("REC-190",),
    f"values on frost days (mean {FROST_DEGC:g} degrees C or less) at most a tenth as often as on "
    f"mild days, or none in a winter where {FROST_EXPECTED_DAYS} were to be expected",
    unmeasured_snow,
)

"""Totals over several days that stand as the rain of one."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from roofspring.rain.gaps.neighbour import on_steps_of, shared
from roofspring.rain.quality._base import BoolArray, Check, Days, Seen, Span, runs, seen
from roofspring.rain.record import FloatArray
from roofspring.rain.words import plural

CHANCE = 0.001
"""Chance of a false alarm that each test of a set is held to; engineering choice."""

WINDOW_DAYS, LEAST_GAPS, LONGEST_DAYS = 30, 5, 31
TIMES_USUAL = 1.5
LUMP_M, LUMP_NEAR = 0.010, 2.0


def after_gaps(days: Days) -> Iterator[Seen]:
    """The first value after a gap tends to be great: it holds the rain of the gap."""
    from scipy import stats  # late: slow to import

    starts, ends = runs(days.gap)
    at = ends[(ends < len(days.gap)) & (starts > 0) & (ends - starts <= LONGEST_DAYS)]
    before = (ends - starts)[np.isin(ends, at)]
    at, before = at[days.own[at]], before[days.own[at]]
    if not len(at):
        return
    free = days.own.copy()
    free[at] = False
    ranks, variance, means = [], [], []
    spans: list[Span] = []
    for i, length in zip(at.tolist(), before.tolist(), strict=True):
        apart = np.abs(days.of_year - days.of_year[i])
        there = days.depth_m[free & (np.minimum(apart, 366 - apart) <= WINDOW_DAYS)]
        if len(there) < 2 * WINDOW_DAYS:
            continue
        more = float((there > days.depth_m[i]).mean())
        ties = np.unique(there, return_counts=True)[1] / len(there)
        ranks.append(more + 0.5 * float((there == days.depth_m[i]).mean()))
        variance.append((1.0 - float((ties**3).sum())) / 12.0)
        means.append(float(there.mean()))
        if more <= 0.02 and days.depth_m[i] > 0.0:
            spans.append((i - length, i, float(days.depth_m[i])))
    if len(ranks) < LEAST_GAPS:
        return
    score = (0.5 - np.mean(ranks)) * len(ranks) / np.sqrt(np.sum(variance))
    times = float(days.depth_m[at].mean()) / max(float(np.mean(means)), 1e-9)
    if stats.norm.sf(score) < CHANCE and times >= TIMES_USUAL:
        yield seen(
            "REC-124",
            "caution",
            "the first value after a gap is mostly far greater than usual: it probably holds the "
            "rain of the days that are missing",
            where=days.dates(int(at[0]), int(at[-1])),
            got=f"{times:.1f} times the mean of the season, after {len(ranks)} gaps",
            limit=f"{TIMES_USUAL:g} times, with a chance under {CHANCE:g} that it is luck",
            next="ask the publisher whether these are totals, and give them as totals; "
            "filling the gaps would count the water twice",
            spans=spans,
            unit="m",
        )


def after_zeros(days: Days) -> Iterator[Seen]:
    """The longer the zeros, the greater the value after them: nobody read the gauge."""
    from scipy import stats  # late: slow to import

    zero = (days.depth_m == 0.0) & days.own
    starts, ends = runs(zero)
    inside = (ends < len(zero)) & (ends - starts <= LONGEST_DAYS)
    at, length = ends[inside], (ends - starts)[inside]
    at, length = at[days.own[at]], length[days.own[at]]
    rain = days.own & (days.depth_m > 0.0)
    usual = np.bincount(days.month[rain], days.depth_m[rain], 12) / np.maximum(
        np.bincount(days.month[rain], minlength=12), 1
    )
    if len(at) < 50 or not (usual[days.month[at]] > 0.0).all():
        return
    size = days.depth_m[at] / usual[days.month[at]]
    short, long = size[length == 1], size[length >= 3]
    if len(short) < 10 or len(long) < 10:
        return
    rank = stats.spearmanr(length, size, alternative="greater")
    times = float(long.mean() / short.mean())
    if rank.pvalue < CHANCE and times >= TIMES_USUAL:
        great = np.flatnonzero((length >= 3) & (size >= np.quantile(size, 0.95)))
        yield seen(
            "REC-124",
            "caution",
            "the longer the run of zeros, the greater the value after it: the gauge was probably "
            "read every few days and the days between were written as 0",
            where=days.dates(int(at[0]), int(at[-1])),
            got=f"after 3 zeros or more {times:.1f} times as much as after one",
            limit=f"{TIMES_USUAL:g} times, with a chance under {CHANCE:g} that it is luck",
            next="ask the publisher when the gauge was read; single days and dry spells of this "
            "record mislead",
            spans=[(int(at[i] - length[i]), int(at[i]), float(days.depth_m[at[i]])) for i in great],
            unit="m",
        )


def beside_neighbours(days: Days) -> Iterator[Seen]:
    """Zeros while the neighbours had rain, then about as much in one day as they had in all."""
    from scipy import stats  # late: slow to import

    n, count = days.record.steps_per_day_count, len(days.days)
    near = []
    for neighbour in days.neighbours:
        there = on_steps_of(days.record, neighbour)
        both = shared(days.record, there)
        if there[both].sum() > 0.0:
            scale = days.record.depth_m[both].sum() / there[both].sum()
            near.append(scale * there[: count * n].reshape(count, n).sum(axis=1))
    if not near:
        return
    known: BoolArray = np.isfinite(np.array(near)).any(axis=0)
    guess = np.where(known, np.nansum(near, axis=0), 0.0) / np.maximum(
        np.isfinite(np.array(near)).sum(axis=0), 1
    )
    zero = (days.depth_m == 0.0) & days.own
    ahead = _lumps(zero, days, guess, known)
    turned = _lumps(zero[::-1], days, guess[::-1], known[::-1], turned=True)
    count, by_luck = len(ahead), len(turned)
    if count <= by_luck or stats.binom.sf(count - 1, count + by_luck, 0.5) >= CHANCE:
        return
    yield seen(
        "REC-124",
        "caution",
        "zeros while the neighbours had rain, then about their whole sum in one day: "
        "many of these are probably totals over several days",
        where=days.dates(ahead[0][0], ahead[0][1]) + " is the first",
        got=f"{plural(count, 'time')}, and {plural(by_luck, 'time')} the other way round in time, "
        "by luck",
        limit=f"{days.as_read(LUMP_M)} missed, the value within a factor {LUMP_NEAR:g} of the sum; "
        f"chance under {CHANCE:g} that it is luck",
        next="share the values over their days as the neighbours had their rain",
        spans=ahead,
        unit="m",
    )


def _lumps(
    zero: BoolArray, days: Days, guess: FloatArray, known: BoolArray, *, turned: bool = False
) -> list[Span]:
    """Runs of zeros that hold rain at the neighbours and end in about their sum."""
    depth = days.depth_m[::-1] if turned else days.depth_m
    own = days.own[::-1] if turned else days.own
    spans: list[Span] = []
    for a, b in zip(*runs(zero), strict=True):
        if b >= len(zero) or not own[b] or b - a > LONGEST_DAYS or not known[a : b + 1].all():
            continue
        lump, missed, that_day = depth[b], guess[a:b].sum(), guess[b]
        # As much in the zeros as a wet spell has, and the value fits the sum better than the day.
        if (
            missed >= LUMP_M
            and 1.0 / LUMP_NEAR <= lump / (missed + that_day) <= LUMP_NEAR
            and lump >= that_day + missed / LUMP_NEAR
        ):
            spans.append((int(a), int(b), float(lump)))
    return spans


AFTER_GAPS = Check(
    "totals-after-gaps",
    "totals that stand after a gap",
    ("REC-124",),
    f"{LEAST_GAPS} gaps; {TIMES_USUAL:g} times the season's mean; rank test, chance {CHANCE:g}",
    after_gaps,
)
AFTER_ZEROS = Check(
    "totals-after-zeros",
    "totals that stand after zeros",
    ("REC-124",),
    f"{TIMES_USUAL:g} times as much after 3 zeros as after one; Spearman's rank correlation, "
    f"chance {CHANCE:g}",
    after_zeros,
)
AFTER_BESIDE = Check(
    "totals-beside-neighbours",
    "totals that the neighbours had day by day",
    ("REC-124",),
    f"{LUMP_M * 1e3:g} mm missed, the value within a factor {LUMP_NEAR:g} of the sum, more often "
    f"than the other way round in time; binomial, chance {CHANCE:g}",
    beside_neighbours,
)

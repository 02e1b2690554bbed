"""Checks of what the marks, the length and the temperatures of a record say."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from roofspring.rain.completeness import BAD_MONTH_DAYS, BAD_MONTH_RUN_DAYS
from roofspring.rain.quality._base import Check, Days, Seen, run_pairs, runs, seen
from roofspring.rain.record import Kept
from roofspring.rain.words import lasting, plural

CAUTION_GAP_FRAC, STOP_GAP_FRAC = 0.05, 0.20
LEAST_TO_COUNT_YEARS, FEW_YEARS, MANY_YEARS = 2, 5, 30
YEAR_DAYS = 365
MOST_IN_A_DAY_M = 1.825
"""Greatest rain known in 24 hours. Source: WMO_EXTREMES, 24 h."""

MOST_IN_A_YEAR_M = 26.47
"""Greatest rain known in twelve months. Source: WMO_EXTREMES, twelve months."""

_COUNTED = (
    ("REC-106", Kept.TRACE, "traces: rain too little to measure, counted as 0", "nothing"),
    (
        "REC-107",
        Kept.FAILED,
        "values that failed their publisher's checks were not used",
        "look at the days if they are many",
    ),
    (
        "REC-108",
        Kept.SPREAD,
        "totals over several days were spread over their days",
        "trust single days among them less; the sums are right",
    ),
)


def invented(days: Days) -> Iterator[Seen]:
    """Rain that no gauge measured."""
    if days.record.invented:
        yield seen(
            "REC-115",
            "caution",
            "this rain was invented by a generator, no gauge measured it: the answers show how "
            "the system works, not what your sky will do",
            where="rain",
            got=days.record.source,
            next="give a measured record of a station near you",
        )


def impossible(days: Days) -> Iterator[Seen]:
    """Rain below nothing, or more than has ever been measured."""
    depth = days.depth_m
    least = np.nan_to_num(days.record.depth_m[: len(depth) * days.record.steps_per_day_count])
    bad = (depth > MOST_IN_A_DAY_M) | (least.reshape(len(depth), -1) < 0.0).any(axis=1)
    if bad.any():
        at = np.flatnonzero(bad)
        yield seen(
            "REC-122",
            "stop",
            "rain below 0, or more in a day than has ever been measured",
            where=f"first on {days.days[at[0]]}",
            got=f"{plural(len(at), 'day')}, the first of {days.as_read(float(depth[at[0]]))}",
            limit=f"0 to {days.as_read(MOST_IN_A_DAY_M)} in a day",
            source="WMO_EXTREMES, 24 h",
            next="check the unit, and what the file writes for a missing value",
            spans=[(int(i), int(i), float(depth[i])) for i in at],
            unit="m",
        )
    yield from _impossible_year(days)


def _impossible_year(days: Days) -> Iterator[Seen]:
    """More in 365 days than has ever been measured, where no single day is beyond all."""
    sums = np.concatenate(([0.0], np.cumsum(days.depth_m)))
    last = np.arange(1, len(sums))
    year_m = sums[last] - sums[np.maximum(0, last - YEAR_DAYS)]
    most = int(year_m.argmax()) if len(year_m) else 0
    if len(year_m) and year_m[most] > MOST_IN_A_YEAR_M:
        first = max(0, most + 1 - YEAR_DAYS)
        yield seen(
            "REC-122",
            "stop",
            "more rain in a year than has ever been measured",
            where=days.dates(first, most),
            got=days.rain(float(year_m[most])),
            limit=f"{days.rain(MOST_IN_A_YEAR_M)} in a year",
            source="WMO_EXTREMES, twelve months",
            next="check the unit of the rain, and whether rows are totals since the start",
            spans=[(first, most, float(year_m[most]))],
            unit="m",
        )


def gaps(days: Days) -> Iterator[Seen]:
    """Where, how long and how much was not measured."""
    gap = np.isin(days.record.kept, (Kept.FILLED, Kept.FAILED, Kept.MISSING))
    share = float(gap.mean()) if len(gap) else 0.0
    if days.gap.any():
        starts, ends = runs(days.gap)
        longest, several = int((ends - starts).argmax()), len(starts) > 1
        by_the_hour = days.record.steps_per_day_count > 1
        yield seen(
            "REC-101",
            "note" if share <= CAUTION_GAP_FRAC else "caution",
            "the record has gaps" if several else "the record has a gap",
            where=days.dates(starts[longest], ends[longest] - 1) + " is the longest" * several,
            got=f"{plural(len(starts), 'gap')} {'on' if several or by_the_hour else 'of'} "
            + plural(int(days.gap.sum()), "day")
            + (f", longest {plural(int(ends[longest] - starts[longest]), 'day')}" * several),
            next=f"look at the {'longest ' * several}gap: a broken gauge often fails in the "
            "heaviest rain",
            spans=[(a, b - 1, float(b - a)) for a, b in run_pairs(days.gap)],
            unit="days",
        )
        yield from _bad_months(days)
    if share > CAUTION_GAP_FRAC:
        yield seen(
            "REC-102",
            "stop" if share > STOP_GAP_FRAC else "caution",
            "much of the record was not measured",
            got=f"{share:.1%} of the steps",
            limit=f"{CAUTION_GAP_FRAC:.0%} for a caution, {STOP_GAP_FRAC:.0%} for a stop",
            next="use another station, or the years that were measured",
        )


def _bad_months(days: Days) -> Iterator[Seen]:
    months, first = np.unique(days.days.astype("datetime64[M]"), return_index=True)
    bad, spans = [], []
    for month, here in zip(months, np.split(np.arange(len(days.days)), first[1:]), strict=True):
        gap = days.gap[here]
        starts, ends = runs(gap)
        if gap.sum() >= BAD_MONTH_DAYS or (ends - starts).max(initial=0) >= BAD_MONTH_RUN_DAYS:
            bad.append(str(month))
            spans.append((int(here[0]), int(here[-1]), float(gap.sum())))
    if bad:
        yield seen(
            "REC-114",
            "caution",
            "months with too many missing days for a monthly total of their own",
            where=", ".join(bad[:12]) + (" ..." if len(bad) > 12 else ""),
            got=f"{len(bad)} of {plural(len(months), 'month')}",
            limit=f"fewer than {BAD_MONTH_DAYS} days missing, "
            f"fewer than {BAD_MONTH_RUN_DAYS} in a row",
            source="WMO_1203, rule for missing days",
            next="do not read anything from these months alone",
            spans=spans,
            unit="days",
        )


def counted(days: Days) -> Iterator[Seen]:
    """Traces, values that failed and totals that were spread."""
    kept = days.record.kept
    for code, mark, what, step in _COUNTED:
        count = int((kept == mark).sum())
        many = mark is not Kept.TRACE and count > CAUTION_GAP_FRAC * len(kept)
        if count:
            yield seen(
                code,
                "caution" if many else "note",
                what,
                got=plural(count, "day" if days.record.steps_per_day_count == 1 else "step"),
                next=step,
                spans=[(a, b - 1, float(b - a)) for a, b in run_pairs(days.marked(mark))],
                unit="days",
            )


def length(days: Days) -> Iterator[Seen]:
    """Few years, and years that are not whole."""
    years = days.record.years
    if years < MANY_YEARS:
        yield seen(
            "REC-105",
            "caution" if years < FEW_YEARS else "note",
            f"{lasting(years)} of record resolve the chance of a bad year only to about "
            f"1 in {round(years)}"
            if years >= LEAST_TO_COUNT_YEARS
            else f"{lasting(years)} of record cannot tell how often a bad year comes",
            got=lasting(years),
            limit=f"{FEW_YEARS} years for a caution, {MANY_YEARS} for a note",
            next="use a longer record nearby, or judge the result as a lower bound of the risk",
        )
    apart = days.record.days_count / 365.2425
    if abs(apart - round(apart)) * 365.2425 > 3.0 or round(apart) == 0:
        yield seen(
            "REC-120",
            "caution" if years < FEW_YEARS else "note",
            "the record is not a whole number of years: some seasons count more than others",
            got=days.dates(0, -1),
            limit="whole years, give or take 3 days",
            next="cut the record to whole years if the mean matters",
        )


def crossed(days: Days) -> Iterator[Seen]:
    """Minima above maxima."""
    tmin, tmax = days.record.tmin_degc, days.record.tmax_degc
    if tmin is None or tmax is None or not (tmin > tmax).any():
        return
    wrong = tmin > tmax
    yield seen(
        "REC-121",
        "caution",
        "the least temperature of the day is above the greatest",
        where=f"first on {days.days[int(wrong.argmax())]}",
        got=plural(int(wrong.sum()), "day"),
        next="check whether the two columns were exchanged",
        spans=[(a, b - 1, float(b - a)) for a, b in run_pairs(wrong)],
        unit="days",
    )


INVENTED = Check("invented", "rain that no gauge measured", ("REC-115",), "any step", invented)
IMPOSSIBLE = Check(
    "impossible",
    "rain that cannot be",
    ("REC-122",),
    f"below 0, above {MOST_IN_A_DAY_M * 1e3:g} mm in a day or {MOST_IN_A_YEAR_M:g} m in a year",
    impossible,
    "WMO_EXTREMES, 24 h and twelve months",
)
GAPS_CHECK = Check(
    "gaps",
    "gaps and months with gaps",
    ("REC-101", "REC-102", "REC-114"),
    f"any gap; {CAUTION_GAP_FRAC:.0%} and {STOP_GAP_FRAC:.0%} of the steps; "
    f"{BAD_MONTH_DAYS} days of a month, or {BAD_MONTH_RUN_DAYS} in a row",
    gaps,
    "WMO_1203, rule for missing days; shares: engineering choice",
)
COUNTED = Check(
    "marks",
    "traces, failed values, totals over several days",
    ("REC-106", "REC-107", "REC-108"),
    "any",
    counted,
)
LENGTH = Check(
    "length",
    "few years, part years",
    ("REC-105", "REC-120"),
    f"{FEW_YEARS} and {MANY_YEARS} years; 3 days from whole years",
    length,
)
CROSSED = Check("temperatures", "temperatures that cross", ("REC-121",), "any day", crossed)

"""Values that come again: a stuck gauge, or a stretch of the record that was copied."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from roofspring.rain.quality._base import WET_DAY_M, Check, Days, Seen, Span, run_pairs, seen
from roofspring.rain.record import FloatArray
from roofspring.rain.words import plural

SAME_RUN_DAYS = 5
COPY_DAYS, COPY_RAIN_DAYS = 30, 8


def same_depth(days: Days) -> Iterator[Seen]:
    """The same depth day after day is a stuck gauge, or a total someone shared out."""
    daily, own = days.depth_m, days.own
    if len(daily) < 2:
        return
    same = (np.diff(daily) == 0.0) & (daily[1:] >= WET_DAY_M) & own[1:] & own[:-1]
    found: list[Span] = [
        (a, b, float(daily[a])) for a, b in run_pairs(same, least=SAME_RUN_DAYS - 1)
    ]
    if found:
        at = found[0][0]
        yield seen(
            "REC-113",
            "caution",
            "the same depth on many days in a row",
            where=f"from {days.days[at]}",
            got=f"{plural(len(found), 'run')}, the first of {days.as_read(float(daily[at]))}",
            limit=f"fewer than {SAME_RUN_DAYS} days in a row",
            next="ask the publisher: a stuck gauge, or a total that was shared out",
            spans=found,
            unit="m",
        )


def copied(days: Days) -> Iterator[Seen]:
    """A stretch that comes again, day by day, somewhere else in the record."""
    daily, own = np.ascontiguousarray(days.depth_m), days.own
    if len(daily) < 2 * COPY_DAYS:
        return
    wet, whole = np.cumsum(np.r_[0, daily > 0.0]), np.cumsum(np.r_[0, own])
    starts = np.arange(len(daily) - COPY_DAYS + 1)
    fit = (wet[starts + COPY_DAYS] - wet[starts] >= COPY_RAIN_DAYS) & (
        whole[starts + COPY_DAYS] - whole[starts] == COPY_DAYS
    )
    first_at: dict[bytes, int] = {}
    lags = np.zeros(len(daily), dtype=np.int64)
    for i in starts[fit].tolist():
        window = daily[i : i + COPY_DAYS]
        if np.ptp(window[window > 0.0]) == 0.0:
            continue  # one depth all along says nothing
        lags[i] = i - first_at.setdefault(window.tobytes(), i)
    spans: set[Span] = set()
    for a, b in run_pairs(lags > 0):
        cuts = np.r_[a, a + 1 + np.flatnonzero(np.diff(lags[a:b])), b]
        for p, q in pairwise(cuts.tolist()):
            spans.add(_grown(daily, p, q + COPY_DAYS - 2, int(lags[p])))
    found = sorted(spans)
    if found:
        longest = max(found, key=lambda span: span[1] - span[0])
        lag = int(longest[2])
        yield seen(
            "REC-191",
            "stop",
            "a stretch of the record is a copy of an earlier one, day by day",
            where=f"{days.dates(longest[0], longest[1])} is the same as "
            f"{days.dates(longest[0] - lag, longest[1] - lag)}",
            got=f"{plural(longest[1] - longest[0] + 1, 'day')}"
            + (f", the longest of {len(found)} stretches" if len(found) > 1 else ""),
            limit=f"{COPY_DAYS} days with rain on {COPY_RAIN_DAYS} of them",
            next="leave the copy out: it adds no knowledge, and one of the two is not true",
            spans=found,
            unit="days",
        )


def _grown(daily: FloatArray, first: int, last: int, lag: int) -> Span:
    """The stretch with the days before and after it that are the same as well."""
    while first - lag > 0 and daily[first - 1] == daily[first - 1 - lag]:
        first -= 1
    while last + 1 < len(daily) and daily[last + 1] == daily[last + 1 - lag]:
        last += 1
    return first, last, float(lag)


SAME = Check(
    "same-depth",
    "the same depth on many days",
    ("REC-113",),
    f"{SAME_RUN_DAYS} days of {WET_DAY_M * 1e3:g} mm or more",
    same_depth,
)
COPIED = Check(
    "copied",
    "a stretch that was copied",
    ("REC-191",),
    f"{COPY_DAYS} days with rain on {COPY_RAIN_DAYS} of them, again elsewhere",
    copied,
)

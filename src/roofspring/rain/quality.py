"""What a careful reader of a record would say before anyone sizes a tank on it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.rain.record import Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE

_GAPS = (Kept.FILLED, Kept.FAILED, Kept.MISSING)
_CAUTION_GAP_FRAC, _STOP_GAP_FRAC = 0.05, 0.20
_FEW_YEARS, _MANY_YEARS = 5, 30
_ZERO_RUN_EXPECTED_DAYS, _WET_DAY_M = 20, 0.001
_SAME_RUN_DAYS = 5
_BAD_MONTH_DAYS, _BAD_MONTH_RUN_DAYS = 11, 5

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
        "totals over several days were spread evenly over their days",
        "trust single days among them less; the sums are right",
    ),
)

Runs = tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]


def assess(record: RainRecord) -> tuple[Finding, ...]:
    """Findings on a record, before or after its gaps are filled.

    Parameters
    ----------
    record : RainRecord

    Returns
    -------
    tuple of Finding
        REC-101 to REC-108, REC-113 to REC-115, REC-120 and REC-121; a ``stop`` where a result on
        this record would mislead.

    Notes
    -----
    The limits are engineering choices, except the rule for months: 11 days missing, or 5 in a row.

    Source
    ------
    WMO_1203, rule for months with missing days (from memory); other limits: engineering choice.

    Examples
    --------
    >>> dry = RainRecord(start=np.datetime64("2016-01-01"), step_s=86400.0, name="x", source="x",
    ...                  depth_m=np.zeros(731), kept=np.zeros(731, dtype=np.uint8))
    >>> [f.code for f in assess(dry) if f.severity == "stop"]
    ['REC-103']
    """
    found: list[Finding] = []
    if record.invented:
        found.append(
            Finding(
                "REC-115",
                "caution",
                "this rain was invented by a generator, no gauge measured it: the answers show how "
                "the system works, not what your sky will do",
                where="rain",
                got=record.source,
                source=ENGINEERING_CHOICE,
                next="give a measured record of a station near you",
            )
        )
    _gaps(record, found)
    _zeros(record, found)
    _same(record, found)
    _length(record, found)
    _temps(record, found)
    return tuple(found)


def _runs(mask: npt.NDArray[np.bool_]) -> Runs:
    """Starts and ends (past the last) of the runs of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    return edges[::2], edges[1::2]


def _by_day(record: RainRecord, marks: tuple[Kept, ...]) -> npt.NDArray[np.bool_]:
    """Days with at least one step so marked."""
    n = record.steps_per_day_count
    hit = np.isin(record.kept[: record.days_count * n], marks)
    return np.asarray(hit.reshape(-1, n).any(axis=1), dtype=np.bool_)


def _gaps(record: RainRecord, found: list[Finding]) -> None:
    gap, days = np.isin(record.kept, _GAPS), record.days
    share = float(gap.mean()) if len(gap) else 0.0
    gap_days = _by_day(record, _GAPS)
    if gap_days.any():
        starts, ends = _runs(gap_days)
        longest = int((ends - starts).argmax())
        found.append(
            Finding(
                "REC-101",
                "note" if share <= _CAUTION_GAP_FRAC else "caution",
                "the record has gaps",
                where=f"{days[starts[longest]]} to {days[ends[longest] - 1]} is the longest",
                got=f"{len(starts)} gaps on {int(gap_days.sum())} days, "
                f"longest {int(ends[longest] - starts[longest])} days",
                source=ENGINEERING_CHOICE,
                next="look at the longest gap: a broken gauge often fails in the heaviest rain",
            )
        )
        _bad_months(record, gap_days, found)
    if share > _CAUTION_GAP_FRAC:
        found.append(
            Finding(
                "REC-102",
                "stop" if share > _STOP_GAP_FRAC else "caution",
                "much of the record was not measured",
                got=f"{share:.1%} of the steps",
                limit=f"{_CAUTION_GAP_FRAC:.0%} for a caution, {_STOP_GAP_FRAC:.0%} for a stop",
                source=ENGINEERING_CHOICE,
                next="use another station, or the years that were measured",
            )
        )
    for code, mark, what, step in _COUNTED:
        count = int((record.kept == mark).sum())
        many = mark is not Kept.TRACE and count > _CAUTION_GAP_FRAC * len(record.kept)
        if count:
            found.append(
                Finding(
                    code,
                    "caution" if many else "note",
                    what,
                    got=f"{count} steps",
                    source=ENGINEERING_CHOICE,
                    next=step,
                )
            )


def _bad_months(record: RainRecord, gap_days: npt.NDArray[np.bool_], found: list[Finding]) -> None:
    months, first = np.unique(record.days.astype("datetime64[M]"), return_index=True)
    bad = []
    for month, here in zip(months, np.split(gap_days, first[1:]), strict=True):
        starts, ends = _runs(here)
        if here.sum() >= _BAD_MONTH_DAYS or (ends - starts).max(initial=0) >= _BAD_MONTH_RUN_DAYS:
            bad.append(str(month))
    if bad:
        found.append(
            Finding(
                "REC-114",
                "caution",
                "months with too many missing days for a monthly total of their own",
                where=", ".join(bad[:12]) + (" ..." if len(bad) > 12 else ""),
                got=f"{len(bad)} of {len(months)} months",
                limit=f"fewer than {_BAD_MONTH_DAYS} days missing, "
                f"fewer than {_BAD_MONTH_RUN_DAYS} in a row",
                source="WMO_1203, rule for missing days",
                next="do not read anything from these months alone",
            )
        )


def _zeros(record: RainRecord, found: list[Finding]) -> None:
    """Rain that was not read is often published as 0."""
    daily, days = np.nan_to_num(record.daily_depth_m), record.days
    if not len(daily):
        return
    years = days.astype("datetime64[Y]")
    names, first, counts = np.unique(years, return_index=True, return_counts=True)
    sums = np.add.reduceat(daily, first)
    dry = [str(y) for y, s, n in zip(names, sums, counts, strict=True) if s == 0.0 and n >= 365]
    if dry or not daily.any():
        found.append(
            Finding(
                "REC-103",
                "stop",
                "no rain at all in whole years: missing values were probably written as 0",
                where=", ".join(dry) or f"{days[0]} to {days[-1]}",
                got=f"{len(dry) or 'all'} of {len(names)} years without rain",
                source=ENGINEERING_CHOICE,
                next="compare with a neighbouring station; if the 0 are missing values, "
                "empty those cells; few places on earth have a year without rain",
            )
        )
        return
    of_year, wet = (days - years).astype(np.int64), daily >= _WET_DAY_M
    starts, ends = _runs(daily == 0.0)
    odd = []
    wet_by_day, days_by_day = np.bincount(of_year, wet, 366), np.bincount(of_year, minlength=366)
    for a, b in zip(starts.tolist(), ends.tolist(), strict=True):
        if b - a < _ZERO_RUN_EXPECTED_DAYS:
            continue
        others = days_by_day - np.bincount(of_year[a:b], minlength=366)
        share = wet_by_day / np.maximum(others, 1)
        if share[of_year[a:b]].sum() >= _ZERO_RUN_EXPECTED_DAYS:
            odd.append((b - a, f"{days[a]} to {days[b - 1]}"))
    if odd:
        found.append(
            Finding(
                "REC-104",
                "caution",
                "a long run of exact zeros in a season that is wet in other years: "
                "the gauge may have stood still",
                where=max(odd)[1],
                got=f"{len(odd)} runs, longest {max(odd)[0]} days",
                limit=f"a run in which the rest of the record has {_ZERO_RUN_EXPECTED_DAYS} days "
                f"of {_WET_DAY_M * 1e3:g} mm or more",
                source=ENGINEERING_CHOICE,
                next="compare with a neighbouring station before you trust the drought",
            )
        )


def _same(record: RainRecord, found: list[Finding]) -> None:
    """The same depth day after day is a stuck gauge, or a total someone shared out."""
    daily = record.daily_depth_m
    if len(daily) < 2:
        return
    own = ~_by_day(record, (*_GAPS, Kept.SPREAD, Kept.INVENTED))
    same = (np.diff(daily) == 0.0) & (daily[1:] >= _WET_DAY_M) & own[1:] & own[:-1]
    starts, ends = _runs(same)
    long = (ends - starts) + 1 >= _SAME_RUN_DAYS
    if long.any():
        at = int(starts[long][0])
        found.append(
            Finding(
                "REC-113",
                "caution",
                "the same depth on many days in a row",
                where=f"from {record.days[at]}",
                got=f"{int(long.sum())} runs, first of {daily[at] * 1e3:g} mm",
                limit=f"fewer than {_SAME_RUN_DAYS} days in a row",
                source=ENGINEERING_CHOICE,
                next="ask the publisher: a stuck gauge, or a total that was shared out",
            )
        )


def _length(record: RainRecord, found: list[Finding]) -> None:
    years = record.years
    if years < _MANY_YEARS:
        found.append(
            Finding(
                "REC-105",
                "caution" if years < _FEW_YEARS else "note",
                f"{years:.1f} years of record resolve the chance of a bad year only to about "
                f"1 in {max(1, round(years))}",
                got=f"{years:.1f} years",
                limit=f"{_FEW_YEARS} years for a caution, {_MANY_YEARS} for a note",
                source=ENGINEERING_CHOICE,
                next="use a longer record nearby, or judge the result as a lower bound of the risk",
            )
        )
    apart = record.days_count / 365.2425
    if abs(apart - round(apart)) * 365.2425 > 3.0 or round(apart) == 0:
        found.append(
            Finding(
                "REC-120",
                "caution" if years < _FEW_YEARS else "note",
                "the record is not a whole number of years: some seasons count more than others",
                got=f"{record.days[0]} to {record.days[-1]}",
                limit="whole years, give or take 3 days",
                source=ENGINEERING_CHOICE,
                next="cut the record to whole years if the mean matters",
            )
        )


def _temps(record: RainRecord, found: list[Finding]) -> None:
    if record.tmin_degc is None or record.tmax_degc is None:
        return
    crossed = record.tmin_degc > record.tmax_degc
    if crossed.any():
        found.append(
            Finding(
                "REC-121",
                "caution",
                "the least temperature of the day is above the greatest",
                where=f"first on {record.days[int(crossed.argmax())]}",
                got=f"{int(crossed.sum())} days",
                source=ENGINEERING_CHOICE,
                next="check whether the two columns were exchanged",
            )
        )

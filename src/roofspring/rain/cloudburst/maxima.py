"""The greatest rain of each year, and all peaks over a threshold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, Problem, RangeError, RecordError
from roofspring.rain.cloudburst.scaling import clock_to_true
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE

Clock = Literal["true", "as recorded"]
_NOT_SEEN = (Kept.FILLED, Kept.FAILED, Kept.MISSING)


@dataclass(frozen=True)
class AnnualMaxima:
    """The greatest depth of a duration in each year.

    Attributes
    ----------
    years : (n,) int64
        Each year by the calendar year in which it ends.
    depth_m : (n,) float64
        [m], after the clock correction.
    duration_s : float
    clock_factor : float
        What the depths were multiplied by.
    left_out : tuple of int
        Years of the record in which too little was measured.
    findings : tuple of Finding
    """

    years: npt.NDArray[np.int64]
    depth_m: FloatArray
    duration_s: float
    clock_factor: float
    left_out: tuple[int, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Peaks:
    """Peaks of storms that are apart from each other.

    Attributes
    ----------
    time : (n,) datetime64[s]
        Start of the window of each peak.
    depth_m : (n,) float64
        [m], after the clock correction.
    threshold_m : float
        [m]
    years : float
        Length of the part of the record that was measured.
    duration_s : float
    findings : tuple of Finding
    """

    time: npt.NDArray[np.datetime64]
    depth_m: FloatArray
    threshold_m: float
    years: float
    duration_s: float
    findings: tuple[Finding, ...]


def annual_maxima(
    record: RainRecord,
    *,
    duration_s: float,
    min_complete_frac: float = 0.9,
    first_month: int = 1,
    clock: Clock = "true",
) -> AnnualMaxima:
    """The greatest rain of a duration in each year of a record.

    Parameters
    ----------
    record : RainRecord
        Gaps, filled or not, are not looked at.
    duration_s : float
        One or more whole steps of the record [s].
    min_complete_frac : float
        Least measured share of a year that counts [-], 0 to 1. The default is an engineering
        choice.
    first_month : int
        Month with which a year begins: 1 for calendar years, 10 for water years of the north.
    clock : str
        ``true``: depths are raised from clock intervals to true ones by `clock_to_true`.
        ``as recorded``: they are not.

    Returns
    -------
    AnnualMaxima

    Raises
    ------
    RangeError (REC-085)
        The duration is not one or more whole steps, or a limit is not one.
    RecordError (REC-092)
        No year is complete enough.

    Notes
    -----
    Windows move by one step. A window belongs to the year in which it begins. Windows that hold a
    step that was not measured are left out; so are years with too few measured steps, because the
    storm may have fallen in the gap.

    Source
    ------
    HERSHFIELD_1961 (clock correction); windows are common practice, no source.

    Examples
    --------
    >>> rain = np.zeros(730)
    >>> rain[[5, 6, 400]] = 0.020, 0.030, 0.040
    >>> record = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                     depth_m=rain, kept=np.zeros(730, dtype=np.uint8))
    >>> found = annual_maxima(record, duration_s=172800.0, clock="as recorded")
    >>> found.years.tolist(), found.depth_m.round(9).tolist()
    ([2021, 2022], [0.05, 0.04])
    """
    steps = _steps(record, duration_s)
    if not (0.0 <= min_complete_frac <= 1.0 and 1 <= first_month <= 12):
        raise RangeError(
            Problem(
                "REC-085",
                "the years cannot be taken so",
                got=f"share {min_complete_frac:g}, first month {first_month}",
                allowed="a share of 0 to 1, a month of 1 to 12",
                next="use 0.9 and 1",
            )
        )
    seen = _seen(record)
    year = _year_of_step(record, first_month)
    names = np.unique(year)
    share = np.array([_complete(record, year, seen, int(y), first_month) for y in names])
    good = share >= min_complete_frac - 1e-12
    sums = _window_sums(record, seen, steps)
    best = np.full(len(names), -np.inf)
    np.maximum.at(best, np.searchsorted(names, year[: len(sums)]), sums)
    good &= best >= 0.0
    if not good.any():
        raise RecordError(
            Problem(
                "REC-092",
                "no year of the record is complete enough for its greatest rain",
                where=record.name,
                got=f"the best has {share.max():.0%}" if len(share) else "no step",
                allowed=f"{min_complete_frac:.0%} or more of a year measured",
                next="use a record with whole years, or start the year in another month",
            )
        )
    factor = clock_to_true(steps) if clock == "true" else 1.0
    left_out = tuple(int(y) for y in names[~good])
    return AnnualMaxima(
        years=names[good],
        depth_m=best[good] * factor,
        duration_s=duration_s,
        clock_factor=factor,
        left_out=left_out,
        findings=(*_left_out(left_out, min_complete_frac), *_findings(record, steps, factor)),
    )


def peaks_over(
    record: RainRecord,
    *,
    duration_s: float,
    threshold_m: float,
    least_gap_s: float = 86_400.0,
    clock: Clock = "true",
) -> Peaks:
    """All storms whose greatest rain of a duration is over a threshold (partial duration).

    Parameters
    ----------
    record : RainRecord
    duration_s : float
        One or more whole steps of the record [s].
    threshold_m : float
        [m], 0 or more, held against depths after the clock correction.
    least_gap_s : float
        Peaks closer than this from start to start are one storm; the greatest counts [s]. The
        default is an engineering choice.
    clock : str
        As in `annual_maxima`.

    Returns
    -------
    Peaks

    Raises
    ------
    RangeError (REC-085)
        The duration is not one or more whole steps, or a limit is below 0.

    Source
    ------
    Storms apart by a least gap are common practice, no source.

    Examples
    --------
    >>> rain = np.zeros(730)
    >>> rain[[5, 6, 400]] = 0.020, 0.030, 0.040
    >>> record = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                     depth_m=rain, kept=np.zeros(730, dtype=np.uint8))
    >>> found = peaks_over(record, duration_s=86400.0, threshold_m=0.010, least_gap_s=172800.0,
    ...                    clock="as recorded")
    >>> found.depth_m.tolist()
    [0.03, 0.04]
    """
    steps = _steps(record, duration_s)
    if threshold_m < 0.0 or least_gap_s < 0.0:
        raise RangeError(
            Problem(
                "REC-085",
                "a threshold or gap is below 0",
                got=f"{threshold_m:g} m, {least_gap_s:g} s",
                allowed="0 or more",
                next="check the unit",
            )
        )
    seen = _seen(record)
    factor = clock_to_true(steps) if clock == "true" else 1.0
    sums = _window_sums(record, seen, steps) * factor
    over = np.flatnonzero(sums > threshold_m)
    taken: list[int] = []
    free = np.ones(len(sums), dtype=bool)
    gap = max(steps, round(least_gap_s / record.step_s))
    for i in over[np.argsort(-sums[over], kind="stable")].tolist():
        if free[i]:
            taken.append(i)
            free[max(0, i - gap + 1) : i + gap] = False
    at = np.array(sorted(taken), dtype=np.int64)
    offset = (at * record.step_s).astype(np.int64).astype("timedelta64[s]")
    return Peaks(
        time=record.start.astype("datetime64[s]") + offset,
        depth_m=sums[at],
        threshold_m=threshold_m,
        years=float(seen.sum()) * record.step_s / (365.25 * 86_400.0),
        duration_s=duration_s,
        findings=tuple(_findings(record, steps, factor)),
    )


def _steps(record: RainRecord, duration_s: float) -> int:
    steps = duration_s / record.step_s
    if not 1.0 - 1e-9 <= steps <= len(record.depth_m) or abs(steps - round(steps)) > 1e-9:
        raise RangeError(
            Problem(
                "REC-085",
                "the record cannot give the rain of this duration",
                where=record.name,
                got=f"{duration_s:g} s",
                allowed=f"one or more whole steps of {record.step_s:g} s",
                next="choose another duration, or scale from a longer one",
            )
        )
    return round(steps)


def _seen(record: RainRecord) -> npt.NDArray[np.bool_]:
    """Steps that were measured, as daily or multi-day totals at least, or invented."""
    return np.isfinite(record.depth_m) & ~np.isin(record.kept, _NOT_SEEN)


def _year_of_step(record: RainRecord, first_month: int) -> npt.NDArray[np.int64]:
    """Year, by the calendar year in which it ends, in which each step begins."""
    offset = (np.arange(len(record.depth_m)) * record.step_s).astype(np.int64)
    time = record.start.astype("datetime64[s]") + offset.astype("timedelta64[s]")
    month = time.astype("datetime64[M]").astype(np.int64) + (13 - first_month) % 12
    year: npt.NDArray[np.int64] = month // 12 + 1970
    return year


def _complete(
    record: RainRecord,
    year: npt.NDArray[np.int64],
    seen: npt.NDArray[np.bool_],
    name: int,
    first_month: int,
) -> float:
    """Measured share of a whole year."""
    end = np.datetime64(f"{name if first_month > 1 else name + 1}-{first_month:02d}", "D")
    start = np.datetime64(f"{name - 1 if first_month > 1 else name}-{first_month:02d}", "D")
    whole = float((end - start).astype(np.int64)) * 86_400.0 / record.step_s
    a, b = np.searchsorted(year, [name, name + 1])
    return float(seen[a:b].sum()) / whole


def _window_sums(record: RainRecord, seen: npt.NDArray[np.bool_], steps: int) -> FloatArray:
    """Sums of moving windows by their first step; -inf where a step was not measured."""
    depth = np.where(seen, record.depth_m, 0.0)
    if steps == 1:
        return np.where(seen, depth, -np.inf)
    total = np.concatenate(([0.0], np.cumsum(depth)))
    count = np.concatenate(([0], np.cumsum(seen)))
    whole = count[steps:] - count[:-steps] == steps
    sums: FloatArray = np.where(whole, np.maximum(total[steps:] - total[:-steps], 0.0), -np.inf)
    return sums


def _left_out(left_out: tuple[int, ...], least: float) -> list[Finding]:
    if not left_out:
        return []
    years = ", ".join(str(y) for y in left_out[:10]) + (" ..." if len(left_out) > 10 else "")
    return [
        Finding(
            "REC-172",
            "note",
            "years were left out because too little of them was measured",
            got=years,
            limit=f"{least:.0%} of a year",
            source=ENGINEERING_CHOICE,
            next="look whether a great storm fell in the gap",
        )
    ]


def _findings(record: RainRecord, steps: int, factor: float) -> list[Finding]:
    found: list[Finding] = []
    if factor != 1.0:
        found.append(
            Finding(
                "REC-173",
                "note",
                "depths were raised from clock intervals to true ones",
                got=f"by {factor:g}, {steps} interval{'s' if steps > 1 else ''} in the duration",
                source="HERSHFIELD_1961",
                next="compare with a published table for the place",
            )
        )
    rain = np.where(np.isfinite(record.depth_m), record.depth_m, 0.0)
    spread = rain[record.kept == Kept.SPREAD].sum()
    if record.invented or spread > 0.05 * rain.sum():
        found.append(
            Finding(
                "REC-177",
                "caution",
                "the greatest depths come from rain that was spread or invented, not measured so",
                got="invented" if record.invented else f"{spread / rain.sum():.0%} spread",
                limit="5 % of the rain",
                source=ENGINEERING_CHOICE,
                next="use a published table for the place, or a gauge that records short steps",
            )
        )
    return found

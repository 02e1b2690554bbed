"""A record in a few numbers, for the report."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from roofspring.rain.record import RainRecord

WET_DAY_M = 0.001
"""A wet day has at least this much, as in climate indices (1 mm). Source: ETCCDI_2009."""


@dataclass(frozen=True)
class RainSummary:
    """What `describe` says of a record.

    Attributes
    ----------
    years : float
        Length, in years of 365.25 days.
    mean_m_per_year : float
        Mean yearly rain [m].
    mean_m_by_month : tuple of 12 float or None
        Mean rain of January to December [m], each scaled to a whole month; None where no day of
        that month is in the record.
    wet_days_per_year : float
        Days with the threshold or more, per year of 365.25 days.
    mean_wet_day_m : float
        Mean rain of a wet day [m]; 0 without one.
    wet_day_m : float
        The threshold [m].
    longest_dry_days : int
        Longest spell of days under the threshold.
    longest_dry_first, longest_dry_last : str
        Its first and last day, empty without one.
    driest_year, wettest_year : int or None
        Among the calendar years that are whole; None without one.
    driest_year_m, wettest_year_m : float or None
        Their rain [m]; None without one.
    greatest_day_m : float
        Most rain in a day [m].
    greatest_day : str
    mean_temp_degc, least_tmin_degc : float or None
        Mean of daily extremes, and the coldest; None without temperatures.
    """

    years: float
    mean_m_per_year: float
    mean_m_by_month: tuple[float | None, ...]
    wet_days_per_year: float
    mean_wet_day_m: float
    wet_day_m: float
    longest_dry_days: int
    longest_dry_first: str
    longest_dry_last: str
    driest_year: int | None
    driest_year_m: float | None
    wettest_year: int | None
    wettest_year_m: float | None
    greatest_day_m: float
    greatest_day: str
    mean_temp_degc: float | None
    least_tmin_degc: float | None

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def describe(record: RainRecord, *, wet_day_m: float = WET_DAY_M) -> RainSummary:
    """Sum a record up.

    Parameters
    ----------
    record : RainRecord
        At least one day; gaps filled, or they count as dry.
    wet_day_m : float
        Least rain of a wet day [m], more than 0.

    Returns
    -------
    RainSummary

    Source
    ------
    ETCCDI_2009, indices of wet days and dry spells (threshold of 1 mm).

    Examples
    --------
    >>> record = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                     depth_m=np.tile([0.004, 0.0, 0.0, 0.0, 0.0], 73),
    ...                     kept=np.zeros(365, dtype=np.uint8))
    >>> summary = describe(record)
    >>> summary.longest_dry_days, summary.longest_dry_last, round(summary.driest_year_m, 3)
    (4, '2021-01-05', 0.292)
    """
    daily, days = np.nan_to_num(record.daily_depth_m), record.days
    wet = daily >= wet_day_m
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (~wet).astype(np.int8), [0]))))
    starts, ends = edges[::2], edges[1::2]
    at = int((ends - starts).argmax()) if len(starts) else -1
    years, first, counts = np.unique(
        days.astype("datetime64[Y]"), return_index=True, return_counts=True
    )
    sums = np.add.reduceat(daily, first)
    whole = counts >= 365
    names = years[whole].astype(np.int64) + 1970
    totals = sums[whole]
    low = int(totals.argmin()) if len(totals) else None
    high = int(totals.argmax()) if len(totals) else None
    top = int(daily.argmax())
    tmin, tmax = record.tmin_degc, record.tmax_degc
    return RainSummary(
        years=record.years,
        mean_m_per_year=record.mean_m_per_year,
        mean_m_by_month=_by_month(record, daily),
        wet_days_per_year=float(wet.sum()) / record.years,
        mean_wet_day_m=float(daily[wet].mean()) if wet.any() else 0.0,
        wet_day_m=wet_day_m,
        longest_dry_days=int(ends[at] - starts[at]) if at >= 0 else 0,
        longest_dry_first=str(days[starts[at]]) if at >= 0 else "",
        longest_dry_last=str(days[ends[at] - 1]) if at >= 0 else "",
        driest_year=None if low is None else int(names[low]),
        driest_year_m=None if low is None else float(totals[low]),
        wettest_year=None if high is None else int(names[high]),
        wettest_year_m=None if high is None else float(totals[high]),
        greatest_day_m=float(daily[top]),
        greatest_day=str(days[top]),
        mean_temp_degc=None
        if tmin is None or tmax is None
        else float(np.nanmean((tmin + tmax) / 2.0)),
        least_tmin_degc=None if tmin is None else float(np.nanmin(tmin)),
    )


_MONTH_DAYS = (31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)


def _by_month(
    record: RainRecord, daily: np.ndarray[Any, np.dtype[np.float64]]
) -> tuple[float | None, ...]:
    month = record.days.astype("datetime64[M]").astype(np.int64) % 12
    total, count = np.bincount(month, daily, 12), np.bincount(month, minlength=12)
    return tuple(
        float(total[m] / count[m] * _MONTH_DAYS[m]) if count[m] else None for m in range(12)
    )

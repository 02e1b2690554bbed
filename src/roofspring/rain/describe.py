"""A record in a few numbers, for the report."""

from __future__ import annotations

from calendar import isleap
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
    mean = np.empty(0) if tmin is None or tmax is None else (tmin + tmax) / 2.0
    mean, least = (x[np.isfinite(x)] for x in (mean, np.empty(0) if tmin is None else tmin))
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
        mean_temp_degc=float(mean.mean()) if len(mean) else None,
        least_tmin_degc=float(least.min()) if len(least) else None,
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


@dataclass(frozen=True)
class MonthSpread:
    """Monthly rain over the years, January to December; None for a month that is never whole.

    Attributes
    ----------
    years_count : tuple of 12 int
        Whole months that each value rests on.
    p10_m, p50_m, p90_m : tuple of 12 float or None
        Rain that one year in ten, one in two and nine in ten does not reach [m].
    """

    years_count: tuple[int, ...]
    p10_m: tuple[float | None, ...]
    p50_m: tuple[float | None, ...]
    p90_m: tuple[float | None, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class DrySpell:
    """A run of days under the threshold, with its ISO dates."""

    first: str
    last: str
    length_days: int


@dataclass(frozen=True)
class YearDays:
    """Rain by year and day, for a heat map.

    Attributes
    ----------
    years : (k,) int64
    depth_m : (k, 366) float64
        Column 59 is 29 February in every row. NaN where there is no day or no value [m].
    """

    years: np.ndarray[Any, np.dtype[np.int64]]
    depth_m: np.ndarray[Any, np.dtype[np.float64]]


def month_spread(record: RainRecord) -> MonthSpread:
    """Monthly totals over the years, by their quantiles.

    Parameters
    ----------
    record : RainRecord
        Months with a day outside the record, or without a value, are left out; filled days count.

    Returns
    -------
    MonthSpread

    Notes
    -----
    Quantiles by linear interpolation between ranks, ``1 + (n - 1) p`` (type 7 of the source).

    Source
    ------
    HYNDMAN_FAN_1996, definition 7 (from memory).

    Examples
    --------
    >>> even = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                   depth_m=np.full(59, 0.001), kept=np.zeros(59, dtype=np.uint8))
    >>> spread = month_spread(even)
    >>> spread.p50_m[:3], spread.years_count[:3]
    ((0.031, 0.028, None), (1, 1, 0))
    """
    days, daily = record.days, record.daily_depth_m
    months, first, count = np.unique(
        days.astype("datetime64[M]"), return_index=True, return_counts=True
    )
    of_month = (months + 1).astype("datetime64[D]") - months.astype("datetime64[D]")
    totals = np.add.reduceat(daily, first) if len(daily) else daily
    whole = np.isfinite(totals) & (count == of_month.astype(np.int64))
    of_year = months.astype(np.int64) % 12
    by_month = [totals[whole & (of_year == m)] for m in range(12)]

    def at(share: float) -> tuple[float | None, ...]:
        return tuple(float(np.quantile(x, share)) if len(x) else None for x in by_month)

    return MonthSpread(tuple(len(x) for x in by_month), at(0.1), at(0.5), at(0.9))


def dry_spells(
    record: RainRecord, *, wet_day_m: float = WET_DAY_M, least_days: int = 1
) -> tuple[DrySpell, ...]:
    """Every dry spell of a record, the longest first.

    Parameters
    ----------
    record : RainRecord
        Days without a value end a spell.
    wet_day_m : float
        Least rain of a wet day [m], more than 0.
    least_days : int
        Shorter spells are left out.

    Returns
    -------
    tuple of DrySpell
        By length, then by date. Spells at either end of the record may have been longer.

    Source
    ------
    ETCCDI, dry spells (threshold of 1 mm).

    Examples
    --------
    >>> gauge = RainRecord(start=np.datetime64("2021-06-01"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.array([0.0, 0.004, 0.0, 0.0, 0.004]),
    ...                    kept=np.zeros(5, dtype=np.uint8))
    >>> [(s.first, s.length_days) for s in dry_spells(gauge)]
    [('2021-06-03', 2), ('2021-06-01', 1)]
    """
    days = record.days
    dry = record.daily_depth_m < wet_day_m  # False for NaN
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dry.astype(np.int8), [0]))))
    spells = [
        DrySpell(str(days[a]), str(days[b - 1]), int(b - a))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if b - a >= least_days
    ]
    return tuple(sorted(spells, key=lambda s: (-s.length_days, s.first)))


def longest_dry_by_year(record: RainRecord, *, wet_day_m: float = WET_DAY_M) -> dict[int, int]:
    """Longest dry spell of each calendar year [days], spells cut at the turn of the year.

    Parameters
    ----------
    record : RainRecord
    wet_day_m : float
        Least rain of a wet day [m], more than 0.

    Returns
    -------
    dict of int to int
        For the years of which every day has a value.

    Source
    ------
    ETCCDI, longest dry spell (threshold of 1 mm).

    Examples
    --------
    >>> gauge = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.tile([0.004, 0.0, 0.0, 0.0, 0.0], 73),
    ...                    kept=np.zeros(365, dtype=np.uint8))
    >>> longest_dry_by_year(gauge)
    {2021: 4}
    """
    table = year_days(record)
    longest = {}
    for year, row in zip(table.years.tolist(), table.depth_m, strict=True):
        values = row if isleap(year) else np.delete(row, 59)
        if np.isnan(values).any():
            continue
        dry = np.concatenate(([0], (values < wet_day_m).astype(np.int8), [0]))
        edges = np.flatnonzero(np.diff(dry))
        longest[int(year)] = int((edges[1::2] - edges[::2]).max(initial=0))
    return longest


def year_days(record: RainRecord) -> YearDays:
    """Rain laid out by year and day of the calendar.

    Parameters
    ----------
    record : RainRecord

    Returns
    -------
    YearDays

    Source
    ------
    Layout: engineering choice.

    Examples
    --------
    >>> gauge = RainRecord(start=np.datetime64("2020-02-28"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.array([0.001, 0.002, 0.003]),
    ...                    kept=np.zeros(3, dtype=np.uint8))
    >>> year_days(gauge).depth_m[0, 58:61].tolist()
    [0.001, 0.002, 0.003]
    """
    days, daily = record.days, record.daily_depth_m
    year = days.astype("datetime64[Y]")
    column = (days - year).astype(np.int64)
    next_year = (year + 1).astype("datetime64[D]")
    common = (next_year - year.astype("datetime64[D]")).astype(np.int64) == 365
    column = column + (common & (column >= 59))
    years, row = np.unique(year.astype(np.int64) + 1970, return_inverse=True)
    out = np.full((len(years), 366), np.nan)
    out[row, column] = daily
    return YearDays(years, out)

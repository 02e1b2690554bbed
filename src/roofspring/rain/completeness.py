"""How much of each month and year was measured."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from roofspring.rain.record import Kept, RainRecord

BAD_MONTH_DAYS, BAD_MONTH_RUN_DAYS = 11, 5
"""Days missing, and days missing in a row, that make a month unusable. Source: WMO_1203."""

_WORST_FIRST = (
    Kept.MISSING, Kept.FAILED, Kept.FILLED, Kept.INVENTED, Kept.SPREAD, Kept.TRACE, Kept.MEASURED,
)  # fmt: skip


@dataclass(frozen=True)
class Period:
    """One month or year.

    Every day of the calendar month or year counts once, by the worst mark of its steps; days that
    the record does not reach count as missing.

    Attributes
    ----------
    name : str
        ``2012`` or ``2012-10``.
    days_count : int
        Days of the calendar month or year.
    measured_count, trace_count, spread_count, filled_count, failed_count, missing_count,
    invented_count : int
        Days by mark. A trace day is a day whose rain was measured as too little to measure.
    longest_gap_days : int
        Longest run of days that were not measured, within the period.
    usable : bool
        A month: fewer than 11 days not measured, and fewer than 5 in a row. A year: all of its
        months are usable.
    whole : bool
        No day is without a value of its own or a share of a total: the sum can be used as it is.
    """

    name: str
    days_count: int
    measured_count: int
    trace_count: int
    spread_count: int
    filled_count: int
    failed_count: int
    missing_count: int
    invented_count: int
    longest_gap_days: int
    usable: bool
    whole: bool


@dataclass(frozen=True)
class Completeness:
    """All months and years that the record touches, in order."""

    months: tuple[Period, ...]
    years: tuple[Period, ...]

    @property
    def usable_months_frac(self) -> float:
        """Share of months that can be used."""
        return sum(m.usable for m in self.months) / len(self.months) if self.months else 0.0

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def completeness(record: RainRecord) -> Completeness:
    """Days of each month and year by how they were come by.

    Parameters
    ----------
    record : RainRecord
        Before or after its gaps are filled: filled and failed days are not measured either way.

    Returns
    -------
    Completeness

    Notes
    -----
    The rule for months is made for monthly means; a monthly or yearly **sum** needs every day,
    which is ``whole``.

    Source
    ------
    WMO_1203, rule for missing days (from memory).

    Examples
    --------
    >>> kept = np.zeros(59, dtype=np.uint8)
    >>> kept[40:45] = Kept.FILLED
    >>> gauge = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.zeros(59), kept=kept)
    >>> [(m.name, m.filled_count, m.usable, m.whole) for m in completeness(gauge).months]
    [('2021-01', 0, True, True), ('2021-02', 5, False, False)]
    """
    if not record.days_count:
        return Completeness((), ())
    days, n = record.days, record.steps_per_day_count
    first = days[0].astype("datetime64[Y]").astype("datetime64[D]")
    end = (days[-1].astype("datetime64[Y]") + 1).astype("datetime64[D]")
    worst = np.full(int((end - first).astype(int)), _WORST_FIRST.index(Kept.MISSING))
    place = np.argsort(_WORST_FIRST)
    at = int((days[0] - first).astype(int))
    by_step = place[record.kept[: len(days) * n].astype(np.int64)].reshape(-1, n)
    worst[at : at + len(days)] = by_step.min(axis=1)
    calendar = first + np.arange(len(worst))
    touched = np.arange(
        days[0].astype("datetime64[M]"), days[-1].astype("datetime64[M]") + 1, dtype="datetime64[M]"
    )
    months = []
    for month in touched:
        a = int((month.astype("datetime64[D]") - first).astype(int))
        b = int(((month + 1).astype("datetime64[D]") - first).astype(int))
        months.append(_period(str(month), worst[a:b], usable=None))
    years = []
    for year in np.unique(calendar.astype("datetime64[Y]")):
        mine = [m.usable for m in months if m.name.startswith(f"{year}-")]
        all_usable = len(mine) == 12 and all(mine)
        of_year = worst[calendar.astype("datetime64[Y]") == year]
        years.append(_period(str(year), of_year, usable=all_usable))
    return Completeness(tuple(months), tuple(years))


def _period(
    name: str, worst: np.ndarray[Any, np.dtype[np.int64]], *, usable: bool | None
) -> Period:
    count = dict(zip(_WORST_FIRST, np.bincount(worst, minlength=len(_WORST_FIRST)), strict=True))
    gap = np.isin(worst, [_WORST_FIRST.index(k) for k in (Kept.MISSING, Kept.FAILED, Kept.FILLED)])
    edges = np.flatnonzero(np.diff(np.concatenate(([0], gap.astype(np.int8), [0]))))
    longest = int((edges[1::2] - edges[::2]).max(initial=0))
    if usable is None:
        usable = bool(gap.sum() < BAD_MONTH_DAYS and longest < BAD_MONTH_RUN_DAYS)
    return Period(
        name=name,
        days_count=len(worst),
        measured_count=int(count[Kept.MEASURED]),
        trace_count=int(count[Kept.TRACE]),
        spread_count=int(count[Kept.SPREAD]),
        filled_count=int(count[Kept.FILLED]),
        failed_count=int(count[Kept.FAILED]),
        missing_count=int(count[Kept.MISSING]),
        invented_count=int(count[Kept.INVENTED]),
        longest_gap_days=longest,
        usable=usable,
        whole=not gap.any(),
    )

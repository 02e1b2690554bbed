"""Does invented rain behave as the record does? A table that says where it does not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from itertools import islice
from typing import Any

import numpy as np

from roofspring.errors import Finding, Problem, RecordError
from roofspring.rain.futures.base import WET_DAY_M, FittedModel
from roofspring.rain.futures.ensemble import ensemble
from roofspring.rain.futures.statistics import STATISTICS, Frame, all_values, frame
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import as_read, plural
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import MONTH_NAMES, UnitSet

BAND = (0.05, 0.95)
LEAST_MEMBERS = 20
"""Fewer members show no 90 % band."""


@dataclass(frozen=True)
class AcceptanceRow:
    """One statistic of the record in the band of the invented ones.

    Attributes
    ----------
    statistic : str
    month : str
        Empty for a statistic of whole years.
    unit : str
        ``m``, ``m2``, ``days`` or ``frac``; empty for a plain number.
    observed, p05, p50, p95 : float
    inside : bool
    """

    statistic: str
    month: str
    unit: str
    observed: float
    p05: float
    p50: float
    p95: float
    inside: bool

    @property
    def words(self) -> str:
        """The row as a sentence."""
        name = f"{self.statistic}, {self.month}" if self.month else self.statistic
        side = "inside"
        if not self.inside:
            side = "above" if self.observed > self.p95 else "below"
        return (
            f"{name}: record {_shown(self.observed, self.unit)}, "
            f"model {_shown(self.p05, self.unit)} to {_shown(self.p95, self.unit)}: {side}"
        )


@dataclass(frozen=True)
class AcceptanceTable:
    """Which statistics of a record lie inside the 90 % band of invented records as long.

    Attributes
    ----------
    rows : tuple of AcceptanceRow
    model, record : str
    members, years : int
    wet_day_m : float
        Least rain of a wet day [m].
    """

    rows: tuple[AcceptanceRow, ...]
    model: str
    record: str
    members: int
    years: int
    wet_day_m: float

    @property
    def failed(self) -> tuple[AcceptanceRow, ...]:
        """The rows outside."""
        return tuple(row for row in self.rows if not row.inside)

    @property
    def fails_on(self) -> str:
        """One plain sentence."""
        if not self.failed:
            return "Fails on nothing that is looked at."
        parts = []
        for s in STATISTICS:
            low, high = (
                [
                    r.month
                    for r in self.failed
                    if r.statistic == s.name and (r.observed > r.p95) == up
                ]
                for up in (False, True)
            )
            for months, side in ((high, "too low"), (low, "too high")):
                if months:
                    which = f" in {', '.join(months)}" if months[0] else ""
                    parts.append(f"{s.name}{which} ({side} in the model)")
        return f"Fails on {'; '.join(parts)}."

    @property
    def inside_count(self) -> int:
        """Rows inside."""
        return len(self.rows) - len(self.failed)

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The table in a few sentences."""
        return (
            f"{self.model}, held against {self.record}: {self.members} records of {self.years} "
            f"years, wet days from {as_read(self.wet_day_m, units)}.\n"
            f"{self.inside_count} of {len(self.rows)} statistics lie inside the 90 % band; chance "
            f"alone would put about {0.1 * len(self.rows):.0f} outside.\n{self.fails_on}"
        )

    @property
    def findings(self) -> tuple[Finding, ...]:
        """A caution that says where the model fails; none where it does not."""
        if not self.failed:
            return ()
        return (
            Finding(
                "REC-158",
                "caution",
                self.fails_on[:1].lower() + self.fails_on[1:].rstrip("."),
                where=self.model,
                got=f"{len(self.failed)} of {len(self.rows)} statistics outside",
                limit="the 90 % band of invented records",
                source=ENGINEERING_CHOICE,
                next="do not let this model answer questions that rest on these; try another",
            ),
        )

    def row(self, statistic: str, *, month: str = "") -> AcceptanceRow:
        """One row by name.

        Raises
        ------
        KeyError
            No such row.
        """
        for row in self.rows:
            if (row.statistic, row.month) == (statistic, month):
                return row
        raise KeyError(statistic, month)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            **asdict(self),
            "rows": [{**asdict(row), "words": row.words} for row in self.rows],
            "fails_on": self.fails_on,
            "inside_count": self.inside_count,
        }


def acceptance(
    record: RainRecord,
    futures: FittedModel | Iterable[RainRecord],
    *,
    members: int = 200,
    years: int | None = None,
    seed: int = 0,
    wet_day_m: float | None = None,
) -> AcceptanceTable:
    """Hold invented rain against a record.

    Parameters
    ----------
    record : RainRecord
        Gapless; its whole years from the first day of a month are used.
    futures : FittedModel, or iterable of RainRecord
        A model, or records that start on that day and are as long or longer.
    members : int
        Invented records, 20 or more; of an iterable, at most so many are taken.
    years : int, optional
        Years of each; all of the record when not given.
    seed : int
        For a model.
    wet_day_m : float, optional
        Least rain of a wet day [m]; that of the model, or 0.25 mm, when not given.

    Returns
    -------
    AcceptanceTable
        Statistics that the record does not have (a month that never rains) are left out.

    Raises
    ------
    RecordError
        REC-061: gaps. REC-066: the record or an invented one is too short, or there are too few.
    RangeError (REC-064)
        Members or seed outside their limits.

    Notes
    -----
    The band is that of the sampling of a record as long as this one, so a short record has wide
    bands in which nearly every model passes. A model is held against the record it was fitted to;
    passing says that it can stand for that record, not that the next years will be like it.

    Source
    ------
    WILKS_WILBY_1999 (what a daily model must keep); band and number: engineering choice.

    Examples
    --------
    >>> from roofspring.rain.futures import MovingBlocks
    >>> shower = np.where(np.arange(1461) % 4 == 0, 0.005, 0.0)
    >>> record = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="x", source="x",
    ...                     depth_m=shower, kept=np.zeros(1461, dtype=np.uint8))
    >>> table = acceptance(record, MovingBlocks().fit(record), members=50, seed=1)
    >>> table.row("greatest day").words
    'greatest day: record 5.00 mm, model 5.00 mm to 5.00 mm: inside'
    """
    layout, depth = frame(record, years=years)
    if isinstance(futures, Iterable):
        records, title = islice(futures, members), ""
        least = WET_DAY_M if wet_day_m is None else wet_day_m
    else:
        records = islice(
            ensemble(futures, members=members, years=layout.years, seed=seed, start=layout.start),
            members,
        )
        title = futures.title
        least = futures.wet_day_m if wet_day_m is None else wet_day_m
    observed = all_values(layout.tally(depth, wet_day_m=least))
    values = []
    for made in records:
        title = title or made.name
        values.append(all_values(layout.tally(_days(made, layout), wet_day_m=least)))
    if len(values) < LEAST_MEMBERS:
        raise _too_few(f"{len(values)} invented records", f"{LEAST_MEMBERS} or more")
    return AcceptanceTable(
        rows=_rows(observed, np.array(values)),
        model=title,
        record=record.name,
        members=len(values),
        years=layout.years,
        wet_day_m=least,
    )


def _days(made: RainRecord, layout: Frame) -> FloatArray:
    """Rain by day of an invented record, cut to the years looked at [m]."""
    daily, n = made.daily_depth_m, len(layout.at)
    if made.start.astype("datetime64[D]") != layout.start or len(daily) < n:
        raise _too_few(
            f"{made.name}: {plural(len(daily), 'day')} from {made.start}",
            f"{n} days from {layout.start}",
        )
    return daily[:n]


def _rows(observed: FloatArray, values: FloatArray) -> tuple[AcceptanceRow, ...]:
    rows = []
    names = [(s, month) for s in STATISTICS for month in _months(s.name)]
    for at, (s, month) in enumerate(names):
        some = values[np.isfinite(values[:, at]), at]
        if not np.isfinite(observed[at]) or len(some) == 0:
            continue
        low, middle, high = (float(v) for v in np.quantile(some, (BAND[0], 0.5, BAND[1])))
        # Sums of the same days in another order differ in the last bits.
        room = 1e-9 * max(abs(low), abs(high))
        value = float(observed[at])
        inside = low - room <= value <= high + room
        rows.append(AcceptanceRow(s.name, month, s.unit, value, low, middle, high, inside))
    return tuple(rows)


_OF_YEARS = ("annual", "longest", "driest", "greatest")


def _months(name: str) -> tuple[str, ...]:
    return ("",) if name.startswith(_OF_YEARS) else MONTH_NAMES


def _shown(value: float, unit: str) -> str:
    if unit == "m":
        return f"{value * 1e3:.3g} mm" if value < 0.001 else f"{value * 1e3:.2f} mm"
    if unit == "m2":
        return f"{value * 1e6:.1f} mm2"
    if unit == "frac":
        return f"{value:.1%}"
    return f"{value:.1f} days" if unit == "days" else f"{value:.2f}"


def _too_few(got: str, allowed: str) -> RecordError:
    return RecordError(
        Problem(
            "REC-066",
            "the invented records do not fit the record they are held against",
            got=got,
            allowed=allowed,
            next="make more, as long as the record and from the same first day",
        )
    )

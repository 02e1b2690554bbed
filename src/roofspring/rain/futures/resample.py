"""Days of the record in a new order: whole years, blocks of days, or days that follow alike."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Protocol

import numpy as np

from roofspring.errors import Finding
from roofspring.kernels import weather
from roofspring.rain.futures._calendar import YEAR_PLACES, IntArray, Span, Windows, span, windows
from roofspring.rain.futures.base import (
    START,
    WET_DAY_M,
    Past,
    Seed,
    check_settings,
    generator_of,
    made,
    past,
)
from roofspring.rain.futures.generate import whole_span
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import as_read, both, plural
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet

_LEAP_PLACE = 59
"""Place of 29 February."""

_RING_YEARS = 3.0
_DRIFT_YEARS = 500
_DRIFT_SEED = 19_960_101
_DRIFT_FRAC = 0.02


@dataclass(frozen=True)
class WholeYears:
    """Whole years drawn from the record, each with the same chance.

    Parameters
    ----------
    block_years : int
        Years that stay together, 1 to 10. With 1 a wet year says nothing of the next.
    wet_day_m : float
        Least rain of a wet day [m], for counts; the model needs none.

    Notes
    -----
    A year starts on the day and month of the first day asked for. 29 February is left out of a
    year that has none, and where the drawn year has none it takes the day before.

    Source
    ------
    EFRON_1979 (drawing with replacement).
    """

    block_years: int = 1
    wet_day_m: float = WET_DAY_M

    def __post_init__(self) -> None:
        check_settings(
            ("block_years", self.block_years, 1, 10), ("wet_day_m", self.wet_day_m, 1e-5, 0.02)
        )

    @property
    def name(self) -> str:
        """As in `MODELS`."""
        return "whole-years"

    def fit(self, record: RainRecord) -> FittedResample:
        """Keep the record's days."""
        known = past(record, wet_day_m=self.wet_day_m)
        return FittedResample(self, known, _DrawYears(known, self.block_years))


@dataclass(frozen=True)
class _DrawYears:
    known: Past
    block_years: int

    def days(self, wanted: Span, rng: np.random.Generator) -> IntArray:
        whole = _years_from(self.known, int(wanted.place[0]))
        block = min(self.block_years, len(whole))
        first = rng.integers(len(whole) - block + 1, size=-(-wanted.years // block))
        drawn = (first[:, np.newaxis] + np.arange(block)).ravel()[: wanted.years]
        chosen: IntArray = whole[drawn[wanted.year], wanted.place]
        return chosen


@dataclass(frozen=True)
class MovingBlocks:
    """Blocks of days drawn from about the same season of any year.

    Parameters
    ----------
    block_days : int
        2 to 120.
    window_days : int
        How far from its season a block may start [days], 0 to 45.
    wet_day_m : float
        Least rain of a wet day [m], for counts; the model needs none.

    Source
    ------
    KUNSCH_1989 (blocks); held to the season, and default lengths: engineering choice.
    """

    block_days: int = 30
    window_days: int = 7
    wet_day_m: float = WET_DAY_M

    def __post_init__(self) -> None:
        check_settings(
            ("block_days", self.block_days, 2, 120),
            ("window_days", self.window_days, 0, 45),
            ("wet_day_m", self.wet_day_m, 1e-5, 0.02),
        )

    @property
    def name(self) -> str:
        """As in `MODELS`."""
        return "moving-blocks"

    def fit(self, record: RainRecord) -> FittedResample:
        """Keep the record's days, by season."""
        known = past(record, wet_day_m=self.wet_day_m)
        n = len(known.place)
        # A block must end within the record. One of a few years may have no day that starts one in
        # some season; its last days are then followed by its first.
        usable = np.arange(n) <= (n if known.years < _RING_YEARS else n - self.block_days)
        season = windows(known.place, usable, window_days=self.window_days)
        return FittedResample(self, known, _DrawBlocks(season, n, self.block_days))


@dataclass(frozen=True)
class _DrawBlocks:
    season: Windows
    days_count: int
    block_days: int

    def days(self, wanted: Span, rng: np.random.Generator) -> IntArray:
        starts = wanted.place[:: self.block_days]
        low, high = self.season.low[starts], self.season.high[starts]
        first = self.season.order[low + rng.integers(high - low)]
        chosen = (first[:, np.newaxis] + np.arange(self.block_days)).ravel()
        ringed: IntArray = chosen[: wanted.days_count] % self.days_count
        return ringed


@dataclass(frozen=True)
class NearestDays:
    """Each day is the one that followed a day like the last, at about the same season.

    Parameters
    ----------
    window_days : int
        Half width of the season [days], 1 to 45.
    neighbours : int or None
        Days to choose from, 1 to 200; None for the root of the number in the window.
    memory_days : float
        How long fallen rain still counts as wetness [days], 1 to 90.
    wet_day_m : float
        Least rain of a wet day [m], for counts; the model needs none.

    Notes
    -----
    Days are alike in the root of their rain, the root of the rain that memory keeps (each day it
    loses ``1/memory_days``) and, where the record has it, temperature; each difference is divided
    by the spread in the window. The j-th nearest is drawn with a weight of 1/j.

    Source
    ------
    LALL_SHARMA_1996 (method, weights, number); RAJAGOPALAN_LALL_1999 (daily weather, season).
    Roots and memory: engineering choice.
    """

    window_days: int = 7
    neighbours: int | None = None
    memory_days: float = 10.0
    wet_day_m: float = WET_DAY_M

    def __post_init__(self) -> None:
        check_settings(
            ("window_days", self.window_days, 1, 45),
            ("neighbours", 1 if self.neighbours is None else self.neighbours, 1, 200),
            ("memory_days", self.memory_days, 1.0, 90.0),
            ("wet_day_m", self.wet_day_m, 1e-5, 0.02),
        )

    @property
    def name(self) -> str:
        """As in `MODELS`."""
        return "nearest-days"

    def fit(self, record: RainRecord) -> FittedResample:
        """Lay out the record's days by season, with their likeness."""
        known = past(record, wet_day_m=self.wet_day_m)
        n = len(known.place)
        keep = 1.0 - 1.0 / self.memory_days
        memory = np.empty(n)
        weather.lasting(known.depth_m, keep, 1.0, memory)
        temp = np.zeros(n)
        if known.tmin_degc is not None and known.tmax_degc is not None:
            temp = (known.tmin_degc + known.tmax_degc) / 2.0
        season = windows(known.place, np.arange(n) < n - 1, window_days=self.window_days)
        table = np.array([np.sqrt(known.depth_m), np.sqrt(memory), temp])
        features = np.ascontiguousarray(table[:, season.order])
        weight = np.zeros((YEAR_PLACES, 3))
        for p in range(YEAR_PLACES):
            spread = features[:, season.low[p] : season.high[p]].std(axis=1)
            np.divide(1.0, spread, out=weight[p], where=spread > 0.0)
        least = int((season.high - season.low).min())
        count = self.neighbours or round(np.sqrt(np.median(season.high - season.low)))
        count = max(1, min(count, least))
        ranks = 1.0 / np.arange(1, count + 1)
        cumulative = np.cumsum(ranks) / ranks.sum()

        draw = _DrawNearest(season, features, weight, known.depth_m, temp, memory, keep, cumulative)
        test = span(START, _DRIFT_YEARS)
        drawn = known.depth_m[draw.days(test, np.random.default_rng(_DRIFT_SEED))]
        drift = float(drawn.mean() / known.depth_m.mean()) - 1.0
        return FittedResample(self, known, draw, mean_drift_frac=drift)


@dataclass(frozen=True)
class _DrawNearest:
    season: Windows
    features: FloatArray
    weight: FloatArray
    depth_m: FloatArray
    temp_degc: FloatArray
    memory_m: FloatArray
    keep_frac: float
    cumulative: FloatArray

    def days(self, wanted: Span, rng: np.random.Generator) -> IntArray:
        season, count, n = self.season, len(self.cumulative), wanted.days_count
        place = int(wanted.place[0])
        first = int(season.order[rng.integers(season.low[place], season.high[place])])
        chosen = np.empty(n, dtype=np.int64)
        weather.follow(
            first, wanted.place, season.low, season.high, season.order, self.features, self.weight,
            self.depth_m, self.temp_degc, float(self.memory_m[first]), self.keep_frac,
            self.cumulative, rng.random(n), np.empty(int((season.high - season.low).max())),
            np.empty(count), np.empty(count, dtype=np.int64), chosen,
        )  # fmt: skip
        return chosen


class _Draw(Protocol):
    """Which days of the record stand for those wanted."""

    def days(self, wanted: Span, rng: np.random.Generator) -> IntArray: ...


@dataclass(frozen=True)
class FittedResample:
    """A record whose days can be drawn in a new order.

    Attributes
    ----------
    model : WholeYears, MovingBlocks or NearestDays
    known : Past
    draw : object
        Its ``days`` are those of the record to put in the place of those of a span.
    mean_drift_frac : float or None
        By how much the mean of 500 years is off the record's [-], for a model that may drift.
    """

    model: WholeYears | MovingBlocks | NearestDays
    known: Past
    draw: _Draw
    mean_drift_frac: float | None = None

    @property
    def title(self) -> str:
        """The model and the record, for people."""
        return self.known.title(self.model.name)

    @property
    def wet_day_m(self) -> float:
        """Least rain of a wet day [m]."""
        return self.model.wet_day_m

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those of the record, and what resampling cannot do."""
        found = [
            *self.known.findings,
            Finding(
                "REC-155",
                "note",
                "the days are those of the record in a new order: none is wetter than its wettest",
                where=self.known.name,
                got=both(float(self.known.depth_m.max())),
                source=ENGINEERING_CHOICE,
                next="take gutters and overflows from a rainfall intensity table, not from here",
            ),
        ]
        drift = self.mean_drift_frac
        if drift is not None and abs(drift) > _DRIFT_FRAC:
            found.append(
                Finding(
                    "REC-160",
                    "caution",
                    "the model's mean rain is not the record's: likeness draws some days more "
                    "often than others",
                    where=self.known.name,
                    got=f"{drift:+.1%}",
                    limit=f"{_DRIFT_FRAC:.0%} either way",
                    source=ENGINEERING_CHOICE,
                    next="keep this in mind for yields, or use blocks of days",
                )
            )
        return tuple(found)

    def simulate(self, *, years: int, seed: Seed, start: np.datetime64 = START) -> RainRecord:
        """Invent whole years.

        Parameters
        ----------
        years : int
            1 to 10,000.
        seed : int or numpy.random.SeedSequence
        start : numpy.datetime64
            First day.

        Raises
        ------
        RangeError (REC-023)
            Years outside their limits.
        """
        days = whole_span(start, years)
        chosen = self.draw.days(days, generator_of(seed))
        temps = None
        if self.known.tmin_degc is not None and self.known.tmax_degc is not None:
            temps = self.known.tmin_degc[chosen], self.known.tmax_degc[chosen]
        return made(
            days,
            depth_m=self.known.depth_m[chosen],
            temps_degc=temps,
            title=self.title,
            seed=seed,
            findings=self.findings,
        )

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The fit in a few lines."""
        set_to = ", ".join(_setting(k, v, units) for k, v in asdict(self.model).items())
        notes = "\n".join(f"{f.what[:1].upper()}{f.what[1:]}: {f.got}." for f in self.findings)
        return f"{self.title}.\nSettings: {set_to}.\n{notes}"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "model": self.model.name,
            "settings": asdict(self.model),
            "record": self.known.to_dict(),
            "mean_drift_frac": self.mean_drift_frac,
            "findings": [f.to_dict() for f in self.findings],
        }


def _setting(name: str, value: float | None, units: UnitSet) -> str:
    """A setting of a model in words."""
    words, _, unit = name.rpartition("_")
    if value is None:
        return f"{name} by the length of the record"
    if unit == "m":
        return f"{words.replace('_', ' ')} from {as_read(value, units)}"
    if unit in ("days", "years"):
        return f"{words.replace('_', ' ')} of {plural(value, unit[:-1])}"
    return f"{name} {value:g}"


def _years_from(known: Past, place: int) -> IntArray:
    """Days of each whole year that starts at a place in the year; (years, 366).

    A record that is just a year long may hold no whole one from another day; its end is then
    followed by its start.
    """
    n = len(known.place)
    starts = np.flatnonzero(known.place == place)
    if place == _LEAP_PLACE:
        starts = np.flatnonzero(known.place == _LEAP_PLACE + 1) - 1
    rows = []
    for first in starts:
        days = span(known.start + first, 1) if first >= 0 else None
        if days is not None and first + days.days_count <= n:
            rows.append(_by_place(days.place, int(first) + np.arange(days.days_count)))
    if not rows:
        rows.append(_by_place(known.place[:YEAR_PLACES], np.arange(min(n, YEAR_PLACES))))
    return np.array(rows)


def _by_place(place: IntArray, at: IntArray) -> IntArray:
    """Days of a year by place; a place without one takes the day before."""
    row = np.full(YEAR_PLACES, -1, dtype=np.int64)
    row[place] = at
    for gap in np.flatnonzero(row < 0):
        row[gap] = row[gap - 1]
    return row

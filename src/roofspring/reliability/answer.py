"""The answer to "Will it last?"."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.events import Event
from roofspring.network.result import Provenance
from roofspring.units import UnitSet


@dataclass(frozen=True)
class UseAnswer:
    """How one use fared through the record."""

    id: str
    label: str
    wanted_m3: float
    delivered_m3: float
    served_frac: float
    days_short: int
    longest_short_days: int
    longest_short_from: str | None
    """First day of the longest shortage, ISO date; None when never short."""
    days_rationed: int
    raw_frac: float
    """Share of what it got that no sand had filtered."""
    short_by_month: tuple[int, ...]
    """Days short in January to December, over all years."""


@dataclass(frozen=True)
class StoreAnswer:
    """How one store fared. Volumes of a filter box count from its weir crest up."""

    id: str
    kind: str
    """``tank``, ``filter`` or ``first-flush``."""
    label: str
    start_m3: float
    end_m3: float
    min_m3: float
    mean_m3: float
    spilled_m3: float
    capacity_m3: float
    dead_m3: float
    days_empty: int
    """Days on which it fell to its dead volume."""
    days_spilling: int
    days_of_use: tuple[tuple[str, float], ...]
    """For each use that draws from it alone when full: (use id, days it would last)."""


@dataclass(frozen=True)
class Month:
    """One calendar month, averaged over the years of the record [m3 per month, m for rain]."""

    month: int
    rain_m: float
    caught_m3: float
    wanted_m3: float
    delivered_m3: float
    spilled_m3: float


@dataclass(frozen=True)
class CurvePoint:
    """Share of the want served if the largest clean store held this much."""

    capacity_m3: float
    served_frac: float
    days_short_per_year: float


@dataclass(frozen=True)
class ReferenceMethod:
    """A named textbook balance run beside the physical run, for comparison only."""

    name: str
    served_frac: float | None
    storage_m3: float | None
    source: str
    note: str


@dataclass(frozen=True)
class WithinDay:
    """The answer when a day's rain falls in one way within the day.

    ``first_spill_m3_per_year`` is what spills from the stores that roofs fill directly: how much
    of the storms the raw tank misses.
    """

    method: str
    served_frac: float
    caught_m3_per_year: float
    first_spill_m3_per_year: float


@dataclass(frozen=True)
class Band:
    """5th, 50th and 95th percentile over many futures."""

    p05: float
    p50: float
    p95: float


@dataclass(frozen=True)
class Futures:
    """The plan under many invented records of one model."""

    sentence: str
    model: str
    members: int
    years: int
    seed: int
    served_frac: Band
    days_short_per_year: Band
    short_years_frac: Band
    """Share of calendar years with a shortage."""
    acceptance: str
    """Where the model's rain differs from the record it was fitted to; empty without a record."""
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class SupplyAnswer:
    """Everything the `supply` question answers. JSON keys as in the command contract."""

    show: UnitSet
    """Units that the plan wants its answers in."""
    sentence: str
    doubt: str
    """What this many years can and cannot show."""
    years: float
    rain_mm_per_year: float
    fell_m3: float
    caught_m3: float
    wanted_m3: float
    delivered_m3: float
    spilled_m3: float
    served_frac: float
    days_short: int
    longest_short_days: int
    served_low_frac: float | None
    served_high_frac: float | None
    """90 % band of the served share over resampled years of the record; None under three years."""
    filled_frac: float
    invented: bool
    within_day: str
    within_day_ways: tuple[WithinDay, ...]
    """The answer under each way of spreading a day's rain; empty for a sub-daily record."""
    uses: tuple[UseAnswer, ...]
    stores: tuple[StoreAnswer, ...]
    months: tuple[Month, ...]
    curve_store: str
    curve: tuple[CurvePoint, ...]
    methods: tuple[ReferenceMethod, ...]
    residual_m3: float
    findings: tuple[Finding, ...]
    provenance: Provenance
    events: tuple[Event, ...] = ()
    """What happened, in order of time."""
    worst: tuple[Event, ...] = ()
    """The worst two of each kind."""
    faults: tuple[str, ...] = ()
    """What was taken to be broken, in words."""
    futures: Futures | None = None
    """The same plan under many invented records; None when none were asked for."""

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)

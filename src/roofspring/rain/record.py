"""The rain record: what fell, on which day or hour, and how each value was come by."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding

FloatArray = npt.NDArray[np.float64]
DayArray = npt.NDArray[np.datetime64]


class Kept(IntEnum):
    """How a value of the record was come by. Stored beside every value."""

    MEASURED = 0
    TRACE = 1
    SPREAD = 2  # share of a total over several days
    FILLED = 3  # put in by the stated method; was missing
    FAILED = 4  # was marked as failed by its publisher, then filled
    MISSING = 5  # still missing: the engine refuses it
    INVENTED = 6  # made by a generator


@dataclass(frozen=True)
class RainRecord:
    """A gapless series of equal steps, with its history.

    Attributes
    ----------
    start : numpy.datetime64, day or second resolution
        Start of the first step, local standard time.
    step_s : float
        Length of one step [s]: 86400 for a daily record, 3600 for an hourly one.
    depth_m : (n,) float64
        Rain, or melted snow, fallen in each step [m]. NaN where still missing.
    kept : (n,) uint8
        A `Kept` value for each step.
    tmin_degc, tmax_degc : (n_days,) float64 or None
        Daily air temperature extremes [degrees C]; NaN where missing.
    name : str
        Station or file, for people.
    source : str
        File and format the record was read from, or the generator and its seed.
    fill_method : str
        How gaps were filled; ``"none"`` when none were.
    findings : tuple of Finding
        What a careful reader of the record would say about it.
    """

    start: np.datetime64
    step_s: float
    depth_m: FloatArray
    kept: npt.NDArray[np.uint8]
    name: str
    source: str
    tmin_degc: FloatArray | None = None
    tmax_degc: FloatArray | None = None
    fill_method: str = "none"
    findings: tuple[Finding, ...] = ()

    @property
    def steps_per_day_count(self) -> int:
        """Steps in a day; 1 for a daily record."""
        return round(86400.0 / self.step_s)

    @property
    def days_count(self) -> int:
        """Whole days covered."""
        return len(self.depth_m) // self.steps_per_day_count

    @property
    def years(self) -> float:
        """Length in years of 365.25 days."""
        return self.days_count / 365.25

    @property
    def days(self) -> DayArray:
        """The calendar days covered, (n_days,) datetime64[D]."""
        days: DayArray = self.start.astype("datetime64[D]") + np.arange(self.days_count)
        return days

    @property
    def daily_depth_m(self) -> FloatArray:
        """Rain per day [m], (n_days,)."""
        n = self.steps_per_day_count
        daily: FloatArray = self.depth_m[: self.days_count * n].reshape(-1, n).sum(axis=1)
        return daily

    @property
    def filled_frac(self) -> float:
        """Share of steps that were not measured but filled by the stated method."""
        return (
            float(np.isin(self.kept, (Kept.FILLED, Kept.FAILED)).mean()) if len(self.kept) else 0.0
        )

    @property
    def invented(self) -> bool:
        """True when a generator, not a gauge, made this record."""
        return bool(len(self.kept)) and bool((self.kept == Kept.INVENTED).any())

    @property
    def mean_m_per_year(self) -> float:
        """Mean yearly rain [m]."""
        return float(np.nansum(self.depth_m)) / self.years if self.days_count else 0.0

    @property
    def hash(self) -> str:
        """Short hash of dates, depths and temperatures: the same record gives the same hash."""
        digest = hashlib.sha256(f"{self.start} {self.step_s}".encode())
        for values in (self.depth_m, self.tmin_degc, self.tmax_degc):
            if values is not None:
                digest.update(np.ascontiguousarray(values).tobytes())
        return digest.hexdigest()[:12]

    def with_findings(self, *findings: Finding) -> RainRecord:
        """The same record with more findings."""
        return replace(self, findings=(*self.findings, *findings))

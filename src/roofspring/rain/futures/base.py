"""What every model of rain offers, and what all of them need from a record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from roofspring.errors import Finding, Problem, RangeError, RecordError
from roofspring.rain.futures._calendar import IntArray, Span, month_of, place_of
from roofspring.rain.futures.generate import DAY_S
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.rain.words import lasting, plural
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet

WET_DAY_M = 0.00025
"""Least rain of a wet day [m]: 0.01 in, a hair less for rounding. Source: WILKS_2011, ch. 9."""

START = np.datetime64("2001-01-01")
"""First day of an invented record when none is given: a year that follows no leap year."""

FEW_YEARS = 10.0
"""With fewer years a fit is doubtful; engineering choice."""

Seed = int | np.random.SeedSequence


class FittedModel(Protocol):
    """A model that knows a climate and can go on for as long as it is asked to."""

    @property
    def title(self) -> str:
        """The model and what it was fitted to, for people."""

    @property
    def wet_day_m(self) -> float:
        """Least rain of a wet day [m]."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What a careful reader of the fit would say; every record made carries it."""

    def simulate(self, *, years: int, seed: Seed, start: np.datetime64 = START) -> RainRecord:
        """Invent whole years of daily rain, the same for the same seed."""

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The fit in a few lines."""

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""


class RainModel(Protocol):
    """Settings of a model; `fit` does the work."""

    @property
    def name(self) -> str:
        """As in `MODELS`."""

    def fit(self, record: RainRecord) -> FittedModel:
        """Learn the climate of a record."""


@dataclass(frozen=True)
class Past:
    """What the models see of a record: gapless days.

    Attributes
    ----------
    depth_m, month, place : (n,) arrays
    tmin_degc, tmax_degc : (n,) arrays or None
        Only where both are complete.
    start : numpy.datetime64
    name, hash : str
    years : float
    findings : tuple of Finding
    """

    depth_m: FloatArray
    month: IntArray
    place: IntArray
    tmin_degc: FloatArray | None
    tmax_degc: FloatArray | None
    start: np.datetime64
    name: str
    hash: str
    years: float
    findings: tuple[Finding, ...]

    def title(self, model: str) -> str:
        """The model and the record, for people."""
        return f"{model} fitted to {self.name} ({lasting(self.years)})"

    def to_dict(self) -> dict[str, Any]:
        """Which record it was."""
        return {"name": self.name, "hash": self.hash, "years": self.years, "first": str(self.start)}


def past(record: RainRecord, *, wet_day_m: float) -> Past:
    """Check that a record can be fitted to, and lay it out.

    Raises
    ------
    RecordError
        REC-060: less than a year. REC-061: gaps. REC-062: no wet day.
    """
    if record.days_count < 365:
        raise RecordError(
            Problem(
                "REC-060",
                "the record is too short to learn a climate from",
                record.source,
                got=plural(record.days_count, "day"),
                allowed="365 days or more; 30 years tell far more",
                next="use a longer record, or monthly normals",
            )
        )
    depth = record.daily_depth_m
    gaps = ~np.isfinite(depth)
    if gaps.any():
        raise RecordError(
            Problem(
                "REC-061",
                "the record has gaps",
                record.source,
                where=str(record.days[int(gaps.argmax())]),
                got=f"{plural(int(gaps.sum()), 'day')} missing",
                next="fill them first, with fill_gaps",
            )
        )
    if not (depth >= wet_day_m).any():
        raise RecordError(
            Problem(
                "REC-062",
                "the record has no wet day",
                record.source,
                got=f"at most {depth.max() * 1e3:g} mm in a day",
                allowed=f"a wet day has {wet_day_m * 1e3:g} mm or more",
                next="check the unit of the record, or lower the threshold of a wet day",
            )
        )
    tmin, tmax = record.tmin_degc, record.tmax_degc
    low = high = None
    if tmin is not None and tmax is not None and bool(np.isfinite(tmin + tmax).all()):
        low, high = np.minimum(tmin, tmax), np.maximum(tmin, tmax)
    findings = tuple(f for f in record.findings if f.severity == "stop")
    if record.years < FEW_YEARS:
        findings += (
            Finding(
                "REC-151",
                "caution",
                f"the model was fitted to {lasting(record.years)}: longer invented records do not "
                "hold more knowledge than these years did",
                got=lasting(record.years),
                limit=f"{FEW_YEARS:g} years",
                source=ENGINEERING_CHOICE,
                next="fit to a longer record nearby",
            ),
        )
    return Past(
        depth_m=depth,
        month=month_of(record.days),
        place=place_of(record.days),
        tmin_degc=low,
        tmax_degc=high,
        start=record.start.astype("datetime64[D]"),
        name=record.name,
        hash=record.hash,
        years=record.years,
        findings=findings,
    )


def generator_of(seed: Seed) -> np.random.Generator:
    """The stream of a seed.

    Raises
    ------
    RangeError (REC-064)
        A negative seed.
    """
    if isinstance(seed, int | np.integer) and seed < 0:
        raise RangeError(
            Problem(
                "REC-064",
                "a seed cannot be negative",
                got=str(seed),
                allowed="0 or more",
                next="use any whole number from 0",
            )
        )
    return np.random.default_rng(seed)


def seed_words(seed: Seed) -> str:
    """A seed, for people."""
    if isinstance(seed, int | np.integer):
        return f"seed {seed}"
    key = ", ".join(f"member {k}" for k in seed.spawn_key)
    return f"seed {seed.entropy}" + (f", {key}" if key else "")


def made(
    days: Span,
    *,
    depth_m: FloatArray,
    temps_degc: tuple[FloatArray, FloatArray] | None,
    title: str,
    seed: Seed,
    findings: tuple[Finding, ...],
) -> RainRecord:
    """An invented record that says which model made it and from what."""
    words = seed_words(seed)
    return RainRecord(
        start=days.start,
        step_s=DAY_S,
        depth_m=depth_m,
        kept=np.full(days.days_count, Kept.INVENTED, dtype=np.uint8),
        name=f"invented rain, {title}, {words}",
        source=f"invented by the model {title}, {words}",
        tmin_degc=None if temps_degc is None else temps_degc[0],
        tmax_degc=None if temps_degc is None else temps_degc[1],
        findings=(
            Finding(
                "REC-150",
                "note",
                f"this rain is a possible future, made by the model {title}; no gauge measured it",
                where="rain",
                got=words,
                source=ENGINEERING_CHOICE,
                next="look at its acceptance table before you trust what it says of droughts",
            ),
            *findings,
        ),
    )


def check_settings(*limits: tuple[str, float, float, float]) -> None:
    """Refuse settings outside their limits, all at once.

    Raises
    ------
    RangeError (REC-063)
    """
    problems = [
        Problem(
            "REC-063",
            "a setting of the model is outside its limits",
            where=name,
            got=f"{value:g}",
            allowed=f"{low:g} to {high:g}",
            next="choose a value between these",
        )
        for name, value, low, high in limits
        if not low <= value <= high
    ]
    if problems:
        raise RangeError(problems)

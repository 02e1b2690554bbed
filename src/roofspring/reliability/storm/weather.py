"""The rain that a storm run is made with: one made to order, or a stretch of the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, Problem, RangeError
from roofspring.network.forcing import CASCADE, CASCADE_SEED, snow_and_thaw, water_degc
from roofspring.network.garden import garden_wants_m3
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord, disaggregate
from roofspring.rain.cloudburst import HYETOGRAPHS, DesignRain

FloatArray = npt.NDArray[np.float64]

BLOCK_S = 300.0
"""Step in which a storm is made; shorter steps share it evenly. Nothing is known within it."""
STEPS_S = (60.0, 300.0, 600.0, 900.0)
AFTER_S = 86400.0
START_HOURS = 12.0
MONTH = 6
"""A storm made to order comes at noon in July: engineering choice."""
HOUR_S, DAY_S = 3600.0, 86400.0
RECORDS_OWN = "the record's own"


@dataclass(frozen=True)
class Weather:
    """Rain in equal steps, and what is to be said of it.

    Attributes
    ----------
    rain_m : (n_steps,) float64
        Rain of each step [m].
    step_s : float
    month : int
        0 for January.
    start_hours : float
        Hour of the day at which it begins.
    start : numpy.datetime64 or None
        When it begins, for a stretch of the record.
    duration_s : float
        Of the storm itself, without the dry time after it [s].
    pattern : str
        The order in which it falls.
    source : str
        Where the depth comes from.
    snow_frac, thaw_m_per_s : (n_steps,) float64 or None
        Share of the rain of each step that falls as snow [-], and what can melt in it [m/s]; None
        for a storm of the mild season.
    water_degc : float or None
        Temperature of the water in the filters; None for the plan's own.
    crop_m3_per_day : mapping of use id to (n_steps,) float64
        What each use with a crop wants on the day of each step, for a stretch of the record; a
        storm made to order comes to a garden that wants nothing [m3/day].
    findings : tuple of Finding
    """

    rain_m: FloatArray
    step_s: float
    month: int
    start_hours: float
    start: np.datetime64 | None
    duration_s: float
    pattern: str
    source: str
    snow_frac: FloatArray | None = None
    thaw_m_per_s: FloatArray | None = None
    water_degc: float | None = None
    crop_m3_per_day: Mapping[str, FloatArray] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    @property
    def depth_m(self) -> float:
        """All its rain [m]."""
        return float(self.rain_m.sum())

    @property
    def peak_m_per_s(self) -> float:
        """Greatest mean intensity of five minutes, or of a step where steps are longer [m/s]."""
        wide = max(1, round(BLOCK_S / self.step_s))
        gone = np.concatenate(([0.0], np.cumsum(self.rain_m)))
        wide = min(wide, len(self.rain_m))
        return float((gone[wide:] - gone[:-wide]).max()) / (wide * self.step_s)

    @property
    def dry(self) -> Weather:
        """The same hours without a drop."""
        return replace(self, rain_m=np.zeros_like(self.rain_m))


def design_weather(
    *,
    depth_m: float,
    duration_s: float,
    pattern: str = "alternating-block",
    step_s: float = BLOCK_S,
    design: DesignRain | None = None,
) -> Weather:
    """One storm made to order, and the day after it.

    Parameters
    ----------
    depth_m, duration_s : float
        Rain of the storm [m] and its length [s], a whole number of five minutes.
    pattern : str
        A name in `roofspring.rain.cloudburst.HYETOGRAPHS`.
    step_s : float
        Step of the run [s], one of `STEPS_S`.
    design : DesignRain, optional
        Where the depth comes from.

    Raises
    ------
    RangeError
        STO-005: no such step. REC-088: the storm cannot be made.
    """
    check_step(step_s)
    blocks_m = HYETOGRAPHS[pattern].depths_m(depth_m, duration_s=duration_s, step_s=BLOCK_S)
    count = round((duration_s + AFTER_S) / step_s + 0.499)
    return Weather(
        rain_m=_in_steps(blocks_m, from_s=BLOCK_S, to_s=step_s, count=count),
        step_s=step_s,
        month=MONTH,
        start_hours=START_HOURS,
        start=None,
        duration_s=duration_s,
        pattern=pattern,
        source=design.source if design else "as asked for",
        findings=design.findings if design else (),
    )


def record_weather(
    plan: Plan, record: RainRecord, *, start: np.datetime64, hours: float, step_s: float = BLOCK_S
) -> Weather:
    """A stretch of the record, from the midnight before a day.

    Parameters
    ----------
    plan : Plan
        Says how the rain of a day is spread over the day.
    record : RainRecord
        Without missing values.
    start : numpy.datetime64
        A day of the record.
    hours : float
        Length [h], a whole number of steps.
    step_s : float
        Step of the run [s], one of `STEPS_S`.

    Raises
    ------
    RangeError
        STO-005: no such step. STO-006: not within the record.
    RecordError
        REC-096: the plan has a crop, and the record no temperatures.
    """
    check_step(step_s)
    day = start.astype("datetime64[D]")
    count = round(hours * HOUR_S / step_s)
    first = int((day - record.days[0]).astype(np.int64))
    days = int(np.ceil(count * step_s / DAY_S - 1e-9))
    if not (count > 0 and first >= 0 and first + days <= record.days_count):
        raise RangeError(
            Problem(
                "STO-006",
                "the record does not hold these hours",
                where=record.name,
                got=f"{hours:g} hours from {day}",
                allowed=f"within {record.days[0]} to {record.days[-1]}",
                next="choose another day, or fewer hours",
            )
        )
    method = plan.rain.within_day
    fine = record
    if record.steps_per_day_count == 1:
        fine = disaggregate(
            # A fixed pattern knows each day by itself; the cascade must draw as the whole run does.
            record if method == CASCADE else _days(record, first, days),
            method=method,
            seed=CASCADE_SEED,
            step_s=BLOCK_S,
        )
    per_day = fine.steps_per_day_count
    of_day = (np.arange(count) * step_s / DAY_S + 1e-9).astype(np.int64) + first
    snow_frac, thaw_m_per_s = (by_day[of_day] for by_day in snow_and_thaw(plan, record))
    begin = 0 if fine.days_count == days and fine is not record else first * per_day
    pieces_m = fine.depth_m[begin : begin + days * per_day]
    return Weather(
        rain_m=_in_steps(pieces_m, from_s=fine.step_s, to_s=step_s, count=count),
        step_s=step_s,
        month=int(day.astype("datetime64[M]").astype(np.int64) % 12),
        start_hours=0.0,
        start=day,
        duration_s=count * step_s,
        pattern=method if record.steps_per_day_count == 1 else RECORDS_OWN,
        source=f"rain of the record from {day}",
        snow_frac=snow_frac,
        thaw_m_per_s=thaw_m_per_s,
        water_degc=float(water_degc(plan, record)[first : first + days].mean()),
        crop_m3_per_day={
            use_id: garden_wants_m3(plan, use, record)[of_day]
            for use_id, use in sorted(plan.uses.items())
            if use.crop is not None
        },
    )


def check_step(step_s: float) -> None:
    """Refuse a step that a storm is not run in.

    Raises
    ------
    RangeError (STO-005)
        Not one of `STEPS_S`.
    """
    if step_s not in STEPS_S:
        raise RangeError(
            Problem(
                "STO-005",
                "a storm is not run in such steps",
                got=f"{step_s / 60.0:g} min",
                allowed=", ".join(f"{s / 60.0:g} min" for s in STEPS_S),
                next="use one of these",
            )
        )


def _days(record: RainRecord, first: int, days: int) -> RainRecord:
    part = slice(first, first + days)
    return replace(
        record,
        start=record.days[first],
        depth_m=record.depth_m[part],
        kept=record.kept[part],
        tmin_degc=None,
        tmax_degc=None,
    )


def _in_steps(pieces_m: FloatArray, *, from_s: float, to_s: float, count: int) -> FloatArray:
    """Rain of pieces of one length as rain of steps of another; even within a piece, then dry."""
    gone = np.concatenate(([0.0], np.cumsum(pieces_m)))
    edges_s = np.arange(count + 1) * to_s
    fallen = np.interp(edges_s, np.arange(len(gone)) * from_s, gone)
    steps_m: FloatArray = np.maximum(0.0, np.diff(fallen))
    return steps_m

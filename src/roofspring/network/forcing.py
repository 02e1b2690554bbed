"""The rain record, the uses and the temperature, cut into steps that never cross midnight."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RecordError
from roofspring.hydraulics.freezing import ice_through_m
from roofspring.kernels.net import Forcing
from roofspring.network.garden import garden_wants_m3
from roofspring.plan.model import Plan, Use
from roofspring.rain import WITHIN_DAY, RainRecord, disaggregate
from roofspring.rain.snow import MELT_FROM_DEGC, MELT_M_PER_DEGC_DAY, snow_share_frac
from roofspring.water import viscosity_ratio

FloatArray = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

CASCADE = "cascade"
CASCADE_SEED = 1
DEFAULT_WATER_DEGC = 10.0
WATER_MEMORY_DAYS = 10
LEAST_TOLERANCE_M = 1e-7
HOUR_S, DAY_S = 3600.0, 86400.0
COLDEST_WATER_DEGC, WARMEST_WATER_DEGC = 1.0, 38.0


def want_m3_per_day(use: Use, plan: Plan, month: int) -> float:
    """What a use wants on a day of a month (0 for January) [m3]."""
    if use.per_person_m3_per_day is not None:
        people = plan.site.people_count if use.people_count is None else use.people_count
        base = use.per_person_m3_per_day * people
    elif use.per_animal_m3_per_day is not None:
        base = use.per_animal_m3_per_day * (use.animals_count or 0)
    elif use.garden_area_m2 is not None and use.garden_m_per_day is not None:
        base = use.garden_area_m2 * use.garden_m_per_day[month]
    else:
        base = use.per_day_m3_per_day or 0.0
    return base * use.months[month]


def water_degc(plan: Plan, record: RainRecord) -> FloatArray:
    """Temperature of the water in the filters for each day of the record [degrees C]."""
    days = record.days_count
    if plan.run.water_temperature_degc is not None:
        return np.full(days, plan.run.water_temperature_degc)
    if record.tmin_degc is None or record.tmax_degc is None:
        return np.full(days, DEFAULT_WATER_DEGC)
    air = 0.5 * (record.tmin_degc + record.tmax_degc)
    air = np.where(np.isfinite(air), air, DEFAULT_WATER_DEGC)
    total = np.concatenate(([0.0], np.cumsum(air)))
    end = np.arange(1, days + 1)
    start = np.maximum(0, end - WATER_MEMORY_DAYS)
    mean = (total[end] - total[start]) / (end - start)
    return np.clip(mean, COLDEST_WATER_DEGC, WARMEST_WATER_DEGC)


def snow_and_thaw(plan: Plan, record: RainRecord) -> tuple[FloatArray, FloatArray]:
    """Share of each day's rain that falls as snow, and what can melt on it [m/s].

    None without the temperatures of every day, or where the plan has snow run off like rain.
    """
    none = np.zeros(record.days_count)
    low, high = record.tmin_degc, record.tmax_degc
    if plan.rain.snow == "as-rain" or low is None or high is None:
        return none, none
    if not np.isfinite(low + high).all():
        return none, none
    warmth = np.maximum((low + high) / 2.0 - MELT_FROM_DEGC, 0.0)
    return snow_share_frac(low, high), MELT_M_PER_DEGC_DAY * warmth / DAY_S


def ice_on_tanks_m(record: RainRecord) -> FloatArray:
    """Ice on open water on each day of the record [m]; none without temperatures."""
    low, high = record.tmin_degc, record.tmax_degc
    if low is None or high is None or not np.isfinite(low + high).all():
        return np.zeros(record.days_count)
    return ice_through_m((low + high) / 2.0)


def build_forcing(
    plan: Plan, record: RainRecord, *, use_ids: tuple[str, ...], within_day: str | None = None
) -> Forcing:
    """Cut the record into steps: short while it rains, long while it does not.

    Parameters
    ----------
    plan : Plan
    record : RainRecord
        Without missing values.
    use_ids : tuple of str
        Uses in the order in which the net serves them.
    within_day : str, optional
        How a day's rain is spread over its hours; the plan's own way when not given. A sub-daily
        record keeps its own hours.

    Raises
    ------
    RecordError (REC-090, REC-091)
        The record still has gaps, or holds no whole day.
    """
    if record.days_count == 0:
        raise RecordError(
            Problem(
                "REC-090",
                "the rain record holds no whole day",
                where=record.name,
                next="give a record of at least one year",
            )
        )
    if not np.isfinite(record.depth_m).all():
        raise RecordError(
            Problem(
                "REC-091",
                "the rain record still has gaps",
                where=record.name,
                next='set fill = "same-season" in the [rain] table of the plan',
            )
        )
    pattern_name = within_day or plan.rain.within_day
    if record.steps_per_day_count == 1 and pattern_name == CASCADE:
        record = disaggregate(record, method=CASCADE, seed=CASCADE_SEED)
    wet_step_s, dry_step_s = _steps_s(plan)
    per_day = record.steps_per_day_count
    depth = record.depth_m[: record.days_count * per_day].reshape(record.days_count, per_day)
    if per_day == 1:
        pattern = WITHIN_DAY[pattern_name]
        shares = np.diff(pattern.cumulative_frac(_edges(wet_step_s, DAY_S)))
    else:
        cut = (len(_edges(wet_step_s, record.step_s)) - 1) // per_day
        depth = np.repeat(depth / cut, cut, axis=1)
        shares = np.ones(1)
    steps = cut_steps(depth * shares, _edges(dry_step_s, DAY_S))
    degc = water_degc(plan, record)
    snow_frac, thaw_m_per_s = snow_and_thaw(plan, record)
    months = record.days.astype("datetime64[M]").astype(np.int64) % 12
    wants = np.array(
        [[want_m3_per_day(plan.uses[u], plan, m) for u in use_ids] for m in range(12)]
    ).reshape(12, len(use_ids))[months]
    for j, use in enumerate(plan.uses[u] for u in use_ids):
        if use.crop is not None:
            wants[:, j] = garden_wants_m3(plan, use, record)
    return Forcing(
        tolerance_m=max(plan.run.tolerance_m, LEAST_TOLERANCE_M),
        day=steps.day,
        from_hour=steps.from_hour,
        to_hour=steps.to_hour,
        rain_m=steps.rain_m,
        month=months,
        date=record.days.astype("datetime64[D]").astype(np.int64),
        water_degc=degc,
        snow_frac=snow_frac,
        thaw_m_per_s=thaw_m_per_s,
        ice_m=ice_on_tanks_m(record),
        want_m3=np.ascontiguousarray(wants),
        thickness=np.asarray(viscosity_ratio(degc), dtype=np.float64),
    )


class Steps(NamedTuple):
    """Steps of a run, in order. t steps."""

    day: Ints  # (t,)
    from_hour: FloatArray  # (t,)
    to_hour: FloatArray  # (t,)
    rain_m: FloatArray  # (t,)


def cut_steps(rain_m: FloatArray, dry_edges_hours: FloatArray) -> Steps:
    """Keep short steps where it rains, and put long ones where it does not.

    Parameters
    ----------
    rain_m : (n_days, n_short) float64
        Rain of each short step [m].
    dry_edges_hours : (n_long + 1,) float64
        Hours at which the long steps of a day begin and end.

    Returns
    -------
    Steps
        A day is parted at the hours at which both kinds of step end; a part without any rain is
        made of long steps, any other of short ones.
    """
    days, short = rain_m.shape
    long = len(dry_edges_hours) - 1
    parts = math.gcd(short, long)
    is_wet = rain_m.reshape(days, parts, -1).any(axis=2).ravel()
    pieces = np.where(is_wet, short // parts, long // parts)
    part = np.repeat(np.arange(days * parts), pieces)
    place = np.arange(len(part)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    of_part, in_rain = part % parts, is_wet[part]
    wet_edges = np.linspace(0.0, 24.0, short + 1)
    i = np.where(in_rain, of_part * (short // parts) + place, 0)
    j = np.where(in_rain, 0, of_part * (long // parts) + place)
    return Steps(
        day=part // parts,
        from_hour=np.where(in_rain, wet_edges[i], dry_edges_hours[j]),
        to_hour=np.where(in_rain, wet_edges[i + 1], dry_edges_hours[j + 1]),
        rain_m=np.where(in_rain, rain_m[part // parts, i], 0.0),
    )


def _steps_s(plan: Plan) -> tuple[float, float]:
    """Longest steps in and out of rain; parts of an hour where a diverter has its hours."""
    steps = (plan.run.wet_step_s, plan.run.dry_step_s)
    if not any(diverter.side_hours for diverter in plan.diverters.values()):
        return steps
    wet_s, dry_s = (HOUR_S / math.ceil(HOUR_S / max(s, 1.0) - 1e-9) for s in steps)
    return wet_s, dry_s


def _edges(step_s: float, natural_s: float) -> FloatArray:
    """Hours at which steps begin and end: the step wanted, fitted into the natural one."""
    natural_count = round(DAY_S / natural_s)
    cut = max(1, math.ceil(natural_s / max(step_s, 1.0) - 1e-9))
    return np.linspace(0.0, 24.0, natural_count * cut + 1)

"""Frost through the record: what freezes, how fast, how hard, and between which dates to drain it.

Water is taken to stand still, so the times are short for lines that run at night. Each vessel is
one temperature; the sun, the wind and the ground under it are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.hydraulics import (
    ICE_GROWS_FRAC,
    cooling_time_s,
    freeze_through,
    freezing_time_s,
    ice_through_m,
    pipe_loss_w_per_k,
    soil_frost_depth_m,
    wall_loss_w_per_k,
)
from roofspring.plan.geometry import brim_volume_m3, inside_height_m, overflow_volume_m3
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.plan.outdoors import Shelter
from roofspring.rain import RainRecord
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import MONTH_NAMES, show

FloatArray = npt.NDArray[np.float64]

STEPS_PER_DAY = 4
QUARTER_MEANS = (-0.9003, 0.0, 0.9003, 0.0)
"""Means over quarters of a day of a wave that is lowest at 3 and highest at 15 o'clock, computed:
sin(pi/4) / (pi/4)."""
HURT_FRAC = {"tank": 0.10, "filter": 0.02, "pipe": 0.02}
"""Share of the water frozen from which damage is to be feared; engineering choice: a tank has room
at its top, a pipe has none."""
START_DEGC = 8.0
EARLY_FRAC, LATE_FRAC = 0.1, 0.9
"""Winters of which the first freeze is earlier, and the last later, than the dates told."""
SAND_KG_PER_M3 = 2650.0
SAND_HEAT_FRAC = 0.2
"""Heat that sand holds over that of the same mass of water; common value for quartz."""


@dataclass(frozen=True)
class FrostRow:
    """One vessel through the record.

    Attributes
    ----------
    where, kind : str
        ``tank``, ``filter`` or ``pipe``.
    insulation_m : float
    zero_hours, hurt_hours : float
        From 8 degrees C in the coldest day's mean: until it stands at 0, and until so much is
        frozen that damage is to be feared.
    freezing_years_frac : float
        Share of winters in which that happens.
    days_per_year : float
        Days with so much ice.
    worst_frac : float
        Largest share frozen.
    ice_m : float or None
        Thickest ice on open water of its kind, of tanks and filters [m].
    drain_before, fill_after : str
        Day and month, such as ``14 November``; empty where it never freezes so far.
    """

    where: str
    kind: str
    insulation_m: float
    zero_hours: float
    hurt_hours: float
    freezing_years_frac: float
    days_per_year: float
    worst_frac: float
    ice_m: float | None
    drain_before: str
    fill_after: str


@dataclass(frozen=True)
class Frost:
    """Frost in a whole plan; no rows without temperatures or without frost."""

    rows: tuple[FrostRow, ...]
    soil_frost_m: float | None
    """Depth of frost in bare moist soil in the coldest winter of the record [m]."""
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        return {"rows": [asdict(row) for row in self.rows], "soil_frost_m": self.soil_frost_m}


@dataclass(frozen=True)
class _Vessel:
    where: str
    kind: str
    shelter: Shelter
    mass_kg: float
    loss_w_per_k: float


def assess_frost(plan: Plan, record: RainRecord | None) -> Frost:
    """Follow every tank, filter and pipe that frost can reach through the record.

    Parameters
    ----------
    plan : Plan
    record : RainRecord, optional
        Without temperatures nothing is looked at, and `network.frost` says so.

    Returns
    -------
    Frost

    Raises
    ------
    Nothing.
    """
    if record is None or record.tmin_degc is None or record.tmax_degc is None:
        return Frost((), None, ())
    low, high = _whole(record.tmin_degc), _whole(record.tmax_degc)
    if low is None or high is None or low.min() >= 0.0:
        return Frost((), None, ())
    mean = 0.5 * (low + high)
    turn = _turn(plan)
    winter, since = _winters(record, turn)
    depth_m = max(
        soil_frost_depth_m(float(np.maximum(-mean[winter == w], 0.0).sum()))
        for w in np.unique(winter)
    )
    vessels = tuple(_vessels(plan))
    if not vessels:
        return Frost((), depth_m, tuple(_shallow(plan, depth_m)))
    air = (mean[:, None] + 0.5 * (high - low)[:, None] * np.array(QUARTER_MEANS)).ravel()
    frozen = freeze_through(
        air,
        step_s=86400.0 / STEPS_PER_DAY,
        mass_kg=np.array([v.mass_kg for v in vessels]),
        loss_w_per_k=np.array([v.loss_w_per_k for v in vessels]),
        start_degc=max(0.0, float(mean[0])),
    ).ice_frac
    daily = frozen.reshape(len(mean), STEPS_PER_DAY, len(vessels)).max(axis=1)
    ice_m = float(ice_through_m(mean).max())
    coldest = float(mean.min())
    rows = tuple(
        _row(v, daily[:, i], record, winter, since, turn=turn, ice_m=ice_m, coldest_degc=coldest)
        for i, v in enumerate(vessels)
    )
    findings = (*_told(rows), *_ullage(plan, rows), *_shallow(plan, depth_m))
    return Frost(rows, depth_m, findings)


def _whole(values: FloatArray) -> FloatArray | None:
    """Missing days on the line between their neighbours; None where all are missing."""
    there = np.isfinite(values)
    if not there.any():
        return None
    place = np.arange(len(values))
    filled: FloatArray = np.interp(place, place[there], values[there])
    return filled


def _turn(plan: Plan) -> int:
    """Month, 0 for January, with which winters are counted: July in the north."""
    south = plan.site.latitude_deg is not None and plan.site.latitude_deg < 0.0
    return 0 if south else 6


def _winters(record: RainRecord, turn: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """The winter each day belongs to, and how many days of it went before."""
    months = record.days.astype("datetime64[M]").astype(np.int64)
    winter = (months - turn) // 12
    begins = (12 * winter + turn).astype("datetime64[M]").astype("datetime64[D]")
    since = (record.days - begins).astype(np.int64)
    return winter, since


def _vessels(plan: Plan) -> Iterator[_Vessel]:
    for tank_id, tank in sorted(plan.tanks.items()):
        buried = (
            tank.base_m is not None and tank.ground_m is not None and (tank.base_m < tank.ground_m)
        )
        if not (tank.shelter.indoors or buried or tank.shelter.buried_m > 0.0):
            yield _tank(tank_id, tank)
    for filter_id, part in sorted(plan.filters.items()):
        if not (part.shelter.indoors or part.shelter.buried_m > 0.0):
            yield _filter(filter_id, part)
    for pipe_id, pipe in sorted(plan.pipes.items()):
        shelter = pipe.shelter
        if pipe.size_m is None or shelter.indoors or shelter.buried_m > 0.0:
            continue
        if not _stands_full(plan, pipe.from_):
            continue  # drains itself: roof and overflow lines
        area_m2 = math.pi * pipe.size_m**2 / 4.0
        yield _Vessel(
            f"pipe.{pipe_id}",
            "pipe",
            shelter,
            1000.0 * area_m2 * pipe.length_m,
            pipe_loss_w_per_k(
                pipe.size_m,
                length_m=pipe.length_m,
                insulation_m=shelter.insulation_m,
                kind=shelter.kind,
            ),
        )


def _stands_full(plan: Plan, reference: str) -> bool:
    """Whether a pipe leaves a tank under water, so that it does not run empty by itself."""
    part_id, _, port = reference.partition(".")
    return part_id in plan.tanks and port not in ("overflow", "drain")


def _tank(tank_id: str, tank: Tank) -> _Vessel:
    """A tank half full: how it stands on an ordinary day; its whole wall loses heat."""
    one_m3, height_m = brim_volume_m3(tank) / tank.tanks_count, inside_height_m(tank)
    floor_m2 = one_m3 / height_m
    around_m = 2.0 * math.sqrt(math.pi * floor_m2)
    surface_m2 = 2.0 * floor_m2 + around_m * height_m
    loss = wall_loss_w_per_k(
        surface_m2, insulation_m=tank.shelter.insulation_m, kind=tank.shelter.kind
    )
    return _Vessel(tank_id, "tank", tank.shelter, 500.0 * one_m3, loss)


def _filter(filter_id: str, part: Filter) -> _Vessel:
    """A filter box with its sand and the water in and over it."""
    deep_m = part.sand_depth_m + 0.1
    if part.base_m is not None and part.outlet_m is not None:
        deep_m = max(deep_m, part.outlet_m - part.base_m)
    grains_m3 = part.area_m2 * part.sand_depth_m * (1.0 - part.porosity_frac)
    water_kg = 1000.0 * (part.area_m2 * deep_m - grains_m3)
    held_kg = water_kg + SAND_HEAT_FRAC * SAND_KG_PER_M3 * grains_m3
    surface_m2 = 2.0 * part.area_m2 + 4.0 * math.sqrt(part.area_m2) * deep_m
    loss = wall_loss_w_per_k(
        surface_m2, insulation_m=part.shelter.insulation_m, kind=part.shelter.kind
    )
    return _Vessel(filter_id, "filter", part.shelter, held_kg, loss)


def _row(
    vessel: _Vessel,
    ice_frac: FloatArray,
    record: RainRecord,
    winter: npt.NDArray[np.int64],
    since: npt.NDArray[np.int64],
    *,
    turn: int,
    ice_m: float,
    coldest_degc: float,
) -> FrostRow:
    hurt_frac = HURT_FRAC[vessel.kind]
    hurt = ice_frac > hurt_frac
    winters = np.unique(winter)
    hit = [since[hurt & (winter == w)] for w in winters]
    first = [int(days[0]) for days in hit if len(days)]
    last = [int(days[-1]) for days in hit if len(days)]
    to_zero_s = cooling_time_s(
        vessel.mass_kg,
        loss_w_per_k=vessel.loss_w_per_k,
        start_degc=START_DEGC,
        air_degc=coldest_degc,
    )
    more_s = freezing_time_s(
        vessel.mass_kg,
        loss_w_per_k=vessel.loss_w_per_k,
        air_degc=coldest_degc,
        ice_frac=hurt_frac,
    )
    return FrostRow(
        vessel.where,
        vessel.kind,
        vessel.shelter.insulation_m,
        to_zero_s / 3600.0,
        (to_zero_s + more_s) / 3600.0,
        len(first) / len(winters),
        float(hurt.sum()) / record.years,
        float(ice_frac.max()),
        ice_m if vessel.kind != "pipe" else None,
        _date(float(np.quantile(first, EARLY_FRAC)), turn) if first else "",
        _date(float(np.quantile(last, LATE_FRAC)), turn) if last else "",
    )


def _date(days: float, turn: int) -> str:
    """A day and month from the days since the turn of a winter, in a year without 29 February."""
    start = np.datetime64("2001-01-01" if turn == 0 else "2001-07-01")
    day = start + np.timedelta64(round(days), "D")
    text = str(day)
    return f"{int(text[8:10])} {MONTH_NAMES[int(text[5:7]) - 1]}"


def hours_words(hours: float) -> str:
    """A time to freeze in words: minutes when short.

    >>> hours_words(0.6), hours_words(31.2)
    ('36 minutes', '31 hours')
    """
    return f"{60.0 * hours:.0f} minutes" if hours < 2.0 else f"{hours:.0f} hours"


def _others(hit: list[FrostRow], worst: FrostRow) -> str:
    names = [row.where.removeprefix("pipe.") for row in hit if row is not worst]
    return f"; so do {', '.join(names)}" if names else ""


def _told(rows: tuple[FrostRow, ...]) -> Iterator[Finding]:
    words = {
        "tank": ("tanks", "insulate walls and lid, keep water moving, or drain to below a third"),
        "filter": (
            "sand filters",
            "insulate the box and its lid; drained sand loses its living skin, so drain it only "
            "where it cannot be kept from freezing, and let it ripen anew",
        ),
        "pipe": ("pipes that stand full", "bury, insulate, or slope them to a drain cock"),
    }
    for kind, (name, step) in words.items():
        hit = [row for row in rows if row.kind == kind and row.drain_before]
        if not hit:
            continue
        worst = max(hit, key=lambda row: (row.days_per_year, row.worst_frac))
        yield Finding(
            "FRO-103",
            "caution",
            f"these {name} freeze in the weather of the record when their water stands still",
            where=worst.where,
            got=f"{worst.where}: {worst.days_per_year:.0f} days a year with more than "
            f"{HURT_FRAC[kind]:.0%} ice, in {worst.freezing_years_frac:.0%} of winters; "
            f"{hours_words(worst.hurt_hours)} on the coldest day{_others(hit, worst)}".replace(
                "%", " %"
            ),
            limit=f"at most {HURT_FRAC[kind]:.0%} ice".replace("%", " %"),
            source=ENGINEERING_CHOICE,
            next=f"{step}; drain from {worst.drain_before}, fill again after {worst.fill_after}",
        )


def _ullage(plan: Plan, rows: tuple[FrostRow, ...]) -> Iterator[Finding]:
    """Room for ice over the overflow lip."""
    for row in rows:
        tank = plan.tanks.get(row.where)
        if row.kind != "tank" or tank is None or not row.drain_before:
            continue
        brim_m3, lip_m3 = brim_volume_m3(tank), overflow_volume_m3(tank)
        needs_m3 = ICE_GROWS_FRAC * row.worst_frac * lip_m3
        if brim_m3 - lip_m3 < needs_m3:
            yield Finding(
                "FRO-104",
                "caution",
                "ice has no room to grow in this tank when it is full",
                where=f"{row.where}.overflow",
                got=show(brim_m3 - lip_m3, "small_volume", units=plan.show),
                limit=f"at least {show(needs_m3, 'small_volume', units=plan.show)} over the lip",
                source=COMMON_PRACTICE,
                next="lower the overflow lip, or draw the tank down before the frost",
            )


def _shallow(plan: Plan, depth_m: float) -> Iterator[Finding]:
    shallow = [
        pipe_id
        for pipe_id, pipe in sorted(plan.pipes.items())
        if 0.0 < pipe.shelter.buried_m < depth_m and _stands_full(plan, pipe.from_)
    ]
    if shallow:
        least = min(shallow, key=lambda p: plan.pipes[p].shelter.buried_m)
        least_m = plan.pipes[least].shelter.buried_m
        more = f"; {len(shallow) - 1} more" if len(shallow) > 1 else ""
        yield Finding(
            "FRO-105",
            "caution",
            "frost can reach these buried pipes",
            where=f"pipe.{least}",
            got=f"{show(least_m, 'length', units=plan.show)} of earth over it{more}",
            limit=f"{show(depth_m, 'length', units=plan.show)}, frost in bare moist soil in the "
            "coldest winter of the record",
            source="STEFAN_1891",
            next="bury them deeper, lay foam board over them, or go by the frost depth of the "
            "local code",
        )

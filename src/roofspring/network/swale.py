"""Swales on the engine's own overflow: how fast they drain, how often they spill, what is near."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.hydraulics import SoilClass, green_ampt_m, soak_away_time_s, soil_classes
from roofspring.network.result import RunResult
from roofspring.network.window import WindowResult
from roofspring.plan.model import Plan, Swale
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import show

FloatArray = npt.NDArray[np.float64]

SPELL_HOURS = 6
"""Hours over which the overflow of a day is taken to come; engineering choice."""
TEST_FACTOR = 2.0
"""A test hole drains faster than a swale will after some years: its rate is divided by this."""
DRY_FRAC = 0.3
"""Share of the voids filled when the soil has drained; engineering choice."""
RESTS_DAYS = 3
"""Days without water after which the soil has drained again; engineering choice."""
LONGEST_HOURS = 48.0
FROM_BUILDING_M = 3.0
OVER_WATER_TABLE_M = 0.9144
"""3 ft."""


@dataclass(frozen=True)
class SwaleRow:
    """One swale.

    Attributes
    ----------
    where, soil : str
    holds_m3 : float
        To its rim [m3].
    soak_m_per_s : float
        Rate counted on [m/s].
    drain_hours : float
        From full, at that rate.
    came_m3_per_year, spilled_m3_per_year : float or None
        Overflow that it took, and what went over its rim; None without a run.
    spill_days_per_year, wet_days_per_year : float or None
        Days on which it spilled, and on which water stood in it at midnight.
    longest_wet_days : int or None
        Most of those days on end.
    """

    where: str
    soil: str
    holds_m3: float
    soak_m_per_s: float
    drain_hours: float
    came_m3_per_year: float | None
    spilled_m3_per_year: float | None
    spill_days_per_year: float | None
    wet_days_per_year: float | None
    longest_wet_days: int | None


@dataclass(frozen=True)
class Swales:
    """The swales of a plan."""

    rows: tuple[SwaleRow, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        return {"rows": [asdict(row) for row in self.rows]}


@dataclass(frozen=True)
class Soaked:
    """A swale through a series of days.

    Attributes
    ----------
    spilled_m : (n_days,) float64
        Depth that went over the rim each day, over the area of the bottom [m].
    standing_m : (n_days,) float64
        Depth of water at the end of each day [m].
    soaked_m : (n_days,) float64
        Depth that soaked away each day [m].
    """

    spilled_m: FloatArray
    standing_m: FloatArray
    soaked_m: FloatArray


def soak_through(
    came_m: FloatArray, *, depth_m: float, soil: SoilClass, soak_m_per_s: float
) -> Soaked:
    """Follow a swale through the water that comes to it.

    Parameters
    ----------
    came_m : (n_days,) float64
        Water of each day over the area of the bottom [m]. It comes in the first six hours.
    depth_m : float
        Of the swale [m].
    soil : SoilClass
    soak_m_per_s : float
        Conductivity [m/s].

    Returns
    -------
    Soaked

    Raises
    ------
    RangeError (DOM-002)
        A rate that is not above 0.

    Notes
    -----
    In steps of an hour the ground takes what Green and Ampt's equation lets it take under the water
    that stands there, or all there is; what rises over the rim is gone. After three dry days the
    soil has drained to 0.3 of its voids, and the wetting front begins anew. What comes equals what
    soaked, spilled and stands.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, section 4.3.
    """
    ground = _Ground(soil, soak_m_per_s, depth_m)
    spilled, standing, soaked = (np.zeros(len(came_m)) for _ in range(3))
    rest = RESTS_DAYS
    for day, came in enumerate(came_m.tolist()):
        if came == 0.0 and ground.water_m == 0.0:
            rest += 1
            continue
        if rest >= RESTS_DAYS:
            ground.front_m = 0.0
        rest = 0
        for hour in range(24):
            if hour >= SPELL_HOURS and ground.water_m == 0.0:
                break
            part_m = came / SPELL_HOURS if hour < SPELL_HOURS else 0.0
            taken_m, over_m = ground.take(part_m, step_s=3600.0)
            soaked[day] += taken_m
            spilled[day] += over_m
        standing[day] = ground.water_m
    return Soaked(spilled, standing, soaked)


@dataclass
class _Ground:
    """The soil under a swale and the water in it, as they go from step to step."""

    soil: SoilClass
    soak_m_per_s: float
    depth_m: float
    water_m: float = 0.0
    front_m: float = 0.0

    def take(self, came_m: float, *, step_s: float) -> tuple[float, float]:
        """One step: what soaks away of what stands and comes, and what goes over the rim [m]."""
        self.water_m += came_m
        taken_m = 0.0
        if self.water_m > 0.0:
            could_m = green_ampt_m(
                step_s,
                soak_m_per_s=self.soak_m_per_s,
                suction_m=self.soil.suction_m + min(self.water_m, self.depth_m),
                filled_frac=(1.0 - DRY_FRAC) * self.soil.porosity_frac,
                start_m=self.front_m,
            )
            taken_m = min(self.water_m, could_m - self.front_m)
            self.front_m += taken_m
            self.water_m -= taken_m
        over_m = max(0.0, self.water_m - self.depth_m)
        self.water_m -= over_m
        return taken_m, over_m


@dataclass(frozen=True)
class SwaleStorm:
    """One swale through the minutes of a storm, its soil drained before.

    Attributes
    ----------
    where : str
    came_m3, soaked_m3, spilled_m3, stands_m3 : float
        What came, soaked away, went over the rim, and stands at the end [m3].
    deepest_m : float
        Greatest depth of water [m], at most that of the swale.
    full_after_s : float or None
        When it first stood at its rim [s]; None where it never did.
    """

    where: str
    came_m3: float
    soaked_m3: float
    spilled_m3: float
    stands_m3: float
    deepest_m: float
    full_after_s: float | None


def swales_in_storm(plan: Plan, window: WindowResult) -> tuple[SwaleStorm, ...]:
    """Every swale whose area, depth and soil the plan gives, step by step through a window.

    Parameters
    ----------
    plan : Plan
    window : WindowResult

    Returns
    -------
    tuple of SwaleStorm

    Raises
    ------
    Nothing.
    """
    told = []
    for swale_id, swale in sorted(plan.swales.items()):
        if not (swale.area_m2 and swale.depth_m and swale.soil):
            continue
        soil, soaks, _ = _soaks(swale)
        ground = _Ground(soil, soaks, swale.depth_m)
        into = [j for j, arc in enumerate(window.arcs) if arc.to_part == swale_id]
        came_m = window.flow_m3[:, into].sum(axis=1) / swale.area_m2
        soaked_m = spilled_m = deepest_m = 0.0
        full_after = None
        for i, came in enumerate(came_m.tolist()):
            if came == 0.0 and ground.water_m == 0.0:
                continue
            taken_m, over_m = ground.take(came, step_s=window.step_s)
            soaked_m, spilled_m = soaked_m + taken_m, spilled_m + over_m
            deepest_m = max(deepest_m, ground.water_m)
            if full_after is None and ground.water_m >= swale.depth_m * (1.0 - 1e-9):
                full_after = (i + 1) * window.step_s
        told.append(
            SwaleStorm(
                swale_id,
                float(came_m.sum()) * swale.area_m2,
                soaked_m * swale.area_m2,
                spilled_m * swale.area_m2,
                ground.water_m * swale.area_m2,
                deepest_m,
                full_after,
            )
        )
    return tuple(told)


def storm_findings(rows: tuple[SwaleStorm, ...], plan: Plan) -> Iterator[Finding]:
    """Swales that the storm fills over their rim."""
    for row in rows:
        if row.spilled_m3 > 0.0 and row.full_after_s is not None:
            yield Finding(
                "SWL-106",
                "caution",
                "this storm fills the swale over its rim",
                where=row.where,
                got=f"{show(row.spilled_m3, 'volume', units=plan.show)} of "
                f"{show(row.came_m3, 'volume', units=plan.show)} over the rim, full after "
                f"{row.full_after_s / 60.0:.0f} minutes",
                source="CHOW_MAIDMENT_MAYS_1988, section 4.3",
                next="lead the spill over grass or stone, falling at least 2 % for 3 m away from "
                "the building; or make it larger",
            )


def _soaks(swale: Swale) -> tuple[SoilClass, float, float]:
    """Its soil, the conductivity counted on, and the rate at which a full swale drains [m/s]."""
    assert swale.soil is not None
    soil = soil_classes()[swale.soil]
    if swale.soak.rate_m_per_s:
        rate = swale.soak.rate_m_per_s / TEST_FACTOR
        return soil, rate, rate
    return soil, min(soil.soak_m_per_s, soil.design_m_per_s), soil.design_m_per_s


def assess_swales(plan: Plan, run: RunResult | None = None) -> Swales:
    """Every swale whose area, depth and soil the plan gives.

    Parameters
    ----------
    plan : Plan
    run : RunResult, optional
        For the water that comes; without one only the time to drain is told.

    Returns
    -------
    Swales

    Raises
    ------
    Nothing.
    """
    rows, findings = [], []
    for swale_id, swale in sorted(plan.swales.items()):
        findings += list(_near(swale_id, swale, plan))
        missing = [
            key
            for key, value in (
                ("area", swale.area_m2),
                ("depth", swale.depth_m),
                ("soil", swale.soil),
            )
            if not value
        ]
        if len(missing) == 3 or (len(missing) == 2 and swale.area_m2):
            continue  # not described yet
        if missing:
            findings.append(
                Finding(
                    "SWL-105",
                    "note",
                    "whether this swale takes the overflow is not looked at",
                    where=swale_id,
                    got=f"no {', no '.join(missing)}",
                    next=f"add {', '.join(missing)} to [swale.{swale_id}]",
                )
            )
            continue
        row = _row(swale_id, swale, run)
        rows.append(row)
        findings += list(_told(row, plan))
    return Swales(tuple(rows), tuple(findings))


def _row(swale_id: str, swale: Swale, run: RunResult | None) -> SwaleRow:
    assert swale.area_m2 is not None and swale.depth_m is not None and swale.soil is not None
    soil, soaks, rate = _soaks(swale)
    holds_m3 = swale.area_m2 * swale.depth_m
    drain_hours = soak_away_time_s(swale.depth_m, soak_m_per_s=rate) / 3600.0
    if run is None:
        return SwaleRow(
            swale_id, swale.soil, holds_m3, rate, drain_hours, None, None, None, None, None
        )
    into = [j for j, arc in enumerate(run.arcs) if arc.to_part == swale_id]
    came_m3 = run.flow_m3[:, into].sum(axis=1)
    soaked = soak_through(
        came_m3 / swale.area_m2, depth_m=swale.depth_m, soil=soil, soak_m_per_s=soaks
    )
    wet = soaked.standing_m > 1e-3
    return SwaleRow(
        swale_id,
        swale.soil,
        holds_m3,
        rate,
        drain_hours,
        float(came_m3.sum()) / run.years,
        float(soaked.spilled_m.sum()) * swale.area_m2 / run.years,
        float((soaked.spilled_m > 1e-6).sum()) / run.years,
        float(wet.sum()) / run.years,
        _longest(wet),
    )


def _longest(wet: npt.NDArray[np.bool_]) -> int:
    longest = count = 0
    for is_wet in wet.tolist():
        count = count + 1 if is_wet else 0
        longest = max(longest, count)
    return longest


def _told(row: SwaleRow, plan: Plan) -> Iterator[Finding]:
    if row.drain_hours > LONGEST_HOURS:
        yield Finding(
            "SWL-101",
            "caution",
            "this swale drains slowly: mosquitoes breed and roots drown in standing water",
            where=row.where,
            got=f"{row.drain_hours:.0f} hours from full",
            limit=f"{LONGEST_HOURS:.0f} hours",
            source="MN_STORMWATER",
            next="make it wider and shallower, or find a soil that takes water faster",
        )
    if row.spilled_m3_per_year is not None and row.spilled_m3_per_year > 0.0:
        assert row.came_m3_per_year is not None and row.spill_days_per_year is not None
        yield Finding(
            "SWL-102",
            "caution" if row.spill_days_per_year >= 1.0 else "note",
            "more comes than this swale takes: the rest goes over its rim",
            where=row.where,
            got=f"{show(row.spilled_m3_per_year, 'volume', units=plan.show)} of "
            f"{show(row.came_m3_per_year, 'volume', units=plan.show)} a year, on "
            f"{row.spill_days_per_year:.1f} days a year",
            source="CHOW_MAIDMENT_MAYS_1988, section 4.3",
            next="level its rim and lead the spill over grass or stone, falling at least 2 % for "
            "3 m away from the building; or make it larger",
        )


def _near(swale_id: str, swale: Swale, plan: Plan) -> Iterator[Finding]:
    building_m, ground_m = swale.soak.from_building_m, swale.soak.over_water_table_m
    if building_m is not None and building_m < FROM_BUILDING_M:
        yield Finding(
            "SWL-103",
            "caution",
            "water soaks in so near a building that it can reach its footings or cellar",
            where=f"{swale_id}.soak.from-building",
            got=show(building_m, "length", units=plan.show),
            limit=f"at least {show(FROM_BUILDING_M, 'length', units=plan.show)}, more down a slope",
            source=COMMON_PRACTICE,
            next="move it away and downhill; on a slope ask an engineer first",
        )
    if ground_m is not None and ground_m < OVER_WATER_TABLE_M:
        yield Finding(
            "SWL-104",
            "caution",
            "the ground water stands so high that the soil cannot clean or take the water",
            where=f"{swale_id}.soak.over-water-table",
            got=show(ground_m, "length", units=plan.show),
            limit=f"at least {show(OVER_WATER_TABLE_M, 'length', units=plan.show)}",
            source="MN_STORMWATER",
            next="choose a higher place or a shallower swale, far from wells and septic fields",
        )

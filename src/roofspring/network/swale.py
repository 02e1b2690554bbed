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
    filled_frac = (1.0 - DRY_FRAC) * soil.porosity_frac
    spilled, standing, soaked = (np.zeros(len(came_m)) for _ in range(3))
    water_m, front_m, rest = 0.0, 0.0, RESTS_DAYS
    for day, came in enumerate(came_m.tolist()):
        if came == 0.0 and water_m == 0.0:
            rest += 1
            continue
        if rest >= RESTS_DAYS:
            front_m = 0.0
        rest = 0
        for hour in range(24):
            if hour < SPELL_HOURS:
                water_m += came / SPELL_HOURS
            elif water_m == 0.0:
                break
            if water_m > 0.0:
                could_m = green_ampt_m(
                    3600.0,
                    soak_m_per_s=soak_m_per_s,
                    suction_m=soil.suction_m + min(water_m, depth_m),
                    filled_frac=filled_frac,
                    start_m=front_m,
                )
                taken_m = min(water_m, could_m - front_m)
                front_m += taken_m
                water_m -= taken_m
                soaked[day] += taken_m
            over_m = max(0.0, water_m - depth_m)
            water_m -= over_m
            spilled[day] += over_m
        standing[day] = water_m
    return Soaked(spilled, standing, soaked)


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
    soil = soil_classes()[swale.soil]
    rate = soil.design_m_per_s
    soaks = min(soil.soak_m_per_s, rate)
    if swale.soak.rate_m_per_s:
        rate = soaks = swale.soak.rate_m_per_s / TEST_FACTOR
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

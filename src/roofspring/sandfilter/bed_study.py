"""One bed looked at from all sides: its hydraulics, its years, what it takes out, what is said."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors import Finding, ranked
from roofspring.sandfilter.acceptance import Acceptance, FilterFacts, acceptance
from roofspring.sandfilter.bed import conductivity_m_per_s
from roofspring.sandfilter.bed_case import COLD_DEGC, WARM_DEGC, BedCase
from roofspring.sandfilter.bed_years import BedYears, bed_years
from roofspring.sandfilter.drawdown import falling_head_time_s
from roofspring.sandfilter.falling_head import FallingHead, falling_head
from roofspring.sandfilter.guide import guide
from roofspring.sandfilter.headloss import HeadLoss, side_by_side
from roofspring.sandfilter.heights import (
    SCOUR_M_PER_S,
    BackFill,
    back_fill,
    jet_speed_m_per_s,
    least_dish_m,
    least_pressure_head_m,
)
from roofspring.sandfilter.oxygen import (
    flowing_flux_kg_per_m2_s,
    oxygen_saturation_kg_per_m3,
    resting_flux_kg_per_m2_s,
    time_to_low_oxygen_s,
)
from roofspring.sandfilter.published_runs import run_findings
from roofspring.sandfilter.removal import (
    GROUPS,
    BedState,
    Removal,
    removal,
    removal_range_log10,
)
from roofspring.sandfilter.ripening import RIPE_FRAC
from roofspring.sandfilter.steps import Guide, GuideInputs
from roofspring.sandfilter.throttle import throttle_head_m, throttled_rate_m_per_s
from roofspring.sandfilter.wall import WallEffect, wall_effect
from roofspring.units import UnitSet
from roofspring.water import REFERENCE_DEGC, viscosity_ratio

DISH_WATER_M = 0.02
"""Water over the rim of the dish that the inlet falls into: engineering choice."""
DEMAND_KG_PER_M3 = 3e-3
"""Oxygen that a ripe bed takes from the water it filters: engineering choice, within what keeps
the filtrate over the published 3 mg/L."""
RIPE_AGE_DAYS = 90.0
FALL_TO_M = 0.05
"""Level over the weir at which the falling-head test is read last: engineering choice."""


@dataclass(frozen=True)
class Throttling:
    """What the clean filter does with nothing to hold it, and the head a throttle must take.

    Attributes
    ----------
    free_m_per_s : float
        Rate of the clean filter with its water at the highest, warm, with no throttle.
    limit_head_m, design_head_m : float or None
        Head that a throttle takes at the limit and at the design rate; None where the bed alone
        holds it to that rate.
    """

    free_m_per_s: float
    limit_head_m: float | None
    design_head_m: float | None

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class Inlet:
    """The inlet over the sand: speed of its jet where it falls free, and the dish it needs."""

    jet_m_per_s: float | None
    flow_m3_per_s: float
    flow_known: bool
    dish_m: float

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class GroupRemoval:
    """Log reductions of one group: least and most of new sand, half ripe, ripe, and ripe but cold.

    ``now`` is what the ripe bed's own state gives: a point only where the regression is valid.
    """

    group: str
    new: tuple[float, float]
    half: tuple[float, float]
    ripe: tuple[float, float]
    ripe_cold: tuple[float, float]
    now: Removal

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON: each range as least and most."""
        return {
            "group": self.group,
            **{f"{k}_log10": list(getattr(self, k)) for k in ("new", "half", "ripe", "ripe_cold")},
            "ripe_now": self.now.to_dict(),
        }


@dataclass(frozen=True)
class OxygenRow:
    """At one temperature: what water holds, what comes at rest and in flow, how long it lasts."""

    temp_degc: float
    saturation_kg_per_m3: float
    resting_kg_per_m2_day: float
    flowing_kg_per_m2_day: float
    lasts_s: float

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; what never ends is None."""
        lasts = self.lasts_s if math.isfinite(self.lasts_s) else None
        return {**vars(self), "lasts_s": lasts}


@dataclass(frozen=True)
class BedStudy:
    """Everything found out about one bed.

    Attributes
    ----------
    case : BedCase
    conductivity_20_m_per_s : float
        Of the clean sand at 20 degrees C, by the model that the engine uses.
    losses : pairs of float and tuple of HeadLoss
        Water temperature [degrees C], and the head lost at the design rate by every model.
    wall : WallEffect
    throttling : Throttling
    least_pressure_m : float
        Least pressure head in the bed at the design rate.
    inlet : Inlet
    fill : BackFill
    fall_from_m, fall_s : float
        A falling-head test from the highest water to 50 mm, as reckoned for clean sand at the mean
        temperature.
    test : FallingHead or None
        A test that was made.
    years : BedYears
    removals : tuple of GroupRemoval
    oxygen : tuple of OxygenRow
    accepted : Acceptance
    guide : Guide
    findings : tuple of Finding
        Of the checklist, the wall, the run length and the test.
    """

    case: BedCase
    conductivity_20_m_per_s: float
    losses: tuple[tuple[float, tuple[HeadLoss, ...]], ...]
    wall: WallEffect
    throttling: Throttling
    least_pressure_m: float
    inlet: Inlet
    fill: BackFill
    fall_from_m: float
    fall_s: float
    test: FallingHead | None
    years: BedYears
    removals: tuple[GroupRemoval, ...]
    oxygen: tuple[OxygenRow, ...]
    accepted: Acceptance
    guide: Guide
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        case = self.case
        return {
            "area_m2": case.area_m2,
            "sand_m": case.sand_m,
            "d10_mm": 1e3 * case.d10_m,
            "uniformity": case.uniformity,
            "head_m": case.head_m,
            "design_m_per_s": case.design_m_per_s,
            "filters_count": case.filters_count,
            "conductivity_20_m_per_s": self.conductivity_20_m_per_s,
            "clean_loss": [
                {"temp_degc": t, **loss.to_dict()} for t, losses in self.losses for loss in losses
            ],
            "wall": dict(vars(self.wall)),
            "throttle": self.throttling.to_dict(),
            "crest_over_sand_m": case.crest_over_sand_m,
            "standing_water_m": case.crest_m,
            "least_pressure_m": self.least_pressure_m,
            "inlet": self.inlet.to_dict(),
            "back_fill": {"water_m3": self.fill.water_m3, "time_s": self.fill.time_s},
            "falling_head": {
                "from_m": self.fall_from_m,
                "to_m": FALL_TO_M,
                "reckoned_s": self.fall_s,
                "measured": None if self.test is None else dict(vars(self.test)),
            },
            "years": self.years.to_dict(),
            "removal": [group.to_dict() for group in self.removals],
            "oxygen": [row.to_dict() for row in self.oxygen],
            "acceptance": [row.to_dict() for row in self.accepted.rows],
            "guide": self.guide.to_dict(),
        }


def study_bed(
    case: BedCase,
    *,
    readings: Sequence[tuple[float, float]] = (),
    readings_degc: float = REFERENCE_DEGC,
    units: UnitSet = "metric",
) -> BedStudy:
    """Look at a bed.

    Parameters
    ----------
    case : BedCase
    readings : sequence of (float, float)
        A falling-head test that was made on the clean bed: time [s] and level over the weir [m].
    readings_degc : float
        Water temperature of that test [degrees C].
    units : {"metric", "us"}
        Of the findings.

    Returns
    -------
    BedStudy

    Raises
    ------
    RangeError
        A value outside the range of a formula; readings that are not those of a falling level.

    Source
    ------
    As the parts say.

    Examples
    --------
    >>> study = study_bed(BedCase(crest_over_sand_m=0.05))
    >>> round(study.throttling.free_m_per_s * 3600, 1), study.test is None
    (2.5, True)
    """
    k20 = conductivity_m_per_s(
        case.bed.grain_m,
        temp_degc=REFERENCE_DEGC,
        porosity_frac=case.porosity_frac,
        sphericity_frac=case.sphericity_frac,
    )
    bed_s = case.sand_m / k20
    losses = tuple(
        (t, side_by_side(case.design_m_per_s, bed=case.bed, temp_degc=t))
        for t in (COLD_DEGC, WARM_DEGC)
    )
    k_mean = k20 / float(viscosity_ratio(case.mean_degc))
    wall = wall_effect(case.width_m, grain_m=case.bed.grain_m, porosity_frac=case.porosity_frac)
    fall_from = max(case.head_m, 2.0 * FALL_TO_M)
    test = None
    if readings:
        test = falling_head(
            [t for t, _ in readings],
            [level for _, level in readings],
            depth_m=case.sand_m,
            temp_degc=readings_degc,
        )
    years = bed_years(case, bed_resistance_s=bed_s)
    accepted = acceptance(filter_facts(case), where=case.name, units=units)
    findings = (
        *accepted.findings,
        *wall.findings,
        *run_findings(years.mean_run_s, where=case.name),
        *(test.against(k20) if test is not None else ()),
    )
    return BedStudy(
        case=case,
        conductivity_20_m_per_s=k20,
        losses=losses,
        wall=wall,
        throttling=_throttling(case, bed_s),
        least_pressure_m=least_pressure_head_m(
            case.crest_m,
            bed_loss_m=case.design_m_per_s * bed_s * float(viscosity_ratio(case.mean_degc)),
            depth_m=case.sand_m,
        ),
        inlet=_inlet(case),
        fill=back_fill(
            case.area_m2,
            depth_m=case.sand_m,
            porosity_frac=case.porosity_frac,
            gravel_m=case.gravel_m or 0.0,
        ),
        fall_from_m=fall_from,
        fall_s=falling_head_time_s(
            fall_from, end_m=FALL_TO_M, depth_m=case.sand_m, conductivity_m_per_s=k_mean
        ),
        test=test,
        years=years,
        removals=tuple(_removal(case, group) for group in GROUPS),
        oxygen=tuple(_oxygen(case, t) for t in (5.0, 20.0)),
        accepted=accepted,
        guide=guide(
            GuideInputs(
                area_m2=case.area_m2,
                sand_m=case.sand_m,
                gravel_m=case.gravel_m or 0.0,
                porosity_frac=case.porosity_frac,
                conductivity_20_m_per_s=k20,
                crest_over_sand_m=max(0.0, case.crest_m),
                head_m=case.head_m,
                rate_m_per_s=case.throttle_m_per_s or case.design_m_per_s,
                temp_degc=case.mean_degc,
                scrape_m=case.scrape_m,
                least_sand_m=case.least_sand_m,
                filters_count=case.filters_count,
            )
        ),
        findings=ranked(dict.fromkeys(findings)),
    )


def filter_facts(case: BedCase) -> FilterFacts:
    """What of a case the published criteria look at: nothing that was assumed.

    >>> filter_facts(BedCase()).rate_one_out_m_per_s is None
    True
    """
    facts = FilterFacts(
        rate_m_per_s=case.design_m_per_s,
        rate_one_out_m_per_s=case.one_out_m_per_s,
        d10_m=case.d10_m,
        uniformity=case.uniformity,
        fines_frac=case.fines_frac,
        finer_150_frac=case.finer_150_frac,
        sand_m=case.sand_m,
        least_sand_m=case.least_sand_m,
        gravel_m=case.gravel_m,
        supernatant_m=None
        if case.crest_over_sand_m is None
        else case.crest_over_sand_m + case.head_m,
        crest_over_sand_m=case.crest_over_sand_m,
        scrape_m=case.scrape_m,
        lateral_m_per_s=case.lateral_m_per_s,
        filters_count=float(case.filters_count),
    )
    return replace(facts, **dict.fromkeys(case.assumed))


def _throttling(case: BedCase, bed_s: float) -> Throttling:
    """In the warmest water, in which the clean bed takes the least."""
    warm_s = bed_s * float(viscosity_ratio(max(WARM_DEGC, *case.temps_degc)))
    free = throttled_rate_m_per_s(case.head_m, resistance_s=warm_s)

    def head_m(rate: float) -> float | None:
        if free <= rate:
            return None
        return throttle_head_m(case.head_m, rate_m_per_s=rate, resistance_s=warm_s)

    return Throttling(free, head_m(case.limit_m_per_s), head_m(case.design_m_per_s))


def _inlet(case: BedCase) -> Inlet:
    flow = case.inflow_m3_per_s
    known = flow is not None
    if flow is None:
        flow = case.limit_m_per_s * case.area_m2
    fall = case.inlet_over_weir_m
    return Inlet(
        None if fall is None or fall <= 0.0 else jet_speed_m_per_s(fall),
        flow,
        known,
        least_dish_m(flow, water_m=DISH_WATER_M, speed_m_per_s=SCOUR_M_PER_S),
    )


def _removal(case: BedCase, group: str) -> GroupRemoval:
    state = BedState(
        case.sand_m,
        case.bed.grain_m,
        case.porosity_frac,
        case.design_m_per_s,
        case.mean_degc,
        RIPE_AGE_DAYS,
    )
    return GroupRemoval(
        group,
        removal_range_log10(group, ripeness_frac=0.0),
        removal_range_log10(group, ripeness_frac=0.5),
        removal_range_log10(group, ripeness_frac=1.0),
        removal_range_log10(group, ripeness_frac=1.0, temp_degc=5.0),
        removal(group, state=state, ripeness_frac=RIPE_FRAC),
    )


def _oxygen(case: BedCase, temp_degc: float) -> OxygenRow:
    standing_m = max(0.01, case.crest_m)
    held = oxygen_saturation_kg_per_m3(temp_degc)
    return OxygenRow(
        temp_degc,
        held,
        resting_flux_kg_per_m2_s(standing_m, temp_degc=temp_degc) * SECONDS_PER_DAY,
        flowing_flux_kg_per_m2_s(case.design_m_per_s, oxygen_kg_per_m3=held) * SECONDS_PER_DAY,
        time_to_low_oxygen_s(
            standing_m,
            depth_m=case.sand_m,
            porosity_frac=case.porosity_frac,
            temp_degc=temp_degc,
            demand_kg_per_m2_s=case.design_m_per_s * DEMAND_KG_PER_M3,
        ),
    )

"""From a plan's filter, or from nothing but a sand, to the bed that is looked at."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from roofspring.network.forcing import DEFAULT_WATER_DEGC, water_degc
from roofspring.network.heights import bed_heights, lip_height_m, shut_height_m
from roofspring.network.laws import pipe_flow_m3_per_s
from roofspring.network.life import STEADY, cleaning_of
from roofspring.network.sand import Drain, SandJob
from roofspring.plan.graph import connections
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.rain import RainRecord
from roofspring.sandfilter.bed import MOST_UNIFORMITY
from roofspring.sandfilter.bed_case import (
    DESIGN_M_PER_S,
    HEAD_M,
    MONTHS,
    SCRAPE_M,
    BedCase,
)
from roofspring.sandfilter.headloss import SizeClass
from roofspring.sandfilter.heights import HOUSEHOLD_CREST_M
from roofspring.sandfilter.run_length import MONTH_STARTS
from roofspring.sandfilter.sieve import GradingCurve
from roofspring.sandfilter.skin import GROWTH_LAWS, GrowthLaw, Season
from roofspring.sandfilter.study import SandStudy
from roofspring.units import UnitSet, show, temp_text

FINES_M, FINER_M = 75e-6, 150e-6
_STARTS = (*MONTH_STARTS, 366)


def month_temps(plan: Plan, record: RainRecord | None) -> tuple[float, ...]:
    """Mean temperature of the filters' water in each month [degrees C], as a run takes it."""
    if record is None or not record.days_count:
        degc = plan.run.water_temperature_degc
        return (DEFAULT_WATER_DEGC if degc is None else degc,) * MONTHS
    daily = water_degc(plan, record)
    months = record.days.astype("datetime64[M]").astype(np.int64) % MONTHS
    whole = float(daily.mean())
    return tuple(
        float(daily[months == m].mean()) if bool((months == m).any()) else whole
        for m in range(MONTHS)
    )


def sand_of(study: SandStudy, case: BedCase) -> BedCase:
    """The same bed, filled with the sand that was looked at, as far as it is known."""
    stated, curve = study.stated, study.bed_curve
    if stated is not None:
        return replace(case, d10_m=stated.d10_m, uniformity=stated.uniformity)
    sizes = None if curve is None else _sizes(curve)
    if curve is None or sizes is None:
        return case
    d10_m, even = sizes
    return replace(
        case,
        d10_m=d10_m,
        uniformity=even,
        classes=_classes(curve),
        fines_frac=_share(curve, FINES_M),
        finer_150_frac=_share(curve, FINER_M),
    )


def bed_is_known(study: SandStudy) -> bool:
    """Whether the bed is reckoned with sizes of this sand, and not with what is wanted."""
    curve = study.bed_curve
    return study.stated is not None or (curve is not None and _sizes(curve) is not None)


def _sizes(curve: GradingCurve) -> tuple[float, float] | None:
    d10_m, even = curve.size(0.10).size_m, curve.uniformity
    if d10_m is None or even is None or not 1.0 <= even <= MOST_UNIFORMITY:
        return None
    return d10_m, even


def _classes(curve: GradingCurve) -> tuple[SizeClass, ...]:
    """Grains between neighbouring sieves, as shares of all that lie between sieves."""
    classes = curve.classes()
    whole = math.fsum(c.share_frac for c in classes)
    return tuple(SizeClass(c.share_frac / whole, c.mean_m) for c in classes)


def _share(curve: GradingCurve, size_m: float) -> float | None:
    """Share finer than a size, where the sieves say it."""
    least, most = curve.passing(size_m)
    return most if most - least < 1e-9 else None


_OURS = frozenset(
    {
        "rate_m_per_s",
        "rate_one_out_m_per_s",
        "supernatant_m",
        "crest_over_sand_m",
        "filters_count",
        "least_sand_m",
        "scrape_m",
        "lateral_m_per_s",
    }
)
_SIZES = frozenset({"d10_m", "uniformity"})


def plain_case(
    study: SandStudy, *, drain: Drain | None, units: UnitSet, depth_given: bool
) -> tuple[BedCase, tuple[str, ...]]:
    """A household filter with this sand, and what of it is nobody's word but ours."""
    bed = study.bed
    case = BedCase(
        name="bed",
        area_m2=bed.area_m2,
        sand_m=bed.depth_m,
        least_sand_m=min(0.5, bed.depth_m),
        porosity_frac=bed.porosity_frac,
        gravel_m=_gravel_m(study),
        d10_m=study.wanted.d10_m,
        uniformity=min(MOST_UNIFORMITY, study.wanted.uniformity),
        crest_over_sand_m=HOUSEHOLD_CREST_M,
        lateral_m_per_s=None if drain is None else drain.law.lateral_m_per_s,
        assumed=_OURS
        | (frozenset() if depth_given else {"sand_m"})
        | (frozenset() if bed_is_known(study) else _SIZES),
    )
    assumed = [
        f"{show(HEAD_M, 'length', units=units)} of water over the weir at most",
        f"the weir {show(HOUSEHOLD_CREST_M, 'gap', units=units)} over the sand",
        f"a rate of {show(DESIGN_M_PER_S, 'rate', units=units)}",
        "one filter",
        f"water at {temp_text(DEFAULT_WATER_DEGC, units)}",
    ]
    if not bed.named:
        assumed.insert(0, f"{show(bed.area_m2, 'area', units=units)} of sand")
    return sand_of(study, case), tuple(assumed)


def plan_case(
    plan: Plan,
    filter_id: str,
    *,
    job: SandJob,
    study: SandStudy,
    drain: Drain | None,
    temps_degc: tuple[float, ...],
    seen_per_year: float | None = None,
) -> tuple[BedCase, tuple[str, ...]]:
    """A filter of a plan with the sand that would lie in it, and what the plan leaves open."""
    part = plan.filters[filter_id]
    heights = bed_heights(part)
    crest_m = None
    if part.outlet_m is not None and part.sand_top_m is not None:
        crest_m = part.outlet_m - part.sand_top_m
    way = cleaning_of(part)
    removed_m = way.removed_m if part.care.removes_m is None else part.care.removes_m
    law = skin_law(part)
    fall_m = None
    if part.inlet_m is not None and part.outlet_m is not None:
        fall_m = part.inlet_m - part.outlet_m
    case = BedCase(
        name=filter_id,
        area_m2=part.area_m2,
        sand_m=study.bed.depth_m,
        least_sand_m=min(part.care.least_sand_m, study.bed.depth_m),
        scrape_m=removed_m if removed_m > 0.0 else SCRAPE_M,
        gravel_m=_gravel_m(study),
        d10_m=job.d10_m,
        uniformity=job.uniformity,
        porosity_frac=part.porosity_frac,
        sphericity_frac=part.sphericity_frac,
        head_m=highest_m(plan, filter_id),
        crest_over_sand_m=crest_m,
        design_m_per_s=part.throttle_m_per_s or min(DESIGN_M_PER_S, part.rate_limit_m_per_s),
        limit_m_per_s=part.rate_limit_m_per_s,
        throttle_m_per_s=part.throttle_m_per_s,
        inflow_m3_per_s=inflow_m3_per_s(plan, filter_id),
        inlet_over_weir_m=fall_m,
        lateral_m_per_s=None if drain is None else drain.law.lateral_m_per_s,
        filters_count=beside(plan, filter_id),
        law=law or GROWTH_LAWS["surface-cake"],
        way=part.care.by,
        waste_s=part.care.waste_s,
        seasons=tuple(
            Season(_STARTS[m - 1], _STARTS[m] - 1, part.skin.season_factor)
            for m in part.skin.season_months
        ),
        temps_degc=temps_degc,
        seen_per_year=seen_per_year,
        assumed=(frozenset({"supernatant_m"}) if heights.assumed else frozenset())
        | (
            frozenset({"rate_m_per_s", "rate_one_out_m_per_s"})
            if part.throttle_m_per_s is None
            else frozenset()
        ),
    )
    units, assumed = plan.show, []
    if heights.assumed:
        assumed.append(f"{show(case.head_m, 'length', units=units)} of water over the weir at most")
    if crest_m is None:
        assumed.append(f"the weir {show(case.crest_m, 'gap', units=units)} over the sand")
    if part.throttle_m_per_s is None:
        assumed.append(f"a rate of {show(case.design_m_per_s, 'rate', units=units)}")
    if law is None:
        assumed.append("a skin that grows as a cake: the plan's does not grow")
    return sand_of(study, case), tuple(assumed)


def _gravel_m(study: SandStudy) -> float | None:
    return None if study.gravel is None or not study.gravel.layers else study.gravel.thickness_m


def skin_law(part: Filter) -> GrowthLaw | None:
    """The plan's law of growth with the plan's constants; None where the skin does not grow."""
    skin = part.skin
    if skin.law == STEADY:
        return None
    law = GROWTH_LAWS[skin.law]

    def told(planned: float | None, usual: float) -> float:
        return usual if usual == 0.0 or planned is None else planned

    constants = (
        told(skin.cake_s_per_m, law.cake_s_per_m),
        told(skin.growth_per_m, law.growth_per_m),
        told(skin.growth_per_day, law.growth_per_day),
    )
    if not any(constants):
        return None
    cake, by_m, by_day = constants
    return replace(law, cake_s_per_m=cake, growth_per_m=by_m, growth_per_day=by_day)


def highest_m(plan: Plan, filter_id: str) -> float:
    """Highest water over the weir: where its float valves are shut, else the overflow lip [m]."""
    part = plan.filters[filter_id]
    heights = bed_heights(part)
    feeds = [c for c in connections(plan) if c.to_part == filter_id and c.to_port == "inlet"]
    shut = [
        shut_height_m(part, c.pipe)[0] - heights.weir_m
        for c in feeds
        if c.pipe.valve is not None and c.pipe.valve.kind == "float"
    ]
    if shut and len(shut) == len(feeds) and min(shut) > 0.0:
        return min(shut)
    return heights.overflow_over_weir_m


def inflow_m3_per_s(plan: Plan, filter_id: str) -> float | None:
    """Most that the inlet lets in: its pipes with valves wide open under full tanks.

    None where a size or height is not given.
    """
    part, parts = plan.filters[filter_id], dict(plan.parts())
    flows = []
    for c in connections(plan):
        if c.to_part != filter_id or c.to_port != "inlet":
            continue
        above = parts[c.from_part]
        lip_m = lip_height_m(above) if isinstance(above, Tank) else None
        if lip_m is None or part.inlet_m is None or c.pipe.size_m is None:
            return None
        flows.append(
            pipe_flow_m3_per_s(c.pipe, max(0.0, lip_m - part.inlet_m), temp_degc=DEFAULT_WATER_DEGC)
        )
    total = math.fsum(flows)
    return total if total > 0.0 else None


def beside(plan: Plan, filter_id: str) -> int:
    """Filters that lead to the same part: those that serve side by side."""
    ends: dict[str, set[str]] = {}
    for c in connections(plan):
        if c.from_part in plan.filters and c.from_port == "outlet":
            ends.setdefault(c.from_part, set()).add(c.to_part)
    mine = ends.get(filter_id, set())
    return max(1, sum(bool(mine & theirs) for theirs in ends.values()))

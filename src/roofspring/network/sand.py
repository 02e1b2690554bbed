"""What a plan says of the sand in its filters, and the drain under it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.hydraulics import loss_m
from roofspring.network.forcing import DEFAULT_WATER_DEGC
from roofspring.plan.model import Filter, Plan
from roofspring.sandfilter import clean_bed_loss_m, conductivity_m_per_s, specific_diameter_m
from roofspring.sandfilter.bed import MOST_UNIFORMITY
from roofspring.sandfilter.underdrain import (
    HOLE_RATIO,
    Underdrain,
    hole_loss_m,
    holes_for,
    underdrain,
)
from roofspring.water import kinematic_viscosity_m2_per_s

PIPES_M = (0.013, 0.016, 0.020, 0.025, 0.032, 0.040, 0.050, 0.063, 0.075, 0.100)
"""Inside sizes that a drain pipe is chosen from: common practice, no source."""
SMOOTH_M = 1.5e-6
"""Roughness of drawn plastic pipe: common practice, no source."""
LATERAL_APART_M = 1.5
"""Between laterals, 1 to 2 m in VAN_DIJK_OOMEN_1978."""
HOLES_APART_M = 0.15
"""Along a lateral, 0.1 to 0.3 m in VAN_DIJK_OOMEN_1978."""
LEAST_APART = 6.0
"""Holes in a row are at least so many of their diameters apart, so that the pipe stays stiff:
engineering choice."""
GOOD_SPREAD_FRAC = 0.05
"""Engineering choice."""


@dataclass(frozen=True)
class SandJob:
    """Filters of a plan that are filled from one sand; ``sieve`` is None where no test is named."""

    filters: tuple[str, ...]
    sieve: str | None
    area_m2: float
    bed_m2: float
    depth_m: float
    d10_m: float
    uniformity: float
    porosity_frac: float
    sphericity_frac: float
    hole_m: float
    gravel: str
    rate_m_per_s: float
    temp_degc: float


def sand_jobs(plan: Plan) -> tuple[SandJob, ...]:
    """The sands of a plan: filters of the same sieve test, or of none, built alike go together.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of SandJob
        Those that name a sieve test first, then the others, each by the id of its first filter.
    """
    groups: dict[tuple[object, ...], list[tuple[str, Filter]]] = {}
    for filter_id, part in sorted(plan.filters.items()):
        key = (part.sieve, part.sand_depth_m, part.d10_m, part.uniformity, part.porosity_frac,
               part.sphericity_frac, part.drain_hole_m, part.gravel)  # fmt: skip
        groups.setdefault(key, []).append((filter_id, part))
    made = []
    for members in sorted(groups.values(), key=lambda m: m[0][1].sieve is None):
        first = members[0][1]
        temp = plan.run.water_temperature_degc
        rates = [p.throttle_m_per_s or p.rate_limit_m_per_s for _, p in members]
        made.append(
            SandJob(
                tuple(i for i, _ in members),
                first.sieve,
                sum(p.area_m2 for _, p in members),
                max(p.area_m2 for _, p in members),
                first.sand_depth_m,
                first.d10_m,
                first.uniformity,
                first.porosity_frac,
                first.sphericity_frac,
                first.drain_hole_m,
                first.gravel,
                max(rates),
                DEFAULT_WATER_DEGC if temp is None else temp,
            )
        )
    return tuple(made)


@dataclass(frozen=True)
class Drain:
    """A drain pipe that was chosen for a bed.

    ``few_holes_count`` and ``few_loss_m`` are what the other rule gives: holes 0.15 m apart, and
    the head lost in them at the highest rate.
    """

    pipe_m: float
    laterals_count: int
    length_m: float
    hole_m: float
    rate_m_per_s: float
    bed_loss_m: float
    law: Underdrain
    rows_count: int
    few_holes_count: int
    few_loss_m: float


def choose_drain(
    area_m2: float,
    *,
    depth_m: float,
    rate_m_per_s: float,
    d10_m: float,
    uniformity: float,
    porosity_frac: float,
    sphericity_frac: float,
    hole_m: float,
    temp_degc: float,
    pipe_m: float | None = None,
) -> Drain:
    """The drain of a square bed: the narrowest pipe that draws evenly, or one that is given.

    Parameters
    ----------
    area_m2 : float
        Of one bed [m2].
    depth_m : float
        Of its sand [m].
    rate_m_per_s : float
        Highest rate [m/s].
    d10_m : float
        Effective size of the sand [m].
    uniformity : float
        Its uniformity coefficient [-]; over 5 it is taken as 5, where the formula ends.
    porosity_frac, sphericity_frac : float
        Of the sand [-].
    hole_m : float
        Diameter of the holes [m].
    temp_degc : float
        Of the water [degrees C].
    pipe_m : float, optional
        Inside diameter of the laterals [m]; chosen when not given.

    Returns
    -------
    Drain
        With an area of holes of 0.15 % of the bed.

    Raises
    ------
    RangeError
        A value outside its range.

    Source
    ------
    VAN_DIJK_OOMEN_1978 (holes, and laterals 1.5 m apart); engineering choice (5 % of spread).
    """
    grain_m = specific_diameter_m(d10_m, uniformity=min(uniformity, MOST_UNIFORMITY))
    bed_loss = clean_bed_loss_m(
        rate_m_per_s,
        depth_m=depth_m,
        conductivity_m_per_s=conductivity_m_per_s(
            grain_m,
            temp_degc=temp_degc,
            porosity_frac=porosity_frac,
            sphericity_frac=sphericity_frac,
        ),
    )
    side_m = math.sqrt(area_m2)
    laterals = max(1, math.ceil(side_m / LATERAL_APART_M - 1e-9))
    holes = holes_for(area_m2, hole_frac=HOLE_RATIO.value, hole_m=hole_m)
    made = None
    for size_m in (pipe_m,) if pipe_m is not None else PIPES_M:
        flow = area_m2 * rate_m_per_s / laterals
        velocity = flow / (math.pi * size_m**2 / 4.0)
        law = underdrain(
            area_m2,
            rate_m_per_s=rate_m_per_s,
            bed_loss_m=bed_loss,
            holes_count=holes,
            hole_m=hole_m,
            laterals_count=laterals,
            lateral_m=size_m,
            length_m=side_m,
            friction_m=loss_m(
                flow,
                diameter_m=size_m,
                length_m=side_m,
                roughness_m=SMOOTH_M,
                k_sum=0.0,
                temp_degc=temp_degc,
            ),
            reynolds=velocity * size_m / kinematic_viscosity_m2_per_s(temp_degc),
        )
        few = max(1, round(side_m / HOLES_APART_M)) * laterals
        made = Drain(
            size_m,
            laterals,
            side_m,
            hole_m,
            rate_m_per_s,
            bed_loss,
            law,
            rows_count=max(1, math.ceil(LEAST_APART / (law.spacing_m / hole_m) - 1e-9)),
            few_holes_count=few,
            few_loss_m=hole_loss_m(area_m2 * rate_m_per_s / (few * math.pi * hole_m**2 / 4.0)),
        )
        if law.spread_frac <= GOOD_SPREAD_FRAC and law.lateral_ratio >= 2.0:
            break
    assert made is not None
    return made

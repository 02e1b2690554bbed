"""How the plan's filters age and are cleaned, as arrays; and the state a run begins with."""

from __future__ import annotations

import numpy as np

from roofspring.kernels import net as k
from roofspring.network.heights import bed_heights
from roofspring.network.topology import Topology
from roofspring.plan.model import Filter
from roofspring.plan.pieces import Skin
from roofspring.sandfilter.ripening import DEFAULT_RIPENING, Cleaning, cleaning_named
from roofspring.sandfilter.skin import GROWTH_LAWS

DAY_S = 86400.0
CLEAN_BELOW_LIMIT_FRAC = 0.1
"""Of the rate limit: below this a filter is cleaned, where the plan does not say; engineering
choice."""
THROTTLE_LEFT_FRAC = 0.5
"""Of what its throttle lets through: below this too, and not sooner, or a slow throttle alone would
have a filter cleaned again and again; engineering choice."""

WAYS = {"scrape": k.SCRAPED, "rake": k.RAKED, "swirl": k.RAKED}
STEADY = "steady"


def life_of(topology: Topology) -> k.Life:
    """The ageing of every filter, by row of the net."""
    n = len(topology.nodes)
    rates = DEFAULT_RIPENING
    life = k.Life(
        sand_m=np.ones(n),
        cake_s_per_m=np.zeros(n),
        growth_per_m=np.zeros(n),
        growth_per_day=np.zeros(n),
        load=np.ones((n, 12)),
        dries=np.zeros(n, dtype=np.int64),
        below_m_per_s=np.zeros(n),
        every_days=np.zeros(n, dtype=np.int64),
        way=np.full(n, k.SCRAPED, dtype=np.int64),
        skin_left_frac=np.zeros(n),
        ripe_left_frac=np.zeros(n),
        removed_m=np.zeros(n),
        waste_s=np.zeros(n),
        waste_by_warmth=np.zeros(n, dtype=np.int64),
        least_sand_m=np.zeros(n),
        anew_ripe_left_frac=np.full(n, cleaning_named("re-sand").ripeness_left_frac),
        anew_waste_s=np.full(n, cleaning_named("re-sand").waste_days * DAY_S),
        rates=np.array(
            [
                rates.ripening_per_day,
                rates.ripening_base,
                rates.rest_s,
                rates.stopped_decay_per_day,
                rates.dry_decay_per_day,
                rates.decay_base,
                rates.trickle_m_per_s,
                rates.least_running_frac,
            ]
        ),
    )
    for i, part_id in enumerate(topology.nodes):
        part = topology.parts.get(part_id)
        if isinstance(part, Filter):
            _skin(life, i, part.skin)
            _care(life, i, part)
    return life


def _skin(life: k.Life, i: int, skin: Skin) -> None:
    if skin.law != STEADY:
        law = GROWTH_LAWS[skin.law]
        for array, planned, usual in (
            (life.cake_s_per_m, skin.cake_s_per_m, law.cake_s_per_m),
            (life.growth_per_m, skin.growth_per_m, law.growth_per_m),
            (life.growth_per_day, skin.growth_per_day, law.growth_per_day),
        ):
            if usual > 0.0:
                array[i] = usual if planned is None else planned
    for month in skin.season_months:
        life.load[i, month - 1] = skin.season_factor


def cleaning_of(part: Filter) -> Cleaning:
    """The row of the table for the way in which a filter is cleaned."""
    return cleaning_named(part.care.by)


def clean_below_m_per_s(part: Filter) -> float:
    """The rate below which a filter is cleaned: the plan's, or a share of limit or throttle.

    0 where its skin does not grow: it is then cleaned by the calendar only.
    """
    if part.skin.law == STEADY:
        return 0.0
    if part.care.below_m_per_s is not None:
        return part.care.below_m_per_s
    of_limit = CLEAN_BELOW_LIMIT_FRAC * part.rate_limit_m_per_s
    if part.throttle_m_per_s is None:
        return of_limit
    return min(of_limit, THROTTLE_LEFT_FRAC * part.throttle_m_per_s)


def runs_dry(part: Filter) -> bool:
    """Whether a stopped bed runs dry: its weir lies under the top of its sand."""
    weir_m, sand_top_m = part.outlet_m, part.sand_top_m
    return weir_m is not None and sand_top_m is not None and weir_m < sand_top_m


def _care(life: k.Life, i: int, part: Filter) -> None:
    care, way = part.care, cleaning_of(part)
    life.sand_m[i] = part.sand_depth_m
    life.dries[i] = int(runs_dry(part))
    life.below_m_per_s[i] = clean_below_m_per_s(part)
    life.every_days[i] = 0 if care.every_s is None else max(1, round(care.every_s / DAY_S))
    life.way[i] = WAYS[care.by]
    life.skin_left_frac[i] = way.skin_left_frac
    life.ripe_left_frac[i] = way.ripeness_left_frac
    life.removed_m[i] = way.removed_m if care.removes_m is None else care.removes_m
    life.waste_s[i] = way.waste_days * DAY_S if care.waste_s is None else care.waste_s
    life.waste_by_warmth[i] = int(care.waste_s is None)
    life.least_sand_m[i] = min(care.least_sand_m, part.sand_depth_m)


def held_m3(part: Filter) -> float:
    """Water in the pores of a filter and under its weir, which never leaves the box."""
    over_m = 0.0
    if part.sand_top_m is not None:
        over_m = max(0.0, bed_heights(part).weir_m - part.sand_top_m)
    return part.area_m2 * (part.sand_depth_m * part.porosity_frac + over_m)


def start_of(topology: Topology, content_m3: np.ndarray, feeds: int) -> k.State:
    """The state that the plan says a run begins with: stores part full, roofs dry.

    A tank that any filter fills begins with filtered water, any other with raw water.
    """
    n = len(topology.nodes)
    skin_s, ripe_frac, sand_m = np.zeros(n), np.zeros(n), np.ones(n)
    for i, part_id in enumerate(topology.nodes):
        part = topology.parts.get(part_id)
        if isinstance(part, Filter):
            skin_s[i], ripe_frac[i] = part.skin_resistance_s, part.skin.ripeness_frac
            sand_m[i] = part.sand_depth_m
    filtered = behind_sand(topology)
    return k.State(
        content_m3=content_m3,
        film_m=np.zeros(n),
        valve_open=np.zeros(n),
        skin_s=skin_s,
        ripe_frac=ripe_frac,
        sand_m=sand_m,
        stopped_s=np.zeros(n),
        waste_s=np.zeros(n),
        passed_m3=np.zeros(n),
        blind_frac=np.zeros(n),
        foul_frac=np.zeros(feeds),
        raw_frac=np.array([0.0 if p in filtered else 1.0 for p in topology.nodes]),
        age_s=np.zeros(n),
        step_s=np.full(1, DAY_S),
    )


def behind_sand(topology: Topology) -> frozenset[str]:
    """Parts that filtered water reaches."""
    reached: set[str] = set()
    for node in topology.nodes:
        for arc in topology.arcs:
            if arc.from_part == node and (arc.kind == "sand" or node in reached):
                reached.add(arc.to_part)
    return frozenset(reached)

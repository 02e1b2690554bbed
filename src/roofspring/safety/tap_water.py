"""From a run to the glass: what the filters take each day, and what goes round them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.constants import Sourced
from roofspring.network.result import RunResult
from roofspring.plan.graph import connections
from roofspring.plan.model import Disinfection, Plan, split_port
from roofspring.safety.paths.graph import STORM, is_roof
from roofspring.safety.paths.routes import Range, Route, default_filter_log10, is_cleared
from roofspring.safety.risk import agents, barriers, credit
from roofspring.safety.risk.supply import Barriers
from roofspring.sandfilter.removal import GROUPS, range_law

FloatArray = npt.NDArray[np.float64]

FAST = Sourced(0.40 / 3600.0, "m/s", "BELLAMY_1985", "highest rate that was tested")
SHALLOW = Sourced(0.40, "m", "engineering choice", "as in the published ranges of the sand bed")
WARM_DEGC = 17.0
RIPE_FRAC = 0.8
"""Under this a filter is spoken of as young: an engineering choice."""


@dataclass(frozen=True)
class TapWater:
    """What comes to the drinking taps, through time.

    Attributes
    ----------
    days : (n_days,) datetime64[D]
        One undated day where nothing was run.
    by_group, ripe_by_group : mapping of str to Barriers
        As it is, and with filters that are always ripe and warm. Later steps are not in them.
    after : mapping of str to pair
        Range of the later steps that all water passes, by germ [-].
    after_steps : frozenset of str
        Their methods.
    raw_mean_frac : float
        Mean share of unfiltered water in what is drunk [-].
    tap_raw_frac : mapping of str to float
        The same for each drinking tap [-].
    worst_tap : str
        The tap with the most unfiltered water; empty when all have the same.
    worst_by_group : mapping of str to Barriers
    young_days_per_year, cold_days_per_year : float
        Days on which no filter that ran was ripe, or its water was under 5 degrees C [days/year].
    is_from_run : bool
    uses : tuple of str
        Uses whose water was followed.
    """

    days: npt.NDArray[np.datetime64]
    by_group: Mapping[str, Barriers]
    ripe_by_group: Mapping[str, Barriers]
    after: Mapping[str, Range]
    after_steps: frozenset[str]
    raw_mean_frac: float
    tap_raw_frac: Mapping[str, float]
    worst_tap: str
    worst_by_group: Mapping[str, Barriers]
    young_days_per_year: float
    cold_days_per_year: float
    is_from_run: bool
    uses: tuple[str, ...]


def tap_water(
    plan: Plan,
    routes: Sequence[Route],
    result: RunResult | None = None,
    water_degc: FloatArray | None = None,
) -> TapWater:
    """Follow the water of a run to the drinking taps.

    Parameters
    ----------
    plan : Plan
    routes : sequence of Route
        From `roofspring.safety.paths.all_routes`.
    result : RunResult, optional
        Without a run, the filter may be anything from new to ripe, and a raw way that is open
        counts as if all the water came by it.
    water_degc : array of float (n_days,), optional
        Temperature of the water in the filters on each day; with a run, needed.

    Returns
    -------
    TapWater

    Raises
    ------
    RangeError (SAF-001, SAF-002)
        Temperatures that are missing, or not one for each day.
    """
    steps, early, is_dim = _steps(plan, routes)
    after = {
        a.id: _sum([_credit(m, a.group, a.id, from_nothing=is_dim and m == "uv")
                    for m in sorted(steps)])
        for a in agents().values()
    }  # fmt: skip
    taps = sorted(t for t, tap in plan.taps.items() if tap.drinking)
    if result is None or water_degc is None or not len(result.days):
        bare = any(
            "sand" not in r.mechanisms and r.when <= STORM and is_roof(plan, r.start)
            for r in routes
        )
        raw = np.array([1.0 if bare else 0.0])
        ranges = default_filter_log10() if plan.filters else dict.fromkeys(GROUPS, (0.0, 0.0))
        round_it = _round(plan, raw)
        by_group = {g: barriers([ranges[g][0]], [ranges[g][1]], raw_frac=round_it) for g in GROUPS}
        return TapWater(
            np.array(["NaT"], dtype="datetime64[D]"),
            _plus(by_group, early),
            _plus(_ripe(plan, round_it), early),
            after,
            steps,
            float(raw[0]),
            dict.fromkeys(taps, float(raw[0])),
            "",
            {},
            0.0,
            0.0,
            is_from_run=False,
            uses=(),
        )
    uses = _drinking_uses(plan, result)
    raw = _raw_frac(plan, result, uses)
    by_tap = {t: _tap_raw(plan, result, t) for t in taps}
    worst = max(taps, key=lambda t: float(by_tap[t].mean()), default="")
    differs = len(taps) > 1 and float(by_tap[worst].mean()) > float(raw.mean()) + 1e-6
    made = (
        filter_days(result, water_degc)
        if plan.filters
        else {g: (np.zeros(len(raw)), np.zeros(len(raw))) for g in GROUPS}
    )
    if not plan.filters:
        raw = np.ones(len(raw))
    round_it = _round(plan, raw)
    ripe_days = (result.ripeness_frac >= RIPE_FRAC).any(axis=1)
    per_year = 365.25 / len(result.days)
    return TapWater(
        result.days,
        _plus({g: barriers(*made[g], raw_frac=round_it) for g in GROUPS}, early),
        _plus(_ripe(plan, round_it), early),
        after,
        steps,
        float(raw.mean()),
        {t: float(by_tap[t].mean()) for t in taps},
        worst if differs else "",
        _plus({g: barriers(*made[g], raw_frac=_round(plan, by_tap[worst])) for g in GROUPS}, early)
        if differs
        else {},
        float((~ripe_days).sum()) * per_year if plan.filters else 0.0,
        float((np.asarray(water_degc) < 5.0).sum()) * per_year if plan.filters else 0.0,
        is_from_run=True,
        uses=uses,
    )


def _round(plan: Plan, raw: FloatArray) -> FloatArray:
    """Share that goes round the filters (n_days,): nothing where there are none to go round."""
    return raw if plan.filters else np.zeros_like(raw)


def filter_days(
    result: RunResult, water_degc: npt.ArrayLike
) -> dict[str, tuple[FloatArray, FloatArray]]:
    """What the filters of a run take on each day, by group of germs.

    Parameters
    ----------
    result : RunResult
    water_degc : array of float (n_days,)
        Temperature of the water in the filters.

    Returns
    -------
    dict of str to pair of arrays (n_days,)
        Low and high end of the log reduction [-], of all filters together: what passes is
        averaged over them by what each let through that day.

    Notes
    -----
    From the ripeness at the end of each day and the temperature. A bed that ran faster, or was
    shallower, than any published one counts as new sand at its low end.

    Source
    ------
    WHO_GDWQ_2011, tables 7.7 and 7.8, by `roofspring.sandfilter.removal`.
    """
    degc = np.asarray(water_degc, dtype=np.float64)
    flows = np.zeros((len(result.days), len(result.filter_ids)))
    for i, arc in enumerate(result.arcs):
        if arc.kind == "sand":
            flows[:, result.filter_ids.index(arc.from_part)] += result.flow_m3[:, i]
    total = flows.sum(axis=1, keepdims=True)
    even = np.full_like(flows, 1.0 / flows.shape[1])
    weights = np.where(total > 0.0, flows / np.where(total > 0.0, total, 1.0), even)
    made = {}
    for group in GROUPS:
        low, high = _each_filter(result, degc, group)
        made[group] = (
            -np.log10((weights * 10.0**-low).sum(axis=1)),
            -np.log10((weights * 10.0**-high).sum(axis=1)),
        )
    return {g: (np.maximum(a, 0.0), np.maximum(b, np.maximum(a, 0.0))) for g, (a, b) in
            made.items()}  # fmt: skip


def _each_filter(result: RunResult, degc: FloatArray, group: str) -> tuple[FloatArray, FloatArray]:
    """Low and high end for each day and filter; beyond the published rates and depths, new sand."""
    warmth = np.repeat(degc[:, None], len(result.filter_ids), axis=1) if degc.ndim == 1 else degc
    beyond = (result.filter_rate_m_per_s > FAST.value) | (result.sand_m < SHALLOW.value)
    law = range_law(group)
    low, high = law.at(result.ripeness_frac, warmth)
    new, _ = law.at(np.zeros_like(result.ripeness_frac), warmth)
    return np.where(beyond, np.minimum(low, new), low), high


def filter_means(result: RunResult, water_degc: npt.ArrayLike) -> dict[str, dict[str, Range]]:
    """Range of each filter and group through time, as passage: for the routes.

    Parameters and source are those of `filter_days`.

    Returns
    -------
    dict of str to dict
    """
    degc = np.asarray(water_degc, dtype=np.float64)
    made: dict[str, dict[str, Range]] = {f: {} for f in result.filter_ids}
    for group in GROUPS:
        low, high = _each_filter(result, degc, group)
        for i, filter_id in enumerate(result.filter_ids):
            made[filter_id][group] = (_mean(low[:, i]), _mean(high[:, i]))
    return made


def _mean(log10: FloatArray) -> float:
    return float(-np.log10((10.0**-log10).mean()))


def _ripe(plan: Plan, raw: FloatArray) -> dict[str, Barriers]:
    one, warm = np.ones(len(raw)), np.full(len(raw), WARM_DEGC)
    if not plan.filters:
        return {g: barriers(0.0 * one, 0.0 * one, raw_frac=raw) for g in GROUPS}
    return {g: barriers(*range_law(g).at(one, warm), raw_frac=raw) for g in GROUPS}


def _plus(by_group: Mapping[str, Barriers], early: frozenset[str]) -> dict[str, Barriers]:
    """Add disinfection steps that all filtered water passes, but not what goes round the filter."""
    made = {}
    for group, given in by_group.items():
        low, high = _sum([_credit(m, group) for m in sorted(early)])
        made[group] = barriers(
            given.low_log10 + low, given.high_log10 + high, raw_frac=given.raw_frac
        )
    return made


def _credit(method: str, group: str, agent: str = "", *, from_nothing: bool = False) -> Range:
    row = credit(method, group=group, agent=agent)
    return 0.0 if from_nothing else row.low_log10, row.high_log10


def _sum(ranges: Sequence[Range]) -> Range:
    return sum(low for low, _ in ranges), sum(high for _, high in ranges)


def _steps(plan: Plan, routes: Sequence[Route]) -> tuple[frozenset[str], frozenset[str], bool]:
    """Kinds of disinfection on every open route, those on every route through sand, and the lamp.

    A lamp that some water reaches uncleared counts for the cleared water alone; one that all
    water reaches uncleared counts from nothing up, and the last of the three is true.
    """
    usual = [r for r in routes if r.when <= STORM and is_roof(plan, r.start)]
    dim = [r for r in usual if _is_dim(plan, r)]
    all_dim = bool(dim) and len(dim) == len(usual)
    disinfecting = {d.method for d in plan.disinfections.values()}
    lost = frozenset() if all_dim else frozenset(("uv",))
    counted = {
        id(r): (r.mechanisms & disinfecting) - (lost if r in dim else frozenset()) for r in usual
    }
    on_all = [counted[id(r)] for r in usual]
    on_sand = [counted[id(r)] for r in usual if "sand" in r.mechanisms]
    late = frozenset.intersection(*map(frozenset, on_all)) if on_all else frozenset()
    early = frozenset.intersection(*map(frozenset, on_sand)) if on_sand else frozenset()
    return frozenset(late), frozenset(early - late), all_dim


def _is_dim(plan: Plan, route: Route) -> bool:
    lamps = [b for b in route.barriers if isinstance(plan.part(b), Disinfection)]
    lamps = [b for b in lamps if plan.disinfections[b].method == "uv"]
    return any(not is_cleared(plan, route.parts, b) for b in lamps)


def _drinking_uses(plan: Plan, result: RunResult) -> tuple[str, ...]:
    """The most important uses among those that draw from a drinking tap."""
    made = {}
    for use_id in result.use_ids:
        use = plan.uses[use_id]
        sources = {split_port(ref, default="outlet")[0] for ref in use.from_}
        if any(s in plan.taps and plan.taps[s].drinking for s in sources):
            made[use_id] = use.importance
    first = min(made.values(), default=0)
    return tuple(u for u, importance in made.items() if importance == first)


def _raw_frac(plan: Plan, result: RunResult, uses: tuple[str, ...]) -> FloatArray:
    """Share of unfiltered water in what is drunk on each day (n_days,)."""
    taps = [t for t, tap in plan.taps.items() if tap.drinking]
    fallback = (
        np.max([_tap_raw(plan, result, t) for t in taps], axis=0)
        if taps
        else np.zeros(len(result.days))
    )
    columns = [result.use_ids.index(u) for u in uses]
    got = result.delivered_m3[:, columns].sum(axis=1)
    raw = result.raw_delivered_m3[:, columns].sum(axis=1)
    share = np.where(got > 0.0, raw / np.where(got > 0.0, got, 1.0), fallback)
    return np.asarray(np.clip(share, 0.0, 1.0), dtype=np.float64)


def _tap_raw(plan: Plan, result: RunResult, tap_id: str) -> FloatArray:
    """Most unfiltered share among the stores that a tap is joined to (n_days,)."""
    stores = _stores_behind(plan, tap_id)
    columns = [i for i, s in enumerate(result.store_ids) if s in stores]
    if not columns:
        return np.zeros(len(result.days))
    return np.asarray(np.clip(result.raw_frac[:, columns].max(axis=1), 0.0, 1.0), dtype=np.float64)


def _stores_behind(plan: Plan, part_id: str) -> set[str]:
    """The first stores met going up from a part."""
    found: set[str] = set()
    edge, seen = {part_id}, {part_id}
    while edge:
        behind = {c.from_part for c in connections(plan) if c.to_part in edge} - seen
        seen |= behind
        found |= behind & set(plan.tanks)
        edge = behind - set(plan.tanks) - set(plan.filters)
    return found

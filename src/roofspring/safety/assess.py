"""Put together: the ways to the taps, the barriers through time, the risk, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, ranked
from roofspring.network.result import Provenance, RunResult
from roofspring.plan.model import Plan
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.paths import (
    NotSaid,
    Route,
    all_routes,
    board,
    graph_findings,
    not_said,
    path_findings,
    place_words,
    ways,
    zones_of,
)
from roofspring.safety.paths.graph import STORM, is_roof, source_of
from roofspring.safety.prices import safety_costs
from roofspring.safety.risk import AgentRisk, Illness, agents, assess_illness, assess_risk, stars
from roofspring.safety.risk.simulate import HOUSEHOLDS, YEARS_EACH
from roofspring.safety.tap_water import TapWater, filter_means, tap_water
from roofspring.sandfilter.removal import GROUPS

FloatArray = npt.NDArray[np.float64]

STAR_WORDS = (
    "no class of household treatment",
    "the lowest class of household treatment (two groups of germs of three)",
    "the middle class of household treatment",
    "the highest class of household treatment",
)
YOUNG_DAYS_PER_YEAR = 3.0
"""Days a year with no ripe filter above which it is a finding: an engineering choice."""


def assess_safety(
    plan: Plan,
    result: RunResult | None = None,
    *,
    water_degc: FloatArray | None = None,
    measured_temps: bool = True,
    provenance: Provenance,
    households: int = HOUSEHOLDS,
    years_each: int = YEARS_EACH,
    seed: int = 1,
) -> SafetyAnswer:
    """Answer "Is it fit to drink?" as far as a plan and a run can.

    Parameters
    ----------
    plan : Plan
    result : RunResult, optional
    water_degc : array of float (n_days,), optional
        Temperature of the water in the filters; with a run, needed.
    measured_temps : bool
        False when the temperatures were not known and a fixed one stands for them.
    provenance : Provenance
    households, years_each, seed : int
        As `roofspring.safety.risk.simulate_years`.

    Returns
    -------
    SafetyAnswer

    Raises
    ------
    RangeError (SAF-001, SAF-002)
        Temperatures that do not fit the run.
    """
    if not any(tap.drinking for tap in plan.taps.values()):
        finding = Finding(
            "SAF-117",
            "note",
            "no tap of the plan is said to be drunk from, so nothing was looked at",
            where="tap",
            next="set drinking = true for each tap that people drink from or brush teeth at",
        )
        return SafetyAnswer(
            "The plan has no tap that people drink from.",
            (),
            (),
            (),
            (),
            (),
            None,
            None,
            (finding, *path_findings(plan, result)),
            plan.show,
            provenance,
        )
    ranges = None
    if result is not None and water_degc is not None and plan.filters and len(result.days):
        ranges = filter_means(result, water_degc)
    routes = all_routes(plan, filter_log10=ranges)
    missing = not_said(zones_of(plan, ways(plan)))
    if not any(is_roof(plan, r.start) for r in routes):
        return _without_rain(plan, routes, missing, provenance)
    water = tap_water(plan, routes, result, water_degc)
    others = {}
    if water.worst_tap:
        others["worst-tap"] = (
            f"drinking from one tap alone, {_name(plan, water.worst_tap)}",
            water.worst_by_group,
        )
    risk = assess_risk(
        water.by_group,
        after=water.after,
        ripe=water.ripe_by_group if plan.filters else None,
        present=water.after_steps,
        others=others,
        households=households,
        years_each=years_each,
        seed=seed,
    )
    illness = assess_illness(
        {
            a.id: water.by_group[a.group].with_after(*water.after.get(a.id, (0.0, 0.0)))
            for a in agents().values()
        },
        households=households,
        seed=seed,
    )
    by_group = {g: min(r.counted_log10 for r in risk if r.group == g) for g in GROUPS}
    made = stars(by_group)
    findings = ranked(
        (
            *path_findings(plan, result, routes=routes),
            *graph_findings(plan, routes, result),
            *_risk_findings(plan, water, risk),
        )
    )
    return SafetyAnswer(
        _sentence(plan, routes, risk),
        tuple(_evidence(plan, water, risk, made)),
        tuple(_unknown(plan, water, illness, measured_temps=measured_temps)),
        tuple(_change(risk)),
        routes,
        risk,
        made,
        water,
        findings,
        plan.show,
        provenance,
        missing,
        board(plan, findings, missing),
        costs=safety_costs(plan, risk, present=water.after_steps),
        illness=illness,
    )


def _without_rain(
    plan: Plan, routes: Sequence[Route], missing: tuple[NotSaid, ...], provenance: Provenance
) -> SafetyAnswer:
    """The answer where no roof feeds a drinking tap: ways and checks, but no risk of roof germs."""
    findings = ranked(
        (*path_findings(plan, routes=routes), *graph_findings(plan, routes)),
    )
    other = sorted({place_words(plan, r.start) for r in routes if _is_bare_other(plan, r)})
    sentence = "No rain comes to a drinking tap in this plan, so nothing was estimated."
    if other:
        sentence = (
            f"Not as drawn: water of {' and '.join(other)} can reach a drinking tap past every "
            "barrier. No rain comes there, so nothing was estimated."
        )
    return SafetyAnswer(
        sentence,
        (),
        (words.NOTHING_TESTED, *_other_unknown(plan)),
        (),
        routes=tuple(routes),
        risk=(),
        stars=None,
        water=None,
        findings=findings,
        show=plan.show,
        provenance=provenance,
        missing=missing,
        checks=board(plan, findings, missing),
    )


def _other_unknown(plan: Plan) -> Iterator[str]:
    if plan.sources:
        names = " and ".join(place_words(plan, f"source:{s}") for s in sorted(plan.sources))
        yield (
            f"What {names} brings: only its ways are searched. An estimate is of the germs of "
            "roofs, as if the tanks held rain alone."
        )


def _name(plan: Plan, part_id: str) -> str:
    return plan.part(part_id).label or part_id


def _raw_taps(plan: Plan, routes: Sequence[Route]) -> list[str]:
    bare = {r.tap for r in routes if not r.barriers and r.when <= STORM and is_roof(plan, r.start)}
    return [_name(plan, t) for t in sorted(bare)]


def _is_bare_other(plan: Plan, route: Route) -> bool:
    """Whether untreated water that is not rain comes to a tap past every barrier."""
    return (
        not route.barriers
        and route.when <= STORM
        and not route.is_supplied
        and source_of(plan, route.start) != ""
    )


def _sentence(plan: Plan, routes: Sequence[Route], risk: Sequence[AgentRisk]) -> str:
    worst = words.leading(risk)
    estimate = words.out_of_many(worst)
    raw = _raw_taps(plan, routes)
    if raw:
        taps = " and the tap ".join(f"“{name}”" for name in raw)
        return (
            f"Not as drawn: unfiltered roof water can reach the tap {taps}. As it is used, "
            f"{estimate}."
        )
    other = sorted({place_words(plan, r.start) for r in routes if _is_bare_other(plan, r)})
    if other:
        return (
            f"Not as drawn: water of {' and '.join(other)} can reach a drinking tap past every "
            f"barrier. Of the roof water alone, {estimate}."
        )
    missed = [r for r in risk if not r.is_scenario and r.infection_goal != "likely met"]
    if missed:
        return f"Not without a further step: {estimate}."
    return f"By what was counted, published goals are likely met, if every step works: {estimate}."


def _evidence(plan: Plan, water: TapWater, risk: Sequence[AgentRisk], made: int) -> Iterator[str]:
    for r in (r for r in risk if not r.is_scenario):
        sentence = words.out_of_many(r)
        sentence = sentence[0].upper() + sentence[1:]
        yield (
            f"{sentence}. Needed for the goal of healthy years: "
            f"{r.needed_log10:.1f} log; counted: {r.counted_log10:.1f} to "
            f"{r.counted_high_log10:.1f}. The goal for infections is {r.infection_goal}, that for "
            f"healthy years {r.daly_goal}."
        )
    yield f"By the low ends of what was counted, this is {STAR_WORDS[made]}."
    if water.is_from_run and water.raw_mean_frac > 0.0:
        lead = words.leading(risk)
        yield (
            f"In the run {_percent(water.raw_mean_frac)} of what was drunk had gone round the "
            f"filter, and it brings {_percent(lead.worst.bypass_frac)} of the {lead.label} that "
            "reach the glass."
        )
    if water.is_from_run and plan.filters:
        yield (
            f"On {words.about(water.young_days_per_year)} days a year no filter was ripe, "
            f"and on {words.about(water.cold_days_per_year)} its water was under 5 °C."
        )


def _percent(share: float) -> str:
    value = float(f"{100.0 * share:.2g}")
    return "under 0.1 %" if value < 0.1 else f"{value:g} %"


def _unknown(
    plan: Plan, water: TapWater, illness: Illness, *, measured_temps: bool
) -> Iterator[str]:
    yield words.NOT_A_TEST
    yield from _other_unknown(plan)
    yield (
        "What is on your roof: the germs are those found on other people's roofs. Metals, paint, "
        "smoke and sprays are not reckoned at all; a sand filter takes out little of them."
    )
    yield (
        "Whether your filter does what others did: the ranges are published ones, by ripeness and "
        "cold. Water of each day is taken to be drunk that day."
    )
    if not water.is_from_run:
        yield words.NOT_RUN
    elif not measured_temps:
        yield (
            "The record has no temperatures: the water was taken to be 10 °C all year. Cold months "
            "are worse than shown."
        )
    yield words.both_sides(illness)


def _change(risk: Sequence[AgentRisk]) -> Iterator[str]:
    lead = words.leading(risk)
    now = words.PEOPLE * lead.as_it_is_per_person_year["p50"]
    yield (
        f"As it is, over the same days and cups as each change below: {words.about(now)} of "
        f"{words.PEOPLE:,} infected with {lead.label} in a year."
    )
    for option in sorted(lead.options, key=lambda o: o.infections_per_person_year["p50"]):
        many = words.PEOPLE * option.infections_per_person_year["p50"]
        yield (
            f"{option.words[0].upper()}{option.words[1:]}: {words.about(many)} of "
            f"{words.PEOPLE:,} infected with {lead.label} in a year."
        )
    if lead.drivers:
        top = lead.drivers[0]
        yield (f"What moves the estimate most is {top.words}: test it, and the band gets narrower.")


def _risk_findings(plan: Plan, water: TapWater, risk: Sequence[AgentRisk]) -> Iterator[Finding]:
    missed = [r for r in risk if not r.is_scenario and r.infection_goal != "likely met"]
    if missed:
        worst = min(missed, key=lambda r: r.counted_log10 - r.needed_infection_log10)
        yield Finding(
            "SAF-120",
            "caution",
            "what the barriers are counted for falls short of a published goal",
            where=", ".join(r.label for r in missed),
            got=f"{worst.counted_log10:.1f} log counted for {worst.label}, "
            f"{worst.needed_infection_log10:.1f} needed",
            limit="1 infection in 10,000 people a year",
            source="MASAGO_2006",
            next="add light, chlorine or boiling on all that is drunk; see what each would do",
        )
    lead = words.leading(risk)
    if water.is_from_run and lead.worst.bypass_frac > 0.5 and plan.filters:
        yield Finding(
            "SAF-121",
            "caution",
            "most of the risk comes with the little water that goes round the filter",
            where=", ".join(sorted(plan.filters)),
            got=f"{_percent(water.raw_mean_frac)} of the water brings "
            f"{_percent(lead.worst.bypass_frac)} of the {lead.label}",
            limit="a bypass of 1 % caps any filter at 2 log",
            source="HAAS_1999",
            next="close that way first: no better filter helps while it is open",
        )
    if water.young_days_per_year > YOUNG_DAYS_PER_YEAR:
        yield Finding(
            "SAF-122",
            "caution",
            "for part of the year no filter is ripe",
            where=", ".join(sorted(plan.filters)),
            got=f"{words.about(water.young_days_per_year)} days a year",
            limit="a ripe filter, or a second barrier",
            source="WHO_GDWQ_2011",
            next=words.YOUNG[0].lower() + words.YOUNG[1:].rstrip("."),
        )

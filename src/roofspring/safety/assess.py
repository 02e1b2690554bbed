"""Put together: the ways to the taps, the barriers through time, the risk, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.network.result import Provenance, RunResult
from roofspring.plan.model import Plan
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.headline import bare_others, headline, ordered, verdict_of
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
from roofspring.safety.paths.graph import is_roof
from roofspring.safety.prices import safety_costs
from roofspring.safety.risk import AgentRisk, Illness, agents, assess_illness, assess_risk, stars
from roofspring.safety.risk.simulate import HOUSEHOLDS, YEARS_EACH
from roofspring.safety.tap_water import TapWater, filter_means, tap_water
from roofspring.sandfilter.removal import GROUPS
from roofspring.units import temp_text

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
        said = ("The plan has no tap that people drink from.", "")
        return SafetyAnswer(
            said[0],
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
            said=said,
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
    findings = ordered(
        (
            *path_findings(plan, result, routes=routes),
            *graph_findings(plan, routes, result),
            *_risk_findings(plan, water, risk),
        )
    )
    said = verdict_of(plan, routes, risk)
    return SafetyAnswer(
        headline(*said, findings),
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
        said=said,
    )


def _without_rain(
    plan: Plan, routes: Sequence[Route], missing: tuple[NotSaid, ...], provenance: Provenance
) -> SafetyAnswer:
    """The answer where no roof feeds a drinking tap: ways and checks, but no risk of roof germs."""
    findings = ordered((*path_findings(plan, routes=routes), *graph_findings(plan, routes)))
    other = bare_others(plan, routes)
    verdict = "No rain comes to a drinking tap in this plan, so nothing was estimated."
    if other:
        verdict = (
            f"Not as drawn: water of {other} can reach a drinking tap past every barrier. No rain "
            "comes there, so nothing was estimated."
        )
    return SafetyAnswer(
        headline(verdict, "", findings),
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
        said=(verdict, ""),
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


def _evidence(plan: Plan, water: TapWater, risk: Sequence[AgentRisk], made: int) -> Iterator[str]:
    for r in (r for r in risk if not r.is_scenario):
        sentence = words.out_of_many(r)
        sentence = sentence[0].upper() + sentence[1:]
        yield (
            f"{sentence}. Needed for the goal of healthy years: "
            f"{r.needed_log10:.1f} log; counted: "
            f"{words.span(r.counted_log10, r.counted_high_log10)}. The goal for infections is "
            f"{r.infection_goal}, that for healthy years {r.daly_goal}."
        )
    yield f"By the low ends of what was counted, this is {STAR_WORDS[made]}."
    if water.is_from_run and water.raw_mean_frac > 0.0 and plan.filters:
        lead = words.leading(risk)
        yield (
            f"In the run {_percent(water.raw_mean_frac)} of what was drunk had gone round the "
            f"filter, and it brings {_percent(lead.worst.bypass_frac)} of the {lead.label} that "
            "reach the glass."
        )
    if water.is_from_run and plan.filters:
        cold = temp_text(5.0, plan.show)
        yield (
            f"On {words.days_a_year(water.young_days_per_year)} no filter was ripe, and on "
            f"{words.days_a_year(water.cold_days_per_year)} its water was under {cold}."
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
        taken = temp_text(10.0, plan.show)
        yield (
            f"The record has no temperatures: the water was taken to be {taken} all year. Cold "
            "months are worse than shown."
        )
    yield words.both_sides(illness)


def _change(risk: Sequence[AgentRisk]) -> Iterator[str]:
    """What each change would do to the leading germ: what helps first, what makes it worse last."""
    lead = words.leading(risk)
    of = f"of {words.PEOPLE:,} infected with {lead.label} in a year"
    now = words.PEOPLE * lead.as_it_is_per_person_year["p50"]
    if now < 0.1:
        yield (
            f"As it is, {words.about(now)} {of}: no change shows in the numbers. A second step "
            "still guards against a bad day of the first."
        )
    else:
        yield f"As it is, over the same days and cups as each change: {words.about(now)} {of}."
        for option in sorted(lead.options, key=lambda o: o.infections_per_person_year["p50"]):
            many = words.PEOPLE * option.infections_per_person_year["p50"]
            said = f"{option.words[0].upper()}{option.words[1:]}"
            if abs(many - now) < HARDLY_FRAC * now:
                yield f"{said}: hardly a change."
            else:
                yield f"{said}: {words.about(many)}" + (", which is worse." if many > now else ".")
    if lead.drivers:
        top = lead.drivers[0]
        yield (f"What moves the estimate most is {top.words}: test it, and the band gets narrower.")


def _best(risk: AgentRisk) -> str:
    """The change that brings most of those that can be had."""
    best = min(risk.options, key=lambda o: o.infections_per_person_year["p50"], default=None)
    if best is None:
        return "see what each change would do"
    return f"see what each change would do; most is gained by this: {best.words}"


HARDLY_FRAC = 0.05
"""Share of the estimate under which a change is hardly one: an engineering choice."""


def _risk_findings(plan: Plan, water: TapWater, risk: Sequence[AgentRisk]) -> Iterator[Finding]:
    missed = [r for r in risk if not r.is_scenario and r.infection_goal != "likely met"]
    if missed:
        worst = min(missed, key=lambda r: r.counted_log10 - r.needed_infection_log10)
        yield Finding(
            "SAF-120",
            "caution",
            "what the barriers are counted for falls short of a published goal"
            if any(r.infection_goal == "likely not met" for r in missed)
            else "the low end of what the barriers are counted for falls short of a published goal",
            where=", ".join(r.label for r in missed),
            got=f"{words.span(worst.counted_log10, worst.counted_high_log10)} log counted for "
            f"{worst.label}, {worst.needed_infection_log10:.1f} needed",
            limit="1 infection in 10,000 people a year",
            source="MASAGO_2006",
            next=_best(worst),
        )
    lead = words.leading(risk)
    if water.is_from_run and lead.worst.bypass_frac > 0.5 and plan.filters:
        yield Finding(
            "SAF-121",
            "caution",
            "most of the risk comes with the water that goes round the filter",
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
            got=words.days_a_year(water.young_days_per_year),
            limit="a ripe filter, or a second barrier",
            source="WHO_GDWQ_2011",
            next=words.YOUNG[0].lower() + words.YOUNG[1:].rstrip("."),
        )

"""The answer for each germ: infections and healthy years lost, and what would change it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from roofspring.errors.limits import not_negative, part_share, positive, share
from roofspring.safety.risk.agents import (
    DALY_TARGET,
    DRUNK_L_PER_DAY,
    INFECTION_TARGET,
    Agent,
    agents,
    credit,
)
from roofspring.safety.risk.simulate import (
    BURDEN_STREAM,
    HOUSEHOLDS,
    LEVEL_SPREAD_LOG10,
    YEARS_EACH,
    Driver,
    drivers,
    percentiles,
    simulate_years,
)
from roofspring.safety.risk.supply import YEAR_DAYS, Barriers, WorstDays, worst_days

Confidence = Literal["likely met", "uncertain", "likely not met"]
Bands = dict[str, float]

BESIDE = 5
"""What-ifs are run for a fifth of the years: their middle is as good, and they are many."""

LIKELY_FRAC, UNLIKELY_FRAC = 0.9, 0.1
"""Shares of the households above and below which a goal is called likely met or likely not met: an
engineering choice."""


@dataclass(frozen=True)
class Option:
    """What one change would do.

    Attributes
    ----------
    name, words : str
    infections_per_person_year : dict
        ``p05``, ``p50``, ``p95`` over the households.
    """

    name: str
    words: str
    infections_per_person_year: Bands

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; two digits."""
        return {
            "name": self.name,
            "words": self.words,
            "infections_per_person_year": two_digits(self.infections_per_person_year),
        }


@dataclass(frozen=True)
class AgentRisk:
    """The risk from one germ.

    Attributes
    ----------
    agent, label, group : str
    is_scenario : bool
    infections_per_person_year : dict
        ``p05``, ``p50``, ``p95`` over households: the chance that a person is infected in a year.
    years_frac : dict
        The same over all single years of all households.
    untreated_frac : float
        Median chance of a person-year without any barrier.
    daly_per_person_year : dict
    infection_goal, daly_goal : str
        In words: likely met, uncertain, likely not met.
    infection_goal_frac, daly_goal_frac : float
        Share of the households that meet the goal [-].
    needed_log10, needed_infection_log10 : float
        Reduction that meets the goal for healthy years, and that for infections [-].
    counted_log10, counted_high_log10 : float
        What is counted, as passage over the whole time, at the low and the high end [-].
    drivers : tuple of Driver
    worst : WorstDays
    as_it_is_per_person_year : dict
        Infections once more, over the same few years as those of the options, so that a change
        that does little is not told as harm by the luck of other years.
    options : tuple of Option
    found, sources : str and tuple of str
    """

    agent: str
    label: str
    group: str
    is_scenario: bool
    infections_per_person_year: Bands
    years_frac: Bands
    untreated_frac: float
    daly_per_person_year: Bands
    infection_goal: Confidence
    daly_goal: Confidence
    infection_goal_frac: float
    daly_goal_frac: float
    needed_log10: float
    needed_infection_log10: float
    counted_log10: float
    counted_high_log10: float
    drivers: tuple[Driver, ...]
    worst: WorstDays
    as_it_is_per_person_year: Bands
    options: tuple[Option, ...]
    found: str
    sources: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON: no more than two digits, for no more is known."""
        return {
            "agent": self.agent,
            "label": self.label,
            "group": self.group,
            "scenario": self.is_scenario,
            "infections_per_person_year": two_digits(self.infections_per_person_year),
            "single_years": two_digits(self.years_frac),
            "untreated_per_person_year": _two(self.untreated_frac),
            "daly_per_person_year": two_digits(self.daly_per_person_year),
            "infection_goal": self.infection_goal,
            "daly_goal": self.daly_goal,
            "infection_goal_frac": _two(self.infection_goal_frac),
            "daly_goal_frac": _two(self.daly_goal_frac),
            "needed_log10": round(self.needed_log10, 1),
            "needed_infection_log10": round(self.needed_infection_log10, 1),
            "counted_log10": round(self.counted_log10, 1),
            "counted_high_log10": round(self.counted_high_log10, 1),
            "drivers": [
                {
                    "name": d.name,
                    "words": d.words,
                    "rank_correlation": _two(d.rank),
                    "variance_frac": _two(d.first_frac),
                    "variance_total_frac": _two(d.total_frac),
                }
                for d in self.drivers
            ],
            "half_of_risk_days_per_year": _two(self.worst.half_days_per_year),
            "bypass_share_of_risk_frac": _two(self.worst.bypass_frac),
            "as_it_is_per_person_year": two_digits(self.as_it_is_per_person_year),
            "options": [o.to_dict() for o in self.options],
            "found": self.found,
            "sources": list(self.sources),
        }


def _two(value: float) -> float:
    return float(f"{value:.2g}")


def two_digits(bands: Mapping[str, float]) -> Bands:
    """The same percentiles with two digits."""
    return {name: _two(value) for name, value in bands.items()}


def yearly_chance_frac(daily_frac: float, *, days: int = YEAR_DAYS) -> float:
    """Chance of at least one infection in a year of equal days.

    >>> round(yearly_chance_frac(7.41006e-5), 5)
    0.02669
    """
    share("daily_frac", daily_frac)
    return 1.0 if daily_frac == 1.0 else -math.expm1(days * math.log1p(-daily_frac))


def daily_target_frac(yearly_frac: float, *, days: int = YEAR_DAYS) -> float:
    """Chance of a day that compounds to that of a year.

    >>> f"{daily_target_frac(1e-4):.4e}"
    '2.7399e-07'
    """
    part_share("yearly_frac", yearly_frac)
    return -math.expm1(math.log1p(-yearly_frac) / days)


def needed_daly_log10(
    raw_per_l: float,
    *,
    slope_frac: float,
    ill_frac: float,
    lost_years: float,
    susceptible_frac: float = 1.0,
    drunk_l_per_day: float = 1.0,
    target_per_person_year: float = DALY_TARGET.value,
) -> float:
    """Log reduction that brings the burden down to a goal, at low doses.

    Parameters
    ----------
    raw_per_l : float
        Mean of infective organisms in the raw water [1/L].
    slope_frac : float
        Chance of infection by one organism [-].
    ill_frac, susceptible_frac : float
        Infections that make ill; people who can be infected [-].
    lost_years : float
        Healthy years lost for an illness [years].
    drunk_l_per_day : float
    target_per_person_year : float
        Goal [1/year].

    Returns
    -------
    float
        Log10 reduction [-], not below 0.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value out of range.

    Source
    ------
    WHO_GDWQ_2011, table 7.4.

    Examples
    --------
    >>> round(needed_daly_log10(10.0, slope_frac=0.2, ill_frac=0.7, lost_years=1.5e-3), 2)
    5.88
    """
    for name, part in (("slope_frac", slope_frac), ("ill_frac", ill_frac),
                       ("susceptible_frac", susceptible_frac)):  # fmt: skip
        share(name, part)
    for name, amount in (("raw_per_l", raw_per_l), ("lost_years", lost_years),
                         ("drunk_l_per_day", drunk_l_per_day)):  # fmt: skip
        not_negative(name, amount)
    positive("target_per_person_year", target_per_person_year)
    burden = (
        raw_per_l
        * drunk_l_per_day
        * slope_frac
        * YEAR_DAYS
        * ill_frac
        * lost_years
        * susceptible_frac
    )
    return max(0.0, math.log10(burden / target_per_person_year)) if burden > 0.0 else 0.0


def needed_infection_log10(
    raw_per_l: float,
    *,
    slope_frac: float,
    drunk_l_per_day: float = 1.0,
    target_per_person_year: float = INFECTION_TARGET.value,
) -> float:
    """Log reduction that brings yearly infections down to a goal, at low doses.

    Parameters, returns and source are those of `needed_daly_log10`, but for MASAGO_2006.

    >>> round(needed_infection_log10(0.375, slope_frac=0.01977), 2)
    4.43
    """
    not_negative("raw_per_l", raw_per_l)
    not_negative("drunk_l_per_day", drunk_l_per_day)
    share("slope_frac", slope_frac)
    daily = raw_per_l * drunk_l_per_day * slope_frac
    goal = daily_target_frac(target_per_person_year)
    return max(0.0, math.log10(daily / goal)) if daily > 0.0 else 0.0


def goal_words(share_frac: float) -> Confidence:
    """How a goal is spoken of, by the share of the households that meet it."""
    if share_frac >= LIKELY_FRAC:
        return "likely met"
    return "uncertain" if share_frac > UNLIKELY_FRAC else "likely not met"


def mean_raw_per_l(agent: Agent) -> float:
    """Arithmetic mean of infective organisms in the raw water, the mean that risk follows.

    Parameters
    ----------
    agent : Agent

    Returns
    -------
    float
        Over days and over what is not known of a household [1/L].

    Notes
    -----
    The level when present is lognormal with the spread of days and of households together, cut off
    at its most: ``E min(X, c) = m exp(s^2/2) Phi(u - s) + c Phi(-u)``, ``u = ln(c/m) / s``.

    Source
    ------
    MASAGO_2006 for the mean; closed form.
    """
    from scipy import stats  # late: slow to import

    spread = math.hypot(math.log(agent.gsd_factor), LEVEL_SPREAD_LOG10 * math.log(10.0))
    top = math.log(agent.most_per_l / agent.median_per_l) / spread
    present = agent.median_per_l * math.exp(0.5 * spread**2) * stats.norm.cdf(top - spread)
    present += agent.most_per_l * stats.norm.sf(top)
    often = [(o.positive_frac * o.samples_count + 0.5) / (o.samples_count + 1.0)
             for o in agent.occurrence]  # fmt: skip
    return float(sum(often) / len(often) * present * 0.5 * sum(agent.viable_frac))


def assess_agent(
    agent: Agent,
    barriers: Barriers,
    *,
    ripe: Barriers | None = None,
    present: frozenset[str] = frozenset(),
    others: Mapping[str, tuple[str, Barriers]] | None = None,
    households: int = HOUSEHOLDS,
    years_each: int = YEARS_EACH,
    seed: int = 1,
) -> AgentRisk:
    """The risk from one germ, with its spread, its causes and its remedies.

    Parameters
    ----------
    agent : Agent
    barriers : Barriers
    ripe : Barriers, optional
        The same with a filter that is always ripe, for the remedy of that name.
    present : set of str
        Disinfection steps that all water passes already; no remedy is reckoned for them.
    others : mapping, optional
        Further changes by name, each with its words and barriers.
    households, years_each, seed : int
        As `simulate_years`.

    Returns
    -------
    AgentRisk
    """

    def beside(which: Barriers) -> Bands:
        fewer = max(1, years_each // BESIDE)
        made = simulate_years(agent, which, households=households, years_each=fewer, seed=seed)
        return percentiles(made.by_household_frac)

    years = simulate_years(agent, barriers, households=households, years_each=years_each, seed=seed)
    chance = years.by_household_frac
    rng = np.random.default_rng([seed, BURDEN_STREAM])
    ill = rng.uniform(*agent.ill_frac, len(chance))
    daly = chance * ill * rng.uniform(*agent.daly_per_case, len(chance)) * agent.susceptible_frac
    meets = float((chance <= INFECTION_TARGET.value).mean())
    meets_daly = float((daly <= DALY_TARGET.value).mean())
    none = np.zeros_like(barriers.low_log10)
    nothing = Barriers(none, none, none)
    raw = mean_raw_per_l(agent)
    slope = float(np.mean([r.slope_frac for r in agent.responses]))
    changes = {**(others or {}), **dict(_changes(agent, barriers, ripe, present))}
    return AgentRisk(
        agent.id,
        agent.label,
        agent.group,
        agent.is_scenario,
        percentiles(chance),
        percentiles(years.chance_frac.ravel()),
        beside(nothing)["p50"],
        percentiles(daly),
        goal_words(meets),
        goal_words(meets_daly),
        meets,
        meets_daly,
        needed_daly_log10(
            raw,
            slope_frac=slope,
            ill_frac=0.5 * sum(agent.ill_frac),
            lost_years=0.5 * sum(agent.daly_per_case),
            susceptible_frac=agent.susceptible_frac,
            drunk_l_per_day=DRUNK_L_PER_DAY,
        ),
        needed_infection_log10(raw, slope_frac=slope, drunk_l_per_day=DRUNK_L_PER_DAY),
        barriers.mean_log10(0.0),
        barriers.mean_log10(1.0),
        drivers(agent, barriers, years),
        worst_days(barriers),
        beside(barriers),
        tuple(
            Option(name, words, beside(changed))
            for name, (words, changed) in changes.items()
        ),
        agent.found,
        tuple(dict.fromkeys((*(o.source for o in agent.occurrence), agent.source,
                             *(r.source for r in agent.responses), agent.burden_source))),
    )  # fmt: skip


OPTION_WORDS = {
    "uv": "ultraviolet light on all that is drunk, once it is clear, 40 mJ/cm2 at its alarm point",
    "chlorine": "chlorine with proven contact, on all that is drunk",
    "boiling": "boiling all that is drunk, every time",
}


def _changes(
    agent: Agent, barriers: Barriers, ripe: Barriers | None, present: frozenset[str]
) -> list[tuple[str, tuple[str, Barriers]]]:
    """Each single change with its words, and mending the bypass together with light."""
    made: list[tuple[str, tuple[str, Barriers]]] = []
    mended = barriers.without_bypass()
    if float(barriers.raw_frac.max()) > 0.0:
        made.append(("no-bypass", ("no unfiltered water any more", mended)))
    if ripe is not None and not np.array_equal(ripe.low_log10, barriers.low_log10):
        made.append(("always-ripe", ("a filter that is always ripe and warm", ripe)))
    for step, words in OPTION_WORDS.items():
        if step not in present:
            c = credit(step, group=agent.group, agent=agent.id)
            made.append((step, (words, barriers.with_after(c.low_log10, c.high_log10))))
    if float(barriers.raw_frac.max()) > 0.0 and "uv" not in present:
        c = credit("uv", group=agent.group, agent=agent.id)
        both = mended.with_after(c.low_log10, c.high_log10)
        made.append(("no-bypass-and-uv", ("no unfiltered water and ultraviolet light", both)))
    return made


def assess_risk(
    by_group: Mapping[str, Barriers],
    *,
    after: Mapping[str, tuple[float, float]] | None = None,
    ripe: Mapping[str, Barriers] | None = None,
    present: frozenset[str] = frozenset(),
    others: Mapping[str, tuple[str, Mapping[str, Barriers]]] | None = None,
    households: int = HOUSEHOLDS,
    years_each: int = YEARS_EACH,
    seed: int = 1,
) -> tuple[AgentRisk, ...]:
    """The risk from every germ of the table.

    Parameters
    ----------
    by_group : mapping of str to Barriers
        For bacteria, viruses and protozoa, without later steps.
    after : mapping of str to pair, optional
        Range of the later steps by germ [-].
    ripe : mapping, optional
        As ``by_group``, for a filter that is always ripe.
    others : mapping, optional
        Further changes by name, each with its words and barriers by group.
    present, households, years_each, seed
        As `assess_agent`.

    Returns
    -------
    tuple of AgentRisk
        Those expected from a roof first, scenarios last.
    """
    made = []
    for agent in agents().values():
        low, high = (after or {}).get(agent.id, (0.0, 0.0))
        best = None if ripe is None else ripe[agent.group].with_after(low, high)
        made.append(
            assess_agent(
                agent,
                by_group[agent.group].with_after(low, high),
                ripe=best,
                present=present,
                others={
                    name: (words, changed[agent.group].with_after(low, high))
                    for name, (words, changed) in (others or {}).items()
                },
                households=households,
                years_each=years_each,
                seed=seed,
            )
        )
    return tuple(made)

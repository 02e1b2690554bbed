"""The risk of a year of drinking: what varies from day to day inside what we do not know."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from roofspring.errors.limits import positive
from roofspring.kernels.risk import TABLED, drink_years
from roofspring.safety.risk.agents import CUP_L, CUPS_PER_DAY, Agent, agents
from roofspring.safety.risk.dose_response import exact_beta_poisson_frac
from roofspring.safety.risk.supply import YEAR_DAYS, Barriers, by_year

FloatArray = npt.NDArray[np.float64]

UNKNOWNS: dict[str, str] = {
    "prevalence": "how often the raw water holds it",
    "level": "how many there are when it does",
    "viable": "the share that can infect",
    "filter": "what the filter takes",
    "after": "what later steps take",
    "response": "what a dose does",
}
"""What is not known of a household, by name."""

LEVEL_SPREAD_LOG10 = 0.5
"""Standard deviation, in log10, of the usual level of one roof about the published one: an
engineering choice, a factor of about three either way."""

CHUNK = 128
HOUSEHOLD_STREAM, BURDEN_STREAM = 1, 2
"""Streams of random numbers beside that of the days."""
HOUSEHOLDS, YEARS_EACH = 400, 25
"""Usual size of a run: 10 000 person-years for each germ."""


@dataclass(frozen=True)
class Households:
    """One draw of everything that is not known, for each household (m,)."""

    prevalence_frac: FloatArray
    ln_median: FloatArray
    viable_frac: FloatArray
    filter_frac: FloatArray
    after_frac: FloatArray
    response_index: npt.NDArray[np.int64]


def draw_households(agent: Agent, even: FloatArray) -> Households:
    """Turn even random numbers into households; column by column in the order of `UNKNOWNS`.

    Parameters
    ----------
    agent : Agent
    even : array of float (m, 6)
        Even between 0 and 1.

    Returns
    -------
    Households

    Notes
    -----
    For the share of days one of the published studies is drawn, each as likely, since roofs differ
    between places far more than the samples of one place can tell; then a share from a beta law
    with the weight of its samples (Jeffreys). The level is drawn from a normal law of its
    logarithm; the rest evenly between the ends. Laws of dose and response that differ are taken to
    be equally likely.
    """
    from scipy import stats  # late: slow to import

    found = agent.occurrence
    place = even[:, 0] * len(found)
    study = np.minimum(place.astype(np.int64), len(found) - 1)
    p = np.array([o.positive_frac for o in found])[study]
    n = np.array([o.samples_count for o in found])[study]
    within = np.clip(place - study, 1e-9, 1.0 - 1e-9)
    spread = LEVEL_SPREAD_LOG10 * np.log(10.0)
    low, high = agent.viable_frac
    count = len(agent.responses)
    inside = np.clip(even[:, 1], 1e-9, 1.0 - 1e-9)
    return Households(
        stats.beta.ppf(within, p * n + 0.5, (1.0 - p) * n + 0.5),
        np.log(agent.median_per_l) + spread * stats.norm.ppf(inside),
        low + even[:, 2] * (high - low),
        even[:, 3],
        even[:, 4],
        np.minimum((even[:, 5] * count).astype(np.int64), count - 1),
    )


@cache
def cup_chances() -> FloatArray:
    """Cumulative chances of 0, 1, 2 ... cups of unheated water in a day (a Poisson law)."""
    from scipy import stats  # late: slow to import

    cups = stats.poisson.cdf(np.arange(21), CUPS_PER_DAY.value)
    cups[-1] = 1.0
    return np.asarray(cups, dtype=np.float64)


@cache
def exact_tables() -> FloatArray:
    """Tables of the exact laws for the kernel, a row each: slope, first, step, log hazards."""
    laws = [r for a in agents().values() for r in a.responses if r.law >= TABLED]
    ln_dose = np.linspace(np.log(1e-6), np.log(1e9), 4001)
    rows = []
    for response in sorted(laws, key=lambda r: r.law):
        chance = exact_beta_poisson_frac(
            np.exp(ln_dose), alpha=response.first, beta=response.second
        )
        log_hazard = np.log(-np.log1p(-chance))
        step = ln_dose[1] - ln_dose[0]
        rows.append(np.concatenate(([response.slope_frac, ln_dose[0], step], log_hazard)))
    return np.asarray(rows, dtype=np.float64)


@dataclass(frozen=True)
class Years:
    """Chances of infection of simulated person-years.

    Attributes
    ----------
    chance_frac : (households, years_each)
        Chance of at least one infection in each person-year [-].
    even : (households, 6)
        The draws behind each household.
    seed : int
    """

    chance_frac: FloatArray
    even: FloatArray
    seed: int

    @property
    def by_household_frac(self) -> FloatArray:
        """Mean chance of each household over its years (households,)."""
        return np.asarray(self.chance_frac.mean(axis=1), dtype=np.float64)


def simulate_years(
    agent: Agent,
    barriers: Barriers,
    *,
    households: int = HOUSEHOLDS,
    years_each: int = YEARS_EACH,
    seed: int = 1,
    known: Households | None = None,
    daily: Callable[[np.random.Generator, tuple[int, int]], FloatArray] | None = None,
) -> Years:
    """Drink for many person-years.

    Parameters
    ----------
    agent : Agent
    barriers : Barriers
        A year of 365 days is drawn from the years of its series for each person-year.
    households : int
        Draws of what is not known.
    years_each : int
        Person-years of each: what varies from day to day.
    seed : int
        The same seed gives the same days and cups, so that barriers can be compared.
    known : Households, optional
        Instead of drawn ones: ``households`` of them.
    daily : callable, optional
        Draws where between low and high the barriers stand anew each day, from a generator and a
        shape; without it a household's filter is as good or bad as it is.

    Returns
    -------
    Years

    Raises
    ------
    RangeError (DOM-002)
        No household or no year.

    Notes
    -----
    Each day the raw water holds the germ or not, at a level of its own; each day somebody drinks
    0, 1, 2 ... cups. The 365 chances are compounded; a day is never multiplied by 365.

    Source
    ------
    WHO_QMRA_2016; HAAS_1999.
    """
    from scipy import stats  # late: slow to import

    positive("households", households)
    positive("years_each", years_each)
    rng = np.random.default_rng(seed)
    # Another stream than that of the days, or a household would know its own weather.
    others = np.random.default_rng([seed, HOUSEHOLD_STREAM])
    even = stats.qmc.LatinHypercube(len(UNKNOWNS), rng=others).random(households)
    drawn = known or draw_households(agent, even)
    low, high = by_year(barriers.low_log10), by_year(barriers.high_log10)
    raw = by_year(barriers.raw_frac)
    after = barriers.after_low_log10 + drawn.after_frac * (
        barriers.after_high_log10 - barriers.after_low_log10
    )
    laws = np.array([r.law for r in agent.responses], dtype=np.int64)
    firsts = np.array([r.first for r in agent.responses])
    seconds = np.array([r.second for r in agent.responses])
    total = households * years_each
    home = np.repeat(np.arange(households), years_each)
    chance = np.empty(total)
    cups, table = cup_chances(), exact_tables()
    shape = (min(CHUNK, total), YEAR_DAYS)
    present, level = np.empty(shape), np.empty(shape)
    for begin in range(0, total, CHUNK):
        who = home[begin : begin + CHUNK]
        rng.random(out=present)
        rng.standard_normal(out=level)
        year = rng.integers(0, len(low), CHUNK)[: len(who)]
        size = (len(who), YEAR_DAYS)
        place = drawn.filter_frac[who, None] if daily is None else daily(rng, size)
        drink_years(
            present[: len(who)],
            level[: len(who)],
            drawn.prevalence_frac[who],
            drawn.ln_median[who],
            float(np.log(agent.gsd_factor)),
            agent.most_per_l,
            drawn.viable_frac[who],
            low,
            high,
            raw,
            year,
            np.ascontiguousarray(place),
            after[who],
            cups,
            CUP_L.value,
            laws[drawn.response_index[who]],
            firsts[drawn.response_index[who]],
            seconds[drawn.response_index[who]],
            table,
            chance[begin : begin + CHUNK],
        )
    return Years(chance.reshape(households, years_each), even, seed)


@dataclass(frozen=True)
class Driver:
    """How much one of the unknowns moves the yearly risk.

    Attributes
    ----------
    name, words : str
    rank : float
        Rank correlation with the risk, -1 to 1.
    first_frac, total_frac : float
        Share of the variance of the logarithm of the risk, by itself and with all it works with.
    """

    name: str
    words: str
    rank: float
    first_frac: float
    total_frac: float


def drivers(
    agent: Agent, barriers: Barriers, years: Years, *, samples: int = 256
) -> tuple[Driver, ...]:
    """What drives the risk, the strongest first.

    Parameters
    ----------
    agent : Agent
    barriers : Barriers
    years : Years
        For the rank correlations.
    samples : int
        Base samples for the shares of variance, a power of two.

    Returns
    -------
    tuple of Driver

    Notes
    -----
    Rank correlations are those of the simulated households. The shares (Sobol indices) are those
    of the logarithm of the expected yearly hazard at low doses, which is a formula, so that they
    are not blurred by the luck of single years.

    Source
    ------
    SOBOL_2001; SALTELLI_2010.
    """
    from SALib.analyze import sobol as analysis
    from SALib.sample import sobol as sampling

    names = list(UNKNOWNS)
    problem = {"num_vars": len(names), "names": names, "bounds": [[0.0, 1.0]] * len(names)}
    even = sampling.sample(problem, samples, calc_second_order=False, seed=years.seed)
    answer = _log_hazard(agent, barriers, np.asarray(even))
    if np.ptp(answer) == 0.0:
        first = total = np.zeros(len(names))
    else:
        found = analysis.analyze(problem, answer, calc_second_order=False, seed=years.seed)
        first, total = found["S1"], found["ST"]
    risk = years.by_household_frac
    made = [
        Driver(
            name,
            words,
            _rank(years.even[:, i], risk),
            float(np.clip(first[i], 0.0, 1.0)),
            float(np.clip(total[i], 0.0, 1.0)),
        )
        for i, (name, words) in enumerate(UNKNOWNS.items())
    ]
    return tuple(sorted(made, key=lambda d: -d.total_frac))


def _rank(cause: FloatArray, risk: FloatArray) -> float:
    from scipy import stats  # late: slow to import

    if len(risk) < 3 or np.ptp(risk) == 0.0:
        return 0.0
    return float(stats.spearmanr(cause, risk).statistic)


def _log_hazard(agent: Agent, barriers: Barriers, even: FloatArray) -> FloatArray:
    """Log10 of the expected hazard of a year at low doses, for each row of even numbers."""
    drawn = draw_households(agent, even)
    places = np.linspace(0.0, 1.0, 21)
    filters = Barriers(barriers.low_log10, barriers.high_log10, barriers.raw_frac)
    passed_log10 = np.interp(drawn.filter_frac, places, [-filters.mean_log10(p) for p in places])
    after = barriers.after_low_log10 + drawn.after_frac * (
        barriers.after_high_log10 - barriers.after_low_log10
    )
    slopes = np.array([r.slope_frac for r in agent.responses])[drawn.response_index]
    return np.asarray(
        np.log10(drawn.prevalence_frac)
        + drawn.ln_median / np.log(10.0)
        + np.log10(drawn.viable_frac * slopes)
        + passed_log10
        - after,
        dtype=np.float64,
    )


def percentiles(values: Sequence[float] | FloatArray) -> dict[str, float]:
    """5th, 50th and 95th percentile by name."""
    low, middle, high = np.percentile(np.asarray(values), (5.0, 50.0, 95.0))
    return {"p05": float(low), "p50": float(middle), "p95": float(high)}

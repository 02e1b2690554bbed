"""Risk: laws of dose, barriers through time, simulation against closed forms, properties."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import hyp1f1, roots_jacobi
from scipy.stats import norm

from roofspring.errors import RangeError
from roofspring.kernels import risk as kernel
from roofspring.safety.risk import (
    Barriers,
    agents,
    approximate_beta_poisson_frac,
    approximation_holds,
    assess_agent,
    barriers,
    beta_from_n50,
    credit,
    daily_target_frac,
    drivers,
    exact_beta_poisson_frac,
    exponential_frac,
    goal_words,
    mean_raw_per_l,
    needed_daly_log10,
    needed_infection_log10,
    simulate_years,
    stars,
    two_digits,
    worst_days,
    yearly_chance_frac,
)
from roofspring.safety.risk.agents import CUP_L, CUPS_PER_DAY
from roofspring.safety.risk.simulate import (
    cup_chances,
    draw_households,
    exact_tables,
)
from roofspring.sandfilter.removal import percent_to_log10

DOSES = st.floats(0.0, 1e9)
SHAPES = st.floats(0.02, 3.0)


def flat(low: float, high: float | None = None, raw: float = 0.0) -> Barriers:
    return barriers(np.full(365, low), np.full(365, low if high is None else high), raw_frac=raw)


# ---- laws of dose and response -------------------------------------------------------------------


@given(DOSES, SHAPES, SHAPES)
@settings(max_examples=200, deadline=None)
def test_the_exact_law_never_beats_swallowing_one(dose: float, alpha: float, beta: float) -> None:
    chance = float(exact_beta_poisson_frac(dose, alpha=alpha, beta=beta))
    assert -1e-15 <= chance <= -math.expm1(-dose) * (1.0 + 1e-7) + 1e-9


@pytest.mark.parametrize("dose", [1e-12, 1e-6, 0.049, 0.051, 1.0, 30.0, 590.0, 610.0, 1e4])
@pytest.mark.parametrize(("alpha", "beta"), [(0.04, 0.055), (0.144, 7.285), (0.7, 0.4)])
def test_the_exact_law_is_the_mean_over_people(dose: float, alpha: float, beta: float) -> None:
    """Closed form: the exponential law averaged over a beta law of chances, by quadrature.

    Gauss and Jacobi's rule has the two sharp ends of the beta law as its weight.
    """
    nodes, weights = roots_jacobi(400, beta - 1.0, alpha - 1.0)
    chances = 0.5 * (1.0 + nodes)
    expected = float((weights * -np.expm1(-dose * chances)).sum() / weights.sum())
    ours = float(exact_beta_poisson_frac(dose, alpha=alpha, beta=beta))
    assert ours == pytest.approx(expected, rel=2e-5)


def test_extremes_of_the_exact_law() -> None:
    tiny = float(exact_beta_poisson_frac(1e-14, alpha=0.04, beta=0.055))
    assert tiny == pytest.approx(1e-14 * 0.04 / 0.095, rel=1e-9)
    grown = exact_beta_poisson_frac(np.logspace(-15, 12, 400), alpha=0.04, beta=0.055)
    assert np.all(np.diff(grown) >= -1e-6) and grown[-1] < 1.0
    middle = np.array([0.5, 5.0, 50.0, 500.0])
    ours = exact_beta_poisson_frac(middle, alpha=0.3, beta=2.0)
    assert ours == pytest.approx(1.0 - hyp1f1(0.3, 2.3, -middle), rel=1e-12)
    assert float(exact_beta_poisson_frac(0.0, alpha=0.3, beta=2.0)) == 0.0
    assert exact_beta_poisson_frac(np.zeros((2, 3)), alpha=1.0, beta=1.0).shape == (2, 3)


def test_the_approximation_that_breaks_the_bound_is_refused_by_the_rule() -> None:
    """Norovirus by the approximate law exceeds even the chance to swallow one: published trap."""
    alpha, beta = 0.04, 0.055
    assert float(
        approximate_beta_poisson_frac(1e-3, alpha=alpha, beta=beta)
    ) > exact_beta_poisson_frac(1e-3, alpha=alpha, beta=beta)
    assert not approximation_holds(alpha=alpha, beta=beta)
    for agent in agents().values():
        for r in agent.responses:
            if r.law == kernel.APPROXIMATE:
                assert approximation_holds(alpha=r.first, beta=r.second), agent.id


@given(st.floats(0.02, 0.98))
def test_half_are_infected_by_n50(alpha: float) -> None:
    beta = beta_from_n50(1000.0, alpha=alpha)
    assert float(approximate_beta_poisson_frac(1000.0, alpha=alpha, beta=beta)) == pytest.approx(
        0.5
    )


@pytest.mark.parametrize("dose", [-1.0, math.nan, math.inf, [1.0, -1e-9]])
def test_doses_that_are_none(dose: Any) -> None:
    with pytest.raises(RangeError, match="DOM-002"):
        exponential_frac(dose, per_organism_frac=0.1)


# ---- barriers ------------------------------------------------------------------------------------


@given(st.lists(st.floats(0.0, 8.0), min_size=1, max_size=40), st.floats(0.0, 1.0))
def test_a_bypass_caps(days: list[float], raw: float) -> None:
    made = barriers(days, days, raw_frac=raw)
    mean = made.mean_log10(0.0)
    assert mean <= barriers(days, days).mean_log10(0.0) + 1e-9
    if raw > 0.0:
        assert mean <= -math.log10(raw) + 1e-9
    assert min(days) * 0.0 <= mean + 1e-12
    assert mean <= max(days) + 1e-9


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0), st.floats(0.0, 1.0))
def test_a_later_step_adds_whatever_goes_round(first: float, later: float, raw: float) -> None:
    one = flat(first, raw=raw)
    both = one.with_after(later, later)
    assert both.mean_log10(0.0) == pytest.approx(one.mean_log10(0.0) + later)


@pytest.mark.parametrize(
    ("low", "high", "raw", "code"),
    [
        ([1.0, math.nan], [2.0, 2.0], 0.0, "SAF-002"),
        ([1.0, -1.0], [2.0, 2.0], 0.0, "SAF-002"),
        ([1.0, math.inf], [2.0, math.inf], 0.0, "SAF-002"),
        ([3.0, 1.0], [2.0, 2.0], 0.0, "SAF-002"),
        ([1.0, 1.0], [2.0, 2.0], [0.0, 1.1], "SAF-002"),
        ([1.0], [2.0, 2.0], 0.0, "SAF-001"),
        ([], [], 0.0, "SAF-001"),
    ],
)
def test_days_that_cannot_be_used(low: Any, high: Any, raw: Any, code: str) -> None:
    with pytest.raises(RangeError, match=code):
        barriers(low, high, raw_frac=raw)


@pytest.mark.parametrize(
    ("ask", "code"),
    [
        (lambda: barriers([1.0], [1.0], after_log10=(3.0, 1.0)), "SAF-002"),
        (lambda: barriers([1.0], [1.0], after_log10=(math.nan, 1.0)), "DOM-002"),
        (lambda: yearly_chance_frac(-0.1), "DOM-003"),
        (lambda: daily_target_frac(2.0), "DOM-003"),
        (lambda: stars({"bacteria": 1.0}), "DOM-004"),
        (
            lambda: stars({"bacteria": 1.0, "viruses": 1.0, "protozoa": 1.0, "worms": 1.0}),
            "DOM-004",
        ),
        (lambda: needed_infection_log10(-1.0, slope_frac=0.1), "DOM-002"),
        (lambda: needed_daly_log10(1.0, slope_frac=2.0, ill_frac=0.5, lost_years=0.1), "DOM-003"),
    ],
)
def test_numbers_that_cannot_be(ask: Callable[[], object], code: str) -> None:
    with pytest.raises(RangeError, match=code):
        ask()


@pytest.mark.parametrize("percent", [100.0, 100.5])
def test_a_removal_of_all_or_more_has_no_logarithm(percent: float) -> None:
    with pytest.raises(RangeError, match="DOM-003"):
        percent_to_log10(percent)


def test_the_days_that_bring_the_risk() -> None:
    """10 days without a filter of 365 bring 10 parts of 10 + 355/1000: by hand."""
    found = worst_days(barriers([3.0] * 355 + [0.0] * 10, [3.0] * 355 + [0.0] * 10))
    assert set(found.worst) <= set(range(355, 365))
    assert found.half_days_per_year == 6.0 and found.bypass_frac == 0.0
    mixed = worst_days(flat(3.0, raw=0.001))
    assert mixed.bypass_frac == pytest.approx(0.001 / (0.001 + 0.999 * 0.001))


def test_chlorine_takes_no_cryptosporidium() -> None:
    assert credit("chlorine", group="protozoa", agent="cryptosporidium").high_log10 == 0.0
    with pytest.raises(RangeError, match="DOM-004"):
        credit("prayer", group="bacteria")


def test_stars_by_the_worst_group() -> None:
    assert stars({"bacteria": 2.0, "viruses": 3.0, "protozoa": 2.0}) == 2
    assert stars({"bacteria": 9.0, "viruses": 0.0, "protozoa": 1.0}) == 0
    with pytest.raises(RangeError, match="DOM-002"):
        stars({"bacteria": -1.0, "viruses": 0.0, "protozoa": 0.0})


# ---- simulation ----------------------------------------------------------------------------------


def test_the_mean_is_that_of_the_closed_form() -> None:
    """At low doses the mean yearly hazard is a product of arithmetic means (exact)."""
    agent = agents()["giardia"]
    made = simulate_years(agent, flat(4.0), households=400, years_each=50, seed=2)
    drawn = draw_households(agent, made.even)
    spread = math.log(agent.gsd_factor)
    # Mean of a lognormal cut off at its most: elementary.
    top = (math.log(agent.most_per_l) - drawn.ln_median) / spread
    mean = np.exp(drawn.ln_median + spread**2 / 2.0) * norm.cdf(top - spread)
    mean += agent.most_per_l * norm.sf(top)
    litres = CUPS_PER_DAY.value * CUP_L.value
    slope = agent.responses[0].slope_frac
    hazard = 365 * drawn.prevalence_frac * mean * drawn.viable_frac * litres * 1e-4 * slope
    assert made.by_household_frac.mean() == pytest.approx(float(hazard.mean()), rel=0.03)


@pytest.mark.parametrize("name", sorted(agents()))
def test_the_mean_that_is_needed_against_is_that_of_the_draws(name: str) -> None:
    """Closed form of a cut-off lognormal against the households and their days themselves."""
    agent = agents()[name]
    rng = np.random.default_rng(5)
    drawn = draw_households(agent, rng.random((200_000, 6)))
    days = drawn.ln_median + math.log(agent.gsd_factor) * rng.standard_normal(200_000)
    level = np.minimum(np.exp(days), agent.most_per_l)
    expected = float((drawn.prevalence_frac * level * drawn.viable_frac).mean())
    assert mean_raw_per_l(agent) == pytest.approx(expected, rel=0.03)


def test_roofs_are_drawn_from_every_study_alike() -> None:
    """A third of the households each like New Zealand, Philadelphia and Queensland."""
    agent = agents()["campylobacter"]
    even = np.random.default_rng(6).random((30_000, 6))
    share = draw_households(agent, even).prevalence_frac
    assert (share > 0.2).mean() == pytest.approx(1 / 3, abs=0.02)
    assert share.min() > 0.0 and share.max() < 1.0
    for o in agent.occurrence:
        one = draw_households(replace(agent, occurrence=(o,)), even).prevalence_frac
        mean = (o.positive_frac * o.samples_count + 0.5) / (
            o.samples_count + 1.0
        )  # Jeffreys, exact
        assert one.mean() == pytest.approx(mean, rel=0.02)


def test_the_kernel_gives_the_bits_of_plain_python() -> None:
    rng = np.random.default_rng(1)
    m, n = 6, 365
    table = exact_tables()
    given_ = (
        rng.random((m, n)), rng.standard_normal((m, n)),
        np.full(m, 0.4), np.full(m, 0.2), 1.1, 50.0, np.full(m, 0.5),
        np.full((2, n), 0.5), np.full((2, n), 2.0), np.full((2, n), 0.01),
        np.array([0, 1, 0, 1, 0, 1]), rng.random((m, 1)), np.full(m, 0.3), cup_chances(), 0.25,
        np.array([0, 1, 2, 0, 1, 2]), np.array([0.02, 0.144, 0.04] * 2),
        np.array([0.0, 7.3, 0.055] * 2), table,
    )  # fmt: skip
    compiled, plain = np.zeros(m), np.zeros(m)
    kernel.drink_years(*given_, compiled)
    body = getattr(kernel.drink_years, "py_func", kernel.drink_years)
    body(*given_, plain)
    assert np.array_equal(compiled, plain)
    assert np.all((compiled > 0.0) & (compiled < 1.0))


def test_the_table_of_the_exact_law_is_the_law() -> None:
    (r,) = agents()["norovirus"].responses
    for dose in (1e-9, 1e-3, 0.7, 12.0, 1e5):
        hazard = kernel.hazard(dose, r.law, r.first, r.second, exact_tables())
        exact = float(exact_beta_poisson_frac(dose, alpha=r.first, beta=r.second))
        assert -math.expm1(-hazard) == pytest.approx(exact, rel=1e-4)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(sorted(agents())),
    st.floats(0.0, 4.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 6.0),
)
def test_more_barriers_never_raise_and_more_bypass_never_lowers(
    name: str, low: float, width: float, raw: float, more: float
) -> None:
    agent = agents()[name]

    def chances(which: Barriers) -> np.ndarray:
        return simulate_years(agent, which, households=8, years_each=2, seed=4).chance_frac

    here = flat(low, low + width, raw=raw)
    now = chances(here)
    assert np.all(chances(here.with_after(more, more)) <= now + 1e-15)
    assert np.all(chances(here.without_bypass()) <= now + 1e-15)
    assert np.all(chances(flat(low + more, low + width + more, raw=raw)) <= now + 1e-15)


def test_the_same_seed_gives_the_same_and_another_does_not() -> None:
    agent = agents()["campylobacter"]
    one, two, three = (
        simulate_years(agent, flat(1.0), households=5, years_each=3, seed=s) for s in (1, 1, 2)
    )
    assert np.array_equal(one.chance_frac, two.chance_frac)
    assert not np.array_equal(one.chance_frac, three.chance_frac)


def test_what_drives_it() -> None:
    """With a filter between 0 and 6 log and all else narrow, the filter drives; shares sum to 1."""
    agent, which = agents()["campylobacter"], flat(0.0, 6.0)
    agent = replace(agent, occurrence=agent.occurrence[-1:])
    made = simulate_years(agent, which, households=100, years_each=2, seed=1)
    found = drivers(agent, which, made)
    assert found[0].name == "filter" and found[0].rank < -0.9
    assert sum(d.first_frac for d in found) == pytest.approx(1.0, abs=0.1)
    # Variance of log10: (6**2)/12 of the filter against 0.25 of the level, by hand.
    assert found[0].total_frac == pytest.approx(3.0 / (3.0 + 0.25), abs=0.06)


def test_no_answer_has_more_than_two_digits() -> None:
    made = assess_agent(agents()["giardia"], flat(1.0, 3.0, raw=0.01), households=20, years_each=5)
    found = made.to_dict()
    for bands in (found["infections_per_person_year"], found["daly_per_person_year"]):
        assert list(bands) == ["p05", "p50", "p95"]
        assert bands == two_digits(bands)
        assert bands["p05"] <= bands["p50"] <= bands["p95"]
    names = [o["name"] for o in found["options"]]
    assert names == ["no-bypass", "uv", "chlorine", "boiling", "no-bypass-and-uv"]
    assert found["untreated_per_person_year"] > found["infections_per_person_year"]["p50"]


@pytest.mark.parametrize("name", sorted(agents()))
def test_one_infection_a_year_caps_the_burden(name: str) -> None:
    """By hand: nobody is counted ill more than once a year, whatever he drinks."""
    agent = agents()[name]
    made = assess_agent(agent, flat(0.0), households=50, years_each=5)
    cap = agent.ill_frac[1] * agent.daly_per_case[1] * agent.susceptible_frac
    assert made.daly_per_person_year["p95"] <= cap * (1.0 + 1e-12)
    assert made.infections_per_person_year["p95"] <= 1.0


@pytest.mark.parametrize("name", sorted(agents()))
def test_no_remedy_is_told_as_harm_by_luck(name: str) -> None:
    """A bypass of one in a thousand, mended, takes little: still never more than as it is."""
    made = assess_agent(agents()[name], flat(1.0, 2.0, raw=0.001), households=40, years_each=10)
    for option in made.options:
        for p, value in option.infections_per_person_year.items():
            assert value <= made.as_it_is_per_person_year[p] * (1.0 + 1e-12)


def test_goals_are_never_yes_or_no() -> None:
    said = [goal_words(share) for share in (1.0, 0.9, 0.5, 0.1, 0.0)]
    assert said == ["likely met"] * 2 + ["uncertain"] + ["likely not met"] * 2

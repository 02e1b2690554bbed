"""How likely an infection is, with its spread, and what would change it."""

from roofspring.safety.risk.agents import (
    DALY_TARGET,
    DRUNK_L_PER_DAY,
    INFECTION_TARGET,
    Agent,
    Credit,
    Response,
    agents,
    credit,
    credits_table,
)
from roofspring.safety.risk.assess import (
    AgentRisk,
    Option,
    assess_agent,
    assess_risk,
    daily_target_frac,
    goal_words,
    needed_daly_log10,
    needed_infection_log10,
    two_digits,
    yearly_chance_frac,
)
from roofspring.safety.risk.dose_response import (
    approximate_beta_poisson_frac,
    approximation_holds,
    beta_from_n50,
    exact_beta_poisson_frac,
    exponential_frac,
)
from roofspring.safety.risk.simulate import Driver, Households, Years, drivers, simulate_years
from roofspring.safety.risk.supply import Barriers, WorstDays, barriers, worst_days
from roofspring.safety.risk.tiers import stars

__all__ = [
    "DALY_TARGET",
    "DRUNK_L_PER_DAY",
    "INFECTION_TARGET",
    "Agent",
    "AgentRisk",
    "Barriers",
    "Credit",
    "Driver",
    "Households",
    "Option",
    "Response",
    "WorstDays",
    "Years",
    "agents",
    "approximate_beta_poisson_frac",
    "approximation_holds",
    "assess_agent",
    "assess_risk",
    "barriers",
    "beta_from_n50",
    "credit",
    "credits_table",
    "daily_target_frac",
    "drivers",
    "exact_beta_poisson_frac",
    "exponential_frac",
    "goal_words",
    "needed_daly_log10",
    "needed_infection_log10",
    "simulate_years",
    "stars",
    "two_digits",
    "worst_days",
    "yearly_chance_frac",
]

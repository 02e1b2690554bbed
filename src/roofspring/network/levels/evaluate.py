"""Every check of a plan, made once: what answers, trials and solvers all call."""

from __future__ import annotations

from roofspring.network.levels.checks import LevelCheck, worst_of
from roofspring.network.levels.rules import still_rules
from roofspring.network.levels.state_rules import flowing_rules
from roofspring.network.levels.states import STATES
from roofspring.network.levels.steady import Steady, flow_order, steady
from roofspring.plan.model import Plan


def check_levels(
    plan: Plan, *, rain_m_per_s: float
) -> tuple[tuple[LevelCheck, ...], tuple[Steady, ...]]:
    """Every check in its worst state, by code and place, and the water of every state.

    Parameters
    ----------
    plan : Plan
        One that runs in a circle has no states: its heights alone are checked.
    rain_m_per_s : float
        Design rain.

    Returns
    -------
    tuple
    """
    states: tuple[Steady, ...] = ()
    if flow_order(plan) is not None:
        states = tuple(steady(plan, state, rain_m_per_s=rain_m_per_s) for state in STATES)
    made = [*still_rules(plan), *flowing_rules(plan, states)]
    return tuple(sorted(worst_of(made), key=lambda c: c.key)), states


def failing(checks: tuple[LevelCheck, ...]) -> set[tuple[str, str]]:
    """Code and place of the checks that fail."""
    return {c.key for c in checks if c.ok is False}

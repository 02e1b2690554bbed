"""Will it flow? The standing-water checklist in every state: heights, and what flows takes."""

from roofspring.network.levels.answer import LevelsAnswer, assess_levels, check_levels
from roofspring.network.levels.checks import LevelCheck, StateMargin
from roofspring.network.levels.rain import DesignIntensity, design_intensity
from roofspring.network.levels.states import STATE_NAMES, STATES, State
from roofspring.network.levels.steady import Line, Steady, steady

__all__ = [
    "STATES",
    "STATE_NAMES",
    "DesignIntensity",
    "LevelCheck",
    "LevelsAnswer",
    "Line",
    "State",
    "StateMargin",
    "Steady",
    "assess_levels",
    "check_levels",
    "design_intensity",
    "steady",
]

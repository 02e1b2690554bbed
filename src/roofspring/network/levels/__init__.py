"""Will it flow? The standing-water checklist in every state: heights, and what flows takes."""

from roofspring.network.levels.answer import (
    LevelsAnswer,
    StateRow,
    assess_levels,
    trial_words,
)
from roofspring.network.levels.checks import LevelCheck, StateMargin
from roofspring.network.levels.evaluate import check_levels
from roofspring.network.levels.falls import FallRow
from roofspring.network.levels.heads import Line
from roofspring.network.levels.rain import DesignIntensity, design_intensity
from roofspring.network.levels.solve import (
    HighestSand,
    LowestStand,
    highest_sand,
    lowest_stands,
)
from roofspring.network.levels.states import STATE_NAMES, STATES, State
from roofspring.network.levels.steady import Steady, steady

__all__ = [
    "STATES",
    "STATE_NAMES",
    "DesignIntensity",
    "FallRow",
    "HighestSand",
    "LevelCheck",
    "LevelsAnswer",
    "Line",
    "LowestStand",
    "State",
    "StateMargin",
    "StateRow",
    "Steady",
    "assess_levels",
    "check_levels",
    "design_intensity",
    "highest_sand",
    "lowest_stands",
    "steady",
    "trial_words",
]

"""Will it flow? The standing-water checklist: every height against the one it must clear."""

from roofspring.network.levels.answer import LevelsAnswer, assess_levels
from roofspring.network.levels.checks import LevelCheck

__all__ = ["LevelCheck", "LevelsAnswer", "assess_levels"]

"""Overflows and open ends of a plan: what can reach them, how high it stands, where it spills."""

from roofspring.network.overflows.answer import Overflows, assess_overflows
from roofspring.network.overflows.rows import OutfallRow, OverflowRow, RunoffRow

__all__ = ["OutfallRow", "OverflowRow", "Overflows", "RunoffRow", "assess_overflows"]

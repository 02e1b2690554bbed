"""Filling what a record lacks, from its own other years or from neighbouring gauges."""

from roofspring.rain.gaps._base import Fill, FillMethod
from roofspring.rain.gaps.fill import FILL_METHODS, MAX_MISSING_FRAC, fill_gaps
from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.gaps.neighbours import inverse_distance_m, normal_ratio_m
from roofspring.rain.gaps.totals import share_totals

__all__ = [
    "FILL_METHODS",
    "MAX_MISSING_FRAC",
    "Fill",
    "FillMethod",
    "Neighbour",
    "fill_gaps",
    "inverse_distance_m",
    "normal_ratio_m",
    "share_totals",
]

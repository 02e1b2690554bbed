"""Rain within the day, where only the depth of the day is known."""

from roofspring.rain.within_day.cascade import DEFAULT_CASCADE, CascadeParameters
from roofspring.rain.within_day.cascade_fit import fit_cascade
from roofspring.rain.within_day.disaggregate import METHODS, disaggregate
from roofspring.rain.within_day.patterns import WITHIN_DAY, Block, DayPattern, Even, TypeTwo
from roofspring.rain.within_day.pulses import (
    DEFAULT_PULSES,
    PulseMoments,
    PulseParameters,
    pulse_moments,
)

__all__ = [
    "DEFAULT_CASCADE",
    "DEFAULT_PULSES",
    "METHODS",
    "WITHIN_DAY",
    "Block",
    "CascadeParameters",
    "DayPattern",
    "Even",
    "PulseMoments",
    "PulseParameters",
    "TypeTwo",
    "disaggregate",
    "fit_cascade",
    "pulse_moments",
]

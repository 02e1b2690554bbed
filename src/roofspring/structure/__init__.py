"""Loads: what full tanks weigh, how they press on the ground, and when wind moves empty ones.

First sums, to see trouble early. They do not take the place of a licensed engineer.
"""

from roofspring.structure.ground import Soil, bearing_soils, pressure_pa, runner_area_m2
from roofspring.structure.weight import full_mass_kg, light_mass_kg
from roofspring.structure.wind import (
    sliding_wind_m_per_s,
    tipping_wind_m_per_s,
    wind_pressure_pa,
)

__all__ = [
    "Soil",
    "bearing_soils",
    "full_mass_kg",
    "light_mass_kg",
    "pressure_pa",
    "runner_area_m2",
    "sliding_wind_m_per_s",
    "tipping_wind_m_per_s",
    "wind_pressure_pa",
]

"""What a roof gives: materials, one rain event, a year, the first flush, and peak flow."""

from roofspring.catchment.peak import (
    SCREEN_HEAD_M,
    CodeRain,
    Debris,
    code_rain,
    debris_by_season,
    mesh_open_frac,
    screen_area_m2,
    wall_area_m2,
    wind_area_m2,
)
from roofspring.catchment.roof import (
    EventYield,
    RoofMaterial,
    annual_yield_m3,
    event_yield,
    first_flush_depth_m,
    first_flush_volume_m3,
    kept_wash_off_frac,
    roof_materials,
    wash_off_left_frac,
)

__all__ = [
    "SCREEN_HEAD_M",
    "CodeRain",
    "Debris",
    "EventYield",
    "RoofMaterial",
    "annual_yield_m3",
    "code_rain",
    "debris_by_season",
    "event_yield",
    "first_flush_depth_m",
    "first_flush_volume_m3",
    "kept_wash_off_frac",
    "mesh_open_frac",
    "roof_materials",
    "screen_area_m2",
    "wall_area_m2",
    "wash_off_left_frac",
    "wind_area_m2",
]

"""What a roof gives: materials, one rain event, a year, and the first flush."""

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
    "EventYield",
    "RoofMaterial",
    "annual_yield_m3",
    "event_yield",
    "first_flush_depth_m",
    "first_flush_volume_m3",
    "kept_wash_off_frac",
    "roof_materials",
    "wash_off_left_frac",
]

"""Gardens and animals: evapotranspiration, crops, effective rain, and what a day wants."""

from roofspring.garden.crops import Crop, crop_factor, crops
from roofspring.garden.evapotranspiration import (
    clear_sky_mj_per_m2_day,
    daylight_hours,
    extraterrestrial_mj_per_m2_day,
    hargreaves_m_per_day,
    net_radiation_mj_per_m2_day,
    penman_monteith_m_per_day,
    pressure_kpa,
    psychrometric_kpa_per_degc,
    reference_from_temperatures_m_per_day,
    saturation_kpa,
    slope_kpa_per_degc,
    solar_from_range_mj_per_m2_day,
    solar_from_sunshine_mj_per_m2_day,
    wind_at_two_m_per_s,
)
from roofspring.garden.wants import (
    Want,
    effective_rain_fao_m,
    effective_rain_scs_m,
    household_wants,
    livestock_wants,
    watering_m,
)

__all__ = [
    "Crop",
    "Want",
    "clear_sky_mj_per_m2_day",
    "crop_factor",
    "crops",
    "daylight_hours",
    "effective_rain_fao_m",
    "effective_rain_scs_m",
    "extraterrestrial_mj_per_m2_day",
    "hargreaves_m_per_day",
    "household_wants",
    "livestock_wants",
    "net_radiation_mj_per_m2_day",
    "penman_monteith_m_per_day",
    "pressure_kpa",
    "psychrometric_kpa_per_degc",
    "reference_from_temperatures_m_per_day",
    "saturation_kpa",
    "slope_kpa_per_degc",
    "solar_from_range_mj_per_m2_day",
    "solar_from_sunshine_mj_per_m2_day",
    "watering_m",
    "wind_at_two_m_per_s",
]

"""The slow sand filter: the bed and its resistance, and levels over it in time."""

from roofspring.sandfilter.bed import (
    clean_bed_loss_m,
    conductivity_m_per_s,
    darcy_flow_m3_per_s,
    filter_area_m2,
    filtration_rate_m_per_s,
    hazen_conductivity_m_per_s,
    pore_volume_m3,
    specific_diameter_m,
    waste_volume_m3,
)
from roofspring.sandfilter.drawdown import (
    cake_run_s,
    falling_head_time_s,
    linear_store_level_m,
    linear_store_time_s,
)

__all__ = [
    "cake_run_s",
    "clean_bed_loss_m",
    "conductivity_m_per_s",
    "darcy_flow_m3_per_s",
    "falling_head_time_s",
    "filter_area_m2",
    "filtration_rate_m_per_s",
    "hazen_conductivity_m_per_s",
    "linear_store_level_m",
    "linear_store_time_s",
    "pore_volume_m3",
    "specific_diameter_m",
    "waste_volume_m3",
]

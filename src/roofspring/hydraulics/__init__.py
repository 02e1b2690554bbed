"""Low-head gravity hydraulics: pipes, fittings, valves, holes and overflows."""

from roofspring.hydraulics.fittings import (
    Fitting,
    fitting_k,
    fitting_names,
    fittings,
    screen_k,
    strainer_k,
)
from roofspring.hydraulics.orifice import (
    drain_time_s,
    orifice_diameter_m,
    orifice_factor,
    orifice_flow_m3_per_s,
)
from roofspring.hydraulics.pipe import flow_m3_per_s, friction_factor, loss_m
from roofspring.hydraulics.valve import (
    float_valve_flow_m3_per_s,
    float_valve_opening_frac,
    kv_of_seat_m3_per_h,
    loss_factor_of_kv,
)
from roofspring.hydraulics.weir import side_outlet_flow_m3_per_s, standpipe_flow_m3_per_s

__all__ = [
    "Fitting",
    "drain_time_s",
    "fitting_k",
    "fitting_names",
    "fittings",
    "float_valve_flow_m3_per_s",
    "float_valve_opening_frac",
    "flow_m3_per_s",
    "friction_factor",
    "kv_of_seat_m3_per_h",
    "loss_factor_of_kv",
    "loss_m",
    "orifice_diameter_m",
    "orifice_factor",
    "orifice_flow_m3_per_s",
    "screen_k",
    "side_outlet_flow_m3_per_s",
    "standpipe_flow_m3_per_s",
    "strainer_k",
]

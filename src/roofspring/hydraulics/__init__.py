"""Low-head gravity hydraulics: gutters, pipes, fittings, valves, holes and overflows."""

from roofspring.hydraulics.fittings import (
    Fitting,
    fitting_k,
    fitting_names,
    fittings,
    screen_k,
    strainer_k,
)
from roofspring.hydraulics.gutter import (
    CORNER_FRAC,
    downpipe_flow_m3_per_s,
    end_depth_m,
    gutter_flow_m3_per_s,
    length_factor,
    outlet_flow_m3_per_s,
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
    "CORNER_FRAC",
    "Fitting",
    "downpipe_flow_m3_per_s",
    "drain_time_s",
    "end_depth_m",
    "fitting_k",
    "fitting_names",
    "fittings",
    "float_valve_flow_m3_per_s",
    "float_valve_opening_frac",
    "flow_m3_per_s",
    "friction_factor",
    "gutter_flow_m3_per_s",
    "kv_of_seat_m3_per_h",
    "length_factor",
    "loss_factor_of_kv",
    "loss_m",
    "orifice_diameter_m",
    "orifice_factor",
    "orifice_flow_m3_per_s",
    "outlet_flow_m3_per_s",
    "screen_k",
    "side_outlet_flow_m3_per_s",
    "standpipe_flow_m3_per_s",
    "strainer_k",
]

"""Area of a roof that brings its peak flow."""

from __future__ import annotations

from roofspring.catchment import wind_area_m2
from roofspring.plan.model import Roof


def peak_area_m2(roof: Roof) -> float:
    """Area that brings a roof's peak flow: rain driven by wind against its slope counts too."""
    gutter = roof.gutter
    if roof.rise_m is None or gutter is None or gutter.length_m is None:
        return roof.area_m2
    return wind_area_m2(roof.area_m2, eave_m=gutter.length_m, rise_m=roof.rise_m)

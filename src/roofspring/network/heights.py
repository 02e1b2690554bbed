"""Heights that the engine needs, with what stands in where the plan leaves one out."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.plan.geometry import inside_height_m
from roofspring.plan.model import Filter, Part, Pipe, Tank

DEFAULT_WATER_OVER_WEIR_M = 0.5
DEFAULT_FLOAT_GAP_M = 0.05
LEAST_WATER_M = 1e-3
"""A filter whose overflow is not above its weir is given this much, so that the run can go on; the
level checks say that it cannot work."""


@dataclass(frozen=True)
class BedHeights:
    """Weir crest and overflow lip of a filter box, as the engine uses them."""

    weir_m: float
    overflow_over_weir_m: float
    assumed: bool


def bed_heights(part: Filter) -> BedHeights:
    """The filter's weir crest, and its overflow lip above it."""
    weir_m = part.outlet_m if part.outlet_m is not None else 0.0
    lip_m = part.overflow_m if part.overflow_m is not None else part.rim_m
    if part.outlet_m is None or lip_m is None:
        return BedHeights(weir_m, DEFAULT_WATER_OVER_WEIR_M, assumed=True)
    return BedHeights(weir_m, max(LEAST_WATER_M, lip_m - weir_m), assumed=False)


def lip_height_m(part: Part) -> float | None:
    """Height of the overflow lip of a tank or filter, its brim or rim where no lip is given."""
    if isinstance(part, Tank):
        if part.overflow_m is not None:
            return part.overflow_m
        return None if part.base_m is None else part.base_m + inside_height_m(part)
    if isinstance(part, Filter):
        return part.overflow_m if part.overflow_m is not None else part.rim_m
    return None


def shut_height_m(part: Part, pipe: Pipe) -> tuple[float, bool]:
    """Water level at which a pipe's float valve is shut, and whether that was assumed."""
    if pipe.valve is not None and pipe.valve.shuts_at_m is not None:
        return pipe.valve.shuts_at_m, False
    lip_m = lip_height_m(part)
    if lip_m is None and isinstance(part, Filter):
        heights = bed_heights(part)
        lip_m = heights.weir_m + heights.overflow_over_weir_m
    elif lip_m is None and isinstance(part, Tank):
        lip_m = inside_height_m(part)
    assert lip_m is not None
    return lip_m - DEFAULT_FLOAT_GAP_M, True

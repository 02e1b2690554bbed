"""What happens at the edges of a store's level: how its float valve opens, and its overflow."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from roofspring.kernels import net as k
from roofspring.network.heights import bed_heights
from roofspring.network.laws import overflow_flow_m3_per_s
from roofspring.plan.geometry import (
    brim_volume_m3,
    depth_to_volume_m3,
    overflow_volume_m3,
    volume_to_depth_m,
)
from roofspring.plan.model import Filter, Part, Pipe, Tank
from roofspring.plan.pieces import Valve


def valve_band(part: Part, valve: Valve, *, shut_m: float, valve_frac: float) -> tuple[float, int]:
    """Over what content a float valve goes from shut to open [m3], and how it acts.

    A valve that is open by a small share x passes that share of what it alone would pass, which is
    more than the whole line does: the line runs full once x is the root of ``valve_frac``, which is
    the share of its loss that is in the open valve. So the band is shorter by that root.
    """
    if valve.band_m <= 0.0:
        return 0.0, k.HOLDS

    def content_m3(level_m: float) -> float:
        if isinstance(part, Tank):
            return depth_to_volume_m3(part, max(0.0, level_m - (part.base_m or 0.0)))
        assert isinstance(part, Filter)
        return max(0.0, level_m - bed_heights(part).weir_m) * part.area_m2

    band_m3 = content_m3(shut_m) - content_m3(shut_m - valve.band_m)
    if band_m3 <= 0.0:
        return 0.0, k.HOLDS
    if valve.action == "on-off":
        return band_m3, k.ON_OFF
    return band_m3 * math.sqrt(valve_frac), k.OPENS_IN_STEP


def overflow_table(tank: Tank, pipe: Pipe, *, far_m: float | None) -> npt.NDArray[np.float64]:
    """Flow of a tank's overflow by equal steps of the root of what stands over its lip [m3/s].

    ``far_m`` is the height at which the pipe ends, where it is known.
    """
    lip_m3, brim_m3 = overflow_volume_m3(tank), brim_volume_m3(tank)
    over_m3 = lip_m3 + (brim_m3 - lip_m3) * np.linspace(0.0, 1.0, k.HEAD_POINTS_COUNT) ** 2
    lip_depth_m = volume_to_depth_m(tank, lip_m3)
    fall_m = None
    if far_m is not None and tank.base_m is not None:
        fall_m = tank.base_m + lip_depth_m - far_m
    return np.array(
        [
            overflow_flow_m3_per_s(
                pipe,
                volume_to_depth_m(tank, float(v)) - lip_depth_m,
                form=tank.overflow_form,
                fall_m=fall_m,
            )
            for v in over_m3
        ]
    )


def rim_flow_m3_per_s(part: Filter, pipe: Pipe, *, far_m: float | None) -> float | None:
    """What the overflow of a filter box carries with the water at its rim [m3/s].

    None where the plan gives no rim over the lip.
    """
    if part.rim_m is None or part.overflow_m is None or part.rim_m <= part.overflow_m:
        return None
    fall_m = None if far_m is None else part.overflow_m - far_m
    return overflow_flow_m3_per_s(pipe, part.rim_m - part.overflow_m, form="side", fall_m=fall_m)


def ices_over(tank: Tank) -> bool:
    """Whether the run lets ice form on a tank: where the plan says that nothing shelters it."""
    told = "shelter" in tank.model_fields_set
    shelter = tank.shelter
    return told and not shelter.indoors and shelter.insulation_m == 0.0 and shelter.buried_m == 0.0

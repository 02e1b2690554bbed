"""Water that joins a gutter all along it: depths by the balance of momentum, with friction.

The exact check beside the standard's formula. Stepping in momentum passes the free end without
trouble, where the equation of energy is singular.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import not_negative, positive
from roofspring.hydraulics.gutter.section import Section

STEPS_COUNT = 200
_TRIES = 60
_LEAST = 1e-12


@dataclass(frozen=True)
class GutterProfile:
    """Depth of water along a gutter that carries a flow to a free end.

    Attributes
    ----------
    deepest_m : float
        Greatest depth anywhere [m].
    end_m : float
        Depth at the outlet [m], critical there.
    depths_m : (n,)
        Depths from the outlet to the far end, at equal steps [m].
    """

    deepest_m: float
    end_m: float
    depths_m: tuple[float, ...]


def critical_depth_m(section: Section, *, flow_m3_per_s: float) -> float:
    """Depth at which a flow falls freely off the end of a gutter [m].

    Water deeper than the gutter is taken to stand between sides that go on as they are.

    >>> from roofspring.hydraulics.gutter.section import gutter_section
    >>> round(critical_depth_m(gutter_section(0.15, shape="box"), flow_m3_per_s=3e-3), 5)
    0.03442
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    low, high = 0.0, 100.0 * section.depth_m
    if section.is_round:  # deeper than its middle a half circle has no upright sides
        high = section.depth_m
    for _ in range(_TRIES):
        middle = 0.5 * (low + high)
        wide = section.surface_m(middle)
        carried = GRAVITY_M_PER_S2 * section.area_m2(middle) ** 3 - wide * flow_m3_per_s**2
        low, high = (middle, high) if carried < 0.0 else (low, middle)
    return 0.5 * (low + high)


def gutter_profile(
    section: Section,
    *,
    flow_m3_per_s: float,
    length_m: float,
    manning: float,
    fall_frac: float = 0.0,
) -> GutterProfile:
    """Depths along a gutter that takes in water evenly and drains freely at one end.

    Parameters
    ----------
    section : Section
    flow_m3_per_s : float
        Flow at the outlet [m3/s], above 0; it grows evenly from nothing at the far end.
    length_m : float
        Length that drains to the outlet [m], above 0.
    manning : float
        Manning's n [s/m^(1/3)], 0 or more; 0.009 to 0.011 for plastic, 0.012 for sheet metal.
    fall_frac : float
        Fall toward the outlet over length [-], 0 or more.

    Returns
    -------
    GutterProfile

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``d(Q**2 / (g A) + moment) / dx = A (fall - Sf)`` with ``Sf = n**2 Q**2 / (A**2 R**(4/3))``,
    stepped from critical depth at the outlet to the far end, each step solved for the deeper root
    with the mean of both its ends. Where the fall drives the water faster than critical, critical
    depth is taken, which is the deeper. A half circle deeper than its middle goes on with the slope
    of the momentum at its rim, and it has spilled.

    Source
    ------
    CHOW_1959, spatially varied flow with increasing discharge.

    Examples
    --------
    >>> from roofspring.hydraulics.gutter.section import gutter_section
    >>> box = gutter_section(0.15, shape="box", depth_m=0.1)
    >>> flow = gutter_profile(box, flow_m3_per_s=3e-3, length_m=10.0, manning=0.011)
    >>> round(flow.deepest_m * 1e3, 1)
    64.7
    """
    positive("flow_m3_per_s", flow_m3_per_s)
    positive("length_m", length_m)
    not_negative("manning", manning)
    not_negative("fall_frac", fall_frac)
    step_m = length_m / STEPS_COUNT
    depth_m = critical_depth_m(section, flow_m3_per_s=flow_m3_per_s)
    depths = [depth_m]
    flow = flow_m3_per_s
    push = _push_m3(section, depth_m, flow)
    for i in range(1, STEPS_COUNT + 1):
        next_flow = flow_m3_per_s * (1.0 - i / STEPS_COUNT)
        here = _gain_m2(section, depth_m, flow, manning, fall_frac)
        wanted_m = depth_m
        for _ in range(4):  # the mean slope of the step needs the depth at its far end
            there = _gain_m2(section, wanted_m, next_flow, manning, fall_frac)
            wanted_m = _deeper_m(section, push - 0.5 * (here + there) * step_m, next_flow, wanted_m)
        depth_m, flow = wanted_m, next_flow
        push = _push_m3(section, depth_m, flow)
        depths.append(depth_m)
    return GutterProfile(max(depths), depths[0], tuple(depths))


def brim_flow_m3_per_s(
    section: Section,
    *,
    length_m: float | None = None,
    manning: float = 0.0,
    fall_frac: float = 0.0,
) -> float:
    """Flow at which a gutter is brim-full somewhere along it, by the balance of momentum.

    Parameters
    ----------
    section, manning, fall_frac
        As in `gutter_profile`.
    length_m : float, optional
        Length that drains to the outlet [m]; without one friction and fall are left out.

    Returns
    -------
    float
        Flow at the outlet [m3/s].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    `gutter_profile` turned round by halving. Without friction and fall, level: the pressure on the
    full section at the far end is the momentum at the free end, in closed form.

    Source
    ------
    CHOW_1959, spatially varied flow with increasing discharge.

    Examples
    --------
    >>> from roofspring.hydraulics.gutter.section import gutter_section
    >>> round(brim_flow_m3_per_s(gutter_section(0.100)) * 1e3, 4)
    1.0784
    """
    if length_m is None:
        full_m3 = section.moment_m3(section.depth_m)
        low, high = 0.0, section.depth_m
        for _ in range(_TRIES):  # the depth at the free end
            middle = 0.5 * (low + high)
            held = section.moment_m3(middle) + section.area_m2(middle) ** 2 / section.surface_m(
                middle
            )
            low, high = (middle, high) if held < full_m3 else (low, middle)
        area_m2 = section.area_m2(low)
        return math.sqrt(GRAVITY_M_PER_S2 * area_m2**3 / section.surface_m(low))
    low, high = 0.0, 4.0 * brim_flow_m3_per_s(section)
    for _ in range(20):
        middle = 0.5 * (low + high)
        profile = gutter_profile(
            section,
            flow_m3_per_s=middle,
            length_m=length_m,
            manning=manning,
            fall_frac=fall_frac,
        )
        low, high = (middle, high) if profile.deepest_m < section.depth_m else (low, middle)
    return 0.5 * (low + high)


def _push_m3(section: Section, water_m: float, flow_m3_per_s: float) -> float:
    """Momentum and pressure over weight."""
    return section.moment_m3(water_m) + flow_m3_per_s**2 / (
        GRAVITY_M_PER_S2 * max(section.area_m2(water_m), _LEAST)
    )


def _gain_m2(
    section: Section, water_m: float, flow_m3_per_s: float, manning: float, fall_frac: float
) -> float:
    """What a metre of gutter adds to the momentum: weight down the fall, less drag."""
    area_m2 = max(section.area_m2(water_m), _LEAST)
    radius_m = area_m2 / max(section.wetted_m(water_m), _LEAST)
    drag_frac = manning**2 * flow_m3_per_s**2 / (area_m2**2 * radius_m ** (4.0 / 3.0))
    return float(area_m2 * (fall_frac - drag_frac))


def _deeper_m(section: Section, push_m3: float, flow_m3_per_s: float, near_m: float) -> float:
    """The deeper of the two depths at which a flow has a momentum; critical where there is none."""
    top_m = section.depth_m if section.is_round else math.inf
    if section.is_round and push_m3 >= _push_m3(section, top_m, flow_m3_per_s):
        return top_m + (push_m3 - _push_m3(section, top_m, flow_m3_per_s)) / section.area_m2(top_m)
    water_m = min(near_m, top_m)
    for _ in range(_TRIES):
        area_m2 = section.area_m2(water_m)
        slope_m2 = area_m2 - flow_m3_per_s**2 * section.surface_m(water_m) / (
            GRAVITY_M_PER_S2 * area_m2**2
        )
        error_m3 = _push_m3(section, water_m, flow_m3_per_s) - push_m3
        if slope_m2 <= 0.0:  # at or under critical depth, where the curve turns
            water_m *= 1.05
        elif abs(error_m3) <= 1e-12 * push_m3:
            return water_m
        else:
            water_m = min(max(water_m - error_m3 / slope_m2, 0.5 * water_m), 2.0 * water_m, top_m)
    return critical_depth_m(section, flow_m3_per_s=flow_m3_per_s)

"""Water over the sand and the weir that holds it there; the inlet, and filling from below."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import finite, not_negative, part_share, positive

HOUSEHOLD_CREST_M = 0.05
"""Weir crest over the sand of a household filter [m] (CAWST_SHEET: about 5 cm of water)."""
PLANT_CREST_M = 0.30
"""The same of a municipal filter [m] (AWWA_ASCE_CH9: a foot, against suction in the sand)."""
SCOUR_M_PER_S = 0.1
"""Speed over the sand that does not yet move it [m/s] (HUISMAN_WOOD_1974, from memory)."""
BACKFILL_M_PER_S = 0.1 / 3600.0
"""Rate of filling a dry bed from below [m/s], 0.1 to 0.2 m/h (HUISMAN_WOOD_1974, from memory)."""
BACKFILL_COVER_M = 0.10
"""Water over the sand at the end of filling from below [m] (HUISMAN_WOOD_1974, from memory)."""


def least_pressure_head_m(crest_over_sand_m: float, *, bed_loss_m: float, depth_m: float) -> float:
    """Least pressure head anywhere in the sand: below 0, air comes out of the water and binds it.

    Parameters
    ----------
    crest_over_sand_m : float
        Crest of the outlet weir over the top of the sand [m]; negative where it lies below.
    bed_loss_m : float
        Head lost in the sand, without the skin on top [m], 0 or more.
    depth_m : float
        Sand depth [m], above 0.

    Returns
    -------
    float
        Pressure head [m of water over the air's].

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.

    Notes
    -----
    The head falls from the supernatant to the crest: in the skin at once, then evenly through the
    sand. Just under the skin the pressure head is ``crest + bed loss``, at the bottom
    ``crest + depth``, and in between it goes along a straight line. A crest at or over the sand
    therefore never gives suction, however clogged the skin.

    Source
    ------
    AWWA_ASCE_CH9, page 9.11, for the rule; DARCY_1856 for the line.

    Examples
    --------
    >>> round(least_pressure_head_m(0.05, bed_loss_m=0.03, depth_m=0.7), 3)
    0.08
    >>> round(least_pressure_head_m(-0.20, bed_loss_m=0.03, depth_m=0.7), 3)
    -0.17
    """
    finite("crest_over_sand_m", crest_over_sand_m)
    not_negative("bed_loss_m", bed_loss_m)
    positive("depth_m", depth_m)
    return crest_over_sand_m + min(bed_loss_m, depth_m)


def jet_speed_m_per_s(fall_m: float) -> float:
    """Speed of water that has fallen freely, ``sqrt(2 g h)`` [m/s]: what strikes the sand.

    >>> round(jet_speed_m_per_s(0.4), 2)
    2.8
    """
    not_negative("fall_m", fall_m)
    return math.sqrt(2.0 * GRAVITY_M_PER_S2 * fall_m)


def edge_speed_m_per_s(flow_m3_per_s: float, *, dish_m: float, water_m: float) -> float:
    """Mean speed over the rim of a dish or splash plate that the inlet falls into.

    Parameters
    ----------
    flow_m3_per_s : float
        Greatest inflow [m3/s], 0 or more: that of the float valve wide open.
    dish_m : float
        Diameter of the dish or plate [m], above 0.
    water_m : float
        Least depth of water over its rim [m], above 0.

    Returns
    -------
    float
        Speed [m/s]; the sand keeps still up to about `SCOUR_M_PER_S`.

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.

    Notes
    -----
    ``Q / (pi D y)``: the flow spread over the ring of water at the rim.

    Source
    ------
    STREETER_WYLIE_1979, continuity.

    Examples
    --------
    >>> round(edge_speed_m_per_s(68.8e-3 / 3600, dish_m=0.10, water_m=0.02), 4)
    0.003
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    positive("dish_m", dish_m)
    positive("water_m", water_m)
    return flow_m3_per_s / (math.pi * dish_m * water_m)


def least_dish_m(flow_m3_per_s: float, *, water_m: float, speed_m_per_s: float) -> float:
    """Diameter of a dish whose rim the flow passes at a speed: `edge_speed_m_per_s` turned round.

    >>> round(least_dish_m(1.0 / 3600, water_m=0.02, speed_m_per_s=0.1), 3)
    0.044
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    positive("water_m", water_m)
    positive("speed_m_per_s", speed_m_per_s)
    return flow_m3_per_s / (math.pi * water_m * speed_m_per_s)


@dataclass(frozen=True)
class BackFill:
    """Filling a dry bed from below: water [m3], and time [s] for the voids, the cover and all."""

    water_m3: float
    voids_s: float
    cover_s: float

    @property
    def time_s(self) -> float:
        """From the first drop to the end [s]."""
        return self.voids_s + self.cover_s


def back_fill(
    area_m2: float,
    *,
    depth_m: float,
    porosity_frac: float,
    gravel_m: float = 0.0,
    cover_m: float = BACKFILL_COVER_M,
    rate_m_per_s: float = BACKFILL_M_PER_S,
) -> BackFill:
    """Water and time to fill a dry bed from below, which drives the air out in front of it.

    Parameters
    ----------
    area_m2 : float
        Plan area [m2], above 0.
    depth_m, gravel_m : float
        Sand, and the gravel under it [m].
    porosity_frac : float
        Of both [-], above 0 and below 1.
    cover_m : float
        Water over the sand at the end [m].
    rate_m_per_s : float
        Filling flow over plan area [m/s], above 0.

    Returns
    -------
    BackFill

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.

    Source
    ------
    HUISMAN_WOOD_1974, putting a filter into service.

    Examples
    --------
    >>> fill = back_fill(0.5, depth_m=0.8, porosity_frac=0.40)
    >>> round(fill.water_m3 * 1e3), round(fill.voids_s / 3600, 1), round(fill.time_s / 3600, 1)
    (210, 3.2, 4.2)
    """
    positive("area_m2", area_m2)
    positive("depth_m", depth_m)
    not_negative("gravel_m", gravel_m)
    part_share("porosity_frac", porosity_frac)
    not_negative("cover_m", cover_m)
    positive("rate_m_per_s", rate_m_per_s)
    voids_m = (depth_m + gravel_m) * porosity_frac
    return BackFill(area_m2 * (voids_m + cover_m), voids_m / rate_m_per_s, cover_m / rate_m_per_s)

"""How much sand to buy, and what it takes to wash it in buckets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2, Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, part_share, positive, share
from roofspring.sandfilter.sieve.sizes import FINES_M
from roofspring.water import density_kg_per_m3, kinematic_viscosity_m2_per_s, viscosity_pa_s

GRAIN = Sourced(2650.0, "kg/m3", "DAVIS_2010, table 11-1", "quartz; the table prints 2.55 to 2.65")
GRAIN_KG_PER_M3: float = GRAIN.value
STOKES_REYNOLDS = 1.0
"""Up to here the law of Stokes is at most about an eighth too fast, by SCHILLER_NAUMANN_1935."""
FINEST_SILT_M = 2e-6
"""Finer grains hardly settle in a bucket: the edge between silt and clay."""
MOST_WASHES = 60
_STEPS = 200


@dataclass(frozen=True)
class Settling:
    """How fast a grain settles.

    ``law`` says by which law, and ``stokes_m_per_s`` what Stokes alone would give.
    """

    velocity_m_per_s: float
    stokes_m_per_s: float
    reynolds: float
    law: str


@dataclass(frozen=True)
class Purchase:
    """Sand for a bed: in place, and as stock to buy."""

    bed_m3: float
    bed_kg: float
    stock_kg: float
    stock_m3: float


@dataclass(frozen=True)
class Washing:
    """Washing by decanting in buckets.

    ``washes_count`` is None where decanting does not get there. ``left_frac`` is the share of fines
    after that many washes.
    """

    settle_s: float
    washes_count: int | None
    left_frac: float
    water_m3_per_kg: float
    settling: Settling


def settling_velocity(
    grain_m: float, *, temp_degc: float, grain_kg_per_m3: float = GRAIN_KG_PER_M3
) -> Settling:
    """Speed at which a round grain settles in still water.

    Parameters
    ----------
    grain_m : float
        Grain size [m], above 0.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    grain_kg_per_m3 : float
        Density of the grains [kg/m3], above that of water.

    Returns
    -------
    Settling

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        Temperature outside 0 to 40; a size not above 0; grains that float.

    Notes
    -----
    ``v = (rho_s - rho) g d**2 / (18 mu)`` while the Reynolds number is at most 1; above that the
    drag ``24 / Re (1 + 0.15 Re**0.687)``, good to a Reynolds number of 1000.

    Source
    ------
    STOKES_1851; SCHILLER_NAUMANN_1935.

    Examples
    --------
    >>> fall = settling_velocity(75e-6, temp_degc=20.0)
    >>> round(0.200 / fall.velocity_m_per_s, 1)
    39.6
    """
    positive("grain_m", grain_m)
    water = density_kg_per_m3(temp_degc)
    positive("grain_kg_per_m3 - water", grain_kg_per_m3 - water)
    nu = kinematic_viscosity_m2_per_s(temp_degc)
    stokes = (grain_kg_per_m3 - water) * GRAVITY_M_PER_S2 * grain_m**2
    stokes /= 18.0 * viscosity_pa_s(temp_degc)
    if stokes * grain_m / nu <= STOKES_REYNOLDS:
        return Settling(stokes, stokes, stokes * grain_m / nu, "Stokes")
    velocity = stokes
    for _ in range(200):  # converges in a few steps: the drag factor changes slowly
        factor = 1.0 + 0.15 * (velocity * grain_m / nu) ** 0.687
        velocity, last = 0.5 * (velocity + stokes / factor), velocity
        if math.isclose(velocity, last, rel_tol=1e-13):
            break
    return Settling(velocity, stokes, velocity * grain_m / nu, "Schiller and Naumann")


def sand_to_buy(
    area_m2: float, *, depth_m: float, usable_frac: float, porosity_frac: float
) -> Purchase:
    """Sand for a bed, and the stock it has to be made from.

    Parameters
    ----------
    area_m2 : float
        Area of the bed [m2].
    depth_m : float
        Depth of the sand [m].
    usable_frac : float
        Share of the stock that is usable [-], above 0.
    porosity_frac : float
        Void volume over bulk volume [-], of the bed and of the dry heap.

    Returns
    -------
    Purchase
        Masses are dry. Moist sand lies up to a third looser: buy by mass, or more by volume.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A size not above 0, or a share outside its range.

    Source
    ------
    DAVIS_2010, table 11-1 (density of grains); common practice, no source (looseness of moist
    sand).

    Examples
    --------
    >>> buy = sand_to_buy(0.25, depth_m=0.7, usable_frac=0.59, porosity_frac=0.40)
    >>> round(buy.bed_kg), round(buy.stock_kg)
    (278, 472)
    """
    positive("area_m2", area_m2)
    positive("depth_m", depth_m)
    positive("usable_frac", usable_frac)
    share("usable_frac", usable_frac)
    part_share("porosity_frac", porosity_frac)
    bulk_kg_per_m3 = (1.0 - porosity_frac) * GRAIN_KG_PER_M3
    bed_m3 = area_m2 * depth_m
    bed_kg = bed_m3 * bulk_kg_per_m3
    return Purchase(bed_m3, bed_kg, bed_kg / usable_frac, bed_kg / usable_frac / bulk_kg_per_m3)


def washing(
    fines_frac: float,
    *,
    limit_frac: float,
    bucket_water_m: float,
    layer_m: float,
    temp_degc: float,
    porosity_frac: float,
    cut_m: float = FINES_M,
) -> Washing:
    """Washing sand in a bucket: stir, wait until what is wanted has settled, pour off.

    Parameters
    ----------
    fines_frac : float
        Share of grains finer than the cut before washing [-].
    limit_frac : float
        Share of them that may stay [-], above 0.
    bucket_water_m, layer_m : float
        Depth of the water over the sand, and of the sand in the bucket [m].
    temp_degc : float
        Water temperature [degrees C].
    porosity_frac : float
        Void volume over bulk volume of the sand in the bucket [-].
    cut_m : float
        Grains of this size must all have settled before the water is poured off [m].

    Returns
    -------
    Washing
        How long to wait, how many washes, and water for each kilogram of dry sand.

    Raises
    ------
    RangeError (DOM-001 to DOM-003, SIV-023)
        A value outside its range; a cut not coarser than clay.

    Notes
    -----
    Of grains of size d, the share ``r + (1 - r) v(d) / v(cut)`` stays behind at each wash: those
    that settled in time, and those in the water left between the grains (r of all the water). Fines
    are taken to be spread evenly over the logarithm of size from 0.002 mm to the cut.

    Source
    ------
    STOKES_1851 (settling); engineering choice (spread of the fines).
    """
    share("fines_frac", fines_frac)
    positive("limit_frac", limit_frac)
    positive("bucket_water_m", bucket_water_m)
    positive("layer_m", layer_m)
    part_share("porosity_frac", porosity_frac)
    not_negative("cut_m", cut_m)
    if cut_m <= FINEST_SILT_M:
        raise RangeError(
            Problem(
                "SIV-023",
                "clay does not settle in a bucket: nothing so fine can be kept by decanting",
                where="cut_m",
                got=f"{cut_m * 1e6:g} um",
                allowed=f"coarser than {FINEST_SILT_M * 1e6:g} um",
                next="cut at 0.075 mm or coarser",
            )
        )
    fall = settling_velocity(cut_m, temp_degc=temp_degc)
    span = math.log(cut_m / FINEST_SILT_M)
    sizes = [FINEST_SILT_M * math.exp(span * (k + 0.5) / _STEPS) for k in range(_STEPS)]
    left_water = porosity_frac * layer_m / (porosity_frac * layer_m + bucket_water_m)
    stays = [
        left_water
        + (1.0 - left_water)
        * settling_velocity(d, temp_degc=temp_degc).velocity_m_per_s
        / fall.velocity_m_per_s
        for d in sizes
    ]
    count: int | None = 0
    left = fines_frac
    while left > limit_frac:
        if count == MOST_WASHES:
            count = None
            break
        count = (count or 0) + 1
        left = fines_frac * math.fsum(s**count for s in stays) / _STEPS
    bulk_kg_per_m3 = (1.0 - porosity_frac) * GRAIN_KG_PER_M3
    return Washing(
        bucket_water_m / fall.velocity_m_per_s,
        count,
        left,
        (count or 0) * bucket_water_m / (layer_m * bulk_kg_per_m3),
        fall,
    )

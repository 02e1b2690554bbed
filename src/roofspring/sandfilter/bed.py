"""The clean sand bed: what it lets through, how fast, and what it takes to store and waste."""

from __future__ import annotations

import math

from roofspring.constants import GRAVITY_M_PER_S2, SECONDS_PER_DAY
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, not_negative, part_share, positive, share
from roofspring.water import kinematic_viscosity_m2_per_s

DEFAULT_POROSITY_FRAC = 0.40
DEFAULT_SPHERICITY_FRAC = 0.80
"""Engineering choices within the 0.40 to 0.47 and 0.7 to 0.8 that DAVIS_2010 table 11-1 prints."""

MOST_UNIFORMITY = 5.0
"""Where the one size that stands for a graded sand ends (HUISMAN_WOOD_1974)."""


def specific_diameter_m(d10_m: float, *, uniformity: float) -> float:
    """One grain size that stands for a graded sand in the head-loss formulas.

    Parameters
    ----------
    d10_m : float
        Effective size: 10 % by mass is finer [m], above 0.
    uniformity : float
        Uniformity coefficient, d60 over d10 [-], 1 to 5.

    Returns
    -------
    float
        Specific diameter [m].

    Raises
    ------
    RangeError (DOM-002)
        The size is not above 0.
    RangeError (DOM-006)
        The uniformity coefficient is outside 1 to 5.

    Notes
    -----
    ``ds = d10 (1 + 2 log10(UC))``.

    Source
    ------
    HUISMAN_WOOD_1974, hydraulics of filtration.

    Examples
    --------
    >>> round(specific_diameter_m(0.25e-3, uniformity=2.0) * 1e3, 4)
    0.4005
    """
    positive("d10_m", d10_m)
    if not 1.0 <= uniformity <= MOST_UNIFORMITY:
        raise RangeError(
            Problem(
                "DOM-006",
                "the uniformity coefficient is outside the range of the formula",
                where="uniformity",
                got=f"{uniformity:g}",
                allowed=f"1 to {MOST_UNIFORMITY:g} (HUISMAN_WOOD_1974)",
                next="check that d60 and d10 are not swapped; sieve the sand to a closer grading",
            )
        )
    return d10_m * (1.0 + 2.0 * math.log10(uniformity))


def conductivity_m_per_s(
    grain_m: float,
    *,
    temp_degc: float,
    porosity_frac: float = DEFAULT_POROSITY_FRAC,
    sphericity_frac: float = DEFAULT_SPHERICITY_FRAC,
    carman: float = 180.0,
) -> float:
    """Hydraulic conductivity of clean sand from grain size, packing and water temperature.

    Parameters
    ----------
    grain_m : float
        Grain size [m], above 0; for a graded sand that of `specific_diameter_m`.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    porosity_frac : float
        Void volume over bed volume [-], above 0 and below 1.
    sphericity_frac : float
        Surface of the equal sphere over surface of the grain [-], above 0, at most 1.
    carman : float
        Constant of the viscous term [-]: 180 after Carman, 150 after Ergun.

    Returns
    -------
    float
        Conductivity K [m/s].

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        Temperature outside 0 to 40; a size not above 0; a share outside its range.

    Notes
    -----
    ``K = g e**3 (phi d)**2 / (180 nu (1 - e)**2)``, laminar flow. Porosity rules: 0.38 in place of
    0.40 lowers K by a fifth. Huisman and Wood's formula is this one at 10 degrees C.

    Source
    ------
    CARMAN_1937; ERGUN_1952 for 150.

    Examples
    --------
    >>> k = conductivity_m_per_s(0.4005e-3, temp_degc=10.0)
    >>> round(k * 3600.0, 2)
    2.74
    """
    positive("grain_m", grain_m)
    part_share("porosity_frac", porosity_frac)
    positive("sphericity_frac", sphericity_frac)
    share("sphericity_frac", sphericity_frac)
    positive("carman", carman)
    nu_m2_per_s = kinematic_viscosity_m2_per_s(temp_degc)
    voids = porosity_frac**3 / (1.0 - porosity_frac) ** 2
    return GRAVITY_M_PER_S2 * voids * (sphericity_frac * grain_m) ** 2 / (carman * nu_m2_per_s)


def hazen_conductivity_m_per_s(
    d10_m: float, *, temp_degc: float, coefficient: float = 1000.0
) -> float:
    """Hydraulic conductivity of loose clean sand by Hazen's rule: a cross-check, no porosity in it.

    Parameters
    ----------
    d10_m : float
        Effective size [m], 0.1 to 3 mm in the source.
    temp_degc : float
        Water temperature [degrees C]. Used as a plain number, not through the viscosity.
    coefficient : float
        400 for packed or dirty sand to 1200 for very uniform clean sand [-].

    Returns
    -------
    float
        Conductivity [m/s].

    Raises
    ------
    RangeError (DOM-002)
        A size or coefficient not above 0, or water below 0 degrees C.

    Notes
    -----
    ``K [m/day] = C d10**2 (0.70 + 0.03 T)`` with d10 in mm.

    Source
    ------
    HAZEN_1892.

    Examples
    --------
    >>> round(hazen_conductivity_m_per_s(0.25e-3, temp_degc=10.0) * 3600.0, 3)
    2.604
    """
    positive("d10_m", d10_m)
    positive("coefficient", coefficient)
    not_negative("temp_degc", temp_degc)
    metres_per_day = coefficient * (d10_m * 1e3) ** 2 * (0.70 + 0.03 * temp_degc)
    return metres_per_day / SECONDS_PER_DAY


def clean_bed_loss_m(rate_m_per_s: float, *, depth_m: float, conductivity_m_per_s: float) -> float:
    """Head lost in a clean bed at a filtration rate, ``v L / K`` [m].

    >>> round(clean_bed_loss_m(0.1 / 3600, depth_m=0.8, conductivity_m_per_s=2.74 / 3600), 4)
    0.0292
    """
    not_negative("rate_m_per_s", rate_m_per_s)
    return rate_m_per_s * _resistance_s(depth_m, conductivity_m_per_s, 0.0)


def filtration_rate_m_per_s(
    head_m: float, *, depth_m: float, conductivity_m_per_s: float, skin_resistance_s: float = 0.0
) -> float:
    """Rate at which a head drives water through bed and skin, with nothing to throttle it.

    Parameters
    ----------
    head_m : float
        Water level over the outlet weir [m]; zero or less gives no flow.
    depth_m : float
        Sand depth [m], above 0.
    conductivity_m_per_s : float
        Of the clean sand at the water's temperature [m/s], above 0.
    skin_resistance_s : float
        Head per rate of the living skin at the same temperature [s], 0 or more.

    Returns
    -------
    float
        Flow over plan area [m/s].

    Raises
    ------
    RangeError (DOM-002)
        A value not in its range.

    Notes
    -----
    ``v = H / (L / K + Rs)``. A clean bed under half a metre of water runs many times too fast:
    a weir and a float valve hold the level, not the rate.

    Source
    ------
    DARCY_1856.

    Examples
    --------
    >>> v = filtration_rate_m_per_s(0.5, depth_m=0.8, conductivity_m_per_s=2.74 / 3600)
    >>> round(v * 3600, 2)
    1.71
    """
    finite("head_m", head_m)
    return max(0.0, head_m) / _resistance_s(depth_m, conductivity_m_per_s, skin_resistance_s)


def darcy_flow_m3_per_s(
    head_m: float,
    *,
    area_m2: float,
    depth_m: float,
    conductivity_m_per_s: float,
    skin_resistance_s: float = 0.0,
) -> float:
    """Flow through a filter: `filtration_rate_m_per_s` times its plan area [m3/s].

    >>> q = darcy_flow_m3_per_s(0.1, area_m2=0.5, depth_m=0.8, conductivity_m_per_s=2.74 / 3600,
    ...                         skin_resistance_s=3600.0)
    >>> round(q * 3.6e6, 2)
    38.7
    """
    positive("area_m2", area_m2)
    return area_m2 * filtration_rate_m_per_s(
        head_m,
        depth_m=depth_m,
        conductivity_m_per_s=conductivity_m_per_s,
        skin_resistance_s=skin_resistance_s,
    )


def filter_area_m2(
    flow_m3_per_s: float, *, rate_m_per_s: float, running_frac: float = 1.0
) -> float:
    """Bed area for a mean flow at a design rate, ``A = Q / (v f)`` [m2].

    ``running_frac`` is the share of the day the filter runs.

    >>> round(filter_area_m2(0.200 / 86400, rate_m_per_s=0.10 / 3600), 4)
    0.0833
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    positive("rate_m_per_s", rate_m_per_s)
    positive("running_frac", running_frac)
    share("running_frac", running_frac)
    return flow_m3_per_s / (rate_m_per_s * running_frac)


def pore_volume_m3(
    area_m2: float, *, depth_m: float, porosity_frac: float = DEFAULT_POROSITY_FRAC
) -> float:
    """Water held between the grains of a bed, ``A L e`` [m3].

    >>> round(pore_volume_m3(0.06, depth_m=0.543) * 1e3, 1)
    13.0
    """
    positive("area_m2", area_m2)
    positive("depth_m", depth_m)
    part_share("porosity_frac", porosity_frac)
    return area_m2 * depth_m * porosity_frac


def waste_volume_m3(time_s: float, *, rate_m_per_s: float, area_m2: float) -> float:
    """Water run to waste while a filter ripens at a rate, ``t v A`` [m3].

    >>> round(waste_volume_m3(48 * 3600, rate_m_per_s=0.1 / 3600, area_m2=0.5), 3)
    2.4
    """
    not_negative("time_s", time_s)
    not_negative("rate_m_per_s", rate_m_per_s)
    positive("area_m2", area_m2)
    return time_s * rate_m_per_s * area_m2


def _resistance_s(depth_m: float, conductivity_m_per_s: float, skin_resistance_s: float) -> float:
    positive("depth_m", depth_m)
    positive("conductivity_m_per_s", conductivity_m_per_s)
    not_negative("skin_resistance_s", skin_resistance_s)
    return depth_m / conductivity_m_per_s + skin_resistance_s

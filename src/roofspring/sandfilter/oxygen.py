"""Oxygen for the life in the bed: what water holds, what flow brings, what seeps in at rest."""

from __future__ import annotations

import math

from roofspring.constants import Sourced
from roofspring.errors.limits import not_negative, part_share, positive
from roofspring.water import viscosity_pa_s

LEAST_OXYGEN = Sourced(
    3e-3, "kg/m3", "EPA_AWOP_2024", "in the filtrate; quoted, and VISSCHER_1990 from memory"
)
WANTED_OXYGEN = Sourced(
    6e-3, "kg/m3", "SPENCER_COLLINS_1991", "in the raw water, preferred; from memory"
)
_ZERO_K = 273.15


def oxygen_saturation_kg_per_m3(temp_degc: float) -> float:
    """Oxygen that fresh water holds under air at one atmosphere.

    Parameters
    ----------
    temp_degc : float
        Water temperature [degrees C], 0 to 40.

    Returns
    -------
    float
        Saturation [kg/m3]; 0.009 is 9 mg/L. At 1,500 m of height a sixth less.

    Raises
    ------
    RangeError (DOM-001)
        A temperature outside 0 to 40.

    Notes
    -----
    ``ln C = -139.34411 + 1.575701e5/T - 6.642308e7/T**2 + 1.2438e10/T**3 - 8.621949e11/T**4``.

    Source
    ------
    BENSON_KRAUSE_1984, as in the standard methods of water analysis (4500-O).

    Examples
    --------
    >>> round(oxygen_saturation_kg_per_m3(20.0) * 1e3, 2)
    9.09
    """
    viscosity_pa_s(temp_degc)  # refuses what is no water temperature
    t = temp_degc + _ZERO_K
    log = -139.34411 + 1.575701e5 / t - 6.642308e7 / t**2 + 1.2438e10 / t**3 - 8.621949e11 / t**4
    return math.exp(log) * 1e-3


def oxygen_diffusivity_m2_per_s(temp_degc: float) -> float:
    """Diffusion coefficient of oxygen in still water [m2/s].

    Other sources give up to a fifth more (2.0e-9 to 2.1e-9 at 20 degrees C).

    Source: HAN_BARTELS_1996, interpolation for light water.

    >>> round(oxygen_diffusivity_m2_per_s(25.0) * 1e9, 2)
    2.0
    """
    viscosity_pa_s(temp_degc)  # refuses what is no water temperature
    t = temp_degc + _ZERO_K
    return float(10.0 ** (-4.410 + 773.8 / t - (506.4 / t) ** 2)) * 1e-4


def resting_flux_kg_per_m2_s(
    standing_m: float, *, temp_degc: float, diffusivity_m2_per_s: float | None = None
) -> float:
    """Oxygen that seeps down to the sand through water at rest.

    Parameters
    ----------
    standing_m : float
        Depth of the standing water [m], above 0.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    diffusivity_m2_per_s : float or None
        Of oxygen [m2/s]; by default that of `oxygen_diffusivity_m2_per_s`.

    Returns
    -------
    float
        Greatest flux: saturated above, none left at the sand [kg/(m2 s)].

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Notes
    -----
    ``D Cs / z``. Warm or windy water turns over by itself and does better.

    Source
    ------
    FICK_1855.

    Examples
    --------
    >>> flux = resting_flux_kg_per_m2_s(0.05, temp_degc=20.0, diffusivity_m2_per_s=2.1e-9)
    >>> round(flux * 86400 * 1e6)
    33
    """
    positive("standing_m", standing_m)
    if diffusivity_m2_per_s is None:
        diffusivity_m2_per_s = oxygen_diffusivity_m2_per_s(temp_degc)
    positive("diffusivity_m2_per_s", diffusivity_m2_per_s)
    return diffusivity_m2_per_s * oxygen_saturation_kg_per_m3(temp_degc) / standing_m


def flowing_flux_kg_per_m2_s(rate_m_per_s: float, *, oxygen_kg_per_m3: float) -> float:
    """Oxygen that the flow brings, ``v C`` [kg/(m2 s)].

    >>> flux = flowing_flux_kg_per_m2_s(0.1 / 3600, oxygen_kg_per_m3=9.09e-3)
    >>> round(flux * 86400 * 1e6, -2)
    21800.0
    """
    not_negative("rate_m_per_s", rate_m_per_s)
    not_negative("oxygen_kg_per_m3", oxygen_kg_per_m3)
    return rate_m_per_s * oxygen_kg_per_m3


def time_to_low_oxygen_s(
    standing_m: float,
    *,
    depth_m: float,
    porosity_frac: float,
    temp_degc: float,
    demand_kg_per_m2_s: float,
    least_kg_per_m3: float = LEAST_OXYGEN.value,
) -> float:
    """Time that a stopped filter's own oxygen lasts.

    Parameters
    ----------
    standing_m : float
        Water over the sand [m], above 0.
    depth_m, porosity_frac : float
        The bed, whose voids hold oxygen too.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    demand_kg_per_m2_s : float
        What the bed uses [kg/(m2 s)], 0 or more: measure it in flow, rate times the drop of oxygen
        from raw water to filtrate.
    least_kg_per_m3 : float
        Where it is called low [kg/m3].

    Returns
    -------
    float
        Time [s]; infinite where as much seeps in as is used, 0 where the water holds no more than
        the least to begin with.

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    ``(Cs - Cmin) (z + n L) / (demand - D Cs / z)``: as if well mixed, and as if the demand did not
    fall with the oxygen. An order of size, to choose how long a stop may last.

    Source
    ------
    FICK_1855 for the seepage; the balance is elementary.

    Examples
    --------
    >>> demand = 0.1 / 3600 * 3e-3
    >>> t_s = time_to_low_oxygen_s(0.05, depth_m=0.7, porosity_frac=0.4, temp_degc=20.0,
    ...                            demand_kg_per_m2_s=demand)
    >>> round(t_s / 3600, 1)
    6.7
    """
    positive("depth_m", depth_m)
    part_share("porosity_frac", porosity_frac)
    not_negative("demand_kg_per_m2_s", demand_kg_per_m2_s)
    not_negative("least_kg_per_m3", least_kg_per_m3)
    wanting = demand_kg_per_m2_s - resting_flux_kg_per_m2_s(standing_m, temp_degc=temp_degc)
    spare = oxygen_saturation_kg_per_m3(temp_degc) - least_kg_per_m3
    if spare <= 0.0:
        return 0.0
    if wanting <= 0.0:
        return math.inf
    return spare * (standing_m + porosity_frac * depth_m) / wanting

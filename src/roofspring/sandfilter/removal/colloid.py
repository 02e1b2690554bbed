"""How often a particle that drifts past a grain touches it: the single-collector efficiency."""

from __future__ import annotations

import math

from roofspring.constants import GRAVITY_M_PER_S2, Sourced
from roofspring.errors.limits import part_share, positive
from roofspring.water import density_kg_per_m3, viscosity_pa_s

BOLTZMANN = Sourced(1.380649e-23, "J/K", "SI_2019", "exact")
ZERO_CELSIUS = Sourced(273.15, "K", "SI_2019", "0 degrees C, exact")
HAMAKER = Sourced(
    5e-21, "J", "engineering choice", "Hamaker constant of germs, water and sand; 1e-21 to 1e-20"
)


def collector_efficiency_frac(
    particle_m: float,
    *,
    particle_kg_per_m3: float,
    grain_m: float,
    porosity_frac: float,
    rate_m_per_s: float,
    temp_degc: float,
) -> float:
    """Share of the particles heading for a grain that touch it.

    Parameters
    ----------
    particle_m : float
        Diameter of the particle [m], above 0.
    particle_kg_per_m3 : float
        Its density [kg/m3]; lighter than water counts as neither sinking nor rising.
    grain_m : float
        Diameter of the sand grain [m], above 0.
    porosity_frac : float
        Of the bed [-], above 0 and below 1.
    rate_m_per_s : float
        Filtration rate: flow over plan area [m/s], above 0.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.

    Returns
    -------
    float
        Efficiency [-]. Times the share that stick, the rest of the formulas of this folder.

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    ``2.4 As**(1/3) NR**-0.081 NPe**-0.715 NvdW**0.052 + 0.55 As NR**1.675 NA**0.125
    + 0.22 NR**-0.24 NG**1.11 NvdW**0.053``: drift, touching in passing, and sinking.

    Source
    ------
    TUFENKJI_ELIMELECH_2004, equation 17; constants read in two independent quotations.

    Examples
    --------
    >>> eta = collector_efficiency_frac(1e-6, particle_kg_per_m3=1050.0, grain_m=0.3e-3,
    ...                                 porosity_frac=0.4, rate_m_per_s=0.1 / 3600, temp_degc=10.0)
    >>> round(eta, 4)
    0.0102
    """
    positive("particle_m", particle_m)
    positive("particle_kg_per_m3", particle_kg_per_m3)
    positive("grain_m", grain_m)
    part_share("porosity_frac", porosity_frac)
    positive("rate_m_per_s", rate_m_per_s)
    mu = viscosity_pa_s(temp_degc)
    thermal_j = BOLTZMANN.value * (temp_degc + ZERO_CELSIUS.value)
    diffusion = thermal_j / (3.0 * math.pi * mu * particle_m)
    g = (1.0 - porosity_frac) ** (1.0 / 3.0)
    shape = 2.0 * (1.0 - g**5) / (2.0 - 3.0 * g + 3.0 * g**5 - 2.0 * g**6)
    size = particle_m / grain_m
    peclet = rate_m_per_s * grain_m / diffusion
    pull = HAMAKER.value / thermal_j
    radius_m = particle_m / 2.0
    attraction = HAMAKER.value / (12.0 * math.pi * mu * radius_m**2 * rate_m_per_s)
    heavier = max(0.0, particle_kg_per_m3 - density_kg_per_m3(temp_degc))
    sinking = 2.0 / 9.0 * radius_m**2 * heavier * GRAVITY_M_PER_S2 / (mu * rate_m_per_s)
    drift = 2.4 * shape ** (1.0 / 3.0) * size**-0.081 * peclet**-0.715 * pull**0.052
    touch = 0.55 * shape * size**1.675 * attraction**0.125
    sink = 0.22 * size**-0.24 * sinking**1.11 * pull**0.053
    return float(drift + touch + sink)

"""What a tank weighs, empty and full."""

from __future__ import annotations

from roofspring.errors.limits import not_negative, positive
from roofspring.water import density_kg_per_m3

COLD_DEGC = 4.0
LIGHT_KG_PER_M3 = 20.0
"""Mass of an empty plastic tank over its volume, for a tank whose mass nobody gave; an engineering
choice on the light side, because light tanks blow away. A caged tote of 1 m3 has about 60."""


def full_mass_kg(volume_m3: float, *, empty_kg: float) -> float:
    """Mass of a tank full of cold water.

    Parameters
    ----------
    volume_m3 : float
        Volume to the brim [m3], above 0.
    empty_kg : float
        Mass of the empty tank with what stands under it [kg], 0 or more.

    Returns
    -------
    float
        Mass [kg].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    Water at 4 degrees C, when it is heaviest.

    Source
    ------
    KELL_1975, through `roofspring.water`.

    Examples
    --------
    >>> round(full_mass_kg(1.0, empty_kg=60.0))
    1060
    """
    positive("volume_m3", volume_m3)
    not_negative("empty_kg", empty_kg)
    return volume_m3 * density_kg_per_m3(COLD_DEGC) + empty_kg


def light_mass_kg(volume_m3: float) -> float:
    """Mass of an empty plastic tank, low, where nobody gave it [kg]; see `LIGHT_KG_PER_M3`.

    >>> light_mass_kg(1.9)
    38.0
    """
    positive("volume_m3", volume_m3)
    return LIGHT_KG_PER_M3 * volume_m3

"""Density and viscosity of fresh water against temperature, at atmospheric pressure."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError

COLDEST_DEGC = 0.0
WARMEST_DEGC = 40.0
REFERENCE_DEGC = 20.0
"""Temperature to which filter rates are usually corrected."""

Values = TypeVar("Values", float, npt.NDArray[np.float64])
"""One temperature, or a series of them; the answer has the same shape."""


def density_kg_per_m3(temp_degc: Values) -> Values:
    """Density of air-free water at atmospheric pressure.

    Parameters
    ----------
    temp_degc : float or (n,) array
        Water temperature [degrees C], 0 to 40.

    Returns
    -------
    float or (n,) array
        Density [kg/m3].

    Raises
    ------
    RangeError (DOM-001)
        A temperature is not a number or lies outside 0 to 40 degrees C.

    Notes
    -----
    A ratio of polynomials in the temperature on the scale of 1968. It lies within 0.004 kg/m3 of
    the IAPWS formulation of 1995 over this range.

    Source
    ------
    KELL_1975, equation 16.

    Examples
    --------
    >>> round(density_kg_per_m3(20.0), 2)
    998.2
    """
    _check(temp_degc)
    t = temp_degc
    upper = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return upper / (1.0 + 16.879850e-3 * t)


def viscosity_pa_s(temp_degc: Values) -> Values:
    """Dynamic viscosity of liquid water at 0.1 MPa.

    Parameters
    ----------
    temp_degc : float or (n,) array
        Water temperature [degrees C], 0 to 40.

    Returns
    -------
    float or (n,) array
        Dynamic viscosity [Pa s].

    Raises
    ------
    RangeError (DOM-001)
        A temperature is not a number or lies outside 0 to 40 degrees C.

    Notes
    -----
    ``mu = 1e-6 sum(a_i (T / 300 K)**b_i)`` with four terms; the source gives it for 253.15 to
    383.15 K.

    Source
    ------
    IAPWS_R12_2008, equation for liquid water at 0.1 MPa.

    Examples
    --------
    >>> round(viscosity_pa_s(20.0), 7)
    0.0010016
    """
    _check(temp_degc)
    t = (temp_degc + 273.15) / 300.0
    mu_micro: Values = 280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40.0
    return 1e-6 * mu_micro


def kinematic_viscosity_m2_per_s(temp_degc: Values) -> Values:
    """Kinematic viscosity [m2/s]: `viscosity_pa_s` over `density_kg_per_m3`, 0 to 40 degrees C.

    >>> round(kinematic_viscosity_m2_per_s(10.0) * 1e6, 4)
    1.3063
    """
    return viscosity_pa_s(temp_degc) / density_kg_per_m3(temp_degc)


def viscosity_ratio(temp_degc: Values, *, reference_degc: float = REFERENCE_DEGC) -> Values:
    """How many times stiffer water is than at the reference: ``nu(T) / nu(reference)``.

    A laminar flow at a fixed head is divided by this; a filter rate measured at ``temp_degc`` is
    multiplied by it before it is compared with the rate at the reference temperature.

    >>> round(1.0 / viscosity_ratio(5.0), 3)
    0.661
    """
    return kinematic_viscosity_m2_per_s(temp_degc) / kinematic_viscosity_m2_per_s(reference_degc)


def _check(temp_degc: Values) -> None:
    if isinstance(temp_degc, float) and COLDEST_DEGC <= temp_degc <= WARMEST_DEGC:
        return
    values = np.atleast_1d(np.asarray(temp_degc, dtype=np.float64))
    outside = ~((values >= COLDEST_DEGC) & (values <= WARMEST_DEGC))
    if outside.any():
        raise RangeError(
            Problem(
                "DOM-001",
                "the water temperature is outside the range of the water formulas",
                where=f"temp_degc, value {int(np.argmax(outside)) + 1} of {values.size}",
                got=f"{values[np.argmax(outside)]:g} degrees C",
                allowed=f"{COLDEST_DEGC:g} to {WARMEST_DEGC:g} degrees C",
                next="check the sign and the unit; for air below freezing give the temperature "
                "of the water, not of the air",
            )
        )

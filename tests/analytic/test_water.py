"""Water properties against the iapws package, an implementation of the international standard."""

from __future__ import annotations

import iapws
import numpy as np
import pytest
from iapws._iapws import _Liquid

from roofspring.errors import RangeError
from roofspring.water import (
    density_kg_per_m3,
    kinematic_viscosity_m2_per_s,
    viscosity_pa_s,
    viscosity_ratio,
)

TEMPS_DEGC = [0.0, 0.5, 2.0, 4.0, 8.0, 12.5, 17.0, 20.0, 26.0, 33.0, 40.0]


@pytest.mark.parametrize("temp_degc", TEMPS_DEGC)
def test_viscosity_is_the_standard_equation_for_liquid_at_a_tenth_of_a_megapascal(
    temp_degc: float,
) -> None:
    # The same equation in another program: equal but for the last bits.
    standard = _Liquid(temp_degc + 273.15, P=0.1)["mu"]
    assert viscosity_pa_s(temp_degc) == pytest.approx(standard, rel=1e-12)


@pytest.mark.parametrize("temp_degc", TEMPS_DEGC[1:])
def test_viscosity_against_the_full_formulation(temp_degc: float) -> None:
    # The release states 1 % at these conditions; the short equation follows the full one closer.
    full = iapws.IAPWS95(T=temp_degc + 273.15, P=0.101325)
    assert viscosity_pa_s(temp_degc) == pytest.approx(full.mu, rel=1e-4)
    assert kinematic_viscosity_m2_per_s(temp_degc) == pytest.approx(full.mu / full.rho, rel=1e-4)


@pytest.mark.parametrize("temp_degc", TEMPS_DEGC[1:])
def test_density_against_the_full_formulation(temp_degc: float) -> None:
    # Kell's water of 1975 and the standard of 1995 differ by up to 0.004 kg/m3.
    full = iapws.IAPWS95(T=temp_degc + 273.15, P=0.101325)
    assert density_kg_per_m3(temp_degc) == pytest.approx(full.rho, abs=0.004)


def test_water_is_densest_at_four_degrees() -> None:
    temps_degc = np.linspace(0.0, 40.0, 4001)
    assert temps_degc[np.argmax(density_kg_per_m3(temps_degc))] == pytest.approx(3.98, abs=0.02)


def test_a_series_gives_what_its_values_give() -> None:
    temps_degc = np.array(TEMPS_DEGC)
    for formula in (density_kg_per_m3, viscosity_pa_s, kinematic_viscosity_m2_per_s):
        single = [formula(t) for t in TEMPS_DEGC]
        np.testing.assert_allclose(formula(temps_degc), single, rtol=1e-14)
    assert np.all(np.diff(viscosity_pa_s(temps_degc)) < 0.0)
    assert viscosity_ratio(temps_degc)[7] == 1.0


@pytest.mark.parametrize("temp_degc", [-0.001, 40.001, float("nan"), float("inf")])
def test_outside_the_range_is_refused(temp_degc: float) -> None:
    with pytest.raises(RangeError, match="DOM-001"):
        density_kg_per_m3(temp_degc)
    with pytest.raises(RangeError, match="value 2 of 3"):
        viscosity_pa_s(np.array([5.0, temp_degc, 6.0]))

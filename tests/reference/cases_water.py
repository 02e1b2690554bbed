"""Water properties and unit conversions."""

from __future__ import annotations

from functools import partial

from cases import Case
from roofspring.constants import INCH_M, US_GALLON_M3
from roofspring.units import parse
from roofspring.water import (
    density_kg_per_m3,
    kinematic_viscosity_m2_per_s,
    viscosity_pa_s,
    viscosity_ratio,
)

_IAPWS = "at 0.101325 MPa, through a general library"

# temperature [degrees C], density [kg/m3], dynamic [mPa s], kinematic [1e-6 m2/s]
_TABLE = [
    (0.01, "999.844", "1.7911", "1.7914"),
    (4.0, "999.975", "1.5673", "1.5673"),
    (5.0, "999.967", "1.5182", "1.5182"),
    (10.0, "999.702", "1.3059", "1.3063"),
    (15.0, "999.103", "1.1376", "1.1386"),
    (20.0, "998.207", "1.0016", "1.0034"),
    (25.0, "997.048", "0.8900", "0.8927"),
    (30.0, "995.649", "0.7972", "0.8007"),
    (35.0, "994.033", "0.7191", "0.7234"),
    (40.0, "992.216", "0.6527", "0.6578"),
]


def _row(temp_degc: float, density: str, dynamic: str, kinematic: str) -> list[Case]:
    return [
        Case(
            "S18",
            f"density of water at {temp_degc:g} °C",
            lambda: density_kg_per_m3(temp_degc),
            density,
            "kg/m³",
            "IAPWS_R6_95",
            _IAPWS,
            "computed",
            within=0.005,
            note="Kell's formula and the newer one differ by up to 0.004 kg/m³",
        ),
        Case(
            "S18",
            f"viscosity of water at {temp_degc:g} °C",
            lambda: viscosity_pa_s(temp_degc) * 1e3,
            dynamic,
            "mPa s",
            "IAPWS_R12_2008",
            _IAPWS,
            "computed",
            within=0.0001,
            note="One unit in the last digit: ours is the formula for 0.1 MPa",
        ),
        Case(
            "S18",
            f"kinematic viscosity of water at {temp_degc:g} °C",
            lambda: kinematic_viscosity_m2_per_s(temp_degc) * 1e6,
            kinematic,
            "10⁻⁶ m²/s",
            "IAPWS_R12_2008",
            _IAPWS,
            "computed",
            within=0.0001,
            note="One unit in the last digit: ours is the formula for 0.1 MPa",
        ),
    ]


def _rate(id_: str, text: str, printed: str, source: str, where: str, note: str = "") -> Case:
    return Case(
        id_,
        f"filtration rate {text}",
        lambda: parse(text, to="m/s") * 3600.0,
        printed,
        "m/h",
        source,
        f"the limit{where}; its conversion is our own arithmetic",
        "computed",
        note=note,
    )


def _viscosity_mpa_s(temp_degc: float) -> float:
    return viscosity_pa_s(temp_degc) * 1e3


_ROUNDED = "The book rounds to 0.09 and 0.24"

CASES = [
    *(case for row in _TABLE for case in _row(*row)),
    Case(
        "S25",
        "laminar flow at 5 °C over flow at 20 °C",
        lambda: 1.0 / viscosity_ratio(5.0),
        "0.661",
        "",
        "",
        "ratio of the kinematic viscosities above",
        "computed",
    ),
    Case(
        "S25",
        "laminar flow at 10 °C over flow at 20 °C",
        lambda: 1.0 / viscosity_ratio(10.0),
        "0.768",
        "",
        "",
        "ratio of the kinematic viscosities above",
        "computed",
    ),
    *(
        Case(
            "S39",
            f"viscosity at {temp:g} °C, beside the simple formula of the removal experiments",
            partial(_viscosity_mpa_s, temp),
            printed,
            "mPa s",
            "SCHIJVEN_2013",
            "equation 7, as quoted, 2.414e-5 × 10^(247.8/(T + 133)); its number is our arithmetic",
            "computed",
            rel=0.005,
            note="The formula is known to lie within 0.4 % of IAPWS_R12_2008 from 10 °C up",
        )
        for temp, printed in ((10.0, "1.3050"), (20.0, "1.0054"))
    ),
    _rate("S01", "45 gpd/ft2", "0.07640", "MINN_R_4720", ""),
    _rate("S01", "150 gpd/ft2", "0.25466", "MINN_R_4720", ""),
    _rate("S01", "230 gpd/ft2", "0.39048", "MINN_R_4720", ""),
    _rate("S02", "0.04 gpm/ft2", "0.0978", "AWWA_ASCE_CH9", ", page 9.11", _ROUNDED),
    _rate("S02", "0.10 gpm/ft2", "0.2445", "AWWA_ASCE_CH9", ", page 9.11", _ROUNDED),
    Case(
        "Y4",
        "one inch of rain on one square foot",
        lambda: INCH_M * (12.0 * INCH_M) ** 2 / US_GALLON_M3,
        "0.623377",
        "US gal",
        "NIST_HB44",
        "144/231 of a gallon, exact by definition",
        "computed",
    ),
]

"""Disinfection sums: chlorine, light, boiling; and what each does not do."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roofspring.safety.disinfection.bleach import (
    bleach_drops,
    bleach_ml,
    dose_given_mg_per_l,
    dose_wanted_mg_per_l,
    shock_ml,
    strength_by_mass_percent,
)
from roofspring.safety.disinfection.boiling import boil_time_s, boiling_point_degc
from roofspring.safety.disinfection.chlorine import (
    Baffling,
    acid_frac,
    baffling,
    chlorine_left_mg_per_l,
    contact_time_s,
    ct_mg_min_per_l,
    giardia_ct_mg_min_per_l,
    mixed_residual_frac,
    rows,
    virus_ct_mg_min_per_l,
)
from roofspring.safety.disinfection.light import (
    CLASS_A,
    TRANSMITTANCE_LEAST,
    absorbance_per_cm,
    uv_dose_mj_per_cm2,
    uv_log10,
    water_factor_frac,
)

__all__ = [
    "CLASS_A",
    "TRANSMITTANCE_LEAST",
    "Baffling",
    "Limits",
    "absorbance_per_cm",
    "acid_frac",
    "baffling",
    "bleach_drops",
    "bleach_ml",
    "boil_time_s",
    "boiling_point_degc",
    "chlorine_left_mg_per_l",
    "contact_time_s",
    "ct_mg_min_per_l",
    "dose_given_mg_per_l",
    "dose_wanted_mg_per_l",
    "giardia_ct_mg_min_per_l",
    "mixed_residual_frac",
    "shock_ml",
    "strength_by_mass_percent",
    "uv_dose_mj_per_cm2",
    "uv_log10",
    "virus_ct_mg_min_per_l",
    "water_factor_frac",
    "what_it_does",
]


@dataclass(frozen=True)
class Limits:
    """What a method does, does not do, and what must never be done with it."""

    method: str
    does: str
    does_not: str
    never: str
    source: str
    seen: str


@cache
def what_it_does() -> dict[str, Limits]:
    """Every method by its name.

    >>> "living sand filter" in what_it_does()["chlorine"].never
    True
    """
    return {r["method"]: Limits(**r) for r in rows("limits")}

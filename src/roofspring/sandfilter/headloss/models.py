"""The published head-loss formulas, one class each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from roofspring.constants import GRAVITY_M_PER_S2, SECONDS_PER_HOUR
from roofspring.sandfilter.bed import (
    clean_bed_loss_m,
    conductivity_m_per_s,
    hazen_conductivity_m_per_s,
)
from roofspring.sandfilter.headloss.base import CleanBed, reynolds_of
from roofspring.sandfilter.validity import Bound, Validity
from roofspring.water import COLDEST_DEGC, WARMEST_DEGC, kinematic_viscosity_m2_per_s

LAMINAR_REYNOLDS = 6.0
"""Reynolds number up to which the laminar formulas hold (DAVIS_2010, page 11-13)."""

_TEMP = Bound("water temperature", COLDEST_DEGC, WARMEST_DEGC, "°C")
_LAMINAR = Bound("Reynolds number", 0.0, LAMINAR_REYNOLDS)


@dataclass(frozen=True)
class KozenyCarman:
    """``h = 36 k nu v L (1-e)**2 / (g e**3 (phi d)**2)`` with k = 5, on the specific diameter."""

    name: ClassVar[str] = "kozeny-carman"
    title: ClassVar[str] = "Kozeny and Carman"
    source: ClassVar[str] = "CARMAN_1937"
    is_linear: ClassVar[bool] = True
    validity: ClassVar[Validity] = Validity(
        {"reynolds": _LAMINAR, "temp_degc": _TEMP}, "DAVIS_2010", "page 11-13"
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        return clean_bed_loss_m(
            rate_m_per_s,
            depth_m=bed.depth_m,
            conductivity_m_per_s=conductivity_m_per_s(
                bed.grain_m,
                temp_degc=temp_degc,
                porosity_frac=bed.porosity_frac,
                sphericity_frac=bed.sphericity_frac,
            ),
        )


@dataclass(frozen=True)
class FairHatch:
    """``h = k nu (6/phi)**2 ((1-e)**2/e**3) (L v/g) sum(p/d**2)`` over the sieve curve.

    ``k`` is 5 with sieve openings, 6 with the size at which grains part. On one size it is the
    formula of Kozeny and Carman.
    """

    k: float = 5.0
    name: ClassVar[str] = "fair-hatch"
    title: ClassVar[str] = "Fair and Hatch"
    source: ClassVar[str] = "FAIR_HATCH_1933"
    is_linear: ClassVar[bool] = True
    validity: ClassVar[Validity] = Validity(
        {"reynolds": _LAMINAR, "temp_degc": _TEMP}, "DAVIS_2010", "table 11-2 and page 11-13"
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        e = bed.porosity_frac
        nu = kinematic_viscosity_m2_per_s(temp_degc)
        per_m2 = math.fsum(size.share_frac / size.grain_m**2 for size in bed.sizes)
        shape = (6.0 / bed.sphericity_frac) ** 2
        voids = (1.0 - e) ** 2 / e**3
        return self.k * nu * shape * voids * bed.depth_m * rate_m_per_s / GRAVITY_M_PER_S2 * per_m2


@dataclass(frozen=True)
class Ergun:
    """Viscous term with 150 and inertial term with 1.75, on the specific diameter.

    ``h/L = 150 nu v (1-e)**2/(g e**3 (phi d)**2) + 1.75 (1-e) v**2/(g e**3 phi d)``. Its tested
    range begins far above the rates of a slow filter, where only the viscous term is left.
    """

    viscous: float = 150.0
    inertial: float = 1.75
    name: ClassVar[str] = "ergun"
    title: ClassVar[str] = "Ergun"
    source: ClassVar[str] = "ERGUN_1952"
    is_linear: ClassVar[bool] = False
    validity: ClassVar[Validity] = Validity(
        {
            "ergun_reynolds": Bound("Reynolds number over 1 less porosity", 1.0, 2300.0),
            "temp_degc": _TEMP,
        },
        "FLUIDS_DOCS",
        "packed_bed, which quotes Jones and Krier (1983)",
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        viscous_m = clean_bed_loss_m(
            rate_m_per_s,
            depth_m=bed.depth_m,
            conductivity_m_per_s=conductivity_m_per_s(
                bed.grain_m,
                temp_degc=temp_degc,
                porosity_frac=bed.porosity_frac,
                sphericity_frac=bed.sphericity_frac,
                carman=self.viscous,
            ),
        )
        e = bed.porosity_frac
        across_m = bed.sphericity_frac * bed.grain_m
        inertial = self.inertial * (1.0 - e) / (GRAVITY_M_PER_S2 * e**3 * across_m)
        return viscous_m + inertial * rate_m_per_s**2 * bed.depth_m


@dataclass(frozen=True)
class Hazen:
    """``K [m/day] = C d10**2 (0.70 + 0.03 T)``, d10 in mm: no porosity and no shape in it."""

    coefficient: float = 1000.0
    name: ClassVar[str] = "hazen"
    title: ClassVar[str] = "Hazen"
    source: ClassVar[str] = "HAZEN_1892"
    is_linear: ClassVar[bool] = True
    validity: ClassVar[Validity] = Validity(
        {
            "d10_m": Bound("effective size", 0.1, 3.0, "mm", 1e3),
            "uniformity": Bound("uniformity coefficient", 1.0, 5.0),
            "temp_degc": _TEMP,
        },
        "HAZEN_1892",
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        return clean_bed_loss_m(
            rate_m_per_s,
            depth_m=bed.depth_m,
            conductivity_m_per_s=hazen_conductivity_m_per_s(
                bed.d10_m, temp_degc=temp_degc, coefficient=self.coefficient
            ),
        )


@dataclass(frozen=True)
class Rose:
    """``h = (1.067 v**2 L / (phi g e**4)) sum(C_D f/d)`` over the sieve curve.

    ``C_D = 24/R`` up to a Reynolds number of 0.5 and ``24/R + 3/sqrt(R) + 0.34`` above it, each
    size with its own R.
    """

    name: ClassVar[str] = "rose"
    title: ClassVar[str] = "Rose"
    source: ClassVar[str] = "ROSE_1945"
    is_linear: ClassVar[bool] = False
    validity: ClassVar[Validity] = Validity(
        {"reynolds": _LAMINAR, "temp_degc": _TEMP}, "DAVIS_2010", "equation 11-9 and page 11-13"
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        if rate_m_per_s == 0.0:
            return 0.0
        per_m = math.fsum(
            drag_of(
                reynolds_of(
                    rate_m_per_s,
                    grain_m=size.grain_m,
                    sphericity_frac=bed.sphericity_frac,
                    temp_degc=temp_degc,
                )
            )
            * size.share_frac
            / size.grain_m
            for size in bed.sizes
        )
        scale = bed.sphericity_frac * GRAVITY_M_PER_S2 * bed.porosity_frac**4
        return 1.067 * rate_m_per_s**2 * bed.depth_m / scale * per_m


@dataclass(frozen=True)
class HuismanWood:
    """``K [m/h] = 150 (0.72 + 0.028 T) (e**3/(1-e)**2) phi**2 ds**2``, ds in mm.

    Carman's formula with the viscosity as a straight line, which is within 3 % up to 25 degrees C.
    """

    name: ClassVar[str] = "huisman-wood"
    title: ClassVar[str] = "Huisman and Wood"
    source: ClassVar[str] = "HUISMAN_WOOD_1974"
    is_linear: ClassVar[bool] = True
    validity: ClassVar[Validity] = Validity(
        {
            "reynolds": _LAMINAR,
            "uniformity": Bound("uniformity coefficient", 1.0, 5.0),
            "temp_degc": Bound("water temperature", 0.0, 25.0, "°C"),
        },
        "HUISMAN_WOOD_1974",
        "the temperatures are those where its line of viscosity is within 3 % of IAPWS_R12_2008",
    )

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""
        e = bed.porosity_frac
        across_mm = bed.sphericity_frac * bed.grain_m * 1e3
        m_per_h = 150.0 * (0.72 + 0.028 * temp_degc) * e**3 / (1.0 - e) ** 2 * across_mm**2
        return clean_bed_loss_m(
            rate_m_per_s, depth_m=bed.depth_m, conductivity_m_per_s=m_per_h / SECONDS_PER_HOUR
        )


def drag_of(reynolds: float) -> float:
    """Drag coefficient of a grain in water [-], ``24/R`` up to 0.5 and with two terms more above.

    Source: DAVIS_2010, equations 10-10 and 10-11.

    >>> round(drag_of(3.1370), 6), round(drag_of(0.39526), 3)
    (9.684429, 60.72)
    """
    if reynolds <= 0.5:
        return 24.0 / reynolds
    return 24.0 / reynolds + 3.0 / math.sqrt(reynolds) + 0.34

"""Pressure on the ground, and what codes presume the ground bears."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import GRAVITY_M_PER_S2, INCH_M
from roofspring.errors.limits import positive

_POUND_KG = 0.45359237
PSF_PA = _POUND_KG * GRAVITY_M_PER_S2 / (12.0 * INCH_M) ** 2
"""One pound-force on a square foot [Pa]; exact by definition of the pound and the inch."""
RUNNERS_COUNT = 3
RUNNER_WIDTH_M = 0.1
"""A pallet stands on three boards of this width; an engineering choice after common pallets."""


@dataclass(frozen=True)
class Soil:
    """What a code presumes a soil bears without a test.

    Attributes
    ----------
    name : str
    bears_pa : float
        Presumptive bearing [Pa]; 0 where a code gives none.
    note, source, seen : str
    """

    name: str
    bears_pa: float
    note: str
    source: str
    seen: str


@cache
def bearing_soils() -> dict[str, Soil]:
    """The table of soils by name, in the order of the file.

    >>> round(bearing_soils()["sand"].bears_pa / 1e3, 1)
    95.8
    """
    path = resources.files("roofspring.structure").joinpath("tables/bearing.csv")
    return {
        row["soil"]: Soil(
            row["soil"],
            float(row["bears_psf"]) * PSF_PA,
            row["note"],
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def pressure_pa(mass_kg: float, *, area_m2: float) -> float:
    """Pressure of a mass on the area it stands on.

    Parameters
    ----------
    mass_kg : float
        [kg], above 0.
    area_m2 : float
        Area that really touches [m2], above 0.

    Returns
    -------
    float
        Mean pressure [Pa]; under one edge of a tank that leans it is more.

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    Weight over area.

    Source
    ------
    Elementary statics.

    Examples
    --------
    >>> round(pressure_pa(1100.0, area_m2=3 * 0.1 * 1.2) / 1e3)
    30
    """
    positive("mass_kg", mass_kg)
    positive("area_m2", area_m2)
    return mass_kg * GRAVITY_M_PER_S2 / area_m2


def runner_area_m2(length_m: float) -> float:
    """Area under the runners of a pallet of a length [m2].

    >>> round(runner_area_m2(1.2), 2)
    0.36
    """
    positive("length_m", length_m)
    return RUNNERS_COUNT * RUNNER_WIDTH_M * length_m

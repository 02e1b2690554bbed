"""What every head-loss model takes and gives."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import part_share, positive, share
from roofspring.sandfilter.bed import (
    DEFAULT_POROSITY_FRAC,
    DEFAULT_SPHERICITY_FRAC,
    specific_diameter_m,
)
from roofspring.sandfilter.validity import Validity
from roofspring.water import kinematic_viscosity_m2_per_s

_SUM_SLACK = 0.005
"""Shares of a sand may miss 1 by this much: sieve masses are rounded."""


@dataclass(frozen=True)
class SizeClass:
    """Share of the sand by mass, and the grain size [m] that stands for it.

    Between two sieves that size is the geometric mean of their openings.
    """

    share_frac: float
    grain_m: float


@dataclass(frozen=True)
class CleanBed:
    """A bed of clean sand.

    Attributes
    ----------
    depth_m : float
        Depth of the sand [m].
    d10_m : float
        Effective size [m].
    uniformity : float
        d60 over d10 [-], 1 to 5.
    porosity_frac, sphericity_frac : float
        Packing and shape of the grains [-].
    classes : tuple of SizeClass
        The sieve curve, for the models that add up over grain sizes. Without it they take the one
        size of `specific_diameter_m`.

    Raises
    ------
    RangeError (DOM-002, DOM-003, DOM-006)
        A value outside its range.
    RangeError (BED-001)
        The shares of the size classes do not add up to 1.
    """

    depth_m: float
    d10_m: float
    uniformity: float
    porosity_frac: float = DEFAULT_POROSITY_FRAC
    sphericity_frac: float = DEFAULT_SPHERICITY_FRAC
    classes: tuple[SizeClass, ...] = ()

    def __post_init__(self) -> None:
        positive("depth_m", self.depth_m)
        part_share("porosity_frac", self.porosity_frac)
        positive("sphericity_frac", self.sphericity_frac)
        share("sphericity_frac", self.sphericity_frac)
        specific_diameter_m(self.d10_m, uniformity=self.uniformity)
        for size in self.classes:
            share("share_frac", size.share_frac)
            positive("grain_m", size.grain_m)
        total = math.fsum(size.share_frac for size in self.classes)
        if self.classes and abs(total - 1.0) > _SUM_SLACK:
            raise RangeError(
                Problem(
                    "BED-001",
                    "the shares of the grain sizes do not add up to the whole sand",
                    where="classes",
                    got=f"{total:.4g}",
                    allowed=f"1, within {_SUM_SLACK:g}",
                    next="give the share left between each two sieves, and what is finer than "
                    "the finest and coarser than the coarsest",
                )
            )

    @property
    def grain_m(self) -> float:
        """The one size that stands for the sand [m]."""
        return specific_diameter_m(self.d10_m, uniformity=self.uniformity)

    @property
    def sizes(self) -> tuple[SizeClass, ...]:
        """The sieve curve, or the whole sand as its one size."""
        return self.classes or (SizeClass(1.0, self.grain_m),)


@dataclass(frozen=True)
class HeadLoss:
    """Head lost in clean sand by one model.

    Attributes
    ----------
    model : str
        Its name in `MODELS`.
    loss_m : float
        Head lost [m].
    reynolds : float
        ``phi d v / nu`` of the one grain size [-].
    outside : tuple of str
        What of the case the model was not made for, one clause each; empty where it holds.
    """

    model: str
    loss_m: float
    reynolds: float
    outside: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "model": self.model,
            "loss_m": self.loss_m,
            "reynolds": self.reynolds,
            "outside": list(self.outside),
        }


class HeadLossModel(Protocol):
    """One way to reckon the head that clean sand takes."""

    @property
    def name(self) -> str:
        """As in `MODELS`."""

    @property
    def title(self) -> str:
        """For people."""

    @property
    def source(self) -> str:
        """Bibliography key."""

    @property
    def is_linear(self) -> bool:
        """Whether twice the rate takes exactly twice the head."""

    @property
    def validity(self) -> Validity:
        """What it was made for."""

    def loss_m(self, rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> float:
        """Head lost [m]."""


def reynolds_of(
    rate_m_per_s: float, *, grain_m: float, sphericity_frac: float, temp_degc: float
) -> float:
    """Reynolds number of the flow round a grain, ``phi d v / nu`` [-] (DAVIS_2010, table 11-2).

    >>> round(reynolds_of(0.1 / 3600, grain_m=0.4e-3, sphericity_frac=0.8, temp_degc=10.0), 4)
    0.0068
    """
    return sphericity_frac * grain_m * rate_m_per_s / kinematic_viscosity_m2_per_s(temp_degc)

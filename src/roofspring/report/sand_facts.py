"""What the sections of the sand page are made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from roofspring.network.sand import Drain
from roofspring.reliability.filter_record import FilterRecord
from roofspring.reliability.ripe_trials import Trial
from roofspring.report.sand_document import SandSection
from roofspring.sandfilter.bed_study import BedStudy
from roofspring.sandfilter.study import SandStudy
from roofspring.units import UnitSet


@dataclass(frozen=True)
class LaidBed:
    """One filter's bed, and what is not in its study.

    Attributes
    ----------
    study : BedStudy
    assumed : tuple of str
        What of it is nobody's word but ours, one clause each.
    known : bool
        Whether it is reckoned with the sand that was looked at, and not with what is wanted.
    hole_limit_m, hole_design_m : float or None
        Throttle holes for the limit and for the design rate; None where none is needed.
    """

    study: BedStudy
    assumed: tuple[str, ...] = ()
    known: bool = True
    hole_limit_m: float | None = None
    hole_design_m: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        made = {"filter": self.study.case.name, **self.study.to_dict()}
        made["assumed"], made["sand_known"] = list(self.assumed), self.known
        made["throttle"] |= {
            "limit_hole_mm": None if self.hole_limit_m is None else 1e3 * self.hole_limit_m,
            "design_hole_mm": None if self.hole_design_m is None else 1e3 * self.hole_design_m,
        }
        return made


@dataclass(frozen=True)
class SandFacts:
    """All that the sections are made from.

    Attributes
    ----------
    study : SandStudy
        The grains.
    drain : Drain or None
    units : {"metric", "us"}
    beds : tuple of LaidBed
        Of each filter; the sections show the first and say where another differs.
    records : tuple of FilterRecord
        What a run saw of each filter; empty without a run.
    trials : tuple of Trial
        What would let seldom ripe ones ripen; empty where all are.
    pictures : bool
    """

    study: SandStudy
    drain: Drain | None
    units: UnitSet
    beds: tuple[LaidBed, ...] = ()
    records: tuple[FilterRecord, ...] = ()
    trials: tuple[Trial, ...] = ()
    pictures: bool = True


SectionMaker = Callable[[SandFacts], SandSection | None]

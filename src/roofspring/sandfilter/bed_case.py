"""One filter as it is to be laid and run: all that the study of its bed is made from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.constants import SECONDS_PER_HOUR
from roofspring.errors.limits import known, not_negative, part_share, positive
from roofspring.sandfilter.bed import DEFAULT_POROSITY_FRAC, DEFAULT_SPHERICITY_FRAC
from roofspring.sandfilter.headloss import CleanBed, SizeClass
from roofspring.sandfilter.heights import HOUSEHOLD_CREST_M
from roofspring.sandfilter.ripening import cleanings
from roofspring.sandfilter.skin import GROWTH_LAWS, GrowthLaw, Season

DESIGN_M_PER_S = 0.1 / SECONDS_PER_HOUR
"""Rate of a filter that nothing else is said of: within what VISSCHER_1990 and others allow."""
LIMIT_M_PER_S = 0.4 / SECONDS_PER_HOUR
HEAD_M = 0.5
"""Highest water over the weir where none is given: engineering choice, as in a run."""
SAND_M, LEAST_SAND_M, SCRAPE_M = 0.7, 0.5, 0.015
COLD_DEGC, WARM_DEGC = 4.0, 20.0
"""Water at which head loss is set side by side."""
MONTHS = 12


@dataclass(frozen=True)
class BedCase:
    """A filter, or several built alike, and the sand that would lie in it.

    Attributes
    ----------
    name : str
        What findings call it.
    area_m2 : float
        Sand area of one filter.
    sand_m, least_sand_m, scrape_m : float
        Depth of new sand, depth at which new sand must come, sand taken by one scrape.
    gravel_m : float or None
        Gravel and drain under the sand.
    d10_m, uniformity, porosity_frac, sphericity_frac : float
        The sand in the bed.
    classes : tuple of SizeClass
        Its sieve curve; empty where there is none.
    fines_frac, finer_150_frac : float or None
        Shares finer than 0.075 mm and than 0.15 mm.
    head_m : float
        Highest water over the weir.
    crest_over_sand_m : float or None
        Weir crest over the sand; None where it is not given.
    design_m_per_s, limit_m_per_s : float
        Rate that it is reckoned for, and the most that it may run.
    throttle_m_per_s : float or None
        Rate that its throttle passes; None without one.
    inflow_m3_per_s, inlet_over_weir_m : float or None
        Most that the inlet lets in, and its height over the weir.
    lateral_m_per_s : float or None
        Greatest speed in the drain pipes.
    filters_count : int
        Side by side.
    law : GrowthLaw
        How its skin grows.
    way : str
        How it is cleaned, a name in `cleanings`.
    waste_s : float or None
        To waste after a cleaning; None for the usual time of the way at the water's warmth.
    seasons : tuple of Season
    temps_degc : tuple of float
        Water temperature of each month.
    seen_per_year : float or None
        Cleanings a year that a run or a log saw; None reckons them from the runs.
    assumed : frozenset of str
        Fields of `acceptance.FilterFacts` that nobody gave: they are not judged.
    """

    name: str = "filter"
    area_m2: float = 1.0
    sand_m: float = SAND_M
    least_sand_m: float = LEAST_SAND_M
    scrape_m: float = SCRAPE_M
    gravel_m: float | None = None
    d10_m: float = 0.25e-3
    uniformity: float = 2.0
    porosity_frac: float = DEFAULT_POROSITY_FRAC
    sphericity_frac: float = DEFAULT_SPHERICITY_FRAC
    classes: tuple[SizeClass, ...] = ()
    fines_frac: float | None = None
    finer_150_frac: float | None = None
    head_m: float = HEAD_M
    crest_over_sand_m: float | None = None
    design_m_per_s: float = DESIGN_M_PER_S
    limit_m_per_s: float = LIMIT_M_PER_S
    throttle_m_per_s: float | None = None
    inflow_m3_per_s: float | None = None
    inlet_over_weir_m: float | None = None
    lateral_m_per_s: float | None = None
    filters_count: int = 1
    law: GrowthLaw = GROWTH_LAWS["surface-cake"]
    way: str = "scrape"
    waste_s: float | None = None
    seasons: tuple[Season, ...] = ()
    temps_degc: tuple[float, ...] = (10.0,) * MONTHS
    seen_per_year: float | None = None
    assumed: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name in ("area_m2", "sand_m", "scrape_m", "d10_m", "head_m", "design_m_per_s",
                     "limit_m_per_s"):  # fmt: skip
            positive(name, getattr(self, name))
        not_negative("least_sand_m", self.least_sand_m)
        part_share("porosity_frac", self.porosity_frac)
        positive("filters_count", float(self.filters_count))
        known("way", self.way, cleanings())

    @property
    def bed(self) -> CleanBed:
        """The clean sand, with its sieve curve where there is one."""
        return CleanBed(
            self.sand_m,
            self.d10_m,
            self.uniformity,
            self.porosity_frac,
            self.sphericity_frac,
            self.classes,
        )

    @property
    def width_m(self) -> float:
        """Side of a square box of that area."""
        return math.sqrt(self.area_m2)

    @property
    def crest_m(self) -> float:
        """Weir crest over the sand: as given, or that of household filters."""
        return HOUSEHOLD_CREST_M if self.crest_over_sand_m is None else self.crest_over_sand_m

    @property
    def mean_degc(self) -> float:
        """Mean water temperature of the year."""
        return math.fsum(self.temps_degc) / len(self.temps_degc)

    @property
    def one_out_m_per_s(self) -> float | None:
        """Rate of the others while one filter is out of use; None for a single filter."""
        if self.filters_count < 2:
            return None
        return self.design_m_per_s * self.filters_count / (self.filters_count - 1)

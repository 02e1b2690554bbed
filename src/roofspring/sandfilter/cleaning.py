"""The cleaning schedule: scrapes to re-sanding, sand left by year, water to waste, filters beside.

Depths count in whole millimetres, as a rule held against the sand does: 0.3 over 0.015 is not 20 in
binary fractions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, positive
from roofspring.sandfilter.bed import waste_volume_m3

YEAR_DAYS = 365.25
MOST_FILTERS = 12
"""More filters in parallel than this are not looked for; engineering choice."""


def whole_mm(depth_m: float) -> int:
    """A depth in whole millimetres, to the nearest.

    >>> whole_mm(0.8 - 0.5)
    300
    """
    not_negative("depth_m", depth_m)
    return round(depth_m * 1e3)


def scrapes_to_resand(depth_m: float, *, least_m: float, scrape_m: float) -> int:
    """Scrapes that a bed allows before new sand must come: ``floor((L0 - Lmin) / s)``.

    Parameters
    ----------
    depth_m, least_m : float
        Sand depth now, and the least allowed [m].
    scrape_m : float
        Sand that one scrape takes [m], a millimetre or more.

    Returns
    -------
    int
        0 where the bed is already too shallow.

    Raises
    ------
    RangeError (DOM-002)
        A depth below 0, or a scrape of less than half a millimetre.

    Source
    ------
    HUISMAN_WOOD_1974; VISSCHER_1990 for the least depths.

    Examples
    --------
    >>> scrapes_to_resand(0.80, least_m=0.50, scrape_m=0.015)
    20
    """
    step = whole_mm(scrape_m)
    positive("scrape_m", float(step))
    return max(0, whole_mm(depth_m) - whole_mm(least_m)) // step


@dataclass(frozen=True)
class SandYear:
    """One year of a bed: scrapes made in it, re-sandings, and sand left at its end [m].

    A cleaning is one or the other.
    """

    year: int
    scrapes_count: int
    resands_count: int
    sand_left_m: float


def sand_by_year(
    depth_m: float,
    *,
    least_m: float,
    scrape_m: float,
    scrapes_per_year: float,
    years: int,
) -> tuple[SandYear, ...]:
    """Sand left at the end of each year: a scrape that would go too deep is new sand instead.

    Parameters
    ----------
    depth_m, least_m, scrape_m
        As in `scrapes_to_resand`; re-sanding brings the bed back to ``depth_m``.
    scrapes_per_year : float
        Mean number of cleanings in a year, 0 or more.
    years : int
        How many years to look ahead, 1 or more.

    Returns
    -------
    tuple of SandYear

    Raises
    ------
    RangeError (DOM-002)
        As `scrapes_to_resand`.
    RangeError (BED-008)
        The bed does not allow one scrape.

    Source
    ------
    HUISMAN_WOOD_1974, cleaning and re-sanding.

    Examples
    --------
    >>> [round(y.sand_left_m, 3) for y in sand_by_year(0.80, least_m=0.50, scrape_m=0.015,
    ...                                                scrapes_per_year=6.0, years=4)]
    [0.71, 0.62, 0.53, 0.755]
    """
    not_negative("scrapes_per_year", scrapes_per_year)
    if scrapes_to_resand(depth_m, least_m=least_m, scrape_m=scrape_m) == 0:
        raise RangeError(
            Problem(
                "BED-008",
                "the bed is too shallow to be scraped even once",
                where="depth_m",
                got=f"{whole_mm(depth_m)} mm",
                allowed=f"{whole_mm(least_m) + whole_mm(scrape_m)} mm or more: the least depth "
                "and one scrape",
                next="put new sand in, or clean by raking, which takes none",
            )
        )
    full, least, step = whole_mm(depth_m), whole_mm(least_m), whole_mm(scrape_m)
    left, rows = full, []
    for year in range(1, years + 1):
        scrapes = resands = 0
        for _ in range(_by_then(year, scrapes_per_year) - _by_then(year - 1, scrapes_per_year)):
            if left - step < least:  # as in a run: new sand takes the place of the scrape
                left, resands = full, resands + 1
            else:
                left, scrapes = left - step, scrapes + 1
        rows.append(SandYear(year, scrapes, resands, left / 1e3))
    return tuple(rows)


def _by_then(years: int, per_year: float) -> int:
    """Whole scrapes made by the end of a year; a product just short of a whole number is one."""
    return math.floor(round(years * per_year, 9))


@dataclass(frozen=True)
class CleaningPlan:
    """A bed's years, from the length of its runs.

    Attributes
    ----------
    run_s : float
        Mean length of a run [s].
    away_s : float
        Time out of use at each cleaning: the work and the running to waste [s].
    cleanings_per_year : float
    waste_m3_per_year : float
        Water run to waste in a year.
    away_frac : float
        Share of the time that the filter does not serve [-].
    scrapes_left_count : int
    years_to_resand_years : float
        Infinite where nothing is scraped.
    """

    run_s: float
    away_s: float
    cleanings_per_year: float
    waste_m3_per_year: float
    away_frac: float
    scrapes_left_count: int
    years_to_resand_years: float

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; what never comes is None."""
        years = self.years_to_resand_years
        return {
            "run_s": self.run_s,
            "away_s": self.away_s,
            "cleanings_per_year": self.cleanings_per_year,
            "waste_m3_per_year": self.waste_m3_per_year,
            "away_frac": self.away_frac,
            "scrapes_left_count": self.scrapes_left_count,
            "years_to_resand_years": years if math.isfinite(years) else None,
        }


def cleaning_plan(
    run_s: float,
    *,
    waste_s: float,
    rate_m_per_s: float,
    area_m2: float,
    depth_m: float,
    least_m: float,
    scrape_m: float,
    work_s: float = 0.0,
) -> CleaningPlan:
    """Cleanings a year, water to waste, time away and years to re-sanding.

    Parameters
    ----------
    run_s : float
        Length of a run in service [s], above 0; see `run_length`.
    waste_s : float
        Time to waste after each cleaning [s], 0 or more; see `ripening.waste_time`.
    rate_m_per_s : float
        Rate while it runs to waste [m/s].
    area_m2 : float
        Sand area [m2], above 0.
    depth_m, least_m, scrape_m : float
        As in `scrapes_to_resand`; a scrape of 0 for raking.
    work_s : float
        Time the cleaning itself takes [s].

    Returns
    -------
    CleaningPlan

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.

    Source
    ------
    HUISMAN_WOOD_1974, cleaning.

    Examples
    --------
    >>> plan = cleaning_plan(60 * 86400.0, waste_s=48 * 3600.0, rate_m_per_s=0.1 / 3600,
    ...                      area_m2=0.5, depth_m=0.8, least_m=0.5, scrape_m=0.015)
    >>> round(plan.cleanings_per_year, 2), round(plan.years_to_resand_years, 2)
    (5.89, 3.39)
    """
    positive("run_s", run_s)
    not_negative("waste_s", waste_s)
    not_negative("work_s", work_s)
    not_negative("scrape_m", scrape_m)
    away_s = waste_s + work_s
    round_s = run_s + away_s
    per_year = YEAR_DAYS * SECONDS_PER_DAY / round_s
    wasted_m3 = waste_volume_m3(waste_s, rate_m_per_s=rate_m_per_s, area_m2=area_m2)
    scrapes, years = 0, math.inf
    if scrape_m > 0.0:
        scrapes = scrapes_to_resand(depth_m, least_m=least_m, scrape_m=scrape_m)
        years = scrapes / per_year
    return CleaningPlan(
        run_s, away_s, per_year, per_year * wasted_m3, away_s / round_s, scrapes, years
    )


@dataclass(frozen=True)
class Parallel:
    """Filters side by side.

    Attributes
    ----------
    filters_count : int
    rate_m_per_s : float
        With all of them running [m/s].
    rate_one_out_m_per_s : float
        Of the others while one is cleaned and ripens [m/s].
    is_staggered : bool
        Whether they can be cleaned one after the other: that one is back before the next is due.
    """

    filters_count: int
    rate_m_per_s: float
    rate_one_out_m_per_s: float
    is_staggered: bool


def parallel_filters(
    flow_m3_per_s: float,
    *,
    area_m2: float,
    design_m_per_s: float,
    most_m_per_s: float,
    run_s: float,
    away_s: float,
) -> Parallel:
    """Least number of equal filters so that one can be cleaned and ripen while the rest serve.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow wanted day and night [m3/s], above 0.
    area_m2 : float
        Sand area of each [m2], above 0.
    design_m_per_s, most_m_per_s : float
        Rate allowed with all running, and with one out [m/s].
    run_s, away_s : float
        Length of a run, and time out of use at each cleaning [s].

    Returns
    -------
    Parallel

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.
    RangeError (BED-009)
        More than a dozen would be needed.

    Notes
    -----
    Least N of 2 or more with ``Q/(N A) <= v_design`` and ``Q/((N-1) A) <= v_most``. They can be
    staggered where ``N t_away <= t_run + t_away``.

    Source
    ------
    HUISMAN_WOOD_1974 and MINN_R_4720: capacity with one filter out of use.

    Examples
    --------
    >>> beds = parallel_filters(0.2 / 86400, area_m2=0.06, design_m_per_s=0.1 / 3600,
    ...                         most_m_per_s=0.2 / 3600, run_s=60 * 86400.0, away_s=2 * 86400.0)
    >>> beds.filters_count, round(beds.rate_one_out_m_per_s * 3600, 3), beds.is_staggered
    (2, 0.139, True)
    """
    positive("flow_m3_per_s", flow_m3_per_s)
    positive("area_m2", area_m2)
    positive("design_m_per_s", design_m_per_s)
    positive("most_m_per_s", most_m_per_s)
    positive("run_s", run_s)
    not_negative("away_s", away_s)
    each = flow_m3_per_s / area_m2
    for count in range(2, MOST_FILTERS + 1):
        if each / count <= design_m_per_s and each / (count - 1) <= most_m_per_s:
            return Parallel(
                count, each / count, each / (count - 1), count * away_s <= run_s + away_s
            )
    raise RangeError(
        Problem(
            "BED-009",
            "too many filters would be needed side by side",
            where="area_m2",
            got=f"{each / design_m_per_s:.0f} of {area_m2:g} m2",
            allowed=f"{MOST_FILTERS} at most",
            next="make each filter larger, or want less flow of them",
        )
    )

"""How a bed fares from cleaning to cleaning: runs by law, rate and season, and what they cost."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Any

from roofspring.constants import SECONDS_PER_DAY, SECONDS_PER_HOUR
from roofspring.sandfilter.bed_case import BedCase
from roofspring.sandfilter.cleaning import (
    MOST_FILTERS,
    CleaningPlan,
    Parallel,
    SandYear,
    cleaning_plan,
    parallel_filters,
    sand_by_year,
    scrapes_to_resand,
)
from roofspring.sandfilter.ripening import (
    WasteTime,
    cleaning_named,
    ripening_time_s,
    waste_time,
)
from roofspring.sandfilter.run_length import (
    MONTH_STARTS,
    FilterRun,
    run_at_rate,
    run_through_seasons,
    runs_by_rate,
)
from roofspring.sandfilter.skin import GROWTH_LAWS, GrowthLaw
from roofspring.water import viscosity_ratio

RATES_M_PER_S = tuple(v / SECONDS_PER_HOUR for v in (0.05, 0.1, 0.2, 0.4))
SEASON_FACTOR = 3.0
"""Growth in a pollen season where the plan names none, to show what one does: our choice."""
ONE_OUT_M_PER_S = 0.3 / SECONDS_PER_HOUR
"""Rate allowed while one filter is out (VISSCHER_1990, HUISMAN_WOOD_1974)."""
WORK_S = 2.0 * SECONDS_PER_HOUR
"""Work of one cleaning: common practice, no source."""
YEARS_AHEAD = 12
TEMPS_DEGC = (2.0, 5.0, 10.0, 15.0, 20.0, 25.0)
_CHAIN_DAYS = 10 * 365
_POINTS = 60


@dataclass(frozen=True)
class LawRuns:
    """Runs under one law of growth: by rate, in a season, and the head taken day by day.

    ``by_rate`` follows `RATES_M_PER_S`; ``in_season`` is at the design rate with the growth of the
    season; ``loss`` are pairs of days and head lost [m] at the design rate until all is taken.
    """

    law: GrowthLaw
    by_rate: tuple[FilterRun, ...]
    usual: FilterRun
    in_season: FilterRun
    loss: tuple[tuple[float, float], ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "law": self.law.name,
            "source": self.law.source,
            "at_design_rate": self.usual.to_dict(),
            "in_season": self.in_season.to_dict(),
            "by_rate": [
                {"rate_m_per_s": v, **run.to_dict()}
                for v, run in zip(RATES_M_PER_S, self.by_rate, strict=True)
            ],
            "loss": [{"days": t, "loss_m": h} for t, h in self.loss],
        }


@dataclass(frozen=True)
class RipeningRow:
    """At one water temperature: days to ripen new sand, and to waste after a cleaning [s]."""

    temp_degc: float
    ripe_s: float
    start: WasteTime
    after: WasteTime

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "temp_degc": self.temp_degc,
            "ripe_s": self.ripe_s,
            "waste_after_start_s": [self.start.low_s, self.start.usual_s, self.start.high_s],
            "waste_after_cleaning_s": [self.after.low_s, self.after.usual_s, self.after.high_s],
        }


@dataclass(frozen=True)
class BedYears:
    """From cleaning to cleaning, and from new sand to new sand.

    Attributes
    ----------
    laws : tuple of LawRuns
        The filter's own law first.
    season_factor : float
        Growth in the season that ``in_season`` has; ``season_given`` whether the plan names it.
    by_month : tuple of FilterRun
        Runs that begin with each month, through seasons and temperatures; empty where all months
        are alike.
    mean_run_s : float
        Mean of the runs that follow each other through ten years; infinite where nothing clogs.
    plan : CleaningPlan or None
        None where a run has no length, or no end.
    years : tuple of SandYear
        At the pace that was seen, else at that of the plan. Empty where the sand is not scraped,
        or nothing can be.
    ripening : tuple of RipeningRow
    parallel : Parallel or None
        Filters so that one can ripen; None where more than a dozen would be needed.
    """

    laws: tuple[LawRuns, ...]
    season_factor: float
    season_given: bool
    by_month: tuple[FilterRun, ...]
    mean_run_s: float
    plan: CleaningPlan | None
    years: tuple[SandYear, ...]
    ripening: tuple[RipeningRow, ...]
    parallel: Parallel | None

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; what never comes is None."""
        return {
            "runs": [law.to_dict() for law in self.laws],
            "season_factor": self.season_factor,
            "season_given": self.season_given,
            "by_month": [run.to_dict() for run in self.by_month],
            "mean_run_s": self.mean_run_s if math.isfinite(self.mean_run_s) else None,
            "cleaning": None if self.plan is None else self.plan.to_dict(),
            "sand_by_year": [dict(vars(year)) for year in self.years],
            "ripening": [row.to_dict() for row in self.ripening],
            "parallel": None if self.parallel is None else dict(vars(self.parallel)),
        }


def bed_years(case: BedCase, *, bed_resistance_s: float) -> BedYears:
    """Runs, cleanings and ripening of a filter.

    Parameters
    ----------
    case : BedCase
    bed_resistance_s : float
        Of the clean sand at 20 degrees C, depth over conductivity [s], above 0.

    Returns
    -------
    BedYears

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Source
    ------
    As the parts say: laws of `skin.GROWTH_LAWS`, HUISMAN_WOOD_1974 for cleaning.

    Examples
    --------
    >>> life = bed_years(BedCase(), bed_resistance_s=706.0)
    >>> [law.law.name for law in life.laws], len(life.ripening)
    (['surface-cake', 'by-time', 'by-water'], 6)
    """
    factor = max((s.factor for s in case.seasons), default=SEASON_FACTOR)
    others = [law for name, law in GROWTH_LAWS.items() if name != case.law.name]
    laws = tuple(
        _law_runs(case, law, bed_resistance_s=bed_resistance_s, factor=factor)
        for law in (case.law, *others)
    )
    alike = not case.seasons and max(case.temps_degc) - min(case.temps_degc) < 0.5
    by_month = (
        ()
        if alike
        else tuple(_run_from(case, day, bed_resistance_s=bed_resistance_s) for day in MONTH_STARTS)
    )
    mean_s = laws[0].usual.time_s if alike else _mean_run_s(case, bed_resistance_s=bed_resistance_s)
    plan = _plan(case, mean_s)
    return BedYears(
        laws,
        factor,
        bool(case.seasons),
        by_month,
        mean_s,
        plan,
        _years(case, plan),
        tuple(
            RipeningRow(
                t,
                ripening_time_s(temp_degc=t),
                waste_time("start", temp_degc=t),
                waste_time(case.way, temp_degc=t),
            )
            for t in TEMPS_DEGC
        ),
        _parallel(case, mean_s, plan),
    )


def _law_runs(case: BedCase, law: GrowthLaw, *, bed_resistance_s: float, factor: float) -> LawRuns:
    temp, rate = case.mean_degc, case.design_m_per_s
    by_rate = runs_by_rate(
        RATES_M_PER_S,
        head_m=case.head_m,
        bed_resistance_s=bed_resistance_s,
        law=law,
        temp_degc=temp,
    )
    usual, pollen = (
        run_at_rate(
            rate,
            head_m=case.head_m,
            bed_resistance_s=bed_resistance_s,
            law=law,
            temp_degc=temp,
            load_factor=load,
        )
        for load in (1.0, factor)
    )
    loss = []
    if 0.0 < usual.time_s < math.inf:
        thick = float(viscosity_ratio(temp))
        for k in range(_POINTS + 1):
            at_s = usual.time_s * k / _POINTS
            skin_s = law.after_s(
                0.0, bed_resistance_s=bed_resistance_s, filtered_m=rate * at_s, time_s=at_s
            )
            loss.append((at_s / SECONDS_PER_DAY, rate * thick * (bed_resistance_s + skin_s)))
    return LawRuns(law, by_rate, usual, pollen, tuple(loss))


def _run_from(
    case: BedCase, day: int, *, bed_resistance_s: float, skin_s: float = 0.0
) -> FilterRun:
    return run_through_seasons(
        case.design_m_per_s,
        head_m=case.head_m,
        bed_resistance_s=bed_resistance_s,
        law=case.law,
        start_day=day,
        seasons=case.seasons,
        temps_degc=case.temps_degc,
        skin_resistance_s=skin_s,
    )


def _mean_run_s(case: BedCase, *, bed_resistance_s: float) -> float:
    """Runs follow each other through ten years, each from the skin that the cleaning left."""
    left = cleaning_named(case.way).skin_left_frac
    day, skin_s, lengths = 0.0, 0.0, []
    while day < _CHAIN_DAYS:
        run = _run_from(case, int(day) % 365 + 1, bed_resistance_s=bed_resistance_s, skin_s=skin_s)
        if not math.isfinite(run.time_s):
            return math.inf
        lengths.append(run.time_s)
        if run.time_s < SECONDS_PER_DAY:  # it cannot do what is asked of it
            break
        skin_s = left * run.end_skin_s
        ended = int(day + run.time_s / SECONDS_PER_DAY) % 365 + 1
        month = bisect_right(MONTH_STARTS, ended) - 1
        away_s = _waste_s(case, case.temps_degc[month]) + WORK_S
        day += (run.time_s + away_s) / SECONDS_PER_DAY
    return math.fsum(lengths) / len(lengths)


def _waste_s(case: BedCase, temp_degc: float) -> float:
    if case.waste_s is not None:
        return case.waste_s
    return waste_time(case.way, temp_degc=temp_degc).usual_s


def _scraped(case: BedCase) -> bool:
    return cleaning_named(case.way).removed_m > 0.0


def _plan(case: BedCase, run_s: float) -> CleaningPlan | None:
    if not SECONDS_PER_DAY <= run_s < math.inf:
        return None
    return cleaning_plan(
        run_s,
        waste_s=_waste_s(case, case.mean_degc),
        rate_m_per_s=case.design_m_per_s,
        area_m2=case.area_m2,
        depth_m=case.sand_m,
        least_m=case.least_sand_m,
        scrape_m=case.scrape_m if _scraped(case) else 0.0,
        work_s=WORK_S,
    )


def _years(case: BedCase, plan: CleaningPlan | None) -> tuple[SandYear, ...]:
    per_year = plan.cleanings_per_year if plan is not None else None
    if case.seen_per_year is not None:
        per_year = case.seen_per_year
    if per_year is None or not _scraped(case):
        return ()
    if scrapes_to_resand(case.sand_m, least_m=case.least_sand_m, scrape_m=case.scrape_m) == 0:
        return ()
    return sand_by_year(
        case.sand_m,
        least_m=case.least_sand_m,
        scrape_m=case.scrape_m,
        scrapes_per_year=per_year,
        years=YEARS_AHEAD,
    )


def _parallel(case: BedCase, run_s: float, plan: CleaningPlan | None) -> Parallel | None:
    """For the flow of the filters that are there, at the design rate."""
    if plan is None or case.filters_count >= MOST_FILTERS:
        return None
    return parallel_filters(
        case.filters_count * case.area_m2 * case.design_m_per_s,
        area_m2=case.area_m2,
        design_m_per_s=case.design_m_per_s * (1.0 + 1e-9),  # the flow is that of whole filters
        most_m_per_s=max(ONE_OUT_M_PER_S, case.design_m_per_s),
        run_s=run_s,
        away_s=plan.away_s,
    )

"""What a run through the rain saw of one filter: cleanings, waste, ripeness, sand and passage."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.constants import SECONDS_PER_DAY
from roofspring.kernels.net import SANDED
from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.reliability.ripe_trials import MOST_UNRIPE_FRAC
from roofspring.reliability.unripe import WhyUnripe, running_fracs, spells, why_unripe
from roofspring.sandfilter.removal import GROUPS, passage_mean_log10, range_law
from roofspring.sandfilter.ripening import RIPE_FRAC

FloatArray = npt.NDArray[np.float64]
MONTHS = 12
LEAST_M3 = 1e-9


@dataclass(frozen=True)
class FilterRecord:
    """One filter through the years of a run.

    Attributes
    ----------
    filter_id : str
    years : float
    cleanings_count, resands_count : int
        Rakings and scrapings, and times that new sand came.
    by_month : tuple of int
        Cleanings and re-sandings in each calendar month, over all years.
    gap_days : tuple of float
        Shortest and longest time between two of them; empty with fewer than two.
    waste_days_per_year, waste_m3_per_year : float
        Days on which water ran to waste, and how much.
    filtered_m3_per_year, mean_m_per_s : float
        Water through the sand in use, and its mean rate over the whole time.
    unripe_frac : float
        Share of days below a ripeness of 0.9.
    still_frac, longest_still_days : float, int
        Share of days on which the bed counts as stopped, and the most of them on end.
    first_sand_m, last_sand_m : float
        Sand when the run began and when it ended.
    resand_years : float
        Years to re-sanding: as the run saw it, else from the sand lost a year; infinite where none
        is lost.
    resand_seen : bool
        Whether the run came to it.
    removal_log10 : pairs by group
        Least and most log reduction, as a mean of what passes: days that let more through count
        for more.
    mean_degc : float
        Water temperature, as a mean over the days.
    why : WhyUnripe
        What keeps it from ripeness.
    days, ripeness_frac, sand_m : arrays
        Day by day.
    """

    filter_id: str
    years: float
    cleanings_count: int
    resands_count: int
    by_month: tuple[int, ...]
    gap_days: tuple[float, ...]
    waste_days_per_year: float
    waste_m3_per_year: float
    filtered_m3_per_year: float
    mean_m_per_s: float
    unripe_frac: float
    still_frac: float
    longest_still_days: int
    first_sand_m: float
    last_sand_m: float
    resand_years: float
    resand_seen: bool
    removal_log10: tuple[tuple[str, float, float], ...]
    mean_degc: float
    why: WhyUnripe
    days: npt.NDArray[np.datetime64]
    ripeness_frac: FloatArray
    sand_m: FloatArray

    @property
    def is_seldom_ripe(self) -> bool:
        """Whether it is less than ripe too often, the time that new sand takes left out."""
        return self.unripe_frac - self.why.at_best_frac > MOST_UNRIPE_FRAC

    @property
    def cleanings_per_year(self) -> float:
        """Rakings, scrapings and new sand."""
        return (self.cleanings_count + self.resands_count) / max(self.years, 1.0 / 365.25)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON, without the series; what never comes is None."""
        left = ("days", "ripeness_frac", "sand_m", "removal_log10")
        made = {k: v for k, v in vars(self).items() if k not in left}
        made["by_month"], made["gap_days"] = list(self.by_month), list(self.gap_days)
        made["resand_years"] = self.resand_years if math.isfinite(self.resand_years) else None
        made["why"] = vars(self.why)
        made["removal_log10"] = {g: [low, high] for g, low, high in self.removal_log10}
        return made


def filter_record(
    run: RunResult, filter_id: str, *, plan: Plan, water_degc: FloatArray
) -> FilterRecord:
    """What a run saw of a filter.

    Parameters
    ----------
    run : RunResult
    filter_id : str
    plan : Plan
        That was run.
    water_degc : (n_days,) float64
        Water temperature of each day.

    Returns
    -------
    FilterRecord
    """
    at, part = run.filter_ids.index(filter_id), plan.filters[filter_id]
    cleaned, ripe, sand = run.cleaned[:, at], run.ripeness_frac[:, at], run.sand_m[:, at]
    used, wasted = (_daily(run, filter_id, kind) for kind in ("sand", "waste"))
    years = max(run.years, 1.0 / 365.25)
    when = np.flatnonzero(cleaned)
    gaps = np.diff(when)
    months = run.days.astype("datetime64[M]").astype(np.int64) % MONTHS
    sanded = np.flatnonzero(cleaned == SANDED)
    lost = float(np.maximum(0.0, -np.diff(np.concatenate(([part.sand_depth_m], sand)))).sum())
    spare = part.sand_depth_m - min(part.care.least_sand_m, part.sand_depth_m)
    resand = float(sanded[0] + 1) / 365.25 if len(sanded) else math.inf
    if not len(sanded) and lost > 0.0:
        resand = spare / (lost / years)
    still = running_fracs(run, filter_id, area_m2=part.area_m2) <= 0.0
    seconds = len(run.days) * SECONDS_PER_DAY
    return FilterRecord(
        filter_id,
        run.years,
        int(np.count_nonzero(cleaned)) - len(sanded),
        len(sanded),
        tuple(int(np.count_nonzero(months[when] == m)) for m in range(MONTHS)),
        (float(gaps.min()), float(gaps.max())) if len(gaps) else (),
        float(np.count_nonzero(wasted > LEAST_M3)) / years,
        float(wasted.sum()) / years,
        float(used.sum()) / years,
        float((used + wasted).sum()) / part.area_m2 / seconds if seconds else 0.0,
        float(np.mean(ripe < RIPE_FRAC)) if len(ripe) else 0.0,
        float(np.mean(still)) if len(still) else 0.0,
        max(spells(still), default=0),
        part.sand_depth_m,
        float(sand[-1]) if len(sand) else part.sand_depth_m,
        resand,
        len(sanded) > 0,
        _removal(used, ripe, water_degc),
        float(np.mean(water_degc)) if len(water_degc) else math.nan,
        why_unripe(plan, run, filter_id, water_degc=water_degc),
        run.days,
        ripe,
        sand,
    )


def _daily(run: RunResult, filter_id: str, kind: str) -> FloatArray:
    picked = [
        i for i, arc in enumerate(run.arcs) if arc.kind == kind and arc.from_part == filter_id
    ]
    return np.asarray(run.flow_m3[:, picked].sum(axis=1), dtype=np.float64)


def _removal(
    used: FloatArray, ripe: FloatArray, water_degc: FloatArray
) -> tuple[tuple[str, float, float], ...]:
    if not used.sum() > LEAST_M3:
        return ()
    made = []
    for group in GROUPS:
        low, high = range_law(group).at(ripe, water_degc)
        made.append(
            (
                group,
                passage_mean_log10(used.tolist(), low.tolist()),
                passage_mean_log10(used.tolist(), high.tolist()),
            )
        )
    return tuple(made)

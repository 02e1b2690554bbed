"""What would let a filter ripen: changes of the plan, each tried by running it again."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.constants import SECONDS_PER_HOUR
from roofspring.network.edits import revised, with_part
from roofspring.network.life import THROTTLE_LEFT_FRAC, clean_below_m_per_s
from roofspring.network.simulate import simulate
from roofspring.plan.model import Filter, Plan
from roofspring.rain import RainRecord
from roofspring.reliability.unripe import running_fracs, tanks_before
from roofspring.sandfilter.ripening import RIPE_FRAC

FloatArray = npt.NDArray[np.float64]
MOST_UNRIPE_FRAC = 0.10
"""Of the days, from where a filter is called too seldom ripe: engineering choice."""
TRIED_YEARS = 10
"""The last years of the record that changes are tried on, so that trying stays quick."""
RATES_M_PER_H = (
    0.1, 0.08, 0.06, 0.05, 0.04, 0.03, 0.025, 0.02, 0.015, 0.012, 0.01, 0.008, 0.006, 0.005,
)  # fmt: skip
"""Throttles that are tried: down to what keeps a bed alive, 0.1 m a day."""
TANKS_COUNT = (1, 2, 4, 8)
"""Tanks that are tried in the place of each one before the filters."""
MOST_COUNT = 1000
"""As many tanks as a plan may have in one place."""


@dataclass(frozen=True)
class Trial:
    """The plan run again with one thing, or two, changed.

    Attributes
    ----------
    tanks_count : int
        Tanks in the place of each one before the filters.
    throttle_m_per_s : float or None
        Of every filter that was seldom ripe; None where it is left as it is.
    years : float
    unripe_frac, still_frac : float
        Of the worst of these filters.
    filtered_m3_per_year : float
        Through all of them, in use.
    first_use : str
        The use of the first importance, or the first of them.
    first_served_frac : float or None
        Share of its wants that was met; None without a use.
    """

    tanks_count: int
    throttle_m_per_s: float | None
    years: float
    unripe_frac: float
    still_frac: float
    filtered_m3_per_year: float
    first_use: str
    first_served_frac: float | None

    @property
    def ripens(self) -> bool:
        """Whether the filters are ripe often enough."""
        return self.unripe_frac <= MOST_UNRIPE_FRAC

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def try_to_ripen(plan: Plan, record: RainRecord, filter_ids: Sequence[str]) -> tuple[Trial, ...]:
    """Run a plan again with more water held back before filters, and with slower throttles.

    Parameters
    ----------
    plan : Plan
    record : RainRecord
        Its last ten years are taken.
    filter_ids : sequence of str
        Filters that are seldom ripe.

    Returns
    -------
    tuple of Trial
        As it is; the most tanks alone; and, for each number of tanks, the fastest throttle with
        which the filters are ripe often enough, else the slowest. None without filters.

    Raises
    ------
    PlanError, RecordError, SolveError
        As `roofspring.network.simulate.simulate`.

    Notes
    -----
    A slower throttle is taken to stop a filter less, so the fastest one is sought by halving the
    list. Trials begin with ripe sand. A filter is cleaned when it passes half of what its throttle
    lets through, where the plan would clean it sooner. Every trial is a whole run: what a slower
    filter spills and leaves unserved is in it.
    """
    if not filter_ids:
        return ()
    short = last_years(record, TRIED_YEARS)
    has_tanks = any(tanks_before(plan, f) for f in filter_ids)
    slowest = min(_rate(plan.filters[f]) for f in filter_ids)
    rates = [v for v in (r / SECONDS_PER_HOUR for r in RATES_M_PER_H) if v < slowest]
    trial = partial(_trial, plan, short, filter_ids)
    jobs: list[Callable[[], Trial]] = [trial]
    if has_tanks:
        jobs.append(partial(trial, tanks_count=TANKS_COUNT[-1]))
    if rates:
        jobs += [
            partial(_fastest, partial(trial, tanks_count=n), rates)
            for n in (TANKS_COUNT if has_tanks else TANKS_COUNT[:1])
        ]
    with ThreadPoolExecutor(min(len(jobs), os.cpu_count() or 1)) as pool:
        return tuple(made.result() for made in [pool.submit(job) for job in jobs])


def _rate(part: Filter) -> float:
    return part.rate_limit_m_per_s if part.throttle_m_per_s is None else part.throttle_m_per_s


def _fastest(trial: Callable[..., Trial], rates: Sequence[float]) -> Trial:
    """The fastest of falling rates at which the filters ripen, else the slowest."""
    low, high = 0, len(rates) - 1
    best = trial(throttle=rates[-1])
    while best.ripens and low < high:
        middle = (low + high) // 2
        tried = trial(throttle=rates[middle])
        if tried.ripens:
            best, high = tried, middle
        else:
            low = middle + 1
    return best


def _trial(
    plan: Plan,
    record: RainRecord,
    filter_ids: Sequence[str],
    *,
    tanks_count: int = 1,
    throttle: float | None = None,
) -> Trial:
    run = simulate(_changed(plan, filter_ids, tanks_count, throttle), record)
    years = max(run.years, 1.0 / 365.25)
    ripe = run.ripeness_frac[:, [run.filter_ids.index(f) for f in filter_ids]]
    still = max(
        float(np.mean(running_fracs(run, f, area_m2=plan.filters[f].area_m2) <= 0.0))
        for f in filter_ids
    )
    use_id = min(run.use_ids, key=lambda u: (plan.uses[u].importance, u), default=None)
    served = None
    if use_id is not None:
        at = run.use_ids.index(use_id)
        wanted = float(run.wanted_m3[:, at].sum())
        served = float(run.delivered_m3[:, at].sum()) / wanted if wanted > 0.0 else 1.0
    return Trial(
        tanks_count,
        throttle,
        run.years,
        float((ripe < RIPE_FRAC).mean(axis=0).max()),
        still,
        sum(run.total_m3(kind="sand", from_part=f) for f in filter_ids) / years,
        "" if use_id is None else plan.uses[use_id].label or use_id,
        served,
    )


def _changed(
    plan: Plan, filter_ids: Sequence[str], tanks_count: int, throttle: float | None
) -> Plan:
    """The plan with a ripe bed to begin with, more tanks before it, and a slower throttle."""
    for tank_id in sorted({t for f in filter_ids for t in tanks_before(plan, f)}):
        tank = plan.tanks[tank_id]
        more = min(MOST_COUNT, tank.tanks_count * tanks_count)
        plan = with_part(plan, tank_id, revised(tank, {"tanks_count": more}))
    for filter_id in filter_ids:
        part = plan.filters[filter_id]
        part = revised(part, {"skin": revised(part.skin, {"ripeness_frac": 1.0})})
        if throttle is not None:
            part = revised(part, {"throttle_m_per_s": throttle})
            below = min(clean_below_m_per_s(part), THROTTLE_LEFT_FRAC * throttle)
            part = revised(part, {"care": revised(part.care, {"below_m_per_s": below})})
        plan = with_part(plan, filter_id, part)
    return plan


def last_years(record: RainRecord, years_count: int) -> RainRecord:
    """The end of a record: so many years of it, or all where it is shorter."""
    days = min(record.days_count, round(365.25 * years_count))
    cut = record.days_count - days
    steps = record.steps_per_day_count

    def end(values: FloatArray | None) -> FloatArray | None:
        return None if values is None else values[cut : cut + days]

    return replace(
        record,
        start=record.start + np.timedelta64(cut, "D"),
        depth_m=record.depth_m[cut * steps : (cut + days) * steps],
        kept=record.kept[cut * steps : (cut + days) * steps],
        tmin_degc=end(record.tmin_degc),
        tmax_degc=end(record.tmax_degc),
    )

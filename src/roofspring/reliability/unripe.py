"""What keeps a filter from ripeness: its days again, each cause taken away in turn."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from roofspring.constants import SECONDS_PER_DAY
from roofspring.kernels.net import SANDED
from roofspring.network.life import cleaning_of, runs_dry
from roofspring.network.result import RunResult
from roofspring.plan.graph import connections
from roofspring.plan.model import Filter, Plan
from roofspring.sandfilter.ripening import DEFAULT_RIPENING, RIPE_FRAC, BedLife, cleaning_named

FloatArray = npt.NDArray[np.float64]
EMPTY_FRAC = 0.01
"""Of what a tank can give: less is empty. Engineering choice."""


@dataclass(frozen=True)
class WhyUnripe:
    """What keeps a filter from ripeness, each cause taken away in turn from the days of a run.

    Attributes
    ----------
    at_best_frac : float
        Share of the days below a ripeness of 0.9 had it never stopped nor been cleaned: new sand,
        in water as cold as it was.
    never_stopped_frac, never_cleaned_frac : float
        The same share, had it only never stopped, or only never been cleaned.
    stops_per_year : float
        Stops that outlast the rest which costs nothing.
    empty_frac : float or None
        Share of the days without flow on which the tanks before it ended empty; None where no
        tank feeds it or it never stops.
    """

    at_best_frac: float
    never_stopped_frac: float
    never_cleaned_frac: float
    stops_per_year: float
    empty_frac: float | None


def through_m3(run: RunResult, filter_id: str) -> FloatArray:
    """What passed the sand of a filter each day, in use and to waste [m3]."""
    picked = [
        i
        for i, arc in enumerate(run.arcs)
        if arc.kind in ("sand", "waste") and arc.from_part == filter_id
    ]
    return np.asarray(run.flow_m3[:, picked].sum(axis=1), dtype=np.float64)


def running_fracs(run: RunResult, filter_id: str, *, area_m2: float) -> FloatArray:
    """Share of each day that a bed counts as running [-]."""
    return np.array(
        [
            DEFAULT_RIPENING.running_frac(max(0.0, v / area_m2), time_s=SECONDS_PER_DAY)
            for v in through_m3(run, filter_id)
        ],
        dtype=np.float64,
    )


def ripeness_again(
    run: RunResult,
    filter_id: str,
    *,
    part: Filter,
    running_frac: FloatArray,
    water_degc: FloatArray,
    stops: bool = True,
    cleanings: bool = True,
) -> FloatArray:
    """Ripeness day by day from a run's flows and cleanings, or as if some had not been.

    Parameters
    ----------
    run : RunResult
    filter_id : str
    part : Filter
        The same in the plan.
    running_frac : (n_days,) float64
        Share of each day that it ran, from `running_fracs`.
    water_degc : (n_days,) float64
        Water temperature of each day.
    stops : bool
        False: as if it had run in full every day.
    cleanings : bool
        False: as if nobody had cleaned it.

    Returns
    -------
    (n_days,) float64
        With stops and cleanings, what the run itself has.

    Source
    ------
    As `roofspring.sandfilter.ripening`, whose law it follows.
    """
    marks = run.cleaned[:, run.filter_ids.index(filter_id)]
    left, anew = cleaning_of(part).ripeness_left_frac, cleaning_named("re-sand").ripeness_left_frac
    life = BedLife(part.skin.ripeness_frac)
    made = np.empty(len(running_frac))
    for day, (share, mark) in enumerate(zip(running_frac, marks, strict=True)):
        if cleanings and mark:
            life = replace(
                life, ripeness_frac=life.ripeness_frac * (anew if mark == SANDED else left)
            )
        runs = float(share) if stops else 1.0
        life = life.after(
            SECONDS_PER_DAY,
            temp_degc=float(water_degc[day]),
            running_frac=runs,
            is_dry=runs_dry(part) and runs <= 0.0,
        )
        made[day] = life.ripeness_frac
    return made


def why_unripe(plan: Plan, run: RunResult, filter_id: str, *, water_degc: FloatArray) -> WhyUnripe:
    """What keeps a filter of a run from ripeness.

    Parameters
    ----------
    plan : Plan
    run : RunResult
        Of that plan.
    filter_id : str
    water_degc : (n_days,) float64
        Water temperature of each day.

    Returns
    -------
    WhyUnripe
    """
    part = plan.filters[filter_id]
    running = running_fracs(run, filter_id, area_m2=part.area_m2)

    def share(*, stops: bool, cleanings: bool) -> float:
        ripe = ripeness_again(
            run,
            filter_id,
            part=part,
            running_frac=running,
            water_degc=water_degc,
            stops=stops,
            cleanings=cleanings,
        )
        return float(np.mean(ripe < RIPE_FRAC)) if len(ripe) else 0.0

    still = running <= 0.0
    rest_days = DEFAULT_RIPENING.rest_s / SECONDS_PER_DAY
    stops = [n for n in spells(still) if n > rest_days]
    return WhyUnripe(
        share(stops=False, cleanings=False),
        share(stops=False, cleanings=True),
        share(stops=True, cleanings=False),
        len(stops) / max(run.years, 1.0 / 365.25),
        _empty_frac(plan, run, filter_id, still),
    )


def spells(which: npt.NDArray[np.bool_]) -> list[int]:
    """Lengths of the runs of true days, in their order.

    >>> spells(np.array([True, True, False, True]))
    [2, 1]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([0], which.astype(np.int64), [0]))))
    return [int(n) for n in edges[1::2] - edges[::2]]


def tanks_before(plan: Plan, filter_id: str) -> tuple[str, ...]:
    """Tanks whose outlets lead straight into a filter."""
    return tuple(
        dict.fromkeys(
            c.from_part
            for c in connections(plan)
            if (c.to_part, c.to_port) == (filter_id, "inlet")
            and c.from_part in plan.tanks
            and c.from_port not in ("overflow", "drain")
        )
    )


def _empty_frac(
    plan: Plan, run: RunResult, filter_id: str, still: npt.NDArray[np.bool_]
) -> float | None:
    at = [run.store_ids.index(t) for t in tanks_before(plan, filter_id) if t in run.store_ids]
    if not at or not still.any():
        return None
    can_give = run.capacity_m3[at] - run.dead_m3[at]
    left = run.end_m3[:, at] - run.dead_m3[at]
    empty: npt.NDArray[np.bool_] = np.all(left <= EMPTY_FRAC * can_give, axis=1)
    return float(np.mean(empty[still]))

"""Which single change would have caught most of the rest: each is tried in the same storm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.network.assemble import assemble
from roofspring.network.events import after_filters
from roofspring.network.result import GROUND, Arc
from roofspring.network.simulate import State
from roofspring.plan.model import Plan
from roofspring.reliability.storm.account import is_catchable_loss, kept_m3
from roofspring.reliability.storm.begin import carried
from roofspring.reliability.storm.changes import CHANGES
from roofspring.reliability.storm.run import StormRun, run_storm
from roofspring.reliability.storm.spills import volume_words
from roofspring.reliability.storm.weather import Weather

LEAST_GAIN_FRAC, LEAST_GAIN_M3 = 0.01, 1e-3
"""A change that keeps less of what was lost is not worth naming: engineering choices."""


@dataclass(frozen=True)
class Tried:
    """One change and what it did.

    Attributes
    ----------
    change : str
        A name in `CHANGES`.
    where : str
        Where in the plan.
    words : str
        What was changed.
    more_kept_m3 : float
        More in tanks and filters at the end, or drawn, than without the change [m3]; what spilled
        unfiltered into a store of filtered water does not count.
    more_filtered_m3 : float
        More through the sand in the same hours [m3].
    of_lost_frac : float
        ``more_kept_m3`` over what was lost without the change.
    """

    change: str
    where: str
    words: str
    more_kept_m3: float
    more_filtered_m3: float
    of_lost_frac: float


@dataclass(frozen=True)
class Advice:
    """What the trial says.

    Attributes
    ----------
    sentence : str
    tried : tuple of Tried
        All of them, what keeps most first.
    catchable_m3 : float
        What was lost over gutters, screens and overflows, or spilled past the filters into a store
        of filtered water [m3].
    room_m3 : float
        Tank that would hold all of that that left over overflows [m3].
    room_where : str
        The part that most of it left from; empty when nothing left over an overflow.
    """

    sentence: str
    tried: tuple[Tried, ...]
    catchable_m3: float
    room_m3: float
    room_where: str


def try_changes(base: StormRun, weather: Weather, state: State) -> Advice:
    """Make every change of `CHANGES` to the plan, one at a time, and run the storm again.

    Parameters
    ----------
    base : StormRun
        The plan as it is.
    weather : Weather
    state : State
        What it began with. The changed plan begins with the same water in the same parts; what is
        new begins empty.

    Raises
    ------
    SolveError
        A run failed.
    """
    catchable_m3 = lost_m3(base)
    kept, through = _well_kept_m3(base), base.more_m3("sand")
    tried = []
    for change in CHANGES.values():
        for way in change.ways(base.plan):
            run = _run(way.plan, base, weather, state)
            more = _well_kept_m3(run) - kept
            tried.append(
                Tried(
                    change.name,
                    way.where,
                    way.words,
                    more,
                    run.more_m3("sand") - through,
                    more / catchable_m3 if catchable_m3 > 0.0 else 0.0,
                )
            )
    tried.sort(
        key=lambda t: (-round(t.more_kept_m3, 9), -round(t.more_filtered_m3, 9), t.where, t.words)
    )
    room_m3, where = room_wanted(base)
    return Advice(
        _sentence(base, tried, catchable_m3, room_m3, where),
        tuple(tried),
        catchable_m3,
        room_m3,
        where,
    )


def lost_m3(run: StormRun) -> float:
    """What the storm lost over gutters, screens and overflows, or spilled unfiltered [m3]."""
    return float(_more(run)[is_catchable_loss(run.plan, run.wet.arcs)].sum()) + bypassed_m3(run)


def bypassed_m3(run: StormRun) -> float:
    """What the storm spilled, past the filters, into stores of filtered water [m3].

    What such a store then spills itself counts as lost there, not here.
    """
    came: dict[str, float] = {}
    for arc, m3 in _bypasses(run):
        came[arc.to_part] = came.get(arc.to_part, 0.0) + m3
    spills = _to_ground(run)
    return sum(max(0.0, m3 - spills.get(store, 0.0)) for store, m3 in came.items())


def _well_kept_m3(run: StormRun) -> float:
    return kept_m3(run.rows) - bypassed_m3(run)


def _more(run: StormRun) -> npt.NDArray[np.float64]:
    """What the storm moved along each arc [m3]."""
    more: npt.NDArray[np.float64] = run.wet.flow_m3.sum(axis=0) - run.dry.flow_m3.sum(axis=0)
    return more


def _bypasses(run: StormRun) -> list[tuple[Arc, float]]:
    """Overflows of unfiltered water into a tank that filtered water reaches."""
    filtered = after_filters(run.wet.arcs)
    return [
        (arc, float(m3))
        for arc, m3 in zip(run.wet.arcs, _more(run), strict=True)
        if arc.kind == "overflow"
        and arc.from_part not in filtered
        and arc.to_part in filtered
        and arc.to_part in run.plan.tanks
    ]


def _to_ground(run: StormRun) -> dict[str, float]:
    """What each part lost for good over its overflow and its brim [m3]."""
    ground = (GROUND, *run.plan.swales)
    spills: dict[str, float] = {}
    for arc, m3 in zip(run.wet.arcs, _more(run), strict=True):
        if arc.kind in ("overflow", "rim") and arc.to_part in ground:
            spills[arc.from_part] = spills.get(arc.from_part, 0.0) + float(m3)
    return spills


def room_wanted(base: StormRun) -> tuple[float, str]:
    """Tank that would have held what was lost over overflows [m3], and where most of it left."""
    spills = _to_ground(base)
    for arc, m3 in _bypasses(base):
        spills[arc.from_part] = spills.get(arc.from_part, 0.0) + m3
    spills = {p: m3 for p, m3 in spills.items() if m3 >= LEAST_GAIN_M3}
    if not spills:
        return 0.0, ""
    room_m3 = sum(_to_ground(base).values()) + bypassed_m3(base)
    return room_m3, max(sorted(spills), key=lambda p: spills[p])


def _run(plan: Plan, base: StormRun, weather: Weather, state: State) -> StormRun:
    assembled = assemble(plan)
    begin = carried(state, to=assembled, of=base.assembled)
    return run_storm(plan, assembled, weather, begin)


def _sentence(
    base: StormRun, tried: list[Tried], catchable_m3: float, room_m3: float, where: str
) -> str:
    volume = volume_words(base.plan)
    if catchable_m3 < LEAST_GAIN_M3:
        return "Nothing was lost over gutters, screens or overflows: no change was needed."
    past = " or spilled past the filters" if bypassed_m3(base) >= LEAST_GAIN_M3 else ""
    lost = f"{volume(catchable_m3)} lost over gutters, screens and overflows{past}"
    room = f"{volume(room_m3)} more tank" if where else ""
    least = max(LEAST_GAIN_M3, LEAST_GAIN_FRAC * catchable_m3)
    best = tried[0] if tried and tried[0].more_kept_m3 >= least else None
    if best is None:
        words = f"None of the {len(tried)} single changes tried would have kept much of the {lost}"
        if where:
            words += f": the storm is simply more than the tanks hold. {room} would hold it"
        return f"{words}."
    words = (
        f"Of {len(tried)} single changes tried, {best.words}, would have kept most: "
        f"{volume(best.more_kept_m3)} of the {lost}."
    )
    if best.more_filtered_m3 > LEAST_GAIN_M3:
        words += f" {volume(best.more_filtered_m3)} more would have passed the sand."
    if where and best.of_lost_frac < 0.99:
        words += f" To hold all that left over overflows takes {room}."
    return words

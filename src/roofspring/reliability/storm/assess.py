"""Will it catch the storm? The whole answer."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence

from roofspring import __version__
from roofspring.errors import Finding, ranked
from roofspring.network.assemble import assemble
from roofspring.network.events import window_events
from roofspring.network.faults import Broken, fault_finding
from roofspring.network.result import Provenance
from roofspring.network.simulate import State
from roofspring.network.swale import storm_findings, swales_in_storm
from roofspring.plan.model import Plan
from roofspring.reliability.flows import catching
from roofspring.reliability.storm.account import GONE_BRIM, GONE_OVER, kept_m3
from roofspring.reliability.storm.answer import StormAnswer
from roofspring.reliability.storm.begin import filled
from roofspring.reliability.storm.findings import (
    gutter_findings,
    limit_findings,
    overflow_findings,
)
from roofspring.reliability.storm.run import StormRun, run_storm
from roofspring.reliability.storm.series import make_series
from roofspring.reliability.storm.spills import (
    LEAST_TOLD_M3,
    Went,
    lost,
    over_gutters,
    peaks_m,
    spilled,
    volume_words,
)
from roofspring.reliability.storm.trial import bypassed_m3, try_changes
from roofspring.reliability.storm.weather import HOUR_S, Weather


def assess_storm(
    plan: Plan,
    weather: Weather,
    *,
    state: State | None = None,
    full_frac: float | None = None,
    faults: Sequence[Broken] = (),
    changes: bool = True,
    plan_hash: str = "",
    rain_hash: str = "",
) -> StormAnswer:
    """Run one storm through the plan and say where each litre went.

    Parameters
    ----------
    plan : Plan
        With the faults already in it.
    weather : Weather
    state : State, optional
        What it begins with; the plan's own start when not given.
    full_frac : float, optional
        Share of every tank that is full when the storm comes, where no state is given.
    faults : sequence of Broken
        What was broken, for the words.
    changes : bool
        Whether to try single changes.
    plan_hash, rain_hash : str
        For the provenance.

    Raises
    ------
    PlanError, SolveError
        The plan cannot be run, or a run failed.
    """
    began = time.perf_counter()
    assembled = assemble(plan)
    begin = state or filled(assembled, full_frac)
    run = run_storm(plan, assembled, weather, begin)
    over = over_gutters(plan, run.wet, assembled)
    spills = spilled(plan, run.wet)
    swales = swales_in_storm(plan, run.wet)
    advice = try_changes(run, weather, begin) if changes else None
    return StormAnswer(
        show=plan.show,
        sentence=_sentence(run, over, weather),
        start="" if weather.start is None else str(weather.start),
        depth_mm=weather.depth_m * 1000.0,
        duration_s=weather.duration_s,
        step_s=weather.step_s,
        pattern=weather.pattern,
        peak_mm_per_h=weather.peak_m_per_s * 1000.0 * HOUR_S,
        rain_source=weather.source,
        faults=tuple(broken.words for broken in faults),
        fell_m3=_moved(run, "rain"),
        caught_m3=_caught(run),
        filtered_m3=_moved(run, "sand"),
        kept_m3=kept_m3(run.rows),
        bypassed_m3=bypassed_m3(run),
        spilled=tuple(sorted((*spills, *(w for _, w in over)), key=lambda w: (-w.m3, w.where))),
        lost=lost(plan, run.wet),
        account=run.rows,
        advice=advice,
        events=window_events(plan, run.wet, assembled, start=weather.start),
        peak_level_m=peaks_m(plan, run.wet),
        swales=swales,
        minutes=round(len(weather.rain_m) * weather.step_s / 60.0),
        residual_m3=run.wet.residual_m3,
        findings=ranked(
            dict.fromkeys(
                (
                    *weather.findings,
                    *_findings(run, over, faults),
                    *storm_findings(swales, plan),
                )
            )
        ),
        provenance=Provenance(__version__, plan_hash, rain_hash, time.perf_counter() - began),
        series=make_series(plan, run.wet, weather),
    )


def _findings(
    run: StormRun, over: tuple[tuple[str, Went], ...], faults: Sequence[Broken]
) -> Iterator[Finding]:
    yield from run.assembled.findings
    yield from gutter_findings(over)
    yield from overflow_findings(run.plan, run.wet)
    yield from limit_findings(run.plan)
    for broken in faults:
        yield fault_finding(broken)


def _moved(run: StormRun, kind: str) -> float:
    return float(run.wet.flow_m3[:, [arc.kind == kind for arc in run.wet.arcs]].sum())


def _caught(run: StormRun) -> float:
    """Roof water that reached a tank or filter, after screen and first flush [m3]."""
    return float(run.wet.flow_m3[:, catching(run.plan, run.wet.arcs)].sum())


def _sentence(run: StormRun, over: tuple[tuple[str, Went], ...], weather: Weather) -> str:
    volume = volume_words(run.plan)
    ways = (GONE_OVER, GONE_BRIM)
    gone = [row for row in run.rows if row.how in ways and row.m3 >= LEAST_TOLD_M3]
    edge = " or a brim" if any(row.how == GONE_BRIM for row in gone) else ""
    left = f"{volume(sum(row.m3 for row in gone))} left over an overflow{edge} for good"
    if gone:
        left += f", most of it from {dict(run.plan.parts())[gone[0].where].label or gone[0].where}"
    else:
        left = "none left over an overflow for good"
    past_m3 = bypassed_m3(run)
    past = f"; {volume(past_m3)} spilled past the filters" if past_m3 >= LEAST_TOLD_M3 else ""
    over_m3 = sum(w.m3 for _, w in over)
    gutters = f"; {volume(over_m3)} ran over the gutters" if over else ""
    when = "in the storm and the day after it" if weather.start is None else "in these hours"
    return (
        f"Of {volume(_moved(run, 'rain'))} that fell on the roofs, {volume(_caught(run))} reached "
        f"the first tank and {left}{past}{gutters}; the filters passed "
        f"{volume(_moved(run, 'sand'))} {when}."
    )

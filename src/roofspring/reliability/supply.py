"""Will it last? One physical run, read from every side."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.errors import ranked
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.events import run_events, short_days, worst_events
from roofspring.network.forcing import CASCADE
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.rain import WITHIN_DAY, RainRecord
from roofspring.reliability.answer import (
    Month,
    StoreAnswer,
    SupplyAnswer,
    UseAnswer,
    WithinDay,
)
from roofspring.reliability.capacity import capacity_curve
from roofspring.reliability.compare import reference_methods
from roofspring.reliability.doubt import doubt_words, resampled_band
from roofspring.reliability.findings import supply_findings
from roofspring.reliability.flows import (
    caught_m3_by_day,
    first_spill_m3_by_day,
    gone_m3_by_day,
)

BoolArray = npt.NDArray[np.bool_]
EMPTY_M3 = 1e-6


def assess_supply(
    plan: Plan, record: RainRecord, *, plan_hash: str = ""
) -> tuple[SupplyAnswer, RunResult]:
    """Run the plan through the record and answer "Will it last?".

    Parameters
    ----------
    plan : Plan
    record : RainRecord
        Without gaps (filled ones are counted and told).
    plan_hash : str
        For the provenance.

    Returns
    -------
    SupplyAnswer, RunResult

    Raises
    ------
    PlanError, RecordError, SolveError
        As `roofspring.network.simulate.simulate`.
    """
    assembled = assemble(plan)
    result = simulate(plan, record, assembled=assembled, plan_hash=plan_hash)
    short = short_days(result)
    fell = result.total_m3(kind="rain")
    caught = caught_m3_by_day(plan, result)
    gone = gone_m3_by_day(plan, result)
    wanted, delivered = float(result.wanted_m3.sum()), float(result.delivered_m3.sum())
    any_short: BoolArray = np.asarray(short.any(axis=1))
    low, high = resampled_band(result)
    uses = _uses(plan, result, short)
    stores = _stores(plan, result, assembled)
    events = run_events(plan, result)
    curve_store, curve = capacity_curve(plan, record, assembled, uses=uses)
    answer = SupplyAnswer(
        show=plan.show,
        sentence=_sentence(record, uses, any_short, wanted, delivered, result),
        doubt=doubt_words(result, any_short, invented=record.invented),
        years=result.years,
        rain_mm_per_year=record.mean_m_per_year * 1000.0,
        fell_m3=fell,
        caught_m3=float(caught.sum()),
        wanted_m3=wanted,
        delivered_m3=delivered,
        spilled_m3=float(gone.sum()),
        served_frac=share(delivered, wanted),
        days_short=int(any_short.sum()),
        longest_short_days=longest(any_short)[0],
        served_low_frac=low,
        served_high_frac=high,
        filled_frac=record.filled_frac,
        invented=record.invented,
        within_day=plan.rain.within_day if record.steps_per_day_count == 1 else "the record's own",
        within_day_ways=_within_day(plan, record, assembled, result),
        uses=uses,
        stores=stores,
        months=_months(record, result, caught, gone),
        curve_store=curve_store,
        curve=curve,
        methods=reference_methods(plan, record, result, caught),
        residual_m3=result.residual_m3,
        events=events,
        worst=worst_events(events),
        findings=ranked(
            (
                *record.findings,
                *assembled.findings,
                *supply_findings(plan, result, uses, float(caught.sum()), gone),
            )
        ),
        provenance=result.provenance,
    )
    return answer, result


def share(part: float, whole: float) -> float:
    """Part over whole; 1 where nothing was wanted."""
    return part / whole if whole > 0.0 else 1.0


def longest(flags: BoolArray) -> tuple[int, int | None]:
    """Length of the longest run of true days, and the index it starts at."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    if len(edges) == 0:
        return 0, None
    lengths = edges[1::2] - edges[::2]
    best = int(np.argmax(lengths))
    return int(lengths[best]), int(edges[2 * best])


def _uses(plan: Plan, result: RunResult, short: BoolArray) -> tuple[UseAnswer, ...]:
    month = result.days.astype("datetime64[M]").astype(np.int64) % 12
    answers = []
    for i, use_id in enumerate(result.use_ids):
        length, start = longest(short[:, i])
        wanted = float(result.wanted_m3[:, i].sum())
        delivered = float(result.delivered_m3[:, i].sum())
        answers.append(
            UseAnswer(
                id=use_id,
                label=plan.uses[use_id].label or use_id,
                wanted_m3=wanted,
                delivered_m3=delivered,
                served_frac=share(delivered, wanted),
                days_short=int(short[:, i].sum()),
                longest_short_days=length,
                longest_short_from=None if start is None else str(result.days[start]),
                days_rationed=int(result.rationed[:, i].sum()),
                raw_frac=share(float(result.raw_delivered_m3[:, i].sum()), delivered),
                short_by_month=tuple(int(n) for n in np.bincount(month[short[:, i]], minlength=12)),
            )
        )
    return tuple(answers)


def _stores(plan: Plan, result: RunResult, assembled: Assembled) -> tuple[StoreAnswer, ...]:
    spills: dict[str, npt.NDArray[np.float64]] = {}
    for j, arc in enumerate(result.arcs):
        if arc.kind in ("overflow", "rim"):
            spills[arc.from_part] = spills.get(arc.from_part, 0.0) + result.flow_m3[:, j]
    daily_want = dict(zip(result.use_ids, result.wanted_m3.mean(axis=0), strict=True))
    answers = []
    for i, store_id in enumerate(result.store_ids):
        drawn: dict[str, float] = {}
        for u, use_id in enumerate(result.use_ids):
            for d in range(assembled.net.draw_first[u], assembled.net.draw_first[u + 1]):
                if assembled.topology.nodes[assembled.net.draw_node[d]] == store_id:
                    dead_m3 = float(assembled.net.draw_dead_m3[d])
                    drawn[use_id] = min(dead_m3, drawn.get(use_id, dead_m3))
        wants = [(use_id, float(daily_want[use_id]), dead) for use_id, dead in drawn.items()]
        if len(wants) > 1:  # until the first of them finds no water at its tap
            wants.append(("all together", sum(w for _, w, _ in wants), max(drawn.values())))
        spill = spills.get(store_id, np.zeros(len(result.days)))
        answers.append(
            StoreAnswer(
                id=store_id,
                kind=assembled.topology.parts[store_id].kind,
                label=plan.part(store_id).label or store_id,
                start_m3=float(result.start_m3[i]),
                end_m3=float(result.end_m3[-1, i]),
                min_m3=float(result.low_m3[:, i].min()),
                mean_m3=float(result.end_m3[:, i].mean()),
                spilled_m3=float(spill.sum()),
                capacity_m3=float(result.capacity_m3[i]),
                dead_m3=float(result.dead_m3[i]),
                days_empty=int((result.low_m3[:, i] <= result.dead_m3[i] + EMPTY_M3).sum()),
                days_spilling=int((spill > EMPTY_M3).sum()),
                days_of_use=tuple(
                    (u, max(0.0, float(result.capacity_m3[i]) - dead) / w)
                    for u, w, dead in wants
                    if w > 0.0
                ),
            )
        )
    return tuple(answers)


def _months(
    record: RainRecord,
    result: RunResult,
    caught: npt.NDArray[np.float64],
    gone: npt.NDArray[np.float64],
) -> tuple[Month, ...]:
    month = result.days.astype("datetime64[M]").astype(np.int64) % 12
    lengths = (31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)
    rain = record.daily_depth_m
    rows = []
    for m in range(12):
        here = month == m
        scale = lengths[m] / max(1, int(here.sum()))
        rows.append(
            Month(
                month=m + 1,
                rain_m=float(rain[here].sum()) * scale,
                caught_m3=float(caught[here].sum()) * scale,
                wanted_m3=float(result.wanted_m3[here].sum()) * scale,
                delivered_m3=float(result.delivered_m3[here].sum()) * scale,
                spilled_m3=float(gone[here].sum()) * scale,
            )
        )
    return tuple(rows)


def _within_day(
    plan: Plan, record: RainRecord, assembled: Assembled, own: RunResult
) -> tuple[WithinDay, ...]:
    if record.steps_per_day_count > 1:
        return ()
    rows = []
    for method in (*WITHIN_DAY, CASCADE):
        result = own
        if method != plan.rain.within_day:
            result = simulate(plan, record, assembled=assembled, within_day=method)
        rows.append(
            WithinDay(
                method=method,
                served_frac=share(float(result.delivered_m3.sum()), float(result.wanted_m3.sum())),
                caught_m3_per_year=float(caught_m3_by_day(plan, result).sum()) / result.years,
                first_spill_m3_per_year=float(first_spill_m3_by_day(plan, result).sum())
                / result.years,
            )
        )
    return tuple(rows)


def _sentence(
    record: RainRecord,
    uses: tuple[UseAnswer, ...],
    any_short: BoolArray,
    wanted: float,
    delivered: float,
    result: RunResult,
) -> str:
    whose = "invented rain of this record" if record.invented else "rain you gave"
    span = f"On the {result.years:.0f} years of {whose}"
    if result.years < 1.5:
        days = len(result.days)
        span = f"On the {days} day{'s' if days > 1 else ''} of {whose}"
    if wanted <= 0.0:
        return f"{span}, no use wanted any water; there is nothing to answer."
    if not any_short.any():
        return f"{span}, every use got all the water it wanted."
    count, start = longest(any_short)
    first = [u for u in uses if u.days_short == 0]
    spared = f" Never short: {', '.join(u.label for u in first)}." if first else ""
    day = result.days[start] if start is not None else result.days[0]
    return (
        f"{span}, something ran short on {int(any_short.sum()):,} of {len(result.days):,} days; "
        f"the longest shortage was {count:,} days, from {day}. "
        f"{100.0 * share(delivered, wanted):.0f} % of the water wanted was delivered.{spared}"
    )

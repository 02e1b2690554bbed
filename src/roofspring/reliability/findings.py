"""What the run itself says is wrong, and the next step."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.network.result import GROUND, RunResult
from roofspring.plan.model import Filter, Plan
from roofspring.reliability.answer import UseAnswer
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import MONTH_NAMES, show

MUCH_SPILLED_FRAC = 0.10
MUCH_SNOW_FRAC = 0.02
"""Share of what falls from which snow that slides off is told; engineering choice."""


def supply_findings(
    plan: Plan,
    result: RunResult,
    uses: tuple[UseAnswer, ...],
    caught_m3: float,
    gone_m3: npt.NDArray[np.float64],
) -> Iterator[Finding]:
    """Findings on shortage, on water spilled while something ran short, and on rates."""
    yield from _shortages(plan, uses)
    volume = partial(show, kind="volume", units=plan.show, digits=0)
    wanted = sum(u.wanted_m3 for u in uses)
    years = max(result.years, 1e-9)
    if wanted > 0.0 and caught_m3 < wanted:
        yield Finding(
            "SUP-103",
            "caution",
            "roof and rain bring less than is wanted: no tank, however large, can serve it all",
            where="roofs",
            got=f"{volume(caught_m3 / years)} a year caught",
            limit=f"{volume(wanted / years)} a year wanted",
            next="add roof area, lower the least important use, or plan another source",
        )
    lost = float(gone_m3.sum())
    short = any(u.days_short for u in uses)
    if short and caught_m3 > 0.0 and lost > MUCH_SPILLED_FRAC * caught_m3:
        yield Finding(
            "SUP-104",
            "caution",
            "much of the caught water spills although something runs short",
            where=_worst_spiller(plan, result),
            got=f"{volume(lost / years)} a year, {100 * lost / caught_m3:.0f} % of what is caught",
            limit=f"{100 * MUCH_SPILLED_FRAC:.0f} %",
            source=ENGINEERING_CHOICE,
            next="look at which store spills first: a larger raw tank catches storms, more filter "
            "area empties it sooner, a larger cistern carries more through the dry spell",
        )
    yield from _rates(plan, result)
    yield from _snow(plan, result)
    yield from _waste(plan, result)
    if result.forced_count > 0:
        yield Finding(
            "SUP-109",
            "note",
            "some steps of the run could not be made as short as the tolerance asks",
            where="run.tolerance",
            got=f"{result.forced_count:,} of {result.steps_count:,} steps",
            limit=show(plan.run.tolerance_m, "height", units=plan.show),
            source=ENGINEERING_CHOICE,
            next="ask for shorter steps with wet-step and dry-step in [run], or a wider tolerance; "
            "levels may be off by more than it where a small tank fills or empties fast",
        )


def _shortages(plan: Plan, uses: tuple[UseAnswer, ...]) -> Iterator[Finding]:
    for use in uses:
        if use.days_short == 0:
            continue
        months = sorted(range(12), key=lambda m: -use.short_by_month[m])[:3]
        worst = ", ".join(MONTH_NAMES[m] for m in sorted(months) if use.short_by_month[m])
        yield Finding(
            "SUP-101" if plan.uses[use.id].importance <= 1 else "SUP-102",
            "stop" if plan.uses[use.id].importance <= 1 else "caution",
            f"{use.label} ran short on {use.days_short:,} days, "
            f"{use.longest_short_days:,} of them on end from {use.longest_short_from}",
            where=f"use.{use.id}",
            got=f"{100 * use.served_frac:.1f} % served; worst in {worst}",
            limit="100 %",
            next="more storage for the dry spell, more roof, or a smaller want; the storage curve "
            "shows what each step of storage brings",
        )


def _rates(plan: Plan, result: RunResult) -> Iterator[Finding]:
    for i, filter_id in enumerate(result.filter_ids):
        part = plan.filters[filter_id]
        highest = float(result.filter_rate_m_per_s[:, i].max(initial=0.0))
        if highest > part.rate_limit_m_per_s * (1.0 + 1e-9):
            over = int((result.filter_rate_m_per_s[:, i] > part.rate_limit_m_per_s).sum())
            yield Finding(
                "SUP-105",
                "stop",
                f"the filter ran faster than its limit on {over:,} days",
                where=filter_id,
                got=show(highest, "rate", units=plan.show),
                limit=show(part.rate_limit_m_per_s, "rate", units=plan.show),
                source=_limit_source(part),
                next="throttle it, or give it more area",
            )


def _snow(plan: Plan, result: RunResult) -> Iterator[Finding]:
    """A note where snow that slides off is a share of the rain that counts."""
    slid_m3, fell_m3 = result.total_m3(kind="slid"), result.total_m3(kind="rain")
    if slid_m3 <= MUCH_SNOW_FRAC * fell_m3:
        return
    shares = sorted({roof.snow_lost_frac for roof in plan.roofs.values()})
    lost = " to ".join(f"{100 * s:.0f} %" for s in dict.fromkeys((shares[0], shares[-1])))
    yield Finding(
        "SUP-106",
        "note",
        "much of the snow is taken to slide past the gutters or to be held by their ice",
        where="roofs",
        got=f"{show(slid_m3 / result.years, 'volume', units=plan.show, digits=0)} a year, "
        f"{100 * slid_m3 / fell_m3:.0f} % of what falls; {lost} of the snow that leaves the roof",
        limit="nobody knows this share for your roof: between nothing and all of it",
        source=ENGINEERING_CHOICE,
        next="look at the roof after snow, set snow-lost of each roof, and compare with 0 and 1; "
        "snow guards keep more",
    )


def _waste(plan: Plan, result: RunResult) -> Iterator[Finding]:
    """A note on what cleaning costs: how often, and what then runs to waste."""
    for i, filter_id in enumerate(result.filter_ids):
        count = int((result.cleaned[:, i] > 0).sum())
        if count == 0:
            continue
        waste_m3 = result.total_m3(kind="waste", from_part=filter_id)
        volume = show(waste_m3 / result.years, "small_volume", units=plan.show)
        yield Finding(
            "SUP-107",
            "note",
            f"the filter was cleaned {count:,} times in the run",
            where=filter_id,
            got=f"{count / result.years:.1f} times a year; {volume} a year then ran to waste",
            source=ENGINEERING_CHOICE,
            next="growth of the skin is a choice until you have your own log: keep one, and set "
            "skin and care of the filter by it",
        )


def _limit_source(part: Filter) -> str:
    given = "rate_limit_m_per_s" in part.model_fields_set
    return "the plan's own limit" if given else "HUISMAN_WOOD_1974"


def _worst_spiller(plan: Plan, result: RunResult) -> str:
    spills = {
        arc.from_part: float(result.flow_m3[:, j].sum())
        for j, arc in enumerate(result.arcs)
        if arc.kind == "overflow" and (arc.to_part == GROUND or arc.to_part in plan.swales)
    }
    return max(sorted(spills), key=lambda s: spills[s]) if spills else ""

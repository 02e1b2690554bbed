"""The answer to "Will it flow?", first cut: static heights and the unthrottled filter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from roofspring.errors import Finding, ranked
from roofspring.hydraulics import orifice_diameter_m
from roofspring.network.heights import lip_height_m, shut_height_m
from roofspring.network.laws import bed_resistance_s, check_fittings, pipe_flow_m3_per_s
from roofspring.network.levels.checks import LevelCheck
from roofspring.network.levels.rules import DESIGN_RATE_M_PER_S, run_loss_m, run_rules, runs
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.units import UnitSet, show
from roofspring.water import viscosity_ratio

# A height that fails here lets the sand dry, raw water back, or no water pass at all.
STOPPING = (
    "LVL-004", "LVL-006", "LVL-007", "LVL-008", "LVL-009", "LVL-011", "LVL-013", "LVL-017",
)  # fmt: skip
WARM_DEGC = 20.0


@dataclass(frozen=True)
class LevelsAnswer:
    """Every level check, ranked findings, and the answer in a sentence."""

    show: UnitSet
    """Units that the plan wants its answers in."""
    sentence: str
    checks: tuple[LevelCheck, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def assess_levels(plan: Plan) -> LevelsAnswer:
    """Check every height of the plan against the heights it must clear.

    Raises
    ------
    PlanError (NET-001)
        A pipe names an unknown fitting.
    """
    check_fittings(plan)
    checks = run_rules(plan)
    fast = tuple(_unthrottled(plan))
    sentence = _sentence(checks, plan.show)
    if fast:
        names = " and ".join(f.where for f in fast)
        sentence += f" Nothing throttles {names}: freshly cleaned, it runs over its limit."
    return LevelsAnswer(
        plan.show, sentence, checks, ranked((*_failures(checks, plan.show), *fast, *_shut(plan)))
    )


def _failures(checks: tuple[LevelCheck, ...], units: UnitSet) -> Iterator[Finding]:
    for check in checks:
        if check.ok is False:
            assert check.have_m is not None
            yield Finding(
                check.code,
                "stop" if check.code in STOPPING else "caution",
                f"this does not hold: {check.what}",
                where=check.where,
                got=show(check.have_m, "gap", units=units),
                limit=f"at least {show(check.need_m, 'gap', units=units)} ({check.state})",
                source=check.source,
                next=check.change,
            )
        elif check.ok is None:
            yield Finding(
                "LVL-020",
                "note",
                f"not checked: {check.what}",
                where=check.missing[0],
                next=f"give the height {check.missing[0]} in the plan",
            )


def _shut(plan: Plan) -> Iterator[Finding]:
    """Lines that can carry nothing, by a shut valve or a blocked strainer."""
    for run in runs(plan):
        for c in run:
            if math.isinf(run_loss_m((c,), 1e-6)):
                yield Finding(
                    "LVL-018",
                    "caution",
                    "nothing can flow in this line: a valve in it is shut or its strainer is "
                    "blocked, so its heights were not checked",
                    where=f"pipe.{c.pipe_id}",
                    next="open the valve or clean the strainer in the plan, if it is not meant so",
                )


def _unthrottled(plan: Plan) -> Iterator[Finding]:
    """A clean bed under a full box must not run over its limit."""
    rate_words = partial(show, kind="rate", units=plan.show)
    parts = dict(plan.parts())
    feeds: dict[str, list[Connection]] = {}
    for c in connections(plan):
        if isinstance(parts[c.to_part], Filter) and isinstance(parts[c.from_part], Tank):
            feeds.setdefault(c.to_part, []).append(c)
    for filter_id, part in sorted(plan.filters.items()):
        head_m = _driving_head_m(part, feeds.get(filter_id, []))
        if head_m is None or head_m <= 0.0:
            continue
        clean_m_per_s = head_m / (bed_resistance_s(part) * float(viscosity_ratio(WARM_DEGC)))
        rate = min(clean_m_per_s, _feed_rate_m_per_s(plan, part, feeds.get(filter_id, [])))
        if part.throttle_m_per_s is not None:
            rate = min(rate, part.throttle_m_per_s)
        if rate <= part.rate_limit_m_per_s * (1.0 + 1e-9):
            continue
        flow_m3_per_s = DESIGN_RATE_M_PER_S * part.area_m2
        hole_m = orifice_diameter_m(flow_m3_per_s, head_m=head_m)
        yield Finding(
            "LVL-016",
            "stop",
            "nothing throttles this filter: freshly cleaned it runs far over its limit",
            where=filter_id,
            got=f"{rate_words(rate)} clean, warm and full ({rate / part.rate_limit_m_per_s:.1f} "
            "times the limit)",
            limit=rate_words(part.rate_limit_m_per_s),
            source="HUISMAN_WOOD_1974",
            next=f"fit a throttle on its outlet: a sharp hole of {1000 * hole_m:.1f} mm passes "
            f"{rate_words(DESIGN_RATE_M_PER_S)} at {show(head_m, 'length', units=plan.show)} of "
            "head; a small valve that is set with a bucket and a watch does as well",
        )


def _driving_head_m(part: Filter, feeds: list[Connection]) -> float | None:
    """Greatest standing head over the weir: float shut where there is one, else the lip."""
    if part.outlet_m is None:
        return None
    tops = [
        shut_height_m(part, c.pipe)[0]
        for c in feeds
        if c.pipe.valve is not None and c.pipe.valve.kind == "float"
    ]
    top_m = min(tops) if tops and len(tops) == len(feeds) else lip_height_m(part)
    return None if top_m is None else top_m - part.outlet_m


def _feed_rate_m_per_s(plan: Plan, part: Filter, feeds: list[Connection]) -> float:
    """Highest rate that the feed lines can bring, their tanks full; unlimited without heights."""
    total = 0.0
    for c in feeds:
        lip_m = lip_height_m(plan.tanks[c.from_part])
        if lip_m is None or part.inlet_m is None:
            return float("inf")
        total += pipe_flow_m3_per_s(c.pipe, lip_m - part.inlet_m, temp_degc=WARM_DEGC)
    return total / part.area_m2 if feeds else float("inf")


def _sentence(checks: tuple[LevelCheck, ...], units: UnitSet) -> str:
    made = [c for c in checks if c.ok is not None]
    if not made:
        return "The plan gives too few heights to say whether water will flow."
    failed = [c for c in made if not c.ok]
    unmade = len(checks) - len(made)
    rest = f" {unmade} could not be made: heights are missing." if unmade else ""
    if not failed:
        tight = min(made, key=lambda c: c.margin_m if c.margin_m is not None else 0.0)
        assert tight.margin_m is not None
        return (
            f"All {len(made)} level checks hold; the tightest is {tight.where}, with "
            f"{show(max(0.0, tight.margin_m), 'gap', units=units)} to spare.{rest}"
        )
    first = min(failed, key=lambda c: (c.code not in STOPPING, c.code, c.where))
    return (
        f"{len(failed)} of {len(made)} level checks {'fails' if len(failed) == 1 else 'fail'}. "
        f"First: {first.where}, {first.change}.{rest}"
    )

"""The answer to "Will it flow?": every check in its worst state, and the change that mends it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import Any

from roofspring.errors import Finding, PlanError, ranked
from roofspring.hydraulics import orifice_diameter_m
from roofspring.network.laws import check_fittings
from roofspring.network.levels.changes import Change, changed
from roofspring.network.levels.checks import LevelCheck
from roofspring.network.levels.doubts import doubts
from roofspring.network.levels.evaluate import check_levels, failing
from roofspring.network.levels.falls import FallRow, fall_rows
from roofspring.network.levels.lines import run_loss_m, runs
from roofspring.network.levels.rain import DesignIntensity, design_intensity
from roofspring.network.levels.state_rules import DESIGN_RATE_M_PER_S
from roofspring.network.levels.steady import Steady, in_circle
from roofspring.plan.model import Plan
from roofspring.units import UnitSet, show

# A height that fails here lets the sand dry, raw water back, or no water pass at all.
STOPPING = (
    "LVL-004", "LVL-006", "LVL-007", "LVL-008", "LVL-009", "LVL-011", "LVL-013", "LVL-016",
    "LVL-017",
)  # fmt: skip


@dataclass(frozen=True)
class StateRow:
    """How a state stands: its tightest check, and how many fail in it."""

    state: str
    words: str
    temp_degc: float
    code: str
    where: str
    margin_m: float
    fails_count: int


@dataclass(frozen=True)
class LevelsAnswer:
    """Every level check, the water of every state, findings, and the answer in a sentence."""

    show: UnitSet
    """Units that the plan wants its answers in."""
    sentence: str
    checks: tuple[LevelCheck, ...]
    findings: tuple[Finding, ...]
    states: tuple[Steady, ...]
    rain: DesignIntensity
    falls: tuple[FallRow, ...] = ()
    """What the whole way from each gutter to each tap has and needs, the least spare first."""

    def by_state(self) -> tuple[StateRow, ...]:
        """Every state in which something was checked, the worst first."""
        rows = []
        for found in self.states:
            here = [
                (margin, check)
                for check in self.checks
                for margin in check.states
                if margin.state.startswith(found.state.title)
            ]
            if here:
                least, check = min(here, key=lambda h: (h[0].margin_m, h[1].key))
                rows.append(
                    StateRow(
                        found.state.name,
                        found.state.title,
                        found.state.temp_degc,
                        check.code,
                        check.where,
                        least.margin_m,
                        sum(not margin.ok for margin, _ in here),
                    )
                )
        return tuple(sorted(rows, key=lambda r: (r.fails_count == 0, r.margin_m)))

    def water(self, state: str = "") -> Steady | None:
        """The water of a state at its worse temperature; without a name, of the worst state."""
        row = next((r for r in self.by_state() if state in ("", r.state)), None)
        for found in self.states:
            if row is None:
                if state in ("", found.state.name):
                    return found
            elif found.state.title == row.words:
                return found
        return None

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return {
            "show": self.show,
            "sentence": self.sentence,
            "checks": [c.to_dict() for c in self.checks],
            "findings": [f.to_dict() for f in self.findings],
            "by_state": [asdict(row) for row in self.by_state()],
            "states": [_state_dict(s) for s in self.states],
            "rain": asdict(self.rain),
            "falls": [row.to_dict() for row in self.falls],
        }


def _state_dict(found: Steady) -> dict[str, Any]:
    return {
        "state": found.state.name,
        "words": found.state.title,
        "temp_degc": found.state.temp_degc,
        "level_m": dict(found.levels_m),
        "rate_m_per_s": dict(found.rates_m_per_s),
        "over_m3_per_s": dict(found.over_m3_per_s),
        "rim_m3_per_s": dict(found.rim_m3_per_s),
        "lines": [asdict(line) for _, line in sorted(found.lines.items())],
    }


def assess_levels(plan: Plan, *, rain: DesignIntensity | None = None) -> LevelsAnswer:
    """Check every height of the plan against the heights it must clear, in every state.

    Parameters
    ----------
    plan : Plan
    rain : DesignIntensity, optional
        Rain that overflows and roof lines must take; a code's when not given.

    Returns
    -------
    LevelsAnswer

    Raises
    ------
    PlanError (NET-001)
        A pipe names an unknown fitting.
    """
    check_fittings(plan)
    intensity = design_intensity() if rain is None else rain
    found, states = check_levels(plan, rain_m_per_s=intensity.rain_m_per_s)
    checks = tuple(_tried(plan, c, found, intensity.rain_m_per_s) for c in found)
    return LevelsAnswer(
        plan.show,
        _sentence(plan, checks),
        checks,
        ranked(
            (
                *_failures(plan, checks),
                *_shut(plan),
                *_circle(plan, states),
                *doubts(plan, checks, rain_m_per_s=intensity.rain_m_per_s),
            )
        ),
        states,
        intensity,
        fall_rows(plan, checks),
    )


def _tried(
    plan: Plan, check: LevelCheck, checks: tuple[LevelCheck, ...], rain_m_per_s: float
) -> LevelCheck:
    """The check with the change that mends it, which was made on a copy of the plan.

    The first that mends it and breaks no other is taken, else the first that mends it.
    """
    if check.ok is not False or not check.options:
        return check
    before = failing(checks)
    made: list[tuple[bool, int, Change, tuple[str, ...]]] = []
    for change in check.options:
        try:
            after, _ = check_levels(
                changed(plan, change.where, change.value), rain_m_per_s=rain_m_per_s
            )
        except PlanError:  # outside what such a value can be
            continue
        now = failing(after)
        mends = check.key not in now and any(c.key == check.key for c in after)
        broken = tuple(f"{code} {where}" for code, where in sorted(now - before))
        made.append((not mends, len(broken), change, broken))
        if mends and not broken:
            break
    if not made:
        return check
    misses, _, change, broken = min(made, key=lambda m: m[:2])
    return replace(
        check,
        change=change.words(plan.show),
        change_where=change.where,
        change_to_m=change.value if change.kind in ("height", "pipe") else None,
        mends=not misses,
        breaks=broken,
    )


def trial_words(check: LevelCheck) -> str:
    """What trying the change showed."""
    if check.mends is None:
        return ""
    if not check.mends:
        return "tried: that alone does not mend it"
    if not check.breaks:
        return "tried: with it this check holds, and no other fails"
    more = f" and {len(check.breaks) - 2} more" if len(check.breaks) > 2 else ""
    return f"tried: with it this check holds, but then {', '.join(check.breaks[:2])}{more} fails"


def _failures(plan: Plan, checks: tuple[LevelCheck, ...]) -> Iterator[Finding]:
    units = plan.show
    told = {(c.change, c.lower_m) for c in checks if c.code in ("LVL-030", "LVL-031") and c.change}
    for check in checks:
        if check.code == "LVL-032" and (check.change, check.lower_m) in told:
            continue  # one change for one overflow is told once
        if check.code == "LVL-016" and check.ok is False:
            yield _too_fast(plan, check)
        elif check.ok is False:
            assert check.have_m is not None
            change, tried = check.change, trial_words(check)
            yield Finding(
                check.code,
                "stop" if check.code in STOPPING else "caution",
                f"this does not hold: {check.what}",
                where=check.where,
                got=show(check.have_m, "gap", units=units),
                limit=(
                    f"at least {show(check.need_m, 'gap', units=units)} ({check.state})"
                    if math.isfinite(check.need_m)
                    else f"more than any height gives ({check.state})"
                ),
                source=check.source,
                next=(f"{change}; {tried}" if tried else change)
                or "widen its pipe, or lead less water to it",
            )
        elif check.ok is None:
            yield Finding(
                "LVL-020",
                "note",
                f"not checked: {check.what}",
                where=check.missing[0],
                next=f"give the height {check.missing[0]} in the plan",
            )


def _too_fast(plan: Plan, check: LevelCheck) -> Finding:
    """A clean bed that runs over its limit, and the hole that would throttle it."""
    part = plan.filters[check.where]
    rate_words = partial(show, kind="rate", units=plan.show)
    assert check.have_m is not None
    times = check.need_m / check.have_m
    hole_m = orifice_diameter_m(DESIGN_RATE_M_PER_S * part.area_m2, head_m=check.need_m)
    return Finding(
        "LVL-016",
        "stop",
        "nothing throttles this filter: freshly cleaned it runs far over its limit"
        if part.throttle_m_per_s is None
        else "this filter is throttled to more than its limit",
        where=check.where,
        got=f"{rate_words(times * part.rate_limit_m_per_s)} clean, warm and full ({times:.1f} "
        "times the limit)",
        limit=rate_words(part.rate_limit_m_per_s),
        source="HUISMAN_WOOD_1974",
        next=f"fit a throttle on its outlet: a sharp hole of {1000 * hole_m:.1f} mm passes "
        f"{rate_words(DESIGN_RATE_M_PER_S)} at {show(check.need_m, 'length', units=plan.show)} of "
        "head; a small valve that is set with a bucket and a watch does as well; "
        + trial_words(check),
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


def _circle(plan: Plan, states: tuple[Steady, ...]) -> Iterator[Finding]:
    """A plan that runs in a circle has no steady levels."""
    if not states:
        yield Finding(
            "LVL-022",
            "stop",
            "the pipes lead water round in a circle: only heights were checked, not what flows",
            where=", ".join(in_circle(plan)),
            next="open the circle: by gravity water never comes back to where it was",
        )


def _sentence(plan: Plan, checks: tuple[LevelCheck, ...]) -> str:
    made = [c for c in checks if c.ok is not None]
    if not made:
        return "The plan gives too few heights to say whether water will flow."
    failed = [c for c in made if not c.ok]
    unmade = len(checks) - len(made)
    rest = f" {unmade} could not be made: heights are missing." if unmade else ""
    if not failed:
        tight = min(made, key=lambda c: c.margin_m if c.margin_m is not None else 0.0)
        assert tight.margin_m is not None
        state = f" ({tight.state})" if tight.states else ""
        return (
            f"All {len(made)} level checks hold; the tightest is {tight.where}{state}, with "
            f"{show(max(0.0, tight.margin_m), 'gap', units=plan.show)} to spare.{rest}"
        )
    first = min(failed, key=lambda c: (c.code not in STOPPING, c.code, c.where))
    fast = [c.where for c in failed if c.code == "LVL-016"]
    more = f" Freshly cleaned, {' and '.join(fast)} would run over its limit." if fast else ""
    return (
        f"{len(failed)} of {len(made)} level checks {'fails' if len(failed) == 1 else 'fail'}. "
        f"First: {first.where}, {first.change or 'no single height mends it'}.{more}{rest}"
    )

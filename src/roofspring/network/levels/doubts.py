"""Heights and sizes that look like slips: a part measured from another datum, an odd bore."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofspring.errors import Finding, PlanError
from roofspring.network.levels.changes import changed
from roofspring.network.levels.checks import LevelCheck
from roofspring.network.levels.evaluate import check_levels, failing
from roofspring.network.levels.shift import NUDGE_M, on_heights, shifted
from roofspring.plan.model import Filter, Plan, Tank
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import show

LEAST_SHIFT_M = 0.25
"""A smaller shift is a height to mend, not another datum; engineering choice."""
LEAST_FAILS_COUNT = 2
WIDEST_BORE_M = 0.5
"""No pipe of a house that catches its own water is wider inside; engineering choice."""
STEP_M = 0.01


def doubts(plan: Plan, checks: tuple[LevelCheck, ...], *, rain_m_per_s: float) -> Iterator[Finding]:
    """Findings of what looks like a slip of the tape or of the unit.

    Parameters
    ----------
    plan : Plan
    checks : tuple of LevelCheck
        Of this plan.
    rain_m_per_s : float
        Design rain.
    """
    yield from _bores(plan)
    for part_id, part in plan.parts():
        if isinstance(part, (Tank, Filter)) and on_heights(part):
            yield from _other_datum(plan, part_id, checks, rain_m_per_s)


def _bores(plan: Plan) -> Iterator[Finding]:
    for pipe_id, pipe in sorted(plan.pipes.items()):
        if pipe.size_m is not None and pipe.size_m > WIDEST_BORE_M:
            yield Finding(
                "LVL-019",
                "caution",
                "this pipe is wider than any of a house: was another unit meant?",
                where=f"pipe.{pipe_id}.size",
                got=show(pipe.size_m, "length", units=plan.show),
                limit=f"at most {show(WIDEST_BORE_M, 'length', units=plan.show)}",
                source=ENGINEERING_CHOICE,
                next='give its inside diameter with the right unit, like "21 mm"',
            )


def _other_datum(
    plan: Plan, part_id: str, checks: tuple[LevelCheck, ...], rain_m_per_s: float
) -> Iterator[Finding]:
    """A part whose checks against its neighbours all hold when it is moved as a whole."""
    wrong = [
        c for c in checks if c.ok is False and _between(c, part_id, plan) and c.margin_m is not None
    ]
    if len(wrong) < LEAST_FAILS_COUNT:
        return
    try:
        nudged, _ = check_levels(shifted(plan, part_id, NUDGE_M), rain_m_per_s=rain_m_per_s)
    except PlanError:  # at the end of what a plan takes
        return
    after = {c.key: c.margin_m for c in nudged}
    least_m, most_m = -math.inf, math.inf
    moving = set()
    for check in checks:
        now_m, then_m = check.margin_m, after.get(check.key)
        if now_m is None or then_m is None or not math.isfinite(now_m + then_m):
            continue
        slope = (then_m - now_m) / NUDGE_M
        if slope > 0.5:
            moving.add(check.key)
            least_m = max(least_m, -now_m / slope)
        elif slope < -0.5:
            moving.add(check.key)
            most_m = min(most_m, -now_m / slope)
    if least_m > most_m:
        return
    up_m = least_m if least_m > 0.0 else most_m
    up_m = (math.ceil if up_m > 0.0 else math.floor)(up_m / STEP_M - 1e-6) * STEP_M
    if not math.isfinite(up_m) or abs(up_m) < LEAST_SHIFT_M:
        return
    if _one_height_mends(plan, part_id, checks, wrong, up_m, rain_m_per_s):
        return
    try:
        moved, _ = check_levels(shifted(plan, part_id, up_m), rain_m_per_s=rain_m_per_s)
    except PlanError:
        return
    if failing(moved) & moving or len(failing(moved)) > len(failing(checks)) - len(wrong):
        return
    way = "higher" if up_m > 0.0 else "lower"
    yield Finding(
        "LVL-025",
        "caution",
        "the heights of this part look as if they were measured from another datum",
        where=part_id,
        got=f"{len(wrong)} checks against its neighbours fail, and all of them hold when all its "
        f"heights are {show(abs(up_m), 'length', units=plan.show)} {way} or a little more",
        source=ENGINEERING_CHOICE,
        next=f"measure the heights of {part_id} again from {plan.site.datum}, before any of them "
        "is changed alone",
    )


def _one_height_mends(
    plan: Plan,
    part_id: str,
    checks: tuple[LevelCheck, ...],
    wrong: list[LevelCheck],
    up_m: float,
    rain_m_per_s: float,
) -> bool:
    """Whether all that fails is about one height of the part, which can be changed alone."""
    own = {
        (name, height_m)
        for c in wrong
        for name, height_m in zip(c.where.split(" over "), (c.upper_m, c.lower_m), strict=True)
        if name.split(".")[0] == part_id and height_m is not None
    }
    if len(own) != 1:
        return False
    name, height_m = own.pop()
    try:
        after, _ = check_levels(changed(plan, name, height_m + up_m), rain_m_per_s=rain_m_per_s)
    except (PlanError, KeyError):
        return False
    return failing(after) <= failing(checks) - {c.key for c in wrong}


def _between(check: LevelCheck, part_id: str, plan: Plan) -> bool:
    """Whether a check sets a height of this part against one of another."""
    names = [name.split(".")[0] for name in check.where.split(" over ")]
    owners = {plan.pipes[n].to.partition(".")[0] if n in plan.pipes else n for n in names}
    return part_id in owners and len(owners) > 1

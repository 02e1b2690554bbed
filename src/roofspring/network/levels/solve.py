"""How low a stand may be, and how high the sand may sit, with every check still holding."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from roofspring.errors import PlanError
from roofspring.network.levels.evaluate import check_levels
from roofspring.network.levels.rules import WEIR_OVER_SAND_M
from roofspring.network.levels.shift import NUDGE_M, shifted, with_sand_at
from roofspring.network.levels.steady import flow_order
from roofspring.plan.model import Filter, Plan, Tank

FARTHEST_M = 5.0
STEP_M = 1e-3
BEYOND_M = 5e-3
"""An answer is made again so far beyond itself, where a check must fail."""
Key = tuple[str, str]


@dataclass(frozen=True)
class LowestStand:
    """How low one part may stand.

    Attributes
    ----------
    where : str
    now_m : float
        Height of its inside floor as planned [m over the datum].
    lowest_m : float or None
        The lowest at which every check holds that a lower stand makes worse; None where there is
        none within 5 m.
    stand_m : float or None
        Floor over the ground then; None where the plan gives no ground.
    held_by : tuple of str
        What fails 5 mm lower than the answer: codes and places. Empty where nothing does and the
        part stands on the ground, or 5 m lower than planned where the plan gives no ground.
    fails : tuple of str
        Made again at the answer: checks that move with the part and fail there. A lower stand makes
        them better, so they fail at every height. Empty where the answer works.
    with_others : bool
        All stands were lowered, from the taps upward; else this one alone.
    """

    where: str
    now_m: float
    lowest_m: float | None
    stand_m: float | None
    held_by: tuple[str, ...]
    fails: tuple[str, ...]
    with_others: bool

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class HighestSand:
    """How high the sand of one filter may sit, its weir going with it.

    Attributes
    ----------
    where : str
    now_m : float
        Height of the sand surface as planned [m over the datum].
    highest_m : float or None
        The highest at which every check holds that higher sand makes worse; None where there is
        none within 5 m.
    weir_m : float or None
        Height of the weir crest that goes with it.
    held_by : tuple of str
        What fails 5 mm higher; empty where nothing does within 5 m.
    fails : tuple of str
        Checks that move with the sand and fail at the answer, as they do at every height.
    """

    where: str
    now_m: float
    highest_m: float | None
    weir_m: float | None
    held_by: tuple[str, ...]
    fails: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def lowest_stands(plan: Plan, *, rain_m_per_s: float) -> tuple[LowestStand, ...]:
    """How low every tank and filter over the ground may stand: each alone, then all together.

    Parameters
    ----------
    plan : Plan
        Without circles.
    rain_m_per_s : float
        Design rain.

    Returns
    -------
    tuple of LowestStand
        First each on its own, the others as they are. Then all, lowered one after the other from
        the taps upward, each as far as those already lowered allow.

    Notes
    -----
    A stand goes down as a whole: floor, outlets, overflow, sand, weir and float together. Parts
    whose floor lies in the ground are left where they are. What must hold is every check whose
    margin moves with the part.
    The lowest place is where the least of the margins that grow with the height is nothing, found
    by Brent's method and rounded up to a millimetre.
    """
    order = [p for p in flow_order(plan) or () if _on_a_stand(plan, p)]
    alone = [
        made
        for p in order
        if (made := _lowest(plan, p, rain_m_per_s, with_others=False)) is not None
    ]
    together: list[LowestStand] = []
    now = plan
    for part_id in reversed(order):
        made = _lowest(now, part_id, rain_m_per_s, with_others=True)
        if made is not None:
            together.insert(0, made)
            if made.lowest_m is not None:
                now = shifted(now, part_id, made.lowest_m - made.now_m)
    return (*alone, *together)


def highest_sand(plan: Plan, *, rain_m_per_s: float) -> tuple[HighestSand, ...]:
    """How high the sand may sit in every filter, its weir going with it, the box as it is.

    Parameters
    ----------
    plan : Plan
        Without circles.
    rain_m_per_s : float

    Returns
    -------
    tuple of HighestSand
        Of filters whose sand and weir have heights.
    """
    made = []
    for filter_id, part in sorted(plan.filters.items()):
        if part.sand_top_m is None or part.outlet_m is None or flow_order(plan) is None:
            continue
        top_m = part.sand_top_m

        def moved(up_m: float, at: str = filter_id, from_m: float = top_m) -> Plan:
            return with_sand_at(plan, at, from_m + up_m)

        found = _farthest(moved, rain_m_per_s, sign=1.0, least_m=-FARTHEST_M, most_m=FARTHEST_M)
        if found is None:
            continue
        over_m = max(part.outlet_m - top_m, WEIR_OVER_SAND_M)
        made.append(
            HighestSand(
                filter_id,
                top_m,
                None if found.up_m is None else top_m + found.up_m,
                None if found.up_m is None else top_m + found.up_m + over_m,
                found.held_by,
                found.fails,
            )
        )
    return tuple(made)


def _on_a_stand(plan: Plan, part_id: str) -> bool:
    part = plan.part(part_id)
    if not isinstance(part, (Tank, Filter)) or part.base_m is None:
        return False
    return part.ground_m is None or part.base_m >= part.ground_m


def _lowest(
    plan: Plan, part_id: str, rain_m_per_s: float, *, with_others: bool
) -> LowestStand | None:
    part = plan.part(part_id)
    assert isinstance(part, (Tank, Filter)) and part.base_m is not None
    base_m, ground_m = part.base_m, part.ground_m
    least_m = -FARTHEST_M if ground_m is None else ground_m - base_m

    def moved(up_m: float) -> Plan:
        return shifted(plan, part_id, up_m)

    found = _farthest(moved, rain_m_per_s, sign=-1.0, least_m=least_m, most_m=FARTHEST_M)
    if found is None:
        return None
    lowest_m = None if found.up_m is None else base_m + found.up_m
    return LowestStand(
        part_id,
        base_m,
        lowest_m,
        None if ground_m is None or lowest_m is None else lowest_m - ground_m,
        found.held_by,
        found.fails,
        with_others,
    )


@dataclass(frozen=True)
class _Found:
    up_m: float | None
    held_by: tuple[str, ...]
    fails: tuple[str, ...]


def _farthest(
    moved: Callable[[float], Plan],
    rain_m_per_s: float,
    *,
    sign: float,
    least_m: float,
    most_m: float,
) -> _Found | None:
    """The farthest move with ``sign`` at which every check holds that the move makes worse.

    None where no check moves at all.
    """
    from scipy.optimize import brentq  # late: slow to import

    @cache
    def margins(up_m: float) -> dict[Key, float]:
        checks, _ = check_levels(moved(up_m), rain_m_per_s=rain_m_per_s)
        return {c.key: c.margin_m for c in checks if c.margin_m is not None}

    here, nudged = margins(0.0), margins(NUDGE_M)
    slope = {k: nudged[k] - here[k] for k in here.keys() & nudged.keys()}
    moving = {k for k, d in slope.items() if abs(d) > 1e-3 * NUDGE_M}
    against = {k for k in moving if slope[k] * sign < 0.0}
    if not moving:
        return None

    def least(up_m: float) -> float:
        there = margins(up_m)
        return min((there[k] for k in against if k in there), default=math.inf)

    far, near = (least_m, most_m) if sign < 0.0 else (most_m, least_m)
    far, near = _within(moved, far), _within(moved, near)
    if least(far) >= -1e-9:
        up_m = far
    elif least(near) < 0.0:
        worst = _told(k for k in against if margins(near).get(k, 0.0) < 0.0)
        return _Found(None, worst, worst)
    else:
        root = float(brentq(least, min(far, near), max(far, near), xtol=STEP_M / 20.0))
        up_m = -sign * math.ceil(-sign * root / STEP_M - 1e-2) * STEP_M
    fails = _told(k for k, m in margins(up_m).items() if k in moving and m < -1e-9)
    beyond = up_m + sign * BEYOND_M
    if sign * beyond > sign * far + 1e-12:
        return _Found(up_m, (), fails)
    held = _told(k for k, m in margins(beyond).items() if k in against and m < 0.0)
    return _Found(up_m, held, fails)


def _within(moved: Callable[[float], Plan], up_m: float) -> float:
    """A move as far as a plan takes it."""
    while abs(up_m) > STEP_M:
        try:
            moved(up_m)
        except PlanError:
            up_m *= 0.5
        else:
            return up_m
    return up_m


def _told(keys: Iterable[Key]) -> tuple[str, ...]:
    return tuple(f"{code} {where}" for code, where in sorted(keys))

"""One row for each pipe that runs full: its cases, its run up and down, and its times."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.hydraulics import (
    WALL_WAVES_M_PER_S,
    Loss,
    PipeFlow,
    Profile,
    air_lock_m,
    air_sweep_speed_m_per_s,
    high_points,
    loss_factor_of_kv,
    low_points,
    pipe_drain_time_s,
    pipe_fill_time_s,
    pipe_losses,
    pipe_profile,
    surge_head_m,
)
from roofspring.network.heights import lip_height_m
from roofspring.network.laws import FEED_DEGC, TAP_KV_M3_PER_H, pipe_factors
from roofspring.network.levels.lines import Run, flow_that_loses_m3_per_s
from roofspring.plan.geometry import depth_to_volume_m3
from roofspring.plan.graph import Connection
from roofspring.plan.model import Part, Pipe, Tank, Tap

CASE_DEGC = (4.0, 20.0)
CLOGGED_FRAC = 0.8
"""Share of a strainer that is clogged; engineering choice: 25 times the loss of a new one."""
NEW, CLOGGED = "new", "clogged"
_AFTER = ("float valve", "stop valve", "throttle valve", "tap", "exit")
"""What stands at the far end of a line, behind all of its run."""
_FALL_STEPS = 24


@dataclass(frozen=True)
class PipeCase:
    """One pipe at one temperature, with its strainer new or clogged (empty without one)."""

    temp_degc: float
    strainer: str
    flow_m3_per_s: float
    speed_m_per_s: float
    reynolds: float
    regime: str
    losses: tuple[Loss, ...]


@dataclass(frozen=True)
class HighRow:
    """A high point of a pipe: where, how fast water must run to carry air on, and its pressure.

    Attributes
    ----------
    station_m, height_m, falls_m : float
    is_closed : bool
    sweep_m_per_s : float
        Speed that carries air down the fall behind it [m/s].
    """

    station_m: float
    height_m: float
    falls_m: float
    is_closed: bool
    sweep_m_per_s: float


@dataclass(frozen=True)
class LowRow:
    """A low point of a pipe, and the water that stays there when the rest has run out [m3]."""

    station_m: float
    height_m: float
    holds_m3: float


@dataclass(frozen=True)
class PipeRow:
    """One pipe between what holds water and where it goes.

    Attributes
    ----------
    where, label, from_, to : str
    size_m, length_m : float
    head_m : float
        Water of the full store over the end of the line, which may be several pipes [m].
    cases : tuple of PipeCase
        With every valve on the way wide open; without flow where the pipe climbs over the store.
    has_profile : bool
        False where the pipe is taken to fall or climb evenly.
    highs, lows : tuples
    air_lock_m : float
        Head that air caught in its climbs and falls can hold back [m].
    suction_m : float
        Greatest head under that of the air anywhere in it, the store nearly empty [m]; 0 for none.
    fills_s, drains_s : float or None
        Time to fill and to run empty; None where heights are missing, infinite where it cannot.
    falls_s : float or None
        Time in which the store above falls from its overflow to this outlet, nothing running in.
    surge_m : float or None
        Head when a quick valve at its end shuts at once, with the standing one [m].
    rated_m : float
        Head that it is made for [m].
    """

    where: str
    label: str
    from_: str
    to: str
    size_m: float
    length_m: float
    head_m: float
    cases: tuple[PipeCase, ...]
    has_profile: bool
    highs: tuple[HighRow, ...]
    lows: tuple[LowRow, ...]
    air_lock_m: float
    suction_m: float
    fills_s: float | None
    drains_s: float | None
    falls_s: float | None
    surge_m: float | None
    rated_m: float

    @property
    def best(self) -> PipeCase:
        """The case with most flow: warm, the strainer new."""
        return max(self.cases, key=lambda case: case.flow_m3_per_s)

    @property
    def worst(self) -> PipeCase:
        """The case with least flow: cold, the strainer clogged."""
        return min(self.cases, key=lambda case: case.flow_m3_per_s)

    @property
    def holds_m3(self) -> float:
        """Water that stays in its low points."""
        return math.fsum(low.holds_m3 for low in self.lows)


def ends_m(c: Connection, parts: dict[str, Part]) -> tuple[float | None, float | None]:
    """Heights of the water way at both ends of a pipe."""
    upper = parts[c.from_part]
    from_m = lip_height_m(upper) if c.from_port == "overflow" else upper.height_m(c.from_port)
    return from_m, parts[c.to_part].height_m(c.to_port)


def run_head_m(run: Run, parts: dict[str, Part]) -> float | None:
    """Water of the full store at the head of a run over the end of the run; None if not known."""
    top_m, end_m = _top_m(run, parts), ends_m(run[-1], parts)[1]
    return None if top_m is None or end_m is None else top_m - end_m


def run_flow_m3_per_s(
    run: Run, parts: dict[str, Part], head_m: float, *, temp_degc: float, clogged: bool
) -> float:
    """Flow at which the pipes of a run together lose a head; 0 where something is shut.

    Every pipe has a size. The losses of pipes in series add, each with its name (`run_losses`).
    """
    if head_m <= 0.0:
        return 0.0

    def lost_m(flow_m3_per_s: float) -> float:
        cases = run_losses(run, parts, flow_m3_per_s, temp_degc=temp_degc, clogged=clogged)
        return math.fsum(case.head_m for case in cases)

    # Every run has an exit, which alone takes all of the head at this flow.
    most = min(_area_m2(c.pipe) for c in run) * math.sqrt(2.0 * GRAVITY_M_PER_S2 * head_m)
    if not math.isfinite(lost_m(most)):
        return 0.0
    return flow_that_loses_m3_per_s(lost_m, head_m, most_m3_per_s=most * (1.0 + 1e-9))


def run_losses(
    run: Run, parts: dict[str, Part], flow_m3_per_s: float, *, temp_degc: float, clogged: bool
) -> list[PipeFlow]:
    """What each pipe of a run loses at a flow, a tap at the end wide open."""
    made = []
    for c in run:
        size_m = c.pipe.size_m
        assert size_m is not None  # only runs with every size come here
        made.append(
            pipe_losses(
                flow_m3_per_s,
                diameter_m=size_m,
                length_m=c.pipe.length_m,
                roughness_m=c.pipe.roughness_m,
                factors=_factors(c.pipe, size_m, parts[c.to_part], clogged=clogged),
                temp_degc=temp_degc,
            )
        )
    return made


def _factors(
    pipe: Pipe, size_m: float, far: Part, *, clogged: bool
) -> tuple[tuple[str, float], ...]:
    blocked = 0.0
    if clogged and pipe.strainer is not None:
        blocked = 1.0 - (1.0 - pipe.strainer.blocked_frac) * (1.0 - CLOGGED_FRAC)
    made = pipe_factors(pipe, diameter_m=size_m, blocked_frac=blocked)
    if isinstance(far, Tap):
        tap_k = loss_factor_of_kv(TAP_KV_M3_PER_H, diameter_m=size_m)
        made = (*made[:-1], ("tap", tap_k), made[-1])
    return made


def pipe_rows(run: Run, parts: dict[str, Part], head_m: float) -> Iterator[PipeRow]:
    """The rows of a run whose sizes and head are known."""
    top_m = _top_m(run, parts)
    crests = [c.pipe.crest_m for c in run if c.pipe.crest_m is not None]
    over = top_m is not None and bool(crests) and max(crests) >= top_m  # nothing runs
    strained = any(c.pipe.strainer is not None for c in run)
    states = [(t, state) for t in CASE_DEGC for state in ((NEW, CLOGGED) if strained else ("",))]
    cases: list[list[PipeCase]] = [[] for _ in run]
    for temp_degc, state in states:
        clogged = state == CLOGGED
        driven_m = 0.0 if over else head_m
        flow = run_flow_m3_per_s(run, parts, driven_m, temp_degc=temp_degc, clogged=clogged)
        losses = run_losses(run, parts, flow, temp_degc=temp_degc, clogged=clogged)
        for made, case in zip(cases, losses, strict=True):
            made.append(
                PipeCase(
                    temp_degc,
                    state,
                    case.flow_m3_per_s,
                    case.speed_m_per_s,
                    case.reynolds,
                    case.regime,
                    case.losses,
                )
            )
    for i in range(len(run)):
        yield _row(run, i, parts, head_m, tuple(cases[i]))


def _row(
    run: Run, i: int, parts: dict[str, Part], head_m: float, cases: tuple[PipeCase, ...]
) -> PipeRow:
    c = run[i]
    size_m = c.pipe.size_m
    assert size_m is not None
    area_m2 = _area_m2(c.pipe)
    profile = profile_of(c, parts)
    highs: tuple[HighRow, ...] = ()
    lows: tuple[LowRow, ...] = ()
    fills_s = drains_s = None
    if profile is not None:
        highs = tuple(
            HighRow(
                p.station_m,
                p.height_m,
                p.falls_m,
                p.is_closed,
                air_sweep_speed_m_per_s(size_m, fall_frac=p.slope_frac),
            )
            for p in high_points(profile)
        )
        lows = tuple(
            LowRow(p.station_m, p.height_m, p.held_m * area_m2) for p in low_points(profile)
        )
        k_sum = math.fsum(k for _, k in _factors(c.pipe, size_m, parts[c.to_part], clogged=False))
        if math.isfinite(k_sum):
            drains_s = pipe_drain_time_s(
                profile,
                diameter_m=size_m,
                roughness_m=c.pipe.roughness_m,
                k_sum=k_sum,
                temp_degc=FEED_DEGC,
            )
            store_m = _top_m(run, parts)
            if i == 0 and store_m is not None:
                fills_s = pipe_fill_time_s(
                    profile,
                    source_m=store_m,
                    diameter_m=size_m,
                    roughness_m=c.pipe.roughness_m,
                    k_sum=k_sum,
                    temp_degc=FEED_DEGC,
                )
    best = max(cases, key=lambda case: case.flow_m3_per_s)
    valve = c.pipe.valve
    quick = isinstance(parts[c.to_part], Tap) or (
        valve is not None and valve.kind == "float" and valve.action == "on-off"
    )
    return PipeRow(
        where=f"pipe.{c.pipe_id}",
        label=c.pipe.label or c.pipe_id,
        from_=f"{c.from_part}.{c.from_port}",
        to=f"{c.to_part}.{c.to_port}",
        size_m=size_m,
        length_m=c.pipe.length_m,
        head_m=head_m,
        cases=cases,
        has_profile=c.pipe.profile is not None,
        highs=highs,
        lows=lows,
        air_lock_m=0.0 if profile is None else air_lock_m(profile),
        suction_m=_suction_m(run, i, parts, profile),
        fills_s=fills_s,
        drains_s=drains_s,
        falls_s=_falls_s(run, parts) if i == 0 else None,
        surge_m=surge_head_m(best.speed_m_per_s, wave_m_per_s=WALL_WAVES_M_PER_S[c.pipe.wall])
        + head_m
        if quick
        else None,
        rated_m=c.pipe.rated_m,
    )


def profile_of(c: Connection, parts: dict[str, Part]) -> Profile | None:
    """The run of a pipe up and down: its profile, or a line from end to end over its high point.

    A high point alone is put half way. None where an end has no height, or where the pipe is
    shorter than it falls.
    """
    pipe = c.pipe
    if pipe.profile is not None:
        return pipe_profile([x for x, _ in pipe.profile], [z for _, z in pipe.profile])
    from_m, to_m = ends_m(c, parts)
    if from_m is None or to_m is None:
        return None
    stations, heights = [0.0, pipe.length_m], [from_m, to_m]
    if pipe.high_point_m is not None and pipe.high_point_m > max(from_m, to_m):
        stations.insert(1, pipe.length_m / 2.0)
        heights.insert(1, pipe.high_point_m)
    steps = zip(pairwise(stations), pairwise(heights), strict=True)
    if any(abs(z1 - z0) > x1 - x0 for (x0, x1), (z0, z1) in steps):
        return None
    return pipe_profile(stations, heights)


def _top_m(run: Run, parts: dict[str, Part]) -> float | None:
    """Full water of the store at the head of a run."""
    store = parts[run[0].from_part]
    return lip_height_m(store) if isinstance(store, Tank) else store.height_m(run[0].from_port)


def _suction_m(run: Run, i: int, parts: dict[str, Part], profile: Profile | None) -> float:
    """How far the water in a pipe is under the pressure of the air, its store nearly empty.

    Only where the profile is given, or it climbs: a straight line says nothing of its run. Fittings
    and strainer are taken to stand before the run, valve and tap behind it.
    """
    c = run[i]
    low_m, top_m = ends_m(run[0], parts)[0], _top_m(run, parts)
    end_m = ends_m(run[-1], parts)[1]
    if not isinstance(parts[run[0].from_part], Tank) or low_m is None or end_m is None:
        return 0.0
    if top_m is None or (c.pipe.crest_m is not None and c.pipe.crest_m >= top_m):
        return 0.0
    if profile is None or len(profile.stations_m) < 3:
        return 0.0
    assert run[0].pipe.size_m is not None
    source_m = low_m + run[0].pipe.size_m
    flow = run_flow_m3_per_s(run, parts, source_m - end_m, temp_degc=FEED_DEGC, clogged=False)
    losses = run_losses(run, parts, flow, temp_degc=FEED_DEGC, clogged=False)
    before_m = math.fsum(case.head_m for case in losses[:i])
    friction_m = losses[i].losses[0].head_m
    before_m += math.fsum(loss.head_m for loss in losses[i].losses[1:] if loss.what not in _AFTER)
    speed_head_m = losses[i].speed_m_per_s ** 2 / (2.0 * GRAVITY_M_PER_S2)
    worst_m = 0.0
    for x, z in zip(profile.stations_m[1:-1], profile.heights_m[1:-1], strict=True):
        left_m = source_m - before_m - friction_m * x / c.pipe.length_m - speed_head_m - z
        worst_m = max(worst_m, -left_m)
    return worst_m


def _falls_s(run: Run, parts: dict[str, Part]) -> float | None:
    """Time in which the tank at the head of a run falls from its overflow to its outlet."""
    tank, outlet_m = parts[run[0].from_part], ends_m(run[0], parts)[0]
    top_m, end_m = _top_m(run, parts), ends_m(run[-1], parts)[1]
    if not isinstance(tank, Tank) or tank.base_m is None or outlet_m is None:
        return None
    if top_m is None or end_m is None or top_m <= outlet_m:
        return None
    low_m = max(outlet_m, *(c.pipe.crest_m or end_m for c in run), end_m)
    if low_m >= top_m:
        return math.inf
    # Equal steps of the root of the height, so that the last, slow water is cut fine.
    shares = [(1.0 - k / _FALL_STEPS) ** 2 for k in range(_FALL_STEPS + 1)]
    levels = [low_m + share * (top_m - low_m) for share in shares]
    time_s = 0.0
    for upper_m, lower_m in pairwise(levels):
        flow = run_flow_m3_per_s(
            run, parts, 0.5 * (upper_m + lower_m) - end_m, temp_degc=FEED_DEGC, clogged=False
        )
        if flow <= 0.0:
            return math.inf
        left_m3 = depth_to_volume_m3(tank, upper_m - tank.base_m)
        left_m3 -= depth_to_volume_m3(tank, lower_m - tank.base_m)
        time_s += left_m3 / flow
    return time_s


def _area_m2(pipe: Pipe) -> float:
    assert pipe.size_m is not None
    return math.pi * pipe.size_m**2 / 4.0

"""Ways from a store's outlet to the next part that holds or gives water, and what they lose."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from roofspring.hydraulics import loss_m
from roofspring.network.laws import (
    FEED_DEGC,
    overflow_flow_m3_per_s,
    pipe_flow_m3_per_s,
    pipe_k_sum,
)
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Disinfection, Diverter, Filter, Pipe, Plan, Tank

MOST_HEAD_M = 50.0
"""No overflow is asked to stand deeper over its lip than this."""

Run = tuple[Connection, ...]
"""Pipes one behind the other, from an outlet to the next part that holds or gives water."""


def runs(plan: Plan) -> tuple[Run, ...]:
    """Every way from a tank's or a filter's outlet to the next part that holds or gives water.

    Disinfection steps and diverters on the way are passed through: a height counts from where the
    water stands to where it goes, whatever it passes. Cleaning drains stand shut. A way that comes
    back to where it was ends there.
    """
    parts = dict(plan.parts())
    joined = connections(plan)
    starts: list[Run] = [
        (c,)
        for c in joined
        if isinstance(parts[c.from_part], (Tank, Filter))
        and c.from_port not in ("overflow", "drain")
    ]
    made: list[Run] = []
    while starts:
        way = starts.pop(0)
        end = way[-1].to_part
        if isinstance(parts[end], (Disinfection, Diverter)):
            been = {c.from_part for c in way} | {end}
            starts.extend((*way, c) for c in joined if c.from_part == end and c.to_part not in been)
        else:
            made.append(way)
    return tuple(made)


def run_loss_m(
    run: Run,
    flow_m3_per_s: float,
    *,
    float_open_frac: float = 1.0,
    temp_degc: float = FEED_DEGC,
) -> float:
    """Head that the lines of a run take together at a flow; infinite where one is shut."""
    return math.fsum(
        line_loss_m(c.pipe, flow_m3_per_s, float_open_frac=float_open_frac, temp_degc=temp_degc)
        for c in run
    )


def line_loss_m(
    pipe: Pipe, flow_m3_per_s: float, *, float_open_frac: float = 1.0, temp_degc: float = FEED_DEGC
) -> float:
    """Head that a line takes at a flow; none where its size is not given, infinite where shut."""
    if pipe.size_m is None:
        return 0.0
    k_sum = pipe_k_sum(pipe, diameter_m=pipe.size_m, float_open_frac=float_open_frac)
    if math.isinf(k_sum):
        return k_sum
    return loss_m(
        flow_m3_per_s,
        diameter_m=pipe.size_m,
        length_m=pipe.length_m,
        roughness_m=pipe.roughness_m,
        k_sum=k_sum,
        temp_degc=temp_degc,
    )


def without_float(pipe: Pipe) -> Pipe:
    """The line as it is up to its float valve."""
    if pipe.valve is None or pipe.valve.kind != "float":
        return pipe
    return pipe.model_copy(update={"valve": None})


@lru_cache(maxsize=8192)
def _pipe_flow_m3_per_s(
    pipe: Pipe, head_m: float, temp_degc: float, float_open_frac: float
) -> float:
    return pipe_flow_m3_per_s(pipe, head_m, temp_degc=temp_degc, float_open_frac=float_open_frac)


def run_flow_m3_per_s(
    pipes: tuple[Pipe, ...], head_m: float, *, temp_degc: float, float_open_frac: float = 1.0
) -> float:
    """Flow that a head drives through pipes one behind the other; infinite where none has a size.

    Notes
    -----
    Of one pipe by the engine's law. Of more, the flow at which their losses add up to the head,
    bracketed by what the narrowest would pass alone.
    """
    if head_m <= 0.0:
        return 0.0
    sized = tuple(p for p in pipes if p.size_m is not None)
    alone = [_pipe_flow_m3_per_s(p, head_m, temp_degc, float_open_frac) for p in pipes]
    most = min(alone)
    if not sized:
        return 0.0 if most == 0.0 else math.inf
    if len(sized) == 1 or most == 0.0:
        return most

    def lost_m(flow: float) -> float:
        return math.fsum(
            line_loss_m(p, flow, float_open_frac=float_open_frac, temp_degc=temp_degc)
            for p in sized
        )

    return flow_that_loses_m3_per_s(lost_m, head_m, most_m3_per_s=most)


def flow_that_loses_m3_per_s(
    lost_m: Callable[[float], float], head_m: float, *, most_m3_per_s: float
) -> float:
    """Flow at which losses in series add up to a head, by Brent's method.

    ``lost_m`` gives them at a flow, and at ``most_m3_per_s`` they take all of the head or more.
    """
    from scipy.optimize import brentq  # late: slow to import

    def excess(flow: float) -> float:
        return lost_m(flow) / head_m - 1.0

    return float(brentq(excess, 0.0, most_m3_per_s, xtol=1e-15, rtol=1e-12))


@lru_cache(maxsize=8192)
def head_over_lip_m(pipe: Pipe, form: str, fall_m: float | None, flow_m3_per_s: float) -> float:
    """Head over an overflow lip at which the pipe takes a flow away; infinite where it cannot.

    Parameters
    ----------
    pipe : Pipe
        Of a known size.
    form : str
        ``side`` or ``stand-pipe``.
    fall_m : float or None
        From the lip to its far end [m]; None where that is not known.
    flow_m3_per_s : float
        0 or more.

    Notes
    -----
    The engine's law of overflows turned round: it rises with the head.
    """
    from scipy.optimize import brentq  # late: slow to import

    if flow_m3_per_s <= 0.0:
        return 0.0

    def excess(head_m: float) -> float:
        carried = overflow_flow_m3_per_s(pipe, head_m, form=form, fall_m=fall_m)
        return carried / flow_m3_per_s - 1.0

    high_m = 0.05
    while excess(high_m) < 0.0:
        high_m *= 2.0
        if high_m > MOST_HEAD_M:
            return math.inf
    return float(brentq(excess, 0.0, high_m, xtol=1e-7))


def narrowed(pipe: Pipe, blind_frac: float) -> Pipe:
    """An overflow pipe of whose opening a share is blind.

    The mesh lies across the bore, as every overflow needs one, unless the plan gives it an area.
    """
    is_wide = pipe.outfall is not None and pipe.outfall.mesh_area_m2 is not None
    if pipe.size_m is None or blind_frac <= 0.0 or is_wide:
        return pipe
    return pipe.model_copy(update={"size_m": pipe.size_m * math.sqrt(1.0 - blind_frac)})


def clogged(pipe: Pipe, clogged_frac: float) -> Pipe:
    """A pipe whose strainer is clogged at least so far."""
    strainer = pipe.strainer
    if strainer is None or strainer.blocked_frac >= clogged_frac:
        return pipe
    return pipe.model_copy(
        update={"strainer": strainer.model_copy(update={"blocked_frac": clogged_frac})}
    )

"""What could go along each feed, and what each node behind float valves would let in."""

from __future__ import annotations

import math

from roofspring.kernels._jit import inner
from roofspring.kernels.bed import bed_under_valve
from roofspring.kernels.level import table_flow, tank_level_m
from roofspring.kernels.net import (
    BED,
    HEAD_POINTS_COUNT,
    ON_OFF,
    OPENS_IN_STEP,
    TANK,
    Net,
    State,
    Work,
)
from roofspring.kernels.on_off import on_off_room

EVEN_OUT_HALVINGS = 50
LEAST_OPEN_FRAC = 1e-3


@inner
def sand_resistance_s(net: Net, node: int, state: State) -> float:
    """Resistance of the sand that is left, at 20 degrees C."""
    return float(net.bed_s[node] * state.sand_m[node] / net.life.sand_m[node])


@inner
def bed_resistance_s(net: Net, node: int, state: State, thickness: float) -> float:
    """Resistance of sand and skin together, at the temperature of the day."""
    return float((sand_resistance_s(net, node, state) + state.skin_s[node]) * thickness)


@inner
def even_out_m3(net: Net, feed: int, node: int, near_m3: float, far_m3: float) -> float:
    """What can run to a drowned inlet until both tanks stand level; the far one may overflow."""
    to = net.arc_to[net.feed_arc[feed]]
    low_m3, high_m3 = 0.0, max(0.0, near_m3)
    for _ in range(EVEN_OUT_HALVINGS):
        moved_m3 = 0.5 * (low_m3 + high_m3)
        far_level_m = tank_level_m(net, to, min(far_m3 + moved_m3, net.capacity_m3[to]))
        far_level_m = max(far_level_m, net.feed_inlet_m[feed])
        if tank_level_m(net, node, near_m3 - moved_m3) > far_level_m:
            low_m3 = moved_m3
        else:
            high_m3 = moved_m3
    return low_m3


@inner
def feed_flow_m3_per_s(net: Net, feed: int, node: int, near_m3: float, state: State) -> float:
    """What the pipe of a feed passes at a content of its tank, and the level at its far end.

    A strainer that clogs to an open share x of what it was has its loss over ``x**2``.
    """
    content_m3, foul_frac = state.content_m3, state.foul_frac
    far_m = net.feed_inlet_m[feed]
    if net.feed_drowns[feed] == 1:
        to = net.arc_to[net.feed_arc[feed]]
        far_m = max(far_m, tank_level_m(net, to, content_m3[to]))
    head_m = tank_level_m(net, node, near_m3) - far_m
    if head_m <= 0.0:
        return 0.0
    place = math.sqrt(head_m / net.feed_head_m[feed]) * (HEAD_POINTS_COUNT - 1)
    flow = table_flow(net.feed_flow_m3_per_s[feed], place)
    if foul_frac[feed] > 0.0:
        open_frac = max(LEAST_OPEN_FRAC, 1.0 - foul_frac[feed])
        flow /= math.sqrt(
            1.0 + net.feed_strainer_frac[feed] * (1.0 / (open_frac * open_frac) - 1.0)
        )
    return flow


@inner
def find_flows(net: Net, state: State, work: Work) -> None:
    """What the pipe of each feed passes at the levels of now."""
    for node in range(len(net.kind)):
        for feed in range(net.feed_first[node], net.feed_first[node + 1]):
            work.flow_m3_per_s[net.feed_arc[feed]] = feed_flow_m3_per_s(
                net, feed, node, state.content_m3[node], state
            )


@inner
def find_rooms(net: Net, state: State, work: Work, thickness: float, dt_s: float) -> None:
    """From the flows of the feeds, last node first: what each would take, and each arc carry."""
    n = len(net.kind)
    content_m3 = state.content_m3
    for node in range(n):
        work.feeding_m3[node] = 0.0
        work.kept_m3[node] = 0.0
    for node in range(n):
        for feed in range(net.feed_first[node], net.feed_first[node + 1]):
            arc = net.feed_arc[feed]
            limit_m3 = work.flow_m3_per_s[arc] * dt_s
            if net.feed_drowns[feed] == 1:
                far_m3 = content_m3[net.arc_to[arc]]
                limit_m3 = min(limit_m3, even_out_m3(net, feed, node, content_m3[node], far_m3))
            work.limit_m3[arc] = limit_m3
            valve = net.feed_valve[feed]
            if valve >= 0:
                work.feeding_m3[valve] += limit_m3
    for node in range(n - 1, -1, -1):
        kind = net.kind[node]
        work.room_m3[node] = math.inf
        if kind == BED:
            find_room_in_bed(net, node, state, work, thickness, dt_s)
        elif kind == TANK:
            leaving_m3 = work.planned_m3[node]
            for feed in range(net.feed_first[node], net.feed_first[node + 1]):
                arc = net.feed_arc[feed]
                valve = net.feed_valve[feed]
                work.fair_m3[arc] = work.limit_m3[arc]
                if valve >= 0 and work.limit_m3[arc] > 0.0:
                    share = work.limit_m3[arc] / work.feeding_m3[valve]
                    work.fair_m3[arc] = min(work.limit_m3[arc], work.room_m3[valve] * share)
                    work.kept_m3[valve] += work.fair_m3[arc]
                if net.feed_dead_m3[feed] >= net.shut_m3[node]:
                    # The outlet lies above the shut level: only what stands over it now can leave.
                    over_m3 = max(0.0, content_m3[node] - net.feed_dead_m3[feed])
                    leaving_m3 += min(work.fair_m3[arc], over_m3)
                else:
                    leaving_m3 += work.fair_m3[arc]
            find_room_in_tank(net, node, state, work, leaving_m3, dt_s)


@inner
def find_room_in_bed(
    net: Net, node: int, state: State, work: Work, thickness: float, dt_s: float
) -> None:
    """What the float valves of a filter box let in, and what then is left and goes through."""
    v_m3 = state.content_m3[node]
    end_m3, let_in_m3, opens = bed_under_valve(
        v_m3,
        dt_s,
        net.shut_m3[node],
        net.band_m3[node],
        net.valve_acts[node],
        state.valve_open[node],
        work.feeding_m3[node] / dt_s,
        bed_resistance_s(net, node, state, thickness),
        net.throttle_m3_per_s[node],
    )
    work.under_m3[node] = end_m3
    work.through_m3[node] = max(0.0, v_m3 + let_in_m3 - end_m3)
    work.room_m3[node] = let_in_m3
    work.opens[node] = opens


@inner
def find_room_in_tank(
    net: Net, node: int, state: State, work: Work, leaving_m3: float, dt_s: float
) -> None:
    """What the float valves of a tank let in while a volume leaves it."""
    shut_m3, band_m3, v_m3 = net.shut_m3[node], net.band_m3[node], state.content_m3[node]
    feeding_m3, acts = work.feeding_m3[node], net.valve_acts[node]
    work.opens[node] = state.valve_open[node]
    if acts == ON_OFF:
        work.room_m3[node], work.opens[node] = on_off_room(
            v_m3,
            dt_s,
            shut_m3,
            shut_m3 - band_m3,
            state.valve_open[node],
            feeding_m3 / dt_s,
            leaving_m3 / dt_s,
        )
        return
    aim_m3 = shut_m3
    if acts == OPENS_IN_STEP and feeding_m3 > 0.0:
        # dV/dt = feed (shut - V) / band - leaving, towards the content at which both are equal.
        rest_m3 = max(shut_m3 - band_m3, shut_m3 - band_m3 * leaving_m3 / feeding_m3)
        aim_m3 = rest_m3 + max(0.0, v_m3 - rest_m3) * math.exp(-feeding_m3 / band_m3)
    work.room_m3[node] = max(0.0, aim_m3 - v_m3 + leaving_m3)

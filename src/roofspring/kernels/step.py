"""One step that is as long as its error allows.

A step is tried with the flows of its start. Then each feed that its pipe limits is asked what it
would pass at the end, with its tank's level solved for that end (backward Euler, stable for any
step). Half the difference is the error of the step, as a volume; over the area of the tank, as a
level. Small: the step stands. Middling: it is made again with the mean of both flows, which is
exact to the second order. Large: a shorter step is tried.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import inner
from roofspring.kernels.days import through_m3
from roofspring.kernels.level import rise_m_per_m3
from roofspring.kernels.move import move_water
from roofspring.kernels.net import (
    BED,
    FLUSH,
    OPENS_IN_STEP,
    OUT,
    RAIN,
    ROOF,
    TANK,
    WETTING,
    Forcing,
    Net,
    State,
    Work,
)
from roofspring.kernels.rooms import (
    feed_flow_m3_per_s,
    find_flows,
    find_rooms,
    sand_resistance_s,
)
from roofspring.kernels.uses import draw

QUIET_FRAC = 0.005
"""Share of the tolerance below which a first try stands."""

SHORTEST_FRAC = 1.0 / 4096.0
"""Shortest step, as a share of the step of the forcing."""

MOST_CUTS_COUNT, EVENT_SLACK_FRAC = 12, 1e-6
"""Events are looked for so often in one step, and let be so near to its end."""

MOST_GROWN_FRAC = 0.05
"""Share of a filter's resistance that its skin may grow by in one step."""

SHORTEST_EVENT_FRAC = 1.0 / 256.0
"""Nothing is cut off before the first of these parts of the step of the forcing."""

END_CONTENT_TRIES, END_CONTENT_FRAC, LEAST_BRACKET_FRAC = 16, 1e-4, 1e-12
LEAST_SHRINK, MOST_GROWTH, CAUTION = 0.1, 4.0, 0.9


@inner
def keep(net: Net, state: State, work: Work) -> None:
    """Remember where a step begins."""
    for node in range(len(net.kind)):
        work.was_m3[node] = state.content_m3[node]
        work.was_film_m[node] = state.film_m[node]
    for use in range(len(work.lacking_m3)):
        work.was_lacking_m3[use] = work.lacking_m3[use]


@inner
def go_back(net: Net, state: State, work: Work) -> None:
    """Return to where the step began."""
    for node in range(len(net.kind)):
        state.content_m3[node] = work.was_m3[node]
        state.film_m[node] = work.was_film_m[node]
    for use in range(len(work.lacking_m3)):
        work.lacking_m3[use] = work.was_lacking_m3[use]


@inner
def go(
    net: Net,
    forcing: Forcing,
    step: int,
    state: State,
    work: Work,
    share: float,
    dt_s: float,
) -> None:
    """Plan the draws and pass the water down, with the flows of ``work.flow_m3_per_s``."""
    for arc in range(len(net.arc_to)):
        work.moved_m3[arc] = 0.0
    for node in range(len(net.kind)):
        work.planned_m3[node] = 0.0
    draw(net, work, state.content_m3)
    find_rooms(net, state, work, forcing.thickness[forcing.day[step]], dt_s)
    move_water(net, state, work, forcing, step, share, dt_s)


@inner
def end_content_m3(
    net: Net, node: int, whole_m3: float, state: State, work: Work, dt_s: float
) -> float:
    """What a tank holds at the end, were its free feeds to run all through at that end's level.

    ``whole_m3`` is what it would hold if they ran not at all. By false position (Illinois), as far
    as an estimate needs it.
    """
    first, last = net.feed_first[node], net.feed_first[node + 1]
    low_m3, high_m3, low_off_m3, high_off_m3 = 0.0, whole_m3, -whole_m3, 0.0
    v_m3, side = whole_m3, 0
    for _ in range(END_CONTENT_TRIES):
        off_m3 = v_m3 - whole_m3
        for feed in range(first, last):
            if is_free(net, feed, work, dt_s):
                off_m3 += feed_flow_m3_per_s(net, feed, node, v_m3, state) * dt_s
        if abs(off_m3) <= END_CONTENT_FRAC * (whole_m3 - v_m3):
            break
        if off_m3 > 0.0:
            high_m3, high_off_m3 = v_m3, off_m3
            if side == 1:
                low_off_m3 *= 0.5
            side = 1
        else:
            low_m3, low_off_m3 = v_m3, off_m3
            if side == -1:
                high_off_m3 *= 0.5
            side = -1
        v_m3 = (low_m3 * high_off_m3 - high_m3 * low_off_m3) / (high_off_m3 - low_off_m3)
        if high_m3 - low_m3 <= LEAST_BRACKET_FRAC * whole_m3:
            break
    return v_m3


@inner
def is_free(net: Net, feed: int, work: Work, dt_s: float) -> bool:
    """True where nothing but its pipe limited a feed in the try just made."""
    arc = net.feed_arc[feed]
    return not is_held_back(work, arc, dt_s) and not is_short(
        work.moved_m3[arc], work.limit_m3[arc]
    )


@inner
def is_held_back(work: Work, arc: int, dt_s: float) -> bool:
    """True where something other than the pipe limited a feed in the try just made."""
    return bool(work.limit_m3[arc] < work.flow_m3_per_s[arc] * dt_s * (1.0 - 1e-9))


@inner
def first_event_s(
    net: Net, state: State, work: Work, snow_frac: float, dt_s: float, tolerance_m: float
) -> float:
    """When, in the try just made, something began or ended that the steady flows of a step hide.

    A wet roof began to run, a first-flush chamber was full, a tank ran dry; the whole step where
    nothing did. The step is cut there.
    """
    event_s = dt_s
    for node in range(len(net.kind)):
        kind = net.kind[node]
        if kind == ROOF:
            held_m3 = work.moved_m3[net.slot[node, WETTING]]
            rained_m3 = work.moved_m3[net.slot[node, RAIN]] * (1.0 - snow_frac)
            is_full = state.film_m[node] >= net.wetting_m[node]
            if is_full and 0.0 < held_m3 < rained_m3:
                event_s = min(event_s, dt_s * held_m3 / rained_m3)
        elif kind == FLUSH:
            taken_m3 = state.content_m3[node] - work.was_m3[node]
            passed_m3 = work.moved_m3[net.slot[node, OUT]]
            if taken_m3 > 0.0 and passed_m3 > 0.0:
                event_s = min(event_s, dt_s * taken_m3 / (taken_m3 + passed_m3))
        elif kind == TANK:
            event_s = min(event_s, runs_dry_s(net, node, work, dt_s, tolerance_m))
        elif kind == BED:
            event_s = min(event_s, grows_s(net, node, state, work, dt_s))
    return event_s


@inner
def grows_s(net: Net, node: int, state: State, work: Work, dt_s: float) -> float:
    """When a skin had grown by as much as one step may bring of the whole resistance."""
    filtered_m = through_m3(net, node, work) / net.area_m2[node]
    if filtered_m <= 0.0 or net.life.cake_s_per_m[node] <= 0.0:
        return dt_s
    whole_s = sand_resistance_s(net, node, state) + state.skin_s[node]
    grown_frac = net.life.cake_s_per_m[node] * filtered_m / whole_s
    return float(dt_s * min(1.0, MOST_GROWN_FRAC / grown_frac))


@inner
def runs_dry_s(net: Net, node: int, work: Work, dt_s: float, tolerance_m: float) -> float:
    """When a tank that held something at the start had nothing more for its lowest feed."""
    first, last = net.feed_first[node], net.feed_first[node + 1]
    if first == last:
        return dt_s
    asked_m3, moved_m3 = 0.0, 0.0
    for feed in range(first, last):
        asked_m3 += work.limit_m3[net.feed_arc[feed]]
        moved_m3 += work.moved_m3[net.feed_arc[feed]]
    if not is_short(moved_m3, asked_m3):
        return dt_s
    out_of_reach_m3 = net.feed_dead_m3[last - 1] + work.ice_m3[node]
    held_m3 = work.was_m3[node] - work.planned_m3[node] - out_of_reach_m3
    came_m3 = work.free_m3[node] + work.metered_m3[node]
    if held_m3 * rise_m_per_m3(net, node, work.was_m3[node]) <= tolerance_m or asked_m3 <= came_m3:
        return dt_s
    return float(dt_s * min(1.0, held_m3 / (asked_m3 - came_m3)))


@inner
def is_short(moved_m3: float, asked_m3: float) -> bool:
    """True where a feed moved less than its pipe and valve would have let it."""
    return bool(moved_m3 < asked_m3 * (1.0 - 1e-9))


@inner
def error_m(
    net: Net, state: State, work: Work, dt_s: float, tolerance_m: float
) -> tuple[float, bool]:
    """Error of the try just made, as a level; and whether another with better flows is worth it.

    The better flows are left in ``work.flow_m3_per_s``.
    """
    worst_m, is_again = 0.0, False
    quiet_m = QUIET_FRAC * tolerance_m
    for node in range(len(net.kind)):
        first, last = net.feed_first[node], net.feed_first[node + 1]
        if first == last:
            continue
        is_pipes_matter = False
        for feed in range(first, last):
            arc = net.feed_arc[feed]
            if is_short(work.moved_m3[arc], work.limit_m3[arc]):
                # Its tank had no more: what came to the tank went on evenly.
                if net.feed_valve[feed] >= 0 and work.moved_m3[arc] > 0.0:
                    is_again = True
                    work.flow_m3_per_s[arc] = work.moved_m3[arc] / dt_s
                continue
            end_m3 = state.content_m3[node]
            flow = feed_flow_m3_per_s(net, feed, node, end_m3, state)
            if is_held_back(work, arc, dt_s):
                # Held back at the end as well: the pipe does not matter, but for the level in the
                # band of a valve that opens in step.
                shift_m = in_band_m(net, feed, flow, state, work)
                is_pipes_matter = (
                    is_pipes_matter or flow * dt_s < work.limit_m3[arc] or shift_m > quiet_m
                )
            else:
                off_m3 = 0.5 * abs(flow - work.flow_m3_per_s[arc]) * dt_s
                is_pipes_matter = (
                    is_pipes_matter or off_m3 * most_rise(net, feed, node, state) > quiet_m
                )
        if is_pipes_matter:
            off_m, is_other = settle_flows(net, node, state, work, dt_s, quiet_m)
            worst_m = max(worst_m, off_m)
            is_again = is_again or is_other
    return worst_m, is_again


@inner
def in_band_m(net: Net, feed: int, end_flow: float, state: State, work: Work) -> float:
    """By how much the level in a valve's band moves with its feed, from mean to end."""
    valve = net.feed_valve[feed]
    start_flow = work.flow_m3_per_s[net.feed_arc[feed]]
    if valve < 0 or net.valve_acts[valve] != OPENS_IN_STEP or start_flow <= 0.0:
        return 0.0
    band_m = net.band_m3[valve] * rise_m_per_m3(net, valve, state.content_m3[valve])
    return float(0.5 * band_m * min(1.0, abs(end_flow / start_flow - 1.0)))


@inner
def most_rise(net: Net, feed: int, node: int, state: State) -> float:
    """How much the level at either end of a feed moves for each volume that it carries [1/m2]."""
    to = net.arc_to[net.feed_arc[feed]]
    return max(
        rise_m_per_m3(net, node, state.content_m3[node]),
        rise_m_per_m3(net, to, state.content_m3[to]),
    )


@inner
def settle_flows(
    net: Net, node: int, state: State, work: Work, dt_s: float, quiet_m: float
) -> tuple[float, bool]:
    """Better flows for the feeds of a tank; the error of those it had, and whether that matters.

    The level goes one way, from where it was to where the end is, so no more than that way can be
    wrong with it. Where the pipe would drain the tank in less than the step, the flow is that of
    the end; else the mean of both ends.
    """
    first, last = net.feed_first[node], net.feed_first[node + 1]
    worst_m = 0.0
    had_m3, rise = 0.0, 0.0
    for feed in range(first, last):
        arc = net.feed_arc[feed]
        if is_free(net, feed, work, dt_s):
            had_m3 += work.moved_m3[arc]
            rise = max(rise, most_rise(net, feed, node, state))
        elif is_held_back(work, arc, dt_s):
            flow = feed_flow_m3_per_s(net, feed, node, state.content_m3[node], state)
            less_m3 = 0.5 * max(0.0, work.limit_m3[arc] - flow * dt_s)
            worst_m = max(worst_m, less_m3 * most_rise(net, feed, node, state))
            worst_m = max(worst_m, in_band_m(net, feed, flow, state, work))
    tried_m3 = state.content_m3[node]
    whole_m3 = tried_m3 + had_m3
    end_m3 = end_content_m3(net, node, whole_m3, state, work, dt_s)
    out_m3, way_m3 = whole_m3 - end_m3, abs(end_m3 - work.was_m3[node])
    half_m3 = 0.5 * abs(out_m3 - had_m3)
    worst_m = max(worst_m, min(half_m3, way_m3) * rise)
    total_flow = 0.0
    for feed in range(first, last):
        if is_free(net, feed, work, dt_s):
            total_flow += feed_flow_m3_per_s(net, feed, node, end_m3, state)
    mean_frac = 1.0 if half_m3 > way_m3 else 0.5
    for feed in range(first, last):
        arc = net.feed_arc[feed]
        if is_free(net, feed, work, dt_s) and total_flow > 0.0:
            flow = feed_flow_m3_per_s(net, feed, node, end_m3, state)
            end_flow = flow / total_flow * out_m3 / dt_s
            work.fair_m3[arc] = mean_frac * end_flow + (1.0 - mean_frac) * work.flow_m3_per_s[arc]
        else:
            work.fair_m3[arc] = work.flow_m3_per_s[arc]
            if is_held_back(work, arc, dt_s):
                flow = feed_flow_m3_per_s(net, feed, node, end_m3, state)
                work.fair_m3[arc] = 0.5 * (work.fair_m3[arc] + flow)
    for feed in range(first, last):
        work.flow_m3_per_s[net.feed_arc[feed]] = work.fair_m3[net.feed_arc[feed]]
    return worst_m, abs(tried_m3 - end_m3) * rise > quiet_m or worst_m > quiet_m


@inner
def make_step(
    net: Net,
    forcing: Forcing,
    step: int,
    state: State,
    work: Work,
    most_s: float,
    whole_s: float,
) -> tuple[float, bool]:
    """Make one step of at most ``most_s``, within a step of the forcing that takes ``whole_s``.

    Returns its length, and whether it had to stand although its error was over the tolerance.
    """
    tolerance_m = forcing.tolerance_m
    shortest_s = whole_s * SHORTEST_FRAC
    dt_s = min(state.step_s[0], most_s)
    if most_s - dt_s < shortest_s:  # no sliver at the end
        dt_s = most_s
    keep(net, state, work)
    find_flows(net, state, work)
    is_last_try = False
    cuts = 0
    off_m = 0.0
    while True:
        for use in range(len(work.asked_m3)):
            work.lacking_m3[use] += work.asked_m3[use] * (dt_s / whole_s)
        go(net, forcing, step, state, work, dt_s / whole_s, dt_s)
        if is_last_try:
            break
        event_s = dt_s
        if cuts < MOST_CUTS_COUNT:
            event_s = first_event_s(
                net, state, work, forcing.snow_frac[forcing.day[step]], dt_s, tolerance_m
            )
        if whole_s * SHORTEST_EVENT_FRAC <= event_s < dt_s * (1.0 - EVENT_SLACK_FRAC):
            go_back(net, state, work)
            find_flows(net, state, work)
            dt_s = event_s
            cuts += 1
            continue
        off_m, is_again = error_m(net, state, work, dt_s, tolerance_m)
        if not is_again:
            break
        go_back(net, state, work)
        is_last_try = off_m <= tolerance_m or dt_s <= shortest_s * (1.0 + 1e-9)
        if not is_last_try:
            find_flows(net, state, work)
            shrink = max(LEAST_SHRINK, CAUTION * math.sqrt(tolerance_m / off_m))
            dt_s = max(shortest_s, dt_s * min(shrink, CAUTION))
    growth = MOST_GROWTH
    if off_m > 0.0:
        growth = min(MOST_GROWTH, CAUTION * math.sqrt(tolerance_m / off_m))
    state.step_s[0] = max(shortest_s, dt_s * max(LEAST_SHRINK, growth))
    return dt_s, off_m > tolerance_m

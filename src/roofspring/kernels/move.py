"""One pass of the water of a step down the net, from the first node to the last."""

from __future__ import annotations

import math

from roofspring.kernels._jit import inner
from roofspring.kernels.bed import bed_advance, bed_outflow, bed_time_to_fall
from roofspring.kernels.level import rise_m_per_m3
from roofspring.kernels.net import (
    BED,
    DIVERTER,
    EVAPORATION,
    FLUSH,
    GUTTER,
    OUT,
    PASS,
    RAIN,
    RIM,
    ROOF,
    SCREEN,
    SIDE,
    SINK,
    SLID,
    SPLASH,
    TANK,
    WASTE,
    WETTING,
    Forcing,
    Net,
    State,
    Work,
)
from roofspring.kernels.rooms import bed_resistance_s, even_out_m3

FULLY_SUPPLIED_FRAC = 1e-12


@inner
def move_water(
    net: Net,
    state: State,
    work: Work,
    forcing: Forcing,
    step: int,
    share: float,
    dt_s: float,
) -> None:
    """From the first node to the last: pass the water of one step down the net."""
    n = len(net.kind)
    day = forcing.day[step]
    month, hour = forcing.month[day], min(int(forcing.from_hour[step]), 23)
    rain_m = forcing.rain_m[step] * share
    for node in range(n):
        work.free_m3[node] = 0.0
        work.metered_m3[node] = 0.0
    for node in range(n):
        kind = net.kind[node]
        slot = net.slot[node]
        came_m3 = work.free_m3[node] + work.metered_m3[node]
        if kind == ROOF:
            thaw_m = forcing.thaw_m_per_s[day] * dt_s
            leave_roof(net, node, state, work, rain_m, forcing.snow_frac[day], thaw_m, dt_s)
        elif kind == SCREEN:
            work.moved_m3[slot[OUT]] = (
                came_m3 * net.runoff_frac[node] * (1.0 - state.blind_frac[node])
            )
            work.moved_m3[slot[SIDE]] = came_m3 - work.moved_m3[slot[OUT]]
        elif kind == FLUSH:
            leave_flush(net, node, state, work, came_m3, dt_s)
        elif kind == DIVERTER:
            watched = net.watch[node]
            if (
                net.side[node, month] == 1
                or net.side_hours[node, hour] == 1
                or (watched >= 0 and work.was_m3[watched] > net.side_above_m3[node])
            ):
                work.moved_m3[slot[OUT]], work.moved_m3[slot[SIDE]] = 0.0, came_m3
            else:
                work.moved_m3[slot[OUT]], work.moved_m3[slot[SIDE]] = came_m3, 0.0
        elif kind == PASS:
            work.moved_m3[slot[OUT]] = came_m3
        elif kind == TANK:
            leave_tank(net, node, state, work, came_m3, month, dt_s)
        elif kind == BED:
            leave_bed(net, node, state, work, forcing.thickness[day], dt_s)
        if kind != SINK:
            hand_on(net, node, work)


@inner
def leave_roof(
    net: Net,
    node: int,
    state: State,
    work: Work,
    rain_m: float,
    snow_frac: float,
    thaw_m: float,
    dt_s: float,
) -> None:
    """Snow lies until it melts; rain wets the roof, then runs off; the gutter spills the rest."""
    slot, moved_m3, area_m2 = net.slot[node], work.moved_m3, net.area_m2[node]
    moved_m3[slot[RAIN]] = rain_m * area_m2
    melt_m3, slid_m3 = 0.0, 0.0
    if state.content_m3[node] > 0.0 or (rain_m > 0.0 and snow_frac > 0.0):
        lying_m3 = state.content_m3[node] + rain_m * snow_frac * area_m2
        rain_m *= 1.0 - snow_frac
        gone_m3 = min(lying_m3, thaw_m * area_m2)
        state.content_m3[node] = lying_m3 - gone_m3
        slid_m3 = gone_m3 * net.snow_lost_frac[node]
        melt_m3 = gone_m3 - slid_m3
    held_m, runs_s = 0.0, dt_s
    if rain_m > 0.0:
        held_m = min(rain_m, net.wetting_m[node] - state.film_m[node])
        state.film_m[node] += held_m
        if melt_m3 <= 0.0:
            runs_s *= (rain_m - held_m) / rain_m
    elif state.content_m3[node] <= 0.0:
        state.film_m[node] = max(0.0, state.film_m[node] - net.drying_m_per_s[node] * dt_s)
    ran_m3 = (rain_m - held_m) * area_m2 + melt_m3
    moved_m3[slot[WETTING]] = held_m * area_m2
    moved_m3[slot[OUT]] = ran_m3 * net.runoff_frac[node]
    moved_m3[slot[SPLASH]] = ran_m3 - moved_m3[slot[OUT]]
    moved_m3[slot[SLID]] = slid_m3
    if slot[GUTTER] >= 0:
        over_m3 = max(0.0, moved_m3[slot[OUT]] - net.gutter_m3_per_s[node] * runs_s)
        moved_m3[slot[OUT]] -= over_m3
        moved_m3[slot[GUTTER]] = over_m3


@inner
def leave_flush(net: Net, node: int, state: State, work: Work, came_m3: float, dt_s: float) -> None:
    """A first-flush chamber weeps all through the step, and passes on what it has no room for.

    Exact for what comes evenly: while more comes than weeps the chamber only fills, and while less
    comes it only empties.
    """
    slot = net.slot[node]
    whole_m3 = state.content_m3[node] + came_m3
    weep_m3 = min(whole_m3, net.capacity_m3[node] / net.reset_s[node] * dt_s)
    left_m3 = whole_m3 - weep_m3
    state.content_m3[node] = min(left_m3, net.capacity_m3[node])
    work.moved_m3[slot[SIDE]] = weep_m3
    work.moved_m3[slot[OUT]] = left_m3 - state.content_m3[node]


@inner
def leave_tank(
    net: Net, node: int, state: State, work: Work, came_m3: float, month: int, dt_s: float
) -> None:
    """A tank feeds what its outlets and valves allow, and the rest overflows."""
    slot = net.slot[node]
    water_m3 = state.content_m3[node] + came_m3 - work.planned_m3[node]
    if slot[EVAPORATION] >= 0:
        dried_m = net.evaporation_m_per_s[node, month] * dt_s
        dried_m3 = min(water_m3, dried_m / rise_m_per_m3(net, node, state.content_m3[node]))
        work.moved_m3[slot[EVAPORATION]] = max(0.0, dried_m3)
        water_m3 -= work.moved_m3[slot[EVAPORATION]]
    water_m3 = feed_from_tank(net, node, water_m3, state, work)
    if net.over_limited[node] == 1:
        before_m3 = state.content_m3[node]
        spilled_m3, rim_m3 = overflow(
            net, node, before_m3 - net.capacity_m3[node], (water_m3 - before_m3) / dt_s, dt_s
        )
        spilled_m3 = min(spilled_m3, water_m3)
        state.content_m3[node] = water_m3 - spilled_m3 - rim_m3
        work.moved_m3[slot[SIDE]] = spilled_m3
        work.moved_m3[slot[RIM]] = rim_m3
    else:
        over_m3 = max(0.0, water_m3 - net.capacity_m3[node])
        state.content_m3[node] = water_m3 - over_m3
        work.moved_m3[slot[SIDE]] = over_m3


@inner
def overflow(
    net: Net, node: int, over_m3: float, rise_m3_per_s: float, dt_s: float
) -> tuple[float, float]:
    """What leaves over the lip of a tank in a step, and what goes over its brim.

    ``over_m3`` stands over the lip at the start (negative below it), ``rise_m3_per_s`` is what
    comes less what else leaves. Between two points of its table the overflow goes with what stands
    over the lip, so that each piece is an exponential; the step is cut at the lip, at the points
    and at the brim.
    """
    flows = net.over_flow_m3_per_s[node]
    room_m3 = net.brim_m3[node] - net.capacity_m3[node]
    count = len(flows) - 1
    v_m3, left_s, spilled_m3 = over_m3, dt_s, 0.0
    if v_m3 <= 0.0:
        if rise_m3_per_s <= 0.0 or v_m3 + rise_m3_per_s * dt_s <= 0.0:
            return 0.0, 0.0
        left_s -= -v_m3 / rise_m3_per_s
        v_m3 = 0.0
    i = min(int(math.sqrt(v_m3 / room_m3) * count), count - 1)
    for _ in range(2 * count):
        if left_s <= 0.0:
            break
        low, high = i / count, (i + 1) / count
        low_m3, high_m3 = room_m3 * (low * low), room_m3 * (high * high)
        steep_per_s = (flows[i + 1] - flows[i]) / (high_m3 - low_m3)
        flow = flows[i] + steep_per_s * (v_m3 - low_m3)
        gain = rise_m3_per_s - flow
        if gain > 0.0 and v_m3 >= high_m3:
            if i == count - 1:
                return spilled_m3 + flow * left_s, gain * left_s
            i += 1
            continue
        if gain < 0.0 and v_m3 <= low_m3:
            if i == 0:
                break  # under the lip again
            i -= 1
            continue
        t_s, next_m3 = left_s, v_m3
        if gain != 0.0:
            aim_m3 = high_m3 if gain > 0.0 else low_m3
            if steep_per_s > 0.0:
                next_m3 = v_m3 - gain / steep_per_s * math.expm1(-steep_per_s * left_s)
            else:
                next_m3 = v_m3 + gain * left_s
            if (next_m3 - aim_m3) * gain >= 0.0:
                next_m3 = aim_m3
                way = (aim_m3 - v_m3) / gain
                if steep_per_s > 0.0:
                    way = -math.log1p(-min(steep_per_s * way, 1.0)) / steep_per_s
                t_s = min(left_s, way)
        spilled_m3 += max(0.0, rise_m3_per_s * t_s - (next_m3 - v_m3))
        v_m3 = next_m3
        left_s -= t_s
    return spilled_m3, 0.0


@inner
def feed_from_tank(net: Net, node: int, water_m3: float, state: State, work: Work) -> float:
    """Share what a tank holds among its feeds, slice by slice from the highest outlet down.

    Returns what is left in the tank.
    """
    first, last = net.feed_first[node], net.feed_first[node + 1]
    limit_m3, moved_m3, room_m3 = work.limit_m3, work.moved_m3, work.room_m3
    for feed in range(first, last):
        arc = net.feed_arc[feed]
        valve = net.feed_valve[feed]
        if valve >= 0:  # the fair shares of those that come later are kept for them
            work.kept_m3[valve] = max(0.0, work.kept_m3[valve] - work.fair_m3[arc])
            limit_m3[arc] = min(limit_m3[arc], max(0.0, room_m3[valve] - work.kept_m3[valve]))
            room_m3[valve] = max(0.0, room_m3[valve] - limit_m3[arc])
        if net.feed_drowns[feed] == 1:  # what others have brought there this step counts too
            far_m3 = state.content_m3[net.arc_to[arc]] + work.free_m3[net.arc_to[arc]]
            limit_m3[arc] = min(limit_m3[arc], even_out_m3(net, feed, node, water_m3, far_m3))
        moved_m3[arc] = 0.0
    for top in range(first, last):
        slice_m3 = water_m3 - net.feed_dead_m3[top] - work.ice_m3[node]
        if slice_m3 > 0.0:
            water_m3 -= share_slice_m3(net, top, last, slice_m3, work)
    for feed in range(first, last):
        valve = net.feed_valve[feed]
        if valve >= 0:
            arc = net.feed_arc[feed]
            room_m3[valve] += limit_m3[arc] - moved_m3[arc]
    if water_m3 < 0.0:  # rounding; written so that what is not a number stays one
        water_m3 = 0.0
    return water_m3


@inner
def share_slice_m3(net: Net, first: int, last: int, slice_m3: float, work: Work) -> float:
    """Share a volume among feeds by what their pipes pass, none more than its limit.

    What a limited one leaves goes to the others. Returns what was given away.
    """
    given_m3 = 0.0
    for _ in range(last - first):
        total_flow = 0.0
        for feed in range(first, last):
            arc = net.feed_arc[feed]
            if work.moved_m3[arc] < work.limit_m3[arc]:
                total_flow += work.flow_m3_per_s[arc]
        left_m3 = slice_m3 - given_m3
        if total_flow <= 0.0 or left_m3 <= 0.0:
            break
        is_limited = False
        for feed in range(first, last):
            arc = net.feed_arc[feed]
            more_m3 = work.limit_m3[arc] - work.moved_m3[arc]
            if more_m3 > 0.0:
                share_m3 = left_m3 * (work.flow_m3_per_s[arc] / total_flow)
                if more_m3 <= share_m3:
                    is_limited = True
                    work.moved_m3[arc] = work.limit_m3[arc]
                else:
                    more_m3 = share_m3
                    work.moved_m3[arc] += share_m3
                given_m3 += more_m3
        if not is_limited:
            break
    return given_m3


@inner
def leave_bed(net: Net, node: int, state: State, work: Work, thickness: float, dt_s: float) -> None:
    """A filter box: as its float valves have it, where they got all they let in and nothing else
    came; or piece by piece."""
    slot = net.slot[node]
    metered_m3, free_m3 = work.metered_m3[node], work.free_m3[node]
    left_m3 = work.room_m3[node]
    if free_m3 == 0.0 and left_m3 <= FULLY_SUPPLIED_FRAC * (left_m3 + metered_m3):
        end_m3 = work.under_m3[node]
        if end_m3 <= net.capacity_m3[node]:
            # From the balance, so that the books close on what came.
            through_m3 = max(0.0, state.content_m3[node] + metered_m3 - end_m3)
            state.content_m3[node] = end_m3
            work.moved_m3[slot[SIDE]] = 0.0
            if slot[RIM] >= 0:
                work.moved_m3[slot[RIM]] = 0.0
            work.moved_m3[slot[WASTE if state.waste_s[node] > 0.0 else OUT]] = through_m3
            return
    through_m3, spilled_m3, rim_m3 = bed_pieces(net, node, state, work, thickness, dt_s)
    work.moved_m3[slot[SIDE]] = spilled_m3 - rim_m3
    if slot[RIM] >= 0:
        work.moved_m3[slot[RIM]] = rim_m3
    work.moved_m3[slot[WASTE if state.waste_s[node] > 0.0 else OUT]] = through_m3


@inner
def bed_pieces(
    net: Net, node: int, state: State, work: Work, thickness: float, dt_s: float
) -> tuple[float, float, float]:
    """A filter box whose supply fell short, or to which other water comes too.

    Its valves wait; what comes through them then comes evenly, the other water all through. Returns
    what goes through the sand, what leaves over the lip, and what of that goes over the rim.
    """
    resistance_s = bed_resistance_s(net, node, state, thickness)
    throttle, capacity_m3 = net.throttle_m3_per_s[node], net.capacity_m3[node]
    metered_m3, free_m3_per_s = work.metered_m3[node], work.free_m3[node] / dt_s
    v_m3, through_m3, spilled_m3, rim_m3 = state.content_m3[node], 0.0, 0.0, 0.0
    wait_s = 0.0
    if metered_m3 > 0.0:
        wait_s = bed_time_to_fall(v_m3, net.shut_m3[node], resistance_s, throttle)
        if wait_s >= dt_s:
            wait_s = 0.0
    if wait_s > 0.0:
        v_m3, out_m3, over_m3 = bed_advance(
            v_m3, free_m3_per_s, wait_s, resistance_s, throttle, capacity_m3
        )
        through_m3 += out_m3
        spilled_m3 += over_m3
        rim_m3 += over_m3 * over_rim_frac(net, node, free_m3_per_s, resistance_s)
    left_s = dt_s - wait_s
    came_m3_per_s = free_m3_per_s + metered_m3 / left_s
    v_m3, out_m3, over_m3 = bed_advance(
        v_m3, came_m3_per_s, left_s, resistance_s, throttle, capacity_m3
    )
    state.content_m3[node] = v_m3
    rim_m3 += over_m3 * over_rim_frac(net, node, came_m3_per_s, resistance_s)
    return through_m3 + out_m3, spilled_m3 + over_m3, rim_m3


@inner
def over_rim_frac(net: Net, node: int, came_m3_per_s: float, resistance_s: float) -> float:
    """Share of what a full filter box spills that its overflow cannot carry.

    The little that stands between lip and rim is not held, nor does its head drive the sand.
    """
    sand_m3_per_s = bed_outflow(net.capacity_m3[node], resistance_s, net.throttle_m3_per_s[node])
    spilled_m3_per_s = came_m3_per_s - sand_m3_per_s
    if spilled_m3_per_s <= net.over_most_m3_per_s[node]:
        return 0.0
    return float(1.0 - net.over_most_m3_per_s[node] / spilled_m3_per_s)


@inner
def hand_on(net: Net, node: int, work: Work) -> None:
    """Carry what left a node to the nodes it goes to."""
    last_slot = SIDE if net.kind[node] != ROOF else OUT
    for place in range(last_slot + 1):
        arc = net.slot[node, place]
        if arc >= 0:
            deliver(net, arc, work)
    for feed in range(net.feed_first[node], net.feed_first[node + 1]):
        deliver(net, net.feed_arc[feed], work)


@inner
def deliver(net: Net, arc: int, work: Work) -> None:
    """Add what moved along an arc to the node at its end."""
    to = net.arc_to[arc]
    if net.arc_float[arc] == 1:
        work.metered_m3[to] += work.moved_m3[arc]
    else:
        work.free_m3[to] += work.moved_m3[arc]

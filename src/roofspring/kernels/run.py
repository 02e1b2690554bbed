"""One run of a net through a forcing: steps, days and books.

Within a step all flows are steady. Draws are planned first, on what each store holds; then water
moves down the net, node by node; then what a use still lacks is drawn from what has arrived. So a
tank fills, feeds and is drawn from at the same time, as it does in the yard.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import kernel
from roofspring.kernels.bed import bed_advance, bed_outflow, bed_time_to_fill
from roofspring.kernels.net import (
    BED,
    DIVERTER,
    FLUSH,
    GUTTER,
    HEAD_POINTS_COUNT,
    LEVEL_POINTS_COUNT,
    OUT,
    PASS,
    RAIN,
    ROOF,
    SCREEN,
    SIDE,
    SINK,
    SPLASH,
    TANK,
    WETTING,
    Books,
    Floats,
    Forcing,
    Net,
    Scratch,
)
from roofspring.kernels.status import NOT_FINITE, OK

EVEN_OUT_HALVINGS = 50


@kernel
def tank_level_m(net: Net, node: int, content_m3: float) -> float:
    """Level over the datum, read between the points of the tank's table."""
    place = content_m3 / net.brim_m3[node] * (LEVEL_POINTS_COUNT - 1)
    i = min(max(int(place), 0), LEVEL_POINTS_COUNT - 2)
    low = net.level_m[node, i]
    return float(low + (place - i) * (net.level_m[node, i + 1] - low))


@kernel
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


@kernel
def feed_limit_m3(net: Net, feed: int, node: int, content_m3: Floats, dt_s: float) -> float:
    """Most that a feed can carry in a step, by its pipe and by the levels at its two ends."""
    level_m = tank_level_m(net, node, content_m3[node])
    far_m = net.feed_inlet_m[feed]
    to = net.arc_to[net.feed_arc[feed]]
    most_m3 = math.inf
    if net.feed_drowns[feed] == 1:
        far_m = max(far_m, tank_level_m(net, to, content_m3[to]))
        most_m3 = even_out_m3(net, feed, node, content_m3[node], content_m3[to])
    head_m = level_m - far_m
    if head_m <= 0.0:
        return 0.0
    place = math.sqrt(head_m / net.feed_head_m[feed]) * (HEAD_POINTS_COUNT - 1)
    i = min(int(place), HEAD_POINTS_COUNT - 2)
    low = net.feed_flow_m3_per_s[feed, i]
    flow = low + (place - i) * (net.feed_flow_m3_per_s[feed, i + 1] - low)
    return float(min(flow * dt_s, most_m3))


@kernel
def room_in_bed(
    net: Net, node: int, content_m3: float, feed_m3_per_s: float, resistance_s: float, dt_s: float
) -> tuple[float, float, float]:
    """What a filter under float valves takes in a step: volume, and when filling starts and ends.

    Above the shut level the valves wait; below it they stand open; at it they pass what the sand
    passes.
    """
    shut_m3, throttle = net.shut_m3[node], net.throttle_m3_per_s[node]
    wait_s = 0.0
    if content_m3 > shut_m3:
        knee_m3 = throttle * resistance_s
        v_m3 = content_m3
        if v_m3 > knee_m3:
            low_m3 = max(knee_m3, shut_m3)
            wait_s = (v_m3 - low_m3) / throttle
            v_m3 = low_m3
        if v_m3 > shut_m3:
            if shut_m3 <= 0.0:
                return 0.0, dt_s, dt_s
            wait_s += resistance_s * math.log(v_m3 / shut_m3)
        if wait_s >= dt_s:
            return 0.0, dt_s, dt_s
        content_m3 = shut_m3
    fill_s = bed_time_to_fill(content_m3, shut_m3, feed_m3_per_s, resistance_s, throttle)
    full_s = min(dt_s, wait_s + fill_s)
    hold_m3_per_s = bed_outflow(shut_m3, resistance_s, throttle)
    room_m3 = feed_m3_per_s * (full_s - wait_s) + min(feed_m3_per_s, hold_m3_per_s) * (
        dt_s - full_s
    )
    return room_m3, wait_s, full_s


@kernel
def find_rooms(
    net: Net,
    content_m3: Floats,
    planned_m3: Floats,
    limit_m3: Floats,
    room_m3: Floats,
    wait_s: Floats,
    full_s: Floats,
    feeding_m3: Floats,
    kept_m3: Floats,
    fair_m3: Floats,
    thickness: float,
    dt_s: float,
) -> None:
    """From the last node back: what each node would take, and what each arc could carry.

    ``limit_m3`` is per arc, ``room_m3`` per node: what its float valves would let in. ``fair_m3``
    is an arc's share of the room at its end, ``kept_m3`` the sum of these by node.
    """
    n = len(net.kind)
    for node in range(n):
        feeding_m3[node] = 0.0
        kept_m3[node] = 0.0
    for node in range(n):
        for feed in range(net.feed_first[node], net.feed_first[node + 1]):
            arc = net.feed_arc[feed]
            limit_m3[arc] = feed_limit_m3(net, feed, node, content_m3, dt_s)
            valve = net.feed_valve[feed]
            if valve >= 0:
                feeding_m3[valve] += limit_m3[arc]
    for node in range(n - 1, -1, -1):
        kind = net.kind[node]
        room_m3[node] = math.inf
        if kind == BED:
            resistance_s = (net.bed_s[node] + net.skin_s[node]) * thickness
            room_m3[node], wait_s[node], full_s[node] = room_in_bed(
                net, node, content_m3[node], feeding_m3[node] / dt_s, resistance_s, dt_s
            )
        elif kind == TANK:
            leaving_m3 = planned_m3[node]
            for feed in range(net.feed_first[node], net.feed_first[node + 1]):
                arc = net.feed_arc[feed]
                valve = net.feed_valve[feed]
                fair_m3[arc] = limit_m3[arc]
                if valve >= 0 and limit_m3[arc] > 0.0:
                    share = limit_m3[arc] / feeding_m3[valve]
                    fair_m3[arc] = min(limit_m3[arc], room_m3[valve] * share)
                    kept_m3[valve] += fair_m3[arc]
                if net.feed_dead_m3[feed] >= net.shut_m3[node]:
                    # The outlet lies above the shut level: only what stands over it now can leave.
                    over_m3 = max(0.0, content_m3[node] - net.feed_dead_m3[feed])
                    leaving_m3 += min(fair_m3[arc], over_m3)
                else:
                    leaving_m3 += fair_m3[arc]
            room_m3[node] = max(0.0, net.shut_m3[node] - content_m3[node] + leaving_m3)


@kernel
def feed_from_tank(
    net: Net,
    node: int,
    water_m3: float,
    content_m3: Floats,
    free_m3: Floats,
    limit_m3: Floats,
    fair_m3: Floats,
    kept_m3: Floats,
    room_m3: Floats,
    moved_m3: Floats,
) -> float:
    """Share what a tank holds among its feeds, slice by slice from the highest outlet down.

    Returns what is left in the tank.
    """
    first, last = net.feed_first[node], net.feed_first[node + 1]
    for feed in range(first, last):
        arc = net.feed_arc[feed]
        valve = net.feed_valve[feed]
        if valve >= 0:  # the fair shares of those that come later are kept for them
            kept_m3[valve] = max(0.0, kept_m3[valve] - fair_m3[arc])
            limit_m3[arc] = min(limit_m3[arc], max(0.0, room_m3[valve] - kept_m3[valve]))
            room_m3[valve] = max(0.0, room_m3[valve] - limit_m3[arc])
        if net.feed_drowns[feed] == 1:  # what others have brought there this step counts too
            far_m3 = content_m3[net.arc_to[arc]] + free_m3[net.arc_to[arc]]
            limit_m3[arc] = min(limit_m3[arc], even_out_m3(net, feed, node, water_m3, far_m3))
        moved_m3[arc] = 0.0
    for top in range(first, last):
        slice_m3 = water_m3 - net.feed_dead_m3[top]
        if slice_m3 <= 0.0:
            continue
        asked_m3 = 0.0
        for feed in range(top, last):
            asked_m3 += limit_m3[net.feed_arc[feed]] - moved_m3[net.feed_arc[feed]]
        if asked_m3 <= 0.0:
            break
        share = min(1.0, slice_m3 / asked_m3)
        for feed in range(top, last):
            arc = net.feed_arc[feed]
            more_m3 = (limit_m3[arc] - moved_m3[arc]) * share
            moved_m3[arc] += more_m3
            water_m3 -= more_m3
    for feed in range(first, last):
        valve = net.feed_valve[feed]
        if valve >= 0:
            arc = net.feed_arc[feed]
            room_m3[valve] += limit_m3[arc] - moved_m3[arc]
    if water_m3 < 0.0:  # rounding; written so that what is not a number stays one
        water_m3 = 0.0
    return water_m3


@kernel
def move_water(
    net: Net,
    content_m3: Floats,
    film_m: Floats,
    planned_m3: Floats,
    limit_m3: Floats,
    fair_m3: Floats,
    kept_m3: Floats,
    room_m3: Floats,
    wait_s: Floats,
    full_s: Floats,
    free_m3: Floats,
    metered_m3: Floats,
    moved_m3: Floats,
    rain_m: float,
    month: int,
    thickness: float,
    dt_s: float,
) -> None:
    """From the first node to the last: pass the water of one step down the net.

    ``free_m3`` and ``metered_m3`` hold what has come to each node, freely or through float valves.
    """
    n = len(net.kind)
    for node in range(n):
        free_m3[node] = 0.0
        metered_m3[node] = 0.0
    for node in range(n):
        kind = net.kind[node]
        came_m3 = free_m3[node] + metered_m3[node]
        slot = net.slot[node]
        if kind == ROOF:
            fell_m3 = rain_m * net.area_m2[node]
            if rain_m > 0.0:
                held_m = min(rain_m, net.wetting_m[node] - film_m[node])
                film_m[node] += held_m
                moved_m3[slot[WETTING]] = held_m * net.area_m2[node]
                ran_m3 = (rain_m - held_m) * net.area_m2[node]
                moved_m3[slot[OUT]] = ran_m3 * net.runoff_frac[node]
                moved_m3[slot[SPLASH]] = ran_m3 - moved_m3[slot[OUT]]
                if slot[GUTTER] >= 0:
                    over_m3 = max(0.0, moved_m3[slot[OUT]] - net.gutter_m3_per_s[node] * dt_s)
                    moved_m3[slot[OUT]] -= over_m3
                    moved_m3[slot[GUTTER]] = over_m3
            else:
                film_m[node] = max(0.0, film_m[node] - net.drying_m_per_s[node] * dt_s)
                moved_m3[slot[WETTING]] = 0.0
                moved_m3[slot[OUT]] = 0.0
                moved_m3[slot[SPLASH]] = 0.0
            moved_m3[slot[RAIN]] = fell_m3
        elif kind == SCREEN:
            moved_m3[slot[OUT]] = came_m3 * net.runoff_frac[node]
            moved_m3[slot[SIDE]] = came_m3 - moved_m3[slot[OUT]]
        elif kind == FLUSH:
            weep_m3 = min(content_m3[node], net.capacity_m3[node] / net.reset_s[node] * dt_s)
            held_m3 = content_m3[node] - weep_m3
            taken_m3 = min(came_m3, net.capacity_m3[node] - held_m3)
            content_m3[node] = held_m3 + taken_m3
            moved_m3[slot[SIDE]] = weep_m3
            moved_m3[slot[OUT]] = came_m3 - taken_m3
        elif kind == DIVERTER:
            if net.side[node, month] == 1:
                moved_m3[slot[OUT]], moved_m3[slot[SIDE]] = 0.0, came_m3
            else:
                moved_m3[slot[OUT]], moved_m3[slot[SIDE]] = came_m3, 0.0
        elif kind == PASS:
            moved_m3[slot[OUT]] = came_m3
        elif kind == TANK:
            water_m3 = content_m3[node] + came_m3 - planned_m3[node]
            water_m3 = feed_from_tank(
                net,
                node,
                water_m3,
                content_m3,
                free_m3,
                limit_m3,
                fair_m3,
                kept_m3,
                room_m3,
                moved_m3,
            )
            spilled_m3 = max(0.0, water_m3 - net.capacity_m3[node])
            content_m3[node] = water_m3 - spilled_m3
            moved_m3[slot[SIDE]] = spilled_m3
        elif kind == BED:
            through_m3, spilled_m3 = bed_step(
                net,
                node,
                content_m3,
                free_m3[node],
                metered_m3[node],
                wait_s[node],
                full_s[node],
                room_m3[node],
                thickness,
                dt_s,
            )
            moved_m3[slot[OUT]] = through_m3
            moved_m3[slot[SIDE]] = spilled_m3
        if kind == SINK:
            continue
        hand_on(net, node, moved_m3, free_m3, metered_m3)


@kernel
def bed_step(
    net: Net,
    node: int,
    content_m3: Floats,
    free_m3: float,
    metered_m3: float,
    wait_s: float,
    full_s: float,
    room_left_m3: float,
    thickness: float,
    dt_s: float,
) -> tuple[float, float]:
    """Advance a filter box by a step in which its float valves wait, fill, then hold."""
    resistance_s = (net.bed_s[node] + net.skin_s[node]) * thickness
    throttle, capacity_m3 = net.throttle_m3_per_s[node], net.capacity_m3[node]
    free_m3_per_s = free_m3 / dt_s
    fill_s, hold_s = full_s - wait_s, dt_s - full_s
    # What the valves would have let in while filling, had the supply not failed them.
    hold_m3 = bed_outflow(net.shut_m3[node], resistance_s, throttle) * hold_s
    fill_m3 = min(metered_m3, max(0.0, metered_m3 + room_left_m3 - hold_m3))
    v_m3, through_m3, spilled_m3 = content_m3[node], 0.0, 0.0
    if wait_s > 0.0:
        v_m3, out_m3, over_m3 = bed_advance(
            v_m3, free_m3_per_s, wait_s, resistance_s, throttle, capacity_m3
        )
        through_m3 += out_m3
        spilled_m3 += over_m3
    if fill_s > 0.0:
        v_m3, out_m3, over_m3 = bed_advance(
            v_m3, free_m3_per_s + fill_m3 / fill_s, fill_s, resistance_s, throttle, capacity_m3
        )
        through_m3 += out_m3
        spilled_m3 += over_m3
    else:
        fill_m3 = 0.0
    if hold_s > 0.0:
        rest_m3 = metered_m3 - fill_m3
        v_m3, out_m3, over_m3 = bed_advance(
            v_m3, free_m3_per_s + rest_m3 / hold_s, hold_s, resistance_s, throttle, capacity_m3
        )
        through_m3 += out_m3
        spilled_m3 += over_m3
    content_m3[node] = v_m3
    return through_m3, spilled_m3


@kernel
def hand_on(net: Net, node: int, moved_m3: Floats, free_m3: Floats, metered_m3: Floats) -> None:
    """Carry what left a node to the nodes it goes to."""
    last_slot = SIDE if net.kind[node] != ROOF else OUT
    for place in range(last_slot + 1):
        arc = net.slot[node, place]
        if arc >= 0:
            deliver(net, arc, moved_m3[arc], free_m3, metered_m3)
    for feed in range(net.feed_first[node], net.feed_first[node + 1]):
        arc = net.feed_arc[feed]
        deliver(net, arc, moved_m3[arc], free_m3, metered_m3)


@kernel
def deliver(net: Net, arc: int, volume_m3: float, free_m3: Floats, metered_m3: Floats) -> None:
    """Add a volume to the node an arc ends at."""
    to = net.arc_to[arc]
    if net.arc_float[arc] == 1:
        metered_m3[to] += volume_m3
    else:
        free_m3[to] += volume_m3


@kernel
def draw(
    net: Net, lacking_m3: Floats, holds_m3: Floats, taken_m3: Floats, moved_m3: Floats
) -> None:
    """Serve uses in order of importance, each from its stores in order of choice.

    ``holds_m3`` is what each store can give, ``taken_m3`` what has been taken from it already.
    """
    for use in range(len(net.draw_first) - 1):
        for d in range(net.draw_first[use], net.draw_first[use + 1]):
            if lacking_m3[use] <= 0.0:
                break
            store = net.draw_node[d]
            at_hand_m3 = holds_m3[store] - taken_m3[store] - net.draw_dead_m3[d]
            taking_m3 = min(lacking_m3[use], max(0.0, at_hand_m3))
            lacking_m3[use] -= taking_m3
            taken_m3[store] += taking_m3
            moved_m3[net.draw_arc[d]] += taking_m3


@kernel
def is_rationed(net: Net, use: int, content_m3: Floats) -> bool:
    """True when the stores of a use together hold less than its rationing level."""
    if net.ration_below_frac[use] <= 0.0:
        return False
    held_m3, full_m3 = 0.0, 0.0
    first = net.draw_first[use]
    for d in range(first, net.draw_first[use + 1]):
        store = net.draw_node[d]
        is_new = True
        for earlier in range(first, d):  # it may stand twice, drawn from at two heights
            is_new = is_new and net.draw_node[earlier] != store
        if is_new:
            held_m3 += content_m3[store]
            full_m3 += net.capacity_m3[store]
    return bool(held_m3 < net.ration_below_frac[use] * full_m3)


@kernel
def run(
    net: Net,
    forcing: Forcing,
    content_m3: Floats,
    film_m: Floats,
    books: Books,
    scratch: Scratch,
) -> tuple[int, int]:
    """Run all steps. ``content_m3`` (n,) and ``film_m`` (n,) are the state, changed in place.

    Returns a status of `roofspring.kernels.status` and the step it belongs to.
    """
    n, arcs, uses = len(net.kind), len(net.arc_to), len(net.draw_first) - 1
    planned_m3, room_m3, feeding_m3, wait_s, full_s, free_m3, metered_m3, kept_m3 = (
        scratch.node[0],
        scratch.node[1],
        scratch.node[2],
        scratch.node[3],
        scratch.node[4],
        scratch.node[5],
        scratch.node[6],
        scratch.node[7],
    )
    limit_m3, moved_m3, fair_m3 = scratch.arc[0], scratch.arc[1], scratch.arc[2]
    lacking_m3, asked_m3 = scratch.use[0], scratch.use[1]
    today = -1
    for step in range(len(forcing.day)):
        day = forcing.day[step]
        if day != today:
            today = day
            for node in range(n):
                books.low_m3[day, node] = content_m3[node]
            for use in range(uses):
                books.rationed[day, use] = 1 if is_rationed(net, use, content_m3) else 0
        dt_s = (forcing.to_hour[step] - forcing.from_hour[step]) * 3600.0
        thickness = forcing.thickness[day]
        for arc in range(arcs):
            moved_m3[arc] = 0.0
        for node in range(n):
            planned_m3[node] = 0.0
        for use in range(uses):
            share = hour_share(net, use, forcing.from_hour[step], forcing.to_hour[step])
            if books.rationed[day, use] == 1:
                share *= net.ration_to_frac[use]
            asked_m3[use] = forcing.want_m3[day, use] * share
            lacking_m3[use] = asked_m3[use]
        draw(net, lacking_m3, content_m3, planned_m3, moved_m3)
        find_rooms(
            net,
            content_m3,
            planned_m3,
            limit_m3,
            room_m3,
            wait_s,
            full_s,
            feeding_m3,
            kept_m3,
            fair_m3,
            thickness,
            dt_s,
        )
        move_water(
            net,
            content_m3,
            film_m,
            planned_m3,
            limit_m3,
            fair_m3,
            kept_m3,
            room_m3,
            wait_s,
            full_s,
            free_m3,
            metered_m3,
            moved_m3,
            forcing.rain_m[step],
            forcing.month[day],
            thickness,
            dt_s,
        )
        for node in range(n):
            planned_m3[node] = 0.0
        draw(net, lacking_m3, content_m3, planned_m3, moved_m3)
        for node in range(n):
            content_m3[node] -= planned_m3[node]
            if not math.isfinite(content_m3[node]):
                return NOT_FINITE, step
        write_books(net, day, content_m3, lacking_m3, asked_m3, moved_m3, thickness, books)
    return OK, len(forcing.day)


@kernel
def hour_share(net: Net, use: int, from_hour: float, to_hour: float) -> float:
    """Share of a use's day that falls between two hours."""
    i, j = min(int(from_hour), 23), min(int(to_hour), 23)
    gone = net.hours_cum_frac[use]
    start = gone[i] + (from_hour - i) * (gone[i + 1] - gone[i])
    end = gone[j] + (to_hour - j) * (gone[j + 1] - gone[j])
    return float(end - start)


@kernel
def write_books(
    net: Net,
    day: int,
    content_m3: Floats,
    lacking_m3: Floats,
    asked_m3: Floats,
    moved_m3: Floats,
    thickness: float,
    books: Books,
) -> None:
    """Add one step to the books of its day."""
    for node in range(len(net.kind)):
        v_m3 = content_m3[node]
        books.end_m3[day, node] = v_m3
        books.low_m3[day, node] = min(books.low_m3[day, node], v_m3)
        if net.kind[node] == BED:
            resistance_s = (net.bed_s[node] + net.skin_s[node]) * thickness
            rate = bed_outflow(v_m3, resistance_s, net.throttle_m3_per_s[node]) / net.area_m2[node]
            books.rate_m_per_s[day, node] = max(books.rate_m_per_s[day, node], rate)
    for arc in range(len(net.arc_to)):
        books.flow_m3[day, arc] += moved_m3[arc]
    for use in range(len(asked_m3)):
        books.delivered_m3[day, use] += asked_m3[use] - lacking_m3[use]

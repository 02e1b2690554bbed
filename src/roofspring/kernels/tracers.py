"""What the water is: its share of unfiltered water, and its age, carried with every step.

Each store is well mixed: what comes in a step mixes with what was there, and what leaves has the
mean of both. Water that a first-flush chamber passes on does not mix with what it holds; what
passes the sand is filtered, and has aged in the water of the bed.
"""

from __future__ import annotations

from roofspring.kernels._jit import inner
from roofspring.kernels.net import BED, FLUSH, OUT, ROOF, SIDE, SINK, TANK, Books, Net, State, Work


@inner
def carry(net: Net, day: int, state: State, work: Work, dt_s: float, books: Books) -> None:
    """Mix every store with what came in the step just made, and count what uses got raw."""
    n = len(net.kind)
    for node in range(n):
        work.came_m3[node] = 0.0
        work.came_raw_m3[node] = 0.0
        work.came_age_m3_s[node] = 0.0
    for node in range(n):
        kind = net.kind[node]
        came_m3, came_raw_m3 = work.came_m3[node], work.came_raw_m3[node]
        came_age_m3_s = work.came_age_m3_s[node]
        raw, age_s = state.raw_frac[node], state.age_s[node]
        was_m3 = 0.0
        if kind in (TANK, FLUSH):
            was_m3 = work.was_m3[node]
        elif kind == BED:
            was_m3 = work.was_m3[node] + net.held_m3[node]
        if kind == ROOF:
            raw, age_s = 1.0, 0.0
        elif was_m3 + came_m3 > 0.0:
            whole_m3 = was_m3 + came_m3
            raw = (was_m3 * raw + came_raw_m3) / whole_m3
            age_s = (was_m3 * (age_s + dt_s) + came_age_m3_s) / whole_m3
        state.raw_frac[node], state.age_s[node] = raw, age_s
        if kind == SINK:
            continue
        out_raw, out_age_s = raw, age_s
        if kind == BED:
            out_raw = 0.0
        elif kind == FLUSH and came_m3 > 0.0:
            out_raw, out_age_s = came_raw_m3 / came_m3, came_age_m3_s / came_m3
        send(net, net.slot[node, OUT], work, out_raw, out_age_s)
        if kind != ROOF:
            send(net, net.slot[node, SIDE], work, raw, age_s)
        for feed in range(net.feed_first[node], net.feed_first[node + 1]):
            send(net, net.feed_arc[feed], work, raw, age_s)
    for use in range(len(net.draw_first) - 1):
        for d in range(net.draw_first[use], net.draw_first[use + 1]):
            drawn_m3 = work.moved_m3[net.draw_arc[d]]
            books.raw_m3[day, use] += drawn_m3 * state.raw_frac[net.draw_node[d]]


@inner
def send(net: Net, arc: int, work: Work, raw: float, age_s: float) -> None:
    """Add what moved along an arc, and what it is, to the node at its end."""
    if arc >= 0 and work.moved_m3[arc] > 0.0:
        to = net.arc_to[arc]
        work.came_m3[to] += work.moved_m3[arc]
        work.came_raw_m3[to] += work.moved_m3[arc] * raw
        work.came_age_m3_s[to] += work.moved_m3[arc] * age_s

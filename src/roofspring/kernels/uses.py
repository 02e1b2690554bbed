"""What uses draw: in order of importance, from the stores of their choice."""

from __future__ import annotations

from roofspring.kernels._jit import inner
from roofspring.kernels.net import Floats, Net, Work


@inner
def draw(net: Net, work: Work, holds_m3: Floats) -> None:
    """Serve uses in order of importance, each from its stores in order of choice.

    ``holds_m3`` is what each store can give; ``work.planned_m3`` what has been taken from it.
    """
    for use in range(len(net.draw_first) - 1):
        for d in range(net.draw_first[use], net.draw_first[use + 1]):
            if work.lacking_m3[use] <= 0.0:
                break
            store = net.draw_node[d]
            out_of_reach_m3 = net.draw_dead_m3[d] + work.ice_m3[store]
            at_hand_m3 = holds_m3[store] - work.planned_m3[store] - out_of_reach_m3
            taking_m3 = min(work.lacking_m3[use], max(0.0, at_hand_m3))
            work.lacking_m3[use] -= taking_m3
            work.planned_m3[store] += taking_m3
            work.moved_m3[net.draw_arc[d]] += taking_m3


@inner
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


@inner
def hour_share(net: Net, use: int, from_hour: float, to_hour: float) -> float:
    """Share of a use's day that falls between two hours."""
    i, j = min(int(from_hour), 23), min(int(to_hour), 23)
    gone = net.hours_cum_frac[use]
    start = gone[i] + (from_hour - i) * (gone[i + 1] - gone[i])
    end = gone[j] + (to_hour - j) * (gone[j + 1] - gone[j])
    return float(end - start)

"""One run of a net through a forcing: steps, days and books.

Within a step all flows are steady. Draws are planned first, on what each store holds; then water
moves down the net, node by node; then what a use still lacks is drawn from what has arrived. So a
tank fills, feeds and is drawn from at the same time, as it does in the yard.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import inner, kernel
from roofspring.kernels.bed import bed_outflow
from roofspring.kernels.days import count_step, ripen, tend
from roofspring.kernels.level import rise_m_per_m3
from roofspring.kernels.net import BED, Books, Forcing, Net, State, Work
from roofspring.kernels.rooms import bed_resistance_s
from roofspring.kernels.status import NOT_FINITE, OK
from roofspring.kernels.step import make_step
from roofspring.kernels.tracers import carry
from roofspring.kernels.uses import draw, hour_share, is_rationed


@kernel
def run(net: Net, forcing: Forcing, state: State, books: Books, work: Work) -> tuple[int, int]:
    """Run all steps. ``state`` is changed in place.

    Returns a status of `roofspring.kernels.status` and the step it belongs to.
    """
    n, uses = len(net.kind), len(net.draw_first) - 1
    today, day_s = -1, 0.0
    for step in range(len(forcing.day)):
        day = forcing.day[step]
        if day != today:
            today, day_s = day, 0.0
            for node in range(n):
                books.low_m3[day, node] = state.content_m3[node]
            for use in range(uses):
                if forcing.date[day] < 0 and step > 0:  # decided in the morning
                    books.rationed[day, use] = books.rationed[day - 1, use]
                else:
                    books.rationed[day, use] = 1 if is_rationed(net, use, state.content_m3) else 0
            tend(net, forcing, day, state, books)
            freeze(net, forcing.ice_m[day], state, work)
        whole_s = (forcing.to_hour[step] - forcing.from_hour[step]) * 3600.0
        for use in range(uses):
            share = hour_share(net, use, forcing.from_hour[step], forcing.to_hour[step])
            if books.rationed[day, use] == 1:
                share *= net.ration_to_frac[use]
            work.asked_m3[use] = forcing.want_m3[day, use] * share
            work.lacking_m3[use] = 0.0
        left_s = whole_s
        while left_s > 0.0:
            dt_s, is_forced = make_step(net, forcing, step, state, work, left_s, whole_s)
            left_s = left_s - dt_s if dt_s < left_s else 0.0
            for node in range(n):
                work.planned_m3[node] = 0.0
            draw(net, work, state.content_m3)
            for node in range(n):
                state.content_m3[node] -= work.planned_m3[node]
                if not math.isfinite(state.content_m3[node]):
                    return NOT_FINITE, step
            books.steps[day] += 1
            if is_forced:
                books.forced[day] += 1
            carry(net, day, state, work, dt_s, books)
            count_step(net, forcing, step, state, work, dt_s / whole_s, dt_s)
            write_step(net, day, state, work, forcing.thickness[day], books)
        day_s += whole_s
        for use in range(uses):
            books.delivered_m3[day, use] += work.asked_m3[use] - work.lacking_m3[use]
        if step + 1 == len(forcing.day) or forcing.day[step + 1] != day:
            ripen(net, forcing, day, state, books, day_s)
    return OK, len(forcing.day)


@inner
def freeze(net: Net, ice_m: float, state: State, work: Work) -> None:
    """What of each tank is ice today: its surface times the thickness, none where it is covered."""
    for node in range(len(net.kind)):
        work.ice_m3[node] = 0.0
        if net.freezes[node] == 1 and ice_m > 0.0 and state.content_m3[node] > 0.0:
            v_m3 = state.content_m3[node]
            work.ice_m3[node] = min(v_m3, ice_m / rise_m_per_m3(net, node, v_m3))


@inner
def write_step(
    net: Net, day: int, state: State, work: Work, thickness: float, books: Books
) -> None:
    """Add one step to the books of its day, and settle what stands of it."""
    for node in range(len(net.kind)):
        v_m3 = state.content_m3[node]
        books.end_m3[day, node] = v_m3
        books.low_m3[day, node] = min(books.low_m3[day, node], v_m3)
        if net.kind[node] == BED:
            resistance_s = bed_resistance_s(net, node, state, thickness)
            rate = bed_outflow(v_m3, resistance_s, net.throttle_m3_per_s[node]) / net.area_m2[node]
            books.rate_m_per_s[day, node] = max(books.rate_m_per_s[day, node], rate)
        if net.valve_acts[node] > 0:
            state.valve_open[node] = work.opens[node]
    for arc in range(len(net.arc_to)):
        books.flow_m3[day, arc] += work.moved_m3[arc]

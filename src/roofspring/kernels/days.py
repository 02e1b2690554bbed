"""How filters age with every step, and what is done to them, to screens and to strainers by day."""

from __future__ import annotations

from roofspring.kernels._jit import inner
from roofspring.kernels.bed import bed_outflow
from roofspring.kernels.net import (
    BED,
    OUT,
    SANDED,
    SCREEN,
    WASTE,
    Books,
    Forcing,
    Net,
    State,
    Work,
)
from roofspring.kernels.rooms import bed_resistance_s, sand_resistance_s
from roofspring.kernels.skin import (
    DRY,
    WET,
    cleaned,
    ripeness_after,
    running_share,
    skin_after_s,
    warmth_factor,
)

URGENT_FRAC = 0.25
"""Share of the wanted rate below which a filter is cleaned though its neighbour is out of use."""


@inner
def tend(net: Net, forcing: Forcing, day: int, state: State, books: Books) -> None:
    """The morning's work: rinse what is due, and clean the filters that need it, one at a time."""
    date = forcing.date[day]
    if date < 0:
        return
    for node in range(len(net.kind)):
        if net.kind[node] == SCREEN and date % net.rinse_days[node] == 0:
            state.blind_frac[node] = 0.0
    for feed in range(len(net.feed_arc)):
        if date % net.feed_rinse_days[feed] == 0:
            state.foul_frac[feed] = 0.0
    for node in range(len(net.kind)):
        if net.kind[node] == BED and wants_cleaning(net, forcing, day, node, state):
            clean(net, forcing, day, node, state, books)


@inner
def wants_cleaning(net: Net, forcing: Forcing, day: int, node: int, state: State) -> bool:
    """Whether a filter is cleaned today: it is due, it would help, and its neighbour is in use."""
    life = net.life
    if state.waste_s[node] > 0.0:
        return False
    most_m3 = min(net.shut_m3[node], net.capacity_m3[node])
    resistance_s = bed_resistance_s(net, node, state, forcing.thickness[day])
    best = bed_outflow(most_m3, resistance_s, net.throttle_m3_per_s[node]) / net.area_m2[node]
    helps = state.skin_s[node] > sand_resistance_s(net, node, state)
    is_due = helps and best < life.below_m_per_s[node]
    every = life.every_days[node]
    is_due = is_due or (every > 0 and forcing.date[day] % every == 0)
    if is_due and best >= URGENT_FRAC * life.below_m_per_s[node]:
        to = net.arc_to[net.slot[node, OUT]]
        for other in range(len(net.kind)):
            if other != node and net.kind[other] == BED and state.waste_s[other] > 0.0:
                is_due = is_due and net.arc_to[net.slot[other, OUT]] != to
    return bool(is_due)


@inner
def clean(net: Net, forcing: Forcing, day: int, node: int, state: State, books: Books) -> None:
    """Clean a filter, or sand it anew where too little would be left."""
    life = net.life
    way, waste_s = life.way[node], life.waste_s[node]
    skin_left, ripe_left = life.skin_left_frac[node], life.ripe_left_frac[node]
    removed_m = life.removed_m[node]
    if state.sand_m[node] - removed_m < life.least_sand_m[node] - 1e-9:
        way, waste_s, removed_m = SANDED, life.anew_waste_s[node], 0.0
        skin_left, ripe_left = 0.0, life.anew_ripe_left_frac[node]
        state.sand_m[node] = life.sand_m[node]
    state.skin_s[node], state.ripe_frac[node], state.sand_m[node] = cleaned(
        state.skin_s[node],
        state.ripe_frac[node],
        state.sand_m[node],
        skin_left,
        ripe_left,
        removed_m,
    )
    if life.waste_by_warmth[node] == 1:
        warm_degc = max(0.0, forcing.water_degc[day])
        waste_s /= warmth_factor(warm_degc, life.rates[1])
    state.waste_s[node] = waste_s
    books.cleaned[day, node] = way


@inner
def count_step(
    net: Net, forcing: Forcing, step: int, state: State, work: Work, share: float, dt_s: float
) -> None:
    """What a step leaves behind: skins that grew, screens and strainers that caught dirt.

    Waste runs only while water does.
    """
    life, day = net.life, forcing.day[step]
    rain_m = forcing.rain_m[step] * share
    for node in range(len(net.kind)):
        kind = net.kind[node]
        if kind == BED:
            through_m = through_m3(net, node, work) / net.area_m2[node]
            if through_m > 0.0:
                state.passed_m3[node] += through_m * net.area_m2[node]
                state.skin_s[node] = skin_after_s(
                    state.skin_s[node],
                    sand_resistance_s(net, node, state),
                    through_m,
                    dt_s,
                    life.cake_s_per_m[node],
                    life.growth_per_m[node],
                    life.growth_per_day[node],
                    life.load[node, forcing.month[day]],
                )
                if running_share(through_m, dt_s, life.rates[6], life.rates[7]) > 0.0:
                    state.waste_s[node] = max(0.0, state.waste_s[node] - dt_s)
        elif kind == SCREEN and rain_m > 0.0:
            more_frac = rain_m / net.blinding_m[node]
            state.blind_frac[node] = min(1.0, state.blind_frac[node] + more_frac)
    if rain_m > 0.0:
        for feed in range(len(net.feed_arc)):
            more_frac = rain_m / net.feed_fouling_m[feed]
            state.foul_frac[feed] = min(1.0, state.foul_frac[feed] + more_frac)


@inner
def through_m3(net: Net, node: int, work: Work) -> float:
    """What went through the sand of a filter in the try or step just made."""
    slot = net.slot[node]
    return float(work.moved_m3[slot[OUT]] + work.moved_m3[slot[WASTE]])


@inner
def ripen(net: Net, forcing: Forcing, day: int, state: State, books: Books, dt_s: float) -> None:
    """The evening: ripen every filter by what it passed in a time, and write down how it stands."""
    rates = net.life.rates
    for node in range(len(net.kind)):
        if net.kind[node] == BED:
            passed_m = state.passed_m3[node] / net.area_m2[node]
            running_frac = running_share(passed_m, dt_s, rates[6], rates[7])
            is_dry = net.life.dries[node] == 1 and running_frac <= 0.0
            state.ripe_frac[node], state.stopped_s[node] = ripeness_after(
                state.ripe_frac[node],
                state.stopped_s[node],
                dt_s,
                forcing.water_degc[day],
                running_frac,
                DRY if is_dry else WET,
                rates[0],
                rates[1],
                rates[2],
                rates[3],
                rates[4],
                rates[5],
            )
            state.passed_m3[node] = 0.0
            books.skin_s[day, node] = state.skin_s[node]
            books.ripe_frac[day, node] = state.ripe_frac[node]
            books.sand_m[day, node] = state.sand_m[node]
        books.raw_frac[day, node] = state.raw_frac[node]
        books.age_s[day, node] = state.age_s[node]

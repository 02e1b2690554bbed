"""The arrays a run works on: a plan compiled to numbers, with no names, strings or dates.

Nodes stand in an order in which water only moves to a later node. Every volume that moves in a
step is written to one arc, so the books can be closed from outside.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Node kinds.
ROOF, SCREEN, FLUSH, DIVERTER, PASS, TANK, BED, SINK = range(8)

# Arc slots of a node: slot[node, ...] holds arc numbers, -1 where there is none.
OUT = 0  # roof, screen, flush, pass: the water that goes on; diverter: main; bed: through the sand
SIDE = 1  # screen: reject; flush: weep; diverter: side; tank and bed: overflow
WETTING, SPLASH, RAIN, GUTTER = 2, 3, 1, 4  # roof only; GUTTER: over the edge of its gutter
SLID = 5  # roof only: snow past the gutter

WASTE = 2  # bed only: through the sand, but not yet fit to keep
RIM = 3  # tank and bed: over the brim, where the overflow is overwhelmed
EVAPORATION = 2  # tank only

UNLIMITED_M3_PER_S = 1e6
"""Stands for a pipe or throttle that does not limit the flow."""

LEVEL_POINTS_COUNT = 65
HEAD_POINTS_COUNT = 257

# What a float valve does within its band.
HOLDS, OPENS_IN_STEP, ON_OFF = 0, 1, 2


class Life(NamedTuple):
    """How filters age and are cleaned. n nodes; only those of filters are read."""

    sand_m: Floats  # (n,) depth of new sand
    cake_s_per_m: Floats  # (n,)
    growth_per_m: Floats  # (n,)
    growth_per_day: Floats  # (n,)
    load: Floats  # (n, 12) what the months multiply growth by
    dries: Ints  # (n,) 1 where the weir lies under the sand: a stopped bed runs dry
    below_m_per_s: Floats  # (n,) cleaned when its best rate is under this
    every_days: Ints  # (n,) cleaned by the calendar; 0 for never
    way: Ints  # (n,) RAKED or SCRAPED
    skin_left_frac: Floats  # (n,)
    ripe_left_frac: Floats  # (n,)
    removed_m: Floats  # (n,)
    waste_s: Floats  # (n,) at 20 degrees C, or as the plan says
    waste_by_warmth: Ints  # (n,) 1 where cold makes it longer
    least_sand_m: Floats  # (n,)
    anew_ripe_left_frac: Floats  # (n,) re-sanding
    anew_waste_s: Floats  # (n,)
    rates: Floats  # (8,) ripening per day and its base, rest, loss stopped, loss dry, their base,
    #                 rate that counts as running, share of it that counts as stopped


# What was done to a filter on a day.
LEFT_ALONE, RAKED, SCRAPED, SANDED = range(4)


class Net(NamedTuple):
    """A plan as arrays. Lengths: n nodes, a arcs, f feeds, u uses, s draws.

    ``feed_*`` are the tank outlets that feed other parts, grouped by tank (``feed_first[i]`` to
    ``feed_first[i + 1]``) and sorted by falling dead volume, so that the highest outlet runs dry
    first. ``draw_*`` are the stores a use may draw from, grouped by use, first choice first; uses
    stand in order of importance.
    """

    kind: Ints  # (n,)
    slot: Ints  # (n, 6)
    arc_to: Ints  # (a,)
    arc_float: Ints  # (a,) 1 where a float valve at the far end meters the flow
    area_m2: Floats  # (n,) roof or sand area
    runoff_frac: Floats  # (n,) roof coefficient, screen efficiency
    wetting_m: Floats  # (n,)
    snow_lost_frac: Floats  # (n,) roof: share of what melts that slides off
    blinding_m: Floats  # (n,) screen: rain that blinds it, infinite where none does
    rinse_days: Ints  # (n,) screen: days between rinses
    drying_m_per_s: Floats  # (n,)
    gutter_m3_per_s: Floats  # (n,) roof: what its gutter carries
    capacity_m3: Floats  # (n,) tank, bed, flush: content at the overflow lip
    shut_m3: Floats  # (n,) tank, bed: content at which a float valve is shut
    band_m3: Floats  # (n,) content over which it goes from open to shut
    valve_acts: Ints  # (n,) HOLDS, OPENS_IN_STEP or ON_OFF
    reset_s: Floats  # (n,) flush
    bed_s: Floats  # (n,) resistance of new sand at 20 degrees C, head over rate
    life: Life
    throttle_m3_per_s: Floats  # (n,) bed
    held_m3: Floats  # (n,) bed: water in and under the sand, which never leaves
    side: Ints  # (n, 12) 1 in the months in which a diverter stands to the side
    side_hours: Ints  # (n, 24) 1 in the hours in which it does
    watch: Ints  # (n,) diverter: tank whose content turns it, -1 for none
    side_above_m3: Floats  # (n,) diverter: content of that tank over which it stands to the side
    evaporation_m_per_s: Floats  # (n, 12) tank
    freezes: Ints  # (n,) tank: 1 where ice forms on it
    level_m: Floats  # (n, LEVEL_POINTS_COUNT) tank: level over the datum, equal steps of content
    brim_m3: Floats  # (n,) tank: content at the last level point
    over_limited: Ints  # (n,) tank: 1 where its overflow has a capacity
    over_flow_m3_per_s: Floats  # (n, HEAD_POINTS_COUNT) by equal steps of the root of the content
    #                             over the lip, up to the brim
    over_most_m3_per_s: Floats  # (n,) bed: what its overflow carries with the water at the rim
    feed_first: Ints  # (n + 1,)
    feed_arc: Ints  # (f,)
    feed_dead_m3: Floats  # (f,)
    feed_inlet_m: Floats  # (f,) height the water must reach at the far end
    feed_head_m: Floats  # (f,) head at the last point of the flow table
    feed_flow_m3_per_s: Floats  # (f, HEAD_POINTS_COUNT) by equal steps of the root of the head
    feed_drowns: Ints  # (f,) 1 where the far tank can stand above its inlet
    feed_valve: Ints  # (f,) node whose float valve meters the feed, -1 where none does
    feed_fouling_m: Floats  # (f,) rain that clogs its strainer, infinite where none does
    feed_rinse_days: Ints  # (f,) days between rinses of its strainer
    feed_strainer_frac: Floats  # (f,) share of its loss that is in its rinsed strainer
    draw_first: Ints  # (u + 1,)
    draw_node: Ints  # (s,)
    draw_arc: Ints  # (s,)
    draw_dead_m3: Floats  # (s,)
    ration_below_frac: Floats  # (u,)
    ration_to_frac: Floats  # (u,)
    hours_cum_frac: Floats  # (u, 25) share of the day's want gone by each full hour


class Forcing(NamedTuple):
    """What drives a run: steps that never cross midnight. t steps, d days, u uses."""

    tolerance_m: float
    day: Ints  # (t,)
    from_hour: Floats  # (t,)
    to_hour: Floats  # (t,)
    rain_m: Floats  # (t,)
    month: Ints  # (d,) 0 to 11
    date: Ints  # (d,) days since 1970, or -1 where no work is done: within a day
    water_degc: Floats  # (d,)
    snow_frac: Floats  # (d,) share that falls as snow
    thaw_m_per_s: Floats  # (d,) what can melt
    ice_m: Floats  # (d,) ice on open water
    want_m3: Floats  # (d, u)
    thickness: Floats  # (d,) viscosity of the water over that at 20 degrees C


class State(NamedTuple):
    """What a run changes as it goes, in place. n nodes."""

    content_m3: Floats  # (n,)
    film_m: Floats  # (n,) roof: water that wets it
    valve_open: Floats  # (n,) 1 where an on-off float valve stands open
    skin_s: Floats  # (n,) bed: resistance of the skin at 20 degrees C
    ripe_frac: Floats  # (n,)
    sand_m: Floats  # (n,)
    stopped_s: Floats  # (n,) time without flow
    waste_s: Floats  # (n,) time of running to waste that is left
    passed_m3: Floats  # (n,) through the sand since it was last aged
    blind_frac: Floats  # (n,) screen
    foul_frac: Floats  # (f,) strainer, of what rinsing frees
    raw_frac: Floats  # (n,) share of unfiltered water
    age_s: Floats  # (n,) mean time since it fell
    step_s: Floats  # (1,) length of the next step to try


class Books(NamedTuple):
    """What a run fills in. d days, n nodes, a arcs, u uses."""

    end_m3: Floats  # (d, n)
    low_m3: Floats  # (d, n)
    flow_m3: Floats  # (d, a)
    delivered_m3: Floats  # (d, u)
    rationed: Ints  # (d, u)
    rate_m_per_s: Floats  # (d, n) highest filtration rate at the end of a step
    raw_m3: Floats  # (d, u) unfiltered water in what was delivered
    raw_frac: Floats  # (d, n) at the end
    age_s: Floats  # (d, n)
    skin_s: Floats  # (d, n)
    ripe_frac: Floats  # (d, n)
    sand_m: Floats  # (d, n)
    cleaned: Ints  # (d, n)
    steps: Ints  # (d,) steps made
    forced: Ints  # (d,) steps that could not be made short enough


class Work(NamedTuple):
    """Room to work in, made by the caller so that no kernel allocates. All for one step."""

    ice_m3: Floats  # (n,) floats as ice, for the day: neither drawn nor fed on
    planned_m3: Floats  # (n,) to be drawn from what is there
    room_m3: Floats  # (n,) what its float valves would let in
    feeding_m3: Floats  # (n,) what could come through its float valves
    kept_m3: Floats  # (n,) sum of the fair shares at its float valves
    free_m3: Floats  # (n,) come freely
    metered_m3: Floats  # (n,) come through float valves
    under_m3: Floats  # (n,) bed: content at the end under its float valves, fully supplied
    through_m3: Floats  # (n,) bed: what then goes through the sand
    opens: Floats  # (n,) how its on-off float valve then stands
    was_m3: Floats  # (n,) content at the start
    was_film_m: Floats  # (n,)
    came_m3: Floats  # (n,)
    came_raw_m3: Floats  # (n,)
    came_age_m3_s: Floats  # (n,)
    limit_m3: Floats  # (a,) most that could go along
    flow_m3_per_s: Floats  # (a,) what the pipe alone would pass at the levels of the start
    fair_m3: Floats  # (a,) its share of the room at its end
    moved_m3: Floats  # (a,)
    asked_m3: Floats  # (u,) in the whole of the forcing's step
    lacking_m3: Floats  # (u,)
    was_lacking_m3: Floats  # (u,)


def work_for(net: Net) -> Work:
    """Working arrays that fit a net."""
    n, arcs, uses = len(net.kind), len(net.arc_to), len(net.draw_first) - 1
    node, arc, use = np.zeros((15, n)), np.zeros((4, arcs)), np.zeros((3, uses))
    return Work(*node, *arc, *use)

"""What the stores hold when the storm begins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from roofspring.kernels.net import ROOF, TANK
from roofspring.network.assemble import Assembled
from roofspring.network.simulate import State, simulate, start_state
from roofspring.plan.model import Plan, Tank
from roofspring.rain import RainRecord

BY_FEED = ("foul_frac",)
"""What the state holds for each feed pipe; all else is held for each part, but for `BY_RUN`."""
BY_PLAN = ("skin_s", "ripe_frac", "sand_m")
"""What the two plans may begin with differently: then the new plan's own start holds."""
BY_RUN = ("step_s",)
"""What belongs to the run and not to the plan."""


def filled(assembled: Assembled, full_frac: float | None) -> State:
    """The plan's own start, or every tank full to one share of what it holds."""
    state = start_state(assembled)
    if full_frac is not None:
        for i, part_id in enumerate(assembled.topology.nodes):
            if isinstance(assembled.topology.parts.get(part_id), Tank):
                state.content_m3[i] = full_frac * assembled.net.capacity_m3[i]
    return state


def on_day(plan: Plan, record: RainRecord, assembled: Assembled, day: np.datetime64) -> State:
    """What a run of the record up to a day leaves in the stores at midnight."""
    count = int((day.astype("datetime64[D]") - record.days[0]).astype(np.int64))
    if count == 0:
        return start_state(assembled)
    steps = count * record.steps_per_day_count
    before = replace(
        record,
        depth_m=record.depth_m[:steps],
        kept=record.kept[:steps],
        tmin_degc=None if record.tmin_degc is None else record.tmin_degc[:count],
        tmax_degc=None if record.tmax_degc is None else record.tmax_degc[:count],
    )
    return simulate(plan, before, assembled=assembled).final


def carried(state: State, *, to: Assembled, of: Assembled) -> State:
    """The same water in the same parts of another plan; parts that only it has start as it says.

    A part that holds less there is full; the rest of its water is left out.
    """
    made = start_state(to)
    rows, new = _nodes(of), _nodes(to)
    here, there = _shared(rows, new)
    pipes_here, pipes_there = _shared(_feeds(of), _feeds(to))
    for name, ours, theirs in zip(State._fields, made, state, strict=True):
        if name in BY_FEED:
            ours[pipes_there] = theirs[pipes_here]
        elif name not in BY_RUN:
            changed = np.zeros(len(there), dtype=bool)
            if name in BY_PLAN:  # another plan, another skin: a fault must not be undone
                changed = ours[there] != getattr(of.start, name)[here]
            ours[there] = np.where(changed, ours[there], theirs[here])
    made.content_m3[[i for part_id, i in new.items() if part_id not in rows]] = 0.0
    brims_m3 = np.where(to.net.kind == TANK, to.net.brim_m3, to.net.capacity_m3)
    brims_m3 = np.where(to.net.kind == ROOF, np.inf, brims_m3)  # snow lies as high as it likes
    np.minimum(made.content_m3, brims_m3, out=made.content_m3)
    return made


def _nodes(assembled: Assembled) -> dict[str, int]:
    return {part_id: i for i, part_id in enumerate(assembled.topology.nodes)}


def _feeds(assembled: Assembled) -> dict[str, int]:
    """Rows of feeds by their pipe."""
    arcs = assembled.topology.arcs
    by_pipe = {arcs[arc].pipe_id: i for i, arc in enumerate(assembled.net.feed_arc)}
    return {pipe_id: i for pipe_id, i in by_pipe.items() if pipe_id}


def _shared(here: dict[str, int], there: dict[str, int]) -> tuple[list[int], list[int]]:
    """Rows of what both have, in the one and in the other."""
    both = [name for name in there if name in here]
    return [here[name] for name in both], [there[name] for name in both]

"""What the stores hold when the storm begins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from roofspring.kernels.net import TANK
from roofspring.network.assemble import Assembled
from roofspring.network.simulate import State, simulate, start_state
from roofspring.plan.model import Plan, Tank
from roofspring.rain import RainRecord


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
    rows = {part_id: i for i, part_id in enumerate(of.topology.nodes)}
    new = {part_id: i for i, part_id in enumerate(to.topology.nodes)}
    made = start_state(to)
    both = [part_id for part_id in new if part_id in rows]
    there, here = [new[p] for p in both], [rows[p] for p in both]
    for ours, theirs in zip(made, state, strict=True):
        if len(theirs) == len(rows):
            ours[there] = theirs[here]
    made.content_m3[[i for part_id, i in new.items() if part_id not in rows]] = 0.0
    brims_m3 = np.where(to.net.kind == TANK, to.net.brim_m3, to.net.capacity_m3)
    np.minimum(made.content_m3, brims_m3, out=made.content_m3)
    return made

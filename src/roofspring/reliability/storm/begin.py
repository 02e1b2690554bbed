"""What the stores hold when the storm begins."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from roofspring.network.assemble import Assembled
from roofspring.network.result import RunResult
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
    return after_run(assembled, simulate(plan, before, assembled=assembled))


def after_run(assembled: Assembled, result: RunResult) -> State:
    """The state at the end of a run."""
    state = start_state(assembled)
    row = {part_id: i for i, part_id in enumerate(assembled.topology.nodes)}
    for i, store_id in enumerate(result.store_ids):
        state.content_m3[row[store_id]] = result.end_m3[-1, i]
    return state


def carried(state: State, *, to: Assembled, of: Assembled) -> State:
    """The same water in the same parts of another plan; parts that only it has start as it says.

    A part that holds less there is full; the rest of its water is left out.
    """
    made = start_state(to)
    rows = {part_id: i for i, part_id in enumerate(of.topology.nodes)}
    new = {part_id: i for i, part_id in enumerate(to.topology.nodes)}
    for field in fields(State):
        ours, theirs = getattr(made, field.name), getattr(state, field.name)
        for part_id in rows.keys() & new.keys():
            ours[new[part_id]] = theirs[rows[part_id]]
    for part_id in new.keys() - rows.keys():
        made.content_m3[new[part_id]] = 0.0
    np.minimum(made.content_m3, to.net.capacity_m3, out=made.content_m3)
    return made

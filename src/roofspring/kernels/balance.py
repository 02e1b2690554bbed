"""Daily balance of one store: one run with its series, and many capacities at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.kernels._jit import kernel

FloatArray = npt.NDArray[np.float64]

LANES = 64
"""Capacities carried side by side, so that the processor's wide registers are used."""


@kernel
def run_store(
    inflow_m3: FloatArray,
    demand_m3: FloatArray,
    capacity_m3: float,
    start_m3: float,
    theta: float,
    yield_m3: FloatArray,
    volume_m3: FloatArray,
    spill_m3: FloatArray,
) -> None:
    """Fill the three series (n,) for one store.

    ``theta`` is the share of a step's inflow that can be used in the same step: 0 is yield after
    spillage, 1 yield before spillage. ``start_m3`` is at most ``capacity_m3``.

    Each step waits for the volume of the one before, so the time is that of the longest chain of
    sums from volume to volume. Under yield after spillage the rule has a shorter one with the same
    bits: what is taken is never more than the store holds, and rounding keeps order.
    """
    volume = start_m3
    if theta == 0.0:
        for i in range(inflow_m3.size):
            there = volume + inflow_m3[i]
            taken = min(demand_m3[i], volume)
            volume = min(there, capacity_m3) - taken
            yield_m3[i] = taken
            volume_m3[i] = volume
            spill_m3[i] = there - taken - volume
        return
    for i in range(inflow_m3.size):
        there = volume + inflow_m3[i]
        taken = min(demand_m3[i], volume + theta * inflow_m3[i])
        room = max(0.0, capacity_m3 - (1.0 - theta) * taken)
        volume = min(there - taken, room)
        yield_m3[i] = taken
        volume_m3[i] = volume
        spill_m3[i] = there - taken - volume


@kernel
def served_by_capacity(
    inflow_m3: FloatArray,
    demand_m3: FloatArray,
    capacities_m3: FloatArray,
    start_frac: float,
    served_m3: FloatArray,
    lanes: FloatArray,
) -> None:
    """Fill the total yield (m,) of each capacity (m,) under yield after spillage.

    ``lanes`` (3, LANES) is room to work in.
    """
    volume, capacity, total = lanes[0], lanes[1], lanes[2]
    for first in range(0, capacities_m3.size, LANES):
        used = min(LANES, capacities_m3.size - first)
        for j in range(LANES):
            # Idle lanes repeat the last capacity; their totals are not kept.
            capacity[j] = capacities_m3[first + min(j, used - 1)]
            volume[j] = start_frac * capacity[j]
            total[j] = 0.0
        for i in range(inflow_m3.size):
            inflow = inflow_m3[i]
            demand = demand_m3[i]
            for j in range(LANES):
                taken = min(demand, volume[j])
                volume[j] = min(volume[j] + inflow - taken, max(0.0, capacity[j] - taken))
                total[j] += taken
        for j in range(used):
            served_m3[first + j] = total[j]

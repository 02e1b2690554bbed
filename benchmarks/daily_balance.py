"""One store, one daily record: the kernel against C, numpy scalars and plain Python."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from benchmarks.c_loops import NO_COMPILER, CLoops, FloatArray, compile_c
from benchmarks.harness import Effort, Runner, Table, race, ratio, same, weather
from roofspring.kernels.balance import run_store

CAPACITY_M3 = 6.0
START_M3 = 1.0
TARGET = 1.3


def plain_lists(
    inflow_m3: list[float],
    demand_m3: list[float],
    capacity_m3: float,
    start_m3: float,
    theta: float,
) -> tuple[list[float], list[float], list[float]]:
    """The rule as it is printed, over lists: the reference for all others."""
    taken_m3, volume_m3, spill_m3 = [], [], []
    volume = start_m3
    for inflow, demand in zip(inflow_m3, demand_m3, strict=True):
        there = volume + inflow
        taken = min(demand, volume + theta * inflow)
        volume = min(there - taken, max(0.0, capacity_m3 - (1.0 - theta) * taken))
        taken_m3.append(taken)
        volume_m3.append(volume)
        spill_m3.append(there - taken - volume)
    return taken_m3, volume_m3, spill_m3


def numpy_scalars(
    inflow_m3: FloatArray,
    demand_m3: FloatArray,
    capacity_m3: float,
    start_m3: float,
    theta: float,
    *series: FloatArray,
) -> None:
    """The same, taking scalars out of arrays and putting them back."""
    taken_m3, volume_m3, spill_m3 = series
    volume = start_m3
    for i in range(len(inflow_m3)):
        there = volume + inflow_m3[i]
        taken_m3[i] = min(demand_m3[i], volume + theta * inflow_m3[i])
        room = max(0.0, capacity_m3 - (1.0 - theta) * taken_m3[i])
        volume = min(there - taken_m3[i], room)
        volume_m3[i] = volume
        spill_m3[i] = there - taken_m3[i] - volume


def contestants(years: int, theta: float, c: CLoops | None) -> tuple[dict[str, Runner], int]:
    """All contestants, checked to give the same bits; and how many steps each makes."""
    inflow, demand = weather(years)
    lists = inflow.tolist(), demand.tolist()
    expected = plain_lists(*lists, CAPACITY_M3, START_M3, theta)
    runners: dict[str, Runner] = {}

    def enter(name: str, ready: Callable[..., Runner]) -> None:
        series = [np.full_like(inflow, np.nan) for _ in range(3)]
        run = ready(inflow, demand, CAPACITY_M3, START_M3, theta, *series)
        run()
        for what, got, wanted in zip(("yield", "volume", "spill"), series, expected, strict=True):
            same(f"{name}, {what}, theta {theta:g}", got, wanted)
        runners[name] = run

    enter("kernel", partial(partial, run_store))
    if c is not None:
        enter("C", c.run_store)
    enter("numpy, scalar by scalar", partial(partial, numpy_scalars))
    runners["plain Python over lists"] = lambda: plain_lists(*lists, CAPACITY_M3, START_M3, theta)
    return runners, len(inflow)


def check(effort: Effort) -> None:
    """Only the equality of all contestants."""
    c = compile_c()
    for theta in (0.0, 0.5, 1.0):
        contestants(effort.years, theta, c)


def measure(effort: Effort) -> Table:
    """Time them all, for yield after spillage and for the general rule."""
    c = compile_c()
    rows = []
    for theta, rule in ((0.0, "after spillage"), (0.5, "theta 0.5")):
        runners, steps = contestants(effort.years, theta, c)
        seconds = race(runners, rounds=effort.rounds)
        base = seconds["C"] if c is not None else seconds["kernel"]
        rows += [
            (f"{rule}: {name}", ratio(taken / base), f"{1e9 * taken / steps:.2f}")
            for name, taken in seconds.items()
        ]
    against = "C" if c is not None else "kernel"
    return Table(
        f"Daily balance of one store, {effort.years} years",
        ("rule and contestant", f"time over {against}", "ns per step"),
        tuple(rows),
        (
            f"All give the same bits in all three series. Target: kernel within {TARGET} of C."
            if c is not None
            else NO_COMPILER,
        ),
    )

"""Many store sizes at once: side by side in the processor's lanes, against one after another."""

from __future__ import annotations

import numpy as np

from benchmarks.c_loops import NO_COMPILER, FloatArray, compile_c
from benchmarks.daily_balance import plain_lists
from benchmarks.harness import Effort, Runner, Table, race, ratio, same, weather
from roofspring.kernels.balance import LANES, run_store, served_by_capacity

SIZES_COUNT = 640
START_FRAC = 0.5
PLAIN_SIZES_COUNT = 3
"""Plain Python runs only the first of the sizes: its time per tank-step hardly depends on them."""


def contestants(years: int) -> dict[str, tuple[Runner, int]]:
    """Runners checked to give the same bits, and how many tank-steps each makes."""
    inflow, demand = weather(years)
    sizes = np.geomspace(0.1, 60.0, SIZES_COUNT)
    served, lanes = np.empty(SIZES_COUNT), np.empty((3, LANES))
    one_by_one = np.empty(SIZES_COUNT)
    series = [np.empty_like(inflow) for _ in range(3)]
    lists = inflow.tolist(), demand.tolist()

    def side_by_side() -> None:
        served_by_capacity(inflow, demand, sizes, START_FRAC, served, lanes)

    def after_another() -> None:
        for i, size in enumerate(sizes):
            run_store(inflow, demand, size, START_FRAC * size, 0.0, *series)
            one_by_one[i] = np.cumsum(series[0])[-1]  # adds in the order of the days

    def plain() -> FloatArray:
        totals = np.zeros(PLAIN_SIZES_COUNT)
        for i, size in enumerate(sizes[:PLAIN_SIZES_COUNT].tolist()):
            total = 0.0
            for taken in plain_lists(*lists, size, START_FRAC * size, 0.0)[0]:
                total += taken
            totals[i] = total
        return totals

    side_by_side()
    after_another()
    same("one store after another", one_by_one, served)
    same("plain Python", plain(), served[:PLAIN_SIZES_COUNT])
    steps = len(inflow)
    runners: dict[str, tuple[Runner, int]] = {
        "kernel, sizes side by side": (side_by_side, SIZES_COUNT * steps),
        "kernel, one size after another": (after_another, SIZES_COUNT * steps),
    }
    c = compile_c()
    if c is not None:
        in_c = np.empty(SIZES_COUNT)
        c_loop = c.served_by_capacity(inflow, demand, sizes, START_FRAC, in_c)
        c_loop()
        same("C", in_c, served)
        runners["C, one size after another"] = (c_loop, SIZES_COUNT * steps)
    runners["plain Python, one size after another"] = (plain, PLAIN_SIZES_COUNT * steps)
    return runners


def check(effort: Effort) -> None:
    """Only the equality of all contestants."""
    contestants(effort.years)


def measure(effort: Effort) -> Table:
    """Time them all."""
    runners = contestants(effort.years)
    seconds = race(
        {name: run for name, (run, _) in runners.items()}, rounds=max(3, effort.rounds // 3)
    )
    per_step = {name: seconds[name] / steps for name, (_, steps) in runners.items()}
    base = per_step["kernel, sizes side by side"]
    notes = [f"{SIZES_COUNT} sizes. All give the same bits."]
    if "C, one size after another" not in runners:
        notes.append(NO_COMPILER)
    return Table(
        f"Storage against reliability: {SIZES_COUNT} sizes, {effort.years} years of days",
        ("contestant", "time over side by side", "ns per tank-step"),
        tuple((name, ratio(t / base), f"{1e9 * t:.2f}") for name, t in per_step.items()),
        tuple(notes),
    )

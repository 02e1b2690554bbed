"""Many runs of the engine at once: on two cores, and in how much memory."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np

from benchmarks.engine import ROOT, Engine, demo_plan, fingerprint, first_days, storm_plan
from benchmarks.harness import Effort, Runner, Table, race, ratio, same
from benchmarks.rain import STATUS, most_kib
from roofspring.workflows.demo import demo_record

WORKERS = 2
TARGET = 0.85
MEMORY = "--memory"


def designs(count: int, days: int) -> list[Engine]:
    """Demo plans with cisterns of different depths, made ready."""
    record = first_days(demo_record(), days)
    plan = demo_plan()
    engines = []
    for i in range(count):
        cistern = plan.tanks["cistern"].model_copy(update={"overflow_m": 3.8 - 0.1 * i})
        tanks = {**plan.tanks, "cistern": cistern}
        engines.append(Engine(plan.model_copy(update={"tanks": tanks}), record))
    return engines


def one_after_another(engines: list[Engine]) -> list[str]:
    """Run all, and a hash of the books of each."""
    return [fingerprint(engine()) for engine in engines]


def in_threads(pool: ThreadPoolExecutor, engines: list[Engine]) -> list[str]:
    """The same, on the threads of a pool."""
    return list(pool.map(lambda engine: fingerprint(engine()), engines))


def check(effort: Effort) -> None:
    """Runs in threads give the bits of runs one after another."""
    engines = designs(4, 200 if effort.quick else 3650)
    with ThreadPoolExecutor(WORKERS) as pool:
        same("in threads", np.array(in_threads(pool, engines)), one_after_another(engines))


def peak_mib(years: int, *, fine: bool) -> str:
    """Most memory of a process that runs the demo, over that of one that runs a year of it."""
    if not STATUS.exists():
        return ""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.many", MEMORY, str(years), str(int(fine))],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *filter(None, sys.path)])},
        capture_output=True,
        text=True,
        check=True,
    )
    return f"{int(done.stdout) / 1024.0:,.0f}"


def measure(effort: Effort) -> tuple[Table, Table]:
    """Time and memory."""
    check(effort)
    count, days = (4, 365) if effort.quick else (8, 10958)
    engines = designs(count, days)
    with ThreadPoolExecutor(WORKERS) as pool:
        runners: dict[str, Runner] = {
            "one after another": lambda: [engine() for engine in engines],
            f"{WORKERS} threads": lambda: list(pool.map(lambda engine: engine(), engines)),
            "bare loop, one after another": partial(_bare, None),
            f"bare loop, {WORKERS} threads": partial(_bare, pool),
        }
        seconds = race(runners, rounds=max(3, effort.rounds // 3))
    rows = []
    for alone, together in ((0, 1), (2, 3)):
        names = list(seconds)
        one, two = seconds[names[alone]], seconds[names[together]]
        rows.append((names[alone], f"{1e3 * one:.0f}", ratio(1.0), ""))
        rows.append(
            (names[together], f"{1e3 * two:.0f}", ratio(one / two), f"{one / two / WORKERS:.2f}")
        )
    speed = Table(
        f"{count} designs of the demo through {days:,} days",
        ("runs", "ms", "times faster", "parallel efficiency"),
        tuple(rows),
        (
            f"Runs in threads give the same bits. Target: efficiency {TARGET:g} of what two cores "
            "give; the bare loop shows what the machine had to give at that moment.",
        ),
    )
    spans = ((3, False),) if effort.quick else ((10, False), (30, False), (30, True))
    memory = Table(
        "Most memory of a run of the demo, over that of a year",
        ("run", "MiB"),
        tuple(
            (f"{years} years{', storm steps' if fine else ''}", peak_mib(years, fine=fine))
            for years, fine in spans
        ),
        ("A process of its own for each. Most of it is the forcing, and the books by day.",),
    )
    return speed, memory


def _bare(pool: ThreadPoolExecutor | None) -> object:
    """Work that lets go of the interpreter and shares nothing: sines of numbers of its own."""
    parts = [np.full(400_000, 0.1 * i) for i in range(1, 9)]
    return [*map(np.sin, parts)] if pool is None else [*pool.map(np.sin, parts)]


def _memory_main(years: int, *, fine: bool) -> None:
    plan = storm_plan() if fine else demo_plan()
    record = demo_record()
    Engine(plan, first_days(record, 365))()
    before = most_kib()
    Engine(plan, first_days(record, round(365.25 * years)))()
    print(most_kib() - before)


if __name__ == "__main__" and MEMORY in sys.argv:
    _memory_main(int(sys.argv[-2]), fine=bool(int(sys.argv[-1])))

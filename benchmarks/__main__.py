"""``python -m benchmarks [--quick] [--write] [SUITE ...]``."""

from __future__ import annotations

import argparse
import os
import platform
import time
from collections.abc import Callable
from pathlib import Path

import numba
import numpy as np

from benchmarks import (
    capacity_curve,
    cold_start,
    daily_balance,
    engine,
    many,
    rain,
    safety,
    screening,
    spreadsheet,
    storm,
)
from benchmarks.harness import FULL, QUICK, Effort, Table

RESULTS = Path(__file__).with_name("results") / "latest.md"


def _daily_balance(effort: Effort) -> tuple[Table, ...]:
    return (daily_balance.measure(effort),)


def _capacity_curve(effort: Effort) -> tuple[Table, ...]:
    return (capacity_curve.measure(effort),)


def _screening(effort: Effort) -> tuple[Table, ...]:
    return (screening.measure(effort),)


def _spreadsheet(effort: Effort) -> tuple[Table, ...]:
    return (spreadsheet.measure(effort),)


def _cold_start(effort: Effort) -> tuple[Table, ...]:
    return (cold_start.measure(effort),)


SUITES: dict[str, Callable[[Effort], tuple[Table, ...]]] = {
    "daily_balance": _daily_balance,
    "capacity_curve": _capacity_curve,
    "screening": _screening,
    "spreadsheet": _spreadsheet,
    "engine": engine.measure,
    "storm": storm.measure,
    "many": many.measure,
    "rain": rain.measure,
    "safety": safety.measure,
    "cold_start": _cold_start,
}


def machine() -> str:
    """The machine in general words."""
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), Python {platform.python_version()}, "
        f"numba {numba.__version__}, numpy {np.__version__}"
    )


def main() -> None:
    """Run the suites and print their tables; write them only when asked."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=main.__doc__)
    parser.add_argument("suites", nargs="*", metavar="SUITE", help=", ".join(SUITES))
    parser.add_argument("--quick", action="store_true", help="a smoke run: numbers mean little")
    parser.add_argument("--write", action="store_true", help="also write results/latest.md")
    given = parser.parse_args()
    for name in given.suites:
        if name not in SUITES:
            parser.error(f"no suite {name!r}; there are {', '.join(SUITES)}")
    if given.write and (given.quick or given.suites):
        parser.error("--write is for a full run of all suites")
    effort = QUICK if given.quick else FULL
    began = time.perf_counter()
    pages = [f"Machine: {machine()}.\n"]
    print(pages[0])
    for name in given.suites or SUITES:
        for table in SUITES[name](effort):
            pages.append(table.markdown())
            print(pages[-1])
    print(f"Took {time.perf_counter() - began:.0f} s.")
    if given.write:
        RESULTS.parent.mkdir(exist_ok=True)
        RESULTS.write_text("\n".join(pages), encoding="utf-8")


if __name__ == "__main__":
    main()

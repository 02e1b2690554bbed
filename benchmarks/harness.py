"""Fair timing: warm up outside the timer, alternate the order, take the median."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Runner = Callable[[], object]


@dataclass(frozen=True)
class Effort:
    """How much work a run of the benchmarks does."""

    years: int
    rounds: int
    quick: bool


FULL = Effort(years=50, rounds=31, quick=False)
QUICK = Effort(years=4, rounds=5, quick=True)


@dataclass(frozen=True)
class Table:
    """One suite's result, ready to print or to write."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()

    def markdown(self) -> str:
        """The table as Markdown, readable as plain text too."""
        cells = [self.columns, *self.rows]
        widths = [max(len(row[i]) for row in cells) for i in range(len(self.columns))]

        def line(row: Sequence[str]) -> str:
            first, *rest = row
            padded = [first.ljust(widths[0])]
            padded += [cell.rjust(w) for cell, w in zip(rest, widths[1:], strict=True)]
            return "| " + " | ".join(padded) + " |"

        rule = "|" + "|".join(
            "-" * (w + 1) + ("-" if i == 0 else ":") for i, w in enumerate(widths)
        )
        lines = [f"## {self.title}", "", line(self.columns), rule + "|"]
        lines += [line(row) for row in self.rows]
        for note in self.notes:
            lines += ["", note]
        return "\n".join(lines) + "\n"


def race(runners: dict[str, Runner], *, rounds: int) -> dict[str, float]:
    """Median seconds of each runner.

    Every round runs all of them, every other round in reverse order, so that a busy machine hits
    all alike. Each reading follows a run outside the timer, so that nobody finds caches warmed or
    emptied by the one before.
    """
    names = list(runners)
    seconds: dict[str, list[float]] = {name: [] for name in names}
    for i in range(rounds):
        for name in names if i % 2 == 0 else reversed(names):
            run = runners[name]
            run()
            began = time.perf_counter()
            run()
            seconds[name].append(time.perf_counter() - began)
    return {name: statistics.median(taken) for name, taken in seconds.items()}


def same(name: str, got: npt.ArrayLike, expected: npt.ArrayLike) -> None:
    """Stop before any timing is told if two contestants do not give the same bits."""
    if not np.array_equal(np.asarray(got), np.asarray(expected)):
        raise AssertionError(f"{name}: the results differ, so the times cannot be compared")


def ratio(value: float) -> str:
    """A ratio for people."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.1f}" if value >= 10 else f"{value:.2f}"


def weather(years: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Invented daily inflow and demand [m3] of one house, the same every time."""
    days = round(years * 365.25)
    rng = np.random.default_rng(11)
    inflow = np.where(rng.random(days) < 0.3, rng.gamma(0.7, 1.5, days), 0.0)
    return inflow, 0.25 + 0.1 * rng.random(days)

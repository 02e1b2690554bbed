"""Ten thousand designs of one roof and three stores through a daily record."""

from __future__ import annotations

import numpy as np

from benchmarks.c_loops import NO_COMPILER, FloatArray, compile_c
from benchmarks.harness import Effort, Runner, Table, race, ratio, same
from roofspring.kernels.screening import (
    DESIGN_ROWS,
    SCREEN_LANES,
    SHORT_FRAC,
    WORK_ROWS,
    screen_designs,
)

DESIGNS_COUNT = 10_000
START_FRAC = 0.5
PLAIN_COUNT = 2
"""Plain Python runs only the first of the designs."""
TARGET_S = 0.5


def plain(rain_m: list[float], want_m3: list[float], design: list[float]) -> tuple[float, ...]:
    """The rule as it is told, for one design: served, short days, spilled."""
    catch, flush, raw_full, rate, clean_full, cistern_full = design
    raw, clean, cistern = (START_FRAC * full for full in (raw_full, clean_full, cistern_full))
    served = short = spilled = 0.0
    for rain, want in zip(rain_m, want_m3, strict=True):
        from_clean = min(want, clean)
        from_cistern = min(want - from_clean, cistern)
        there = raw + max(0.0, catch * rain - flush)
        through = min(there, rate)
        left = there - through
        raw = min(left, raw_full)
        cleaned = clean + through
        held = min(cleaned, clean_full)
        clean = held - from_clean
        below = cistern + (cleaned - held)
        kept = min(below, cistern_full)
        cistern = kept - from_cistern
        got = from_clean + from_cistern
        served += got
        short += 1.0 if got < want * (1.0 - SHORT_FRAC) else 0.0
        spilled += (left - raw) + (below - kept)
    return served, short, spilled


def inputs(years: int, count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Invented rain, want and designs, the same every time."""
    days = round(years * 365.25)
    rng = np.random.default_rng(12)
    rain = np.where(rng.random(days) < 0.3, rng.gamma(0.7, 9e-3, days), 0.0)
    highest = np.array([200.0, 0.2, 5.0, 2.0, 3.0, 40.0])
    designs = highest[:, None] * rng.random((DESIGN_ROWS, count))
    return rain, 0.2 + 0.1 * rng.random(days), designs


def contestants(years: int, count: int) -> dict[str, tuple[Runner, int]]:
    """Runners checked to give the same bits, and how many designs each runs."""
    rain, want, designs = inputs(years, count)
    totals = served, short, spilled = tuple(np.empty(count) for _ in range(3))
    work = np.empty((WORK_ROWS, SCREEN_LANES))

    def side_by_side() -> None:
        screen_designs(rain, want, designs, START_FRAC, 0, count, served, short, spilled, work)

    def in_lists() -> list[tuple[float, ...]]:
        return [
            plain(rain.tolist(), want.tolist(), designs[:, i].tolist()) for i in range(PLAIN_COUNT)
        ]

    side_by_side()
    for i, expected in enumerate(in_lists()):
        same("plain Python", expected, [total[i] for total in totals])
    runners: dict[str, tuple[Runner, int]] = {"kernel, designs side by side": (side_by_side, count)}
    c = compile_c()
    if c is not None:
        in_c = [np.empty(count) for _ in range(3)]
        c_loop = c.screen_designs(rain, want, designs, START_FRAC, *in_c)
        c_loop()
        same("C", in_c, totals)
        runners["C, one design after another"] = (c_loop, count)
    runners["plain Python, one design after another"] = (in_lists, PLAIN_COUNT)
    return runners


def check(effort: Effort) -> None:
    """Only the equality of all contestants."""
    contestants(effort.years, 3 * SCREEN_LANES + 5)


def measure(effort: Effort) -> Table:
    """Time them all."""
    count = DESIGNS_COUNT if not effort.quick else 640
    runners = contestants(effort.years, count)
    seconds = race({name: run for name, (run, _) in runners.items()}, rounds=3)
    each = {name: seconds[name] / designs for name, (_, designs) in runners.items()}
    base = each["kernel, designs side by side"]
    notes = [f"All give the same bits. Target: the first row under {TARGET_S} s on two cores."]
    if "C, one design after another" not in runners:
        notes.append(NO_COMPILER)
    days = len(inputs(effort.years, 1)[0])
    return Table(
        f"Screening of {count:,} designs, {effort.years} years of days, one core",
        ("contestant", "time over side by side", f"s for {count:,}", "ns per design-day"),
        tuple(
            (name, ratio(t / base), f"{t * count:.2f}", f"{1e9 * t / days:.2f}")
            for name, t in each.items()
        ),
        tuple(notes),
    )

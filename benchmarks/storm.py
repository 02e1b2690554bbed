"""One storm on the demo train: the engine against a general solver of differential equations.

The solver is `scipy.integrate.solve_ivp` with the equations of `tests/train`, which are written
apart from the engine and checked against other packages. Its rates are plain Python, as a person
would write them for one study; it is stopped at every switch, since across switches it stalls.
"""

from __future__ import annotations

import statistics
import sys
import time

from benchmarks.engine import ROOT, demo_plan
from benchmarks.harness import Effort, Runner, Table, race, ratio
from roofspring.network.assemble import assemble
from roofspring.network.window import WindowResult

sys.path.insert(0, str(ROOT / "tests"))

from train import course, house, storms  # the tests are no package of ours

LEVEL_LIMIT_M = 2e-3
TARGET = 1000
TIGHT, LOOSE = 1e-9, 1e-6
DAY = "2013-06-07"
BURST = 25.0, 20


def measure(effort: Effort) -> tuple[Table, ...]:
    """A burst in the steps of a long run and told every 5 minutes; two wet days of real hours."""
    depth_mm, minutes = BURST
    burst = f"A burst of {depth_mm:g} mm in {minutes} min"
    storm, real = storms.made(*BURST, hours=48), storms.real(DAY)
    every = f"told every {storm.step_s / 60.0:g} min"
    return (
        _one(f"{burst} and dry hours, {every} while it rains", storm, effort, in_long_run=True),
        _one(f"{burst} and dry hours, {every}", storm, effort),
        _one(f"Two days of real hours from {DAY} on, told every hour", real, effort),
    )


def _one(title: str, storm: house.Storm, effort: Effort, *, in_long_run: bool = False) -> Table:
    """Time both, and say how far apart they are."""
    plan = storms.as_in_reference(demo_plan())
    laws, start_m3 = storms.laws_of(), storms.STARTS["half"]
    assembled = assemble(plan)
    step_s = storm.step_s
    true = course.run(storm, start_m3, laws, report_s=storms.REPORT_S, rtol=TIGHT)

    def window() -> WindowResult:
        return storms.engine(plan, assembled, storm, "half", step_s=step_s)

    run: Runner = window
    if in_long_run:
        run = storms.in_long_run(plan, assembled, storm, "half")
        volume_frac, level_m = storms.worst_in_long_run(run, true)
    else:
        volume_frac, level_m = storms.worst(window(), true)
    base = race({"engine": run}, rounds=effort.rounds)["engine"]
    rows: list[tuple[str, ...]] = [
        ("engine", ratio(1.0), f"{1e3 * base:.2f}", f"{1e3 * level_m:.2f}",
         f"{100.0 * volume_frac:.4f}")
    ]  # fmt: skip
    for rtol in (LOOSE, TIGHT):
        taken = []
        for _ in range(3):
            began = time.perf_counter()
            again = course.run(storm, start_m3, laws, report_s=step_s, rtol=rtol)
            taken.append(time.perf_counter() - began)
        seconds = statistics.median(taken)
        every = round(step_s / storms.REPORT_S)
        off_m = max(
            float(abs(again.content_m3[store] - true.content_m3[store][::every]).max()) / area
            for store, area in storms.AREAS_M2.items()
        )
        fell_m3 = sum(true.moved_m3["rain", roof][-1] for roof in house.ROOFS_M2)
        off_frac = max(
            abs(again.moved_m3[arc][-1] - true.moved_m3[arc][-1]) / fell_m3 for arc in house.ARCS
        )
        rows.append(
            (f"solve_ivp, tolerance {rtol:g}", ratio(seconds / base), f"{1e3 * seconds:.1f}",
             f"{1e3 * off_m:.2f}", f"{100.0 * off_frac:.4f}")
        )  # fmt: skip
    return Table(
        f"{title}: demo train",
        ("contestant", "time over engine", "ms", "worst level, mm", "worst volume, % of rain"),
        tuple(rows),
        (
            "Both are held to the solver at its tightest tolerance, where it tells every 10 s. "
            f"Target: over {TARGET:,} times faster than the solver, levels within "
            f"{1e3 * LEVEL_LIMIT_M:g} mm.",
        ),
    )

"""One storm on the demo train: the engine against a general solver of differential equations.

The solver is `scipy.integrate.solve_ivp` with the equations of `tests/train`, which are written
apart from the engine and checked against other packages. Its rates are plain Python, as a person
would write them for one study; it is stopped at every switch, since across switches it stalls.
"""

from __future__ import annotations

import sys
import time

from benchmarks.engine import ROOT, demo_plan
from benchmarks.harness import Effort, Runner, Table, race, ratio
from roofspring.network.assemble import assemble

sys.path.insert(0, str(ROOT / "tests"))

from train import course, house, storms  # the tests are no package of ours

DEPTH_MM, MINUTES, START = 25.0, 20, "half"
STEP_S = 300.0
LEVEL_LIMIT_M = 2e-3
TARGET = 1000
TIGHT = 1e-9


def measure(effort: Effort) -> Table:
    """Time both, and say how far apart they are."""
    plan = storms.as_in_reference(demo_plan())
    laws = storms.laws_of()
    assembled = assemble(plan)
    storm = storms.made(DEPTH_MM, MINUTES)
    hours = len(storm.rain_m) * storm.step_s / 3600.0
    rows: list[tuple[str, ...]] = []
    true = course.run(storm, storms.STARTS[START], laws, report_s=storms.REPORT_S, rtol=TIGHT)
    window = storms.engine(plan, assembled, storm, START, step_s=STEP_S)
    volume_frac, level_m = storms.worst(window, true)
    run: Runner = lambda: storms.engine(plan, assembled, storm, START, step_s=STEP_S)  # noqa: E731
    base = race({"engine": run}, rounds=effort.rounds)["engine"]
    rows.append(
        ("engine, every 5 minutes", ratio(1.0), f"{1e3 * base:.2f}", f"{1e3 * level_m:.2f}",
         f"{100.0 * volume_frac:.4f}")
    )  # fmt: skip
    for rtol in (1e-3, 1e-6, TIGHT):
        began = time.perf_counter()
        loose = course.run(storm, storms.STARTS[START], laws, report_s=STEP_S, rtol=rtol)
        seconds = time.perf_counter() - began
        every = round(STEP_S / storms.REPORT_S)
        off_m = max(
            float(abs(loose.content_m3[store] - true.content_m3[store][::every]).max()) / area
            for store, area in storms.AREAS_M2.items()
        )
        fell_m3 = sum(true.moved_m3["rain", roof][-1] for roof in house.ROOFS_M2)
        off_frac = max(
            abs(loose.moved_m3[arc][-1] - true.moved_m3[arc][-1]) / fell_m3 for arc in house.ARCS
        )
        rows.append(
            (f"solve_ivp, tolerance {rtol:g}", ratio(seconds / base), f"{1e3 * seconds:.1f}",
             f"{1e3 * off_m:.2f}", f"{100.0 * off_frac:.4f}")
        )  # fmt: skip
    return Table(
        f"One storm, {DEPTH_MM:g} mm in {MINUTES} min and {hours:g} h in all, demo train",
        ("contestant", "time over engine", "ms", "worst level, mm", "worst volume, % of rain"),
        tuple(rows),
        (
            "Both are held to the solver at its tightest tolerance. Target: over "
            f"{TARGET:,} times faster than the solver, levels within {1e3 * LEVEL_LIMIT_M:g} mm.",
        ),
    )

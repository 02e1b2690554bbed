"""Drinking: 100 000 person-years of daily doses, and the ways through a plan of 500 parts."""

from __future__ import annotations

import time
import tomllib

import numpy as np

from benchmarks.harness import Effort, Table, race, ratio, same
from roofspring.kernels.risk import drink_years
from roofspring.plan.model import Plan
from roofspring.safety.paths import all_routes
from roofspring.safety.risk import agents, barriers, simulate_years
from roofspring.safety.risk.simulate import cup_chances, exact_tables

YEARS_TARGET_S, WAYS_TARGET_S = 2.0, 0.2
PERSON_YEARS, EACH = 100_000, 100
STAGES = 83


def wide_plan(stages: int = STAGES) -> Plan:
    """Six parts a stage, two ways through each: more simple paths than anybody can list."""
    text = [
        'format = 1\nname = "bench"\n[roof.r]\narea = "9 m2"\nmaterial = "slate"',
        "[tap.sink]\ndrinking = true",
    ]
    before, pipes = "r", []
    for i in range(stages):
        tanks = [f"a{i}", f"b{i}", f"c{i}", f"d{i}"]
        text += [f'[tank.{t}]\nvolume = "1 m3"\nheight = "1 m"' for t in tanks]
        text.append(f'[filter.f{i}]\narea = "1 m2"\n[disinfection.u{i}]\nmethod = "uv"')
        pipes += [
            (before, f"a{i}"), (f"a{i}", f"f{i}"), (f"f{i}", f"b{i}"), (f"b{i}", f"u{i}"),
            (f"u{i}", f"d{i}"), (f"a{i}.overflow", f"c{i}"), (f"c{i}", f"d{i}"),
        ]  # fmt: skip
        before = f"d{i}"
    pipes.append((before, "sink"))
    text += [f'[pipe.p{i}]\nfrom = "{a}"\nto = "{b}"' for i, (a, b) in enumerate(pipes)]
    return Plan.model_validate(tomllib.loads("\n".join(text)))


def check(_effort: Effort) -> None:
    """Compiled and plain code give the same bits; the search finds both kinds of way."""
    rng = np.random.default_rng(3)
    m, n = 3, 365
    given = (
        rng.random((m, n)), rng.standard_normal((m, n)), np.full(m, 0.4),
        np.full(m, -0.7), 1.2, 24.0, np.ones(m), np.ones((1, n)), np.full((1, n), 3.0),
        np.zeros((1, n)), np.zeros(m, dtype=np.int64), rng.random((m, 1)), np.zeros(m),
        cup_chances(), 0.25, np.arange(m), np.full(m, 0.144), np.full(m, 7.3), exact_tables(),
    )  # fmt: skip
    compiled, plain = np.zeros(m), np.zeros(m)
    drink_years(*given, compiled)
    getattr(drink_years, "py_func", drink_years)(*given, plain)
    same("plain Python", compiled, plain)
    routes = all_routes(wide_plan(3))
    same("kinds of barrier", sorted(len(r.mechanisms) for r in routes)[:2], [0, 2])


def measure(effort: Effort) -> tuple[Table, ...]:
    """Time both."""
    check(effort)
    count = PERSON_YEARS if not effort.quick else 2_000
    range_ = barriers(np.full(365, 1.0), np.full(365, 3.0), raw_frac=0.01)
    rows = []
    for name, agent in agents().items():
        simulate_years(agent, range_, households=2, years_each=2)
        began = time.perf_counter()
        simulate_years(agent, range_, households=count // EACH, years_each=EACH)
        took = time.perf_counter() - began
        rows.append((name, f"{took:.2f}", f"{1e9 * took / (count * 365):.1f}"))
    plan = wide_plan()
    parts = len(list(plan.parts()))
    seconds = race({"ways": lambda: all_routes(plan)}, rounds=3)["ways"]
    return (
        Table(
            f"Drinking for {count:,} person-years, one core",
            ("germ", "s", "ns per day"),
            tuple(rows),
            (f"Target: under {YEARS_TARGET_S:g} s for 100,000 person-years.",),
        ),
        Table(
            f"Ways through a plan of {parts} parts",
            ("work", "s", "over the target"),
            (("every kind of way to the tap", f"{seconds:.3f}", ratio(seconds / WAYS_TARGET_S)),),
            (f"Target: under {WAYS_TARGET_S:g} s.",),
        ),
    )

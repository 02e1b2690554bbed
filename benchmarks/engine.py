"""The engine on the whole demo train: time for each part and step, and how it grows."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from benchmarks.harness import Effort, Runner, Table, race, ratio, same
from roofspring.kernels import net as k
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.forcing import build_forcing
from roofspring.network.simulate import close_books, run_books, start_state
from roofspring.plan.model import Plan
from roofspring.plan.read import read_text
from roofspring.rain import RainRecord
from roofspring.workflows.demo import demo_plan_text, demo_record

ROOT = Path(__file__).resolve().parents[1]
PLAIN = "--plain"
PAIRS = (1, 2, 4, 8)

STATIONS = """
[tank.tank-{i}]
volume = "1 m3"
height = "1 m"

[filter.sand-{i}]
area = "0.5 m2"

[pipe.feed-{i}]
from = "tank-{i}.outlet"
to = "sand-{i}.inlet"
valve = {{ kind = "float" }}

[pipe.clean-{i}]
from = "sand-{i}.outlet"
to = "{to}.inlet"
"""

CHAIN = """
format = 1
name = "chain of {pairs}"

[roof.roof]
area = "100 m2"
material = "metal"

[pipe.down]
from = "roof.outlet"
to = "tank-1.inlet"

[tank.last]
volume = "10 m3"
height = "2 m"

[use.house]
from = ["last"]
per-day = "150 L/day"
"""


def demo_plan() -> Plan:
    """The plan of the demo."""
    return read_text(demo_plan_text(), path=Path("plan.toml")).plan


def storm_plan() -> Plan:
    """The plan of the demo at storm resolution: 5 minutes on wet days, an hour on dry ones."""
    plan = demo_plan()
    fine = plan.run.model_copy(update={"wet_step_s": 300.0, "dry_step_s": 3600.0})
    return plan.model_copy(update={"run": fine})


def chain_plan(pairs: int) -> Plan:
    """Roof, then tank and filter ``pairs`` times over, then a tank that is drawn from."""
    text = CHAIN.format(pairs=pairs)
    for i in range(1, pairs + 1):
        text += STATIONS.format(i=i, to=f"tank-{i + 1}" if i < pairs else "last")
    return read_text(text, path=Path("plan.toml")).plan


def first_days(record: RainRecord, days: int) -> RainRecord:
    """The beginning of a daily record."""
    return replace(
        record,
        depth_m=record.depth_m[:days],
        kept=record.kept[:days],
        tmin_degc=None if record.tmin_degc is None else record.tmin_degc[:days],
        tmax_degc=None if record.tmax_degc is None else record.tmax_degc[:days],
    )


class Engine:
    """One plan and record made ready, so that only the kernel is timed."""

    def __init__(self, plan: Plan, record: RainRecord) -> None:
        self.assembled: Assembled = assemble(plan)
        self.forcing = build_forcing(plan, record, use_ids=self.assembled.use_ids)
        self.days = record.days
        self.steps = len(self.forcing.day)
        self.parts = len(self.assembled.net.kind) - 1  # the ground is a node too

    def __call__(self) -> k.Books:
        """Run from the start into fresh books."""
        state = start_state(self.assembled)
        return run_books(self.assembled.net, self.forcing, state, days=self.days)[0]


def fingerprint(books: k.Books) -> str:
    """A hash of all bits of the books."""
    digest = hashlib.sha256()
    for series in books:
        digest.update(np.ascontiguousarray(series).tobytes())
    return digest.hexdigest()


def plain_run(days: int) -> tuple[float, str]:
    """Seconds and fingerprint of the demo run as plain Python, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.engine", PLAIN, str(days)],
        cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        check=True,
        capture_output=True,
        text=True,
    )
    answer = json.loads(done.stdout)
    return float(answer["seconds"]), str(answer["fingerprint"])


def check(effort: Effort) -> None:
    """Compiled and plain runs give the same bits; the books of every chain close."""
    _compared(20 if effort.quick else 365)
    record = first_days(demo_record(), 365)
    for pairs in PAIRS:
        engine = Engine(chain_plan(pairs), record)
        close_books(engine.assembled, start_state(engine.assembled).content_m3, engine())


def _compared(days: int) -> tuple[float, Engine]:
    """Seconds of the plain run, and the engine that gave the same bits compiled."""
    engine = Engine(demo_plan(), first_days(demo_record(), days))
    seconds, plain = plain_run(days)
    same("compiled and plain run", fingerprint(engine()), plain)
    return seconds, engine


def measure(effort: Effort) -> tuple[Table, Table, Table]:
    """Compiled against plain; growth with years; growth with parts."""
    rounds = max(3, effort.rounds // 3)
    days = 20 if effort.quick else 365
    plain_seconds, engine = _compared(days)
    compiled = race({"compiled": engine}, rounds=effort.rounds)["compiled"]
    part_steps = engine.steps * engine.parts
    versus = Table(
        f"Engine, demo train, {days} days: compiled against plain Python",
        ("contestant", "time over compiled", "ns per part-step"),
        (
            ("compiled", ratio(1.0), f"{1e9 * compiled / part_steps:.0f}"),
            (
                "plain Python (one run, own process)",
                ratio(plain_seconds / compiled),
                f"{1e9 * plain_seconds / part_steps:,.0f}",
            ),
        ),
        ("All books have the same bits.",),
    )
    record = demo_record()
    spans = (1, 3) if effort.quick else (1, 10, 30)
    by_years = {
        f"{years} year{'s' if years > 1 else ''}": Engine(
            demo_plan(), first_days(record, round(365.25 * years))
        )
        for years in spans
    }
    if not effort.quick:
        by_years["30 years, storm steps"] = Engine(storm_plan(), record)
    by_parts = {
        f"{pairs} × tank and filter": Engine(
            chain_plan(pairs), first_days(record, 365 if effort.quick else 3650)
        )
        for pairs in PAIRS
    }
    return (
        versus,
        _growth("Engine, demo train: growth with years and steps", by_years, rounds),
        _growth("Engine, chains of tanks and filters: growth with parts", by_parts, rounds),
    )


def _growth(title: str, engines: dict[str, Engine], rounds: int) -> Table:
    runners: dict[str, Runner] = dict(engines)
    seconds = race(runners, rounds=rounds)
    first = next(iter(engines))
    rows = []
    for name, engine in engines.items():
        work = engine.steps * engine.parts
        first_work = engines[first].steps * engines[first].parts
        rows.append(
            (
                name,
                str(engine.parts),
                f"{engine.steps:,}",
                ratio(work / first_work),
                ratio(seconds[name] / seconds[first]),
                f"{1e3 * seconds[name]:.1f}",
                f"{1e9 * seconds[name] / work:.0f}",
            )
        )
    columns = ("run", "parts", "steps", "work over first", "time over first", "ms", "ns/part-step")
    return Table(title, columns, tuple(rows))


def _plain_main(days: int) -> None:
    engine = Engine(demo_plan(), first_days(demo_record(), days))
    began = time.perf_counter()
    books = engine()
    seconds = time.perf_counter() - began
    print(json.dumps({"seconds": seconds, "fingerprint": fingerprint(books)}))


if __name__ == "__main__" and PLAIN in sys.argv:
    _plain_main(int(sys.argv[-1]))

"""The compiled engine and its plain Python body give the same bits, and every status has words."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from network.build import DATA, DEMO, dry, pipe, plan_of, tank, use
from roofspring.errors import SolveError
from roofspring.kernels import status
from roofspring.network.assemble import assemble
from roofspring.network.simulate import simulate, start_state
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord, read

TESTS = Path(__file__).parents[1]
DAYS = 60

PRINT = "from kernels.test_bit_equal import fingerprint; print(fingerprint())"


def sixty_days() -> RainRecord:
    """60 days of Seattle, with a storm put in so that everything overflows, and warm to cold."""
    whole = read(DATA / "seattle_daily_2012_2015.csv")
    depth_m = whole.depth_m[:DAYS].copy()
    depth_m[30] = 0.09
    assert whole.tmin_degc is not None
    assert whole.tmax_degc is not None
    return replace(
        whole,
        depth_m=depth_m,
        kept=whole.kept[:DAYS],
        tmin_degc=whole.tmin_degc[:DAYS],
        tmax_degc=whole.tmax_degc[:DAYS],
    )


def fingerprint() -> str:
    """One line for each array of the books: its name and the SHA-256 of its bytes."""
    text = DEMO.read_text(encoding="utf-8").replace(
        "[roof.woodshed]", '[roof.cabin.gutter]\ncapacity = "500 L/h"\n\n[roof.woodshed]'
    )
    plan = Plan.model_validate(tomllib.loads(text))
    result = simulate(plan, sixty_days())
    assert result.total_m3(kind="gutter") > 0.0
    overflowed = result.total_m3(kind="overflow")
    assert overflowed > 0.0
    lines = []
    for name in (
        "end_m3",
        "low_m3",
        "flow_m3",
        "delivered_m3",
        "rationed",
        "filter_rate_m_per_s",
    ):
        values = np.ascontiguousarray(getattr(result, name))
        lines.append(f"{name} {hashlib.sha256(values.tobytes()).hexdigest()}")
    return "\n".join(lines)


def test_compiled_and_plain_runs_are_bit_equal() -> None:
    # Kernels call each other, so only a process of its own runs them all as plain Python.
    plain = subprocess.run(
        [sys.executable, "-W", "error", "-c", PRINT],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert plain.returncode == 0, plain.stderr[-2000:]
    assert plain.stdout.strip() == fingerprint()


def test_every_status_of_a_kernel_has_words() -> None:
    codes = tomllib.loads(
        (TESTS.parent / "src/roofspring/errors/codes.toml").read_text(encoding="utf-8")
    )
    numbers = {name: n for name, n in vars(status).items() if name.isupper() and name != "OK"}
    assert numbers
    assert len(set(numbers.values())) == len(numbers)
    for n in numbers.values():
        assert f"SOL-{n:03d}" in codes


def test_a_content_that_is_not_a_number_stops_the_run() -> None:
    plan = plan_of(tank("a", volume_m3=1.0, start=0.5), use("u", "a", "10 L/day"), pipe_free())
    assembled = assemble(plan)
    state = start_state(assembled)
    state.content_m3[assembled.topology.nodes.index("a")] = np.nan
    with pytest.raises(SolveError, match="SOL-001"):
        simulate(plan, dry(3), assembled=assembled, state=state)


def pipe_free() -> str:
    """A second tank, so that the broken content has somewhere to go."""
    return tank("b", volume_m3=1.0) + pipe("p", "a", "b")

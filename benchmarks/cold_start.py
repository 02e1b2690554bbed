"""Wall time of commands in new processes, as a person meets them."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.harness import Effort, Table, ratio
from roofspring.workflows.demo import write_demo

HELP_TARGET_S = 0.4
ENDS_WELL = (0, 1)  # 1: answered, and a finding says stop
START = "from roofspring.cli.app import main; main()"


def command(*words: str, cache: Path | None = None) -> float:
    """Seconds of one command; with a compile cache of its own where one is given."""
    env = dict(os.environ)
    if cache is not None:
        env["NUMBA_CACHE_DIR"] = str(cache)
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", START, *words], env=env, capture_output=True, text=True
    )
    seconds = time.perf_counter() - began
    if done.returncode not in ENDS_WELL:
        raise AssertionError(f"roofspring {' '.join(words)} failed: {done.stderr}")
    return seconds


def check() -> None:
    """The command starts."""
    command("--help")


def measure(effort: Effort) -> Table:
    """Time ``--help``, ``supply`` and ``design``, with a warm compile cache and an empty one."""
    runs = 1 if effort.quick else 5
    with tempfile.TemporaryDirectory() as folder:
        plan = write_demo(Path(folder) / "demo")
        lines: dict[str, tuple[str, ...]] = {
            "Python alone": (),
            "--help": ("--help",),
            "supply": ("supply", str(plan)),
            "design": ("design", str(plan)),
        }
        if effort.quick:
            del lines["design"]
        taken: dict[str, list[float]] = {}
        for words in lines.values():
            if words and not effort.quick:
                command(*words)  # fills the usual cache
        for i in range(runs):
            for name, words in lines.items() if i % 2 == 0 else reversed(lines.items()):
                seconds = command(*words) if words else _python_alone()
                taken.setdefault(name, []).append(seconds)
            if not effort.quick:
                for name in ("supply", "design"):
                    with tempfile.TemporaryDirectory() as cache:
                        seconds = command(*lines[name], cache=Path(cache))
                    taken.setdefault(f"{name}, compiling", []).append(seconds)
    medians = {name: statistics.median(seconds) for name, seconds in taken.items()}
    base = medians["Python alone"]
    return Table(
        f"Cold start, median of {runs}",
        ("command", "time over Python alone", "s"),
        tuple((name, ratio(s / base), f"{s:.2f}") for name, s in medians.items()),
        (
            f"Target: --help under {HELP_TARGET_S} s. "
            '"Compiling" starts with an empty cache, as on the first run after an install.',
        ),
    )


def _python_alone() -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", "pass"], check=True)
    return time.perf_counter() - began

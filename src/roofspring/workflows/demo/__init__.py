"""Alder Bench: the invented place of the demo and of all examples."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import numpy as np

from roofspring.errors import OutputError, Problem
from roofspring.files import make_folder, write_text_atomic
from roofspring.plan.read import PLAN_FILE
from roofspring.rain import MonthlyClimate, RainRecord, csv_lines, generate

RAIN_FILE = "rain.csv"
SAND_FILE = "sand.csv"
YEARS = 30
SEED = 20
START = np.datetime64("1996-01-01")

# Wet winters, a dry high summer, frost in January. Invented; no place has just this climate.
CLIMATE = MonthlyClimate(
    p01_frac=(0.30, 0.30, 0.28, 0.27, 0.22, 0.17, 0.09, 0.09, 0.16, 0.26, 0.31, 0.31),
    p11_frac=(0.62, 0.60, 0.58, 0.55, 0.50, 0.42, 0.30, 0.32, 0.45, 0.56, 0.62, 0.64),
    gamma_shape=(0.75,) * 12,
    wet_day_m=(
        7.9e-3,
        7.6e-3,
        7.0e-3,
        6.8e-3,
        7.2e-3,
        7.4e-3,
        8.5e-3,
        8.8e-3,
        8.2e-3,
        7.9e-3,
        8.4e-3,
        8.2e-3,
    ),
    tmean_degc=(-2.0, -0.5, 3.0, 7.0, 11.5, 15.0, 18.0, 17.5, 13.5, 8.0, 2.5, -1.0),
    trange_degc=(7.0, 8.0, 10.0, 11.0, 12.0, 13.0, 15.0, 14.5, 12.5, 9.5, 7.0, 6.5),
)


# A pit sand as dug: too many fine and too many coarse grains for a filter, and a little silt.
SAND = """\
# INVENTED: nobody dug or sieved this sand. It belongs to Alder Bench, which is invented too.
# Dry mass before sieving, and what lay on each sieve afterwards.
sieve mm,retained g
before,500.2
4.75,6.0
2.36,21.0
1.18,48.0
0.600,92.0
0.425,78.0
0.300,94.0
0.212,78.0
0.150,46.0
0.075,25.0
pan,11.6
total,499.6
"""


def demo_record() -> RainRecord:
    """Thirty years of invented rain and temperature for Alder Bench, the same every time."""
    return generate(years=YEARS, seed=SEED, months=CLIMATE, start=START)


def demo_plan_text() -> str:
    """The plan of Alder Bench, with its planted faults."""
    return resources.files(__name__).joinpath("alder-bench.toml").read_text("utf-8")


def write_demo(folder: Path) -> Path:
    """Write the plan, the rain record and the sieve test of Alder Bench into a folder.

    A file that is already there is never written over: it may be yours by now.

    Raises
    ------
    OutputError (OUT-001, OUT-002)
        The folder cannot be written, or holds another plan, record or test.
    """
    plan_file = folder / PLAN_FILE
    text, rain = demo_plan_text(), "".join(csv_lines(demo_record()))
    sand = folder / SAND_FILE
    for file, ours in ((plan_file, text), (folder / RAIN_FILE, rain), (sand, SAND)):
        if file.exists() and file.read_text("utf-8", errors="replace") != ours:
            raise OutputError(
                Problem(
                    "OUT-002",
                    "a file that is not the untouched demo stands here already",
                    file=str(file),
                    next="name another folder, or move that file away",
                )
            )
    make_folder(folder)
    write_text_atomic(folder / RAIN_FILE, rain)
    write_text_atomic(sand, SAND)
    write_text_atomic(plan_file, text)
    return plan_file

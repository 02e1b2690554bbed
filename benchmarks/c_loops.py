"""The same loops in C, compiled where a compiler is at hand."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from benchmarks.harness import Runner

FloatArray = npt.NDArray[np.float64]

# Nothing is contracted, so that the bits can be compared.
FLAGS = ("-O3", "-march=native", "-ffp-contract=off", "-shared", "-fPIC")
NO_COMPILER = "No C compiler was found (gcc or cc), so nothing is compared with C."

_Doubles = ctypes.POINTER(ctypes.c_double)


def _at(array: FloatArray) -> Any:
    return array.ctypes.data_as(_Doubles)


class CLoops:
    """`balance.c`, compiled and loaded.

    Each method returns a call with its arguments made ready, so that only the loop is timed.
    """

    def __init__(self, library: ctypes.CDLL) -> None:
        d, p, n = ctypes.c_double, _Doubles, ctypes.c_long
        self._run_store = library.run_store
        self._run_store.argtypes = [n, p, p, d, d, d, p, p, p]
        self._served = library.served_by_capacity
        self._served.argtypes = [n, p, p, n, p, d, p]
        self._screen = library.screen_designs
        self._screen.argtypes = [n, p, p, n, p, d, p, p, p]
        self._run_store.restype = self._served.restype = self._screen.restype = None

    def run_store(
        self,
        inflow_m3: FloatArray,
        demand_m3: FloatArray,
        capacity_m3: float,
        start_m3: float,
        theta: float,
        *series: FloatArray,
    ) -> Runner:
        """As the kernel of that name."""
        into = [_at(a) for a in series]
        return partial(
            self._run_store, len(inflow_m3), _at(inflow_m3), _at(demand_m3),
            capacity_m3, start_m3, theta, *into,
        )  # fmt: skip

    def served_by_capacity(
        self,
        inflow_m3: FloatArray,
        demand_m3: FloatArray,
        capacities_m3: FloatArray,
        start_frac: float,
        served_m3: FloatArray,
    ) -> Runner:
        """As the kernel of that name, one size after another."""
        return partial(
            self._served, len(inflow_m3), _at(inflow_m3), _at(demand_m3),
            len(capacities_m3), _at(capacities_m3), start_frac, _at(served_m3),
        )  # fmt: skip

    def screen_designs(
        self,
        rain_m: FloatArray,
        want_m3: FloatArray,
        designs: FloatArray,
        start_frac: float,
        *totals: FloatArray,
    ) -> Runner:
        """As the kernel of that name, one design after another."""
        into = [_at(a) for a in totals]
        return partial(
            self._screen, len(rain_m), _at(rain_m), _at(want_m3),
            designs.shape[1], _at(designs), start_frac, *into,
        )  # fmt: skip


def compile_c() -> CLoops | None:
    """Compile and load the C loops; None without a compiler."""
    compiler = shutil.which("gcc") or shutil.which("cc")
    if compiler is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "balance.so"
        source = Path(__file__).with_name("balance.c")
        subprocess.run([compiler, *FLAGS, "-o", str(library), str(source)], check=True)
        return CLoops(ctypes.CDLL(str(library)))

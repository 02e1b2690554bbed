"""Rain: reading records against a general table reader, and making rain."""

from __future__ import annotations

import calendar
import importlib.util
import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from benchmarks.harness import Effort, Runner, Table, race, ratio, same
from roofspring.rain import RainRecord, load
from roofspring.rain.futures import MODELS, FittedModel, generate, model_named
from roofspring.rain.within_day.disaggregate import disaggregate

ROOT = Path(__file__).parents[1]
WITHIN_DAY = ("cascade", "pulses")
LIMIT = "numpy: one random number for each"
"""What no model that draws at all can be much faster than."""
NO_PANDAS = "pandas is not installed, so its rows and all ratios are left out."

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def invented(years: int) -> RainRecord:
    """Daily rain and temperatures of the demo's invented climate."""
    from roofspring.workflows.demo import CLIMATE  # slow to import, and no reader needs it

    return generate(years=years, seed=11, months=CLIMATE, start=np.datetime64("1921-01-01"))


def dly_lines(record: RainRecord) -> Iterator[str]:
    """A record in the fixed columns of GHCN-Daily: an element and month on a line of 269."""
    if record.tmin_degc is None or record.tmax_degc is None:
        raise ValueError("the record has no temperatures")
    elements = {
        "PRCP": np.rint(record.depth_m * 1e4).astype(np.int64),
        "TMAX": np.rint(record.tmax_degc * 10.0).astype(np.int64),
        "TMIN": np.rint(record.tmin_degc * 10.0).astype(np.int64),
    }
    months = record.days.astype("datetime64[M]")
    edges = np.append(np.flatnonzero(np.diff(months.astype(np.int64), prepend=-1)), len(months))
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        for element, values in elements.items():
            cells = [f"{v:5d}  6" for v in values[a:b].tolist()] + ["-9999   "] * (31 - (b - a))
            yield f"XX000000001{str(months[a]).replace('-', '')}{element}{''.join(cells)}\n"


def csv_lines(record: RainRecord) -> Iterator[str]:
    """A record in 5-minute steps as a plain CSV, in hundredths of a millimetre."""
    yield "time,precip_mm\n"
    times = record.start.astype("datetime64[m]") + np.arange(len(record.depth_m)) * 5
    depth_mm = (record.depth_m * 1e3).tolist()
    for when, depth in zip(times.astype(str).tolist(), depth_mm, strict=True):
        yield f"{when},{depth:.2f}\n"


def write_files(folder: Path, effort: Effort) -> tuple[Path, Path]:
    """The two files; whole runs: 100 years of days, and 1,051,200 rows of 5 minutes."""
    dly, table = folder / "XX000000001.dly", folder / "five_minutes.csv"
    dly.write_text("".join(dly_lines(invented(dly_years(effort)))), encoding="ascii")
    days = invented(csv_years(effort) + 1)
    n = 365 * csv_years(effort)
    fine = disaggregate(
        RainRecord(
            start=days.start, step_s=days.step_s, name="", source="",
            depth_m=days.depth_m[:n], kept=days.kept[:n],
        ),
        seed=1,
    )  # fmt: skip
    table.write_text("".join(csv_lines(fine)), encoding="ascii")
    return dly, table


def dly_years(effort: Effort) -> int:
    """Years of the fixed-column file."""
    return 10 if effort.quick else 100


def csv_years(effort: Effort) -> int:
    """Years, of 365 days, of the 5-minute file."""
    return 1 if effort.quick else 10


def model_years(effort: Effort) -> int:
    """Years that each model makes."""
    return 100 if effort.quick else 1_000


def fine_years(effort: Effort) -> int:
    """Years that are cut into 5 minutes."""
    return 5 if effort.quick else 100


def ours(path: Path) -> RainRecord:
    """The record, every line checked."""
    return load(path)


def pandas_csv(path: Path) -> tuple[npt.NDArray[np.datetime64], FloatArray]:
    """Times and millimetres, as pandas reads them when told what stands in each column."""
    import pandas as pd

    frame = pd.read_csv(path, parse_dates=["time"], dtype={"precip_mm": np.float64})
    return frame["time"].to_numpy(), frame["precip_mm"].to_numpy()


def pandas_dly(path: Path) -> IntArray:
    """Rain, warmest and coldest of every day in tenths, (3, n), by pandas' reader of columns."""
    import pandas as pd

    columns = [(11, 15), (15, 17), (17, 21), *((21 + 8 * d, 26 + 8 * d) for d in range(31))]
    frame = pd.read_fwf(path, colspecs=columns, header=None)
    days = [calendar.monthrange(y, m)[1] for y, m in zip(frame[0], frame[1], strict=True)]
    there = np.arange(31) < np.array(days)[:, np.newaxis]
    values = frame.iloc[:, 3:].to_numpy(np.int64)
    return np.array([
        values[mine][there[mine]] for mine in (frame[2] == e for e in ("PRCP", "TMAX", "TMIN"))
    ])  # fmt: skip


READ: dict[str, Callable[[Path], object]] = {
    "ours": ours,
    "pandas read_csv": pandas_csv,
    "pandas read_fwf": pandas_dly,
}


def has_pandas() -> bool:
    """Whether the general reader is there."""
    return importlib.util.find_spec("pandas") is not None


def check_reading(dly: Path, table: Path) -> None:
    """Both readers see the same whole tenths, or hundredths, and the same times."""
    if not has_pandas():
        return
    record = ours(dly)
    assert record.tmax_degc is not None and record.tmin_degc is not None
    mine = (record.depth_m * 1e4, record.tmax_degc * 10.0, record.tmin_degc * 10.0)
    same("fixed columns", np.rint(mine), pandas_dly(dly))
    fine, (times, depth_mm) = ours(table), pandas_csv(table)
    same("5 minutes, depths", np.rint(fine.depth_m * 1e5), np.rint(depth_mm * 1e2))
    steps = fine.start + np.arange(len(times)) * np.timedelta64(round(fine.step_s), "s")
    same("5 minutes, times", times.astype("datetime64[s]"), steps)


def check_making(effort: Effort) -> None:
    """The same seed gives the same bits, and days cut up keep their sums to a nanometre."""
    past = invented(30)
    for name in MODELS:
        model = model_named(name).fit(past)
        twice = [model.simulate(years=10, seed=1).depth_m for _ in range(2)]
        same(name, *twice)
    days = invented(2 if effort.quick else 20)
    for method in WITHIN_DAY:
        fine = [disaggregate(days, seed=1, method=method) for _ in range(2)]
        same(method, fine[0].depth_m, fine[1].depth_m)
        worst = np.abs(fine[0].daily_depth_m - days.depth_m).max()
        if worst > 1e-9:
            raise AssertionError(f"{method}: a day has {worst:g} m more or less than it had")


STATUS = Path("/proc/self/status")


def most_kib() -> int:
    """Most memory that this process ever held [KiB]; 0 where the system does not say."""
    lines = STATUS.read_text().splitlines() if STATUS.exists() else []
    return next((int(line.split()[1]) for line in lines if line.startswith("VmHWM")), 0)


def read_peak(reader: str, path: Path, *, small: Path) -> str:
    """Most memory while reading, over that before, in a process of its own [MiB].

    A small file of the same form is read first, so that imports are not counted.
    """
    code = (
        "import sys; from pathlib import Path; from benchmarks import rain\n"
        "read = rain.READ[sys.argv[1]]; read(Path(sys.argv[2])); before = rain.most_kib()\n"
        "kept = read(Path(sys.argv[3])); print(rain.most_kib() - before)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, reader, str(small), str(path)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *filter(None, sys.path)])},
        capture_output=True,
        text=True,
        check=True,
    )
    return f"{int(done.stdout) / 1024.0:,.0f}" if STATUS.exists() else ""


def traced_mib(run: Runner) -> float:
    """Most memory that arrays and objects took while running [MiB]."""
    tracemalloc.start()
    try:
        run()
        return tracemalloc.get_traced_memory()[1] / 1024.0**2
    finally:
        tracemalloc.stop()


def reading(effort: Effort) -> Table:
    """Time both files."""
    rows: list[tuple[str, ...]] = []
    with tempfile.TemporaryDirectory() as folder:
        dly, table = write_files(Path(folder), effort)
        check_reading(dly, table)
        small_dly, small_csv = Path(folder) / "small.dly", Path(folder) / "small.csv"
        small_dly.write_text("".join(dly_lines(invented(1))), encoding="ascii")
        small_csv.write_text("".join(csv_lines(invented(1))), encoding="ascii")
        for what, path, small, years, general in (
            (f"{dly_years(effort)} years of days, fixed columns", dly, small_dly,
             dly_years(effort), "pandas read_fwf"),
            (f"{365 * 288 * csv_years(effort):,} rows of 5 minutes, CSV", table, small_csv,
             csv_years(effort), "pandas read_csv"),
        ):  # fmt: skip
            names = ["ours", *([general] if has_pandas() else [])]
            runs: dict[str, Runner] = {name: partial(READ[name], path) for name in names}
            seconds = race(runs, rounds=1 if effort.quick else 5)
            rows += [
                (
                    f"{what}: {name}",
                    ratio(seconds[name] / seconds[general]) if has_pandas() else "",
                    f"{years / seconds[name]:,.0f}",
                    f"{path.stat().st_size / 1e6 / seconds[name]:,.1f}",
                    read_peak(name, path, small=small),
                )
                for name in names
            ]
    notes = ("Every value and time is the same. Ours also checks each line, and marks each value.",)
    return Table(
        "Reading a record",
        ("file and contestant", "time over pandas", "years per s", "MB per s", "peak MiB"),
        tuple(rows),
        notes if has_pandas() else (NO_PANDAS,),
    )


def making_days(effort: Effort) -> Table:
    """Time the models on 30 years of invented rain."""
    past, years = invented(30), model_years(effort)
    fitted: dict[str, tuple[FittedModel, float]] = {}
    for name in MODELS:
        model = model_named(name)
        model.fit(past)
        began = time.perf_counter()
        fitted[name] = (model.fit(past), time.perf_counter() - began)
    runs: dict[str, Runner] = {
        name: partial(model.simulate, years=years, seed=1) for name, (model, _) in fitted.items()
    }
    runs[LIMIT] = _draws(round(years * 365.25))
    seconds = race(runs, rounds=3 if effort.quick else 7)
    rows = [
        (
            name,
            ratio(seconds[name] / seconds[LIMIT]),
            f"{years / seconds[name]:,.0f}",
            f"{fitted[name][1] * 1e3:,.0f}" if name in fitted else "",
            f"{traced_mib(run):,.0f}",
        )
        for name, run in runs.items()
    ]
    return Table(
        f"Making {years:,} years of daily rain and temperature",
        ("model", "time over one draw a day", "years per s", "fit, ms", "peak MiB"),
        tuple(rows),
        ("Fitted to 30 invented years. The same seed gives the same bits.",),
    )


def _draws(count: int) -> Runner:
    rng = np.random.default_rng(1)
    return lambda: rng.random(count)


def making_minutes(effort: Effort) -> Table:
    """Time the ways to cut days into 5 minutes."""
    years = fine_years(effort)
    days = invented(years)
    runs: dict[str, Runner] = {
        name: partial(disaggregate, days, seed=1, method=name) for name in WITHIN_DAY
    }
    runs[LIMIT] = _draws(288 * days.days_count)
    seconds = race(runs, rounds=3 if effort.quick else 7)
    rows = [
        (
            name,
            ratio(seconds[name] / seconds[LIMIT]),
            f"{years / seconds[name]:,.0f}",
            f"{traced_mib(run):,.0f}",
        )
        for name, run in runs.items()
    ]
    return Table(
        f"Cutting {years} years of days into 5 minutes",
        ("way", "time over one draw a step", "years per s", "peak MiB"),
        tuple(rows),
        (f"{288 * days.days_count:,} steps. Every day keeps its sum.",),
    )


def measure(effort: Effort) -> tuple[Table, ...]:
    """Check, then time reading and making."""
    check_making(effort)
    return reading(effort), making_days(effort), making_minutes(effort)

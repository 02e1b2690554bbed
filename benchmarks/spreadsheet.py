"""A daily balance of one store as many people keep it: a spreadsheet, computed by LibreOffice Calc.

Only where LibreOffice is installed (``soffice``). The file has one row a day: what comes, what is
wanted, and formulas for what is taken, what is held and what spills. It is opened, computed and
written as values, and the values are held to the kernel's.
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from benchmarks.harness import Effort, Table, race, ratio, weather
from roofspring.kernels.balance import run_store

FloatArray = npt.NDArray[np.float64]

ROWS_COUNT = 18_250
CAPACITY_M3, START_M3 = 6.0, 1.0
PRINTED_M3 = 1e-9
"""Values come back as text; more digits than this are not printed."""
NO_SPREADSHEET = "LibreOffice was not found (soffice), so the spreadsheet was left out."


def write_sheet(
    path: Path, inflow_m3: FloatArray, demand_m3: FloatArray, *, formulas: bool
) -> None:
    """The sheet: with formulas, or the same rows with numbers in their place."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("balance")
    sheet.append(["comes", "wanted", "taken", "held", "spilled"])
    sheet.append([0.0, 0.0, 0.0, START_M3, 0.0])
    for i, (came, wanted) in enumerate(zip(inflow_m3.tolist(), demand_m3.tolist(), strict=True)):
        row, above = i + 3, i + 2
        cells: list[float | str] = [1.0, 1.0, 1.0]
        if formulas:
            cells = [
                f"=MIN(B{row},D{above})",
                f"=MIN(D{above}+A{row},{CAPACITY_M3})-C{row}",
                f"=D{above}+A{row}-C{row}-D{row}",
            ]
        sheet.append([came, wanted, *cells])
    book.save(path)


def convert(soffice: str, path: Path, into: Path) -> float:
    """Open a sheet, compute it and write its values as CSV. Returns the seconds."""
    began = time.perf_counter()
    subprocess.run(
        [soffice, f"-env:UserInstallation=file://{into}/profile", "--headless", "--convert-to",
         "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false", "--outdir", str(into),
         str(path)],
        check=True,
        capture_output=True,
        timeout=600,
    )  # fmt: skip
    return time.perf_counter() - began


def measure(effort: Effort) -> Table:
    """Time the kernel and the spreadsheet, if there is one."""
    rows = ROWS_COUNT if not effort.quick else 500
    inflow, demand = (series[:rows] for series in weather(rows // 365 + 1))
    series = [np.empty_like(inflow) for _ in range(3)]
    kernel = partial(run_store, inflow, demand, CAPACITY_M3, START_M3, 0.0, *series)
    kernel_s = race({"kernel": kernel}, rounds=effort.rounds)["kernel"]
    title = f"Daily balance of one store in a spreadsheet, {rows:,} rows"
    columns = ("contestant", "time over kernel", "s")
    table = [("kernel", ratio(1.0), f"{kernel_s:.6f}")]
    soffice = shutil.which("soffice")
    if soffice is None:
        return Table(title, columns, tuple(table), (NO_SPREADSHEET,))
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for name, formulas in (("formulas", True), ("values", False)):
            write_sheet(place / f"{name}.xlsx", inflow, demand, formulas=formulas)
        convert(soffice, place / "values.xlsx", place)  # the first start makes a profile
        taken: dict[str, list[float]] = {"formulas": [], "values": []}
        for _ in range(3):
            for name, seconds in taken.items():
                seconds.append(convert(soffice, place / f"{name}.xlsx", place))
        got = np.loadtxt(place / "formulas.csv", delimiter=",", skiprows=2, quotechar='"')
    for ours, theirs in zip(series, got.T[2:], strict=True):
        worst = float(np.abs(ours - theirs).max())
        if not worst <= PRINTED_M3:
            raise AssertionError(f"the spreadsheet differs by {worst:g} m3")
    whole = statistics.median(taken["formulas"])
    bare = statistics.median(taken["values"])
    table.append(
        ("LibreOffice Calc: open, compute, write", ratio(whole / kernel_s), f"{whole:.2f}")
    )
    table.append(
        ("of that, more than for the same rows as numbers", ratio((whole - bare) / kernel_s),
         f"{whole - bare:.2f}")
    )  # fmt: skip
    return Table(title, columns, tuple(table), ("The values are the kernel's.",))

"""Writing a record to our own plain CSV, which reads back to the same values."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import numpy as np

from roofspring.files import write_text_atomic
from roofspring.rain.readers.plain_csv import HEAD
from roofspring.rain.record import Kept, RainRecord

VERSION = 1


def write_csv(record: RainRecord, path: Path | str) -> Path:
    """Write a record to a CSV file, whole or not at all.

    Parameters
    ----------
    record : RainRecord
    path : Path or str
        An existing file is replaced only once the new one is complete.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    OutputError (OUT-001)
        The file could not be written.

    Notes
    -----
    Depths are written in mm with all the digits they need, with a column that says how each value
    was come by, so that ``read_csv`` gives the same depths, marks and temperatures bit for bit.

    Source
    ------
    Form of the file: engineering choice.

    Examples
    --------
    >>> record = RainRecord(start=np.datetime64("2021-06-01"), step_s=86400.0, name="porch gauge",
    ...                     source="read by eye", depth_m=np.array([0.0127, 0.0]),
    ...                     kept=np.array([Kept.MEASURED, Kept.TRACE], dtype=np.uint8))
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     print(write_csv(record, Path(folder) / "porch.csv").read_text())
    # roofspring rain record, version 1
    # name: porch gauge
    # source: read by eye
    # fill_method: none
    date,precip_mm,kept
    2021-06-01,12.7,measured
    2021-06-02,0,trace
    <BLANKLINE>
    """
    path = Path(path)
    write_text_atomic(path, csv_lines(record))
    return path


def csv_lines(record: RainRecord) -> Iterator[str]:
    """The lines that `write_csv` writes, one by one."""
    yield f"{HEAD}, version {VERSION}\n"
    for key in ("name", "source", "fill_method"):
        value = " ".join(str(getattr(record, key)).split())
        if value:
            yield f"# {key}: {value}\n"
    daily = record.step_s == 86_400.0
    temps = [t for t in (record.tmin_degc, record.tmax_degc) if t is not None]
    both = len(temps) == 2
    yield (
        ("date" if daily else "time")
        + ",precip_mm,kept"
        + (",tmin_c,tmax_c" if both else "")
        + "\n"
    )
    unit = "D" if daily else "s"
    step = np.timedelta64(round(record.step_s), "s")
    start, n = record.start.astype("datetime64[s]"), record.steps_per_day_count
    for i, (depth, mark) in enumerate(
        zip(record.depth_m.tolist(), record.kept.tolist(), strict=True)
    ):
        when = (start + i * step).astype(f"datetime64[{unit}]")
        row = f"{when},{_mm(depth)},{Kept(mark).name.lower()}"
        if both:
            cells = (_plain(t[i // n]) if i % n == 0 else "" for t in temps)
            row += "," + ",".join(cells)
        yield row + "\n"


def _mm(depth_m: float) -> str:
    """Metres as mm, exactly: the decimal point is moved, nothing is rounded."""
    return "" if math.isnan(depth_m) else format(Decimal(repr(depth_m)).scaleb(3), "f")


def _plain(value: float) -> str:
    return "" if math.isnan(value) else repr(float(value))

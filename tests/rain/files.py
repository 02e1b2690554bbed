"""Small helpers to write records for the tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest

from roofspring.errors import Problem, RecordError
from roofspring.rain import Kept, RainRecord, load

DATA = Path(__file__).parent.parent / "data"
FORMATS = DATA / "formats"


def put(folder: Path, content: str | bytes, *, name: str = "rain.csv") -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def refused(path: Path, *, unit: str | None = None, station: str | None = None) -> list[Problem]:
    """The problems that a file is refused for, each a full answer to the reader."""
    with pytest.raises(RecordError) as caught:
        load(path, unit=unit, station=station)
    problems = list(caught.value.problems)
    assert all(p.what and p.next for p in problems)
    return problems


def told(path: Path, **options: Any) -> list[Problem]:
    """The problems that a file is refused for when it is read with these options."""
    with pytest.raises(RecordError) as caught:
        load(path, **options)
    assert all(p.what and p.next for p in caught.value.problems)
    return list(caught.value.problems)


def found(record: RainRecord) -> dict[str, str]:
    """What each finding of a record counted, by its code."""
    assert all(f.what and f.next and f.source for f in record.findings)
    return {f.code: f.got for f in record.findings}


def sheet(path: Path, rows: Sequence[Sequence[Any]], *, name: str = "rain") -> Path:
    """A spreadsheet with one sheet."""
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = name
    for row in rows:
        page.append(list(row))
    book.save(path)
    return path


def codes(problems: list[Problem]) -> list[tuple[str, int | None]]:
    return [(p.code, p.line) for p in problems]


def record(depth_m: list[float] | np.ndarray, *, start: str = "2001-01-01") -> RainRecord:
    depth = np.asarray(depth_m, dtype=np.float64)
    kept = np.where(np.isfinite(depth), Kept.MEASURED, Kept.MISSING).astype(np.uint8)
    return RainRecord(
        start=np.datetime64(start, "D"),
        step_s=86_400.0,
        depth_m=depth,
        kept=kept,
        name="test",
        source="test",
    )


def dly_line(
    cells: list[str], *, element: str = "PRCP", month: str = "191003", station: str = "USW00093986"
) -> str:
    """A fixed-column line from 31 cells of value and flags."""
    assert len(cells) == 31 and all(len(c) == 8 for c in cells)
    return f"{station}{month}{element}" + "".join(cells)

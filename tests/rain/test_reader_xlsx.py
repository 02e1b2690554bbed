"""Spreadsheets: the rules of plain CSV on a sheet."""

from __future__ import annotations

import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from rain.files import codes, found, put, sheet, told
from roofspring.rain import Kept, load
from roofspring.rain.readers import xlsx

ROWS: list[list[object]] = [
    ["date", "rain_mm"], [datetime(2020, 1, 1), 1.5], [date(2020, 1, 2), 0], ["2020-01-03", "T"],
    [None, None], [datetime(2020, 1, 5), 2],
]  # fmt: skip


def test_dates_of_the_spreadsheet_and_text(tmp_path: Path) -> None:
    record = load(sheet(tmp_path / "a.xlsx", ROWS))
    assert record.depth_m[[0, 1, 2, 4]].tolist() == [0.0015, 0.0, 0.0, 0.002]
    assert record.kept.tolist() == [
        Kept.MEASURED, Kept.MEASURED, Kept.TRACE, Kept.MISSING, Kept.MEASURED,
    ]  # fmt: skip
    assert "sheet rain" in record.source


def test_dates_counted_from_1904(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    page = book.active
    assert page is not None
    for row in ROWS:
        page.append(row)
    book.save(tmp_path / "mac.xlsx")
    assert str(load(tmp_path / "mac.xlsx").start) == "2020-01-01"


def test_times_are_rounded_to_the_second(tmp_path: Path) -> None:
    # A time of day is a fraction of a day: sums of it miss the second, here by a quarter.
    rows: list[list[object]] = [["time", "rain (in)"]]
    rows += [[43831 + i / 288 - 3e-6, 0.01] for i in range(576)]
    path = sheet(tmp_path / "five.xlsx", rows)
    book = openpyxl.load_workbook(path)
    for cell in book.active["A"][1:]:  # type: ignore[index]  # the sheet just written
        cell.number_format = "yyyy-mm-dd hh:mm"
    book.save(path)
    record = load(path)
    assert record.step_s == 300.0 and record.days_count == 2
    assert str(record.start) == "2020-01-01T00:00:00"
    np.testing.assert_allclose(record.depth_m, 0.000254, rtol=1e-12)


def test_date_and_time_of_day_in_two_columns(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Date", "Time", "rain_mm"]]
    rows += [[datetime(2020, 1, 1), time(h), h] for h in range(1, 24)]
    rows += [[datetime(2020, 1, 1), timedelta(hours=24), 24]]
    record = load(sheet(tmp_path / "a.xlsx", rows), stamp="end")
    assert record.depth_m.tolist() == [h / 1e3 for h in range(1, 25)]


def test_tips(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["time"],
        [datetime(2020, 1, 1, 6, 0, 2)],
        [datetime(2020, 1, 1, 6, 1)],
    ]
    record = load(sheet(tmp_path / "a.xlsx", rows), tip="0.2 mm")
    assert record.depth_m[72] == pytest.approx(0.0004) and found(record) == {"REC-138": "2 tips"}


def test_a_named_sheet(tmp_path: Path) -> None:
    path = sheet(tmp_path / "a.xlsx", [["notes"], ["none"]], name="notes")
    book = openpyxl.load_workbook(path)
    page = book.create_sheet("gauge")
    for row in ROWS:
        page.append(row)
    book.save(path)
    assert load(path, sheet="gauge").days_count == 5
    (problem,) = told(path, sheet="other")
    assert problem.code == "REC-035" and problem.allowed == "notes, gauge"
    assert {p.code for p in told(path)} == {"REC-005"}


def test_a_formula_saved_without_its_value(tmp_path: Path) -> None:
    # openpyxl writes formulas and never their values, as other programs do.
    rows = [*ROWS, [datetime(2020, 1, 6), "=B2+1"], [datetime(2020, 1, 7), "=B3"]]
    problems = told(sheet(tmp_path / "a.xlsx", rows))
    assert codes(problems) == [("REC-035", 7), ("REC-035", 8)]
    assert problems[0].got == "=B2+1" and problems[0].where == "column 2"


@pytest.mark.parametrize(
    ("cell", "code"),
    [("1,5", "REC-010"), ("#N/A", "REC-010"), (True, "REC-010"), (-1, "REC-011"), (1e9, "REC-011")],
)
def test_cells_that_are_no_depth(tmp_path: Path, cell: object, code: str) -> None:
    rows: list[list[object]] = [*ROWS, [datetime(2020, 1, 6), cell]]
    assert codes(told(sheet(tmp_path / "a.xlsx", rows))) == [(code, 7)]


def test_rows_twice_and_days_that_are_none(tmp_path: Path) -> None:
    assert "REC-111" in found(load(sheet(tmp_path / "a.xlsx", [*ROWS, *ROWS[1:]])))
    problems = told(
        sheet(tmp_path / "b.xlsx", [*ROWS, ["2020-13-01", 1], ["2019-02-29", 1], [5, 1]])
    )
    assert codes(problems) == [("REC-009", 7), ("REC-009", 8), ("REC-009", 9)]
    problems = told(sheet(tmp_path / "c.xlsx", [*ROWS, [datetime(2020, 1, 5), 3]]))
    assert codes(problems) == [("REC-012", 7)]


def test_broken_packages(tmp_path: Path) -> None:
    whole = sheet(tmp_path / "a.xlsx", ROWS).read_bytes()
    for end in range(4, len(whole), 97):
        problems = told(put(tmp_path, whole[:end], name="cut.xlsx"))
        assert [p.code for p in problems] == ["REC-035"]
    for at in range(4, len(whole) - 40, 131):
        try:
            load(put(tmp_path, whole[:at] + b"\xff" * 30 + whole[at + 30 :], name="bad.xlsx"))
        except Exception as error:
            assert type(error).__name__ == "RecordError"
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as packed:
        packed.writestr("readme.txt", "no sheet")
    assert [p.code for p in told(tmp_path / "other.zip")] == ["REC-035"]


def test_a_small_file_that_unpacks_to_a_huge_one(tmp_path: Path) -> None:
    path = sheet(tmp_path / "a.xlsx", ROWS)
    with (
        zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as packed,
        packed.open("xl/more.xml", "w", force_zip64=True) as out,
    ):
        for _ in range(xlsx.MAX_UNPACKED_BYTES // 2**20 + 1):
            out.write(bytes(2**20))
    assert path.stat().st_size < 2_000_000
    assert [p.code for p in told(path)] == ["REC-002"]


def test_an_empty_sheet_and_too_few_rows(tmp_path: Path) -> None:
    assert [p.code for p in told(sheet(tmp_path / "a.xlsx", []))] == ["REC-014"]
    assert [p.code for p in told(sheet(tmp_path / "b.xlsx", ROWS[:1]))] == ["REC-014"]

"""Daily summaries and GSOD of NCEI: told units, attributes, missing values."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rain.files import codes, found, put, told
from roofspring.rain import Kept, load

HEAD = "STATION,DATE,PRCP,PRCP_ATTRIBUTES,MDPR,MDPR_ATTRIBUTES,DAPR,DAPR_ATTRIBUTES\n"


def test_attributes_mean_what_they_mean_in_the_other_forms(tmp_path: Path) -> None:
    # MENNE_2012, section III: P presumed zero, T trace, quality flag failed, totals over days.
    rows = (
        'A,2020-01-01,10,",,0",,,,\nA,2020-01-02,0,"P,,0",,,,\nA,2020-01-03,0,"T,,0,0700",,,,\n'
        'A,2020-01-04,900,",X,0",,,,\nA,2020-01-07,,,90,",,0",3,",,0"\n'
    )
    record = load(put(tmp_path, HEAD + rows), unit="0.1 mm")
    np.testing.assert_allclose(
        record.depth_m * 1e3, [1.0, 0.0, 0.0, np.nan, 3.0, 3.0, 3.0], atol=1e-12
    )
    assert record.kept.tolist() == [
        Kept.MEASURED, Kept.MEASURED, Kept.TRACE, Kept.FAILED, *[Kept.SPREAD] * 3,
    ]  # fmt: skip
    assert found(record)["REC-109"] == "1 day"


@pytest.mark.parametrize(
    ("unit", "cell", "tmax", "depth_mm", "degc"),
    [
        ("0.1 mm", "254", "-50", 25.4, -5.0),
        ("mm", "25.4", "-5.0", 25.4, -5.0),
        ("in", "1.00", "23", 25.4, -5.0),
        ("in", "0.01", "212", 0.254, None),
    ],
)
def test_units(
    tmp_path: Path, unit: str, cell: str, tmax: str, depth_mm: float, degc: float | None
) -> None:
    path = put(tmp_path, f"STATION,DATE,PRCP,PRCP_ATTRIBUTES,TMAX\nA,2020-01-01,{cell},,{tmax}\n")
    record = load(path, unit=unit)
    assert record.depth_m[0] * 1e3 == pytest.approx(depth_mm, rel=1e-12)
    if degc is not None:
        assert record.tmax_degc is not None and record.tmax_degc[0] == pytest.approx(degc)
    assert "REC-144" in found(record)


def test_tenths_read_as_mm_are_noticed(tmp_path: Path) -> None:
    days = np.datetime64("2020-01-01") + np.arange(60)
    rows = "".join(f'A,{d},{i % 3 * 10},",,0",,,,\n' for i, d in enumerate(days))
    path = put(tmp_path, HEAD + rows)
    assert "REC-137" in found(load(path, unit="mm"))
    assert "REC-137" not in found(load(path, unit="0.1 mm"))
    assert "REC-137" not in found(
        load(put(tmp_path, HEAD + rows.replace(",10,", ",10.2,")), unit="mm")
    )


def test_whole_numbers_only_in_tenths(tmp_path: Path) -> None:
    path = put(tmp_path, HEAD + 'A,2020-01-01,2.5,",,0",,,,\n')
    assert codes(told(path, unit="0.1 mm")) == [("REC-010", 2)]


def test_a_file_without_attributes(tmp_path: Path) -> None:
    path = put(
        tmp_path, "STATION,DATE,PRCP\nA,2020-01-01,1.5\nA,2020-01-02,-9999\nA,2020-01-03,2\n"
    )
    record = load(path, unit="mm")
    assert "REC-136" in found(record) and np.isnan(record.depth_m[1])


def test_several_stations_and_columns_that_lack(tmp_path: Path) -> None:
    path = put(tmp_path, HEAD + 'A,2020-01-01,1,",,0",,,,\nB,2020-01-01,2,",,0",,,,\n')
    assert [p.code for p in told(path, unit="mm")] == ["REC-015"]
    assert load(path, unit="mm", station="B").depth_m.tolist() == [0.002]
    bad = put(tmp_path, "STATION,DATE,PRCP,PRCP\nA,2020-01-01,1,2\n", name="b.csv")
    assert [p.code for p in told(bad, unit="mm")] == ["REC-005"]
    none = put(tmp_path, "STATION,DATE,TMAX\nA,2020-01-01,1\n", name="c.csv")
    assert [p.code for p in told(none, form="ncei-csv", unit="mm")] == ["REC-005"]


def test_negative_and_impossible_depths(tmp_path: Path) -> None:
    path = put(tmp_path, HEAD + 'A,2020-01-01,-1,",,0",,,,\nA,2020-01-02,99,",,0",,,,\n')
    assert codes(told(path, unit="in")) == [("REC-011", 2), ("REC-011", 3)]


GSOD = "STATION,DATE,MAX,MIN,PRCP,PRCP_ATTRIBUTES,FRSHTT\n"


def test_gsod_missing_values_and_letters(tmp_path: Path) -> None:
    # NCEI_GSOD_DOC: 99.99 missing; I is nothing reported; A, B, C, E, H cover part of the day.
    rows = [
        ("99.99", ""),
        ("0.00", "I"),
        ("0.00", "H"),
        ("1.00", "A"),
        ("2.00", "D"),
        ("0.00", "G"),
    ]
    text = "".join(f"9,2020-01-0{i + 1},9999.9,32.0,{p},{a},0\n" for i, (p, a) in enumerate(rows))
    record = load(put(tmp_path, GSOD + text))
    np.testing.assert_allclose(
        record.depth_m * 1e3, [np.nan, np.nan, 0.0, 25.4, 50.8, 0.0], atol=1e-12
    )
    assert record.kept.tolist() == [
        Kept.MISSING, Kept.MISSING, Kept.TRACE, Kept.MEASURED, Kept.MEASURED, Kept.MEASURED,
    ]  # fmt: skip
    assert found(record)["REC-133"] == "1 day" and found(record)["REC-134"] == "2 days"
    assert record.tmin_degc is not None and record.tmin_degc[0] == 0.0
    assert record.tmax_degc is not None and np.isnan(record.tmax_degc).all()


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("9,2020-01-01,50,40,0.10,Z,0", "REC-010"),
        ("9,2020-01-01,50,40,,G,0", "REC-010"),
        ("9,2020-01-01,50,40,-0.10,G,0", "REC-011"),
        ("9,2020-01-01,50,40,72.0,G,0", "REC-011"),
        ("9,2020-01-01,500,40,0.10,G,0", "REC-021"),
        ("9,2020-02-30,50,40,0.10,G,0", "REC-009"),
        ("9,2020-01-01,50,40,0.10,G", "REC-008"),
    ],
)
def test_gsod_rows_that_cannot_be(tmp_path: Path, row: str, code: str) -> None:
    assert codes(told(put(tmp_path, f"{GSOD}9,2020-01-05,50,40,0.10,G,0\n{row}\n"))) == [(code, 3)]

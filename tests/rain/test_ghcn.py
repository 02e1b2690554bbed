"""Flags, totals over several days, and broken lines of GHCN-Daily."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rain.files import codes, dly_line, put, refused
from roofspring.rain import Kept, assess, load, read

DRY = "    0   "
GONE = "-9999   "


def month(changes: dict[int, str], *, base: str = DRY, **where: str) -> str:
    return dly_line([changes.get(day, base) for day in range(1, 32)], **where)


def test_total_over_several_days_keeps_its_volume(tmp_path: Path) -> None:
    # Days 2 to 5 were not read; 30.0 mm were found on day 5, over 4 days: 7.5 mm each.
    text = "\n".join(
        (
            month({2: GONE, 3: GONE, 4: GONE, 5: GONE}),
            month({5: "  300   "}, base=GONE, element="MDPR"),
            month({5: "    4   "}, base=GONE, element="DAPR"),
        )
    )
    record = load(put(tmp_path, text, name="a.dly"))
    assert record.depth_m[1:5].tolist() == [0.0075] * 4
    assert record.depth_m.sum() == pytest.approx(0.030, abs=1e-15)
    assert (np.flatnonzero(record.kept == Kept.SPREAD) + 1).tolist() == [2, 3, 4, 5]
    assert "REC-108" in {f.code for f in assess(record)}


def test_total_before_the_first_value_lengthens_the_record(tmp_path: Path) -> None:
    text = (
        "USC00000001,20100103,MDPR,90,,,,\nUSC00000001,20100103,DAPR,3,,,,\n"
        "USC00000001,20100104,PRCP,10,,,,\n"
    )
    record = load(put(tmp_path, text))
    assert str(record.start) == "2010-01-01"
    assert record.depth_m.tolist() == [0.003, 0.003, 0.003, 0.001]


def test_total_is_shared_only_over_days_without_a_value(tmp_path: Path) -> None:
    text = (
        "USC00000001,20100101,PRCP,20,,,,\nUSC00000001,20100103,MDPR,90,,,,\n"
        "USC00000001,20100103,DAPR,3,,,,\n"
    )
    assert load(put(tmp_path, text)).depth_m.tolist() == [0.002, 0.0045, 0.0045]


def test_total_over_an_unknown_span_goes_back_to_the_last_value(tmp_path: Path) -> None:
    text = "USC00000001,20100101,PRCP,20,,,,\nUSC00000001,20100104,MDPR,90,,,,\n"
    record = load(put(tmp_path, text))
    assert record.depth_m.tolist() == [0.002, 0.003, 0.003, 0.003]
    assert "REC-116" in {f.code for f in record.findings}


def test_total_whose_days_all_have_values_is_left_out_with_a_finding(tmp_path: Path) -> None:
    text = (
        "USC00000001,20100101,PRCP,20,,,,\nUSC00000001,20100102,PRCP,30,,,,\n"
        "USC00000001,20100102,MDPR,50,,,,\nUSC00000001,20100102,DAPR,2,,,,\n"
    )
    record = load(put(tmp_path, text))
    assert record.depth_m.sum() == pytest.approx(0.005, abs=1e-15)
    assert "REC-117" in {f.code for f in record.findings}


def test_flags(tmp_path: Path) -> None:
    # Day 3 failed (quality flag X), day 4 presumed zero (P), day 5 trace (T), day 6 missing.
    changes = {3: " 9000 X ", 4: "    0P  ", 5: "    0T  ", 6: GONE, 7: "   55   "}
    record = load(put(tmp_path, month(changes), name="a.dly"))
    assert record.kept[2:7].tolist() == [
        Kept.FAILED, Kept.MEASURED, Kept.TRACE, Kept.MISSING, Kept.MEASURED,
    ]  # fmt: skip
    assert np.isnan(record.depth_m[2]) and np.isnan(record.depth_m[5])
    assert "REC-109" in {f.code for f in record.findings}
    filled = read(put(tmp_path, month(changes), name="b.dly"))
    assert filled.kept[2] == Kept.FAILED and np.isfinite(filled.depth_m[2])
    assert {"REC-106", "REC-107"} <= {f.code for f in filled.findings}


def test_temperatures_in_tenths(tmp_path: Path) -> None:
    text = "\n".join(
        (
            month({}),
            month({1: "  -56   ", 2: "  999 X "}, base="   12   ", element="TMIN"),
            month({}, base="  100   ", element="TMAX"),
        )
    )
    record = load(put(tmp_path, text, name="a.dly"))
    assert record.tmin_degc is not None and record.tmax_degc is not None
    assert record.tmin_degc[0] == -5.6 and np.isnan(record.tmin_degc[1])
    assert record.tmax_degc[4] == 10.0


def test_days_past_the_end_of_the_month(tmp_path: Path) -> None:
    good = month({29: GONE, 30: GONE, 31: GONE}, month="201102")
    assert load(put(tmp_path, good, name="a.dly")).days_count == 28
    bad = month({30: GONE, 31: GONE}, month="201102")
    assert codes(refused(put(tmp_path, bad, name="b.dly"))) == [("REC-016", 1)]


def test_short_lines(tmp_path: Path) -> None:
    line = month({})
    cut = put(tmp_path, line.rstrip() + "\n", name="a.dly")
    assert len(line.rstrip()) == 266
    assert load(cut).days_count == 31
    # Lost values are no trailing blanks.
    broken = put(tmp_path, f"{line}\n{line[:200]}\n", name="b.dly")
    assert codes(refused(broken)) == [("REC-016", 2)]


def test_several_stations(tmp_path: Path) -> None:
    text = "\n".join((month({}), month({1: "   50   "}, station="USC00000002")))
    path = put(tmp_path, text, name="a.dly")
    (problem,) = refused(path)
    assert problem.code == "REC-015" and problem.got == "USW00093986, USC00000002"
    assert load(path, station="USC00000002").depth_m[0] == 0.005
    assert refused(path, station="USC00000009")[0].code == "REC-015"


def test_the_unit_of_ghcn_is_fixed(tmp_path: Path) -> None:
    assert refused(put(tmp_path, month({}), name="a.dly"), unit="mm")[0].code == "REC-007"


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("USC00000001,20110229,PRCP,5,,,,", "REC-009"),
        ("USC00000001,20111301,PRCP,5,,,,", "REC-009"),
        ("USC00000001,2011-1-1,PRCP,5,,,,", "REC-009"),
        ("USC00000001,20110103,PRCP,1.5,,,,", "REC-010"),
        ("USC00000001,20110103,PRCP,-5,,,,", "REC-011"),
        ("USC00000001,20110103,PRCP,18251,,,,", "REC-011"),
        ("USC00000001,20110101,PRCP,6,,,,", "REC-012"),
        ("USC00000001,20110103,DAPR,0,,,,", "REC-016"),
        ("USC00000001,20110103,PRCP", "REC-008"),
        ("usc00000001,20110103,PRCP,5,,,,", "REC-016"),
    ],
)
def test_broken_rows_of_the_csv_form(tmp_path: Path, row: str, code: str) -> None:
    path = put(tmp_path, f"USC00000001,20110101,PRCP,5,,,,\n{row}\n")
    assert codes(refused(path)) == [(code, 2)]


def test_repeated_lines_are_dropped(tmp_path: Path) -> None:
    record = load(put(tmp_path, f"{month({})}\n{month({})}\n", name="a.dly"))
    assert record.days_count == 31
    assert [f.got for f in record.findings if f.code == "REC-111"] == ["31 values"]


def test_a_file_of_failed_values_only(tmp_path: Path) -> None:
    path = put(tmp_path, "USC00000001,20110101,PRCP,5,,X,,\n")
    assert refused(path)[0].code == "REC-014"

"""Real records and a real line of the publisher, against numbers computed outside this program."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from rain.files import DATA, dly_line, put
from roofspring.rain import Kept, assess, describe, load, read

# Figures below: computed from the files with a spreadsheet-like script, not by this program.


def test_seattle_2012_2015() -> None:
    record = read(DATA / "seattle_daily_2012_2015.csv")
    summary = describe(record)
    assert record.days_count == 1461
    assert summary.mean_m_per_year == pytest.approx(1.1065, abs=5e-5)
    assert int(summary.wet_days_per_year) == 126
    assert summary.longest_dry_days == 81
    assert summary.longest_dry_last == "2012-10-11"
    assert record.fill_method == "none" and not record.invented
    assert record.tmin_degc is not None and record.tmin_degc[0] == 5.0
    # Four years: a caution, and no other trouble in a good record.
    assert [f.code for f in record.findings] == ["REC-105"]


def test_brussels_1976_2005() -> None:
    record = read(DATA / "brussels_daily_1976_2005.csv")
    summary = describe(record)
    assert summary.mean_m_per_year == pytest.approx(0.841, abs=5e-4)
    assert summary.longest_dry_days == 38
    assert record.findings == ()
    # Yearly sums by awk: 541.0 mm in 1976, the least of the thirty years.
    assert summary.driest_year == 1976 and summary.driest_year_m == pytest.approx(0.541, abs=5e-5)


def test_new_york_hours_add_up_to_days() -> None:
    record = load(DATA / "new_york_jfk_hourly_2013.csv")
    with (DATA / "new_york_jfk_hourly_2013.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert record.step_s == 3600.0
    assert np.nansum(record.depth_m) == pytest.approx(
        sum(float(r["precip_mm"]) for r in rows) / 1e3, rel=1e-12
    )
    assert int((record.kept == Kept.MEASURED).sum()) == len(rows)
    storm = sum(float(r["precip_mm"]) for r in rows if r["time_utc"].startswith("2013-06-07"))
    day = int(np.flatnonzero(record.days == np.datetime64("2013-06-07"))[0])
    assert record.daily_depth_m[day] * 1e3 == pytest.approx(storm, rel=1e-12)
    assert record.tmax_degc is not None
    assert record.tmax_degc[day] == max(
        float(r["temp_c"]) for r in rows if r["time_utc"].startswith("2013-06-07")
    )
    assert "REC-118" in {f.code for f in record.findings}


def test_new_york_gaps_are_filled_and_marked() -> None:
    record = read(DATA / "new_york_jfk_hourly_2013.csv", seed=4)
    # 364 days of 24 hours less the 8706 rows of the file.
    assert int((record.kept == Kept.FILLED).sum()) == 364 * 24 - 8706
    assert np.isfinite(record.depth_m).all()
    assert "REC-101" in {f.code for f in record.findings}


# A line of the publisher's file for USW00093986, March 1910, 269 characters (MENNE_2012).
MARCH_1910 = dly_line(
    ["    0  6"] * 15
    + ["  127  6", "    0  6", "    0T 6", "   13  6"]
    + ["    0  6"] * 10
    + ["    0T 6", "    0  6"]
)
MARCH_1910_CSV = "".join(
    f"USW00093986,191003{day:02d},PRCP,{tenths},{mflag},,6,\n"
    for day in range(1, 32)
    for tenths, mflag in [
        {16: (127, ""), 18: (0, "T"), 19: (13, ""), 30: (0, "T")}.get(day, (0, ""))
    ]
)


@pytest.mark.parametrize("end", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.dly", MARCH_1910 + "\n"),
        ("a.csv", MARCH_1910_CSV),
        ("b.csv", f"ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n{MARCH_1910_CSV}"),
    ],
    ids=["dly", "csv", "csv with heading"],
)
def test_ghcn_march_1910(tmp_path: Path, name: str, text: str, end: str) -> None:
    assert len(MARCH_1910) == 269
    record = load(put(tmp_path, text.replace("\n", end), name=name))
    assert record.name == "USW00093986"
    assert str(record.start) == "1910-03-01" and record.days_count == 31
    assert record.depth_m[15] == 0.0127 and record.depth_m[18] == 0.0013
    assert (np.flatnonzero(record.kept == Kept.TRACE) + 1).tolist() == [18, 30]
    assert record.depth_m.sum() == pytest.approx(0.0140, abs=1e-15)
    assert np.isfinite(record.depth_m).sum() == 31


def test_two_years_of_zeros_are_stopped(tmp_path: Path) -> None:
    """A published teaching data set wrote two years of missing rain as 0; this is such a file."""
    days = np.arange("2016-01-01", "2018-01-01", dtype="datetime64[D]")
    record = read(put(tmp_path, "date,precip_mm\n" + "".join(f"{d},0.0\n" for d in days)))
    stops = [f for f in record.findings if f.severity == "stop"]
    assert [f.code for f in stops] == ["REC-103"]
    assert stops[0].where == "2016, 2017"


def test_a_stuck_gauge_in_a_wet_season_is_noticed() -> None:
    record = load(DATA / "brussels_daily_1976_2005.csv")
    depth = record.depth_m.copy()
    depth[5000:5070] = 0.0
    stuck = replace(record, depth_m=depth)
    assert "REC-104" not in {f.code for f in assess(record)}
    assert "REC-104" in {f.code for f in assess(stuck)}

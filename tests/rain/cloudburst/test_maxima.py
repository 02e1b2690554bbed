"""Yearly maxima and peaks, against plain counts of real records."""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rain.files import DATA
from rain.within_day.records import days_of, new_york, record_of
from roofspring.errors import RangeError, RecordError
from roofspring.rain import Kept, read
from roofspring.rain.cloudburst import annual_maxima, clock_to_true, peaks_over
from roofspring.rain.within_day import disaggregate

DAY_S = 86_400.0


def test_brussels_days_against_the_file() -> None:
    best: dict[int, float] = defaultdict(float)
    with (DATA / "brussels_daily_1976_2005.csv").open(newline="") as stream:
        for row in csv.DictReader(stream):
            year = int(row["date"][:4])
            best[year] = max(best[year], float(row["precip_mm"]))
    found = annual_maxima(
        read(DATA / "brussels_daily_1976_2005.csv"), duration_s=DAY_S, clock="as recorded"
    )
    assert found.years.tolist() == sorted(best)
    assert found.depth_m * 1e3 == pytest.approx([best[y] for y in sorted(best)], rel=1e-12)
    assert found.left_out == () and found.clock_factor == 1.0 and found.findings == ()


def test_new_york_hours_against_a_plain_loop() -> None:
    record = new_york()
    hours = np.where(record.kept == Kept.MEASURED, record.depth_m, np.nan).tolist()
    best = max(s for i in range(len(hours) - 2) if (s := sum(hours[i : i + 3])) == s)
    found = annual_maxima(record, duration_s=3 * 3600.0, clock="as recorded")
    assert found.depth_m.tolist() == pytest.approx([best], rel=1e-12)
    true = annual_maxima(record, duration_s=3 * 3600.0)
    assert true.depth_m[0] == pytest.approx(1.03 * best, rel=1e-12)
    assert [f.code for f in true.findings] == ["REC-173"]


def test_clock_factors() -> None:
    # HERSHFIELD_1961 and WEISS_1964, from memory: 1.13, 1.04, 1.02 for 1, 2 and 4 intervals.
    assert [clock_to_true(n) for n in (1, 2, 4, 9)] == [1.13, 1.04, 1.02, 1.02]
    with pytest.raises(RangeError, match="REC-085"):
        clock_to_true(0)


def test_clock_factor_of_one_interval_against_uniform_rain() -> None:
    # WEISS_1964 gives 8/7 = 1.143 for storms at random in their interval; the factor in use is
    # from records. Any storm shape lies between a point (1.0) and steady rain (4/3).
    assert clock_to_true(1) == pytest.approx(8 / 7, abs=0.015)


def test_water_years_end_in_their_year() -> None:
    rain = np.zeros(731)
    rain[300] = 0.05  # 28 October 2001
    record = record_of(rain)
    found = annual_maxima(record, duration_s=DAY_S, first_month=10, clock="as recorded")
    assert found.years.tolist() == [2002]
    assert found.depth_m.tolist() == [0.05]
    assert found.left_out == (2001, 2003)
    assert [f.code for f in found.findings] == ["REC-172"]


def test_a_storm_in_a_gap_is_not_counted_and_the_year_is_left_out() -> None:
    rain = np.full(730, 0.001)
    rain[100], rain[500] = 0.09, 0.03
    record = record_of(rain)
    kept = record.kept.copy()
    kept[90:140] = Kept.FILLED
    found = annual_maxima(replace(record, kept=kept), duration_s=DAY_S, clock="as recorded")
    assert found.years.tolist() == [2002] and found.left_out == (2001,)
    loose = annual_maxima(
        replace(record, kept=kept), duration_s=DAY_S, clock="as recorded", min_complete_frac=0.8
    )
    assert loose.depth_m.tolist() == [0.001, 0.03]
    # A window that touches the gap is left out too.
    two = annual_maxima(
        replace(record, kept=kept),
        duration_s=2 * DAY_S,
        clock="as recorded",
        min_complete_frac=0.8,
    )
    assert two.depth_m == pytest.approx([0.002, 0.031])


@given(days=st.lists(st.floats(0.0, 0.5), min_size=365, max_size=365), data=st.data())
def test_longer_is_deeper_and_nested(days: list[float], data: st.DataObject) -> None:
    record = record_of(days)
    short = data.draw(st.integers(1, 30))
    long = data.draw(st.integers(short, 60))
    at = [
        annual_maxima(record, duration_s=n * DAY_S, clock="as recorded").depth_m[0]
        for n in (short, long)
    ]
    assert at[0] <= at[1] * (1 + 1e-9) + 1e-12
    assert at[1] <= at[0] * np.ceil(long / short) * (1 + 1e-9) + 1e-12


def test_peaks_are_apart_and_hold_the_maxima() -> None:
    record = read(DATA / "brussels_daily_1976_2005.csv")
    peaks = peaks_over(record, duration_s=DAY_S, threshold_m=0.015, least_gap_s=3 * DAY_S)
    assert (np.diff(peaks.time) >= np.timedelta64(3, "D")).all()
    assert peaks.years == pytest.approx(30.0, abs=0.01)
    assert (peaks.depth_m > 0.015).all()
    yearly = annual_maxima(record, duration_s=DAY_S).depth_m
    assert set(yearly[yearly > 0.015].tolist()) <= set(peaks.depth_m.tolist())
    # Counted in a plain loop: days over the threshold that are the greatest of five around them.
    rain = record.depth_m.tolist()
    plain = [
        x * 1.13
        for i, x in enumerate(rain)
        if x * 1.13 > 0.015 and x == max(rain[max(0, i - 2) : i + 3])
    ]
    assert len(peaks.depth_m) == pytest.approx(len(plain), rel=0.05)


def test_rain_spread_or_invented_is_marked() -> None:
    days = days_of(new_york())
    fine = disaggregate(days, seed=1)
    found = annual_maxima(fine, duration_s=300.0)
    assert "REC-177" in [f.code for f in found.findings]
    made = replace(days, kept=np.full(days.days_count, Kept.INVENTED, dtype=np.uint8))
    assert "REC-177" in [f.code for f in annual_maxima(made, duration_s=DAY_S).findings]


def test_refusals() -> None:
    record = record_of(np.zeros(365))
    for duration_s in (3600.0, 1.5 * DAY_S, 400 * DAY_S):
        with pytest.raises(RangeError, match="REC-085"):
            annual_maxima(record, duration_s=duration_s)
    with pytest.raises(RangeError, match="REC-085"):
        annual_maxima(record, duration_s=DAY_S, first_month=13)
    with pytest.raises(RangeError, match="REC-085"):
        peaks_over(record, duration_s=DAY_S, threshold_m=-0.001)
    with pytest.raises(RecordError, match="REC-092"):
        annual_maxima(record_of(np.zeros(200)), duration_s=DAY_S)

"""Filling: what was measured stays as it was, and what was not is marked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import DATA, record
from roofspring.errors import RecordError
from roofspring.rain import FILL_METHODS, Kept, assess, fill_gaps, load


def test_zero_is_not_offered() -> None:
    neighbours = {"normal-ratio", "inverse-distance", "quantile-map"}
    assert set(FILL_METHODS) == {"none", "same-season"} | neighbours


def test_none_refuses_gaps_and_passes_whole_records() -> None:
    whole = record([0.001, 0.0, 0.002])
    assert fill_gaps(whole, method="none") is whole
    with pytest.raises(RecordError, match="REC-017"):
        fill_gaps(record([0.001, np.nan, 0.002]), method="none")


def test_most_of_the_record_missing_is_refused() -> None:
    with pytest.raises(RecordError, match="REC-018"):
        fill_gaps(record([0.001, np.nan, np.nan]))


def test_a_season_never_measured_is_refused() -> None:
    # 300 days measured, then 100 missing: their middle lies more than 15 days from any measured day
    # of the year.
    depth = np.full(700, 0.001)
    depth[300:365] = depth[665:700] = np.nan
    with pytest.raises(RecordError, match="within 15 days"):
        fill_gaps(record(depth))


@settings(max_examples=25, deadline=None)
@given(
    data=st.data(),
    seed=st.integers(0, 2**31),
    cuts=st.lists(st.tuples(st.integers(0, 1400), st.integers(1, 60)), min_size=1, max_size=6),
)
def test_measured_values_stay_bit_for_bit(
    data: st.DataObject, seed: int, cuts: list[tuple[int, int]]
) -> None:
    rng = np.random.default_rng(data.draw(st.integers(0, 1000)))
    depth = np.where(rng.random(1461) < 0.3, rng.gamma(0.75, 0.01, 1461), 0.0)
    holed = depth.copy()
    for at, length in cuts:
        holed[at : at + length] = np.nan
    gaps = np.isnan(holed)
    filled = fill_gaps(record(holed), seed=seed)
    assert filled.depth_m[~gaps].tobytes() == depth[~gaps].tobytes()
    assert np.isfinite(filled.depth_m).all()
    assert np.array_equal(filled.kept == Kept.FILLED, gaps)
    assert filled.fill_method.startswith("same-season: ")
    assert filled.hash == fill_gaps(record(holed), seed=seed).hash
    # Nothing is made up: every filled value is one that was measured.
    assert np.isin(filled.depth_m[gaps], depth[~gaps]).all()


def test_filled_days_come_from_the_same_season() -> None:
    # Rain is the day of the year in mm, so that a filled value says where it came from.
    days = np.arange("2001-01-01", "2011-01-01", dtype="datetime64[D]")
    of_year = (days - days.astype("datetime64[Y]")).astype(float)
    depth = of_year / 1e3
    gaps = np.zeros(len(days), dtype=bool)
    gaps[1000:1020] = gaps[2000:2045] = gaps[10:12] = True
    filled = fill_gaps(record(np.where(gaps, np.nan, depth)), seed=3)
    apart = np.abs(filled.depth_m[gaps] * 1e3 - of_year[gaps])
    # 15 days of window, and a day for leap years.
    assert np.minimum(apart, 365 - apart).max() <= 16.0 + 1e-9
    # Whole runs are taken, so consecutive days stay consecutive.
    assert np.diff(filled.depth_m[1000:1020] * 1e3) == pytest.approx(np.ones(19))


def test_filled_brussels_keeps_its_mean_within_sampling_error() -> None:
    whole = load(DATA / "brussels_daily_1976_2005.csv")
    rng = np.random.default_rng(11)
    depth = whole.depth_m.copy()
    starts = rng.choice(365, 100, replace=False) * 30
    for at in starts:
        depth[at : at + 5] = np.nan
    gaps = np.isnan(depth)
    kept = np.where(gaps, Kept.MISSING, whole.kept).astype(np.uint8)
    means = [
        fill_gaps(replace(whole, depth_m=depth, kept=kept), seed=s).depth_m[gaps].mean()
        for s in range(40)
    ]
    # Expected value of a draw is the mean of the season; spread of 500 days of rain, lag ignored.
    error = whole.depth_m.std() / np.sqrt(500)
    assert abs(np.mean(means) - whole.depth_m.mean()) < 3.0 * error


def test_gap_findings() -> None:
    depth = np.full(3653, 0.002)
    depth[::7] = 0.0
    depth[100:130] = np.nan
    few = {f.code: f for f in assess(fill_gaps(record(depth)))}
    assert few["REC-101"].severity == "note" and few["REC-101"].got == "1 gap of 30 days"
    assert few["REC-101"].what == "the record has a gap" and "longest" not in few["REC-101"].where
    assert few["REC-114"].where == "2001-04, 2001-05"
    assert "REC-102" not in few
    depth[1000:1900] = np.nan
    many = {f.code: f for f in assess(fill_gaps(record(depth)))}
    assert many["REC-102"].severity == "stop"
    assert many["REC-101"].got == "2 gaps on 930 days, longest 900 days"


def test_temperatures_by_a_line_then_by_season() -> None:
    days = 1461
    season = 10.0 - 10.0 * np.cos(2.0 * np.pi * np.arange(days) / 365.25)
    tmin, tmax = season.copy(), season + 8.0
    tmin[50:53] = np.nan
    tmin[500:560] = np.nan
    whole = record(np.zeros(days) + 0.001)
    filled = fill_gaps(replace(whole, tmin_degc=tmin, tmax_degc=tmax))
    assert filled.tmin_degc is not None
    assert filled.tmin_degc[50:53] == pytest.approx(
        np.interp([50, 51, 52], [49, 53], season[[49, 53]])
    )
    # The mean of a window of 31 days of a sine lies a little under its peak and above its trough.
    assert filled.tmin_degc[500:560] == pytest.approx(season[500:560], abs=0.3)
    assert "REC-112" in {f.code for f in filled.findings}
    tmin[100:1000] = np.nan
    assert fill_gaps(replace(whole, tmin_degc=tmin, tmax_degc=tmax)).tmin_degc is None


def test_stuck_gauges_and_part_years() -> None:
    depth = np.tile([0.004, 0.0, 0.001], 130)
    depth[60:66] = 0.003
    found = {f.code: f for f in assess(record(depth))}
    assert found["REC-113"].where == "from 2001-03-02"
    assert found["REC-120"].severity == "caution"


def test_exchanged_temperatures_are_noticed() -> None:
    whole = replace(record([0.001] * 10), tmin_degc=np.arange(10.0), tmax_degc=np.full(10, 7.0))
    found = {f.code: f for f in assess(whole)}
    assert found["REC-121"].got == "2 days" and found["REC-121"].where == "first on 2001-01-09"

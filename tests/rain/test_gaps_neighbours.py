"""Filling from neighbours: published check values, real gauges, and what must not change."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import DATA, record
from roofspring.errors import RangeError, RecordError
from roofspring.rain import FILL_METHODS, Kept, RainRecord, assess, fill_gaps, load
from roofspring.rain.gaps import Neighbour, inverse_distance_m, normal_ratio_m, share_totals
from roofspring.rain.gaps.neighbour import on_steps_of

FROM_NEIGHBOURS = ["normal-ratio", "inverse-distance", "quantile-map"]


def gappy(gauge: RainRecord, gaps: np.ndarray) -> RainRecord:
    kept = np.where(gaps, Kept.MISSING, gauge.kept).astype(np.uint8)
    return replace(gauge, depth_m=np.where(gaps, np.nan, gauge.depth_m), kept=kept)


def some_gaps(length: int, *, seed: int = 3) -> np.ndarray:
    gaps = np.zeros(length, dtype=bool)
    for a in np.random.default_rng(seed).integers(0, length - 20, 40):
        gaps[a : a + 15] = True
    return gaps


def test_normal_ratio_of_the_textbook() -> None:
    # SUBRAMANYA_EH, worked example recalled and recomputed: normals of A, B, C 80.97, 67.59,
    # 76.28 cm and of D 92.01; in the year 91.11, 72.23, 79.89 cm at A, B, C; D is 99.41 cm.
    d_m = normal_ratio_m(
        [0.9111, 0.7223, 0.7989], normals_m=[0.8097, 0.6759, 0.7628], normal_m=0.9201
    )
    assert d_m * 100.0 == pytest.approx(99.41, abs=0.01)


def test_normal_ratio_leaves_out_a_missing_neighbour() -> None:
    # By hand: (0.9201 / 2) (0.9111 / 0.8097 + 0.7989 / 0.7628) m.
    d_m = normal_ratio_m(
        [0.9111, np.nan, 0.7989], normals_m=[0.8097, 0.6759, 0.7628], normal_m=0.9201
    )
    assert d_m == pytest.approx(0.9201 / 2 * (0.9111 / 0.8097 + 0.7989 / 0.7628), rel=1e-12)
    assert np.isnan(normal_ratio_m([np.nan], normals_m=[1.0], normal_m=1.0))


def test_inverse_distance_by_hand() -> None:
    # Weights 1, 1/4, 1/9 (squares of 1, 2, 3 km): (4 + 8/4 + 18/9) / (49/36) = 288/49 mm.
    assert inverse_distance_m([0.004, 0.008, 0.018], distances_m=[1e3, 2e3, 3e3]) == pytest.approx(
        288e-3 / 49.0, rel=1e-12
    )
    assert inverse_distance_m([0.004, np.nan], distances_m=[1e3, 2e3]) == 0.004
    assert inverse_distance_m([0.002, 0.006], distances_m=[1e3, 9e3], power=0.0) == 0.004


@pytest.mark.parametrize(("normals", "own"), [([0.0], 1.0), ([1.0, 1.0], 1.0), ([1.0], -1.0)])
def test_normals_have_limits(normals: list[float], own: float) -> None:
    with pytest.raises(RangeError, match="REC-028"):
        normal_ratio_m([0.001], normals_m=normals, normal_m=own)


def test_distances_have_limits() -> None:
    with pytest.raises(RangeError, match="REC-028"):
        inverse_distance_m([0.001], distances_m=[0.0])


def two_new_yorks() -> tuple[RainRecord, Neighbour]:
    """A daily record of New York, and the hours of its airport added up to days of standard time.

    Two real files from two publishers (see the table of the test data).
    """
    daily = load(DATA / "new_york_daily_2012_2015.csv")
    with (DATA / "new_york_jfk_hourly_2013.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    depth = np.zeros(365)
    hours = np.zeros(365, dtype=int)
    for row in rows:
        local = np.datetime64(row["time_utc"].rstrip("Z")) - np.timedelta64(5, "h")
        day = int((local.astype("datetime64[D]") - np.datetime64("2013-01-01")).astype(int))
        depth[day] += float(row["precip_mm"]) / 1e3
        hours[day] += 1
    near = record(np.where(hours >= 23, depth, np.nan), start="2013-01-01")
    return daily, Neighbour(near, distance_m=5_000.0)


def test_real_neighbours_agree_on_which_days_were_wet() -> None:
    daily, near = two_new_yorks()
    there = on_steps_of(daily, near)
    both = np.isfinite(there)
    assert np.isnan(there[:366]).all() and both.sum() >= 340
    # Off by a day either way, two gauges of one city would hardly agree.
    agree = np.corrcoef(daily.depth_m[both], there[both])[0, 1]
    for days in (-1, 1):
        assert np.corrcoef(np.roll(daily.depth_m, days)[both], there[both])[0, 1] < 0.5 < agree


@pytest.mark.parametrize("method", FROM_NEIGHBOURS)
def test_a_real_neighbour_fills_better_than_another_year(
    method: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    daily, near = two_new_yorks()
    monkeypatch.setattr("roofspring.rain.gaps.neighbour.LEAST_SHARED_DAYS", 200)
    there = on_steps_of(daily, near)
    gaps = np.isfinite(there) & (np.arange(daily.days_count) % 7 < 2)
    holed = gappy(daily, gaps)

    def error_m(how: str) -> float:
        filled = fill_gaps(holed, method=how, seed=1, neighbours=[near])
        return float(np.abs(filled.depth_m[gaps] - daily.depth_m[gaps]).mean())

    assert error_m(method) < 0.6 * error_m("same-season")


def test_two_real_gauges_of_one_city_raise_no_alarm_about_each_other() -> None:
    daily, near = two_new_yorks()
    assert {f.code for f in assess(daily, neighbours=[near])} == {"REC-105"}


@pytest.mark.parametrize("method", FROM_NEIGHBOURS)
def test_measured_values_stay_bit_for_bit(method: str) -> None:
    gauge = load(DATA / "brussels_daily_1976_2005.csv")
    gaps = some_gaps(gauge.days_count)
    near = [Neighbour(load(DATA / "de_bilt_daily_1980_1984.csv"), distance_m=140_000.0)]
    filled = fill_gaps(gappy(gauge, gaps), method=method, seed=1, neighbours=near)
    assert filled.depth_m[~gaps].tobytes() == gauge.depth_m[~gaps].tobytes()
    assert np.isfinite(filled.depth_m).all() and (filled.depth_m >= 0.0).all()
    assert (filled.kept == Kept.FILLED).tolist() == gaps.tolist()
    again = fill_gaps(gappy(gauge, gaps), method=method, seed=1, neighbours=near)
    assert again.hash == filled.hash
    # De Bilt was measured in five of the thirty years: the share filled otherwise is stated.
    alone = int(
        (
            gaps & ((gauge.days < near[0].record.days[0]) | (gauge.days > near[0].record.days[-1]))
        ).sum()
    )
    assert filled.fill_method == (
        f"{method}: {int(gaps.sum())} of 10958 steps from 1 neighbour, but {alone} by same-season: "
        "no neighbour was measured then, seed 1"
    )


@pytest.mark.parametrize("method", FROM_NEIGHBOURS)
def test_a_twin_gives_back_what_was_lost(method: str) -> None:
    gauge = load(DATA / "brussels_daily_1976_2005.csv")
    gaps = some_gaps(gauge.days_count)
    filled = fill_gaps(
        gappy(gauge, gaps), method=method, neighbours=[Neighbour(gauge, distance_m=1.0)]
    )
    # Quantile mapping scales or steps where the greatest or rarest depths were lost themselves.
    close = np.isclose(filled.depth_m, gauge.depth_m, rtol=0.02, atol=2e-4)
    assert close.mean() > 0.999


def test_quantile_map_keeps_the_wet_days_that_a_mean_of_neighbours_loses() -> None:
    gauge = load(DATA / "brussels_daily_1976_2005.csv")
    rng = np.random.default_rng(8)
    near = []
    for k in range(3):
        other = rng.random(gauge.days_count) < 0.15
        depth = np.where(other, np.roll(gauge.depth_m, 3 + k), gauge.depth_m) * 1.3
        near.append(Neighbour(replace(gauge, depth_m=depth), distance_m=1e3 * (k + 1)))
    gaps = np.arange(gauge.days_count) % 3 == 0

    def wet_frac(how: str) -> float:
        filled = fill_gaps(gappy(gauge, gaps), method=how, neighbours=near, seed=2)
        return float((filled.depth_m[gaps] > 0.0).mean())

    true = float((gauge.depth_m[gaps] > 0.0).mean())
    assert abs(wet_frac("quantile-map") - true) < 0.02
    assert wet_frac("normal-ratio") > true + 0.05


def test_normal_ratio_takes_the_normals_from_days_both_measured() -> None:
    # Own rain is half that of the neighbour on every day of the first year.
    own = np.concatenate([np.tile([0.002, 0.0, 0.001, 0.0], 100), [np.nan] * 4])
    there = np.concatenate([np.tile([0.004, 0.0, 0.002, 0.0], 100), [0.010, 0.0, np.nan, 0.006]])
    near = Neighbour(record(there), distance_m=1e3)
    filled = fill_gaps(record(own), method="normal-ratio", neighbours=[near])
    assert filled.depth_m[[400, 401, 403]] == pytest.approx([0.005, 0.0, 0.003])


def test_a_neighbour_that_starts_earlier_is_laid_by_date() -> None:
    days = np.arange(800) / 1e5
    near = Neighbour(record(days, start="2000-12-25"), distance_m=1e3)
    there = on_steps_of(record(np.zeros(900)), near)
    assert there[:3] == pytest.approx([7e-5, 8e-5, 9e-5])
    assert np.isfinite(there).sum() == 793


def test_only_what_a_neighbour_measured_is_used() -> None:
    gauge = record([0.001] * 6)
    marks = np.array(
        [Kept.MEASURED, Kept.TRACE, Kept.FILLED, Kept.FAILED, Kept.SPREAD, Kept.INVENTED]
    )
    there = on_steps_of(
        gauge, Neighbour(replace(gauge, kept=marks.astype(np.uint8)), distance_m=1.0)
    )
    assert np.isfinite(there).tolist() == [True, True, False, False, False, False]


def test_neighbours_that_cannot_be_used() -> None:
    depth = np.full(800, 0.001)
    depth[5] = np.nan
    gauge, whole = record(depth), record(np.full(800, 0.002))
    with pytest.raises(RecordError, match="REC-025"):
        fill_gaps(gauge, method="normal-ratio")
    hourly = replace(whole, step_s=3600.0)
    bad = [
        Neighbour(hourly, distance_m=1e3),
        Neighbour(whole, distance_m=0.0),
        Neighbour(whole, distance_m=1e3, weight=-1.0),
        Neighbour(record(np.full(300, 0.002)), distance_m=1e3),
        Neighbour(record(np.zeros(800)), distance_m=1e3),
        Neighbour(replace(whole, start=np.datetime64("2001-01-01T09:00:00")), distance_m=1e3),
    ]
    for near in bad:
        with pytest.raises(RecordError, match="REC-026"):
            fill_gaps(gauge, method="inverse-distance", neighbours=[near])


def test_a_given_weight_counts() -> None:
    depth = np.full(800, 0.001)
    depth[5] = np.nan
    near = [
        Neighbour(record(np.full(800, 0.004)), distance_m=1e3, weight=3.0),
        Neighbour(record(np.full(800, 0.008)), distance_m=1e3, weight=1.0),
    ]
    filled = fill_gaps(record(depth), method="inverse-distance", neighbours=near)
    assert filled.depth_m[5] == pytest.approx(0.005)


@given(
    total=st.floats(1e-4, 0.5),
    length=st.integers(2, 31),
    seed=st.integers(0, 2**16),
)
@settings(max_examples=60, deadline=None)
def test_totals_stay_and_lie_as_the_neighbour_had_its_rain(
    total: float, length: int, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    there = np.where(rng.random(800) < 0.5, rng.gamma(0.7, 0.01, 800), 0.0)
    own = there * 0.8
    a = 400
    own[a : a + length] = total / length
    kept = np.zeros(800, dtype=np.uint8)
    kept[a : a + length] = Kept.SPREAD
    gauge = replace(record(own), kept=kept)
    shared = share_totals(gauge, neighbours=[Neighbour(record(there), distance_m=1e3)])
    mine = slice(a, a + length)
    assert shared.depth_m[mine].sum() == pytest.approx(own[mine].sum(), rel=1e-14)
    outside = np.r_[0:a, a + length : 800]
    assert (shared.depth_m[outside] == own[outside]).all()
    assert (shared.kept == kept).all() and (shared.depth_m >= 0.0).all()
    if there[mine].sum() > 0.0:
        want = total * there[mine] / there[mine].sum()
        assert shared.depth_m[mine] == pytest.approx(want, rel=1e-9, abs=1e-15)
        assert shared.fill_method == "1 totals shared as the neighbours had their rain"
    else:
        assert shared is gauge


def test_two_totals_side_by_side_stay_two() -> None:
    there = np.tile([0.010, 0.0, 0.0, 0.005], 200)
    own = there * 0.5
    own[400:404], own[404:408] = 0.001, 0.002
    kept = np.zeros(800, dtype=np.uint8)
    kept[400:408] = Kept.SPREAD
    gauge = replace(record(own), kept=kept)
    near = [Neighbour(record(there), distance_m=1e3)]
    filled = fill_gaps(gauge, neighbours=near)
    assert filled.depth_m[400:408] == pytest.approx(np.array([8, 0, 0, 4, 16, 0, 0, 8]) / 3e3)


@pytest.mark.parametrize("method", sorted(FILL_METHODS))
def test_every_method_keeps_the_contract(method: str) -> None:
    gauge = load(DATA / "seattle_daily_2012_2015.csv")
    near = [Neighbour(gauge, distance_m=1e3)]
    assert fill_gaps(gauge, method=method, neighbours=near) is gauge

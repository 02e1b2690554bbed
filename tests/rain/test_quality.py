"""Each check on a record made for it: it speaks, with the right dates, and is silent without."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import DATA, record
from roofspring.errors import RecordError, codes
from roofspring.rain import Kept, RainRecord, assess, fill_gaps, load
from roofspring.rain.gaps import Neighbour
from roofspring.rain.quality import CHECKS, double_mass, pettitt, quality_report, week_days
from roofspring.rain.quality.habits import resolution_mm


def brussels() -> RainRecord:
    return load(DATA / "brussels_daily_1976_2005.csv")


def at(gauge: RainRecord, day: str) -> int:
    return int(np.flatnonzero(gauge.days == np.datetime64(day))[0])


def rows(gauge: RainRecord, check: str, *near: Neighbour) -> list[tuple[str, str, float]]:
    found = quality_report(gauge, neighbours=near, checks=[check]).rows
    return [(r.first, r.last, r.value) for r in found]


def noisy(gauge: RainRecord, *, seed: int = 5) -> Neighbour:
    """A gauge near by: the same days, other depths."""
    rng = np.random.default_rng(seed)
    there = gauge.depth_m * rng.lognormal(0.0, 0.4, len(gauge.depth_m))
    kept = np.zeros(len(there), dtype=np.uint8)
    return Neighbour(replace(gauge, depth_m=there, kept=kept, name="near"), distance_m=4_000.0)


@pytest.mark.parametrize(
    "name",
    [
        "brussels_daily_1976_2005",
        "de_bilt_daily_1980_1984",
        "iowa_daily_1990_2020",
        "cordoba_daily_1991_2021",
        "seattle_daily_2012_2015",
        "new_york_daily_2012_2015",
        "new_york_jfk_hourly_2013",
    ],
)
def test_real_records_raise_no_false_alarm(name: str) -> None:
    gauge = load(DATA / f"{name}.csv")
    # Gaps and few years are true of these records; nothing else is said, filled or not.
    true = {"REC-101", "REC-105", "REC-120"}
    assert {f.code for f in assess(gauge)} <= true
    assert {f.code for f in assess(fill_gaps(gauge))} <= true


def test_every_check_is_described() -> None:
    known = codes()
    for name, check in CHECKS.items():
        assert check.name == name and check.title and check.threshold and check.source
        assert set(check.codes) <= set(known)


def test_an_unknown_check_is_refused() -> None:
    with pytest.raises(RecordError, match="REC-029"):
        quality_report(record([0.0]), checks=["smell"])


def test_report_is_plain_json() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    depth[100:106] = 0.004
    report = quality_report(replace(gauge, depth_m=depth), checks=["same-depth"])
    plain = json.loads(json.dumps(report.to_dict()))
    assert plain["rows"] == [
        {
            "check": "same-depth",
            "code": "REC-113",
            "first": "1976-04-10",
            "last": "1976-04-15",
            "value": 0.004,
            "unit": "m",
        }
    ]


def test_impossible_rain_is_stopped() -> None:
    depth = np.full(400, 0.002)
    depth[[10, 20]] = [-0.001, 1.9]
    found = {f.code: f for f in assess(record(depth))}
    assert (
        found["REC-122"].severity == "stop" and found["REC-122"].got == "2 days, the first of -1 mm"
    )
    assert [r[0] for r in rows(record(depth), "impossible")] == ["2001-01-11", "2001-01-21"]


@pytest.mark.parametrize(("days", "stops"), [(365, True), (500, True), (300, False)])
def test_more_in_a_year_than_ever_measured_is_stopped(days: int, stops: bool) -> None:
    """73 mm a day are 26.645 m in 365 days; the record is 26.47 m (WMO archive, memory)."""
    found = [f for f in assess(record(np.full(days, 0.073))) if f.code == "REC-122"]
    assert [f.severity for f in found] == ["stop"] * stops
    if stops:
        assert found[0].got == "26,645 mm" and "26,470 mm" in found[0].limit


def test_zeros_beside_a_wet_neighbour() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    a = at(gauge, "1990-01-20")
    lost_m = depth[a : a + 25].sum()
    depth[a : a + 25] = 0.0
    near = Neighbour(gauge, distance_m=2_000.0)
    found = rows(replace(gauge, depth_m=depth), "zeros-beside-neighbours", near)
    assert len(found) == 1
    assert found[0][0] <= "1990-01-20" and found[0][1] >= "1990-02-13"
    assert found[0][2] == pytest.approx(lost_m, rel=0.05)
    assert rows(gauge, "zeros-beside-neighbours", near) == []
    assert rows(replace(gauge, depth_m=depth), "zeros-beside-neighbours") == []


def test_one_dry_neighbour_speaks_for_the_drought() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    a = at(gauge, "1990-01-20")
    depth[a : a + 25] = 0.0
    still = replace(gauge, depth_m=depth)
    wet, dry = Neighbour(gauge, distance_m=2_000.0), Neighbour(still, distance_m=9_000.0)
    assert rows(still, "zeros-beside-neighbours", wet, dry) == []


def test_snow_that_was_never_measured() -> None:
    gauge = load(DATA / "iowa_daily_1990_2020.csv")
    assert gauge.tmin_degc is not None and gauge.tmax_degc is not None
    frost = (gauge.tmin_degc + gauge.tmax_degc) / 2.0 <= -1.0
    unmeasured = replace(gauge, depth_m=np.where(frost, 0.0, gauge.depth_m))
    winters = rows(unmeasured, "unmeasured-snow")
    # 31 calendar years touch 32 winters.
    assert len(winters) == 32
    assert rows(replace(unmeasured, tmin_degc=None), "unmeasured-snow") == []


def test_one_winter_without_snow() -> None:
    gauge = load(DATA / "iowa_daily_1990_2020.csv")
    depth = gauge.depth_m.copy()
    a, b = at(gauge, "2000-11-01"), at(gauge, "2001-04-01")
    depth[a:b] = 0.0
    found = rows(replace(gauge, depth_m=depth), "unmeasured-snow")
    assert len(found) == 1
    assert "2000-11" <= found[0][0][:7] <= "2000-12" and found[0][1][:4] == "2001"


@given(first=st.integers(0, 3000), lag=st.integers(400, 7000), length=st.integers(60, 400))
@settings(max_examples=30, deadline=None)
def test_a_copy_is_found_where_it_is(first: int, lag: int, length: int) -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    depth[first + lag : first + lag + length] = depth[first : first + length]
    longest = max(
        rows(replace(gauge, depth_m=depth), "copied"),
        key=lambda r: np.datetime64(r[1]) - np.datetime64(r[0]),
    )
    a, b = at(gauge, longest[0]), at(gauge, longest[1])
    # Days before and after that happen to be the same, mostly dry ones, belong to it as well.
    assert longest[2] == lag
    assert first + lag - 30 <= a <= first + lag
    assert first + lag + length <= b + 1 <= first + lag + length + 30


def test_filled_gaps_are_not_copies() -> None:
    gauge = brussels()
    kept, depth = gauge.kept.copy(), gauge.depth_m.copy()
    kept[1000:1100], depth[1000:1100] = Kept.MISSING, np.nan
    filled = fill_gaps(replace(gauge, depth_m=depth, kept=kept), seed=2)
    assert rows(filled, "copied") == []


def test_totals_after_gaps_before_and_after_filling() -> None:
    gauge = brussels()
    depth, kept = gauge.depth_m.copy(), gauge.kept.copy()
    for a in range(200, 10_000, 400):
        depth[a + 5] = depth[a : a + 6].sum()
        depth[a : a + 5], kept[a : a + 5] = np.nan, Kept.MISSING
    lumped = replace(gauge, depth_m=depth, kept=kept)
    for state in (lumped, fill_gaps(lumped)):
        found = quality_report(state, checks=["totals-after-gaps"])
        assert [f.code for f in found.findings] == ["REC-124"]
        assert all(
            (np.datetime64(r.last) - state.days[0]).astype(int) % 400 == 205 for r in found.rows
        )
    plain = replace(lumped, depth_m=np.where(np.isnan(depth), np.nan, gauge.depth_m))
    assert quality_report(plain, checks=["totals-after-gaps"]).findings == ()


def test_totals_beside_a_neighbour_are_dated() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    places = [a for a in range(100, 10_800, 100) if depth[a : a + 5].sum() >= 0.015]
    for a in places:
        depth[a + 5] = depth[a : a + 6].sum()
        depth[a : a + 5] = 0.0
    found = rows(replace(gauge, depth_m=depth), "totals-beside-neighbours", noisy(gauge))
    ends = {at(gauge, last) for _, last, _ in found}
    hit = len(ends & {a + 5 for a in places}) / len(places)
    assert hit > 0.8
    assert rows(gauge, "totals-beside-neighbours", noisy(gauge)) == []


@pytest.mark.parametrize(
    ("step", "unit"), [(0.1, 0.1), (0.2, 0.2), (0.254, 0.254), (1.0, 1.0), (2.54, 2.54), (5.0, 5.0)]
)
def test_resolution_is_the_step_it_was_written_in(step: float, unit: float) -> None:
    mm = np.random.default_rng(1).gamma(0.7, 9.0, 3000)
    written = np.round(np.round(mm / step) * step, 1)
    assert resolution_mm(written[written > 0.0]) == unit


def test_rounding_to_five_millimetres_is_dated_by_year() -> None:
    gauge = brussels()
    mm = gauge.depth_m * 1e3
    year = gauge.days.astype("datetime64[Y]").astype(int) + 1970
    habit = (mm >= 2.5) & (year >= 1980) & (year < 1985)
    mm[habit] = np.round(mm[habit] / 5.0) * 5.0
    report = quality_report(replace(gauge, depth_m=mm / 1e3), checks=["rounding"])
    assert [f.code for f in report.findings] == ["REC-125"]
    assert "5 mm" in report.findings[0].what
    named = {int(r.first[:4]) for r in report.rows}
    assert set(range(1980, 1985)) <= named and len(named) <= 7


def test_a_record_in_whole_millimetres_is_said_to_be_coarse() -> None:
    gauge = brussels()
    coarse = replace(gauge, depth_m=np.round(gauge.depth_m * 1e3) / 1e3)
    found = quality_report(coarse, checks=["rounding"]).findings
    assert [f.what for f in found] == [
        "every value is a multiple of 1 mm: lighter rain was not written"
    ]


def test_weekends_read_on_monday() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    monday = np.flatnonzero([d.weekday() == 0 for d in gauge.days.tolist()])
    monday = monday[monday >= 2][::3]
    depth[monday] += depth[monday - 1] + depth[monday - 2]
    depth[monday - 1] = depth[monday - 2] = 0.0
    lumped = replace(gauge, depth_m=depth)
    found = {f.code: f for f in assess(lumped)}
    assert "Monday" in found["REC-126"].got
    by_day = week_days(lumped)
    # By the calendar of the standard library, not ours.
    want = [depth[[d.weekday() == k for d in gauge.days.tolist()]].mean() for k in range(7)]
    assert by_day.mean_m == pytest.approx(want)
    assert by_day.mean_m.argmax() == 0


def test_equal_depths_say_nothing_of_the_week() -> None:
    # Every third day has 5 mm: the week has 7 days, so that each of them is as wet as the others.
    depth = np.where(np.arange(2_100) % 3 == 0, 0.005, 0.0)
    for gauge in (record(depth), record(np.full(2_100, 0.005))):
        by_day = week_days(gauge)
        assert by_day.chance_of_depths_frac == 1.0  # by its definition; ranks of ties have none
        assert by_day.chance_of_counts_frac == pytest.approx(1.0)
        assert "REC-126" not in {f.code for f in assess(gauge)}
    depth[1] = 0.006  # one other depth is enough to rank by
    assert 0.0 < week_days(record(depth)).chance_of_depths_frac < 1.0


def test_pettitt_by_hand() -> None:
    # Ranks of 3 1 2 | 6 5 4: U_t = -1, -6, -9, -4, -1 by hand; K = 9; 2 exp(-6 81 / 252) = 0.2907.
    found = pettitt(np.array([30.0, 10.0, 20.0, 60.0, 50.0, 40.0]))
    assert found.at == 3 and found.chance_frac == pytest.approx(0.2907, abs=5e-5)
    assert (found.before, found.after) == (20.0, 50.0)
    assert pettitt(np.ones(12)).chance_frac == 1.0


def test_break_is_dated() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    depth[at(gauge, "1991-01-01") :] *= 0.6
    report = quality_report(replace(gauge, depth_m=depth), checks=["breaks"])
    assert [(f.code, f.where) for f in report.findings] == [("REC-127", "from 1991")]
    assert report.rows[0].first == "1991-01-01" and report.rows[0].value == pytest.approx(
        -0.4, abs=0.1
    )


def test_double_mass_bends_where_the_gauge_was_moved() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    depth[at(gauge, "1991-01-01") :] *= 0.85
    moved, near = replace(gauge, depth_m=depth), noisy(gauge)
    report = quality_report(moved, neighbours=[near], checks=["double-mass"])
    assert [(f.code, f.where) for f in report.findings] == [("REC-129", "from 1991")]
    assert quality_report(gauge, neighbours=[near], checks=["double-mass"]).findings == ()
    mass = double_mass(moved, near)
    assert mass.years.tolist() == list(range(1976, 2006))
    assert mass.here_m[-1] == pytest.approx(depth.sum())
    assert mass.there_m[-1] == pytest.approx(near.record.depth_m.sum())


@given(
    depth=st.lists(
        st.one_of(st.just(0.0), st.just(float("nan")), st.floats(-0.01, 0.2)), max_size=900
    ),
    invented=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_no_record_breaks_the_checks(depth: list[float], invented: bool) -> None:
    gauge = record(depth)
    if invented:
        gauge = replace(gauge, kept=np.full(len(depth), Kept.INVENTED, dtype=np.uint8))
    temps = np.linspace(-20.0, 20.0, len(depth))
    gauge = replace(gauge, tmin_degc=temps, tmax_degc=temps + 5.0)
    report = quality_report(gauge, neighbours=[Neighbour(gauge, distance_m=10.0)])
    ends = {str(d) for d in gauge.days}
    assert all(r.first in ends and r.last in ends and r.first <= r.last for r in report.rows)
    assert all(f.what and f.next and f.source for f in report.findings)

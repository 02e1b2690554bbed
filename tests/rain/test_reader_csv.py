"""Plain CSV beyond a date and a depth: steps, two columns of time, stamps, tips, clocks."""

from __future__ import annotations

import tracemalloc
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from rain.files import codes, found, put, refused, told
from roofspring.rain import Kept, load


@pytest.mark.parametrize("minutes", [1, 2, 3, 5, 6, 10, 12, 15, 20, 30, 45, 60, 90, 180, 720, 1440])
def test_every_step_that_divides_a_day(tmp_path: Path, minutes: int) -> None:
    per_day = 1440 // minutes
    start = datetime(2019, 12, 30)
    rows = [
        f"{start + timedelta(minutes=minutes * i):%Y-%m-%dT%H:%M},{i % 7 / 10}"
        for i in range(2 * per_day)
    ]
    record = load(put(tmp_path, "time,rain_mm\n" + "\n".join(rows) + "\n"))
    assert record.step_s == 60.0 * minutes and record.days_count == 2
    np.testing.assert_allclose(record.depth_m * 1e3, np.arange(2 * per_day) % 7 / 10, atol=1e-12)
    assert (record.kept == Kept.MEASURED).all()


def test_ten_years_of_five_minutes_stay_small(tmp_path: Path) -> None:
    # One year here; the size goes with the rows. 8 + 8 + 1 + 8 bytes a row are kept while reading.
    start = datetime(2019, 1, 1)
    rows = [f"{start + timedelta(minutes=5 * i):%Y-%m-%dT%H:%M},0.2" for i in range(365 * 288)]
    path = put(tmp_path, "time,rain_mm\n" + "\n".join(rows) + "\n")
    tracemalloc.start()
    try:
        record = load(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert record.depth_m.sum() == pytest.approx(365 * 288 * 0.0002, rel=1e-9)
    assert peak < 200 * len(rows)


@pytest.mark.parametrize(
    ("heading", "first", "second"),
    [
        ("date,time,rain_mm", "2012-01-01,00:00,1", "2012-01-01,1:00,2"),
        ("rain_mm;Time of day;Day", "1;00:00:00;2012-01-01", "2;01:00:00;2012-01-01"),
        ("date (utc)\ttime (utc)\train_mm", "2012-01-01\t00:00\t1", "2012-01-01\t01:00\t2"),
    ],
)
def test_date_and_time_of_day_in_two_columns(
    tmp_path: Path, heading: str, first: str, second: str
) -> None:
    record = load(put(tmp_path, f"{heading}\n{first}\n{second}\n"))
    assert record.step_s == 3600.0 and record.depth_m[:2].tolist() == [0.001, 0.002]
    assert ("REC-118" in found(record)) == ("utc" in heading)


@pytest.mark.parametrize("cell", ["25:00", "12:60", "noon", "", "24:00", "1:00 PM", "12:00:00.5"])
def test_times_of_day_that_are_none(tmp_path: Path, cell: str) -> None:
    path = put(tmp_path, f"date,time,rain_mm\n2012-01-01,00:00,1\n2012-01-01,{cell},2\n")
    assert codes(refused(path)) == [("REC-009", 3)]


def test_two_columns_of_dates_are_not_guessed_at(tmp_path: Path) -> None:
    path = put(tmp_path, "date,day,time,rain_mm\n2012-01-01,2012-01-01,00:00,1\n")
    assert {p.code for p in refused(path)} == {"REC-005"}


def test_stamps_at_the_end_of_the_step(tmp_path: Path) -> None:
    rows = [f"2012-01-01 {h:02d}:00,{h}" for h in range(1, 25)]
    path = put(tmp_path, "time,rain_mm\n" + "\n".join(rows) + "\n")
    record = load(path, stamp="end")
    assert record.days_count == 1 and str(record.start) == "2012-01-01T00:00:00"
    assert record.depth_m.tolist() == [h / 1e3 for h in range(1, 25)]
    # As starts of steps, 24:00 is no time.
    assert [p.line for p in refused(path)] == [25]
    # A day's reading at nine belongs to the day before, when it marks the end.
    nine = put(tmp_path, "time,rain_mm\n2012-01-02 09:00,1\n2012-01-03 09:00,2\n", name="nine.csv")
    assert str(load(nine, stamp="end").start) == "2012-01-01"
    assert str(load(nine).start) == "2012-01-02"


def test_stamps_at_the_end_need_a_time_of_day(tmp_path: Path) -> None:
    path = put(tmp_path, "date,rain_mm\n2012-01-01,1\n2012-01-02,2\n")
    assert {p.code for p in told(path, stamp="end")} == {"REC-038"}
    assert {p.code for p in told(path, stamp="middle")} == {"REC-038"}


# Clocks. What the wall clock shows is taken from the time-zone database, through zoneinfo.


def wall_clock(zone: str, year: int, minutes: int, *, offset: bool = False) -> list[str]:
    """What a clock on the wall shows at even steps through a year."""
    at, out = datetime(year, 1, 1, tzinfo=UTC), []
    while at.year == year:
        local = at.astimezone(ZoneInfo(zone))
        out.append(local.isoformat(timespec="minutes") if offset else f"{local:%Y-%m-%dT%H:%M}")
        at += timedelta(minutes=minutes)
    return out


CLOCKS = [
    ("Europe/Brussels", 60, "2012-03-25T02:00:00"),
    ("America/New_York", 60, "2012-03-11T02:00:00"),
    ("America/New_York", 15, "2012-03-11T02:00:00"),
    ("Australia/Sydney", 60, "2012-04-01T02:00:00"),
]


@pytest.mark.parametrize(("zone", "minutes", "first"), CLOCKS)
def test_summer_time_in_a_dry_year_is_found(
    tmp_path: Path, zone: str, minutes: int, first: str
) -> None:
    rows = "".join(f"{t},0\n" for t in wall_clock(zone, 2012, minutes))
    record = load(put(tmp_path, "time,rain_mm\n" + rows))
    (finding,) = [f for f in record.findings if f.code == "REC-135"]
    assert finding.got == "1 hour missing, 1 twice" and finding.where.endswith(first)
    assert "offset" in finding.next


@pytest.mark.parametrize(("zone", "minutes", "first"), CLOCKS)
def test_summer_time_with_rain_in_the_hour_told_twice_is_refused(
    tmp_path: Path, zone: str, minutes: int, first: str
) -> None:
    times = wall_clock(zone, 2012, minutes)
    text = "".join(f"{t},{i % 97}\n" for i, t in enumerate(times))
    again = [i for i, t in enumerate(times) if t in times[:i][-8:]]
    (problem,) = refused(put(tmp_path, "time,rain_mm\n" + text.replace(",0\n", ",0.5\n")))
    assert problem.code == "REC-036" and problem.line == again[0] + 2
    assert "offset" in problem.next


@pytest.mark.parametrize(("zone", "minutes", "first"), CLOCKS)
def test_summer_time_with_offsets_is_read(
    tmp_path: Path, zone: str, minutes: int, first: str
) -> None:
    times = wall_clock(zone, 2012, minutes, offset=True)
    record = load(put(tmp_path, "time,rain_mm\n" + "".join(f"{t},1\n" for t in times)))
    assert "REC-135" not in found(record)
    assert int(np.isfinite(record.depth_m).sum()) == len(times)


def test_standard_time_gives_no_such_finding(tmp_path: Path) -> None:
    times = [f"{datetime(2012, 1, 1) + timedelta(hours=i):%Y-%m-%dT%H:%M}" for i in range(8784)]
    record = load(put(tmp_path, "time,rain_mm\n" + "".join(f"{t},0\n" for t in times)))
    assert found(record) == {}
    # An hour lost on another day is a gap, and no sign of a clock.
    gap = load(
        put(
            tmp_path,
            "time,rain_mm\n" + "".join(f"{t},0\n" for t in times if t != "2012-03-20T02:00"),
        )
    )
    assert found(gap) == {} and int(np.isnan(gap.depth_m).sum()) == 1


# Tipping buckets: the sum is the number of tips times the depth of one.


def test_tips_are_added_up_to_steps(tmp_path: Path) -> None:
    rows = [
        "2020-06-01 10:00:00",
        "2020-06-01T10:04:59.75",
        "2020-06-01 10:05:00",
        "2020-06-03 00:00:01",
    ]
    path = put(tmp_path, "time\n" + "\n".join(rows) + "\n")
    record = load(path, tip="0.2 mm")
    assert record.step_s == 300.0 and record.days_count == 3
    wet = np.flatnonzero(record.depth_m)
    assert wet.tolist() == [120, 121, 2 * 288]
    np.testing.assert_allclose(record.depth_m[wet] * 1e3, [0.4, 0.2, 0.2], atol=1e-12)
    assert found(record) == {"REC-138": "4 tips"}
    assert load(path, tip="0.01 in", tip_step_s=3600).step_s == 3600.0
    daily = load(path, tip="0.2 mm", tip_step_s=86_400)
    np.testing.assert_allclose(daily.depth_m * 1e3, [0.6, 0.0, 0.2], atol=1e-12)


def test_tips_with_their_depth_in_a_column(tmp_path: Path) -> None:
    path = put(
        tmp_path,
        "date,time,tip_mm\n2020-06-01,10:00,0.2\n2020-06-01,10:01,0.2\n2020-06-01,11:00,0\n",
    )
    record = load(path)
    assert record.depth_m.sum() * 1e3 == pytest.approx(0.4, abs=1e-12)
    assert found(record) == {"REC-138": "2 tips"}


def test_tips_in_utc_and_with_offsets(tmp_path: Path) -> None:
    path = put(tmp_path, "time\n2020-06-01T23:30:00-05:00\n2020-06-02T00:10:00-05:00\n")
    record = load(path, tip="0.2 mm")
    assert record.days_count == 2 and str(record.start) == "2020-06-01T00:00:00"
    assert np.flatnonzero(record.depth_m).tolist() == [23 * 12 + 6, 288 + 2]
    assert "REC-118" in found(load(put(tmp_path, "time_utc\n2020-06-01T23:30:00\n"), tip="0.2 mm"))
    half = put(tmp_path, "time\n2020-06-01T23:30:00+05:30\n", name="half.csv")
    assert told(half, tip="0.2 mm", tip_step_s=3600)[0].code == "REC-013"


@pytest.mark.parametrize("tip", ["0.2", "20 mm", "0 mm", "-0.2 mm", "a cup", "0.2 L"])
def test_depths_that_no_tip_has(tmp_path: Path, tip: str) -> None:
    path = put(tmp_path, "time\n2020-06-01 10:00:00\n")
    assert [p.code for p in told(path, tip=tip)] == ["REC-037"]


def test_tips_out_of_order_are_refused(tmp_path: Path) -> None:
    rows = "2020-06-01 10:00:00\n2020-06-01 10:05:00\n"
    problems = told(put(tmp_path, "time\n" + rows + rows), tip="0.2 mm")
    assert codes(problems) == [("REC-037", 4)] and "twice" in problems[0].next


def test_what_does_not_go_with_tips(tmp_path: Path) -> None:
    path = put(tmp_path, "time,rain_mm\n2020-06-01 10:00:00,0.2\n")
    assert [p.code for p in told(path, tip="0.2 mm")] == ["REC-037"]
    bare = put(tmp_path, "time\n2020-06-01 10:00:00\n", name="b.csv")
    assert [p.code for p in told(bare)] == ["REC-005"]
    assert [p.code for p in told(bare, tip="0.2 mm", stamp="end")] == ["REC-038"]
    assert [p.code for p in told(bare, tip="0.2 mm", tip_step_s=7)] == ["REC-013"]
    day = put(tmp_path, "date\n2020-06-01\n", name="c.csv")
    assert [p.code for p in told(day, tip="0.2 mm")] == ["REC-009"]
    far = put(tmp_path, "time\n1000-01-01 00:00:00\n9000-01-01 00:00:00\n", name="d.csv")
    assert [p.code for p in told(far, tip="0.2 mm")] == ["REC-002"]
    big = put(tmp_path, "time,tip_mm\n2020-06-01 10:00:00,12\n", name="e.csv")
    assert codes(refused(big)) == [("REC-037", 2)]
    flood = "".join(f"2020-06-01 10:{i % 60:02d}:00,10\n" for i in range(60)) * 4
    rows = sorted(flood.splitlines())
    wet = put(tmp_path, "time,tip_mm\n" + "\n".join(rows) + "\n", name="f.csv")
    assert [p.code for p in refused(wet)] == ["REC-011"]


def test_many_tips_take_the_room_of_the_wet_steps_only(tmp_path: Path) -> None:
    start = datetime(2020, 6, 1)
    times = [f"{start + timedelta(seconds=20 * i):%Y-%m-%d %H:%M:%S}" for i in range(100_000)]
    path = put(tmp_path, "time\n" + "\n".join(times) + "\n")
    tracemalloc.start()
    try:
        record = load(path, tip="0.01 mm", tip_step_s=86_400)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert record.depth_m.sum() == pytest.approx(100_000 * 1e-5, rel=1e-9)
    # Texts of the 4320 times of a day that are worked out once; 100,000 rows would take far more.
    assert peak < 4_000_000


@pytest.mark.parametrize("year", ["0001", "1895", "2996", "9999"])
def test_a_slip_in_one_year_is_told_with_its_line(tmp_path: Path, year: str) -> None:
    """Not as a record of a thousand years with too many gaps."""
    days = [datetime(2019, 1, 1) + timedelta(days=i) for i in range(730)]
    rows = [f"{day:%Y-%m-%d},1" for day in days]
    rows[300] = f"{year}{rows[300][4:]}"
    (problem,) = refused(put(tmp_path, "date,rain_mm\n" + "\n".join(rows) + "\n"))
    assert (problem.code, problem.line, problem.got) == ("REC-009", 302, rows[300][:10])
    assert "year" in problem.next


def test_years_without_a_gauge_between_two_records_are_a_gap(tmp_path: Path) -> None:
    days = [datetime(y, 1, 1) + timedelta(days=i) for y in (1890, 1960) for i in range(365)]
    record = load(put(tmp_path, "date,rain_mm\n" + "".join(f"{d:%Y-%m-%d},1\n" for d in days)))
    assert record.days_count > 70 * 365


@pytest.mark.parametrize("odd", ["2020-01-05T00:00", "2020-01-05 00:00"])
def test_the_row_without_an_offset_among_others_is_named(tmp_path: Path, odd: str) -> None:
    rows = [f"2020-01-{day:02}T00:00Z,1" for day in range(1, 29)]
    rows[4] = f"{odd},1"
    (problem,) = refused(put(tmp_path, "time,rain_mm\n" + "\n".join(rows) + "\n"))
    assert (problem.code, problem.line) == ("REC-013", 6)
    assert problem.got == "none first at line 6, one first at line 2"

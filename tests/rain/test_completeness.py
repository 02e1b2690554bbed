"""Completeness, and the tables of `describe`, against the standard library and by hand."""

from __future__ import annotations

import json
import statistics
from calendar import monthrange
from collections import defaultdict
from dataclasses import replace
from datetime import date
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import DATA, record
from roofspring.rain import Kept, RainRecord, assess, load
from roofspring.rain.completeness import completeness
from roofspring.rain.describe import (
    describe,
    dry_spells,
    longest_dry_by_year,
    month_spread,
    year_days,
)


def test_no_day_with_both_temperatures_has_no_mean() -> None:
    gauge = replace(
        record([0.001, 0.0]),
        tmin_degc=np.array([-3.0, np.nan]),
        tmax_degc=np.array([np.nan, 4.0]),
    )
    summary = describe(gauge)
    assert summary.mean_temp_degc is None and summary.least_tmin_degc == -3.0
    none = describe(replace(gauge, tmin_degc=np.full(2, np.nan)))
    assert none.mean_temp_degc is None and none.least_tmin_degc is None


def brussels() -> RainRecord:
    return load(DATA / "brussels_daily_1976_2005.csv")


def by_date(gauge: RainRecord) -> dict[date, float]:
    return dict(zip(gauge.days.tolist(), gauge.daily_depth_m.tolist(), strict=True))


def dry_runs(depth_m: list[float]) -> list[int]:
    """Lengths of the runs under 1 mm, by the standard library."""
    return [len(list(run)) for dry, run in groupby(depth_m, lambda x: x < 0.001) if dry]


def test_whole_record() -> None:
    table = completeness(brussels())
    assert len(table.months) == 360 and len(table.years) == 30
    assert all(p.usable and p.whole for p in (*table.months, *table.years))
    assert table.usable_months_frac == 1.0
    assert table.years[0].days_count == 366 and table.months[1].days_count == 29
    json.dumps(table.to_dict())


@pytest.mark.parametrize(
    ("gaps", "usable"),
    [
        ([0, 1, 2, 3], True),
        ([0, 1, 2, 3, 4], False),  # five in a row
        (list(range(0, 20, 2)), True),  # ten days, never two together
        (list(range(0, 22, 2)), False),  # eleven
    ],
)
def test_rule_for_months(gaps: list[int], usable: bool) -> None:
    # Rule of WMO_1203 (from memory): not usable with 11 days or more missing, or 5 in a row.
    kept = np.zeros(31, dtype=np.uint8)
    kept[gaps] = Kept.FILLED
    gauge = replace(record(np.zeros(31)), kept=kept)
    month = completeness(gauge).months[0]
    assert (month.usable, month.whole) == (usable, False)
    assert month.filled_count == len(gaps)
    assert ("REC-114" in {f.code for f in assess(gauge)}) is not usable


def test_days_outside_the_record_are_missing() -> None:
    gauge = record(np.zeros(40), start="2001-01-12")
    months = completeness(gauge).months
    assert [(m.name, m.missing_count, m.usable) for m in months] == [
        ("2001-01", 11, False),
        ("2001-02", 8, False),
    ]
    year = completeness(gauge).years[0]
    assert (year.measured_count, year.missing_count, year.usable) == (40, 325, False)


def test_the_worst_hour_marks_the_day() -> None:
    kept = np.zeros(48, dtype=np.uint8)
    kept[3], kept[30], kept[31] = Kept.TRACE, Kept.FAILED, Kept.TRACE
    gauge = replace(
        record(np.zeros(48)), step_s=3600.0, start=np.datetime64("2001-01-01T00:00:00"), kept=kept
    )
    month = completeness(gauge).months[0]
    assert (month.trace_count, month.failed_count, month.measured_count) == (1, 1, 0)


@given(start=st.integers(0, 3000), length=st.integers(1, 1500), seed=st.integers(0, 2**16))
@settings(max_examples=40, deadline=None)
def test_every_day_counts_once(start: int, length: int, seed: int) -> None:
    kept = np.random.default_rng(seed).integers(0, 7, length).astype(np.uint8)
    first = np.datetime64("1995-03-01") + start
    gauge = replace(record(np.zeros(length), start=str(first)), kept=kept)
    table = completeness(gauge)
    for periods in (table.months, table.years):
        for p in periods:
            parts = (
                p.measured_count,
                p.trace_count,
                p.spread_count,
                p.filled_count,
                p.failed_count,
                p.missing_count,
                p.invented_count,
            )
            assert sum(parts) == p.days_count
        assert sum(p.filled_count for p in periods) == int((kept == Kept.FILLED).sum())
    for m in table.months:
        assert m.days_count == monthrange(int(m.name[:4]), int(m.name[5:]))[1]


# ---------------------------------------------------------------- tables of describe


def test_month_spread_against_the_standard_library() -> None:
    gauge = brussels()
    totals: dict[tuple[int, int], float] = defaultdict(float)
    for day, depth in by_date(gauge).items():
        totals[day.month, day.year] += depth
    spread = month_spread(gauge)
    for m in range(12):
        of_month = [total for (month, _), total in totals.items() if month == m + 1]
        # Its "inclusive" method is that of HYNDMAN_FAN_1996, definition 7.
        tenths = statistics.quantiles(of_month, n=10, method="inclusive")
        ours = (spread.p10_m[m], spread.p50_m[m], spread.p90_m[m])
        assert ours == pytest.approx((tenths[0], tenths[4], tenths[8]))
    assert spread.years_count == (30,) * 12


def test_months_with_gaps_are_left_out_of_the_spread() -> None:
    gauge = brussels()
    depth = gauge.depth_m.copy()
    depth[10] = np.nan
    assert month_spread(replace(gauge, depth_m=depth)).years_count == (29,) + (30,) * 11
    cut = replace(gauge, depth_m=gauge.depth_m[:50], kept=gauge.kept[:50])
    assert month_spread(cut).years_count == (1,) + (0,) * 11


def test_dry_spells_against_the_standard_library() -> None:
    gauge = brussels()
    spells = dry_spells(gauge)
    assert [s.length_days for s in spells] == sorted(dry_runs(gauge.depth_m.tolist()), reverse=True)
    assert spells[0].length_days == 38
    depth = by_date(gauge)
    for spell in spells[:20]:
        first, last = date.fromisoformat(spell.first), date.fromisoformat(spell.last)
        inside = [d for day, d in depth.items() if first <= day <= last]
        assert len(inside) == spell.length_days and max(inside) < 0.001
    assert all(s.length_days >= 10 for s in dry_spells(gauge, least_days=10))


def test_a_gap_ends_a_dry_spell() -> None:
    spells = dry_spells(record([0.0, 0.0, np.nan, 0.0]))
    assert [(s.first, s.last) for s in spells] == [
        ("2001-01-01", "2001-01-02"),
        ("2001-01-04", "2001-01-04"),
    ]


def test_longest_dry_spell_of_each_year_against_the_standard_library() -> None:
    gauge = brussels()
    got = longest_dry_by_year(gauge)
    assert list(got) == list(range(1976, 2006))
    for year, longest in got.items():
        assert longest == max(
            dry_runs([d for day, d in by_date(gauge).items() if day.year == year])
        )


def test_year_days_puts_every_day_under_its_own_date() -> None:
    gauge = brussels()
    table = year_days(gauge)
    assert table.depth_m.shape == (30, 366) and table.years[0] == 1976
    # Column of a date: day of the year in a leap year, by the standard library.
    for day, depth in list(zip(gauge.days.tolist(), gauge.depth_m, strict=True))[::37]:
        column = day.replace(year=2000).timetuple().tm_yday - 1
        assert table.depth_m[day.year - 1976, column] == depth
    leap = table.years % 4 == 0
    assert (np.isnan(table.depth_m[:, 59]) == ~leap).all()
    assert np.isnan(table.depth_m).sum() == (~leap).sum()

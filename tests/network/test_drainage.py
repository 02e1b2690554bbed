"""How often the gutters of a plan spill, against arithmetic on rain made in the tests."""

from __future__ import annotations

import math

import numpy as np
import pytest

from network.build import PLAIN_ROOF, pipe, plan_of, record_of, tank
from roofspring.catchment import wash_off_left_frac
from roofspring.hydraulics import brim_flow_m3_per_s, gutter_section
from roofspring.network.drainage import (
    Drainage,
    assess_drainage,
    often_cell,
    often_words,
    peak_area_m2,
    rain_ladder,
    return_years,
)
from roofspring.rain import RainRecord

HOUSE = tank("t", volume_m3=5.0) + pipe("p", "r", "t")


def cloudy(years: int = 40) -> RainRecord:
    """Hourly rain: one burst a year, of a Gumbel law, and nothing else."""
    rng = np.random.default_rng(5)
    depth_mm = np.zeros(years * 366 * 24)
    depth_mm[4000 : 4000 + 8766 * years : 8766] = rng.gumbel(30.0, 8.0, years)
    return record_of(depth_mm, step_s=3600.0)


def assessed(gutter: str, record: RainRecord | None = None, more: str = "") -> Drainage:
    plan = plan_of(f"{PLAIN_ROOF}{more}gutter = {{ {gutter} }}\n", HOUSE)
    return assess_drainage(plan, record=record)


def test_the_return_period_is_that_of_the_rain_that_fills_it() -> None:
    record = cloudy()
    ladder = rain_ladder(record, None)
    ten = next(step for step in ladder if step.return_years == 10.0)
    # A capacity that the ten-year burst just fills on 100 m2.
    capacity = ten.depth_m / 300.0 * 100.0
    (row,) = assessed(f'capacity = "{capacity!r} m3/s"', record).gutters
    assert row.spills_years == pytest.approx(10.0, rel=1e-6)
    assert row.full_mm_per_h == pytest.approx(ten.mean_m_per_s * 3.6e6)
    assert row.limited_by == "as stated" and row.brim_m3_per_s is None
    assert row.spills_years is not None
    assert row.spills_low_years is not None and row.spills_high_years is not None
    assert row.spills_low_years <= row.spills_years <= row.spills_high_years
    assert often_cell(row).startswith("10 (") and "once in 10 years" in often_words(row)


def test_more_capacity_spills_more_seldom() -> None:
    record = cloudy()
    years = [
        assessed(f'capacity = "{c} L/s"', record).gutters[0].spills_years or 0.0
        for c in (0.5, 3.0, 4.0, 5.0, 40.0)
    ]
    assert years == sorted(years) and years[0] == 0.0 and math.isinf(years[-1])


def test_where_it_spills_decides() -> None:
    record = cloudy()
    small = 'capacity = "0.5 L/s"'
    (open_ground,) = assessed(small, record).findings
    assert (open_ground.code, open_ground.severity) == ("ROF-110", "note")
    (wall,) = assessed(f'{small}, spills-on = "wall"', record).findings
    assert (wall.code, wall.severity) == ("ROF-110", "caution") and "wall" in wall.what
    assert assessed('capacity = "40 L/s", spills-on = "wall"', record).findings == ()


def test_without_rain_a_code_stands_in_and_nothing_says_how_often() -> None:
    found = assessed('capacity = "2 L/s"')
    (row,) = found.gutters
    assert row.spills_years is None and often_cell(row) == "not known"
    # 75 mm/h, the default of the United Kingdom.
    assert row.design_mm_per_h == pytest.approx(75.0)
    assert [f.code for f in found.findings] == ["ROF-111"]
    two_years = record_of(np.ones(700))
    assert [f.code for f in assessed('capacity = "2 L/s"', two_years).findings] == ["ROF-111"]


def test_the_exact_check_stands_beside_the_standard() -> None:
    (row,) = assessed('width = "125 mm", length = "20 m", outlets = 2').gutters
    exact = brim_flow_m3_per_s(gutter_section(0.125), length_m=10.0, manning=0.012)
    assert row.brim_m3_per_s is not None
    assert row.brim_m3_per_s == pytest.approx(2.0 * exact)
    assert row.brim_m3_per_s > row.carries_m3_per_s
    assert assessed('width = "125 mm"').gutters[0].brim_m3_per_s is None


@pytest.mark.parametrize(
    ("gutter", "limit"),
    [
        ('width = "100 mm"', "gutter"),
        ('width = "200 mm", downpipe = "50 mm"', "outlet"),
        ('shape = "box", width = "500 mm", depth = "400 mm", downpipe = "50 mm"', "downpipe"),
    ],
)
def test_what_limits_it_is_named(gutter: str, limit: str) -> None:
    (row,) = assessed(gutter).gutters
    assert row.limited_by == limit


def test_wind_adds_half_the_rise_times_the_eave() -> None:
    sloped = plan_of(f'{PLAIN_ROOF}rise = "3 m"\ngutter = {{ width = "1 m", length = "10 m" }}\n')
    assert peak_area_m2(sloped.roofs["r"]) == pytest.approx(115.0)
    assert peak_area_m2(plan_of(PLAIN_ROOF).roofs["r"]) == 100.0


def test_screens_and_first_flushes_of_the_roofs_above_them() -> None:
    plan = plan_of(
        PLAIN_ROOF,
        PLAIN_ROOF.replace("[roof.r]", "[roof.s]"),
        '[screen.leaf]\nmesh = "1 mm"\n[first-flush.f]\nvolume = "0.4 m3"\n',
        tank("t", volume_m3=5.0),
        pipe("a", "r", "leaf"),
        pipe("b", "s", "leaf"),
        pipe("c", "leaf", "f"),
        pipe("d", "f", "t"),
    )
    found = assess_drainage(plan)
    (screen,) = found.screens
    assert screen.flow_m3_per_s == pytest.approx(200.0 * 0.075 / 3600.0)
    (flush,) = found.flushes
    assert flush.holds_m == pytest.approx(0.4 / 200.0)
    assert flush.left_frac == pytest.approx(wash_off_left_frac(0.002))
    assert set(found.to_dict()) == {
        "gutters", "screens", "flushes", "debris", "rain_source", "design_mm_per_h",
    }  # fmt: skip


def test_a_screen_that_is_too_small_is_told_with_the_area_it_needs() -> None:
    def found(area: str) -> Drainage:
        leaf = f'[screen.leaf]\nmesh = "1 mm"\narea = "{area}"\n'
        ways = pipe("a", "r", "leaf") + pipe("b", "leaf", "t")
        return assess_drainage(plan_of(PLAIN_ROOF, leaf, tank("t", volume_m3=5.0), ways))

    (row,) = found("0.01 m2").screens
    codes = [f.code for f in found("0.01 m2").findings]
    assert row.has_m2 == 0.01 and codes == ["ROF-113"]
    assert found(f"{row.needs_m2 * 1.001} m2").findings == ()


def test_ends_of_the_ladder() -> None:
    assert return_years(1.0, [2.0, 4.0], [2.0, 8.0]) == 0.0
    assert return_years(2.0, [2.0, 4.0], [2.0, 8.0]) == 2.0
    assert return_years(3.0, [2.0, 4.0], [2.0, 8.0]) == pytest.approx(4.0)
    assert math.isinf(return_years(5.0, [2.0, 4.0], [2.0, 8.0]))


def test_the_longer_section_spills_first() -> None:
    uneven = 'width = "125 mm", outlets = 2, sections = ["6 m", "18 m"]'
    (row,) = assessed(uneven, cloudy()).gutters
    short, long = row.sections
    assert (short.length_m, long.length_m) == (6.0, 18.0)
    # 25 and 75 m2 of the roof: the long one, which carries less, gets three times the water.
    assert short.carries_m3_per_s > long.carries_m3_per_s
    assert long.full_mm_per_h == pytest.approx(long.carries_m3_per_s / 75.0 * 3.6e6)
    assert row.full_mm_per_h == pytest.approx(long.full_mm_per_h) and row.limited_by == "gutter"
    assert row.carries_m3_per_s == pytest.approx(long.carries_m3_per_s / 0.75)
    assert short.spills_years is not None and long.spills_years is not None
    assert short.spills_years > long.spills_years == row.spills_years
    (even,) = assessed('width = "125 mm", length = "24 m", outlets = 2', cloudy()).gutters
    assert even.carries_m3_per_s > row.carries_m3_per_s
    exact = brim_flow_m3_per_s(gutter_section(0.125), length_m=18.0, manning=0.012)
    assert row.brim_m3_per_s == pytest.approx(exact / 0.75)


def test_the_series_of_the_record_shows_spills_where_its_steps_are_short() -> None:
    # Four years; in each an hour of 20 mm and one of 50 mm, and a gutter that is full at 36 mm/h.
    hours = np.zeros(4 * 8766)
    hours[100::8766], hours[5000::8766] = 20.0, 50.0
    (row,) = assessed('capacity = "1 L/s"', record_of(hours, step_s=3600.0)).gutters
    assert row.full_mm_per_h == pytest.approx(36.0)
    assert row.seen_per_year == pytest.approx(1.0, rel=1e-3)
    assert row.seen_lost_frac == pytest.approx(14.0 / 70.0)
    (daily,) = assessed('capacity = "1 L/s"', record_of(np.ones(3000))).gutters
    assert daily.seen_per_year is None and daily.seen_lost_frac is None


def test_what_the_record_shows_is_told_with_the_finding() -> None:
    (found,) = assessed('capacity = "0.5 L/s"', cloudy()).findings
    assert "in the record" in found.got and "steps a year" in found.got

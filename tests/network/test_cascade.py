"""Daily rain spread by the cascade, through the engine: sums, repeats, how often a roof wets."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from network.build import DATA, end_m3, pipe, plan_of, ran, record_of, tank, use
from roofspring.network.forcing import CASCADE, CASCADE_SEED, build_forcing
from roofspring.network.result import RunResult
from roofspring.rain import WITHIN_DAY, RainRecord, disaggregate, read
from roofspring.reliability.supply import assess_supply

AREA_M2, WETTING_M, DRYING_M_PER_DAY = 100.0, 0.2e-3, 1e-3
STEP_S, EVENT_GAP_S = 300.0, 6 * 3600.0


def within(way: str) -> str:
    return f'[rain]\nsnow = "as-rain"\nwithin-day = "{way}"\n[run]\nwater-temperature = "20 degC"\n'


ROOF = '[roof.r]\narea = "100 m2"\nmaterial = "metal"\ncoefficient = "100 %"\n'
POND = tank("t", volume_m3=90_000.0, height_m=10.0) + pipe("p", "r", "t")
SMALL = tank("t", volume_m3=3.0) + pipe("p", "r", "t") + use("u", "t", "150 L/day")


@cache
def brussels() -> RainRecord:
    return read(DATA / "brussels_daily_1976_2005.csv")


@cache
def fine() -> RainRecord:
    return disaggregate(brussels(), method=CASCADE, seed=CASCADE_SEED, step_s=STEP_S)


@cache
def pond() -> RunResult:
    return ran(brussels(), within(CASCADE), ROOF, POND)


def test_every_day_keeps_its_rain() -> None:
    record = brussels()
    forcing = build_forcing(plan_of(within(CASCADE)), record, use_ids=())
    fell_m = np.bincount(forcing.day, weights=forcing.rain_m, minlength=record.days_count)
    np.testing.assert_allclose(fell_m, record.depth_m, rtol=1e-12, atol=1e-15)
    wet = forcing.rain_m > 0.0
    assert ((forcing.to_hour - forcing.from_hour)[wet] * 3600.0).max() == pytest.approx(STEP_S)
    assert (record.depth_m[forcing.day[wet]] > 0.0).all()


def test_what_fell_is_record_times_area() -> None:
    result = pond()
    fell_m3 = result.flow_m3[:, [arc.kind for arc in result.arcs].index("rain")]
    np.testing.assert_allclose(fell_m3, AREA_M2 * brussels().depth_m, rtol=1e-12, atol=1e-12)
    assert abs(result.residual_m3) < 1e-9 * result.total_m3(kind="rain")


def test_the_same_every_time() -> None:
    record = record_of(1000.0 * brussels().depth_m[:730])
    first, second = (ran(record, within(CASCADE), ROOF, SMALL) for _ in range(2))
    np.testing.assert_array_equal(first.flow_m3, second.flow_m3)
    np.testing.assert_array_equal(first.end_m3, second.end_m3)
    other = ran(record, within("type2"), ROOF, SMALL)
    assert (first.end_m3 != other.end_m3).any()


def test_a_subdaily_record_is_not_spread_again() -> None:
    rain_mm = np.zeros(48)
    rain_mm[[5, 30]] = 12.0, 3.0
    record = record_of(rain_mm, step_s=3600.0)
    forcing = build_forcing(plan_of(within(CASCADE)), record, use_ids=())
    wet = forcing.rain_m > 0.0
    assert forcing.from_hour[wet].tolist() == [5.0, 6.0]
    assert forcing.rain_m[wet].tolist() == pytest.approx([0.012, 0.003])


@pytest.mark.parametrize("own", ["type2", CASCADE])
def test_every_way_has_a_row(own: str) -> None:
    """The plan's own way and all others; the row of the plan's own is the answer itself."""
    record = record_of(1000.0 * brussels().depth_m[: 4 * 365])
    answer, _ = assess_supply(plan_of(within(own), ROOF, SMALL), record)
    rows = {row.method: row for row in answer.within_day_ways}
    assert list(rows) == [*WITHIN_DAY, CASCADE]
    assert answer.within_day == own
    assert rows[own].served_frac == answer.served_frac
    assert rows[own].caught_m3_per_year == pytest.approx(answer.caught_m3 / answer.years)
    # A ragged day wets the roof more often than one smooth storm does.
    assert rows[CASCADE].caught_m3_per_year < rows["type2"].caught_m3_per_year


# How often the roof wets. A second count, on the same five-minute steps, in plain Python.


def events() -> list[tuple[int, int]]:
    """First and last wet step of each event; six dry hours part two events."""
    wet = np.flatnonzero(fine().depth_m > 0.0).tolist()
    found = [[wet[0], wet[0]]]
    for step in wet[1:]:
        if (step - found[-1][1] - 1) * STEP_S >= EVENT_GAP_S:
            found.append([step, step])
        found[-1][1] = step
    return [(first, last) for first, last in found]


def wetting_m_per_year() -> float:
    """What the engine lost by wetting: all that fell and did not reach the pond."""
    result = pond()
    lost_m3 = AREA_M2 * float(brussels().depth_m.sum()) - float(end_m3(result, "t")[-1])
    return lost_m3 / AREA_M2 / result.years


def test_wetting_lies_between_once_an_event_and_once_more_for_each_dry_hour() -> None:
    """A metal roof holds 0.2 mm and dries at 1 mm a day, so 4.8 hours dry it: six always do.

    At least, each event wets the roof once (or loses all it has). At most, each event wets it once
    and its dry steps let it dry at the full rate.
    """
    depth_m, years = fine().depth_m, brussels().years
    least = most = 0.0
    for first, last in events():
        inside_m = depth_m[first : last + 1]
        once_m = min(WETTING_M, float(inside_m.sum()))
        dry_m = float((inside_m == 0.0).sum()) * DRYING_M_PER_DAY * STEP_S / 86400.0
        least += once_m
        most += once_m + dry_m
    lost = wetting_m_per_year()
    assert least / years < lost < most / years
    # 179 events a year: 36 mm if each wets the roof once and dry hours within them did nothing.
    # Showers within an event wet it again, by about as much: once to two and a half times.
    once = len(events()) * WETTING_M / years
    assert once < lost < 2.5 * once


def test_wetting_is_that_of_a_balance_step_by_step() -> None:
    film_m = lost_m = 0.0
    for rain_m in fine().depth_m.tolist():
        if rain_m > 0.0:
            held_m = min(rain_m, WETTING_M - film_m)
            film_m += held_m
            lost_m += held_m
        else:
            film_m = max(0.0, film_m - DRYING_M_PER_DAY * STEP_S / 86400.0)
    assert wetting_m_per_year() == pytest.approx(lost_m / brussels().years, rel=1e-9)

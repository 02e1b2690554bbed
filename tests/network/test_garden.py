"""What a garden with a crop wants in the run."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.build import DATA, DAY_STEPS, PLAIN_ROOF, dry, pipe, plan_of, tank
from roofspring.errors import RecordError
from roofspring.garden import extraterrestrial_mj_per_m2_day, hargreaves_m_per_day
from roofspring.network.garden import (
    garden_findings,
    garden_rows,
    garden_wants_m3,
    growing_months,
)
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord, read

SITE = '[site]\nlatitude = "50.8 deg"\nelevation = "100 m"\n'
REST = tank("t", volume_m3=50.0, height_m=2.0, start=1.0) + pipe("p", "r", "t")


def garden(more: str = "", site: str = SITE) -> Plan:
    use = f'[use.g]\nfrom = ["t"]\ncrop = "lawn"\ngarden-area = "20 m2"\n{more}\n'
    return plan_of(DAY_STEPS, site, PLAIN_ROOF, REST, use)


def steady(days: int = 730, *, low: float = 8.0, high: float = 22.0) -> RainRecord:
    return replace(dry(days), tmin_degc=np.full(days, low), tmax_degc=np.full(days, high))


def test_without_rain_and_store_it_is_evaporation_times_area() -> None:
    plan = garden('growing = { months = [6], root-store = "0 mm", reaches = 1 }')
    wants = garden_wants_m3(plan, plan.uses["g"], steady(365))
    day = 196.0  # 15 July is outside; 15 June is day 166 of a year of 365
    assert wants[int(day) - 1] == 0.0
    top = extraterrestrial_mj_per_m2_day(50.8, day_of_year=166.0)
    grass = hargreaves_m_per_day(top, tmin_degc=8.0, tmax_degc=22.0)
    assert wants[165] == pytest.approx(20.0 * 0.95 * grass, rel=1e-9)
    assert (wants[:151] == 0.0).all() and (wants[181:] == 0.0).all() and (wants[151:181] > 0).all()


def test_the_engine_wants_it_day_by_day() -> None:
    plan, record = garden(), steady()
    run = simulate(plan, record)
    column = run.wanted_m3[:, run.use_ids.index("g")]
    np.testing.assert_array_equal(column, garden_wants_m3(plan, plan.uses["g"], record))
    assert column.sum() > 0.0 and run.delivered_m3.sum() <= column.sum() + 1e-9


def test_rain_is_worth_water_and_losses_cost_it() -> None:
    plan, dry_record = garden(), steady()
    wet = replace(dry_record, depth_m=np.full(730, 0.003))
    use = plan.uses["g"]
    assert garden_wants_m3(plan, use, wet).sum() < garden_wants_m3(plan, use, dry_record).sum()
    leaky = garden('growing = { reaches = "45 %" }')
    assert garden_wants_m3(leaky, leaky.uses["g"], dry_record).sum() == pytest.approx(
        2.0 * garden_wants_m3(plan, use, dry_record).sum()
    )
    half = garden(f"months = {[0.5] * 12}")
    assert garden_wants_m3(half, half.uses["g"], dry_record).sum() == pytest.approx(
        0.5 * garden_wants_m3(plan, use, dry_record).sum()
    )


def test_the_warm_half_of_the_year_is_grown_in() -> None:
    north, south = garden(), garden(site='[site]\nlatitude = "-33 deg"\n')
    assert growing_months(north, north.uses["g"]) == (4, 5, 6, 7, 8, 9)
    assert growing_months(south, south.uses["g"]) == (10, 11, 12, 1, 2, 3)
    wants = garden_wants_m3(south, south.uses["g"], steady(365))
    assert wants[10] > 0.0 and wants[200] == 0.0


def test_a_record_without_temperatures_is_refused() -> None:
    plan = garden()
    with pytest.raises(RecordError, match="REC-096"):
        simulate(plan, dry(30))
    assert garden_rows(plan, dry(30)) == () and garden_rows(plan, None) == ()


def test_missing_days_lie_between_their_neighbours() -> None:
    plan, record = garden(), steady()
    assert record.tmin_degc is not None
    low = record.tmin_degc.copy()
    low[100:110] = np.nan
    use = plan.uses["g"]
    np.testing.assert_allclose(
        garden_wants_m3(plan, use, replace(record, tmin_degc=low)),
        garden_wants_m3(plan, use, record),
    )


def test_a_year_of_brussels() -> None:
    record = read(DATA / "brussels_daily_1976_2005.csv")
    (row,) = garden_rows(garden(), record)
    assert row.crop == "lawn" and row.months == (4, 5, 6, 7, 8, 9)
    # Grass at Brussels evaporates 0.5 to 0.8 m a year; common practice, no source.
    assert 0.5 < row.reference_m_per_year < 0.8
    assert 0.0 < row.want_m3_per_year < 20.0 * row.crop_m_per_year / 0.9
    assert [f.code for f in garden_findings((row,))] == []
    far = replace(row, other_m_per_year=1.5 * row.reference_m_per_year)
    assert [f.code for f in garden_findings((far,))] == ["GDN-101"]

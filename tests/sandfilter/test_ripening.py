"""Ripeness, cleanings, the schedule, and filters side by side."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.kernels.skin import DAY_S
from roofspring.sandfilter.cleaning import (
    cleaning_plan,
    parallel_filters,
    sand_by_year,
    scrapes_to_resand,
)
from roofspring.sandfilter.ripening import (
    RIPE_FRAC,
    BedLife,
    Ripening,
    cleaning_named,
    cleanings,
    ripening_time_s,
    waste_time,
)
from roofspring.sources import bibliography

V = 0.1 / 3600.0


@settings(deadline=None)  # the kernel may be compiled meanwhile
@given(
    start=st.floats(0.0, 0.999),
    wanted=st.floats(0.0, 0.999),
    temp=st.floats(0.0, 40.0),
    running=st.floats(0.05, 1.0),
)
def test_time_and_ripeness_undo_each_other(
    start: float, wanted: float, temp: float, running: float
) -> None:
    t_s = ripening_time_s(start, temp_degc=temp, wanted_frac=wanted, running_frac=running)
    then = BedLife(start).after(t_s, temp_degc=temp, running_frac=running)
    assert then.ripeness_frac == pytest.approx(max(start, wanted), abs=1e-9)


def test_new_sand_is_ripe_in_the_published_weeks() -> None:
    # Published: 2 to 6 weeks when warm, months in cold water (HUISMAN_WOOD_1974, from memory);
    # household filters up to 30 days (CAWST_SHEET).
    warm = ripening_time_s(temp_degc=20.0) / DAY_S
    cold = ripening_time_s(temp_degc=4.0) / DAY_S
    assert 14.0 <= warm <= 42.0 and warm <= 30.0
    assert 60.0 < cold < 120.0
    assert ripening_time_s(RIPE_FRAC, temp_degc=20.0) == 0.0


@settings(deadline=None)
@given(temp=st.floats(0.0, 39.0))
def test_warmth_ripens_and_cold_preserves(temp: float) -> None:
    assert ripening_time_s(temp_degc=temp + 1.0) < ripening_time_s(temp_degc=temp)
    cold = BedLife(0.9).after(6 * DAY_S, temp_degc=temp, running_frac=0.0)
    warm = BedLife(0.9).after(6 * DAY_S, temp_degc=temp + 1.0, running_frac=0.0)
    assert warm.ripeness_frac < cold.ripeness_frac


def test_a_household_pause_costs_nothing_a_dry_bed_everything() -> None:
    # CAWST_SHEET: a pause of up to 48 hours is usual.
    ripe = BedLife(0.95)
    assert ripe.after(48 * 3600.0, temp_degc=25.0, running_frac=0.0).ripeness_frac == 0.95
    dry = ripe.after(3 * DAY_S, temp_degc=20.0, running_frac=0.0, is_dry=True)
    assert dry.ripeness_frac < 0.01
    # The rest is counted from the last flow, whatever the number of steps.
    two = ripe.after(DAY_S, temp_degc=20.0, running_frac=0.0)
    for _ in range(3):
        two = two.after(DAY_S, temp_degc=20.0, running_frac=0.0)
    four = ripe.after(4 * DAY_S, temp_degc=20.0, running_frac=0.0)
    assert two.ripeness_frac == pytest.approx(four.ripeness_frac, rel=1e-12)
    assert two.stopped_s == four.stopped_s == 4 * DAY_S
    again = two.after(60.0, temp_degc=20.0, running_frac=1.0)
    assert again.stopped_s == 0.0


def test_bad_states_are_refused() -> None:
    with pytest.raises(RangeError, match="DOM-003 ripeness_frac"):
        BedLife(1.1).after(1.0, temp_degc=10.0, running_frac=1.0)
    with pytest.raises(RangeError, match="DOM-002 ripening_per_day"):
        Ripening(ripening_per_day=0.0)
    with pytest.raises(RangeError, match="DOM-004"):
        cleaning_named("sweep")
    with pytest.raises(RangeError, match="DOM-002"):
        ripening_time_s(temp_degc=10.0, running_frac=0.0)


@pytest.mark.parametrize("name", cleanings())
def test_every_cleaning_is_in_order(name: str) -> None:
    row = cleaning_named(name)
    assert row.removed_low_m <= row.removed_m <= row.removed_high_m
    assert row.waste_low_days <= row.waste_days <= row.waste_high_days
    assert 0.0 <= row.skin_left_frac < 1.0 and 0.0 <= row.ripeness_left_frac < 1.0
    assert row.source in bibliography() and row.seen == "memory" and row.title
    skin, ripe, sand = row.apply(4000.0, ripeness_frac=0.9, sand_m=0.7)
    assert skin == row.skin_left_frac * 4000.0
    assert ripe == row.ripeness_left_frac * 0.9
    assert sand == pytest.approx(0.7 - row.removed_m, rel=1e-12)
    warm, cold = waste_time(name, temp_degc=20.0), waste_time(name, temp_degc=10.0)
    assert warm.usual_s == pytest.approx(row.waste_days * DAY_S, rel=1e-12)
    assert cold.usual_s == pytest.approx(warm.usual_s * 1.066**10, rel=1e-12)


def test_a_gentler_cleaning_keeps_more_ripeness() -> None:
    kept = [cleaning_named(n).ripeness_left_frac for n in ("rake", "swirl", "scrape", "re-sand")]
    assert kept == sorted(kept, reverse=True)


def test_the_drop_at_a_scrape_agrees_with_the_one_that_was_measured() -> None:
    # SCHIJVEN_2013, runs D1 (137 days old) and D2 (4 days after the skin was taken): E. coli 4.5
    # and 2.9 log at 14 degrees C. With 1 log for new sand (BELLAMY_1985) and log in proportion to
    # ripeness, the share left just after the scrape lies near one half.
    at_day_4 = (2.9 - 1.0) / (4.5 - 1.0)
    just_after = BedLife(cleaning_named("scrape").ripeness_left_frac)
    ours = just_after.after(4 * DAY_S, temp_degc=14.0, running_frac=1.0).ripeness_frac
    assert ours == pytest.approx(at_day_4, abs=0.1)


@given(
    full=st.integers(300, 1500),
    least=st.integers(100, 900),
    step=st.integers(1, 60),
)
def test_scrapes_are_counted_in_whole_millimetres(full: int, least: int, step: int) -> None:
    ours = scrapes_to_resand(full / 1e3, least_m=least / 1e3, scrape_m=step / 1e3)
    assert ours == max(0, full - least) // step


@given(
    step=st.integers(5, 30),
    per_year=st.floats(0.0, 15.0),
    years=st.integers(1, 40),
)
def test_sand_never_falls_below_the_least(step: int, per_year: float, years: int) -> None:
    rows = sand_by_year(
        0.8, least_m=0.5, scrape_m=step / 1e3, scrapes_per_year=per_year, years=years
    )
    assert len(rows) == years
    assert all(0.5 - 1e-12 <= row.sand_left_m <= 0.8 for row in rows)
    cleanings = sum(row.scrapes_count + row.resands_count for row in rows)
    assert cleanings == math.floor(round(years * per_year, 9))
    # Closed form: so many scrapes as the sand allows, then new sand in place of one, and again.
    allowed = 300 // step
    assert rows[-1].sand_left_m == pytest.approx((800 - cleanings % (allowed + 1) * step) / 1e3)
    assert sum(row.resands_count for row in rows) == cleanings // (allowed + 1)


def test_a_bed_too_shallow_for_one_scrape() -> None:
    with pytest.raises(RangeError, match="BED-008"):
        sand_by_year(0.51, least_m=0.5, scrape_m=0.015, scrapes_per_year=6.0, years=3)
    with pytest.raises(RangeError, match="DOM-002 scrape_m"):
        scrapes_to_resand(0.8, least_m=0.5, scrape_m=0.0)


def test_the_plan_of_a_year_closes() -> None:
    plan = cleaning_plan(
        58 * DAY_S,
        waste_s=2 * DAY_S,
        rate_m_per_s=V,
        area_m2=0.5,
        depth_m=0.8,
        least_m=0.5,
        scrape_m=0.015,
    )
    assert plan.cleanings_per_year == pytest.approx(365.25 / 60.0)
    assert plan.away_frac == pytest.approx(2.0 / 60.0)
    assert plan.waste_m3_per_year == pytest.approx(2.4 * 365.25 / 60.0)
    assert plan.scrapes_left_count == 20
    assert plan.years_to_resand_years == pytest.approx(20 / (365.25 / 60.0))
    raked = cleaning_plan(
        58 * DAY_S,
        waste_s=DAY_S,
        rate_m_per_s=V,
        area_m2=0.5,
        depth_m=0.8,
        least_m=0.5,
        scrape_m=0.0,
        work_s=3600.0,
    )
    assert raked.scrapes_left_count == 0 and math.isinf(raked.years_to_resand_years)
    assert json.loads(json.dumps(raked.to_dict(), allow_nan=False))["years_to_resand_years"] is None


@given(
    flow=st.floats(1e-7, 2e-5),
    area=st.floats(0.05, 2.0),
    design=st.floats(0.05, 0.2),
    peak=st.floats(1.0, 3.0),
)
def test_side_by_side_filters_keep_both_rates_and_one_fewer_would_not(
    flow: float, area: float, design: float, peak: float
) -> None:
    case = {
        "area_m2": area,
        "design_m_per_s": design / 3600.0,
        "most_m_per_s": peak * design / 3600.0,
        "run_s": 60 * DAY_S,
        "away_s": 3 * DAY_S,
    }
    each = flow / area * 3600.0
    if each > 12 * design or each > 11 * peak * design:
        with pytest.raises(RangeError, match="BED-009"):
            parallel_filters(flow, **case)
        return
    beds = parallel_filters(flow, **case)
    n = beds.filters_count
    assert n >= 2
    assert beds.rate_m_per_s * 3600 <= design * (1 + 1e-12)
    assert beds.rate_one_out_m_per_s * 3600 <= peak * design * (1 + 1e-12)
    if n > 2:
        assert each / (n - 1) > design or each / (n - 2) > peak * design
    assert beds.is_staggered == (3 * n <= 63)


def test_long_ripening_cannot_be_staggered() -> None:
    beds = parallel_filters(
        0.2 / DAY_S,
        area_m2=0.1,
        design_m_per_s=V,
        most_m_per_s=2 * V,
        run_s=20 * DAY_S,
        away_s=25 * DAY_S,
    )
    assert not beds.is_staggered

"""Swales: their own books, and what the engine's overflow does to them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import DAY_STEPS, PLAIN_ROOF, pipe, plan_of, record_of, tank, use
from roofspring.errors import RangeError
from roofspring.hydraulics import green_ampt_m, soil_classes
from roofspring.hydraulics.infiltration import SoilClass
from roofspring.network.simulate import simulate
from roofspring.network.swale import (
    DRY_FRAC,
    Swales,
    SwaleStorm,
    assess_swales,
    soak_through,
    storm_findings,
    swales_in_storm,
)
from roofspring.network.window import simulate_window

LOAM = soil_classes()["loam"]
SWALE = '[swale.s]\narea = "10 m2"\ndepth = "0.2 m"\nsoil = "loam"\n'


@settings(max_examples=60, deadline=None)
@given(
    came=st.lists(st.sampled_from([0.0, 0.0, 0.01, 0.1, 0.9]), min_size=1, max_size=25),
    soil=st.sampled_from(list(soil_classes().values())),
    depth=st.floats(0.05, 0.6),
)
def test_what_comes_soaks_spills_or_stands(
    came: list[float], soil: SoilClass, depth: float
) -> None:
    water = np.array(came)
    found = soak_through(water, depth_m=depth, soil=soil, soak_m_per_s=1e-6)
    whole = found.soaked_m.sum() + found.spilled_m.sum() + found.standing_m[-1]
    assert whole == pytest.approx(water.sum(), abs=1e-12)
    assert (found.standing_m <= depth + 1e-12).all() and (found.spilled_m >= 0.0).all()


def test_a_deeper_swale_never_spills_more() -> None:
    water = np.array([0.5, 0.0, 0.3, 0.8, 0.0, 0.0, 0.0, 0.4])
    spilled = [
        soak_through(water, depth_m=d, soil=LOAM, soak_m_per_s=1e-6).spilled_m.sum()
        for d in (0.1, 0.2, 0.4, 0.8)
    ]
    assert spilled == sorted(spilled, reverse=True) and spilled[0] > spilled[-1]


def test_under_steady_water_it_soaks_as_green_and_ampt() -> None:
    # So much comes that the swale stands full to its rim through the six hours of the inflow.
    found = soak_through(np.array([90.0]), depth_m=0.2, soil=LOAM, soak_m_per_s=1e-6)
    full = green_ampt_m(
        6 * 3600.0,
        soak_m_per_s=1e-6,
        suction_m=LOAM.suction_m + 0.2,
        filled_frac=(1.0 - DRY_FRAC) * LOAM.porosity_frac,
    )
    assert found.spilled_m[0] == pytest.approx(90.0 - full - 0.2, rel=1e-9)


def test_no_rate_no_answer() -> None:
    with pytest.raises(RangeError, match="DOM-002"):
        soak_through(np.ones(2), depth_m=0.2, soil=LOAM, soak_m_per_s=0.0)


def overflowing(swale: str = SWALE) -> Swales:
    plan = plan_of(
        DAY_STEPS,
        PLAIN_ROOF,
        tank("t", volume_m3=1.0, start=1.0),
        swale,
        pipe("p", "r", "t"),
        pipe("o", "t.overflow", "s"),
        use("u", "t", "1 L/day"),
    )
    return assess_swales(plan, simulate(plan, record_of([80, 0, 0, 60, 0, 0, 0, 0])))


def test_it_takes_what_the_engine_spills() -> None:
    found = overflowing()
    (row,) = found.rows
    # 14 m3 fell on 100 m2, the tank was full, and the use took a litre a day of it.
    years = 8 / 365.25
    assert row.came_m3_per_year is not None and row.spilled_m3_per_year is not None
    assert row.came_m3_per_year * years == pytest.approx(14.0, abs=0.01)
    assert 0.0 < row.spilled_m3_per_year < row.came_m3_per_year
    assert row.holds_m3 == pytest.approx(2.0)
    # 0.2 m at 0.3 in/h, the manual's rate for loam.
    assert row.drain_hours == pytest.approx(0.2 / (0.3 * 0.0254))
    assert "SWL-102" in [f.code for f in found.findings]


def test_a_test_hole_goes_before_the_name_of_the_soil() -> None:
    slow = overflowing(SWALE + 'soak = { rate = "4 mm/h" }\n')
    assert slow.rows[0].drain_hours == pytest.approx(200.0 / 2.0)
    assert "SWL-101" in [f.code for f in slow.findings]


def test_without_a_run_only_the_time_to_drain() -> None:
    (row,) = assess_swales(plan_of(SWALE)).rows
    assert row.came_m3_per_year is None and row.drain_hours > 0.0


@pytest.mark.parametrize(
    ("soak", "code"),
    [
        ('from-building = "2 m"', "SWL-103"),
        ('from-building = "8 m"', ""),
        ('over-water-table = "0.5 m"', "SWL-104"),
        ('over-water-table = "2 m"', ""),
    ],
)
def test_what_is_near(soak: str, code: str) -> None:
    found = assess_swales(plan_of(SWALE + f"soak = {{ {soak} }}\n"))
    assert [f.code for f in found.findings] == ([code] if code else [])


def test_what_is_not_given_is_named() -> None:
    (note,) = assess_swales(plan_of('[swale.s]\narea = "10 m2"\nsoil = "loam"\n')).findings
    assert note.code == "SWL-105" and note.got == "no depth"
    assert assess_swales(plan_of('[swale.s]\narea = "10 m2"\n')).findings == ()


def windowed(rain_mm: float, *, step_s: float = 300.0, swale: str = SWALE) -> SwaleStorm:
    """A full tank in an hour of rain and two dry hours, all of it spilled into the swale."""
    plan = plan_of(
        DAY_STEPS, PLAIN_ROOF, tank("t", volume_m3=1.0, start=1.0), swale,
        pipe("p", "r", "t"), pipe("o", "t.overflow", "s"), use("u", "t", "0 L/day"),
    )  # fmt: skip
    count = round(3600.0 / step_s)
    rain = np.concatenate((np.full(count, rain_mm / 1e3 / count), np.zeros(2 * count)))
    (row,) = swales_in_storm(plan, simulate_window(plan, rain, step_s=step_s, month=5))
    return row


def test_minute_by_minute_the_books_of_a_swale_close() -> None:
    for rain_mm in (5.0, 40.0, 90.0):
        row = windowed(rain_mm)
        assert row.came_m3 == pytest.approx(rain_mm * 0.1, rel=1e-6)
        assert row.soaked_m3 + row.spilled_m3 + row.stands_m3 == pytest.approx(row.came_m3)
        assert row.deepest_m <= 0.2 + 1e-12
        assert (row.full_after_s is None) == (row.spilled_m3 == 0.0)


def test_a_swale_in_ever_finer_steps_tells_the_same() -> None:
    coarse, fine = windowed(40.0, step_s=300.0), windowed(40.0, step_s=60.0)
    assert coarse.soaked_m3 == pytest.approx(fine.soaked_m3, rel=0.02)
    assert coarse.spilled_m3 == pytest.approx(fine.spilled_m3, rel=0.02)


def test_under_standing_water_it_soaks_as_the_closed_form_says() -> None:
    """Filled at once to its rim, the ground takes what Green and Ampt's equation gives."""
    rows = [windowed(rain_mm) for rain_mm in (60.0, 90.0)]
    # Both stand full nearly from the start, so the ground takes the same.
    assert rows[0].soaked_m3 == pytest.approx(rows[1].soaked_m3, rel=0.05)
    rate = min(LOAM.soak_m_per_s, LOAM.design_m_per_s)
    deep = green_ampt_m(
        3.0 * 3600.0, soak_m_per_s=rate, suction_m=LOAM.suction_m + 0.2,
        filled_frac=0.7 * LOAM.porosity_frac,
    )  # fmt: skip
    assert rows[1].soaked_m3 == pytest.approx(10.0 * deep, rel=0.05)


def test_a_storm_that_fills_it_is_told() -> None:
    plan = plan_of(SWALE)
    (found,) = storm_findings((windowed(90.0),), plan)
    assert found.code == "SWL-106" and "minutes" in found.got
    assert list(storm_findings((windowed(5.0),), plan)) == []

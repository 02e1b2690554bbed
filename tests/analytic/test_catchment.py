"""Roof runoff: nothing is made or lost, and each part of the chain does what it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from roofspring.catchment import (
    annual_yield_m3,
    event_yield,
    first_flush_depth_m,
    first_flush_volume_m3,
    kept_wash_off_frac,
    roof_materials,
    wash_off_left_frac,
)
from roofspring.errors import RangeError
from roofspring.sources import cite

shares = st.floats(0.0, 1.0)
events = st.fixed_dictionaries(
    {
        "area_m2": st.floats(1.0, 1000.0),
        "runoff_frac": shares,
        "wetting_m": st.floats(0.0, 0.005),
        "first_flush_m3": st.floats(0.0, 1.0),
        "screen_frac": shares,
    }
)


@given(rain_m=st.floats(0.0, 0.5), event=events)
def test_all_water_is_accounted_for(rain_m: float, event: dict[str, float]) -> None:
    got = event_yield(rain_m, **event)
    parts = (got.wetting_m3, got.splashed_m3, got.diverted_m3, got.rejected_m3, got.caught_m3)
    assert min(parts) >= -1e-12 * got.fell_m3
    assert sum(parts) == pytest.approx(got.fell_m3, rel=1e-12, abs=1e-15)
    assert got.fell_m3 == rain_m * event["area_m2"]


@given(rain_m=st.floats(0.0, 0.5), more=st.floats(1.0, 3.0), event=events)
def test_more_rain_never_gives_less(rain_m: float, more: float, event: dict[str, float]) -> None:
    less_m3 = event_yield(rain_m, **event).caught_m3
    assert event_yield(rain_m * more, **event).caught_m3 >= less_m3 * (1.0 - 1e-12)


def test_a_shower_smaller_than_the_wetting_gives_nothing() -> None:
    got = event_yield(
        0.0004,
        area_m2=100.0,
        runoff_frac=0.9,
        wetting_m=0.0005,
        first_flush_m3=0.1,
        screen_frac=0.9,
    )
    assert got.runoff_m3 == 0.0
    assert got.wetting_m3 == pytest.approx(0.04)


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [("area_m2", 0.0, "DOM-002"), ("runoff_frac", 1.2, "DOM-003"), ("wetting_m", -1.0, "DOM-002")],
)
def test_what_cannot_be_is_refused(name: str, value: float, code: str) -> None:
    event = {
        "area_m2": 100.0,
        "runoff_frac": 0.9,
        "wetting_m": 0.0005,
        "first_flush_m3": 0.1,
        "screen_frac": 0.9,
    }
    with pytest.raises(RangeError, match=f"{code} {name}"):
        event_yield(0.01, **{**event, name: value})


def test_a_year_without_enough_rain_gives_nothing() -> None:
    assert annual_yield_m3(0.020, area_m2=100.0, runoff_frac=0.8) == 0.0


@given(depth_m=st.floats(0.0, 0.01), area_m2=st.floats(1.0, 1000.0))
def test_first_flush_depth_and_volume_undo_each_other(depth_m: float, area_m2: float) -> None:
    volume_m3 = first_flush_volume_m3(area_m2, depth_m=depth_m)
    assert first_flush_depth_m(volume_m3, area_m2=area_m2) == pytest.approx(depth_m, rel=1e-14)


@pytest.mark.parametrize(("rain_m", "flush_m"), [(0.01, 0.0), (0.01, 0.002), (0.003, 0.0029)])
def test_mean_wash_off_is_the_integral(rain_m: float, flush_m: float) -> None:
    total, _ = quad(wash_off_left_frac, flush_m, rain_m, epsabs=0.0, epsrel=1e-12)
    ours = kept_wash_off_frac(rain_m, flush_m=flush_m)
    assert ours == pytest.approx(total / (rain_m - flush_m), rel=1e-9)


def test_mean_wash_off_of_nothing_kept_is_that_of_the_last_drop() -> None:
    assert kept_wash_off_frac(0.002, flush_m=0.002) == 0.25
    assert kept_wash_off_frac(0.002 + 1e-12, flush_m=0.002) == pytest.approx(0.25, rel=1e-8)


def test_the_roof_table_is_whole() -> None:
    materials = roof_materials()
    assert set(materials) == {
        "metal",
        "glazed-tile",
        "slate",
        "concrete-tile",
        "asphalt-shingle",
        "membrane",
        "gravel",
    }
    for material in materials.values():
        # Published coefficients of roofs that are not green run from 0.5 to 0.95.
        assert 0.5 <= material.runoff_frac <= 0.95
        assert 0.0 < material.wetting_m <= 0.003
        assert cite(material.source)
        assert material.seen in {"read", "quoted", "memory", "computed"}
    smooth_first = np.array([m.runoff_frac for m in materials.values()])
    assert np.all(np.diff(smooth_first) <= 0.0)

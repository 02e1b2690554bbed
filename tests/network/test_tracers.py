"""Raw water and the age of water, carried with the run: against mixing by hand and by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from scipy.integrate import solve_ivp

from network.build import dry, pipe, plan_of, ran, record_of, tank, use
from properties.graphs import plans
from properties.test_engine import weather
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate

EVEN = '[run]\nwet-step = "1 h"\ndry-step = "1 h"\n[rain]\nwithin-day = "even"\n'
BARE = '[roof.r]\narea = "100 m2"\nmaterial = "slate"\ncoefficient = 1\nwetting = "0 mm"\n'


def store(result: RunResult, name: str) -> int:
    return result.store_ids.index(name)


def test_water_of_a_still_tank_ages_a_day_a_day() -> None:
    result = ran(dry(20), EVEN, tank("t", volume_m3=1.0, start=0.5))
    np.testing.assert_allclose(result.age_days[:, 0], np.arange(1.0, 21.0), rtol=1e-12)
    assert (result.raw_frac == 1.0).all()  # no sand stands before it


def test_a_full_tank_under_steady_flow_holds_water_as_old_as_its_turnover() -> None:
    # A well-mixed store with through-flow q and content V: dA/dt = 1 - A q / V, in the end V / q.
    # 1 m3 a day through 5 m3; by scipy for the way there.
    text = BARE + tank("t", volume_m3=5.0, start=1.0) + pipe("p", "r", "t")
    result = ran(record_of([10.0] * 40), EVEN, text)
    true = solve_ivp(lambda _, a: 1.0 - a / 5.0, (0, 40), [0.0], t_eval=np.arange(1, 41), rtol=1e-9)
    # Each hour mixes before it leaves: half a step of 1/120 of the turnover.
    np.testing.assert_allclose(result.age_days[:, 0], true.y[0], rtol=0.01)
    assert result.age_days[-1, 0] == pytest.approx(5.0, rel=0.01)


def test_what_passes_sand_is_filtered_and_what_goes_round_it_is_not() -> None:
    text = (
        tank("raw", volume_m3=9.0, start=1.0, more='base = "5 m"\n')
        + tank("clean", volume_m3=9.0, start=0.0)
        + '[filter.f]\narea = "1 m2"\n'
        + pipe("a", "raw", "f", 'valve = { kind = "float" }')
        + pipe("b", "f", "clean")
        + use("u", "clean", "100 L/day")
    )
    clean = ran(dry(5), EVEN, text)
    assert clean.raw_delivered_m3.sum() == 0.0 and clean.delivered_m3.sum() > 0.0
    assert clean.raw_frac[-1, store(clean, "raw")] == 1.0
    assert clean.raw_frac[-1, store(clean, "clean")] == 0.0


def test_a_bypass_mixes_by_volumes() -> None:
    # 1 m3 of filtered water stands there; 0.5 m3 of raw water comes in one day: a third is raw.
    text = (
        BARE
        + '[filter.f]\narea = "1 m2"\n'
        + tank("cistern", volume_m3=9.0, start=1.0 / 9.0)
        + pipe("p", "r", "cistern")
        + pipe("q", "f", "cistern")
    )
    result = ran(record_of([5.0, 0.0]), EVEN, text)
    i = store(result, "cistern")
    assert result.raw_frac[0, i] == pytest.approx(0.5 / 1.5, rel=1e-12)
    assert result.raw_frac[1, i] == pytest.approx(0.5 / 1.5, rel=1e-12)
    # The old water is a day old, the new half a day on average.
    assert result.age_days[0, i] == pytest.approx((1.0 * 1.0 + 0.5 * 0.5) / 1.5, rel=0.03)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=plans())
def test_no_raw_water_is_made_or_lost(text: str) -> None:
    result = simulate(plan_of(text), weather())
    shares = result.raw_frac
    assert (shares >= -1e-12).all() and (shares <= 1.0 + 1e-12).all()
    assert (result.age_days >= -1e-9).all() and (result.age_days <= len(result.days) + 1e-9).all()
    assert (result.raw_delivered_m3 <= result.delivered_m3 + 1e-12).all()
    # Where no filter stands all water is raw, and all that is delivered.
    if not result.filter_ids:
        np.testing.assert_allclose(result.raw_delivered_m3, result.delivered_m3, atol=1e-12)

"""Run lengths: closed forms, an ODE solver, day by day, and what must hold for any filter."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofspring.errors import RangeError, codes
from roofspring.kernels.skin import DAY_S
from roofspring.sandfilter import cake_run_s
from roofspring.sandfilter.published_runs import published_runs, run_findings
from roofspring.sandfilter.run_length import (
    FilterRun,
    run_at_head,
    run_at_rate,
    run_through_seasons,
    runs_by_rate,
)
from roofspring.sandfilter.skin import (
    GROWTH_LAWS,
    GrowthLaw,
    Season,
    cake_from_solids_s_per_m,
    clogged_sand_factor,
    skin_thickness_m,
    solids_load_kg_per_m2_day,
)
from roofspring.sources import bibliography
from roofspring.water import viscosity_ratio

CAKE, BY_TIME, BY_WATER = GROWTH_LAWS.values()
BED_S = 0.8 / (2.74 / 3600.0)
V = 0.1 / 3600.0

laws = st.one_of(
    st.sampled_from(list(GROWTH_LAWS.values())),
    st.builds(
        GrowthLaw,
        st.just("mixed"),
        st.just("all three at once"),
        st.floats(1.0, 1000.0),
        st.floats(1e-4, 0.1),
        st.floats(1e-4, 0.2),
    ),
)
rates = st.floats(0.02 / 3600.0, 0.4 / 3600.0)
heads = st.floats(0.3, 2.0)
beds_s = st.floats(200.0, 3000.0)
temps = st.floats(0.0, 35.0)


@given(rate=rates, head=heads, bed=beds_s)
def test_the_cake_run_is_the_one_known_already(rate: float, head: float, bed: float) -> None:
    ours = run_at_rate(rate, head_m=head, bed_resistance_s=bed, law=CAKE)
    theirs = cake_run_s(
        rate,
        head_m=head,
        depth_m=1.0,
        conductivity_m_per_s=1.0 / bed,
        cake_s_per_m=CAKE.cake_s_per_m,
    )
    assert ours.time_s == pytest.approx(theirs, rel=1e-9, abs=1e-6)


def test_by_time_and_by_water_are_the_closed_form_of_the_logarithm() -> None:
    # h0 0.05 m to 0.90 m at 0.06 a day: ln(18) / 0.06 = 48.17 days.
    law = GrowthLaw("x", "x", growth_per_day=0.06)
    run = run_at_rate(V, head_m=0.90, bed_resistance_s=0.05 / V, law=law)
    assert run.time_s / DAY_S == pytest.approx(math.log(18.0) / 0.06, rel=1e-12)
    same = run_at_rate(
        V, head_m=0.90, bed_resistance_s=0.05 / V, law=GrowthLaw("x", "x", growth_per_m=0.06 / 2.4)
    )
    assert same.time_s == pytest.approx(run.time_s, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(law=laws, rate=rates, bed=beds_s, temp=temps, factor=st.floats(0.2, 4.0))
def test_at_a_rate_against_an_ode_solver(
    law: GrowthLaw, rate: float, bed: float, temp: float, factor: float
) -> None:
    head = 0.9
    ours = run_at_rate(
        rate, head_m=head, bed_resistance_s=bed, law=law, temp_degc=temp, load_factor=factor
    )
    if ours.ended_by == "at-once":
        assert rate * bed * viscosity_ratio(temp) >= head * (1 - 1e-12)
        return
    end_s = head / (rate * viscosity_ratio(temp)) - bed
    skin = law.after_s(
        0.0,
        bed_resistance_s=bed,
        filtered_m=ours.filtered_m,
        time_s=ours.time_s,
        load_factor=factor,
    )
    assert skin == pytest.approx(end_s, rel=1e-9)
    run = solve_ivp(
        lambda _, r: (
            factor
            * (
                law.cake_s_per_m * rate
                + (law.growth_per_m * rate + law.growth_per_day / DAY_S) * (bed + r)
            )
        ),
        (0.0, ours.time_s),
        [0.0],
        rtol=1e-10,
        atol=1e-8,
    )
    assert run.y[0, -1] == pytest.approx(end_s, rel=1e-7)


def test_at_a_level_the_cake_has_a_closed_form() -> None:
    # t = (R V + a V**2 / 2) / H, elementary integral of v = H / (R + a V).
    head, least = 0.5, 0.05 / 3600.0
    run = run_at_head(head, least_m_per_s=least, bed_resistance_s=BED_S, law=CAKE)
    v_m = (head / least - BED_S) / CAKE.cake_s_per_m
    t_s = (BED_S * v_m + CAKE.cake_s_per_m * v_m**2 / 2.0) / head
    assert run.filtered_m == pytest.approx(v_m, rel=1e-12)
    assert run.time_s == pytest.approx(t_s, rel=1e-12)
    assert run.ended_by == "rate" and run.last_m_per_s == least


def test_at_a_level_growth_by_time_has_a_closed_form() -> None:
    # X = X0 exp(k t), V = H (1 - exp(-k t)) / (X0 k), elementary.
    head, least = 0.5, 0.05 / 3600.0
    run = run_at_head(head, least_m_per_s=least, bed_resistance_s=BED_S, law=BY_TIME)
    k = BY_TIME.growth_per_day / DAY_S
    t_s = math.log(head / least / BED_S) / k
    assert run.time_s == pytest.approx(t_s, rel=1e-12)
    assert run.filtered_m == pytest.approx(head / (BED_S * k) * -math.expm1(-k * t_s), rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(
    law=laws,
    head=heads,
    bed=beds_s,
    temp=temps,
    most=st.one_of(st.just(math.inf), st.floats(0.12 / 3600.0, 0.6 / 3600.0)),
)
def test_at_a_level_against_an_ode_solver(
    law: GrowthLaw, head: float, bed: float, temp: float, most: float
) -> None:
    least = 0.04 / 3600.0
    ours = run_at_head(
        head,
        least_m_per_s=least,
        bed_resistance_s=bed,
        law=law,
        temp_degc=temp,
        most_m_per_s=most,
    )
    stiffer = viscosity_ratio(temp)
    if ours.ended_by == "at-once":
        assert head / (stiffer * bed) <= least * (1 + 1e-12)
        return

    def slope(_: float, y: npt.NDArray[np.float64]) -> list[float]:
        whole_s = bed + float(y[0])
        v = min(head / (stiffer * whole_s), most)
        grown = law.cake_s_per_m * v + (law.growth_per_m * v + law.growth_per_day / DAY_S) * whole_s
        return [grown, v]

    run = solve_ivp(
        slope,
        (0.0, ours.time_s),
        [0.0, 0.0],
        rtol=1e-9,
        atol=1e-8,
        max_step=ours.time_s / 200.0,
    )
    assert ours.end_skin_s == pytest.approx(run.y[0, -1], rel=2e-5)
    assert ours.filtered_m == pytest.approx(run.y[1, -1], rel=2e-5)


@given(law=laws, head=heads, bed=beds_s, rate=rates, more=st.floats(1.01, 3.0), temp=temps)
def test_a_faster_filter_never_runs_longer_nor_gives_more(
    law: GrowthLaw, head: float, bed: float, rate: float, more: float, temp: float
) -> None:
    slow, fast = runs_by_rate(
        [rate, more * rate], head_m=head, bed_resistance_s=bed, law=law, temp_degc=temp
    )
    assert fast.time_s <= slow.time_s
    if law is CAKE:  # a quarter of the run and less, and half of the water, at twice the rate
        assert fast.time_s <= slow.time_s / more**2 * (1 + 1e-9)


@given(law=laws, bed=beds_s, rate=rates, temp=temps, factor=st.floats(1.0, 5.0))
def test_colder_dirtier_or_less_head_never_lengthens_a_run(
    law: GrowthLaw, bed: float, rate: float, temp: float, factor: float
) -> None:
    def run(**other: float) -> float:
        case = {"head_m": 1.0, "temp_degc": temp, "load_factor": 1.0, **other}
        return run_at_rate(rate, bed_resistance_s=bed, law=law, **case).time_s

    assert run(temp_degc=max(0.0, temp - 5.0)) <= run()
    assert run(load_factor=factor) <= run() * (1 + 1e-12)
    assert run(head_m=0.8) <= run()
    assert run(skin_resistance_s=500.0) <= run()


def test_the_surface_cake_halves_its_water_at_twice_the_rate() -> None:
    one, two = runs_by_rate([V, 2 * V], head_m=0.9, bed_resistance_s=BED_S, law=CAKE)
    assert two.time_s / one.time_s == pytest.approx(0.24, abs=0.005)
    assert two.filtered_m / one.filtered_m == pytest.approx(0.48, abs=0.005)


def test_the_clean_bed_of_a_level_filter_runs_many_times_too_fast() -> None:
    free = run_at_head(0.5, least_m_per_s=V, bed_resistance_s=BED_S, law=CAKE)
    held = run_at_head(0.5, least_m_per_s=V, bed_resistance_s=BED_S, law=CAKE, most_m_per_s=2 * V)
    assert free.first_m_per_s > 17 * V and held.first_m_per_s == 2 * V
    # The same water passes until the same resistance: the throttle costs no water, it takes time.
    assert held.filtered_m == pytest.approx(free.filtered_m, rel=1e-9)
    assert held.time_s > free.time_s


def test_runs_that_never_end_or_never_begin() -> None:
    none = run_at_rate(V, head_m=0.9, bed_resistance_s=BED_S, law=CAKE, load_factor=0.0)
    assert none.ended_by == "never" and math.isinf(none.time_s)
    assert json.loads(json.dumps(none.to_dict(), allow_nan=False))["time_s"] is None
    still = run_at_head(0.5, least_m_per_s=V, bed_resistance_s=BED_S, law=CAKE, load_factor=0.0)
    assert still.ended_by == "never"
    tight = run_at_rate(V, head_m=0.9, bed_resistance_s=1e5, law=CAKE)
    assert tight == FilterRun(0.0, 0.0, V, V, 0.0, "at-once")
    low = run_at_head(0.01, least_m_per_s=V, bed_resistance_s=BED_S, law=CAKE)
    assert low.ended_by == "at-once" and low.time_s == 0.0


@pytest.mark.parametrize("law", GROWTH_LAWS.values(), ids=list(GROWTH_LAWS))
def test_day_by_day_is_the_whole_run_where_nothing_changes(law: GrowthLaw) -> None:
    whole = run_at_rate(V, head_m=0.9, bed_resistance_s=BED_S, law=law, temp_degc=12.0)
    days = run_through_seasons(
        V, head_m=0.9, bed_resistance_s=BED_S, law=law, start_day=300, temps_degc=[12.0] * 12
    )
    assert days.time_s == pytest.approx(whole.time_s, rel=1e-9)
    assert days.end_skin_s == pytest.approx(whole.end_skin_s, rel=1e-9)


def test_pollen_and_cold_shorten_the_run_that_meets_them() -> None:
    pollen = [Season(100, 150, 4.0)]
    case = {"head_m": 0.9, "bed_resistance_s": BED_S, "law": CAKE}

    def days(start: int, **other: object) -> float:
        return run_through_seasons(V, start_day=start, **case, **other).time_s / DAY_S  # type: ignore[arg-type]  # a table of mixed kinds

    assert days(95, seasons=pollen) < days(95) / 2
    assert days(160, seasons=pollen) == pytest.approx(days(160), rel=1e-9)
    # Two seasons at once multiply; a season may span New Year.
    both = days(95, seasons=[*pollen, Season(90, 160, 2.0)])
    assert both < days(95, seasons=pollen)
    assert days(340, seasons=[Season(330, 40, 3.0)]) < days(340)
    winter = [2.0, 2.0, 5.0, 9.0, 13.0, 17.0, 20.0, 20.0, 16.0, 11.0, 6.0, 3.0]
    assert days(320, temps_degc=winter) < days(320)
    # A warm start that a cold day ends at once: the day the water turns cold is the end.
    near = replace(CAKE, cake_s_per_m=1e-6)
    step = run_through_seasons(
        V,
        head_m=V * BED_S * 1.2,
        bed_resistance_s=BED_S,
        law=near,
        start_day=213,
        temps_degc=[5.0] * 8 + [5.0] * 4,
    )
    assert step.ended_by == "at-once" and step.time_s == 0.0
    turn = run_through_seasons(
        V,
        head_m=V * BED_S * 1.2,
        bed_resistance_s=BED_S,
        law=near,
        start_day=213,
        temps_degc=[20.0] * 9 + [5.0] * 3,
    )
    assert turn.ended_by == "head" and turn.time_s == 61 * DAY_S  # 1 August to 1 October
    forever = run_through_seasons(V, head_m=0.9, bed_resistance_s=BED_S, law=near, start_day=1)
    assert forever.ended_by == "never"


def test_laws_have_names_sources_and_refuse_nonsense() -> None:
    assert list(GROWTH_LAWS) == ["surface-cake", "by-time", "by-water"]
    assert CAKE.source in bibliography()
    with pytest.raises(RangeError, match="BED-005"):
        GrowthLaw("x", "x")
    with pytest.raises(RangeError, match="DOM-002 growth_per_m"):
        GrowthLaw("x", "x", growth_per_m=-0.1)
    with pytest.raises(RangeError, match="BED-006"):
        Season(0, 20, 2.0)
    with pytest.raises(RangeError, match="BED-007"):
        clogged_sand_factor(0.4, porosity_frac=0.4, surface_power=1.0, void_power=2.0)


@given(solids=st.floats(1e-4, 0.05), alpha=st.floats(1e10, 1e13))
def test_twice_the_solids_is_twice_the_cake(solids: float, alpha: float) -> None:
    one = cake_from_solids_s_per_m(solids, cake_m_per_kg=alpha)
    assert cake_from_solids_s_per_m(2 * solids, cake_m_per_kg=alpha) == pytest.approx(2 * one)
    assert solids_load_kg_per_m2_day(2 * solids, rate_m_per_s=V) == pytest.approx(
        2 * solids_load_kg_per_m2_day(solids, rate_m_per_s=V)
    )
    assert skin_thickness_m(2e-3, porosity_frac=0.8) == pytest.approx(
        2 * skin_thickness_m(1e-3, porosity_frac=0.8)
    )


def test_a_reckoned_run_is_held_against_published_ones() -> None:
    assert all(r.low_days < r.high_days and r.source in bibliography() for r in published_runs())
    assert json.dumps([r.to_dict() for r in published_runs()])
    assert "shorter" in run_findings(3 * DAY_S)[0].what
    endless = run_findings(math.inf)[0]
    assert "longer" in endless.what and endless.got == "no end" and endless.code in codes()
    # The laws as they come, at a usual rate, run as long as filters do.
    for law in GROWTH_LAWS.values():
        assert not run_findings(run_at_rate(V, head_m=0.9, bed_resistance_s=BED_S, law=law).time_s)


def test_a_known_run_gives_back_its_cake() -> None:
    """Twice the way: a run of 99 to 152 days at 0.2 m/h (CAMPOS_2006, quoted) on the bed of that
    pilot, 0.7 m, asks for a cake of 0.0065 to 0.010 h/m to 1 m of head: cleaner than our default.
    """
    bed_s = 0.7 / (2.74 / 3600.0)
    for days in (99.0, 152.0):
        cake = (1.0 - 2 * V * bed_s) / (
            (2 * V) ** 2 * days * DAY_S
        )  # the closed form, turned round
        law = GrowthLaw("x", "x", cake_s_per_m=cake)
        run = run_at_rate(2 * V, head_m=1.0, bed_resistance_s=bed_s, law=law)
        assert run.time_s == pytest.approx(days * DAY_S, rel=1e-12)
        assert cake < GROWTH_LAWS["surface-cake"].cake_s_per_m

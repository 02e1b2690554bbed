"""Chlorine, light and boiling: what the tables say, and that nothing asks for less than they do."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.safety.disinfection import (
    acid_frac,
    bleach_drops,
    bleach_ml,
    boil_time_s,
    boiling_point_degc,
    contact_time_s,
    ct_mg_min_per_l,
    dose_given_mg_per_l,
    dose_wanted_mg_per_l,
    giardia_ct_mg_min_per_l,
    strength_by_mass_percent,
    uv_dose_mj_per_cm2,
    uv_log10,
    virus_ct_mg_min_per_l,
    water_factor_frac,
    what_it_does,
)
from roofspring.safety.disinfection.chlorine import Method, rows


def test_the_regression_never_asks_for_less_than_the_table() -> None:
    """EPA_815_R_20_003, every cell that we hold; no more than a fifth above it."""
    cells = rows("giardia_ct")
    assert len(cells) == 6 * 4 * 4
    for r in cells:
        ct = giardia_ct_mg_min_per_l(
            3.0,
            temp_degc=float(r["temp_degc"]),
            ph=float(r["ph"]),
            chlorine_mg_per_l=float(r["chlorine_mg_per_l"]),
            method="regression",
        )
        assert 1.0 <= ct / float(r["ct_mg_min_per_l"]) < 1.2, r


def test_the_lower_rows_go_with_the_log() -> None:
    """EPA_1991, table E-1 (0.5 C), 1, 2 and 3 log, as a page on water treatment prints them.

    The printed rows are thirds of the last, rounded to whole numbers. Quoted.
    """
    printed = {(6.0, 0.4): (46, 91, 137), (6.0, 1.0): (49, 99, 148), (6.0, 2.0): (55, 110, 165),
               (7.0, 0.4): (65, 130, 195)}  # fmt: skip
    for (ph, strength), row in printed.items():
        for log, ct in enumerate(row, 1):
            ours = giardia_ct_mg_min_per_l(
                float(log), temp_degc=0.5, ph=ph, chlorine_mg_per_l=strength
            )
            assert abs(ours - ct) <= 0.5


def test_what_is_held_never_asks_for_less_than_a_cell_that_is_not() -> None:
    """EPA_815_R_20_003, B-1: 15 C, pH 7.5, 1.2 mg/L is 92, quoted, and is not in our table."""
    methods: tuple[Method, ...] = ("table", "regression")
    for method in methods:
        ours = giardia_ct_mg_min_per_l(
            3.0, temp_degc=15.0, ph=7.5, chlorine_mg_per_l=1.2, method=method
        )
        assert 92.0 <= ours < 1.2 * 92.0


def test_over_ph_8_the_formula_takes_over_without_a_step_down() -> None:
    for temp, strength in product((0.5, 5.0, 10.0, 15.0, 20.0, 25.0), (0.4, 1.0, 2.0, 3.0)):
        asked = [
            giardia_ct_mg_min_per_l(3.0, temp_degc=temp, ph=ph, chlorine_mg_per_l=strength)
            for ph in (8.0, 8.001, 8.5, 9.0)
        ]
        assert asked == sorted(asked)
        assert all(ct == round(ct) for ct in asked)


@given(
    st.floats(0.5, 30.0), st.floats(6.0, 9.0), st.floats(0.0, 3.0), st.floats(0.0, 3.0),
    st.floats(0.0, 5.0), st.floats(0.0, 1.0),
)  # fmt: skip
def test_between_cells_the_table_asks_for_more(
    temp: float, ph: float, strength: float, log: float, warmer: float, sour: float
) -> None:
    def ct(t: float, p: float, c: float) -> float:
        return giardia_ct_mg_min_per_l(log, temp_degc=t, ph=p, chlorine_mg_per_l=c)

    here = ct(temp, ph, strength)
    assert ct(temp + warmer, ph, strength) <= here + 1e-12
    assert ct(temp, max(6.0, ph - sour), strength) <= here + 1e-12
    assert here >= 0.0


def test_viruses_round_the_log_up_and_the_warmth_down() -> None:
    assert virus_ct_mg_min_per_l(2.5, temp_degc=12.0, ph=9.0) == 4.0
    assert virus_ct_mg_min_per_l(4.0, temp_degc=40.0, ph=9.1) == 15.0
    assert virus_ct_mg_min_per_l(0.0, temp_degc=10.0, ph=7.0) == 0.0
    # EPA_1991, table E-7: the 4-log cell stands for those that were not read.
    assert virus_ct_mg_min_per_l(2.0, temp_degc=20.0, ph=7.0) == 3.0


def test_viruses_never_ask_for_less_when_colder_or_wanted_more() -> None:
    for ph, log in product((6.0, 9.0, 9.5, 10.0), (0.5, 2.0, 3.0, 4.0)):
        asked = [virus_ct_mg_min_per_l(log, temp_degc=t, ph=ph) for t in (25.0, 12.0, 5.0, 0.5)]
        assert asked[1:] == sorted(asked[1:])
        more = virus_ct_mg_min_per_l(4.0, temp_degc=12.0, ph=ph)
        assert virus_ct_mg_min_per_l(log, temp_degc=12.0, ph=ph) <= more


@pytest.mark.parametrize(
    "ask",
    [
        lambda: giardia_ct_mg_min_per_l(3.0, temp_degc=0.0, ph=7.0, chlorine_mg_per_l=1.0),
        lambda: giardia_ct_mg_min_per_l(3.0, temp_degc=10.0, ph=9.1, chlorine_mg_per_l=1.0),
        lambda: giardia_ct_mg_min_per_l(3.0, temp_degc=10.0, ph=5.9, chlorine_mg_per_l=1.0),
        lambda: giardia_ct_mg_min_per_l(3.5, temp_degc=10.0, ph=7.0, chlorine_mg_per_l=1.0),
        lambda: giardia_ct_mg_min_per_l(3.0, temp_degc=10.0, ph=7.0, chlorine_mg_per_l=5.0),
        lambda: virus_ct_mg_min_per_l(5.0, temp_degc=10.0, ph=7.0),
        lambda: virus_ct_mg_min_per_l(4.0, temp_degc=10.0, ph=5.0),
        lambda: boil_time_s(9000.0),
    ],
)
def test_outside_the_table_nothing_is_said(ask: Callable[[], float]) -> None:
    with pytest.raises(RangeError, match="SAF-003"):
        ask()


@pytest.mark.parametrize(
    ("ask", "code"),
    [
        (lambda: acid_frac(40.0, temp_degc=20.0), "SAF-003"),
        (lambda: acid_frac(7.0, temp_degc=math.nan), "SAF-003"),
        (lambda: strength_by_mass_percent(150.0, density_kg_per_m3=1100.0), "DOM-003"),
        (lambda: uv_log10(math.nan, agent="giardia"), "DOM-002"),
        (lambda: uv_log10(40.0, agent="bacteria"), "DOM-004"),
        (lambda: water_factor_frac(75.0, path_m=0.02), "DOM-003"),
        (lambda: water_factor_frac(0.0, path_m=0.02), "DOM-002"),
        (lambda: contact_time_s(1.0, flow_m3_per_s=0.0), "DOM-002"),
        (lambda: ct_mg_min_per_l(-1.0, time_s=60.0), "DOM-002"),
        (lambda: bleach_drops(-0.1), "DOM-002"),
    ],
)
def test_numbers_that_cannot_be(ask: Callable[[], float], code: str) -> None:
    with pytest.raises(RangeError, match=code):
        ask()


def test_a_missing_temperature_is_no_temperature() -> None:
    with pytest.raises(RangeError, match="DOM-002"):
        giardia_ct_mg_min_per_l(3.0, temp_degc=math.nan, ph=7.0, chlorine_mg_per_l=1.0)


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0), st.floats(0.5, 20.0))
def test_bleach_there_and_back(volume: float, dose: float, strength: float) -> None:
    ml = bleach_ml(volume + 0.001, dose_mg_per_l=dose, strength_percent=strength)
    back = dose_given_mg_per_l(ml, volume_m3=volume + 0.001, strength_percent=strength)
    assert back == pytest.approx(dose, abs=1e-9)
    assert bleach_drops(ml) * 0.05 >= ml - 1e-6


@pytest.mark.parametrize("strength", [0.0, -5.0, 35.0, math.nan])
def test_bleach_that_is_none(strength: float) -> None:
    with pytest.raises(RangeError, match="SAF-005"):
        bleach_ml(1.0, dose_mg_per_l=2.0, strength_percent=strength)


def test_cloudy_water_first_needs_a_filter() -> None:
    assert dose_wanted_mg_per_l(9.9) < dose_wanted_mg_per_l(10.0)  # LANTAGNE_2008
    with pytest.raises(RangeError, match="SAF-004"):
        dose_wanted_mg_per_l(101.0)


@given(st.floats(0.0, 5.0), st.floats(0.0, 1e6), st.floats(0.0, 5.0))
def test_decay_only_takes_from_strength_times_time(c: float, time: float, decay: float) -> None:
    whole = ct_mg_min_per_l(c, time_s=time)
    assert -1e-9 <= ct_mg_min_per_l(c, time_s=time, decay_per_day=decay) <= whole * (1 + 1e-9)


def test_a_tank_that_water_runs_through_counts_for_a_tenth() -> None:
    whole = contact_time_s(1.0, flow_m3_per_s=1e-4, state="plug")
    assert contact_time_s(1.0, flow_m3_per_s=1e-4) == pytest.approx(whole / 10.0)
    assert contact_time_s(1.0, flow_m3_per_s=1e-4, state="none") == 0.0
    with pytest.raises(RangeError, match="DOM-004"):
        contact_time_s(1.0, flow_m3_per_s=1e-4, state="lucky")


def test_light_is_credited_by_whole_steps() -> None:
    for agent, log in product(("cryptosporidium", "giardia", "virus"), (0.5, 1.0, 2.5, 4.0)):
        dose = uv_dose_mj_per_cm2(log, agent=agent)
        assert uv_log10(dose, agent=agent) == log
        assert uv_log10(dose * 0.999, agent=agent) == log - 0.5
    assert uv_log10(1e4, agent="virus") == 4.0 and uv_log10(0.0, agent="giardia") == 0.0
    with pytest.raises(RangeError, match="SAF-003"):
        uv_dose_mj_per_cm2(4.5, agent="virus")


@given(st.floats(0.01, 1.0), st.floats(1e-4, 0.2))
def test_brown_water_takes_light(clear: float, path: float) -> None:
    factor = water_factor_frac(clear, path_m=path)
    assert 0.0 < factor <= 1.0
    assert water_factor_frac(clear, path_m=path * 2.0) <= factor + 1e-12


@pytest.mark.parametrize(
    ("height", "degc"),
    # Steam tables and the standard atmosphere: 1500 m 95.0, 3000 m 89.9 (common practice).
    [(0.0, 100.0), (1500.0, 95.0), (3000.0, 89.9)],
)
def test_where_water_boils(height: float, degc: float) -> None:
    assert boiling_point_degc(height) == pytest.approx(degc, abs=0.3)
    assert boiling_point_degc(6000.0) > 70.0


def test_chlorine_is_never_for_the_living_sand() -> None:
    assert "never into or through the living sand" in what_it_does()["chlorine"].never
    assert "no Cryptosporidium" in what_it_does()["chlorine"].does_not

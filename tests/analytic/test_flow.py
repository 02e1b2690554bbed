"""Drainage, frost, soaking away and evaporation against closed forms, laws and other libraries."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.catchment import debris_by_season, screen_area_m2, wall_area_m2
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import RangeError
from roofspring.garden import (
    crop_factor,
    crops,
    extraterrestrial_mj_per_m2_day,
    hargreaves_m_per_day,
    household_wants,
    livestock_wants,
    reference_from_temperatures_m_per_day,
    watering_m,
)
from roofspring.hydraulics import (
    brim_flow_m3_per_s,
    cooling_time_s,
    critical_depth_m,
    drain_flow_m3_per_s,
    flow_m3_per_s,
    freeze_through,
    freezing_time_s,
    green_ampt_m,
    gutter_flow_m3_per_s,
    gutter_profile,
    gutter_section,
    ice_depth_m,
    ice_through_m,
    loss_m,
    pipe_loss_w_per_k,
    surge_head_m,
    wall_loss_w_per_k,
)
from roofspring.structure import tipping_wind_m_per_s

DATA = Path(__file__).parents[1] / "data"
G = GRAVITY_M_PER_S2

SIZES = st.floats(0.05, 0.4)
SHARES = st.floats(0.05, 1.0)


# ---- gutters ------------------------------------------------------------------------------------


def test_a_triangle_by_hand() -> None:
    # Pressure T d^2/6 at the far end equals (5/12) T yc^3/d at the free end, so yc^3 = 2/5 d^3, and
    # Q = sqrt(g/8) T/d yc^2.5: closed form by hand.
    top, deep = 0.2, 0.1
    yc = deep * 0.4 ** (1 / 3)
    by_hand = math.sqrt(G / 8.0) * top / deep * yc**2.5
    got = brim_flow_m3_per_s(gutter_section(top, shape="trapezoid", depth_m=deep, sole_m=0.0))
    assert got == pytest.approx(by_hand, rel=1e-9)


def test_a_trapezoid_as_wide_as_its_sole_is_a_box() -> None:
    sizes = {"depth_m": 0.09, "length_m": 7.0, "fall_frac": 0.005}
    as_box = gutter_flow_m3_per_s(0.14, shape="box", **sizes)
    assert gutter_flow_m3_per_s(0.14, shape="trapezoid", sole_m=0.14, **sizes) == as_box


@settings(deadline=None)
@given(width=SIZES, flow=st.floats(1e-4, 2e-2))
def test_critical_depth_of_a_box_in_closed_form(width: float, flow: float) -> None:
    box = gutter_section(width, shape="box", depth_m=0.1)
    assert critical_depth_m(box, flow_m3_per_s=flow) == pytest.approx(
        (flow**2 / (G * width**2)) ** (1 / 3), rel=1e-9
    )


@settings(max_examples=30, deadline=None)
@given(
    shape=st.sampled_from(["half-round", "box", "trapezoid"]),
    width=SIZES,
    deep=SHARES,
    more=st.floats(1.01, 2.0),
)
def test_capacity_grows_with_size(shape: str, width: float, deep: float, more: float) -> None:
    def flow(scale: float, depth_scale: float) -> float:
        return gutter_flow_m3_per_s(
            width * scale, shape=shape, depth_m=width * deep * depth_scale, length_m=8.0
        )

    assert flow(more, more) > flow(1.0, 1.0)
    if shape != "half-round":
        assert flow(1.0, more) > flow(1.0, 1.0)


@settings(max_examples=30, deadline=None)
@given(width=SIZES, length=st.floats(1.0, 60.0), fall=st.floats(0.0, 0.02))
def test_length_never_helps_a_level_gutter_and_fall_never_hurts(
    width: float, length: float, fall: float
) -> None:
    level = gutter_flow_m3_per_s(width, length_m=length)
    assert gutter_flow_m3_per_s(width, length_m=length * 1.5) <= level
    assert gutter_flow_m3_per_s(width, length_m=length, fall_frac=fall) >= level


@settings(max_examples=15, deadline=None)
@given(length=st.floats(2.0, 30.0), rough=st.floats(0.009, 0.02), fall=st.floats(0.001, 0.01))
def test_friction_costs_and_fall_gives(length: float, rough: float, fall: float) -> None:
    half = gutter_section(0.125)
    smooth = brim_flow_m3_per_s(half)
    level = brim_flow_m3_per_s(half, length_m=length, manning=rough)
    assert level < smooth
    assert brim_flow_m3_per_s(half, length_m=2 * length, manning=rough) < level
    assert brim_flow_m3_per_s(half, length_m=length, manning=rough, fall_frac=fall) > level


@settings(max_examples=15, deadline=None)
@given(
    shape=st.sampled_from(["half-round", "box"]),
    width=SIZES,
    deep=st.floats(0.15, 4.0),
    length=st.floats(1.0, 20.0),
    rough=st.floats(0.009, 0.012),
)
def test_the_standard_stays_under_the_exact_check_in_smooth_gutters(
    shape: str, width: float, deep: float, length: float, rough: float
) -> None:
    """Its factor 0.9 and its length factors leave room for friction of sheet metal and plastic."""
    section = gutter_section(width, shape=shape, depth_m=width * deep)
    exact = brim_flow_m3_per_s(section, length_m=length, manning=rough)
    assert gutter_flow_m3_per_s(width, shape=shape, depth_m=width * deep, length_m=length) < exact


def test_the_profile_obeys_momentum_end_to_end() -> None:
    """Integral of what the steps add, against the ends, on the profile that is given back."""
    box = gutter_section(0.15, shape="box", depth_m=0.2)
    flow, length, rough = 4e-3, 12.0, 0.012
    depths = np.array(
        gutter_profile(box, flow_m3_per_s=flow, length_m=length, manning=rough).depths_m
    )
    flows = flow * np.linspace(1.0, 0.0, len(depths))
    area, wet = 0.15 * depths, 0.15 + 2.0 * depths
    drag = rough**2 * flows**2 / (area**2 * (area / wet) ** (4 / 3)) * area
    push = flows**2 / (G * area) + 0.15 * depths**2 / 2.0
    lost = np.trapezoid(drag, dx=length / (len(depths) - 1))
    assert push[-1] - push[0] == pytest.approx(lost, rel=2e-3)


@pytest.mark.parametrize(
    "bad", [{"width_m": 0.0}, {"width_m": math.nan}, {"width_m": 0.1, "length_m": 0.0},
            {"width_m": 0.1, "shape": "ogee"}, {"width_m": 0.1, "fall_frac": -0.01},
            {"width_m": 0.1, "shape": "trapezoid", "sole_m": 0.2}]
)  # fmt: skip
def test_an_impossible_gutter_is_refused(bad: dict[str, Any]) -> None:
    sizes = dict(bad)
    with pytest.raises(RangeError):
        gutter_flow_m3_per_s(sizes.pop("width_m"), **sizes)


def test_a_screen_half_blind_is_twice_as_large() -> None:
    clean = screen_area_m2(2e-3, open_frac=0.4, blinded_frac=0.0)
    assert screen_area_m2(2e-3, open_frac=0.4, blinded_frac=0.5) == pytest.approx(2.0 * clean)
    assert wall_area_m2(100.0, wall_m2=30.0) == 115.0


def test_seasons_turn_with_the_hemisphere() -> None:
    leaves = {d.what: d.months for d in debris_by_season()}["leaves"]
    south = {d.what: d.months for d in debris_by_season(is_southern=True)}["leaves"]
    assert leaves == (9, 10, 11) and south == (3, 4, 5)


# ---- frost --------------------------------------------------------------------------------------


@settings(deadline=None)
@given(air=st.floats(-30.0, -0.5), start=st.floats(0.0, 15.0), mass=st.floats(1.0, 5000.0))
def test_freezing_step_by_step_is_the_closed_form(air: float, start: float, mass: float) -> None:
    loss = mass * 0.02
    whole = cooling_time_s(mass, loss_w_per_k=loss, start_degc=start, air_degc=air)
    whole += freezing_time_s(mass, loss_w_per_k=loss, air_degc=air, ice_frac=0.25)
    steps = 40
    frozen = freeze_through(
        np.full(steps, air),
        step_s=whole / steps,
        mass_kg=np.array([mass]),
        loss_w_per_k=np.array([loss]),
        start_degc=start,
    )
    assert frozen.ice_frac[-1, 0] == pytest.approx(0.25, rel=1e-6)
    assert frozen.water_degc[-1, 0] == 0.0


def test_ice_takes_as_much_heat_to_melt_as_it_gave() -> None:
    air = np.concatenate((np.full(10, -6.0), np.full(10, 6.0)))
    frozen = freeze_through(
        air,
        step_s=3600.0,
        mass_kg=np.array([100.0]),
        loss_w_per_k=np.array([5.0]),
        start_degc=0.0,
    )
    assert frozen.ice_frac[9, 0] > 0.0
    assert frozen.ice_frac[-1, 0] == pytest.approx(0.0, abs=1e-12)
    assert frozen.water_degc[-1, 0] == pytest.approx(0.0, abs=1e-9)


def test_vessels_do_not_know_of_each_other() -> None:
    air = 8.0 * np.sin(np.arange(200) / 9.0)
    mass, loss = np.array([20.0, 900.0]), np.array([1.0, 25.0])
    both = freeze_through(air, step_s=7200.0, mass_kg=mass, loss_w_per_k=loss, start_degc=4.0)
    alone = freeze_through(
        air, step_s=7200.0, mass_kg=mass[1:], loss_w_per_k=loss[1:], start_degc=4.0
    )
    np.testing.assert_array_equal(both.ice_frac[:, 1], alone.ice_frac[:, 0])
    assert ((both.ice_frac >= 0.0) & (both.ice_frac <= 1.0)).all()


def test_masses_and_losses_must_match() -> None:
    with pytest.raises(RangeError, match="DOM-007"):
        freeze_through(
            np.zeros(3),
            step_s=1.0,
            mass_kg=np.ones(2),
            loss_w_per_k=np.ones(3),
            start_degc=1.0,
        )


def test_steady_frost_grows_ice_as_the_closed_form() -> None:
    assert ice_through_m(np.full(20, -5.0))[-1] == pytest.approx(ice_depth_m(100.0), rel=1e-12)


def test_insulation_never_lets_more_heat_out_of_a_wall() -> None:
    losses = [wall_loss_w_per_k(5.6, insulation_m=t) for t in (0.0, 0.02, 0.05, 0.2)]
    assert losses == sorted(losses, reverse=True)
    # 25 mm pipe under 20 mm of foam, 8 °C, air at -10 °C: about an hour and a half, 1.55 h computed
    # elsewhere with a slightly better foam and no film.
    loss = pipe_loss_w_per_k(0.025, length_m=1.0, insulation_m=0.02)
    mass = 1000.0 * math.pi * 0.025**2 / 4.0
    hours = cooling_time_s(mass, loss_w_per_k=loss, start_degc=8.0, air_degc=-10.0) / 3600.0
    assert hours == pytest.approx(1.55, abs=0.1)


@settings(deadline=None)
@given(mass=st.floats(20.0, 500.0), stand=st.floats(0.0, 2.0))
def test_a_stand_makes_it_tip_sooner_and_mass_later(mass: float, stand: float) -> None:
    def wind(kg: float, on: float) -> float:
        return tipping_wind_m_per_s(kg, face_m=1.2, height_m=1.2, base_m=1.0, stand_m=on)

    assert wind(mass, stand + 0.1) < wind(mass, stand) < wind(mass * 1.1, stand)


# ---- soaking away -------------------------------------------------------------------------------


@settings(deadline=None)
@given(hours=st.floats(0.01, 100.0), first=st.floats(0.0, 0.3), cut=st.floats(0.05, 0.95))
def test_green_and_ampt_goes_on_where_it_stopped(hours: float, first: float, cut: float) -> None:
    soil = {"soak_m_per_s": 3e-6, "suction_m": 0.11, "filled_frac": 0.3}
    whole = green_ampt_m(hours * 3600.0, start_m=first, **soil)
    half = green_ampt_m(cut * hours * 3600.0, start_m=first, **soil)
    assert green_ampt_m((1.0 - cut) * hours * 3600.0, start_m=half, **soil) == pytest.approx(
        whole, rel=1e-9
    )
    # It solves its own equation, put in by hand.
    store = 0.11 * 0.3
    left = whole - first - store * math.log((whole + store) / (first + store))
    assert left == pytest.approx(3e-6 * hours * 3600.0, rel=1e-9)


# ---- evaporation --------------------------------------------------------------------------------


def _library() -> list[dict[str, str]]:
    with (DATA / "pyet_reference.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", _library(), ids=lambda r: f"{r['place']} {r['date']}")
def test_against_an_open_library(row: dict[str, str]) -> None:
    """pyet 1.5.0 (MIT), run apart; its Hargreaves uses the latent heat of the day's temperature."""
    low, high = float(row["tmin_degc"]), float(row["tmax_degc"])
    latitude, day = float(row["latitude_deg"]), float(row["day_of_year"])
    top = extraterrestrial_mj_per_m2_day(latitude, day_of_year=day)
    assert top == pytest.approx(float(row["top_mj_per_m2_day"]), rel=1e-5)
    latent = (2.501 - 2.361e-3 * (low + high) / 2.0) * 0.408  # against 1 / 0.408 MJ/kg
    ours = 1e3 * hargreaves_m_per_day(top, tmin_degc=low, tmax_degc=high) / latent
    assert ours == pytest.approx(float(row["hargreaves_mm"]), abs=2e-5)
    ours = 1e3 * reference_from_temperatures_m_per_day(
        tmin_degc=low,
        tmax_degc=high,
        latitude_deg=latitude,
        elevation_m=float(row["elevation_m"]),
        day_of_year=day,
    )
    assert ours == pytest.approx(float(row["penman_monteith_mm"]), abs=2e-5)


@pytest.mark.parametrize(
    ("file", "latitude_deg", "elevation_m"),
    [("brussels_daily_1976_2005.csv", 50.8, 100.0), ("cordoba_daily_1991_2021.csv", -31.4, 470.0)],
)
def test_years_of_open_data(file: str, latitude_deg: float, elevation_m: float) -> None:
    """Evaporation that others computed for these stations from all the weather.

    FAO_56_1998 asks that a rule from temperatures be held against full data over a month or more;
    a year within a fifth, and days that rise and fall together, is what such a rule can do.
    """
    rows = list(csv.DictReader((DATA / file).read_text("utf-8").splitlines()))
    low, high, theirs = (
        np.array([float(r[k]) for r in rows]) for k in ("tmin_c", "tmax_c", "et0_mm")
    )
    dates = np.array([r["date"] for r in rows], dtype="datetime64[D]")
    day = (dates - dates.astype("datetime64[Y]")).astype(float) + 1.0
    for ours in (
        hargreaves_m_per_day(
            extraterrestrial_mj_per_m2_day(latitude_deg, day_of_year=day),
            tmin_degc=low,
            tmax_degc=high,
        ),
        reference_from_temperatures_m_per_day(
            tmin_degc=low,
            tmax_degc=high,
            latitude_deg=latitude_deg,
            elevation_m=elevation_m,
            day_of_year=day,
        ),
    ):
        assert 1e3 * ours.sum() == pytest.approx(theirs.sum(), rel=0.2)
        assert np.corrcoef(1e3 * ours, theirs)[0, 1] > 0.9


def test_near_a_pole_the_sun_formulas_are_refused() -> None:
    with pytest.raises(RangeError, match="DOM-008"):
        extraterrestrial_mj_per_m2_day(70.0, day_of_year=10.0)


@pytest.mark.parametrize("name", crops())
def test_a_crop_stays_between_its_coefficients(name: str) -> None:
    row = crops()[name]
    factors = crop_factor(name, np.linspace(0.0, 1.0, 101))
    ends = (row.initial_factor, row.middle_factor, row.end_factor)
    assert factors.min() >= min(ends) - 1e-12 and factors.max() <= max(ends) + 1e-12
    assert crop_factor(name, np.array([-0.01, 1.01])).sum() == 0.0


@settings(max_examples=50, deadline=None)
@given(
    rain=st.lists(st.floats(0.0, 0.03), min_size=1, max_size=60),
    out=st.floats(0.0, 0.008),
    store=st.floats(0.0, 0.05),
)
def test_roots_get_all_they_evaporate(rain: list[float], out: float, store: float) -> None:
    fell = np.array(rain)
    given_m = watering_m(np.full(len(rain), out), rain_m=fell, root_store_m=store, reaches_frac=1.0)
    assert (given_m >= 0.0).all() and (given_m <= out + 1e-15).all()
    # Water given and rain and the full store cover what goes; no more is given than lacks.
    assert given_m.sum() + fell.sum() + store >= out * len(rain) - 1e-12
    assert given_m.sum() >= out * len(rain) - fell.sum() - store - 1e-12
    if store > 0.0 and fell.sum() == 0.0:
        assert given_m.sum() == pytest.approx(max(0.0, out * len(rain) - store), abs=1e-12)


def test_tables_of_wants_are_ranges() -> None:
    for want in (*livestock_wants().values(), *household_wants().values()):
        assert 0.0 < want.least_m3_per_day <= want.most_m3_per_day < 1.0


# ---- drains and surges --------------------------------------------------------------------------


@settings(deadline=None)
@given(size=st.floats(0.04, 0.3), fall=st.floats(0.002, 0.05), rough=st.floats(0.009, 0.015))
def test_a_full_drain_against_an_open_library(size: float, fall: float, rough: float) -> None:
    speed = fluids.open_flow.V_Manning(Rh=size / 4.0, S=fall, n=rough)
    ours = drain_flow_m3_per_s(size, fall_frac=fall, manning=rough)
    assert ours == pytest.approx(speed * math.pi * size**2 / 4.0, rel=1e-12)
    half = drain_flow_m3_per_s(size, fall_frac=fall, manning=rough, depth_frac=0.5)
    assert half == pytest.approx(ours / 2.0, rel=1e-9)  # closed form: the same hydraulic radius


@settings(deadline=None)
@given(
    head=st.floats(0.01, 20.0),
    more=st.floats(1.001, 3.0),
    size=st.floats(0.012, 0.1),
    first=st.floats(0.5, 30.0),
    second=st.floats(0.5, 30.0),
)
def test_more_head_never_less_flow_and_losses_add_in_series(
    head: float, more: float, size: float, first: float, second: float
) -> None:
    pipe = {"diameter_m": size, "roughness_m": 1.5e-6, "temp_degc": 10.0}

    def flow(head_m: float) -> float:
        return flow_m3_per_s(head_m, length_m=first + second, k_sum=3.0, **pipe)

    assert flow(head * more) > flow(head)
    through = flow(head)
    parts = loss_m(through, length_m=first, k_sum=1.0, **pipe) + loss_m(
        through, length_m=second, k_sum=2.0, **pipe
    )
    assert parts == pytest.approx(head, rel=1e-9)


def test_a_surge_grows_with_the_speed_of_water_and_wave() -> None:
    assert surge_head_m(2.0) == pytest.approx(2.0 * surge_head_m(1.0))
    assert surge_head_m(1.0, wave_m_per_s=1200.0) == pytest.approx(1200.0 / G)

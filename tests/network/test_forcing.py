"""Steps, rain and wants: nothing crosses midnight, nothing is lost between record and step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import dry, plan_of, ran, record_of, tank, use
from roofspring.errors import RecordError
from roofspring.kernels.net import Forcing
from roofspring.network.forcing import build_forcing, want_m3_per_day, water_degc
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord

STEPS = ("1 h", "15 min", "7 min", "90 min", "6 h", "5 h", "24 h", "3 days")
STORE = tank("a", volume_m3=1.0)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Plan, RainRecord]:
    pattern = draw(st.sampled_from(["even", "type2", "block"]))
    step_s = draw(st.sampled_from([86400.0, 43200.0, 21600.0, 3600.0, 900.0]))
    per_day = round(86400.0 / step_s)
    days = draw(st.integers(1, 5 if per_day < 30 else 2))
    some = draw(st.integers(0, per_day - 1))  # steps of a last, unfinished day
    rain_mm = draw(
        st.lists(
            st.one_of(st.just(0.0), st.just(0.0), st.floats(1e-3, 200.0)),
            min_size=days * per_day + some,
            max_size=days * per_day + some,
        )
    )
    wet, dry_step = draw(st.sampled_from(STEPS)), draw(st.sampled_from(STEPS))
    plan = plan_of(
        f'[run]\nwet-step = "{wet}"\ndry-step = "{dry_step}"\n[rain]\nwithin-day = "{pattern}"\n',
        STORE,
        use("u", "a", "100 L/day"),
    )
    return plan, record_of(rain_mm, step_s=step_s)


def checked(forcing: Forcing, record: RainRecord) -> None:
    for day in range(record.days_count):
        here = forcing.day == day
        begins, ends = forcing.from_hour[here], forcing.to_hour[here]
        assert begins[0] == 0.0
        assert ends[-1] == 24.0
        np.testing.assert_array_equal(begins[1:], ends[:-1])
        assert (ends > begins).all()
    assert (np.diff(forcing.day) >= 0).all()
    fell_m = np.bincount(forcing.day, weights=forcing.rain_m, minlength=record.days_count)
    np.testing.assert_allclose(fell_m, record.daily_depth_m, rtol=1e-12, atol=1e-15)


@settings(max_examples=150, deadline=None)
@given(case=cases())
def test_steps_tile_each_day_and_carry_its_rain(case: tuple[Plan, RainRecord]) -> None:
    plan, record = case
    forcing = build_forcing(plan, record, use_ids=("u",))
    checked(forcing, record)
    longest_s = (forcing.to_hour - forcing.from_hour) * 3600.0
    wet, day_is_wet = forcing.rain_m > 0.0, record.daily_depth_m[forcing.day] > 0.0
    longest_dry_s = max(plan.run.wet_step_s, plan.run.dry_step_s)
    assert (longest_s[wet] <= plan.run.wet_step_s + 1e-6).all()
    assert (longest_s <= longest_dry_s + 1e-6).all()
    assert (longest_s[~day_is_wet] <= plan.run.dry_step_s + 1e-6).all()


def test_short_steps_are_kept_for_the_rain() -> None:
    plan = plan_of('[run]\nwet-step = "15 min"\ndry-step = "6 h"\n', STORE)
    rain_mm = [0.0] * 48
    rain_mm[7] = 4.0
    forcing = build_forcing(plan, record_of(rain_mm, step_s=3600.0), use_ids=())
    edges = [0.0, *np.arange(6.0, 12.1, 0.25), 18.0, 24.0]
    assert forcing.from_hour.tolist() == [*edges[:-1], 0.0, 6.0, 12.0, 18.0]
    assert forcing.to_hour.tolist() == [*edges[1:], 6.0, 12.0, 18.0, 24.0]
    assert forcing.rain_m[forcing.rain_m > 0.0].tolist() == pytest.approx([0.001] * 4)
    assert forcing.from_hour[forcing.rain_m > 0.0].tolist() == [7.0, 7.25, 7.5, 7.75]


@settings(max_examples=40, deadline=None)
@given(
    case=cases(),
    hours=st.lists(st.floats(0.0, 100.0), min_size=24, max_size=24).filter(lambda h: sum(h) > 1e-3),
)
def test_what_is_wanted_in_the_steps_is_what_is_wanted_in_the_day(
    case: tuple[Plan, RainRecord], hours: list[float]
) -> None:
    plan, record = case
    full = plan_of(
        tank("a", volume_m3=100.0, start=1.0), use("u", "a", "100 L/day", f"hours = {hours}")
    )
    plan = plan.model_copy(update={"tanks": full.tanks, "uses": full.uses})
    from roofspring.network.simulate import simulate

    result = simulate(plan, record)
    np.testing.assert_allclose(result.wanted_m3, 0.1)
    np.testing.assert_allclose(result.delivered_m3, 0.1, rtol=1e-12)


def test_water_is_drawn_at_its_hours() -> None:
    hours = [0.0] * 24
    hours[7], hours[19] = 1.0, 3.0
    plan = plan_of(
        '[run]\ndry-step = "1 h"\n', STORE, use("u", "a", "100 L/day", f"hours = {hours}")
    )
    result = ran(
        dry(1),
        '[run]\ndry-step = "1 h"\n',
        tank("a", volume_m3=1.0, start=0.05),
        use("early", "a", "100 L/day", f"hours = {hours}\nimportance = 2"),
        use("late", "a", "50 L/day", f"hours = {[0.0] * 12 + [1.0] + [0.0] * 11}\nimportance = 1"),
    )
    # 50 L: a quarter of 100 at seven, then 25 of the wanted 50 at noon, none in the evening.
    assert result.delivered_m3[0].tolist() == pytest.approx([0.025, 0.025])
    assert plan.uses["u"].hours == tuple(hours)


def test_the_kinds_of_want() -> None:
    plan = plan_of(
        "[site]\npeople = 4\n",
        STORE,
        '[use.p]\nfrom = ["a"]\nper-person = "10 L/day"\n',
        '[use.q]\nfrom = ["a"]\nper-person = "10 L/day"\npeople = 2\n',
        '[use.g]\nfrom = ["a"]\nper-animal = "8 L/day"\nanimals = 3\n',
        '[use.b]\nfrom = ["a"]\ngarden-area = "50 m2"\ngarden-depth = ['
        + ", ".join(f'"{m} mm/day"' for m in range(12))
        + "]\n",
        use("m", "a", "100 L/day", f"months = {[0.0] * 11 + [2.0]}"),
    )
    uses = plan.uses
    assert want_m3_per_day(uses["p"], plan, 0) == pytest.approx(0.04)
    assert want_m3_per_day(uses["q"], plan, 0) == pytest.approx(0.02)
    assert want_m3_per_day(uses["g"], plan, 0) == pytest.approx(0.024)
    assert want_m3_per_day(uses["b"], plan, 0) == 0.0
    assert want_m3_per_day(uses["b"], plan, 11) == pytest.approx(0.55)
    assert want_m3_per_day(uses["m"], plan, 5) == 0.0
    assert want_m3_per_day(uses["m"], plan, 11) == pytest.approx(0.2)


def test_wants_follow_the_calendar_through_leap_years() -> None:
    plan = plan_of(STORE, use("u", "a", "100 L/day", f"months = {[0.0, 1.0] + [0.0] * 10}"))
    record = dry(366 + 365, start="2004-01-01")
    forcing = build_forcing(plan, record, use_ids=("u",))
    assert int((forcing.want_m3 > 0.0).sum()) == 29 + 28
    assert forcing.month[0] == 0
    assert forcing.month[59] == 1  # 29 February
    assert forcing.month[-1] == 11


def test_the_water_follows_the_air_of_ten_days() -> None:
    plan = plan_of(STORE)
    n = 30
    low, high = np.arange(n, dtype=float), np.arange(n, dtype=float) + 4.0
    record = replace(dry(n), tmin_degc=low, tmax_degc=high)
    got = water_degc(plan, record)
    air = np.arange(n) + 2.0
    for day in range(n):
        assert got[day] == pytest.approx(air[max(0, day - 9) : day + 1].mean())
    cold = replace(record, tmin_degc=low - 60.0, tmax_degc=high - 60.0)
    assert (water_degc(plan, cold) == 1.0).all()
    assert (water_degc(plan, dry(3)) == 10.0).all()
    stated = plan_of('[run]\nwater-temperature = "7 degC"\n', STORE)
    assert water_degc(stated, record).tolist() == pytest.approx([7.0] * n)


def test_a_record_with_gaps_or_without_a_day_is_refused() -> None:
    plan = plan_of(STORE)
    with pytest.raises(RecordError, match="REC-091"):
        build_forcing(plan, record_of([1.0, np.nan]), use_ids=())
    with pytest.raises(RecordError, match="REC-090"):
        build_forcing(plan, record_of([1.0] * 23, step_s=3600.0), use_ids=())


def test_a_subdaily_record_keeps_its_hours() -> None:
    rain_mm = np.zeros(24)
    rain_mm[5] = 12.0
    plan = plan_of('[run]\nwet-step = "30 min"\n[rain]\nwithin-day = "type2"\n', STORE)
    forcing = build_forcing(plan, record_of(rain_mm, step_s=3600.0), use_ids=())
    wet = forcing.rain_m > 0.0
    assert forcing.from_hour[wet].tolist() == [5.0, 5.5]
    assert forcing.rain_m[wet].tolist() == pytest.approx([0.006, 0.006])

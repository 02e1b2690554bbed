"""The supply answer on plans small enough to work out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import DATA, DAY_STEPS, PLAIN_ROOF, dry, pipe, plan_of, record_of, tank, use
from roofspring.network.assemble import assemble
from roofspring.network.simulate import simulate
from roofspring.rain import RainRecord, read
from roofspring.reliability.answer import SupplyAnswer, UseAnswer
from roofspring.reliability.capacity import SIZE_FACTORS, capacity_curve
from roofspring.reliability.supply import assess_supply, longest

ONE_TANK = PLAIN_ROOF + tank("a", volume_m3=1.0, start=1.0) + pipe("p", "r", "a")


def two_weeks() -> RainRecord:
    """From 27 January: dry, but for 3 mm on the ninth day."""
    rain_mm = np.zeros(14)
    rain_mm[8] = 3.0
    return record_of(rain_mm, start="2001-01-27")


@pytest.fixture(scope="module")
def small() -> SupplyAnswer:
    return assess_supply(plan_of(DAY_STEPS, ONE_TANK, use("u", "a", "200 L/day")), two_weeks())[0]


def test_a_shortage_by_hand(small: SupplyAnswer) -> None:
    # 1 m3 lasts five days. Three days get nothing; 0.3 m3 comes: one day full, one half; four none.
    assert small.wanted_m3 == pytest.approx(2.8)
    assert small.delivered_m3 == pytest.approx(1.3)
    assert small.served_frac == pytest.approx(1.3 / 2.8)
    assert small.days_short == 8
    assert small.longest_short_days == 5
    (u,) = small.uses
    assert (u.days_short, u.longest_short_days, u.longest_short_from) == (8, 5, "2001-02-05")
    assert u.short_by_month == (0, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    assert u.days_rationed == 0
    assert "8 of 14 days" in small.sentence
    assert "5 days, from 2001-02-05" in small.sentence
    assert "46 %" in small.sentence


def test_the_rain_by_hand(small: SupplyAnswer) -> None:
    assert small.fell_m3 == pytest.approx(0.3)
    assert small.caught_m3 == pytest.approx(0.3)
    assert small.spilled_m3 == 0.0
    assert small.rain_mm_per_year == pytest.approx(3.0 / 14 * 365.25)
    (store,) = small.stores
    assert store.start_m3 == 1.0
    assert store.end_m3 == store.min_m3 == pytest.approx(0.0, abs=1e-12)
    assert store.days_empty == 10  # from the evening of the fifth day, the ninth's dawn included
    assert store.days_spilling == 0


def test_a_months_row_is_what_such_a_month_would_hold(small: SupplyAnswer) -> None:
    january, february = small.months[0], small.months[1]
    assert january.wanted_m3 == pytest.approx(0.2 * 31)
    assert january.delivered_m3 == pytest.approx(0.2 * 31)
    assert february.wanted_m3 == pytest.approx(0.2 * 28.25)
    assert february.delivered_m3 == pytest.approx(0.3 / 9 * 28.25)
    assert february.rain_m == pytest.approx(0.003 / 9 * 28.25)
    assert all(m.wanted_m3 == 0.0 for m in small.months[2:])


def test_the_months_add_up_to_the_totals() -> None:
    record = read(DATA / "seattle_daily_2012_2015.csv")
    plan = plan_of(ONE_TANK, use("u", "a", "90 L/day"))
    answer, result = assess_supply(plan, record)
    month = result.days.astype("datetime64[M]").astype(int) % 12
    lengths = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    weight = np.bincount(month, minlength=12) / lengths
    for name in ("wanted_m3", "delivered_m3", "caught_m3", "spilled_m3"):
        total = float((np.array([getattr(m, name) for m in answer.months]) * weight).sum())
        assert total == pytest.approx(getattr(answer, name), rel=1e-12)
    rain_m = float((np.array([m.rain_m for m in answer.months]) * weight).sum())
    assert rain_m == pytest.approx(float(record.depth_m.sum()), rel=1e-12)
    assert sum(answer.uses[0].short_by_month) == answer.uses[0].days_short > 0
    assert answer.spilled_m3 > 0.0
    books = answer.caught_m3 + 1.0 - answer.spilled_m3 - answer.delivered_m3
    assert books == pytest.approx(answer.stores[0].end_m3, abs=1e-9)


def test_how_rain_is_spread_within_the_day_is_shown_four_ways() -> None:
    record = read(DATA / "seattle_daily_2012_2015.csv")
    text = (ONE_TANK, use("u", "a", "90 L/day"))
    answer, _ = assess_supply(plan_of(*text), record)
    rows = {w.method: w.served_frac for w in answer.within_day_ways}
    assert set(rows) == {"even", "type2", "block", "cascade"}
    assert rows["type2"] == answer.served_frac
    for pattern, served in rows.items():
        plan = plan_of(*text, f'[rain]\nwithin-day = "{pattern}"\n')
        result = simulate(plan, record)
        assert served == float(result.delivered_m3.sum() / result.wanted_m3.sum())


def test_the_longest_run() -> None:
    assert longest(np.array([], dtype=bool)) == (0, None)
    assert longest(np.array([False, False])) == (0, None)
    assert longest(np.array([True, False, True, True, False])) == (2, 2)
    assert longest(np.array([True, True, False, True, True])) == (2, 0)
    assert longest(np.array([True])) == (1, 0)


# ---- caught and gone ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "way",
    [
        pipe("p", "r", "a"),
        '[disinfection.c]\nmethod = "cartridge"\n' + pipe("p", "r", "c") + pipe("q", "c", "a"),
        "[diverter.d]\n" + pipe("p", "r", "d") + pipe("q", "d.main", "a"),
        "[screen.s]\nefficiency = 1.0\n[diverter.d]\n"
        + '[disinfection.c]\nmethod = "cartridge"\n'
        + pipe("p", "r", "s")
        + pipe("q", "s", "d")
        + pipe("v", "d.main", "c")
        + pipe("w", "c", "a"),
    ],
    ids=["straight", "cartridge", "diverter", "all"],
)
def test_roof_water_is_caught_whatever_it_runs_through(way: str) -> None:
    plan = plan_of(PLAIN_ROOF, tank("a", volume_m3=5.0), way, use("u", "a", "10 L/day"))
    answer, _ = assess_supply(plan, record_of([10.0, 0.0, 5.0]))
    assert answer.caught_m3 == pytest.approx(1.5)
    assert "SUP-103" not in [f.code for f in answer.findings]


def test_water_that_overflows_into_another_tank_is_not_gone() -> None:
    plan = plan_of(
        DAY_STEPS,
        PLAIN_ROOF,
        tank("a", volume_m3=1.0),
        tank("b", volume_m3=1.0),
        "[swale.s]\n",
        pipe("p", "r", "a"),
        pipe("q", "a.overflow", "b"),
        pipe("v", "b.overflow", "s"),
        use("u", "b", "0 L/day"),
    )
    answer, _ = assess_supply(plan, record_of([30.0]))
    assert answer.caught_m3 == pytest.approx(3.0)
    assert answer.spilled_m3 == pytest.approx(1.0)
    assert [s.spilled_m3 for s in answer.stores] == pytest.approx([2.0, 1.0])


# ---- how long a store lasts --------------------------------------------------------------------


@pytest.mark.parametrize(("mouth", "days"), [("5 m", 9.5), ("5.4 m", 5.7)])
def test_days_of_use_are_days_that_a_dry_run_lasts(mouth: str, days: float) -> None:
    # 0.95 m3 of store, or 0.57 m3 above a tap 0.4 m over the floor, at 100 L a day.
    plan = plan_of(
        DAY_STEPS,
        tank("a", volume_m3=0.95, start=1.0, more='base = "5 m"\n'),
        f'[tap.t]\nheight = "{mouth}"\n',
        pipe("p", "a", "t"),
        use("u", "t", "100 L/day"),
    )
    answer, result = assess_supply(plan, dry(15))
    ((name, lasts),) = answer.stores[0].days_of_use
    assert name == "u"
    assert lasts == pytest.approx(days)
    full = result.delivered_m3[:, 0] > 0.1 - 1e-9
    assert int(full.sum()) == int(lasts)


def test_uses_together_last_until_the_first_finds_no_water() -> None:
    plan = plan_of(
        DAY_STEPS,
        tank("a", volume_m3=1.0, start=1.0, more='base = "5 m"\n'),
        '[tap.t]\nheight = "5.4 m"\n',
        pipe("p", "a", "t"),
        use("low", "a", "50 L/day"),
        use("high", "t", "100 L/day"),
        use("never", "a", "0 L/day"),
    )
    answer, _ = assess_supply(plan, dry(3))
    lasts = dict(answer.stores[0].days_of_use)
    assert lasts == {
        "low": pytest.approx(20.0),
        "high": pytest.approx(6.0),
        "all together": pytest.approx(4.0),
    }


# ---- the storage curve -------------------------------------------------------------------------


def test_the_curve_passes_through_the_run_itself() -> None:
    record = read(DATA / "seattle_daily_2012_2015.csv")
    plan = plan_of(
        PLAIN_ROOF,
        tank("a", volume_m3=0.8, more='base = "1 m"\noutlet = "1.1 m"\n'),
        tank("big", volume_m3=3.0, more='base = "0 m"\noutlet = "0.2 m"\noverflow = "0.9 m"\n'),
        pipe("p", "r", "a"),
        pipe("q", "a.overflow", "big"),
        use("u", "a", "60 L/day"),
        use("v", "big", "90 L/day"),
    )
    answer, _ = assess_supply(plan, record)
    assert answer.curve_store == "big"
    assert len(answer.curve) == len(SIZE_FACTORS)
    here = answer.curve[SIZE_FACTORS.index(1.0)]
    assert here.capacity_m3 == pytest.approx(2.7)
    assert here.served_frac == answer.served_frac
    assert here.days_short_per_year == pytest.approx(answer.days_short / answer.years)
    # Each other point is the run of a plan with that tank written in it.
    for factor in (0.2, 4.0):
        other = plan_of(
            PLAIN_ROOF,
            tank("a", volume_m3=0.8, more='base = "1 m"\noutlet = "1.1 m"\n'),
            tank(
                "big",
                volume_m3=3.0 * factor,
                more='base = "0 m"\noutlet = "0.2 m"\noverflow = "0.9 m"\n',
            ),
            pipe("p", "r", "a"),
            pipe("q", "a.overflow", "big"),
            use("u", "a", "60 L/day"),
            use("v", "big", "90 L/day"),
        )
        result = simulate(other, record)
        point = answer.curve[SIZE_FACTORS.index(factor)]
        assert point.served_frac == pytest.approx(
            float(result.delivered_m3.sum() / result.wanted_m3.sum()), rel=1e-9
        )


@settings(max_examples=25, deadline=None)
@given(
    roof_m2=st.floats(10.0, 100.0),
    size_m3=st.floats(0.3, 8.0),
    want_l=st.floats(20.0, 400.0),
    start=st.floats(0.0, 1.0),
)
def test_the_curve_never_falls_without_rationing(
    roof_m2: float, size_m3: float, want_l: float, start: float
) -> None:
    plan = plan_of(
        PLAIN_ROOF.replace("100 m2", f"{roof_m2} m2"),
        tank("a", volume_m3=size_m3, start=start),
        pipe("p", "r", "a"),
        use("u", "a", f"{want_l} L/day"),
    )
    whole = read(DATA / "seattle_daily_2012_2015.csv")
    record = record_of(whole.depth_m[:366] * 1000.0, start="2012-01-01")
    wants = (UseAnswer("u", "u", 1.0, 0.0, 0.0, 0, 0, None, 0, 0.0, (0,) * 12),)
    _, curve = capacity_curve(plan, record, assemble(plan), uses=wants)
    served = np.array([p.served_frac for p in curve])
    assert (np.diff(served) >= -1e-12).all()
    assert (np.diff([p.capacity_m3 for p in curve]) > 0.0).all()


def test_the_textbook_balances_leave_the_first_flush_chamber_out() -> None:
    plan = plan_of(
        DAY_STEPS,
        PLAIN_ROOF,
        '[first-flush.f]\nvolume = "500 L"\nreset = "5 days"\n',
        tank("a", volume_m3=1.0, start=0.5, more='base = "0 m"\noutlet = "0.2 m"\n'),
        pipe("p", "r", "f"),
        pipe("q", "f", "a"),
        use("u", "a", "100 L/day"),
    )
    answer, _ = assess_supply(plan, record_of([9.0, 0.0, 0.0, 0.0, 0.0, 9.0, 0.0, 0.0]))
    after, before = answer.methods[:2]
    # 0.8 m3 over the outlet, 0.3 m3 there at the start, and 0.3 m3 caught of the first rain of
    # 0.9 m3, while a fifth of the chamber weeps; it weeps another four fifths before the second.
    assert after.storage_m3 == before.storage_m3 == pytest.approx(0.8)
    assert answer.caught_m3 == pytest.approx(0.3 + 0.7 - 0.3)
    assert after.served_frac == pytest.approx(1.0)
    assert before.served_frac == pytest.approx(1.0)

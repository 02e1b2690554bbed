"""The list of what happened, against days and litres that can be counted on the fingers."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from network.build import DAY_STEPS, PLAIN_ROOF, dry, pipe, plan_of, record_of, tank, use
from roofspring.network.assemble import assemble
from roofspring.network.events import (
    Event,
    in_order,
    run_events,
    window_events,
    worst_events,
)
from roofspring.network.simulate import simulate
from roofspring.network.window import simulate_window
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord

BUTT = (PLAIN_ROOF, tank("butt", volume_m3=1.0, start=0.5), pipe("p", "r", "butt"))


def events_of(record: RainRecord, *texts: str) -> tuple[Event, ...]:
    plan = plan_of(DAY_STEPS, *texts)
    return run_events(plan, simulate(plan, record))


def test_an_overflow_of_two_days_is_one_event() -> None:
    # 100 m2: 8 mm bring 0.8 m3, of which 0.3 find no room; 5 mm spill whole; then 2 mm spill again.
    events = events_of(record_of([0.0, 8.0, 5.0, 0.0, 2.0]), *BUTT)
    spills = [e for e in events if e.kind == "overflow"]
    assert [(e.begins, e.ends, e.begins_s, e.lasted_s) for e in spills] == [
        ("2001-01-02", "2001-01-03", 86400.0, 172800.0),
        ("2001-01-05", "2001-01-05", 4 * 86400.0, 86400.0),
    ]
    assert [e.volume_m3 for e in spills] == pytest.approx([0.8, 0.2])
    assert [e.peak_m3_per_s for e in spills] == pytest.approx([0.5 / 86400.0, 0.2 / 86400.0])
    assert [e.to_part for e in spills] == ["(ground)"] * 2


def test_a_use_that_goes_short_and_the_tank_it_empties() -> None:
    events = events_of(dry(4), *BUTT, use("tap", "butt", "300 L/day"))
    # 500 L: 300 on the first day, 200 of 300 on the second, then nothing.
    (short,) = (e for e in events if e.kind == "use short")
    assert (short.where, short.begins, short.ends) == ("tap", "2001-01-02", "2001-01-04")
    assert short.volume_m3 == pytest.approx(0.1 + 0.3 + 0.3)
    assert short.words == "tap got less than it wanted, 700 L less in all"
    (empty,) = (e for e in events if e.kind == "tank dry")
    assert (empty.where, empty.begins, empty.ends) == ("butt", "2001-01-02", "2001-01-04")
    assert events.index(short) < events.index(empty)  # the graver first on one day


SAND = """
[filter.f]
area = "1 m2"
weir = "1.05 m"
overflow = "1.55 m"
"""


def test_a_filter_without_water_and_a_valve_that_stays_shut() -> None:
    texts = (
        tank("raw", volume_m3=1.0, start=1.0, more='base = "3 m"'),
        SAND,
        tank("clean", volume_m3=9.0),
        pipe("feed", "raw", "f", 'valve = { kind = "float" }'),
        pipe("out", "f", "clean"),
    )
    starved = [e for e in events_of(dry(6), *texts) if e.kind == "filter starved"]
    # A cubic metre is through within the first day; by the second the box has drained to a film.
    assert [(e.where, e.ends) for e in starved] == [("f", "2001-01-06")]
    assert starved[0].begins in ("2001-01-02", "2001-01-03")
    full = tank("far", volume_m3=1.0, start=1.0)
    shut = events_of(
        dry(3),
        tank("raw", volume_m3=1.0, start=1.0, more='base = "3 m"'),
        full,
        pipe("feed", "raw", "far", 'valve = { kind = "float" }'),
    )
    assert [(e.kind, e.where, e.lasted_s) for e in shut] == [("float shut", "feed", 3 * 86400.0)]


def test_a_gutter_that_runs_over() -> None:
    events = events_of(record_of([0.0, 10.0]), *BUTT, '[roof.r.gutter]\ncapacity = "5 L/h"')
    (over,) = (e for e in events if e.kind == "gutter over")
    assert (over.where, over.begins) == ("r", "2001-01-02")
    assert over.volume_m3 == pytest.approx(1.0 - 0.005 * 24.0)


def test_a_filter_that_is_cleaned() -> None:
    for way, kind in (("rake", "raked"), ("scrape", "scraped")):
        events = events_of(
            record_of([20.0] * 9),
            PLAIN_ROOF,
            SAND + f'care = {{ by = "{way}", every = "4 days" }}\n',
            tank("clean", volume_m3=90.0),
            pipe("p", "r", "f"),
            pipe("out", "f", "clean"),
        )
        cleaned = [e for e in events if e.kind in ("raked", "scraped", "re-sanded")]
        assert {e.kind for e in cleaned} == {kind}
        days = [np.datetime64(e.begins) for e in cleaned]
        assert [e.ends for e in cleaned] == [str(day) for day in days]
        assert all(np.diff(days) == np.timedelta64(4, "D"))
        assert cleaned[0].words == f"f was {kind}"


def test_a_clean_tank_that_fills_the_next_is_no_event() -> None:
    events = events_of(
        record_of([100.0]),
        PLAIN_ROOF,
        SAND,
        tank("clean", volume_m3=0.1),
        tank("next", volume_m3=100.0),
        pipe("p", "r", "f"),
        pipe("out", "f", "clean"),
        pipe("on", "clean.overflow", "next"),
    )
    assert {e.where for e in events if e.kind == "overflow"} <= {"f"}


def window_plan() -> Plan:
    return plan_of(*BUTT)


@pytest.mark.parametrize(
    ("start", "begins", "ends"),
    [
        (None, "00:10", "00:30"),
        (np.datetime64("2013-06-07"), "2013-06-07T00:10", "2013-06-07T00:30"),
    ],
)
def test_a_window_gives_the_minute(start: np.datetime64 | None, begins: str, ends: str) -> None:
    rain_m = np.zeros(24)
    rain_m[:6] = 0.002  # 0.2 m3 each five minutes: full within the third
    plan = window_plan()
    window = simulate_window(plan, rain_m, step_s=300.0, month=0)
    events = window_events(plan, window, assemble(plan), start=start)
    (spill,) = events
    assert (spill.kind, spill.begins, spill.ends) == ("overflow", begins, ends)
    assert spill.volume_m3 == pytest.approx(0.7)
    assert spill.peak_m3_per_s == pytest.approx(0.2 / 300.0)
    assert spill.words == "butt overflowed, 700 L in all, at worst 2,400 L/h"


def test_the_order_does_not_depend_on_where_events_came_from() -> None:
    events = events_of(record_of([0.0, 18.0, 0.0, 0.0, 2.0]), *BUTT, use("u", "butt", "600 L/day"))
    assert len(events) > 3
    assert in_order(reversed(events)) == events
    assert [e.begins_s for e in events] == sorted(e.begins_s for e in events)


def test_the_worst_are_the_greatest_of_their_kind() -> None:
    spill = Event("overflow", "a", "d1", "d1", 0.0, 1.0, volume_m3=1.0)
    many = [dataclasses.replace(spill, volume_m3=v) for v in (3.0, 1.0, 4.0, 2.0)]
    long = Event("tank dry", "b", "d1", "d9", 0.0, 9.0)
    worst = worst_events([*many, long, dataclasses.replace(long, lasted_s=2.0)], each=1)
    assert [(e.kind, e.volume_m3, e.lasted_s) for e in worst] == [
        ("tank dry", None, 9.0),
        ("overflow", 4.0, 1.0),
    ]

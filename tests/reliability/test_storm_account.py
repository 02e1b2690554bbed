"""The account of a storm, the single changes, the stretch of the record: sums made by hand."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import DEMO, PLAIN_ROOF, pipe, plan_of, record_of, tank, use
from roofspring.errors import RangeError
from roofspring.network.assemble import assemble
from roofspring.network.faults import break_plan
from roofspring.network.simulate import simulate, start_state
from roofspring.plan.model import Plan
from roofspring.reliability.storm import (
    CHANGES,
    STEPS_S,
    StormAnswer,
    assess_storm,
    carried,
    design_weather,
    on_day,
    record_weather,
    series_csv,
    worst_window,
)
from roofspring.reliability.storm.changes import next_size_m

DEMO_PLAN = Plan.model_validate(tomllib.loads(DEMO.read_text("utf-8")))
BUTT = (PLAIN_ROOF, tank("butt", volume_m3=1.0, start=0.5), pipe("p", "r", "butt"))


def storm(plan: Plan, depth_m: float, *, step_s: float = 300.0, **how: object) -> StormAnswer:
    weather = design_weather(depth_m=depth_m, duration_s=3600.0, step_s=step_s)
    return assess_storm(plan, weather, changes=bool(how.get("changes")))


def rows(answer: StormAnswer) -> dict[tuple[str, str], float]:
    return {(r.where, r.how): r.m3 for r in answer.account}


# 100 m2 of metal at a coefficient of 1 and no wetting, a butt of 1 m3 half full.


def test_the_account_of_a_butt() -> None:
    answer = storm(plan_of(*BUTT), 0.012)
    # 1.2 m3 fall, 0.5 m3 find room.
    assert rows(answer) == pytest.approx(
        {("butt", "held at the end"): 0.5, ("butt", "left over the overflow"): 0.7}
    )
    assert [r.share_frac for r in answer.account] == pytest.approx([0.7 / 1.2, 0.5 / 1.2])
    assert [r.kept for r in answer.account] == [False, True]
    assert answer.kept_m3 == pytest.approx(0.5)


def test_what_was_there_before_is_not_counted() -> None:
    # 240 L a day are drawn from the 500 L in any case, rain or none: in 25 h, 250 L.
    answer = storm(plan_of(*BUTT, use("u", "butt", "240 L/day")), 0.012)
    # The butt ends 25 h with 240 L drawn after it was last full, whatever it held before.
    found = rows(answer)
    assert sum(found.values()) == pytest.approx(1.2, abs=1e-12)
    assert ("u", "drawn in these hours") not in found
    assert found["butt", "held at the end"] > 0.5


def test_water_that_a_dry_use_gets_is_kept() -> None:
    empty = tank("butt", volume_m3=1.0, start=0.0)
    answer = storm(
        plan_of(PLAIN_ROOF, empty, pipe("p", "r", "butt"), use("u", "butt", "24 L/day")), 0.005
    )
    # From the first drops on the use is served: a litre an hour for 25 h.
    found = rows(answer)
    assert found["u", "drawn in these hours"] == pytest.approx(0.025, abs=1e-3)
    assert answer.kept_m3 == pytest.approx(0.5, abs=1e-12)


@settings(max_examples=15, deadline=None)
@given(
    depth_m=st.floats(0.001, 0.12),
    full=st.floats(0.0, 1.0),
    fault=st.sampled_from(
        ["", "feed-a:stuck-open", "leaf-screen:blinded", "cabin:gutter-blocked", "feed-b:closed"]
    ),
)
def test_the_rows_add_up_to_what_fell(depth_m: float, full: float, fault: str) -> None:
    plan = break_plan(DEMO_PLAN, fault).plan if fault else DEMO_PLAN
    weather = design_weather(depth_m=depth_m, duration_s=3600.0)
    answer = assess_storm(plan, weather, full_frac=full, changes=False)
    assert sum(r.m3 for r in answer.account) == pytest.approx(depth_m * 154.0, abs=1e-9)
    assert sum(r.share_frac for r in answer.account) == pytest.approx(1.0, abs=1e-9)
    assert answer.fell_m3 == pytest.approx(depth_m * 154.0)


# What single changes do.

TRAIN = """
[screen.leaves]
efficiency = "90 %"
[roof.wing]
area = "50 m2"
material = "metal"
[roof.wing.gutter]
shape = "box"
width = "100 mm"
depth = "75 mm"
downpipe = "50 mm"
[roof.shed]
area = "40 m2"
material = "metal"
[roof.shed.gutter]
capacity = "0.2 L/s"
[filter.sand]
area = "0.25 m2"
base = "0 m"
sand-top = "1 m"
weir = "1.05 m"
overflow = "1.55 m"
inlet = "1.6 m"
[swale.low]
"""
WHOLE = plan_of(
    TRAIN,
    tank("raw", volume_m3=1.0, start=0.5, more='base = "3 m"\noverflow = "3.9 m"'),
    tank("clean", volume_m3=1.0, more='base = "-2 m"'),
    pipe("wing-down", "wing", "leaves"),
    pipe("shed-down", "shed", "leaves"),
    pipe("screened", "leaves", "raw"),
    pipe(
        "feed",
        "raw",
        "sand",
        'size = "21 mm"\nvalve = { kind = "float", kv = "1.7 m3/h" }\n'
        'strainer = { blocked = "60 %" }',
    ),
    pipe("filtered", "sand", "clean"),
    pipe("spill", "sand.overflow", "low"),
    pipe("raw-over", "raw.overflow", "low", 'size = "75 mm"'),
)


@pytest.mark.parametrize("name", CHANGES)
def test_the_contract_of_every_change(name: str) -> None:
    before = WHOLE.model_dump()
    ways = list(CHANGES[name].ways(WHOLE))
    assert ways
    assert WHOLE.model_dump() == before
    places = dict(WHOLE.parts()).keys() | {f"pipe.{p}" for p in WHOLE.pipes}
    for way in ways:
        assert way.plan != WHOLE
        assert way.where in places | {f"{r}.gutter" for r in WHOLE.roofs}
        assert way.words and way.words[0].islower()
        assembled = assemble(way.plan)  # it holds together
        answer = assess_storm(
            way.plan,
            design_weather(depth_m=0.05, duration_s=3600.0),
            state=carried(start_state(assemble(WHOLE)), to=assembled, of=assemble(WHOLE)),
            changes=False,
        )
        assert answer.residual_m3 < 1e-9
        assert answer.fell_m3 == pytest.approx(0.05 * 90.0)
    assert [(w.where, w.words) for w in CHANGES[name].ways(WHOLE)] == [
        (w.where, w.words) for w in ways
    ]


def test_a_plan_without_such_parts_has_no_way() -> None:
    assert [way.where for c in CHANGES.values() for way in c.ways(plan_of(*BUTT))] == ["butt"]


def test_one_more_butt_keeps_what_one_more_butt_holds() -> None:
    advice = storm(plan_of(*BUTT), 0.030, changes=True).advice
    # 3 m3 fall on a butt with room for 0.5: 2.5 are lost. One more butt has room for one more.
    assert advice is not None
    (best,) = advice.tried
    assert best.change == "one more tank"
    assert advice.catchable_m3 == pytest.approx(2.5)
    assert best.more_kept_m3 == pytest.approx(1.0)
    assert best.of_lost_frac == pytest.approx(0.4)
    assert advice.room_m3 == pytest.approx(2.5)
    assert advice.room_where == "butt"
    assert "1,000 L of the 2,500 L lost" in advice.sentence
    assert "2,500 L more tank" in advice.sentence


def test_a_screen_that_throws_off_half_as_much() -> None:
    plan = plan_of(
        PLAIN_ROOF,
        '[screen.s]\nefficiency = "80 %"',
        tank("butt", volume_m3=50.0),
        pipe("a", "r", "s"),
        pipe("b", "s", "butt"),
    )
    advice = storm(plan, 0.020, changes=True).advice
    # 2 m3 fall, 0.4 are thrown off, 0.2 with the better screen.
    assert advice is not None
    best = advice.tried[0]
    assert (best.change, best.where) == ("better screen", "s")
    assert best.more_kept_m3 == pytest.approx(0.2)
    assert advice.room_where == ""


def test_a_stronger_gutter_keeps_what_it_carries_more() -> None:
    gutter = '[roof.r.gutter]\ncapacity = "0.1 L/s"'
    plan = plan_of(PLAIN_ROOF, gutter, tank("butt", volume_m3=50.0), pipe("p", "r", "butt"))
    advice = storm(plan, 0.060, changes=True).advice
    # At no time of this hour does less than 0.15 L/s run off: 0.05 L/s more for 3600 s.
    assert advice is not None
    assert advice.tried[0].change == "stronger gutter"
    assert advice.tried[0].more_kept_m3 == pytest.approx(0.180)


def test_when_nothing_is_lost_nothing_is_advised() -> None:
    advice = storm(plan_of(*BUTT), 0.004, changes=True).advice
    assert advice is not None
    assert advice.sentence.startswith("Nothing was lost")
    assert advice.catchable_m3 == pytest.approx(0.0)


def test_when_no_change_helps_it_says_so() -> None:
    # A filter with no tank's feed spills: no change of the list touches it.
    plan = plan_of(
        PLAIN_ROOF,
        '[filter.f]\narea = "0.01 m2"\nweir = "1.05 m"\noverflow = "1.15 m"',
        tank("clean", volume_m3=9.0),
        pipe("p", "r", "f"),
        pipe("q", "f", "clean"),
    )
    advice = storm(plan, 0.020, changes=True).advice
    assert advice is not None
    assert "None of the 1 single changes tried would have kept much" in advice.sentence
    assert "the storm is simply more than the tanks hold" in advice.sentence


def test_past_the_filters_does_not_count_as_kept() -> None:
    answer = storm(DEMO_PLAN, 0.040, changes=True)
    # The planted fault: what the raw tank spills runs into the cistern, which has room for it.
    (spill,) = (w for w in answer.spilled if w.where == "raw tank")
    assert answer.bypassed_m3 == pytest.approx(spill.m3)
    assert answer.advice is not None
    assert answer.advice.tried[0].where == "raw"
    assert "spilled past the filters" in answer.sentence


def test_an_overwhelmed_overflow_is_a_finding_with_the_size_that_cures_it() -> None:
    # A level pipe of 100 mm under 100 mm of water passes 4.507 L/s without loss (critical flow,
    # computed), 4.06 with the share of 0.9 for its entry; one of 90 mm, drowned, 0.6 a sqrt(2 g h)
    # = 3.96 L/s with h = 55 mm to its middle; 12 mm on 100 m2 in five minutes are 4 L/s.
    plan = plan_of(
        PLAIN_ROOF,
        tank("t", volume_m3=1.0, start=1.0, more='base = "0 m"\noverflow = "0.9 m"'),
        "[swale.low]",
        pipe("p", "r", "t"),
        pipe("over", "t.overflow", "low", 'size = "50 mm"'),
    )
    weather = design_weather(depth_m=0.048, duration_s=1200.0)
    even_m = np.where(np.arange(len(weather.rain_m)) < 4, 0.012, 0.0)
    weather = replace(weather, rain_m=even_m)
    answer = assess_storm(plan, weather, changes=True)
    (finding,) = (f for f in answer.findings if f.code == "STO-103")
    assert (finding.severity, finding.where) == ("caution", "t.overflow")
    assert "a pipe of 100 mm would carry it" in finding.next
    brim = rows(answer)["t", "ran over the brim"]
    assert f"{1000 * brim:,.0f} L ran over the brim" in finding.got
    assert "left over an overflow or a brim for good" in answer.sentence
    assert [w.where for w in answer.spilled] == ["t", "t"]
    assert {e.kind for e in answer.events} == {"overflow", "brim over"}
    assert answer.advice is not None
    assert "larger overflow" in {t.change for t in answer.advice.tried}
    wide = plan_of(
        PLAIN_ROOF,
        tank("t", volume_m3=1.0, start=1.0, more='base = "0 m"\noverflow = "0.9 m"'),
        "[swale.low]",
        pipe("p", "r", "t"),
        pipe("over", "t.overflow", "low", 'size = "100 mm"'),
    )
    assert "STO-103" not in [f.code for f in assess_storm(wide, weather).findings]


def test_an_overwhelmed_overflow_of_a_filter_box_is_named_too() -> None:
    # At the rim, 100 mm over the lip, a pipe of 50 mm is drowned: 0.6 a sqrt(2 g 75 mm), by hand
    # 1.429 L/s or 5,144 L/h; 12 mm on 100 m2 in five minutes are 4 L/s.
    plan = plan_of(
        PLAIN_ROOF,
        '[filter.f]\narea = "0.5 m2"\nweir = "1 m"\noverflow = "1.3 m"\nrim = "1.4 m"',
        pipe("p", "r", "f"),
        "[swale.low]",
        pipe("over", "f.overflow", "low", 'size = "50 mm"'),
    )
    weather = design_weather(depth_m=0.048, duration_s=1200.0)
    even_m = np.where(np.arange(len(weather.rain_m)) < 4, 0.012, 0.0)
    answer = assess_storm(plan, replace(weather, rain_m=even_m))
    (finding,) = (f for f in answer.findings if f.code == "STO-103")
    assert finding.where == "f.overflow"
    assert "5,144 L/h" in (finding.limit or "")
    assert rows(answer)["f", "ran over the brim"] > 0.0
    assert "STO-102" not in [f.code for f in answer.findings]  # nothing is taken to be wide enough


def test_the_ladder_of_sizes() -> None:
    assert next_size_m(0.02093, (0.016, 0.021, 0.027)) == 0.027  # 0.021 is the same size
    assert next_size_m(0.019, (0.016, 0.021, 0.027)) == 0.021
    assert next_size_m(0.027, (0.016, 0.021, 0.027)) is None


# Steps and series.


@pytest.mark.parametrize("step_s", STEPS_S)
def test_every_step_has_the_same_rain(step_s: float) -> None:
    weather = design_weather(depth_m=0.03, duration_s=3600.0, step_s=step_s)
    assert weather.depth_m == pytest.approx(0.03)
    assert len(weather.rain_m) * step_s == 90000.0
    fine = design_weather(depth_m=0.03, duration_s=3600.0, step_s=60.0)
    assert weather.rain_m.sum() == pytest.approx(fine.rain_m.sum())
    assert fine.peak_m_per_s == pytest.approx(
        design_weather(depth_m=0.03, duration_s=3600.0).peak_m_per_s
    )


def test_another_step_is_refused() -> None:
    with pytest.raises(RangeError, match="STO-005"):
        design_weather(depth_m=0.03, duration_s=3600.0, step_s=7.0)


def test_the_step_moves_the_answer_little() -> None:
    one, five = (storm(DEMO_PLAN, 0.040, step_s=s) for s in (60.0, 300.0))
    assert one.caught_m3 == pytest.approx(five.caught_m3, rel=1e-3)
    assert one.filtered_m3 == pytest.approx(five.filtered_m3, rel=0.02)


def test_the_csv_says_its_units_and_adds_up() -> None:
    answer = storm(plan_of(*BUTT), 0.012, step_s=60.0)
    head, *lines = series_csv(answer.series, units="metric")
    names = head.strip().split(",")
    assert names[:2] == ["time [min]", "rain [mm]"]
    table = np.array([[float(cell) for cell in line.split(",")] for line in lines])
    assert table.shape == (25 * 60, len(names))
    column = dict(zip(names, table.T, strict=True))
    assert column["time [min]"][-1] == 1500.0
    assert column["rain [mm]"].sum() == pytest.approx(12.0, rel=1e-4)
    assert column["butt holds [L]"][-1] == pytest.approx(1000.0)
    # Litres an hour, for a minute each.
    assert column["butt.overflow to ground [L/h]"].sum() / 60.0 == pytest.approx(700.0, rel=1e-4)
    us_head, *_ = series_csv(answer.series, units="us")
    assert "butt holds [gal]" in us_head


def test_levels_are_those_of_the_contents() -> None:
    plan = plan_of(PLAIN_ROOF, tank("butt", volume_m3=1.0, height_m=2.0, more='base = "5 m"'),
                   pipe("p", "r", "butt"))  # fmt: skip
    series = storm(plan, 0.004).series
    assert series.levels_m["butt"][0] == pytest.approx(5.0)
    assert series.levels_m["butt"][-1] == pytest.approx(5.0 + 2.0 * 0.4)
    assert max(series.into_tanks_m3_per_s) > 0.0
    assert sum(series.lost_m3_per_s) == 0.0


# A stretch of the record.

DAYS_MM = [0.0, 0.0, 6.0, 0.0, 30.0, 0.0, 0.0, 9.0, 0.0, 0.0]


def test_a_stretch_begins_with_what_the_run_leaves() -> None:
    plan = plan_of(*BUTT, use("u", "butt", "100 L/day"))
    record = record_of(DAYS_MM)
    assembled = assemble(plan)
    state = on_day(plan, record, assembled, record.days[4])
    run = simulate(plan, record)
    row = assembled.topology.nodes.index("butt")
    # Two dry days leave 300 L, the third brings 600 and takes 100, the fourth takes 100.
    assert state.content_m3[row] == pytest.approx(0.7)
    assert state.content_m3[row] == pytest.approx(run.end_m3[3, 0])
    assert on_day(plan, record, assembled, record.days[0]).content_m3[row] == 0.5


@pytest.mark.parametrize("within", ["even", "type2", "block", "cascade"])
def test_a_stretch_is_the_run_seen_closely(within: str) -> None:
    text = f'[rain]\nwithin-day = "{within}"\n[run]\nwet-step = "5 min"\ndry-step = "5 min"'
    plan = plan_of(text, *BUTT, use("u", "butt", "100 L/day"))
    record = record_of(DAYS_MM)
    run = simulate(plan, record)
    day = record.days[4]
    weather = record_weather(plan, record, start=day, hours=48.0)
    assert weather.depth_m == pytest.approx(0.030)
    state = on_day(plan, record, assemble(plan), day)
    answer = assess_storm(plan, weather, state=state, changes=False)
    spilled = run.flow_m3[4:6, [a.kind == "overflow" for a in run.arcs]].sum()
    assert sum(w.m3 for w in answer.spilled) == pytest.approx(spilled, rel=1e-9)
    assert answer.series.contents_m3["butt"][-1] == pytest.approx(run.end_m3[5, 0])
    assert answer.start == "2001-01-05"
    assert answer.events[0].begins.startswith("2001-01-05T")


@pytest.mark.parametrize("air_degc", [2.0, 18.0])
def test_a_stretch_has_the_water_of_its_days(air_degc: float) -> None:
    plan = plan_of(
        '[run]\nwet-step = "5 min"\ndry-step = "5 min"\n[rain]\nsnow = "as-rain"',
        PLAIN_ROOF,
        '[filter.f]\narea = "1 m2"\nweir = "1.05 m"\noverflow = "1.55 m"\n'
        'skin = { law = "steady" }',  # it ages in the evening, and step by step in a storm
        tank("clean", volume_m3=90.0),
        pipe("p", "r", "f"),
        pipe("q", "f", "clean"),
    )
    warmth = np.full(3, air_degc)
    record = replace(record_of([0.0, 40.0, 0.0]), tmin_degc=warmth, tmax_degc=warmth)
    run = simulate(plan, record)
    day = record.days[1]
    weather = record_weather(plan, record, start=day, hours=24.0)
    assert weather.water_degc == air_degc
    state = on_day(plan, record, assemble(plan), day)
    answer = assess_storm(plan, weather, state=state, changes=False)
    through = run.flow_m3[1, [a.kind == "sand" for a in run.arcs]].sum()
    assert answer.filtered_m3 == pytest.approx(through, rel=1e-6)


def test_snow_lies_on_the_roof_and_melts_in_the_stretch_as_in_the_run() -> None:
    # 13 mm on 100 m2 fall as snow at -5 degrees C; the third day, at 6, melts 24 of at most 4 mm a
    # degree: all of it, half of which slides off (the share of a plan that does not say).
    plan = plan_of(*BUTT)
    depths = record_of([8.0, 5.0, 0.0, 0.0])
    air = np.array([-5.0, -5.0, 6.0, 6.0])
    record = replace(depths, tmin_degc=air - 1.0, tmax_degc=air + 1.0)
    run = simulate(plan, record)
    for day, lies_m3, melts_m3 in ((1, 0.5, 0.0), (2, 0.0, 0.65)):
        weather = record_weather(plan, record, start=record.days[day], hours=24.0)
        state = on_day(plan, record, assemble(plan), record.days[day])
        answer = assess_storm(plan, weather, state=state, changes=False)
        snow = [row.m3 for row in answer.account if row.how == "lies on it as snow"]
        assert sum(snow) == pytest.approx(lies_m3)
        passed = run.flow_m3[day, [a.kind == "pass" for a in run.arcs]].sum()
        assert passed == pytest.approx(melts_m3, abs=1e-9)
        assert answer.fell_m3 == pytest.approx(0.5 if day == 1 else 0.0)


def test_a_skin_that_a_fault_clogs_is_not_undone_by_the_run_before() -> None:
    filter_text = '[filter.f]\narea = "1 m2"\nweir = "1.05 m"\noverflow = "1.55 m"'
    plan = plan_of(
        PLAIN_ROOF, filter_text, tank("clean", volume_m3=90.0), pipe("p", "r", "f"),
        pipe("q", "f", "clean"),
    )  # fmt: skip
    record = record_of([10.0, 10.0, 10.0])
    assembled = assemble(plan)
    broken = assemble(break_plan(plan, "f:skin-clogged=50 h").plan)
    state = on_day(plan, record, assembled, record.days[2])
    row = assembled.topology.nodes.index("f")
    assert carried(state, to=broken, of=assembled).skin_s[row] == 180000.0
    assert carried(state, to=assembled, of=assembled).skin_s[row] == state.skin_s[row]


def test_a_stretch_of_an_hourly_record() -> None:
    hours_mm = np.zeros(72)
    hours_mm[30] = 24.0  # 06:00 to 07:00 on the second day
    record = record_of(hours_mm, step_s=3600.0)
    weather = record_weather(plan_of(*BUTT), record, start=record.days[1], hours=24.0)
    assert weather.rain_m[6 * 12 : 7 * 12] == pytest.approx(0.002)
    assert weather.depth_m == pytest.approx(0.024)


@pytest.mark.parametrize(("day", "hours"), [("2000-12-31", 24.0), ("2001-01-10", 36.0)])
def test_hours_outside_the_record_are_refused(day: str, hours: float) -> None:
    with pytest.raises(RangeError, match="STO-006"):
        record_weather(plan_of(*BUTT), record_of(DAYS_MM), start=np.datetime64(day), hours=hours)


def test_the_worst_stretch_spills_most() -> None:
    plan = plan_of(*BUTT)
    run = simulate(plan, record_of(DAYS_MM))
    # The first 0.5 m3 of the 6 mm fill the butt; after that each day spills what it brings: 3 m3 on
    # the fifth day, 0.9 on the eighth.
    assert worst_window(plan, run, hours=24.0) == np.datetime64("2001-01-05")
    assert worst_window(plan, run, hours=36.0) == np.datetime64("2001-01-04")
    with pytest.raises(RangeError, match="STO-006"):
        worst_window(plan, run, hours=24.0 * 11)


def test_a_record_that_never_spills_has_no_worst() -> None:
    plan = plan_of(*BUTT)
    with pytest.raises(RangeError, match="STO-007"):
        worst_window(plan, simulate(plan, record_of([1.0, 1.0])), hours=24.0)


def test_a_changed_plan_begins_with_the_same_water() -> None:
    plan = plan_of(*BUTT)
    (way,) = CHANGES["one more tank"].ways(plan)
    base, more = assemble(plan), assemble(way.plan)
    state = carried(start_state(base), to=more, of=base)
    assert state.content_m3.sum() == pytest.approx(0.5)
    small = plan_of(PLAIN_ROOF, tank("butt", volume_m3=0.2), pipe("p", "r", "butt"))
    assert carried(start_state(base), to=assemble(small), of=base).content_m3.sum() == 0.2

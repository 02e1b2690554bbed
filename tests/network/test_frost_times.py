"""Frost in the parts of a plan, on weather made in the tests and on a real record."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.build import DATA, dry, pipe, plan_of
from roofspring.hydraulics import cooling_time_s, wall_loss_w_per_k
from roofspring.network.frost_times import Frost, assess_frost, hours_words
from roofspring.rain import RainRecord, read

TANK = '[tank.t]\nvolume = "1 m3"\nheight = "1 m"\nbase = "1 m"\n'
REST = '[tap.k]\n[use.u]\nfrom = ["k"]\nper-day = "1 L/day"\n' + pipe(
    "p", "t", "k", 'size = "21 mm"'
)


def weather(*spells: tuple[int, float], years: int = 3) -> RainRecord:
    """Days of one temperature each, from 1 January, the same every year of 365 days and a day."""
    year = np.concatenate([np.full(days, degc) for days, degc in spells])
    degc = np.tile(year, years)
    return replace(dry(len(degc), start="2001-01-01"), tmin_degc=degc, tmax_degc=degc.copy())


WINTER = weather((31, 5.0), (30, -8.0), (304, 9.0))


def frost(*plan: str, record: RainRecord | None = WINTER) -> Frost:
    return assess_frost(plan_of(*plan), record)


def codes(found: Frost) -> list[str]:
    return [f.code for f in found.findings]


def test_hours_are_the_closed_form() -> None:
    (row,) = frost(TANK).rows
    # Half a tonne of water in an upright tank of 1 m3, 1 m high, bare.
    surface = 2.0 + 2.0 * np.sqrt(np.pi)
    seconds = cooling_time_s(
        500.0, loss_w_per_k=wall_loss_w_per_k(float(surface)), start_degc=8.0, air_degc=-8.0
    )
    assert row.zero_hours == pytest.approx(seconds / 3600.0)
    assert row.hurt_hours > row.zero_hours


def test_dates_follow_the_cold() -> None:
    (row,) = frost(TANK).rows
    assert row.freezing_years_frac == pytest.approx(3 / 4)  # the last half year has no winter
    assert row.drain_before.endswith("February") and row.fill_after.endswith("March")
    assert 0 < row.days_per_year < 60


def test_south_of_the_equator_winters_are_whole_years() -> None:
    cold = weather((181, 9.0), (30, -8.0), (154, 9.0))
    (row,) = frost('[site]\nlatitude = "-40 deg"\n', TANK, record=cold).rows
    assert row.freezing_years_frac == 1.0
    assert row.drain_before.endswith("July")


def test_insulation_and_shelter_help() -> None:
    bare = frost(TANK + REST)
    wrapped = frost(TANK + 'shelter = { insulation = "100 mm" }\n' + REST)
    assert bare.rows[0].worst_frac > wrapped.rows[0].worst_frac
    assert bare.rows[0].hurt_hours < wrapped.rows[0].hurt_hours
    inside = frost(TANK + "shelter = { indoors = true }\n" + REST)
    assert [r.where for r in inside.rows] == ["pipe.p"]
    buried = frost(TANK.replace('base = "1 m"', 'base = "0 m"\nground = "1 m"'))
    assert buried.rows == ()


def test_kinds_are_told_apart_and_small_pipes_go_first() -> None:
    found = frost(TANK + REST)
    assert codes(found).count("FRO-103") == 2
    by_where = {r.where: r for r in found.rows}
    assert by_where["pipe.p"].hurt_hours < by_where["t"].hurt_hours
    assert by_where["pipe.p"].ice_m is None and by_where["t"].ice_m is not None
    pipes = next(f for f in found.findings if "pipes" in f.what)
    assert "drain from" in pipes.next and pipes.where == "pipe.p"


def test_lines_that_empty_themselves_are_left_out() -> None:
    plan = TANK + 'overflow = "1.9 m"\n[swale.s]\n' + pipe("o", "t.overflow", "s", 'size = "50 mm"')
    assert [r.where for r in frost(plan).rows] == ["t"]


def test_room_for_ice() -> None:
    assert "FRO-104" in codes(frost(TANK))
    assert "FRO-104" not in codes(frost(TANK + 'overflow = "1.85 m"\n'))


def test_buried_pipes_against_the_depth_of_frost() -> None:
    shallow = TANK + REST + 'shelter = { buried-depth = "0.2 m" }\n'
    found = frost(shallow)
    assert found.soil_frost_m is not None and found.soil_frost_m > 0.2
    assert "FRO-105" in codes(found) and "pipe.p" not in {r.where for r in found.rows}
    assert "FRO-105" not in codes(frost(shallow.replace("0.2 m", "3 m")))


def test_no_frost_or_no_temperatures_say_nothing() -> None:
    for record in (None, dry(30), weather((365, 3.0))):
        assert frost(TANK, record=record) == Frost((), None, ())
    gap = weather((31, 5.0), (30, -8.0), (304, 9.0))
    assert gap.tmin_degc is not None
    low = gap.tmin_degc.copy()
    low[40] = np.nan
    assert frost(TANK, record=replace(gap, tmin_degc=low)).rows
    assert frost(TANK, record=replace(gap, tmin_degc=np.full(len(low), np.nan))).rows == ()


def test_brussels_is_milder_than_a_continent() -> None:
    found = frost(TANK + REST, record=read(DATA / "brussels_daily_1976_2005.csv"))
    by_where = {r.where: r for r in found.rows}
    assert by_where["pipe.p"].freezing_years_frac > 0.9
    assert 0.0 < by_where["t"].days_per_year < 25.0


def test_short_times_are_minutes() -> None:
    assert hours_words(0.4) == "24 minutes" and hours_words(12.0) == "12 hours"

"""Days in a new order: what order they may be in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rain.futures.records import record
from roofspring.rain import RainRecord
from roofspring.rain.futures import MovingBlocks, NearestDays, WholeYears
from roofspring.rain.futures._calendar import place_of


def numbered() -> RainRecord:
    """Brussels with the number of its day as its greatest temperature, so that days can be told."""
    gauge = record("brussels")
    number = np.arange(gauge.days_count, dtype=np.float64)
    return replace(gauge, tmin_degc=np.full(len(number), -1.0), tmax_degc=number)


def days_of(made: RainRecord) -> np.ndarray:
    assert made.tmax_degc is not None
    chosen: np.ndarray = made.tmax_degc.astype(np.int64)
    return chosen


def apart(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Days between places in the year, over the new year where that is shorter."""
    gap = np.abs(a - b)
    shorter: np.ndarray = np.minimum(gap, 366 - gap)
    return shorter


def test_whole_years_are_years_of_the_record() -> None:
    source = numbered()
    made = WholeYears().fit(source).simulate(years=40, seed=3, start=np.datetime64("2001-01-01"))
    chosen = days_of(made)
    assert (made.depth_m == source.depth_m[chosen]).all()
    assert (apart(place_of(made.days), place_of(source.days[chosen])) <= 1).all()
    year = made.days.astype("datetime64[Y]").astype(int)
    drawn = source.days[chosen].astype("datetime64[Y]").astype(int)
    of_year = [set(drawn[year == y].tolist()) for y in np.unique(year)]
    assert all(len(one) == 1 for one in of_year)
    # Drawn with replacement: 40 of 30 must repeat some, and chance leaves some out.
    assert 15 <= len({one.pop() for one in of_year}) <= 29


def test_years_that_stay_together() -> None:
    source = numbered()
    made = WholeYears(block_years=5).fit(source).simulate(years=20, seed=3)
    drawn = source.days[days_of(made)].astype("datetime64[Y]").astype(int)
    year = made.days.astype("datetime64[Y]").astype(int)
    order = np.array([drawn[year == y][0] for y in np.unique(year)])
    assert (np.diff(order).reshape(-1)[np.arange(19) % 5 != 4] == 1).all()


def test_blocks_stay_together_and_near_their_season() -> None:
    source = numbered()
    made = MovingBlocks(block_days=20, window_days=5).fit(source).simulate(years=30, seed=1)
    chosen = days_of(made)
    step = np.diff(chosen)
    assert (step[np.arange(len(step)) % 20 != 19] == 1).all()
    # Five days by choice, and one for a leap day within the block.
    gap = apart(place_of(made.days), place_of(source.days[chosen]))
    assert gap.max() <= 6 and gap.max() >= 4


def test_nearest_days_follow_days_like_the_last() -> None:
    source = numbered()
    gauge = record("brussels")
    made = NearestDays(memory_days=1.0, neighbours=3).fit(gauge).simulate(years=200, seed=1)
    # Chance of a wet day after a wet and after a dry one, in the record and in what follows alike.
    for after in (True, False):
        shares = []
        for rain in (gauge, made):
            wet = rain.depth_m >= 0.00025
            shares.append(wet[1:][wet[:-1] == after].mean())
        assert shares[0] == pytest.approx(shares[1], abs=0.02)
    chosen = days_of(NearestDays(window_days=4).fit(source).simulate(years=20, seed=2))
    before, last = source.days[chosen[1:] - 1], made.days[: len(chosen) - 1]
    # Four days, and one for the leap day that a common year lacks.
    assert (apart(place_of(before), place_of(last)) <= 5).all()


def test_every_day_may_come() -> None:
    """No part of the record is left out: over a long time every year gives its share."""
    source = numbered()
    for model, room in ((WholeYears(), 0.35), (MovingBlocks(), 0.15)):
        made = model.fit(source).simulate(years=3000, seed=1)
        drawn = source.days[days_of(made)].astype("datetime64[Y]").astype(int)
        share = np.bincount(drawn - drawn.min()) / len(drawn) * 30.0
        # 100 of each year are drawn: standard error 10 % for whole years, a third for blocks.
        assert share == pytest.approx(np.ones(30), abs=room)

"""The engine on real rain against a balance written here in plain Python, day by day.

The rule of the engine's step, as stated in `roofspring.kernels.run`: what a use wants is first
drawn from what the store held at the start; then the inflow comes and what does not fit spills;
then what is still wanted is drawn from what has arrived. This lies between yield after spillage
and yield before spillage (Jenkins et al. 1978), which bound it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from network.build import DATA, DAY_STEPS, delivered_m3, end_m3, pipe, plan_of, tank, use
from roofspring.network.events import short_days
from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.rain import RainRecord, read

AREA_M2, COEFFICIENT, WETTING_M, DRYING_M_PER_DAY = 80.0, 0.9, 0.5e-3, 5e-3
CAPACITY_M3, START_M3, DEAD_M3 = 4.0, 1.0, 0.4
EFFICIENCY, FLUSH_M3 = 0.85, 0.08

ROOF = """
[roof.r]
area = "80 m2"
material = "metal"
coefficient = "90 %"
wetting = "0.5 mm"
drying = "5 mm/day"
"""
STORE = tank(
    "t",
    volume_m3=5.0,
    height_m=2.0,
    start=0.25,
    more='base="1 m"\noutlet="1.16 m"\noverflow="2.6 m"',
)
NO_SCREEN = ROOF + STORE + pipe("p", "r", "t")
# A chamber that weeps empty in a year takes a negligible but known share of each day: see below.
# The roof runs for the part of the step that is left once it is wet.
WITH_SCREEN = (
    ROOF
    + STORE
    + '[screen.s]\nefficiency = "85 %"\n[first-flush.f]\nvolume = "80 L"\nreset = "365 days"\n'
    + pipe("p", "r", "s")
    + pipe("q", "s", "f")
    + pipe("v", "f", "t")
)


class Store:
    """One store with a rule for the step."""

    def __init__(self) -> None:
        self.held_m3 = START_M3
        self.spilled_m3: list[float] = []
        self.got_m3: list[float] = []
        self.ends_m3: list[float] = []

    def step(self, came_m3: float, wanted_m3: float) -> None:
        first = min(wanted_m3, max(0.0, self.held_m3 - DEAD_M3))
        there = self.held_m3 - first + came_m3
        spilled = there - CAPACITY_M3 if there > CAPACITY_M3 else 0.0
        there -= spilled
        second = min(wanted_m3 - first, max(0.0, there - DEAD_M3))
        self.held_m3 = there - second
        self.ends_m3.append(self.held_m3)
        self.got_m3.append(first + second)
        self.spilled_m3.append(spilled)


def caught(rain_m: list[float], *, hours: float, screened: bool) -> list[float]:
    """What reaches the tank in each step, in plain arithmetic."""
    film_m, chamber_m3 = 0.0, 0.0
    out = []
    for fell_m in rain_m:
        runs_hours = 0.0
        if fell_m > 0.0:
            kept_m = min(fell_m, WETTING_M - film_m)
            film_m += kept_m
            runs_hours = hours * (1.0 - kept_m / fell_m)
            ran_m3 = (fell_m - kept_m) * AREA_M2 * COEFFICIENT
        else:
            film_m = max(0.0, film_m - DRYING_M_PER_DAY * hours / 24.0)
            ran_m3 = 0.0
        if screened:
            ran_m3 *= EFFICIENCY
            weeps_m3_per_hour = FLUSH_M3 / (24.0 * 365.0)
            chamber_m3 -= min(chamber_m3, weeps_m3_per_hour * (hours - runs_hours))
            chamber_m3 += ran_m3
            chamber_m3 -= min(chamber_m3, weeps_m3_per_hour * runs_hours)
            ran_m3 = max(0.0, chamber_m3 - FLUSH_M3)
            chamber_m3 -= ran_m3
        out.append(ran_m3)
    return out


def bounds(came_m3: list[float], wanted_m3: float) -> tuple[float, float]:
    """Total yields of yield after spillage and of yield before spillage, over the dead volume."""
    totals = []
    for late_share in (0.0, 1.0):
        held, room, total = START_M3 - DEAD_M3, CAPACITY_M3 - DEAD_M3, 0.0
        for came in came_m3:
            got = min(wanted_m3, held + late_share * came)
            held = min(held + came - got, room - (1.0 - late_share) * got)
            total += got
        totals.append(total)
    return totals[0], totals[1]


def compared(result: RunResult, store: Store, wanted_m3: float, *, per_day: int) -> None:
    days = len(result.days)

    def daily(values: list[float]) -> Any:
        return np.array(values[: days * per_day]).reshape(days, per_day).sum(axis=1)

    ends_m3 = np.array(store.ends_m3[: days * per_day]).reshape(days, per_day)[:, -1]
    spilled = result.flow_m3[:, [a.kind == "overflow" for a in result.arcs]].sum(axis=1)
    got_m3 = daily(store.got_m3)
    np.testing.assert_allclose(end_m3(result, "t"), ends_m3, rtol=0, atol=1e-6)
    np.testing.assert_allclose(delivered_m3(result, "u"), got_m3, rtol=0, atol=1e-6)
    np.testing.assert_allclose(spilled, daily(store.spilled_m3), rtol=0, atol=1e-6)
    short = int((wanted_m3 - got_m3 > 1e-9).sum())
    assert int(short_days(result).sum()) == short
    # A comparison without shortage, without spill or without any rest would prove little.
    assert 0 < short < days
    assert spilled.sum() > 0.0


@pytest.mark.parametrize("screened", [False, True], ids=["bare", "screen and first flush"])
@pytest.mark.parametrize(
    ("file", "wanted_l"),
    [("seattle_daily_2012_2015.csv", 170.0), ("brussels_daily_1976_2005.csv", 130.0)],
)
def test_days(file: str, wanted_l: float, screened: bool) -> None:
    record = read(DATA / file)
    parts = WITH_SCREEN if screened else NO_SCREEN
    result = simulate(plan_of(DAY_STEPS, parts, use("u", "t", f"{wanted_l} L/day")), record)
    assert result.steps_count >= record.days_count  # more where a step is cut
    came_m3 = caught([float(d) for d in record.depth_m], hours=24.0, screened=screened)
    store = Store()
    for came in came_m3:
        store.step(came, wanted_l / 1000.0)
    compared(result, store, wanted_l / 1000.0, per_day=1)
    least_m3, most_m3 = bounds(came_m3, wanted_l / 1000.0)
    total_m3 = float(delivered_m3(result, "u").sum())
    assert least_m3 - 1e-6 <= total_m3 <= most_m3 + 1e-6
    assert least_m3 < most_m3


def new_york() -> RainRecord:
    return read(DATA / "new_york_jfk_hourly_2013.csv")


@pytest.mark.parametrize("screened", [False, True], ids=["bare", "screen and first flush"])
def test_hours(screened: bool) -> None:
    record = new_york()
    steps = '[rain]\nsnow = "as-rain"\n[run]\nwet-step = "1 h"\ndry-step = "1 h"\n'
    parts = WITH_SCREEN if screened else NO_SCREEN
    result = simulate(plan_of(steps, parts, use("u", "t", "240 L/day")), record)
    assert result.steps_count >= 24 * record.days_count
    came_m3 = caught([float(d) for d in record.depth_m], hours=1.0, screened=screened)
    store = Store()
    for came in came_m3:
        store.step(came, 0.24 / 24.0)
    compared(result, store, 0.24, per_day=24)


def test_the_same_year_by_hours_and_by_days_has_the_same_rain() -> None:
    hourly = new_york()
    daily = RainRecord(
        start=hourly.days[0],
        step_s=86400.0,
        depth_m=hourly.daily_depth_m,
        kept=hourly.kept[: hourly.days_count],
        name="daily sums",
        source="test",
    )
    plan = plan_of(NO_SCREEN, use("u", "t", "240 L/day"))
    fell_m3 = [simulate(plan, r).total_m3(kind="rain") for r in (hourly, daily)]
    assert fell_m3[0] == pytest.approx(AREA_M2 * float(hourly.daily_depth_m.sum()), rel=1e-12)
    assert fell_m3[1] == pytest.approx(fell_m3[0], rel=1e-12)

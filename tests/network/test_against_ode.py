"""The engine through storms on the demo train, against equations written apart from it.

The reference is in `train`: laws from the literature, friction by the fluids package, viscosity by
the iapws package, time by `scipy.integrate.solve_ivp`. Rain is real (five wet days of the hours of
2013 at New York, National Centers for Environmental Information) and made (bursts that rise and
fall in a straight line). Asked is: every volume within 0.1 % of what fell, every level within 2 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest

from network.build import DATA, DEMO
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.result import Arc
from roofspring.network.simulate import State
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.read import read_plan
from roofspring.rain import read
from roofspring.water import viscosity_ratio
from train import course, house

VOLUME_FRAC = 1e-3
LEVEL_M = 2e-3
REPORT_S = 10.0
AREAS_M2 = {
    "raw": house.RAW_M2,
    "sand-a": house.BED_M2,
    "sand-b": house.BED_M2,
    "clean": house.CLEAN_M2,
    "cistern": house.CISTERN_M2,
}
STARTS = {
    "half": {
        "flush": 0.0,
        "raw": 0.5 * house.RAW_LIP_M3,
        "sand-a": 0.0,
        "sand-b": 0.0,
        "clean": 0.5 * house.CLEAN_LIP_M3,
        "cistern": 0.5 * house.CISTERN_LIP_M3,
    },
    "full": {
        "flush": 0.05,
        "raw": 0.8 * house.RAW_LIP_M3,
        "sand-a": house.SHUT_M3["a"],
        "sand-b": house.SHUT_M3["b"],
        "clean": 0.95 * house.CLEAN_LIP_M3,
        "cistern": 0.98 * house.CISTERN_LIP_M3,
    },
}
REAL = {  # day: how full it starts
    "2013-05-08": "half",
    "2013-06-07": "half",  # the wettest, and the day after it is the third
    "2013-09-22": "half",
    "2013-11-27": "full",
    "2013-12-15": "full",
}
MADE = {  # depth in mm, minutes: how full it starts
    (25.0, 20): "half",
    (60.0, 120): "full",
    (100.0, 360): "half",
}
PEAK_AT = 0.4


@cache
def plan() -> Assembled:
    return assemble(read_plan(DEMO).plan)


def real(day: str) -> house.Storm:
    """A day of the record and the day after it."""
    record = read(DATA / "new_york_jfk_hourly_2013.csv")
    first = 24 * [str(d) for d in record.days].index(day)
    return house.Storm(record.depth_m[first : first + 48].copy(), 3600.0, int(day[5:7]) - 1)


def made(depth_mm: float, minutes: int) -> house.Storm:
    """An hour without rain, a burst in July that rises and falls in a straight line, a dry day."""
    x = np.arange(0, minutes + 5, 5) / minutes
    cumulative = np.where(x < PEAK_AT, x**2 / PEAK_AT, 1.0 - (1.0 - x) ** 2 / (1.0 - PEAK_AT))
    burst_m = np.diff(cumulative) * depth_mm / 1000.0
    rain_m = np.zeros(12 * 28)
    rain_m[12 : 12 + len(burst_m)] = burst_m
    return house.Storm(rain_m, 300.0, 6)


def storms() -> Sequence[object]:
    return [pytest.param(day, start, id=day) for day, start in REAL.items()] + [
        pytest.param(burst, start, id=f"{burst[0]:g} mm in {burst[1]} min")
        for burst, start in MADE.items()
    ]


def storm_of(which: str | tuple[float, int]) -> house.Storm:
    return real(which) if isinstance(which, str) else made(*which)


@cache
def reference(which: str | tuple[float, int], start: str) -> course.Course:
    return course.run(storm_of(which), STARTS[start], house.Laws(), report_s=REPORT_S)


def engine(storm: house.Storm, start: str, *, step_s: float) -> WindowResult:
    cut = round(storm.step_s / step_s)
    content_m3 = np.zeros(len(plan().net.kind))
    for store, volume in STARTS[start].items():
        content_m3[plan().topology.nodes.index(store)] = volume
    return simulate_window(
        read_plan(DEMO).plan,
        np.repeat(storm.rain_m / cut, cut),
        step_s=step_s,
        month=storm.month,
        assembled=plan(),
        state=State(content_m3, np.zeros(len(content_m3))),
    )


def name_of(arc: Arc) -> tuple[str, str]:
    """The reference's name of a way that water moves."""
    if arc.kind == "draw":
        both = f"drinking {arc.from_part}"
        return "draw", both if arc.to_part == "drinking" else arc.to_part
    return arc.kind, arc.to_part if arc.kind in ("rain", "feed") else arc.from_part


def worst(window: WindowResult, true: course.Course) -> tuple[float, float]:
    """Largest error of any volume at any time, as a share of what fell; of any level [m]."""
    every = round(window.step_s / REPORT_S)
    fell_m3 = sum(true.moved_m3["rain", roof][-1] for roof in house.ROOFS_M2)
    moved_m3 = np.vstack((np.zeros(len(window.arcs)), np.cumsum(window.flow_m3, axis=0)))
    shares = []
    for j, arc in enumerate(window.arcs):
        if name_of(arc) in true.moved_m3:
            shares.append(np.abs(moved_m3[-1, j] - true.moved_m3[name_of(arc)][-1]) / fell_m3)
        else:
            assert moved_m3[-1, j] == 0.0  # a way that the reference has no need of
    levels = [
        np.abs(
            window.content_m3[:, window.nodes.index(store)] - true.content_m3[store][::every]
        ).max()
        / area
        for store, area in AREAS_M2.items()
    ]
    return float(max(shares)), float(max(levels))


@pytest.mark.parametrize(("which", "start"), storms())
def test_volumes_and_levels(which: str | tuple[float, int], start: str) -> None:
    # The engine is of the first order in its step: levels of boxes that fill need short ones.
    volume_frac, _ = worst(engine(storm_of(which), start, step_s=300.0), reference(which, start))
    assert volume_frac <= VOLUME_FRAC
    volume_frac, level_m = worst(
        engine(storm_of(which), start, step_s=30.0), reference(which, start)
    )
    assert volume_frac <= 0.02 * VOLUME_FRAC
    assert level_m <= LEVEL_M


@pytest.mark.parametrize(("which", "start"), storms())
def test_the_storms_try_every_part(which: str | tuple[float, int], start: str) -> None:
    true = reference(which, start)
    for arc, moved in true.moved_m3.items():
        assert (np.diff(moved) >= -1e-12).all(), arc
    ends = {k: v[-1] for k, v in true.moved_m3.items()}
    for arc in (("overflow", "raw"), ("sand", "sand-a"), ("feed", "sand-b"), ("weep", "flush")):
        assert ends[arc] > 0.0
    assert sum(1 for q in ends.values() if q > 0.0) >= len(ends) - 4


@pytest.mark.parametrize(("which", "start"), storms())
def test_the_reference_keeps_its_own_books(which: str | tuple[float, int], start: str) -> None:
    true = reference(which, start)
    out = {k: v[-1] for k, v in true.moved_m3.items()}
    came = out["rain", "cabin"] + out["rain", "woodshed"]
    gone = sum(v for (kind, _), v in out.items() if kind in ("wetting", "splash", "draw"))
    gone += out["reject", "leaf-screen"] + out["weep", "flush"] + out["overflow", "cistern"]
    held = sum(v[-1] - v[0] for v in true.content_m3.values())
    assert came == pytest.approx(gone + held, abs=1e-9)


def test_the_reference_needs_no_tighter_tolerance() -> None:
    storm = made(25.0, 20)
    one, two = (
        course.run(storm, STARTS["half"], house.Laws(), report_s=300.0, rtol=rtol)
        for rtol in (1e-7, 1e-11)
    )
    for store in house.STORES:
        np.testing.assert_allclose(one.content_m3[store], two.content_m3[store], atol=1e-7)


def test_the_splined_pipe_of_the_reference_is_the_pipe() -> None:
    k_sum = house.K_PIPE + house.K_VALVE
    for bed, length_m in house.LENGTH_M.items():
        for q in np.linspace(1e-6, 5.5e-4, 311):
            head_m = house.pipe_loss_m(q, length_m=length_m, k_sum=k_sum, degc=house.FEED_DEGC)
            assert house.pipe_flow(bed, k_sum)(np.sqrt(head_m)) == pytest.approx(q, rel=1e-6)
            whole = house.part_open_flow(bed, head_m, 1.0)
            assert whole == pytest.approx(q, rel=1e-6)


def test_viscosity_is_that_of_the_other_formula_to_its_last_digits() -> None:
    # What is left between engine and reference when both are fine: a held filter's flow.
    assert viscosity_ratio(10.0) == pytest.approx(house.viscosity_ratio(10.0), rel=1e-4)

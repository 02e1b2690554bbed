"""Float valves, overflows and leaks in the states that they settle in, known beforehand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from network.build import PLAIN_ROOF, pipe, plan_of, tank, use
from network.test_limits import WARM, Floats, content_m3, window
from roofspring.network.window import WindowResult
from roofspring.plan.model import Plan

LAKE_M2 = 2000.0
"""A tank so wide that its level stands still."""


def moved_m3(result: WindowResult, kind: str, from_part: str) -> Floats:
    picked = [a.kind == kind and a.from_part == from_part for a in result.arcs]
    return np.asarray(result.flow_m3[:, picked].sum(axis=1))


def fed_by_a_lake(action: str, *, l_per_min: float, band: str = "200 mm") -> Plan:
    """A lake 0.3 m over the inlet of a tank of 1 m2, whose valve of Kv 1.7 shuts at 0.8 m."""
    return plan_of(
        WARM, tank("lake", volume_m3=LAKE_M2, more='base = "0.3 m"\noutlet = "0.3 m"'),
        tank("t", volume_m3=1.0, more='base = "0 m"\ninlet = "1 m"\noutlet = "0 m"'),
        pipe(
            "p", "lake", "t",
            'size = "50 mm"\nlength = "10 mm"\nvalve = { kind = "float", kv = "1.7 m3/h", '
            f'shuts-at = "0.8 m", band = "{band}", action = "{action}" }}',
        ),
        use("u", "t", f"{l_per_min * 1440.0!r} L/day"),
    )  # fmt: skip


def test_a_valve_in_step_settles_below_its_shut_level_by_its_droop() -> None:
    # IEC_60534: Kv 1.7 passes 4.860 L/min under 0.3 m, and half of that half open, computed; so a
    # draw of 2.43 L/min holds the level at half the band below the shut level.
    plan = fed_by_a_lake("in-step", l_per_min=2.43)
    for start in (0.2, 0.65, 0.79):
        result = window(plan, steps=12 * 20, start_m3={"lake": LAKE_M2, "t": start})
        assert content_m3(result, "t")[-1] == pytest.approx(0.8 - 0.5 * 0.2, abs=1e-3)


def test_a_draw_beyond_the_open_valve_leaves_the_band() -> None:
    plan = fed_by_a_lake("in-step", l_per_min=6.0)
    result = window(plan, steps=24, start_m3={"lake": LAKE_M2, "t": 0.5})
    level_m = content_m3(result, "t")
    # 6.00 - 4.86 L/min are missing, all the time.
    assert level_m[0] - level_m[-1] == pytest.approx(120 * (6.0e-3 - 4.86e-3), rel=5e-3)


def test_a_valve_on_and_off_goes_from_one_level_to_the_other() -> None:
    plan = fed_by_a_lake("on-off", l_per_min=1.0)
    result = window(plan, steps=12 * 60, start_m3={"lake": LAKE_M2, "t": 0.7})
    level_m = content_m3(result, "t")
    came_m3 = moved_m3(result, "feed", "lake")
    assert level_m.min() == pytest.approx(0.6, abs=5e-3)
    assert level_m.max() == pytest.approx(0.8, abs=6e-3)
    # It fills 0.2 m3 at 3.86 L/min and falls by them at 1 L/min: a round of 251.8 min, by hand.
    opened = np.flatnonzero((came_m3[:-1] == 0.0) & (came_m3[1:] > 0.0)) * 5.0
    assert np.diff(opened).mean() == pytest.approx(200.0 / 1.0 + 200.0 / 3.86, abs=1.0)
    assert level_m[-1] - 0.7 == pytest.approx(came_m3.sum() - 3.6, abs=1e-9)


def spilling(form: str, *, bore: str, to_m: float = -5.0) -> Plan:
    """A tank of 2 m2 with its lip at 1 m and its brim at 1.2 m, and an overflow pipe."""
    return plan_of(
        WARM, PLAIN_ROOF,
        tank(
            "t", volume_m3=2.4, height_m=1.2,
            more=f'base = "0 m"\noverflow = "1 m"\noverflow-form = "{form}"',
        ),
        tank("far", volume_m3=500.0, height_m=1.0, more=f'base = "{to_m} m"\ninlet = "{to_m} m"'),
        pipe("p", "r", "t"), pipe("q", "t.overflow", "far", f'size = "{bore}"\nlength = "1 m"'),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("form", "bore", "l_per_s", "over_m"),
    [
        # Weir 1.7 pi D h^1.5, then orifice 0.6, computed.
        ("stand-pipe", "100 mm", 2.775, 0.030),
        ("stand-pipe", "100 mm", 6.600, 0.100),
        # Critical flow in a circle, times 0.9 for the entry (CHOW_1959), computed.
        ("side", "100 mm", 0.9 * 4.507, 0.100),
        ("side", "100 mm", 0.9 * 1.335, 0.050),
        ("side", "75 mm", 0.9 * 2.196, 0.075),
        ("side", "50 mm", 0.9 * 0.797, 0.050),
    ],
)
def test_an_overflow_settles_where_it_passes_what_comes(
    form: str, bore: str, l_per_s: float, over_m: float
) -> None:
    result = window(
        spilling(form, bore=bore), steps=12 * 4, flow_m3_per_s=l_per_s / 1000.0, start_m3={"t": 1.5}
    )
    assert content_m3(result, "t")[-1] / 2.0 - 1.0 == pytest.approx(over_m, abs=5e-4)
    assert moved_m3(result, "overflow", "t")[-1] == pytest.approx(0.3 * l_per_s, rel=1e-3)
    assert moved_m3(result, "rim", "t").sum() == 0.0


def test_an_overflow_that_is_overwhelmed_stands_at_the_brim_and_the_rest_goes_over_it() -> None:
    # A stand-pipe of 50 mm passes 0.6 a sqrt(2 g 0.2 m) at the brim, by hand 2.333 L/s.
    passes = 0.6 * math.pi * 0.05**2 / 4.0 * math.sqrt(2.0 * 9.80665 * 0.2)
    result = window(
        spilling("stand-pipe", bore="50 mm"), steps=48, flow_m3_per_s=5e-3, start_m3={"t": 1.5}
    )
    assert content_m3(result, "t")[-1] == pytest.approx(2.4, abs=1e-9)
    assert moved_m3(result, "overflow", "t")[-1] == pytest.approx(300.0 * passes, rel=1e-6)
    assert moved_m3(result, "rim", "t")[-1] == pytest.approx(300.0 * (5e-3 - passes), rel=1e-6)


@pytest.mark.parametrize("l_per_s", [0.5, 5.0])
def test_what_the_overflow_of_a_filter_box_cannot_carry_runs_over_its_rim(l_per_s: float) -> None:
    # A pipe of 50 mm under 50 mm of water passes 0.797 L/s without loss (critical flow in a circle,
    # CHOW_1959, computed), and 0.9 of it past its entry.
    plan = plan_of(
        WARM, PLAIN_ROOF,
        '[filter.f]\narea = "0.5 m2"\nweir = "1 m"\noverflow = "1.3 m"\nrim = "1.35 m"',
        pipe("p", "r", "f"), "[swale.low]", pipe("q", "f.overflow", "low", 'size = "50 mm"'),
    )  # fmt: skip
    result = window(plan, steps=24, flow_m3_per_s=l_per_s / 1000.0, start_m3={})
    sand, over, rim = (moved_m3(result, kind, "f")[-1] for kind in ("sand", "overflow", "rim"))
    passes_m3 = 300.0 * 0.9 * 0.797e-3
    assert sand > 0.0
    assert over == pytest.approx(min(passes_m3, 0.3 * l_per_s - sand), rel=1e-3)
    assert rim == pytest.approx(max(0.0, 0.3 * l_per_s - sand - passes_m3), rel=1e-3)


def test_after_the_rain_an_overflow_runs_down_to_its_lip() -> None:
    plan = spilling("stand-pipe", bore="100 mm")
    result = window(plan, steps=24, start_m3={"t": 2.3})
    level_m = content_m3(result, "t") / 2.0
    assert (np.diff(level_m) <= 0.0).all()
    # Below 0.391 D all is weir: 1 / sqrt(h) grows by 1.7 pi D / 2A a second, closed form.
    at = int(np.argmax(level_m - 1.0 < 0.0391))
    later_m = (
        (level_m[at] - 1.0) ** -0.5
        + 1.7 * math.pi * 0.1 / (2.0 * 2.0) * 300.0 * np.arange(len(level_m) - at)
    ) ** -2.0
    np.testing.assert_allclose(level_m[at:] - 1.0, later_m, atol=1e-3)


def test_a_leak_goes_with_the_root_of_the_depth() -> None:
    # dh/dt = -(q / A) sqrt(h / H): sqrt(h) falls by q / (2 A sqrt(H)) a second, closed form.
    plan = plan_of(WARM, tank("t", volume_m3=1.0, more='base = "0 m"\nleak = "0.05 L/s"'))
    result = window(plan, steps=12 * 12, start_m3={"t": 1.0})
    t_s = 300.0 * np.arange(12 * 12 + 1)
    exact_m = np.maximum(0.0, 1.0 - 5e-5 / 2.0 * t_s) ** 2
    np.testing.assert_allclose(content_m3(result, "t"), exact_m, atol=1e-3)
    assert moved_m3(result, "leak", "t").sum() == pytest.approx(1.0, abs=1e-6)

"""The engine in limits that have a closed form, run through whole plans and not through formulas.

The published numbers of Q1, P5 and P6 stand in `reference`; here the same cases run as plans.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from network.build import (
    DATA,
    PLAIN_ROOF,
    delivered_m3,
    end_m3,
    pipe,
    plan_of,
    tank,
    use,
)
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.simulate import simulate, start_state
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord, read
from roofspring.reliability.reference import balance

Floats = npt.NDArray[np.float64]
WARM = '[run]\nwater-temperature = "20 degC"\n'
STEP_S = 300.0


def bed(name: str, *, area_m2: float, conductance_m2_per_s: float, more: str = "") -> str:
    """A filter box that lets ``conductance`` times its head through, whatever its sand."""
    return (
        f'[filter.{name}]\narea = "{area_m2!r} m2"\nskin-resistance = "0 h"\n'
        'skin = { law = "steady" }\n'
        f'weir = "0 m"\noverflow = "5 m"\ninlet = "0 m"\n{more}\n'
    ).replace('"0 h"', f'"{area_m2 / conductance_m2_per_s - sand_s()!r} s"')


def sand_s() -> float:
    """Resistance of the bed that a plan has when it says nothing about the sand."""
    compiled = assemble(plan_of(WARM, '[filter.f]\narea = "1 m2"\n'))
    return float(compiled.net.bed_s[compiled.topology.nodes.index("f")])


def window(
    plan: Plan, *, steps: int, step_s: float = STEP_S, flow_m3_per_s: float = 0.0,
    roof_m2: float = 100.0, start_m3: dict[str, float],
) -> WindowResult:  # fmt: skip
    """A window with a steady flow off the roof, from given contents."""
    compiled: Assembled = assemble(plan)
    state = start_state(compiled)
    state.content_m3[:] = 0.0
    for name, volume in start_m3.items():
        state.content_m3[compiled.topology.nodes.index(name)] = volume
    return simulate_window(
        plan,
        np.full(steps, flow_m3_per_s * step_s / roof_m2),
        step_s=step_s,
        month=0,
        assembled=compiled,
        state=state,
    )


def content_m3(result: WindowResult, name: str) -> Floats:
    return result.content_m3[:, result.nodes.index(name)]


# ---- filters -------------------------------------------------------------------------------------


def test_a_filter_under_steady_inflow_is_the_linear_store() -> None:
    # CHOW_MAIDMENT_MAYS_1988, linear reservoir: 1.2 m2, 2e-5 m2/s, in 1e-5 m3/s, from 0.2 m, by
    # the closed form I/k + (h0 - I/k) exp(-k t / A) after 6, 12, 24 h; and the volumes of the day.
    plan = plan_of(
        WARM, PLAIN_ROOF, bed("f", area_m2=1.2, conductance_m2_per_s=2e-5),
        tank("t", volume_m3=50.0), pipe("p", "r", "f"), pipe("q", "f", "t"),
    )  # fmt: skip
    result = window(plan, steps=24 * 12, flow_m3_per_s=1e-5, start_m3={"f": 0.2 * 1.2})
    level_m = content_m3(result, "f") / 1.2
    assert level_m[[72, 144, 288]] == pytest.approx([0.290697, 0.353974, 0.428922], abs=5e-7)
    reached_s = np.interp(0.4, level_m, STEP_S * np.arange(len(level_m)))
    assert reached_s / 3600.0 == pytest.approx(18.3102, abs=1e-3)
    assert content_m3(result, "t")[-1] == pytest.approx(0.589294, abs=5e-7)


def test_two_filters_one_behind_the_other_are_two_linear_stores() -> None:
    # h2 = I/k2 + B exp(-a1 t) + (h20 - I/k2 - B) exp(-a2 t), closed form.
    a1_m2, k1, a2_m2, k2, inflow = 1.2, 2e-4, 0.8, 1e-4, 3e-5
    plan = plan_of(
        WARM, PLAIN_ROOF, bed("f", area_m2=a1_m2, conductance_m2_per_s=k1),
        bed("g", area_m2=a2_m2, conductance_m2_per_s=k2), tank("t", volume_m3=50.0),
        pipe("p", "r", "f"), pipe("q", "f", "g"), pipe("s", "g", "t"),
    )  # fmt: skip
    result = window(
        plan, steps=24 * 12, flow_m3_per_s=inflow, start_m3={"f": 1.0 * a1_m2, "g": 0.1 * a2_m2}
    )
    t_s = STEP_S * np.arange(24 * 12 + 1)
    rate1, rate2 = k1 / a1_m2, k2 / a2_m2
    b = k1 / a2_m2 * (1.0 - inflow / k1) / (rate2 - rate1)
    first_m = inflow / k1 + (1.0 - inflow / k1) * np.exp(-rate1 * t_s)
    second_m = (
        inflow / k2 + b * np.exp(-rate1 * t_s) + (0.1 - inflow / k2 - b) * np.exp(-rate2 * t_s)
    )
    np.testing.assert_allclose(content_m3(result, "f") / a1_m2, first_m, atol=1e-9)
    np.testing.assert_allclose(content_m3(result, "g") / a2_m2, second_m, atol=2e-3)
    assert second_m.max() > 0.5


# ---- tanks ---------------------------------------------------------------------------------------


def hole(outflow_factor: float) -> str:
    """A pipe of no length that passes ``outflow_factor`` times the root of the head [m3/s].

    Of the loss factors ``K = 2 g (a / factor)**2``, entry and exit are 1.5 and the valve the rest.
    """
    bore_m = 0.1
    area_m2 = math.pi * bore_m**2 / 4.0
    k = 2.0 * GRAVITY_M_PER_S2 * (area_m2 / outflow_factor) ** 2
    kv_m3_per_h = math.sqrt(1.6e9 * bore_m**4 / (k - 1.5))
    return (
        f'size = "{bore_m!r} m"\nlength = "1 mm"\n'
        f'valve = {{ kind = "throttle", kv = "{kv_m3_per_h!r} m3/h" }}\n'
    )


def drained(area_m2: float, outflow_factor: float) -> Plan:
    """A tank on the datum that runs out of its floor into one far below."""
    return plan_of(
        WARM, PLAIN_ROOF,
        tank("a", volume_m3=area_m2, more='base = "0 m"\noutlet = "0 m"'),
        tank("b", volume_m3=50.0, more='base = "-9 m"\ninlet = "0 m"'),
        pipe("p", "r", "a"), pipe("q", "a", "b", hole(outflow_factor)),
    )  # fmt: skip


HOLE = 0.62 * math.pi * 0.02**2 / 4.0 * math.sqrt(2.0 * GRAVITY_M_PER_S2)


def test_a_tank_runs_out_by_torricelli() -> None:
    # 1 m2, 20 mm hole, discharge 0.62: sqrt(h) falls by c / 2A a second, closed form; 36.66 min.
    result = window(drained(1.0, HOLE), steps=1100, step_s=2.0, start_m3={"a": 0.9})
    level_m = content_m3(result, "a")
    t_s = 2.0 * np.arange(len(level_m))
    exact_m = np.maximum(0.0, math.sqrt(0.9) - HOLE * t_s / 2.0) ** 2
    np.testing.assert_allclose(level_m, exact_m, atol=1e-3)
    assert np.interp(-0.1, -level_m, t_s) / 60.0 == pytest.approx(24.44, abs=0.02)


def test_a_tank_with_inflow_sinks_by_its_closed_form() -> None:
    # 1.2 m2, out 4e-4 sqrt(h), in 1.5e-4 m3/s, 0.8 m to 0.5 m: 2130.28 s, closed form.
    result = window(
        drained(1.2, 4e-4), steps=3000, step_s=1.0, flow_m3_per_s=1.5e-4, start_m3={"a": 0.96}
    )
    level_m = content_m3(result, "a") / 1.2
    reached_s = np.interp(-0.5, -level_m, np.arange(len(level_m), dtype=np.float64))
    assert reached_s == pytest.approx(2130.28, abs=1.0)


# ---- physics off ---------------------------------------------------------------------------------

DRAWN_HOURS = (6, 7, 12, 18, 19, 20)


def rain_when_nobody_draws() -> RainRecord:
    """The hours of New York in 2013, without those in which the uses draw."""
    record = read(DATA / "new_york_jfk_hourly_2013.csv")
    hour = np.arange(len(record.depth_m)) % 24
    return replace(record, depth_m=np.where(np.isin(hour, DRAWN_HOURS), 0.0, record.depth_m))


@pytest.mark.parametrize("wet_step", ["1 h", "10 min"])
@pytest.mark.parametrize(("capacity_m3", "want_l"), [(0.4, 180.0), (2.5, 210.0), (12.0, 160.0)])
def test_with_the_physics_off_it_is_yield_after_spillage(
    wet_step: str, capacity_m3: float, want_l: float
) -> None:
    """One roof, one store: JENKINS_1978, hour by hour.

    Rain and draws share no hour, so the published rule leaves nothing open within a step, and every
    share of the inflow that may be used in the same step gives the same balance.
    """
    record = rain_when_nobody_draws()
    hours = [1.0 if h in DRAWN_HOURS else 0.0 for h in range(24)]
    ran = simulate(
        plan_of(
            f'[run]\nwet-step = "{wet_step}"\ndry-step = "1 h"\n[rain]\nsnow = "as-rain"\n',
            PLAIN_ROOF, tank("t", volume_m3=capacity_m3, start=0.5), pipe("p", "r", "t"),
            use("u", "t", f"{want_l} L/day", f"hours = {hours}"),
        ),
        record,
    )  # fmt: skip
    days = record.days_count
    inflow_m3 = 100.0 * record.depth_m[: 24 * days]
    want_m3 = np.tile(np.array(hours) / len(DRAWN_HOURS) * want_l / 1000.0, days)
    for theta in (0.0, 1.0):
        rule = balance(
            inflow_m3, want_m3, capacity_m3=capacity_m3, start_m3=0.5 * capacity_m3, theta=theta
        )
        daily = (days, 24)
        np.testing.assert_allclose(
            end_m3(ran, "t"), rule.volume_m3.reshape(daily)[:, -1], rtol=0, atol=1e-9
        )
        np.testing.assert_allclose(
            delivered_m3(ran, "u"), rule.yield_m3.reshape(daily).sum(axis=1), rtol=0, atol=1e-9
        )
        spilled = ran.total_m3(kind="overflow")
        assert spilled == pytest.approx(float(rule.spill_m3.sum()), rel=1e-9)
        assert spilled > 0.0 and rule.short_steps_count > 0

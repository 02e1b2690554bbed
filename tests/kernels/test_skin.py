"""How skin, ripeness and sand age: closed forms, an ODE solver, and steps that may be cut."""

from __future__ import annotations

import hashlib
import math
import os
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofspring.kernels.skin import (
    DAY_S,
    DRY,
    WET,
    cleaned,
    ripeness_after,
    running_share,
    season_factor,
    skin_after_s,
    warmth_factor,
)

TESTS = Path(__file__).parents[1]
PRINT = "from kernels.test_skin import fingerprint; print(fingerprint())"

resistances_s = st.floats(0.0, 1e5)
depths_m = st.floats(0.0, 20.0)
steps_s = st.floats(0.0, 30.0 * DAY_S)
cakes_s_per_m = st.one_of(st.just(0.0), st.floats(1.0, 1e4))
rates_per_m = st.one_of(st.just(0.0), st.floats(1e-4, 0.1))
rates_per_day = st.one_of(st.just(0.0), st.floats(1e-4, 0.2))
factors = st.floats(0.0, 5.0)
shares = st.floats(0.0, 1.0)


def fingerprint() -> str:
    """SHA-256 of what every law gives on the same two thousand states."""
    rng = np.random.default_rng(5)
    out: list[float] = []
    for _ in range(2000):
        u = [float(x) for x in rng.random(8)]
        out.append(
            skin_after_s(
                1e5 * u[0], 3e3 * u[1], 5 * u[2], 1e5 * u[3], 1e3 * u[4], u[5], u[6], 3 * u[7]
            )
        )
        out.append(warmth_factor(40.0 * u[0], 1.0 + 0.1 * u[1]))
        out.append(season_factor(int(366 * u[0]) + 1, int(366 * u[1]), int(366 * u[2]) + 1, u[3]))
        for running, state in ((u[2], WET), (0.0, WET), (u[2], DRY)):
            out.extend(
                ripeness_after(
                    u[0], 3e5 * u[1], 3e5 * u[3], 50 * u[4] - 10, running, state,
                    u[5], 1.066, 2e5 * u[6], u[7], 2 * u[7], 1.08,
                )
            )  # fmt: skip
        out.append(running_share(u[0], 1e5 * u[1], 1e-5 * u[2], u[3]))
        out.extend(cleaned(u[0], u[1], u[2], u[3], u[4], u[5]))
    return hashlib.sha256(struct.pack(f"{len(out)}d", *out)).hexdigest()


def test_compiled_and_plain_laws_are_bit_equal() -> None:
    plain = subprocess.run(
        [sys.executable, "-W", "error", "-c", PRINT],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": python_path()},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert plain.returncode == 0, plain.stderr[-2000:]
    assert plain.stdout.strip() == fingerprint()


def python_path() -> str:
    return os.pathsep.join(filter(None, (str(TESTS), os.environ.get("PYTHONPATH"))))


def grow(
    skin_s: float,
    *,
    filtered_m: float = 0.0,
    dt_s: float = 0.0,
    bed_s: float = 1000.0,
    cake: float = 0.0,
    per_m: float = 0.0,
    per_day: float = 0.0,
    factor: float = 1.0,
) -> float:
    return skin_after_s(skin_s, bed_s, filtered_m, dt_s, cake, per_m, per_day, factor)


def test_the_cake_grows_with_what_was_filtered() -> None:
    # RUTH_1935 by hand: 180 s/m over 2.4 m is 432 s; a season of thrice the solids, 1296 s.
    assert grow(50.0, filtered_m=2.4, dt_s=DAY_S, cake=180.0) == pytest.approx(482.0, rel=1e-14)
    assert grow(0.0, filtered_m=2.4, cake=180.0, factor=3.0) == pytest.approx(1296.0, rel=1e-14)


def test_a_loss_that_grows_exponentially() -> None:
    # h0 0.05 m, k 0.06 per day, h 0.90 m: 48.17 days, closed form ln(h / h0) / k.
    rate_m_per_s = 0.1 / 3600.0
    bed_s = 0.05 / rate_m_per_s
    skin_s = grow(0.0, bed_s=bed_s, dt_s=48.17 * DAY_S, per_day=0.06)
    assert rate_m_per_s * (bed_s + skin_s) == pytest.approx(0.90, rel=5e-4)


def test_growth_by_water_is_growth_by_time_at_a_steady_rate() -> None:
    by_time = grow(200.0, filtered_m=24.0, dt_s=10.0 * DAY_S, per_day=0.06)
    by_water = grow(200.0, filtered_m=24.0, dt_s=10.0 * DAY_S, per_m=0.06 / 2.4)
    assert by_water == pytest.approx(by_time, rel=1e-13)


def test_nothing_grows_where_nothing_passes_and_no_time_goes_by() -> None:
    assert grow(321.0, cake=500.0, per_m=0.1, per_day=0.1) == 321.0


@settings(max_examples=200, deadline=None)
@given(
    skin=resistances_s,
    bed=resistances_s,
    filtered=depths_m,
    dt=steps_s,
    cake=cakes_s_per_m,
    per_m=rates_per_m,
    per_day=rates_per_day,
    factor=factors,
    part=shares,
)
def test_a_step_cut_in_two_grows_the_same_skin(
    skin: float,
    bed: float,
    filtered: float,
    dt: float,
    cake: float,
    per_m: float,
    per_day: float,
    factor: float,
    part: float,
) -> None:
    laws = cake, per_m, per_day, factor
    whole = skin_after_s(skin, bed, filtered, dt, *laws)
    first = skin_after_s(skin, bed, part * filtered, part * dt, *laws)
    rest = skin_after_s(first, bed, (1 - part) * filtered, (1 - part) * dt, *laws)
    assert rest == pytest.approx(whole, rel=1e-11, abs=1e-300)
    assert whole >= first * (1.0 - 1e-12) >= skin * (1.0 - 1e-12) ** 2


def test_skin_against_an_ode_solver() -> None:
    bed_s, cake, per_m, per_day, factor = 820.0, 150.0, 0.01, 0.03, 1.7
    days, m_per_day = 20.0, 2.0
    run = solve_ivp(
        lambda _, r: factor * (cake * m_per_day + (per_m * m_per_day + per_day) * (bed_s + r)),
        (0.0, days),
        [100.0],
        rtol=1e-11,
        atol=1e-9,
    )
    ours = skin_after_s(100.0, bed_s, days * m_per_day, days * DAY_S, cake, per_m, per_day, factor)
    assert ours == pytest.approx(run.y[0, -1], rel=1e-9)


@pytest.mark.parametrize(
    ("temp_degc", "base", "expected"),
    [
        # Campos (2006) table 2, as quoted, gives the bases; the powers are computed from them.
        (10.0, 1.047, 0.6317),
        (10.0, 1.066, 0.5277),
        (10.0, 1.08, 0.4632),
        (5.0, 1.066, 0.3834),
    ],
)
def test_warmth(temp_degc: float, base: float, expected: float) -> None:
    assert warmth_factor(temp_degc, base) == pytest.approx(expected, abs=5e-5)
    assert warmth_factor(20.0, base) == 1.0


LIFE = (0.08, 1.066, 2.0 * DAY_S, 0.5, 2.0, 1.08)
"""Ripening per day, its base; rest; decay per day at rest and dry, its base."""


def age(
    ripe: float,
    stopped_s: float,
    dt_s: float,
    *,
    temp_degc: float = 20.0,
    running: float = 1.0,
    dry: bool = False,
) -> tuple[float, float]:
    return ripeness_after(ripe, stopped_s, dt_s, temp_degc, running, DRY if dry else WET, *LIFE)


def test_new_sand_ripens_by_the_closed_form() -> None:
    ripe, stopped_s = age(0.0, 5.0 * DAY_S, 28.0 * DAY_S)
    assert ripe == pytest.approx(1.0 - math.exp(-0.08 * 28.0), rel=1e-13)
    assert stopped_s == 0.0
    cold, _ = age(0.0, 0.0, 28.0 * DAY_S, temp_degc=10.0)
    assert cold == pytest.approx(1.0 - math.exp(-0.08 * 28.0 * 1.066**-10), rel=1e-12)
    half, _ = age(0.0, 0.0, 28.0 * DAY_S, running=0.5)
    assert half == pytest.approx(1.0 - math.exp(-0.08 * 14.0), rel=1e-13)


def test_a_short_stop_costs_nothing_and_a_long_one_the_time_beyond_the_rest() -> None:
    assert age(0.9, 0.0, 2.0 * DAY_S, running=0.0) == (0.9, 2.0 * DAY_S)
    ripe, stopped_s = age(0.9, 0.0, 5.0 * DAY_S, running=0.0)
    assert ripe == pytest.approx(0.9 * math.exp(-0.5 * 3.0), rel=1e-13)
    assert stopped_s == 5.0 * DAY_S


def test_a_dry_bed_loses_from_the_first_hour() -> None:
    ripe, _ = age(0.9, 0.0, DAY_S / 2.0, running=0.0, dry=True)
    assert ripe == pytest.approx(0.9 * math.exp(-1.0), rel=1e-13)


def test_ice_cold_water_counts_as_water_at_0_degrees() -> None:
    assert age(0.3, 0.0, DAY_S, temp_degc=-15.0) == age(0.3, 0.0, DAY_S, temp_degc=0.0)


@settings(max_examples=200, deadline=None)
@given(
    ripe=shares,
    stopped=st.floats(0.0, 10.0 * DAY_S),
    dt=steps_s,
    temp=st.floats(-5.0, 40.0),
    running=st.one_of(st.just(0.0), st.floats(1e-3, 1.0)),
    dry=st.booleans(),
    part=shares,
)
def test_a_step_cut_in_two_ripens_the_same(
    ripe: float, stopped: float, dt: float, temp: float, running: float, dry: bool, part: float
) -> None:
    def step(state: tuple[float, float], step_s: float) -> tuple[float, float]:
        return age(*state, step_s, temp_degc=temp, running=running, dry=dry)

    whole = step((ripe, stopped), dt)
    cut = step(step((ripe, stopped), part * dt), (1.0 - part) * dt)
    assert cut == pytest.approx(whole, rel=1e-10, abs=1e-12)
    assert 0.0 <= whole[0] <= 1.0
    if running > 0.0 and not dry:
        assert whole[0] >= ripe
    else:
        assert whole[0] <= ripe


def test_what_counts_as_running() -> None:
    trickle = 0.1 / DAY_S  # 0.1 m a day
    assert running_share(2.4, DAY_S, trickle, 0.05) == 1.0
    assert running_share(0.05, DAY_S, trickle, 0.05) == pytest.approx(0.5)
    assert running_share(0.02, 0.4 * DAY_S, trickle, 0.05) == pytest.approx(0.5)
    assert running_share(0.004, DAY_S, trickle, 0.05) == 0.0  # the last of a draining box
    assert running_share(0.0, DAY_S, trickle, 0.0) == 0.0
    assert running_share(0.0, 0.0, trickle, 0.0) == 0.0


def test_a_season_may_span_new_year() -> None:
    assert [season_factor(day, 100, 160, 2.5) for day in (99, 100, 160, 161)] == [1, 2.5, 2.5, 1]
    assert [season_factor(day, 350, 20, 2.5) for day in (349, 350, 366, 1, 20, 21)] == [
        1, 2.5, 2.5, 2.5, 2.5, 1,
    ]  # fmt: skip
    assert season_factor(10, 0, 365, 2.5) == 1.0


def test_a_scrape_takes_skin_ripeness_and_sand() -> None:
    assert cleaned(5000.0, 0.8, 0.5, 0.1, 0.5, 0.015) == pytest.approx((500.0, 0.4, 0.485))
    assert cleaned(5000.0, 0.8, 0.01, 0.0, 0.5, 0.02)[2] == 0.0

"""Ice on a tank in the run: Stefan's thickness over its surface is out of reach."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.build import DAY_STEPS, delivered_m3, dry, end_m3, plan_of, tank, use
from roofspring.network.simulate import simulate

COLD = np.array([-10.0] * 10 + [15.0] * 20)


def run(shelter: str) -> tuple[np.ndarray, np.ndarray]:
    record = replace(dry(30), tmin_degc=COLD - 1.0, tmax_degc=COLD + 1.0)
    text = tank("t", volume_m3=1.0, start=0.6, more=f'base = "0 m"\n{shelter}')
    result = simulate(plan_of(DAY_STEPS, text, use("u", "t", "50 L/day")), record)
    return delivered_m3(result, "u"), end_m3(result, "t")


@pytest.mark.parametrize(
    "shelter", ["", "shelter = { indoors = true }", 'shelter = { insulation = "50 mm" }']
)
def test_a_sheltered_tank_or_one_of_which_nothing_is_told_gives_all(shelter: str) -> None:
    got, _ = run(shelter)
    np.testing.assert_allclose(got[:12], 0.05)
    assert got.sum() == pytest.approx(0.6)


def test_what_is_ice_cannot_be_drawn_until_it_thaws() -> None:
    # A tank of 1 m2 and 1 m with 0.6 m3. Stefan: 35.4 mm for the root of each degree-day, so
    # 35.4 sqrt(10 n) mm on day n; the water over the floor falls by 50 L/day until it is all ice.
    got, held = run("shelter = {}")
    ice_m = 0.03539 * np.sqrt(10.0 * np.arange(1, 11))
    expected, left = [], 0.6
    for ice in ice_m:
        drawn = min(0.05, max(0.0, left - min(ice, left)))
        expected.append(drawn)
        left -= drawn
    np.testing.assert_allclose(got[:10], expected, atol=5e-5)
    assert got[9] == 0.0 and got[:10].sum() < 0.5
    assert got.sum() == pytest.approx(0.6) and held[-1] == pytest.approx(0.0, abs=1e-9)

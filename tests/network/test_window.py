"""The step-by-step window against sums that need no program, and against the daily run."""

from __future__ import annotations

import numpy as np
import pytest

from network.build import plan_of, tank
from roofspring.errors import RecordError
from roofspring.network.window import simulate_window

BARE = """
[roof.r]
area = "100 m2"
material = "metal"
coefficient = 0.9
wetting = "0 mm"
[tank.t]
volume = "1 m3"
height = "1 m"
start = "50 %"
[pipe.p]
from = "r"
to = "t"
"""


def test_a_tank_fills_and_the_rest_spills() -> None:
    rain_m = np.zeros(24)
    rain_m[:6] = 0.002  # 12 mm on 100 m2 at 0.9: 1.08 m3, of which 0.5 m3 finds room
    window = simulate_window(plan_of(BARE), rain_m, step_s=300.0, month=0)
    moved = {
        (a.kind, a.to_part): v for a, v in zip(window.arcs, window.flow_m3.sum(axis=0), strict=True)
    }
    assert moved["rain", "r"] == pytest.approx(1.2)
    assert moved["pass", "t"] == pytest.approx(1.08)
    assert moved["overflow", "(ground)"] == pytest.approx(0.58)
    row = window.nodes.index("t")
    # 0.18 m3 comes in each step, so the tank is full within the third.
    assert window.content_m3[:4, row] == pytest.approx([0.5, 0.68, 0.86, 1.0])
    assert window.residual_m3 < 1e-12


def test_a_use_draws_by_the_hour_of_the_day() -> None:
    text = (
        BARE
        + '[use.u]\nfrom = ["t"]\nper-day = "240 L/day"\nhours = ['
        + ", ".join("1" if h == 13 else "0" for h in range(24))
        + "]\n"
    )
    window = simulate_window(plan_of(text), np.zeros(36), step_s=300.0, month=0, start_hours=12.0)
    drawn = window.flow_m3[:, [a.kind == "draw" for a in window.arcs]].sum(axis=1)
    assert drawn[:12] == pytest.approx(0.0)
    assert drawn[12:24] == pytest.approx(0.02)
    assert drawn[24:] == pytest.approx(0.0)


def test_it_goes_on_past_midnight() -> None:
    window = simulate_window(plan_of(BARE), np.zeros(48), step_s=1800.0, month=0, start_hours=20.0)
    assert window.content_m3.shape == (49, len(window.nodes))


@pytest.mark.parametrize("step_s", [0.0, -300.0, 700.0, 7200.0])
def test_a_step_that_does_not_divide_an_hour_is_refused(step_s: float) -> None:
    with pytest.raises(RecordError, match="REC-093"):
        simulate_window(plan_of(BARE), np.zeros(3), step_s=step_s, month=0)


def test_rain_that_is_not_a_number_is_refused() -> None:
    with pytest.raises(RecordError, match="REC-093"):
        simulate_window(plan_of(BARE), np.array([np.nan]), step_s=300.0, month=0)


def test_a_crop_wants_what_its_day_says() -> None:
    plan = plan_of(
        '[site]\nlatitude = "46 deg"\n',
        tank("t", volume_m3=2.0, start=1.0),
        '[use.g]\nfrom = ["t"]\ncrop = "berries"\ngarden-area = "10 m2"\n',
    )
    rain = np.zeros(24 * 12)
    still = simulate_window(plan, rain, step_s=300.0, month=6)
    wants = {"g": np.full(len(rain), 0.05)}
    watered = simulate_window(plan, rain, step_s=300.0, month=6, crop_m3_per_day=wants)
    drawn = [[arc.kind == "draw" for arc in w.arcs] for w in (still, watered)]
    assert still.flow_m3[:, drawn[0]].sum() == 0.0
    assert watered.flow_m3[:, drawn[1]].sum() == pytest.approx(0.05)

"""What a gutter carries, and what goes over it, against arithmetic by hand."""

from __future__ import annotations

import numpy as np
import pytest

from network.build import DAY_STEPS, PLAIN_ROOF, end_m3, pipe, plan_of, ran, record_of, tank, use
from roofspring.hydraulics import (
    downpipe_flow_m3_per_s,
    gutter_flow_m3_per_s,
    outlet_flow_m3_per_s,
)
from roofspring.network.laws import gutter_limit_m3_per_s
from roofspring.network.window import simulate_window
from roofspring.plan.pieces import Gutter

REST = tank("t", volume_m3=50.0, height_m=2.0) + pipe("p", "r", "t") + use("u", "t", "0 L/day")


def roof(gutter: str) -> str:
    return f"{PLAIN_ROOF}gutter = {{ {gutter} }}\n"


def test_what_is_faster_than_the_gutter_goes_over_it() -> None:
    # 100 m2 under 3, 6 and 12 mm in five minutes: 1, 2 and 4 L/s; the gutter carries 1.5.
    plan = plan_of(roof('capacity = "1.5 L/s"'), REST)
    window = simulate_window(plan, np.array([0.003, 0.006, 0.012, 0.0]), step_s=300.0, month=0)
    over = window.flow_m3[:, [a.kind == "gutter" for a in window.arcs]].sum(axis=1)
    assert over == pytest.approx([0.0, 0.150, 0.750, 0.0])
    assert window.content_m3[-1, window.nodes.index("t")] == pytest.approx(2.1 - 0.9)


def test_an_average_over_a_day_hides_the_storm() -> None:
    # 21.6 mm in a day is 0.025 L/s on 100 m2, whatever fell in its worst five minutes.
    run = ran(record_of([21.6]), DAY_STEPS, roof('capacity = "0.03 L/s"'), REST)
    assert run.total_m3(kind="gutter") == 0.0
    run = ran(record_of([21.6]), DAY_STEPS, roof('capacity = "0.02 L/s"'), REST)
    assert run.total_m3(kind="gutter") == pytest.approx(2.160 - 0.02e-3 * 86400.0)
    assert end_m3(run, "t") == pytest.approx([0.02e-3 * 86400.0])


def test_a_gutter_that_never_spills_changes_nothing() -> None:
    rain = record_of([5, 0, 60, 12])
    with_one = ran(rain, roof('width = "300 mm"'), REST)
    without = ran(rain, PLAIN_ROOF, REST)
    np.testing.assert_array_equal(with_one.end_m3, without.end_m3)


@pytest.mark.parametrize(
    ("given", "expected_m3_per_s"),
    [
        ({"capacity": "1.5 L/s"}, 1.5e-3),
        ({"width": "125 mm"}, gutter_flow_m3_per_s(0.125)),
        (
            {"width": "125 mm", "outlets": 2, "length": "12 m"},
            2 * gutter_flow_m3_per_s(0.125, length_m=6.0),
        ),
        ({"width": "125 mm", "corners": 2}, 0.85 * gutter_flow_m3_per_s(0.125)),
        (
            {"shape": "box", "width": "120 mm", "depth": "80 mm"},
            gutter_flow_m3_per_s(0.120, shape="box", depth_m=0.080),
        ),
        (
            {
                "shape": "trapezoid",
                "width": "120 mm",
                "depth": "80 mm",
                "sole": "70 mm",
                "length": "9 m",
                "fall": "0.6 %",
            },
            gutter_flow_m3_per_s(
                0.120,
                shape="trapezoid",
                depth_m=0.080,
                sole_m=0.070,
                length_m=9.0,
                fall_frac=0.006,
            ),
        ),
        # A wide box over a narrow pipe: first the hole in its sole limits, then, deep, the pipe.
        (
            {"shape": "box", "width": "300 mm", "depth": "100 mm", "downpipe": "75 mm"},
            outlet_flow_m3_per_s(0.100 / 3**0.5, diameter_m=0.075),
        ),
        (
            {"shape": "box", "width": "500 mm", "depth": "400 mm", "downpipe": "50 mm"},
            downpipe_flow_m3_per_s(0.050),
        ),
    ],
)
def test_the_narrowest_of_gutter_outlet_and_pipe(
    given: dict[str, object], expected_m3_per_s: float
) -> None:
    got = gutter_limit_m3_per_s(Gutter.model_validate(given))
    assert got == pytest.approx(expected_m3_per_s, rel=1e-12)

"""Hyetographs, curves and scaling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from rain.cloudburst.uccle import DAY_MM, HOUR_MM, TEN_MINUTES_MM
from roofspring.errors import RangeError
from roofspring.rain.cloudburst import (
    HYETOGRAPHS,
    AlternatingBlock,
    Chicago,
    DepthCurve,
    Huff,
    PlusPowerCurve,
    PointsCurve,
    RuleCurve,
    ShiftedPowerCurve,
    TypeTwoStorm,
    scale_depth,
    scaling_exponent,
    short_ratio,
)

INCH_M = 0.0254
DENVER = PlusPowerCurve(96.6, 13.90, 0.97, rate_m_per_s=INCH_M / 3600.0)
CURVES: dict[str, DepthCurve] = {
    "denver": DENVER,
    "shifted": ShiftedPowerCurve(1500.0, 12.0, 0.8),
    "points": PointsCurve((300.0, 900.0, 3600.0, 86_400.0), (0.008, 0.016, 0.028, 0.08)),
    "rule": RuleCurve(),
}


def test_denver_alternating_block() -> None:
    # CHOW_MAIDMENT_MAYS_1988, example 14.4.1: coefficients remembered, arithmetic made elsewhere.
    total = float(DENVER.depth_m(np.array([7200.0]))[0])
    got = AlternatingBlock(DENVER).depths_m(total, duration_s=7200.0, step_s=600.0) / INCH_M
    want = [0.024, 0.033, 0.050, 0.084, 0.178, 0.693, 0.308, 0.117, 0.063, 0.040, 0.028, 0.021]
    assert got == pytest.approx(want, abs=5.01e-4)


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("count", [1, 2, 7, 24])
def test_alternating_block_nests_every_shorter_storm(name: str, count: int) -> None:
    curve = CURVES[name]
    edges = np.arange(count + 1, dtype=np.float64) * 300.0
    depth = curve.depth_m(edges)
    got = AlternatingBlock(curve).depths_m(float(depth[-1]), duration_s=count * 300.0, step_s=300.0)
    for k in range(1, count + 1):
        windows = np.convolve(got, np.ones(k), mode="valid")
        assert windows.max() == pytest.approx(depth[k], rel=1e-9)


@pytest.mark.parametrize("peak_frac", [0.0, 0.25, 0.4, 1.0])
def test_chicago_against_the_intensity_of_the_paper(peak_frac: float) -> None:
    # KEIFER_CHU_1957: i(tau) = a ((1 - c) tau + b) / (tau + b)**(1 + c), tau = t_b / r before and
    # t_a / (1 - r) after the peak; integrated step by step by quadrature.
    a, b, c, minutes, step = 1500.0, 12.0, 0.8, 60.0, 5.0
    peak = peak_frac * minutes

    def mm_per_h(t: float) -> float:
        side = peak_frac if t < peak else 1.0 - peak_frac
        tau = abs(t - peak) / side if side > 0.0 else 0.0
        return float(a * ((1 - c) * tau + b) / (tau + b) ** (1 + c))

    want = [
        integrate.quad(mm_per_h, k * step, (k + 1) * step, points=[peak], epsabs=1e-10)[0] / 6e4
        for k in range(12)
    ]
    curve = CURVES["shifted"]
    total = float(curve.depth_m(np.array([3600.0]))[0])
    got = Chicago(curve, peak_frac).depths_m(total, duration_s=3600.0, step_s=300.0)
    assert got == pytest.approx(want, rel=1e-7)
    assert sum(want) == pytest.approx(total, rel=1e-9)  # the total must be that of the curve


def test_chicago_holds_the_curve_at_every_level() -> None:
    # The minutes above any intensity, put together, hold the depth of the curve for their length.
    total = float(DENVER.depth_m(np.array([7200.0]))[0])
    got = np.sort(Chicago(DENVER, 0.375).depths_m(total, duration_s=7200.0, step_s=60.0))[::-1]
    for k in (10, 30, 60, 120):
        want = float(DENVER.depth_m(np.array([60.0 * k]))[0])
        assert got[:k].sum() == pytest.approx(want, rel=0.01)


def test_type_two_storm() -> None:
    # HAAN_1994, closed form: shares 0.2804 at 11.5 h and 0.7196 at 12.5 h, so 0.4392 in that hour.
    day = TypeTwoStorm().depths_m(0.1, duration_s=86_400.0, step_s=1800.0)
    assert day[:23].sum() == pytest.approx(0.02804, abs=5.01e-6)
    assert day[23:25].sum() == pytest.approx(0.04392, abs=1.01e-5)
    six = TypeTwoStorm().depths_m(0.1, duration_s=21_600.0, step_s=1800.0)
    assert six == pytest.approx(day[18:30] / day[18:30].sum() * 0.1, rel=1e-12)
    with pytest.raises(RangeError, match="REC-088"):
        TypeTwoStorm().depths_m(0.1, duration_s=172_800.0, step_s=1800.0)


@pytest.mark.parametrize("quartile", [1, 2, 3, 4])
def test_huff_storms_have_most_rain_in_their_quarter(quartile: int) -> None:
    # What the name of each curve says (HUFF_1990).
    quarters = Huff(quartile).depths_m(1.0, duration_s=4.0, step_s=1.0)
    assert int(quarters.argmax()) == quartile - 1
    with pytest.raises(RangeError, match="REC-088"):
        Huff(quartile + 4)


def test_huff_median_points() -> None:
    # HUFF_1990, as quoted: at half the storm 82, 70, 38 and 28 % has fallen.
    half = [Huff(q).depths_m(1.0, duration_s=2.0, step_s=1.0)[0] for q in (1, 2, 3, 4)]
    assert half == pytest.approx([0.82, 0.70, 0.38, 0.28], rel=1e-12)


@given(
    name=st.sampled_from(sorted(HYETOGRAPHS)),
    depth=st.floats(1e-3, 1.0),
    count=st.integers(1, 288),
    step_s=st.sampled_from([60.0, 300.0]),
)
def test_every_shape_keeps_the_depth(name: str, depth: float, count: int, step_s: float) -> None:
    parts = HYETOGRAPHS[name].depths_m(depth, duration_s=count * step_s, step_s=step_s)
    assert parts.shape == (count,) and (parts >= 0.0).all()
    assert parts.sum() == pytest.approx(depth, rel=1e-15)


@pytest.mark.parametrize("name", sorted(HYETOGRAPHS))
@pytest.mark.parametrize("bad", [(0.0, 3600.0, 300.0), (0.1, 3600.0, 0.0), (0.1, 1000.0, 300.0)])
def test_every_shape_refuses(name: str, bad: tuple[float, float, float]) -> None:
    with pytest.raises(RangeError, match="REC-088"):
        HYETOGRAPHS[name].depths_m(bad[0], duration_s=bad[1], step_s=bad[2])


@pytest.mark.parametrize("name", CURVES)
def test_curves_start_at_nothing_and_rise(name: str) -> None:
    depth = CURVES[name].depth_m(np.concatenate(([0.0], np.geomspace(1.0, 200_000.0, 300))))
    assert depth[0] == 0.0 and (np.diff(depth) > 0.0).all()


def test_curves_at_their_points() -> None:
    points = CURVES["points"]
    assert points.depth_m(np.array([300.0, 3600.0])) == pytest.approx([0.008, 0.028], rel=1e-12)
    rule = RuleCurve().depth_m(np.array([300.0, 600.0, 900.0, 1800.0, 3600.0, 86_400.0]))
    assert rule == pytest.approx([0.29, 0.45, 0.57, 0.79, 1.0, 24**0.3], rel=1e-12)


def test_scaling_at_uccle() -> None:
    # SNEYERS_1977, means of 35 yearly maxima. The rules are not of the place; their stated doubt
    # must hold it.
    day, hour, ten = DAY_MM.mean(), HOUR_MM.mean(), TEN_MINUTES_MM.mean()
    assert scale_depth(day, from_s=86_400.0, to_s=3600.0, exponent=0.40) < hour
    assert scale_depth(day, from_s=86_400.0, to_s=3600.0, exponent=0.20) > hour
    ratio, doubt = short_ratio(600.0)
    assert ratio * (1 - doubt) < ten / hour < ratio * (1 + doubt)
    exponent = scaling_exponent(np.array([3600.0, 86_400.0]), depths_m=np.array([hour, day]))
    assert exponent == pytest.approx(np.log(day / hour) / np.log(24.0), rel=1e-12)


def test_refusals() -> None:
    for bad in ((0.0, 1.0, 0.5), (1.0, -1.0, 0.5), (1.0, 1.0, 1.1)):
        for curve in (ShiftedPowerCurve, PlusPowerCurve):
            with pytest.raises(RangeError, match="REC-088"):
                curve(*bad)
    for xs, ys in (((1.0,), (1.0,)), ((1.0, 1.0), (1.0, 2.0)), ((1.0, 2.0), (2.0, 1.0))):
        with pytest.raises(RangeError, match="REC-088"):
            PointsCurve(xs, ys)
    with pytest.raises(RangeError, match="REC-088"):
        Chicago(peak_frac=1.5)
    with pytest.raises(RangeError, match="REC-088"):
        RuleCurve(0.0)
    with pytest.raises(RangeError, match="REC-085"):
        short_ratio(60.0)
    with pytest.raises(RangeError, match="REC-085"):
        scale_depth(0.1, from_s=0.0, to_s=1.0, exponent=0.3)
    with pytest.raises(RangeError, match="REC-085"):
        scaling_exponent(np.array([60.0]), depths_m=np.array([0.1]))

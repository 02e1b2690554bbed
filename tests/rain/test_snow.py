"""Snow on the roof and undercatch: closed forms, conservation, and that both are only by choice."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import DATA, record
from roofspring.errors import RangeError, RecordError
from roofspring.kernels import snow as kernels
from roofspring.rain import Kept, RainRecord, load, read
from roofspring.rain.snow import snow_on_roof, snow_share_frac
from roofspring.rain.undercatch import with_undercatch


def iowa() -> RainRecord:
    return load(DATA / "iowa_daily_1990_2020.csv")


def hourly(days: int) -> RainRecord:
    depth = np.random.default_rng(2).gamma(0.1, 0.002, 24 * days)
    temps = np.linspace(-10.0, 10.0, days)
    return RainRecord(
        start=np.datetime64("2001-01-01T00:00:00"),
        step_s=3600.0,
        depth_m=depth,
        kept=np.zeros(len(depth), dtype=np.uint8),
        name="hours",
        source="test",
        tmin_degc=temps - 2.0,
        tmax_degc=temps + 2.0,
    )


@pytest.mark.parametrize(
    ("mean", "share"), [(-1.0, 1.0), (-20.0, 1.0), (0.0, 0.75), (1.0, 0.5), (3.0, 0.0), (30.0, 0.0)]
)
def test_share_of_snow_is_linear(mean: float, share: float) -> None:
    # Straight line from -1 to +3 degrees C (WMO_168, from memory): by hand.
    got = snow_share_frac(np.array([mean - 4.0]), np.array([mean + 4.0]))
    assert got[0] == pytest.approx(share)


def test_thaw_by_hand() -> None:
    # 30 mm of water as snow at -5; then 2, 5, 10 degrees at 4 mm per degree and day: 8, 20, 2 mm.
    mean = np.array([-5.0, 2.0, 5.0, 10.0, 10.0])
    roof = snow_on_roof(
        np.array([0.030, 0.0, 0.0, 0.0, 0.0]), tmin_degc=mean - 1.0, tmax_degc=mean + 1.0
    )
    assert roof.water_m * 1e3 == pytest.approx([0.0, 8.0, 20.0, 2.0, 0.0])
    assert roof.lying_m * 1e3 == pytest.approx([30.0, 22.0, 2.0, 0.0, 0.0])
    assert roof.lying_m[-1] == 0.0


@given(
    rain=st.lists(st.floats(0.0, 0.3), min_size=1, max_size=60),
    seed=st.integers(0, 2**16),
    rate=st.floats(0.0, 0.02),
    lost=st.floats(0.0, 1.0),
    start=st.floats(0.0, 1.0),
)
@settings(max_examples=150, deadline=None)
def test_no_water_is_made_or_lost(
    rain: list[float], seed: int, rate: float, lost: float, start: float
) -> None:
    low = np.random.default_rng(seed).normal(0.0, 6.0, len(rain))
    roof = snow_on_roof(
        np.array(rain),
        tmin_degc=low,
        tmax_degc=low + 5.0,
        melt_m_per_degc_day=rate,
        lost_frac=lost,
        start_m=start,
    )
    fell = math.fsum([*rain, start])
    left = math.fsum([*roof.water_m, *roof.lost_m, roof.lying_m[-1]])
    # Each of the n additions rounds once: n half-units in the last place of the sum.
    assert abs(fell - left) <= 4.0 * len(rain) * np.spacing(max(fell, 1e-300))
    assert abs(roof.residual_m) <= 1e-12 * max(fell, 1.0)
    for part in (roof.water_m, roof.rain_m, roof.snow_m, roof.melt_m, roof.lost_m, roof.lying_m):
        assert (part >= 0.0).all()
    # Day by day as well.
    before = np.concatenate(([start], roof.lying_m[:-1]))
    assert before + roof.snow_m - roof.melt_m == pytest.approx(roof.lying_m, abs=1e-15)


def test_closed_form_of_the_store() -> None:
    # A walk that is held at 0 (the Skorokhod problem): S_t = C_t - min(-S_0, min C_k), with C the
    # running sum of snow less thaw. Another way to the same numbers.
    gauge = iowa()
    assert gauge.tmin_degc is not None and gauge.tmax_degc is not None
    roof = snow_on_roof(gauge.depth_m, tmin_degc=gauge.tmin_degc, tmax_degc=gauge.tmax_degc)
    mean = (gauge.tmin_degc + gauge.tmax_degc) / 2.0
    walk = np.cumsum(roof.snow_m - 0.004 * np.maximum(mean, 0.0))
    want = walk - np.minimum(np.minimum.accumulate(walk), 0.0)
    assert roof.lying_m == pytest.approx(want, abs=1e-9)
    assert roof.lying_m.max() > 0.02


def test_compiled_and_plain_give_the_same_bits() -> None:
    gauge = iowa()
    thaw = np.random.default_rng(1).gamma(0.3, 0.01, gauge.days_count)
    out = np.empty((4, gauge.days_count))
    kernels.lie_and_melt(gauge.depth_m, thaw, 0.0, out[0], out[1])
    kernels.lie_and_melt.py_func(gauge.depth_m, thaw, 0.0, out[2], out[3])  # type: ignore[attr-defined]  # numba adds it
    assert out[:2].tobytes() == out[2:].tobytes()


@pytest.mark.parametrize(
    "wrong",
    [
        {"melt_m_per_degc_day": 0.03},
        {"lost_frac": 1.5},
        {"start_m": -0.1},
        {"all_snow_degc": 4.0},
        {"melt_from_degc": float("nan")},
    ],
)
def test_limits(wrong: dict[str, float]) -> None:
    with pytest.raises(RangeError, match="REC-028"):
        snow_on_roof(np.ones(2) / 1e3, tmin_degc=np.zeros(2), tmax_degc=np.ones(2), **wrong)


@pytest.mark.parametrize("rain", [[0.1], [0.1, np.nan], [0.1, -0.1]])
def test_arrays_have_limits(rain: list[float]) -> None:
    with pytest.raises(RangeError, match="REC-028"):
        snow_on_roof(np.array(rain), tmin_degc=np.zeros(2), tmax_degc=np.ones(2))


# ---------------------------------------------------------------- undercatch


def test_undercatch_is_never_a_default() -> None:
    gauge = read(DATA / "iowa_daily_1990_2020.csv")
    assert gauge.depth_m.tobytes() == iowa().depth_m.tobytes()
    assert "undercatch" not in gauge.source


def test_undercatch_of_rain_and_snow() -> None:
    gauge = iowa()
    more = with_undercatch(gauge, rain_factor=1.05, snow_factor=1.5)
    assert gauge.tmin_degc is not None and gauge.tmax_degc is not None
    mean = (gauge.tmin_degc + gauge.tmax_degc) / 2.0
    warm, cold, half = mean >= 3.0, mean <= -1.0, np.isclose(mean, 1.0, atol=1e-9)
    assert more.depth_m[warm] == pytest.approx(1.05 * gauge.depth_m[warm])
    assert more.depth_m[cold] == pytest.approx(1.5 * gauge.depth_m[cold])
    assert more.depth_m[half] == pytest.approx(1.275 * gauge.depth_m[half])
    assert more.source.endswith("raised for undercatch: rain x 1.05, snow x 1.5")
    finding = more.findings[-1]
    gain_mm = (more.depth_m.sum() - gauge.depth_m.sum()) / gauge.years * 1e3
    assert finding.code == "REC-193" and finding.severity == "caution"
    assert f"{gain_mm:.1f} mm ({gain_mm / 25.4:.2f} in) a year more" in finding.got


def test_undercatch_by_one_factor_needs_no_temperatures_and_keeps_gaps() -> None:
    gauge = record([0.010, np.nan, 0.0])
    more = with_undercatch(gauge, rain_factor=1.1)
    assert more.depth_m[[0, 2]] == pytest.approx([0.011, 0.0]) and np.isnan(more.depth_m[1])
    assert more.kept[1] == Kept.MISSING
    with pytest.raises(RecordError, match="REC-027"):
        with_undercatch(gauge, rain_factor=1.1, snow_factor=1.3)


def test_undercatch_of_hours() -> None:
    gauge = hourly(10)
    more = with_undercatch(gauge, rain_factor=1.0, snow_factor=2.0)
    assert gauge.tmin_degc is not None and gauge.tmax_degc is not None
    share = np.repeat(snow_share_frac(gauge.tmin_degc, gauge.tmax_degc), 24)
    assert more.depth_m == pytest.approx(gauge.depth_m * (1.0 + share))


@pytest.mark.parametrize(("rain", "snow"), [(0.9, None), (1.6, None), (1.0, 0.5), (1.0, 3.5)])
def test_factors_have_limits(rain: float, snow: float | None) -> None:
    with pytest.raises(RangeError, match="REC-028"):
        with_undercatch(iowa(), rain_factor=rain, snow_factor=snow)


def test_undercatch_is_applied_once() -> None:
    with pytest.raises(RangeError, match="before"):
        with_undercatch(with_undercatch(iowa(), rain_factor=1.05), rain_factor=1.05)

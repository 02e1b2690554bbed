"""Laws and chains against closed forms, other libraries and arithmetic done elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import stats

from rain.futures.records import record
from roofspring.kernels import weather
from roofspring.rain.futures._calendar import place_of, season, span, windows
from roofspring.rain.futures.amounts import (
    GammaLaw,
    fit_gamma,
    fit_mixed,
    gamma_by_thom,
    mixed_by_em,
    mixed_moments,
    scale_of,
)
from roofspring.rain.futures.chain import (
    fit_chain,
    long_run_wet_frac,
    rain_moments,
    shifted,
    wet_days_variance,
)
from roofspring.rain.futures.smooth import smooth_year
from roofspring.rain.futures.statistics import STATISTICS, Tally, all_values, frame

TEN = np.array([1.2, 0.5, 7.4, 3.3, 12.8, 0.3, 5.1, 22.0, 2.4, 0.8])


def test_wet_days_of_a_month() -> None:
    # Row G1: p01 0.2, p11 0.5, 30 days: pi 0.285714, variance 11.1204, and 11.3703 for long spans
    # (WILKS_2011, ch. 9, from memory; arithmetic computed independently).
    pi = float(long_run_wet_frac(np.array([0.2, 0.5])))
    assert pi == pytest.approx(0.285714, abs=5e-7)
    assert wet_days_variance(p01_frac=0.2, p11_frac=0.5, days=30) == pytest.approx(
        11.1204, abs=5e-5
    )
    long = wet_days_variance(p01_frac=0.2, p11_frac=0.5, days=30_000) / 1000.0
    assert long == pytest.approx(11.3703, abs=3e-4)


def test_rain_of_a_month() -> None:
    # Row G2: gamma 0.75 and 10 mm: mean 64.2857 mm, standard deviation 35.614 mm (computed).
    mean, sd = rain_moments(
        p01_frac=0.2, p11_frac=0.5, days=30, wet_mean_m=0.0075, wet_var_m2=0.75 * 0.010**2
    )
    assert mean * 1e3 == pytest.approx(64.2857, abs=5e-5)
    assert sd * 1e3 == pytest.approx(35.614, abs=5e-4)


def test_gamma_by_thom() -> None:
    # Row G3: A 0.77892, shape 0.7792, scale 7.161 (THOM_1958; arithmetic computed).
    assert np.log(TEN.mean()) - np.log(TEN).mean() == pytest.approx(0.77892, abs=5e-6)
    shape, scale = gamma_by_thom(TEN)
    assert shape == pytest.approx(0.7792, abs=5e-5)
    assert scale == pytest.approx(7.161, abs=5e-4)


def test_most_likely_gamma() -> None:
    # Shape 0.7663, scale 7.282 (computed elsewhere), and scipy's own fit.
    month = np.zeros(10, dtype=np.int64)
    law = fit_gamma(TEN, month, mean_m=np.full(12, TEN.mean()), wet_day_m=0.0)
    assert law.shape[0] == pytest.approx(0.7663, abs=5e-5)
    assert law.scale_m[0] == pytest.approx(7.282, abs=5e-4)
    shape, _, scale = stats.gamma.fit(TEN, floc=0.0)
    assert law.shape[0] == pytest.approx(shape, rel=1e-4)
    assert law.scale_m[0] == pytest.approx(scale, rel=1e-4)


def test_mixed_exponential_moments() -> None:
    # Row G4: 0.35, 12 and 3: mean 6.15, variance 74.6775 (computed).
    mean, variance = mixed_moments(weight_frac=0.35, heavy_m=12.0, light_m=3.0)
    assert mean == pytest.approx(6.15, abs=1e-12)
    assert variance == pytest.approx(74.6775, abs=1e-10)


def test_a_gamma_law_cut_off_has_the_mean_asked_for() -> None:
    shape, mean, least = np.array([0.3, 0.75, 1.0, 4.0]), np.full(4, 0.006), 0.001
    for a, b in zip(shape, scale_of(shape, mean, least), strict=True):
        # Mean above the threshold by numerical integration in scipy.
        law = stats.gamma(a, scale=b)
        assert law.expect(lambda x: x, lb=least, conditional=True) == pytest.approx(0.006, rel=1e-6)


def test_a_gamma_law_cut_off_is_found_again() -> None:
    rng = np.random.default_rng(5)
    law = GammaLaw(np.full(12, 0.7), np.full(12, 0.008), 0.001)
    month = rng.integers(0, 12, 60_000)
    depth = law.draw(month, rng)
    assert depth.min() >= 0.001
    means = np.bincount(month, depth, 12) / np.bincount(month)
    fitted = fit_gamma(depth, month, mean_m=np.full(12, depth.mean()), wet_day_m=0.001)
    # One shape for the year, as it was made; its error by the law's Fisher information, doubled
    # for what the cut hides: about sqrt(2 * 0.7 / n) / 0.6.
    assert len(set(fitted.shape.tolist())) == 1
    assert fitted.shape[0] == pytest.approx(0.7, abs=0.035)
    # Twelve shapes where they do differ.
    mixed = np.where(month < 6, depth, 0.001 + rng.gamma(6.0, 0.001, len(depth)))
    means = np.bincount(month, mixed, 12) / np.bincount(month)
    differ = fit_gamma(mixed, month, mean_m=means, wet_day_m=0.001)
    assert differ.shape[:6].max() < 1.0 < differ.shape[6:].min()


def test_a_mixed_law_is_found_again() -> None:
    rng = np.random.default_rng(6)
    n = 40_000
    values = rng.standard_exponential(n) * np.where(rng.random(n) < 0.35, 12.0, 3.0)
    weight, heavy, light = mixed_by_em(values)
    # Within about four standard errors of a run this long, from repeated draws.
    assert weight == pytest.approx(0.35, abs=0.04)
    assert heavy == pytest.approx(12.0, abs=0.7)
    assert light == pytest.approx(3.0, abs=0.2)
    assert mixed_moments(weight_frac=weight, heavy_m=heavy, light_m=light)[0] == pytest.approx(
        values.mean(), rel=1e-4
    )


def test_a_mixed_law_keeps_its_limits() -> None:
    one = mixed_by_em(np.random.default_rng(1).standard_exponential(5_000))
    assert 0.01 <= one[0] <= 0.99 and one[1] >= one[2] > 0.0
    same = mixed_by_em(np.full(50, 2.0))
    assert mixed_moments(weight_frac=same[0], heavy_m=same[1], light_m=same[2])[0] == pytest.approx(
        2.0, rel=1e-6
    )
    assert all(v > 0.0 for v in mixed_by_em(np.zeros(4)))
    depth, month = np.array([0.004, 0.006, 0.008]), np.array([3, 3, 4])
    law = fit_mixed(depth, month, mean_m=np.full(12, 0.006), wet_day_m=0.001)
    mean = law.weight_frac * law.heavy_m + (1.0 - law.weight_frac) * law.light_m
    assert mean + 0.001 == pytest.approx(np.full(12, 0.006), rel=1e-12)


def test_long_run_of_order_two_is_that_of_its_matrix() -> None:
    p = np.array([0.15, 0.40, 0.25, 0.62])
    # States dry dry, dry wet, wet dry, wet wet; the left eigenvector of the eigenvalue 1.
    matrix = np.zeros((4, 4))
    for state in range(4):
        matrix[state, (2 * state + 1) & 3] = p[state]
        matrix[state, (2 * state) & 3] = 1.0 - p[state]
    values, vectors = np.linalg.eig(matrix.T)
    share = np.real(vectors[:, np.argmax(np.real(values))])
    share /= share.sum()
    assert float(long_run_wet_frac(p)) == pytest.approx(share[1] + share[3], rel=1e-12)
    # With no memory of the second day it is the chain of order 1.
    assert float(long_run_wet_frac(np.array([0.2, 0.5, 0.2, 0.5]))) == pytest.approx(
        2.0 / 7.0, abs=1e-9
    )


def test_shifts_of_log_odds() -> None:
    chance = np.full((12, 2), 0.2)
    moved = shifted(chance, np.array([[0.0], [np.log(4.0)]]))
    # Odds of 1 to 4 times 4 are even odds.
    assert moved[0] == pytest.approx(chance, rel=1e-12) and moved[1] == pytest.approx(
        np.full((12, 2), 0.5), rel=1e-12
    )


def test_transitions_are_counted() -> None:
    wet = np.array([0, 1, 1, 0, 0, 1, 1, 1, 0])
    month = np.zeros(9, dtype=np.int64)
    one = fit_chain(wet, month, order=1, harmonics="none")
    # By hand: after dry days 1, 0, 1 (of 3); after wet days 1, 0, 1, 1, 0 (of 5).
    assert one.days_count[0].tolist() == [3, 5] and one.wet_count[0].tolist() == [2, 3]
    two = fit_chain(wet, month, order=2, harmonics="none")
    # dry dry: 1 of 1; dry wet: 2 of 2; wet dry: 0 of 1; wet wet: 1 of 3.
    assert two.days_count[0].tolist() == [1, 2, 1, 3]
    assert two.wet_count[0].tolist() == [1, 2, 0, 1]
    assert ((two.chance_frac > 0.0) & (two.chance_frac < 1.0)).all()


def test_smoothing_keeps_waves_and_chooses_few() -> None:
    t = (np.arange(12) + 0.5) * np.pi / 6.0
    wave = 1.0 + 0.5 * np.cos(t) - 0.3 * np.sin(2.0 * t)
    for harmonics in (2, 3, 5, "bic", "none"):
        assert smooth_year(wave, np.full(12, 1e-6), harmonics=harmonics).values == pytest.approx(
            wave, abs=1e-9
        )
    assert smooth_year(wave, np.full(12, 1e-6), harmonics="bic").harmonics == 2
    noisy = smooth_year(wave, np.full(12, 100.0), harmonics="bic")
    assert noisy.harmonics == 0 and noisy.values == pytest.approx(np.full(12, 1.0), abs=1e-9)
    # Months that say nothing are drawn from the others.
    wave[[6, 7]] = np.nan
    filled = smooth_year(wave, np.full(12, 1e-6), harmonics=2).values
    assert filled == pytest.approx(1.0 + 0.5 * np.cos(t) - 0.3 * np.sin(2.0 * t), abs=1e-9)


def test_calendar() -> None:
    days = span(np.datetime64("2003-11-15"), 2)
    assert days.days_count == 366 + 365
    assert days.year[365] == 0 and days.year[366] == 1
    every = np.arange("2003-11-15", "2005-11-15", dtype="datetime64[D]")
    place = {str(d): p for d, p in zip(every, days.place, strict=True)}
    assert (place["2004-02-28"], place["2004-02-29"], place["2004-03-01"]) == (58, 59, 60)
    assert (place["2005-02-28"], place["2005-03-01"], place["2005-01-01"]) == (58, 60, 0)


def test_windows_run_over_the_new_year() -> None:
    days = np.arange("2001-01-01", "2004-01-01", dtype="datetime64[D]")
    place = place_of(days)
    usable = np.arange(len(days)) < len(days) - 1
    found = windows(place, usable, window_days=2)
    first = sorted(str(days[i]) for i in found.order[found.low[0] : found.high[0]])
    assert first == [
        "2001-01-01", "2001-01-02", "2001-01-03", "2001-12-30", "2001-12-31",
        "2002-01-01", "2002-01-02", "2002-01-03", "2002-12-30", "2002-12-31",
        "2003-01-01", "2003-01-02", "2003-01-03", "2003-12-30",
    ]  # fmt: skip


def test_season_has_the_monthly_means() -> None:
    monthly = np.array([3.0, 4, 6, 9, 13, 16, 18, 18, 15, 11, 6, 4])
    curve = season(monthly)
    days = np.arange("2000-01-01", "2001-01-01", dtype="datetime64[D]")
    month = days.astype("datetime64[M]").astype(int) % 12
    assert np.bincount(month, curve) / np.bincount(month) == pytest.approx(monthly, abs=1e-9)


@pytest.mark.parametrize("name", ["seattle", "brussels"])
def test_statistics_are_those_of_plain_python(name: str) -> None:
    gauge = record(name)
    layout, depth = frame(gauge, years=None)
    names = [
        s.name for s in STATISTICS for _ in range(12 if len(s.values(tally(name))) == 12 else 1)
    ]
    got = dict(zip(names[::-1], all_values(tally(name))[::-1], strict=True))
    days = [(str(d), float(x)) for d, x in zip(gauge.days[: len(depth)], depth, strict=True)]
    years: dict[str, float] = {}
    months: dict[str, float] = {}
    top: dict[str, float] = {}
    dry: dict[str, int] = {}
    spell = 0
    for day, x in days:
        years[day[:4]] = years.get(day[:4], 0.0) + x
        months[day[:7]] = months.get(day[:7], 0.0) + x
        top[day[:4]] = max(top.get(day[:4], 0.0), x)
        spell = 0 if x >= 0.00025 else spell + 1
        dry[day[:4]] = max(dry.get(day[:4], 0), spell)
    sums = list(months.values())
    januaries = [v for k, v in months.items() if k.endswith("-01")]
    wet = [x for day, x in days if day[5:7] == "01" and x >= 0.00025]
    after_wet = [b for (_, a), (day, b) in pairwise(days) if day[5:7] == "01" and a >= 0.00025]
    assert layout.years == len(years)
    assert got["annual spread"] == pytest.approx(np.std(list(years.values()), ddof=1), rel=1e-12)
    assert got["annual mean"] == pytest.approx(np.mean(list(years.values())), rel=1e-12)
    assert got["longest dry spell"] == max(dry.values())
    assert got["longest dry spell of a year, mean"] == pytest.approx(np.mean(list(dry.values())))
    assert got["greatest day"] == max(top.values())
    assert got["greatest day of a year, mean"] == pytest.approx(np.mean(list(top.values())))
    assert got["driest month"] == pytest.approx(min(sums), abs=1e-12)
    for n, key in ((3, "driest 3 months"), (12, "driest 12 months")):
        least = min(sum(sums[i : i + n]) for i in range(len(sums) - n + 1))
        assert got[key] == pytest.approx(least, abs=1e-12)
    # The first of the twelve of each kind is January.
    assert got["monthly mean"] == pytest.approx(np.mean(januaries), rel=1e-12)
    assert got["monthly spread"] == pytest.approx(np.std(januaries, ddof=1), rel=1e-12)
    assert got["monthly skew"] == pytest.approx(stats.skew(januaries), rel=1e-9)
    assert got["share of wet days"] == pytest.approx(len(wet) / (31 * len(years)), rel=1e-12)
    assert got["mean of wet days"] == pytest.approx(np.mean(wet), rel=1e-12)
    assert got["variance of wet days"] == pytest.approx(np.var(wet), rel=1e-9)
    assert got["wet after wet"] == pytest.approx(
        np.mean([b >= 0.00025 for b in after_wet]), rel=1e-12
    )


def tally(name: str) -> Tally:
    layout, depth = frame(record(name), years=None)
    return layout.tally(depth, wet_day_m=0.00025)


def test_a_frame_starts_on_the_first_of_a_month() -> None:
    gauge = record("brussels")
    late = replace(
        gauge, start=gauge.days[40], depth_m=gauge.depth_m[40:], kept=gauge.kept[40:],
        tmin_degc=None, tmax_degc=None,
    )  # fmt: skip
    layout, depth = frame(late, years=None)
    assert str(layout.start) == "1976-03-01" and layout.years == 29
    assert depth[0] == gauge.depth_m[60]
    values = all_values(layout.tally(depth, wet_day_m=0.00025))
    # January first, though the years start in March.
    days = late.days[20 : 20 + len(depth)]
    january = days.astype("datetime64[M]").astype(int) % 12 == 0
    assert values[0] == pytest.approx(depth[january].sum() / 29.0, rel=1e-12)


def test_compiled_and_plain_kernels_give_the_same_bits() -> None:
    rng = np.random.default_rng(2)
    n, days = 800, span(np.datetime64("2001-01-01"), 3)
    n = days.days_count
    chance = rng.random((3, 12, 4))
    depth = np.where(rng.random(n) < 0.4, rng.exponential(0.005, n), 0.0)
    found = windows(days.place, np.arange(n) < n - 1, window_days=5)
    features = rng.random((3, len(found.order)))
    weight = rng.random((366, 3))

    def runs(pick: Callable[[Any], Any]) -> tuple[Any, ...]:
        wet, last = np.zeros(n, dtype=np.uint8), np.zeros(n)
        pick(weather.wet_days)(noise, chance, days.year, days.month, 2, wet)
        pick(weather.lasting)(noise, 0.7, 0.3, last)
        by_month, by_year = np.zeros((weather.ROWS, 36)), np.zeros((2, 3))
        pick(weather.tally)(depth, days.year * 12 + days.month, 0.001, by_month, by_year)
        chosen = np.zeros(n, dtype=np.int64)
        pick(weather.follow)(
            17, days.place, found.low, found.high, found.order, features, weight, depth, last,
            0.01, 0.9, np.array([0.5, 0.8, 1.0]), noise, np.empty(200), np.empty(3),
            np.empty(3, dtype=np.int64), chosen,
        )  # fmt: skip
        return wet, last, by_month, by_year, chosen

    noise = rng.random(n)
    for compiled, plain in zip(
        runs(lambda k: k), runs(lambda k: getattr(k, "py_func", k)), strict=True
    ):
        np.testing.assert_array_equal(compiled, plain)

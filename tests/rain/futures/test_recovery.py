"""Known climates found again in two thousand years of their own rain, within sampling error."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import gammaincc

from roofspring.rain import MonthlyClimate, RainRecord, generate
from roofspring.rain.futures import FittedMarkov, MarkovModel

START = np.datetime64("2001-01-01")
ANGLE = (np.arange(12) + 0.5) * np.pi / 6.0

CLIMATE = MonthlyClimate(
    p01_frac=tuple(0.25 + 0.1 * np.cos(ANGLE)),
    p11_frac=tuple(0.55 + 0.1 * np.cos(ANGLE)),
    gamma_shape=(0.75,) * 12,
    wet_day_m=tuple(0.007 - 0.002 * np.cos(ANGLE)),
    tmean_degc=tuple(9.0 - 9.0 * np.cos(ANGLE)),
    trange_degc=tuple(9.0 - 2.0 * np.cos(ANGLE)),
)

TINY_M = 1e-5
"""The least threshold: nearly all of the law is above it."""


@pytest.fixture(scope="module")
def source() -> RainRecord:
    return generate(years=2000, seed=12, months=CLIMATE, start=START)


@pytest.fixture(scope="module")
def fitted(source: RainRecord) -> FittedMarkov:
    model = MarkovModel(wet_day_m=TINY_M, harmonics="none", years_differ="as-the-chain")
    return model.fit(source)


def test_chances(fitted: FittedMarkov) -> None:
    # 0.9 % of a gamma law of shape 0.75 and 9 mm lies under 0.01 mm; such days count as dry.
    hidden = 1.0 - gammaincc(0.75, TINY_M / (np.array(CLIMATE.wet_day_m) / 0.75))
    for state, given in ((0, CLIMATE.p01_frac), (1, CLIMATE.p11_frac)):
        p = np.array(given)
        error = np.sqrt(p * (1.0 - p) / fitted.chain.days_count[:, state])
        difference = np.abs(fitted.chain.chance_frac[:, state] - p)
        assert (difference < 4.0 * error + hidden).all()
        # Not so wide that anything passes.
        assert (4.0 * error + hidden < 0.03).all()


def test_amounts(fitted: FittedMarkov, source: RainRecord) -> None:
    law = fitted.law.to_dict()
    # Asymptotic error of a gamma shape a: sqrt(a / (n (a psi'(a) - 1))) = 1.01 sqrt(a / n) here.
    wet = int((source.depth_m >= TINY_M).sum())
    assert law["shape"][0] == pytest.approx(0.75, abs=6.0 * (0.75 / wet) ** 0.5)
    assert len(set(law["shape"])) == 1
    mean = np.array(law["shape"]) * np.array(law["scale_m"])
    error = np.array(CLIMATE.wet_day_m) / np.sqrt(0.75 * wet / 24.0)
    assert (np.abs(mean - np.array(CLIMATE.wet_day_m)) < 4.0 * error).all()


def test_temperatures(fitted: FittedMarkov) -> None:
    made = fitted.temperatures
    assert made is not None
    # The season of `generate` does not depend on wet and dry; its spread is 3 and its lag 0.7.
    for state in range(2):
        assert made.mean[0, state] == pytest.approx(np.array(CLIMATE.tmean_degc), abs=0.35)
        assert np.exp(made.mean[1, state]) == pytest.approx(np.array(CLIMATE.trange_degc), rel=0.03)
        assert made.spread[0, state] == pytest.approx(np.full(12, 3.0), rel=0.03)
    assert made.lag1_frac[0] == pytest.approx(0.7, abs=0.01)


def test_an_index_is_not_found_where_none_is(source: RainRecord) -> None:
    """The chain's own years differ as the chain's do: a ratio of variances near 1."""
    index = MarkovModel(harmonics=1, amounts="gamma").fit(source).index
    assert index is not None
    # Both variances are from 2,000 years: standard error of their ratio sqrt(4 / 2000) = 4.5 %.
    assert index.overdispersion == pytest.approx(1.0, abs=4 * 0.045)
    assert index.years_frac < 0.06


def test_an_index_is_found_where_one_is(source: RainRecord) -> None:
    """Years multiplied by a factor with a spread of 20 % are found to have it."""
    rng = np.random.default_rng(9)
    spread = np.sqrt(np.log1p(0.2**2))
    year = (source.days.astype("datetime64[Y]") - source.days[0].astype("datetime64[Y]")).astype(
        int
    )
    factor = np.exp(spread * rng.standard_normal(2000) - 0.5 * spread**2)
    varied = replace(source, depth_m=source.depth_m * factor[year])
    fitted = MarkovModel(harmonics=1).fit(varied)
    assert fitted.index is not None and fitted.index.overdispersion > 1.5
    assert fitted.index.years_frac == pytest.approx(0.2, abs=0.02)
    # Nearly all of it in how much it rains on a wet day, none in how often... the share is a slope
    # that the chain's own chance adds to, so it is not 0; it is well under a half.
    assert fitted.index.days_frac < 0.5


def test_own_rain_keeps_its_moments() -> None:
    """From fit to rain and back: what was learned is what comes out."""
    source = generate(years=300, seed=13, months=CLIMATE, start=START)
    made = (
        MarkovModel(order=2, amounts="mixed", harmonics=1).fit(source).simulate(years=500, seed=3)
    )
    assert made.mean_m_per_year == pytest.approx(source.mean_m_per_year, rel=0.02)
    assert (made.depth_m > 0.0).mean() == pytest.approx(
        (source.depth_m >= 0.00025).mean(), rel=0.01
    )

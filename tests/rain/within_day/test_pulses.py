"""Poisson rectangular pulses against their closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from roofspring.errors import RangeError
from roofspring.rain.within_day import DEFAULT_PULSES, PulseParameters, pulse_moments
from roofspring.rain.within_day.pulses import wet_windows

DAY_S = 86_400.0


@pytest.mark.parametrize(
    "parameters",
    [DEFAULT_PULSES, PulseParameters(gap_s=20_000.0, length_s=3000.0, strength_m_per_s=1e-6)],
)
def test_simulated_moments_agree_with_closed_forms(parameters: PulseParameters) -> None:
    # RODRIGUEZ_ITURBE_1987: mean, variance and dry share of a day. Days with rain are drawn; dry
    # ones, whose share is known, are added. 400,000 days; bounds are four standard errors.
    n = 400_000
    want = pulse_moments(parameters, step_s=DAY_S)
    rng = np.random.default_rng(8)
    wet = wet_windows(n, window_s=DAY_S, step_s=DAY_S, parameters=parameters, rng=rng)[:, 0]
    p = 1.0 - want.dry_frac
    mean = p * wet.mean()
    assert mean == pytest.approx(want.mean_m, abs=4 * p * wet.std() / np.sqrt(n))
    square = p * (wet**2).mean()
    error = 4 * p * (wet**2).std() / np.sqrt(n)
    assert square == pytest.approx(want.variance_m2 + want.mean_m**2, abs=error)


def test_dry_steps_of_wet_days_agree_with_the_closed_form() -> None:
    # An hour is dry either in a dry day or in a wet one: P(dry hour) over all days is known.
    day, hour = (pulse_moments(DEFAULT_PULSES, step_s=s) for s in (DAY_S, 3600.0))
    n = 100_000
    wet = wet_windows(
        n,
        window_s=DAY_S,
        step_s=3600.0,
        parameters=DEFAULT_PULSES,
        rng=np.random.default_rng(9),
    )
    dry = (wet == 0.0).mean(axis=0)
    want = (hour.dry_frac - day.dry_frac) / (1.0 - day.dry_frac)
    # Every hour of the day alike: five standard errors, 24 hours looked at.
    assert np.abs(dry - want).max() < 5 * np.sqrt(want * (1 - want) / n)


def test_a_single_long_pulse_is_exponential() -> None:
    # Pulses far longer and rarer than the day: one, all day, of exponential strength.
    rare = PulseParameters(gap_s=3e7, length_s=3e7, strength_m_per_s=1e-6)
    wet = wet_windows(
        20_000, window_s=3600.0, step_s=3600.0, parameters=rare, rng=np.random.default_rng(1)
    )
    whole = wet_windows(
        20_000, window_s=3600.0, step_s=1800.0, parameters=rare, rng=np.random.default_rng(1)
    )
    assert whole.sum(axis=1) == pytest.approx(wet[:, 0], rel=1e-12)
    # One pulse with chance 1 / (1 + m/2 + ...), m about 1, else more: mean m / (1 - exp(-m)).
    mean = pulse_moments(rare, step_s=3600.0)
    assert wet.mean() == pytest.approx(mean.mean_m / (1 - mean.dry_frac), rel=0.04)


def test_positions_of_short_pulses_are_even_over_the_day() -> None:
    short = PulseParameters(gap_s=1e6, length_s=60.0, strength_m_per_s=1e-6)
    wet = wet_windows(
        5000, window_s=DAY_S, step_s=300.0, parameters=short, rng=np.random.default_rng(2)
    )
    first = (wet > 0.0).argmax(axis=1)
    assert stats.kstest((first + 0.5) / 288, "uniform").pvalue > 0.001


@pytest.mark.parametrize(
    "bad", [(0.0, 3600.0, 1e-6), (3600.0, 0.5, 1e-6), (3600.0, 3600.0, 0.0), (np.nan, 60.0, 1e-6)]
)
def test_bad_parameters_are_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(RangeError, match="REC-082"):
        PulseParameters(gap_s=bad[0], length_s=bad[1], strength_m_per_s=bad[2])

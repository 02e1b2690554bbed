"""L-moments, laws, bands: against a general library, closed forms and published maxima."""

from __future__ import annotations

import lmoments3
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lmoments3 import distr
from scipy import integrate, optimize, stats

from rain.cloudburst.uccle import DAY_MM, HOUR_MM, TEN_MINUTES_MM
from roofspring.errors import RangeError
from roofspring.rain.cloudburst import (
    Fit,
    aep_of_ari,
    ari_of_aep,
    band,
    fit_gev,
    fit_gumbel,
    fit_pareto,
    l_moments,
)
from roofspring.rain.cloudburst.laws import _mean_of_shape, gev_from_l

FloatArray = npt.NDArray[np.float64]
ELEVEN = np.array([2, 3, 4, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5])
SAMPLES = {"eleven": ELEVEN, "day": DAY_MM, "hour": HOUR_MM, "ten minutes": TEN_MINUTES_MM}


@pytest.mark.parametrize("name", SAMPLES)
def test_l_moments_against_two_libraries(name: str) -> None:
    sample = SAMPLES[name]
    got = l_moments(sample)
    ours = [got.l1_m, got.l2_m, got.t3, got.t4, got.t5]
    assert ours == pytest.approx(lmoments3.lmom_ratios(sample, nmom=5), rel=1e-11)
    assert ours == pytest.approx(stats.lmoment(sample, order=[1, 2, 3, 4, 5]), rel=1e-11)


@given(st.lists(st.floats(0.001, 0.5), min_size=5, max_size=80, unique=True))
def test_l_moments_of_any_sample(values: list[float]) -> None:
    sample = np.array(values)
    got = l_moments(sample)
    want = stats.lmoment(sample, order=[1, 2, 3, 4])
    tight = 1e-9 * got.l1_m / got.l2_m
    assert [got.l1_m, got.l2_m, got.t3, got.t4] == pytest.approx(want, rel=1e-9, abs=tight)
    assert abs(got.t3) < 1.0 and got.l2_m > 0.0


@pytest.mark.parametrize("name", SAMPLES)
def test_gev_against_a_library(name: str) -> None:
    # The library stops its own iteration at 1e-6 in the shape.
    want = distr.gev.lmom_fit(SAMPLES[name])
    fit = fit_gev(SAMPLES[name])
    ours = [fit.location_m, fit.scale_m, fit.shape]
    assert ours == pytest.approx([want["loc"], want["scale"], want["c"]], rel=1e-5)
    for below in (0.2, 0.5, 0.9, 0.99):
        exact = stats.genextreme.ppf(below, fit.shape, fit.location_m, fit.scale_m)
        assert fit.quantile_m(below) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("name", SAMPLES)
def test_gumbel_against_a_library(name: str) -> None:
    want = distr.gum.lmom_fit(SAMPLES[name])
    fit = fit_gumbel(SAMPLES[name])
    assert [fit.location_m, fit.scale_m] == pytest.approx([want["loc"], want["scale"]], rel=1e-10)
    exact = stats.gumbel_r.ppf(0.99, fit.location_m, fit.scale_m)
    assert fit.quantile_m(0.99) == pytest.approx(exact, rel=1e-12)


# 0.16993 is close to the L-skewness of the Gumbel law, 2 ln 3 / ln 2 - 3, where k is 0.
# HOSKING_WALLIS_1997.
@pytest.mark.parametrize("skew", [-0.9, -0.5, 0.0, 0.16993, 0.17, 0.3, 0.6, 0.9, 0.97])
def test_shape_solves_its_equation(skew: float) -> None:
    def off(k: float) -> float:
        return float(2.0 * (1.0 - 3.0**-k) / (1.0 - 2.0**-k) - 3.0 - skew)

    want = optimize.brentq(off, -0.99999, 60.0, xtol=1e-14) if abs(skew - 0.16992) > 1e-4 else None
    _, _, k = gev_from_l(np.array([1.0]), np.array([0.1]), np.array([skew]))
    if want is None:  # 2 ln 3 / ln 2 - 3 = 0.169925: the Gumbel law
        assert abs(k[0]) < 2e-4
    else:
        assert k[0] == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize("shape", [-0.3, -1e-7, 0.0, 1e-7, 0.3])
def test_l_moments_of_the_fitted_law_by_integration(shape: float) -> None:
    # L-moments by quadrature over the quantile function: nothing of ours but the fit.
    law = stats.genextreme(shape, loc=30.0, scale=9.0)

    def weighted(r: int) -> float:
        return float(integrate.quad(lambda f: law.ppf(f) * f**r, 0, 1, epsabs=1e-10, limit=200)[0])

    b0, b1, b2 = weighted(0), weighted(1), weighted(2)
    l2 = 2 * b1 - b0
    found = gev_from_l(np.array([b0]), np.array([l2]), np.array([(6 * b2 - 6 * b1 + b0) / l2]))
    assert [float(v[0]) for v in found] == pytest.approx([30.0, 9.0, shape], rel=1e-6, abs=2e-6)


def test_mean_of_the_law_has_no_step_where_the_shape_is_nearly_nothing() -> None:
    # Around 0: Euler's constant less k (euler**2 + pi**2 / 6) / 2, by the series of the gamma law.
    slope = -0.5 * (np.euler_gamma**2 + np.pi**2 / 6.0)
    for k in (-2e-6, -5e-7, 5e-7, 2e-6):
        got = _mean_of_shape(np.array([k]))[0]
        assert got == pytest.approx(np.euler_gamma + slope * k, abs=1e-9)


def test_pareto_law_by_its_closed_form() -> None:
    # l1 = scale / (1 + k), l2 = scale / ((1 + k)(2 + k)) (HOSKING_WALLIS_1997): a large sample.
    law = stats.genpareto(0.15, loc=10.0, scale=5.0)
    sample = law.ppf((np.arange(200_000) + 0.5) / 200_000)
    fit = fit_pareto(sample, threshold_m=10.0, years=50_000.0)
    assert fit.shape == pytest.approx(-0.15, abs=2e-3)
    assert fit.scale_m == pytest.approx(5.0, rel=2e-3)
    # Four peaks a year: the depth of 25 years is exceeded by one in a hundred of them.
    assert fit.depth_m(25.0, kind="ARI") == pytest.approx(fit.quantile_m(0.99), rel=1e-12)
    exact = stats.genpareto.ppf(0.99, -fit.shape, 10.0, fit.scale_m)
    assert fit.quantile_m(0.99) == pytest.approx(exact, rel=1e-12)


def tightly(f, x0, args=(), disp=0):  # type: ignore[no-untyped-def]  # scipy's own signature
    return optimize.fmin(f, x0, args=args, disp=disp, xtol=1e-8, ftol=1e-10, maxiter=5000)


def test_uccle_maximum_likelihood_lies_in_the_band_of_l_moments() -> None:
    # Uccle, SNEYERS_1977. Maximum likelihood by scipy; the printed values were made outside this
    # project, those of the day also by the R package evd (from memory of its manual). Their shape
    # has the other sign. L-moments give 0.083 for the day.
    for sample, printed in (
        (DAY_MM, (28.38, 9.03, 0.232)),
        (HOUR_MM, (13.34, 4.54, 0.105)),
        (TEN_MINUTES_MM, (8.66, 3.08, -0.387)),
    ):
        fit = fit_gev(sample)
        c, loc, scale = stats.genextreme.fit(
            sample, fit.shape, loc=fit.location_m, scale=fit.scale_m, optimizer=tightly
        )
        assert (loc, scale, -c) == pytest.approx(printed, abs=6e-3)
        ten = band(fit, return_years=100.0, kind="AEP", resamples_count=4000, seed=1)
        assert ten.shape_low <= c <= ten.shape_high
        assert ten.low_m <= stats.genextreme.ppf(0.99, c, loc, scale) <= ten.high_m
    assert fit_gev(DAY_MM).shape == pytest.approx(-0.083, abs=5e-4)


@pytest.mark.parametrize("law", ["gev", "gumbel"])
def test_bands_hold_the_truth_as_often_as_they_say(law: str) -> None:
    # 300 records of 30 years from a known law: a 90 % percentile band should hold its 50-year depth
    # in about 90 %; such bands are known to be a little narrow for short records.
    truth = stats.gumbel_r(30.0, 8.0)
    want = truth.ppf(0.98)
    rng = np.random.default_rng(4)
    fit_one = fit_gev if law == "gev" else fit_gumbel
    held = 0
    for i in range(300):
        sample = truth.ppf(rng.random(30))
        one = band(fit_one(sample), return_years=50.0, kind="AEP", resamples_count=300, seed=i)
        held += one.low_m <= want <= one.high_m
    assert 0.80 < held / 300 < 0.96


def test_band_of_the_gumbel_law_against_a_plain_loop() -> None:
    # The same bootstrap in a plain loop with scipy.
    fit = Fit("gumbel", "moments", 30.0, 8.0, 0.0, 60)
    got = band(fit, return_years=20.0, kind="AEP", resamples_count=20_000, seed=2)
    rng = np.random.default_rng(3)
    depths = []
    for _ in range(4000):
        sample = np.asarray(stats.gumbel_r.rvs(30.0, 8.0, size=60, random_state=rng))
        scale = sample.std(ddof=1) * np.sqrt(6.0) / np.pi
        depths.append(stats.gumbel_r.ppf(0.95, sample.mean() - np.euler_gamma * scale, scale))
    low, high = np.percentile(depths, [5.0, 95.0])
    # 4000 records know the ends to 0.12; a wrong percentile would move them by 1.2.
    assert [got.low_m, got.high_m] == pytest.approx([low, high], abs=0.4)


def test_band_of_peaks_against_a_plain_loop() -> None:
    # The number of peaks is luck too: for a short return period that is a third of the width.
    fit = Fit("pareto", "l-moments", 10.0, 7.0, 0.0, 36, peaks_per_year=3.0)
    got = band(fit, return_years=1.0, kind="ARI", resamples_count=20_000, seed=2)
    rng = np.random.default_rng(3)
    depths = []
    for _ in range(4000):
        count = int(rng.poisson(36))
        sample = rng.exponential(7.0, max(count, 5))
        l1, l2 = stats.lmoment(sample, order=[1, 2])
        k = l1 / l2 - 2.0
        share = 1.0 - 12.0 / max(count, 13)
        depths.append(stats.genpareto.ppf(share, -k, 10.0, (1.0 + k) * l1))
    low, high = np.percentile(depths, [5.0, 95.0])
    assert [got.low_m, got.high_m] == pytest.approx([low, high], abs=0.3)


def test_band_of_peaks_is_wider_than_nothing_and_seeded() -> None:
    fit = fit_pareto(10.0 + HOUR_MM, threshold_m=10.0, years=12.0)
    one = band(fit, return_years=10.0, kind="ARI", seed=5)
    assert one == band(fit, return_years=10.0, kind="ARI", seed=5)
    assert one != band(fit, return_years=10.0, kind="ARI", seed=6)
    assert one.low_m < one.depth_m < one.high_m


@given(
    shape=st.floats(-0.5, 0.5),
    short=st.floats(2.0, 200.0),
    factor=st.floats(1.001, 10.0),
    law=st.sampled_from(["gev", "pareto"]),
)
def test_rarer_is_deeper(shape: float, short: float, factor: float, law: str) -> None:
    fit = Fit("gev", "l-moments", 0.03, 0.009, shape, 30)
    if law == "pareto":
        fit = Fit("pareto", "l-moments", 0.03, 0.009, shape, 60, peaks_per_year=2.0)
    for kind in ("ARI", "AEP"):
        assert fit.depth_m(short * factor, kind=kind) > fit.depth_m(short, kind=kind)


@given(st.floats(0.2, 1e5))
def test_two_kinds_of_return_period(ari: float) -> None:
    assert ari_of_aep(aep_of_ari(ari)) == pytest.approx(ari, rel=1e-9)
    assert 1.0 / aep_of_ari(ari) > ari  # a year with two such storms counts once


def test_refusals() -> None:
    for bad in (ELEVEN[:4], np.ones(9), np.array([1.0, 2.0, 3.0, 4.0, np.nan])):
        with pytest.raises(RangeError, match="REC-084"):
            fit_gev(bad)
    with pytest.raises(RangeError, match="REC-084"):
        fit_pareto(ELEVEN, threshold_m=1.3, years=2.0)
    with pytest.raises(RangeError, match="REC-084"):
        fit_pareto(ELEVEN, threshold_m=1.0, years=0.0)
    for odd in (2.0, 0.5):  # one value carries all the spread: L-skewness 1 or -1
        with pytest.raises(RangeError, match="REC-089"):
            fit_gev(np.array([1.0] * 8 + [odd]))
    fit = fit_gev(ELEVEN)
    with pytest.raises(RangeError, match="REC-086"):
        fit.depth_m(1.0, kind="AEP")
    with pytest.raises(RangeError, match="REC-086"):
        fit.quantile_m(1.0)
    with pytest.raises(RangeError, match="REC-086"):
        Fit("pareto", "l-moments", 1.0, 1.0, 0.0, 9, peaks_per_year=0.5).depth_m(2.0, kind="ARI")
    with pytest.raises(RangeError, match="REC-086"):
        band(fit, return_years=10.0, kind="AEP", level_frac=1.0)
    with pytest.raises(RangeError, match="REC-086"):
        band(fit, return_years=10.0, kind="AEP", resamples_count=10)
    with pytest.raises(RangeError, match="REC-086"):
        aep_of_ari(0.0)
    with pytest.raises(RangeError, match="REC-086"):
        ari_of_aep(1.0)

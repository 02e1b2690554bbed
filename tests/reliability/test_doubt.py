"""What a number of years can show: against published intervals and a second estimate."""

from __future__ import annotations

import math

import numpy as np
import pytest

from network.build import DATA, PLAIN_ROOF, dry, pipe, plan_of, tank, use
from roofspring.network.events import short_days
from roofspring.network.simulate import simulate
from roofspring.rain import read
from roofspring.reliability.doubt import doubt_words, resampled_band, whole_years, yearly_chance


@pytest.mark.parametrize("n", [10, 20, 30, 50, 100, 1000])
def test_nothing_seen_in_n_years(n: int) -> None:
    # Hanley and Lippman-Hand 1983, "If nothing goes wrong, is everything all right?": with 0 of n
    # the upper 95 % bound is 1 - 0.05**(1/n), close to 3/n (from memory).
    low, high = yearly_chance(0, n)
    assert low == 0.0
    assert high == pytest.approx(1.0 - 0.05 ** (1.0 / n), rel=1e-9)
    assert high <= 3.0 / n
    if n >= 30:
        assert high == pytest.approx(3.0 / n, rel=0.05)


@pytest.mark.parametrize(
    ("bad", "n", "low", "high"),
    [
        (81, 263, 0.2527, 0.3676),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_published_intervals(bad: int, n: int, low: float, high: float) -> None:
    # Newcombe 1998, Statistics in Medicine 17, 857-872, table I, method 5 (Clopper and Pearson),
    # 95 % (from memory).
    got = yearly_chance(bad, n, level_frac=0.95)
    assert got == pytest.approx((low, high), abs=5.1e-5)


@pytest.mark.parametrize(("bad", "n"), [(1, 4), (3, 10), (7, 30), (29, 30), (30, 30)])
def test_bounds_leave_one_twentieth_in_each_tail(bad: int, n: int) -> None:
    # The definition of the exact interval, by summing binomial terms.
    low, high = yearly_chance(bad, n)

    def at_most(k: int, p: float) -> float:
        return math.fsum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k + 1))

    assert 1.0 - at_most(bad - 1, low) == pytest.approx(0.05, rel=1e-9)
    if bad < n:
        assert at_most(bad, high) == pytest.approx(0.05, rel=1e-9)
    else:
        assert high == 1.0


PLAN = plan_of(
    PLAIN_ROOF, tank("a", volume_m3=3.0), pipe("p", "r", "a"), use("u", "a", "180 L/day")
)


def test_the_band_holds_the_mean_and_agrees_with_a_plain_error() -> None:
    result = simulate(PLAN, read(DATA / "brussels_daily_1976_2005.csv"))
    years = whole_years(result)
    assert len(years) == 30
    served = np.array([result.delivered_m3[m].sum() / result.wanted_m3[m].sum() for m in years])
    low, high = resampled_band(result)
    assert low is not None
    assert high is not None
    assert served.min() < low < served.mean() < high < served.max()
    # Mean plus and minus 1.645 standard errors: the bootstrap must come close with 30 years.
    half = 1.645 * served.std() / math.sqrt(len(years))
    assert (high - low) / 2.0 == pytest.approx(half, rel=0.1)
    assert resampled_band(result) == (low, high)  # the same each time


def test_a_short_record_has_no_band_and_says_so() -> None:
    result = simulate(PLAN, dry(800, start="2001-01-01"))
    assert resampled_band(result) == (None, None)
    words = doubt_words(result, np.array(short_days(result)[:, 0]))
    assert "2 whole calendar years" in words


def test_no_want_has_no_band() -> None:
    plan = plan_of(tank("a", volume_m3=1.0), use("u", "a", "0 L/day"))
    assert resampled_band(simulate(plan, dry(1500, start="2001-01-01"))) == (None, None)


def test_the_words_count_the_bad_years() -> None:
    result = simulate(PLAN, read(DATA / "brussels_daily_1976_2005.csv"))
    short = np.zeros(len(result.days), dtype=bool)
    assert doubt_words(result, short).startswith(
        "0 of 30 whole years had a shortage. From that alone the chance of a year with a shortage "
        "lies between 0 and 10 %"
    )
    short[0] = short[400] = short[401] = True
    assert doubt_words(result, short).startswith("2 of 30 whole years")
    # Exact 90 % interval of 2 in 30: 1.2 to 19.5 % (binomial tails).
    assert "between 1 and 20 %" in doubt_words(result, short)


def test_a_leap_year_that_lacks_a_day_is_not_whole() -> None:
    result = simulate(PLAN, dry(365 + 365, start="2003-01-01"))
    assert len(whole_years(result)) == 1

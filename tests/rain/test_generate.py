"""Invented rain against the closed forms of its own model, over a thousand years."""

from __future__ import annotations

import numpy as np
import pytest

from roofspring.errors import RangeError
from roofspring.rain import Kept, MonthlyClimate, RainRecord, assess, generate

START = np.datetime64("2001-01-01")


def climate(**changes: object) -> MonthlyClimate:
    base: dict[str, object] = {
        "p01_frac": (0.2,) * 12,
        "p11_frac": (0.5,) * 12,
        "gamma_shape": (0.75,) * 12,
        "wet_day_m": (0.0075,) * 12,
        "tmean_degc": (-2.0, -0.5, 3.0, 7.0, 12.0, 16.0, 19.0, 18.0, 14.0, 8.0, 3.0, -1.0),
        "trange_degc": (6.0, 7.0, 9.0, 10.0, 11.0, 12.0, 13.0, 12.0, 11.0, 8.0, 6.0, 5.0),
    }
    return MonthlyClimate(**(base | changes))  # type: ignore[arg-type]  # values are mixed on purpose


@pytest.fixture(scope="module")
def thousand() -> RainRecord:
    return generate(years=1000, seed=20, months=climate(), start=START)


def blocks(record: RainRecord, length: int) -> np.ndarray:
    n = record.days_count // length * length
    return record.depth_m[:n].reshape(-1, length)


def test_share_of_wet_days(thousand: RainRecord) -> None:
    # pi = p01 / (1 + p01 - p11) = 0.285714 (WILKS_2011, ch. 9; arithmetic computed).
    n = thousand.days_count
    pi = 0.2 / (1.0 + 0.2 - 0.5)
    assert climate().wet_frac[0] == pytest.approx(0.285714, abs=5e-7)
    # Standard error of the share in a chain with r = p11 - p01: pi (1 - pi) (1 + r) / (1 - r) / n.
    error = (pi * (1.0 - pi) * 1.3 / 0.7 / n) ** 0.5
    assert abs((thousand.depth_m > 0).mean() - pi) < 4.0 * error


def test_wet_days_in_thirty_days(thousand: RainRecord) -> None:
    # Mean 8.5714 and variance 11.1204 for N = 30 (closed form, arithmetic computed).
    counts = (blocks(thousand, 30) > 0).sum(axis=1)
    assert abs(counts.mean() - 8.5714) < 4.0 * (11.1204 / len(counts)) ** 0.5
    # Standard error of a variance of a near-normal count: var * sqrt(2 / m).
    assert abs(counts.var() - 11.1204) < 4.0 * 11.1204 * (2.0 / len(counts)) ** 0.5


def test_mean_and_spread_of_thirty_days(thousand: RainRecord) -> None:
    # Mean 64.286 mm, standard deviation 35.614 mm (closed form, arithmetic computed).
    sums = blocks(thousand, 30).sum(axis=1) * 1e3
    m = len(sums)
    assert abs(sums.mean() - 64.286) < 4.0 * 35.614 / m**0.5
    # The sum is skewed, kurtosis k about 4: standard error of s is s / 2 * sqrt((k - 1) / m).
    assert abs(sums.std() - 35.614) < 4.0 * 35.614 / 2.0 * (3.0 / m) ** 0.5


def test_depth_of_wet_days(thousand: RainRecord) -> None:
    # Gamma with shape 0.75: mean 7.5 mm, variance mean**2 / shape = 75 mm2.
    wet = thousand.depth_m[thousand.depth_m > 0] * 1e3
    assert abs(wet.mean() - 7.5) < 4.0 * (75.0 / len(wet)) ** 0.5
    # Kurtosis of a gamma law is 3 + 6 / shape = 11.
    assert abs(wet.var() - 75.0) < 4.0 * 75.0 * (10.0 / len(wet)) ** 0.5


def test_dry_spells(thousand: RainRecord) -> None:
    # P(a dry spell lasts 10 days or more) = (1 - p01)**9 = 0.13422 (closed form).
    dry = (thousand.depth_m == 0).astype(np.int8)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dry, [0]))))
    lengths = edges[1::2] - edges[::2]
    share = (lengths >= 10).mean()
    assert abs(share - 0.13422) < 4.0 * (0.13422 * 0.86578 / len(lengths)) ** 0.5


def test_each_month_has_its_own_rain_and_temperature() -> None:
    months = climate(
        p01_frac=tuple(np.linspace(0.1, 0.4, 12)), wet_day_m=tuple(np.linspace(0.002, 0.010, 12))
    )
    record = generate(years=1000, seed=21, months=months, start=START)
    month = record.days.astype("datetime64[M]").astype(int) % 12
    assert record.tmin_degc is not None and record.tmax_degc is not None
    for m in range(12):
        days = record.depth_m[month == m]
        wet = days[days > 0]
        mean = months.wet_day_m[m]
        assert abs(wet.mean() - mean) < 4.5 * mean / (0.75 * len(wet)) ** 0.5
        # The month before still speaks in the first days of a month, so its middle is looked at.
        middle = record.days[month == m]
        inside = (middle - middle.astype("datetime64[M]")).astype(int) >= 10
        pi = months.wet_frac[m]
        r = months.p11_frac[m] - months.p01_frac[m]
        error = (pi * (1 - pi) * (1 + r) / (1 - r) / inside.sum()) ** 0.5
        assert abs((days[inside] > 0).mean() - pi) < 4.5 * error
        mid = (record.tmin_degc + record.tmax_degc)[month == m] / 2.0
        # Error of the mean of an AR(1) series with lag 0.7 and spread 3 degrees C; 0.05 degrees C
        # more for February, which lacks its last day in most years.
        assert (
            abs(mid.mean() - months.tmean_degc[m])
            < 0.05 + 4.5 * 3.0 * (1.7 / 0.3 / len(mid)) ** 0.5
        )
        width = (record.tmax_degc - record.tmin_degc)[month == m].mean()
        assert width == pytest.approx(months.trange_degc[m], abs=0.05)


def test_temperature_departures_have_the_stated_spread_and_lag(thousand: RainRecord) -> None:
    assert thousand.tmin_degc is not None and thousand.tmax_degc is not None
    mid = (thousand.tmin_degc + thousand.tmax_degc) / 2.0
    of_year = (thousand.days - thousand.days.astype("datetime64[Y]")).astype(int)
    mean = np.bincount(of_year, mid) / np.bincount(of_year)
    rest = mid - mean[of_year]
    n_free = len(rest) * (1 - 0.49) / (1 + 0.49)
    assert abs(rest.std() - 3.0) < 4.0 * 3.0 / (2.0 * n_free) ** 0.5 + 3.0 / 2000
    lag = float(np.corrcoef(rest[1:], rest[:-1])[0, 1])
    assert abs(lag - 0.7) < 4.0 * ((1 - 0.49) / len(rest)) ** 0.5 + 0.001


def test_invented_rain_says_so() -> None:
    record = generate(years=3, seed=5, months=climate(), start=np.datetime64("2004-03-01"))
    assert (record.kept == Kept.INVENTED).all() and record.invented
    assert "seed 5" in record.name and "invented" in record.source
    assert str(record.days[-1]) == "2007-02-28"
    assert "REC-115" in {f.code for f in assess(record)}
    again = generate(years=3, seed=5, months=climate(), start=np.datetime64("2004-03-01"))
    other = generate(years=3, seed=6, months=climate(), start=np.datetime64("2004-03-01"))
    assert record.hash == again.hash != other.hash


@pytest.mark.parametrize(
    "changes",
    [{"p01_frac": (1.2,) * 12}, {"gamma_shape": (0.0,) * 12}, {"wet_day_m": (7.5,) * 12},
     {"tmean_degc": (1.0,) * 11}, {"temp_sd_degc": -1.0}, {"temp_lag1_frac": 1.0},
     {"p11_frac": (float("nan"),) * 12}],
)  # fmt: skip
def test_climates_outside_their_limits(changes: dict[str, object]) -> None:
    with pytest.raises(RangeError, match="REC-023"):
        climate(**changes)


def test_unknown_generators_and_lengths() -> None:
    with pytest.raises(RangeError, match="REC-019"):
        generate(years=1, seed=1, months=climate(), start=START, method="guess")
    with pytest.raises(RangeError, match="REC-023"):
        generate(years=0, seed=1, months=climate(), start=START)


def test_climates_at_the_edge() -> None:
    never = generate(
        years=2, seed=1, months=climate(p01_frac=(0.0,) * 12, p11_frac=(0.0,) * 12), start=START
    )
    always = generate(
        years=2, seed=1, months=climate(p01_frac=(1.0,) * 12, p11_frac=(1.0,) * 12), start=START
    )
    assert not never.depth_m.any() and (always.depth_m > 0).all()

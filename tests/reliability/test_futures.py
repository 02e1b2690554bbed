"""Invented futures of a plan: the same by seed, in order, and as wide as what is known allows."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from network.build import (
    DATA,
    DAY_STEPS,
    PLAIN_ROOF,
    pipe,
    plan_of,
    record_of,
    tank,
    use,
)
from roofspring.errors import RangeError, RecordError
from roofspring.network.events import short_days
from roofspring.network.simulate import simulate
from roofspring.rain import RainRecord, read
from roofspring.rain.futures import MonthlyNormals, ensemble, model_named
from roofspring.reliability.answer import Band, Futures
from roofspring.reliability.doubt import whole_years
from roofspring.reliability.futures import default_model, fitted_futures, run_futures

PLAN = plan_of(
    DAY_STEPS,
    PLAIN_ROOF,
    tank("a", volume_m3=3.0, start=0.5),
    pipe("p", "r", "a"),
    use("u", "a", "180 L/day"),
)


@cache
def brussels() -> RainRecord:
    return read(DATA / "brussels_daily_1976_2005.csv")


@cache
def few(seed: int = 1, members: int = 8) -> Futures:
    return fitted_futures(PLAN, brussels(), members=members, model="markov-1-gamma", seed=seed)


def bands(futures: Futures) -> tuple[Band, Band, Band]:
    return futures.served_frac, futures.days_short_per_year, futures.short_years_frac


def test_a_seed_gives_the_same_futures() -> None:
    again = fitted_futures(PLAN, brussels(), members=8, model="markov-1-gamma", seed=1)
    assert again == few()
    assert bands(few(seed=2)) != bands(few())


def test_bands_are_in_order_and_within_what_can_be() -> None:
    futures = few()
    for band in bands(futures):
        assert band.p05 <= band.p50 <= band.p95
    assert futures.served_frac.p05 < futures.served_frac.p95
    assert futures.served_frac.p05 >= 0.0 and futures.served_frac.p95 <= 1.0
    assert 0.0 <= futures.days_short_per_year.p05 <= futures.days_short_per_year.p95 <= 365.25
    assert 0.0 <= futures.short_years_frac.p05 <= futures.short_years_frac.p95 <= 1.0
    assert (futures.members, futures.years, futures.seed) == (8, 30, 1)


def test_bands_are_percentiles_of_runs_made_one_by_one() -> None:
    """The members again, each run by itself."""
    fitted = model_named("markov-1-gamma").fit(brussels())
    served, days, years = [], [], []
    for record in ensemble(fitted, members=8, years=30, seed=1):
        result = simulate(PLAN, record)
        short = np.asarray(short_days(result).any(axis=1))
        served.append(result.delivered_m3.sum() / result.wanted_m3.sum())
        days.append(short.sum() / (record.days_count / 365.25))
        years.append(np.mean([short[mask].any() for mask in whole_years(result)]))
    for band, values in zip(bands(few()), (served, days, years), strict=True):
        got = (band.p05, band.p50, band.p95)
        assert got == pytest.approx(tuple(np.percentile(values, [5, 50, 95])), rel=1e-12)


def test_years_that_are_all_alike_give_the_answer_of_that_year() -> None:
    """Drawing whole years in another order changes nothing when every year is the same one."""
    year_mm = 1000.0 * brussels().depth_m[365 + 365 + 1 :][:365]  # 1978
    leap_mm = np.insert(year_mm, 59, year_mm[58])  # 29 February has the rain of the 28th
    record = record_of(np.concatenate([year_mm, year_mm, year_mm, leap_mm]), start="2001-01-01")
    assert record.days_count == 1461
    result = simulate(PLAN, record)
    served = result.delivered_m3.sum() / result.wanted_m3.sum()
    short = np.asarray(short_days(result).any(axis=1))
    assert 0.3 < served < 0.99 and short.any()
    futures = fitted_futures(PLAN, record, members=6, model="whole-years", seed=3)
    for band, value in zip(
        bands(futures), (served, short.sum() / (1461 / 365.25), 1.0), strict=True
    ):
        assert (band.p05, band.p50, band.p95) == pytest.approx((value,) * 3, rel=1e-12)


def test_normals_are_wider_than_a_fitted_record() -> None:
    """Thirty years tell more than twenty-four numbers: the same place, known better and worse."""
    normals = MonthlyNormals.of_record(brussels())
    wide = run_futures(PLAN, normals.model(), name="monthly normals", members=60, years=30, seed=1)
    fitted = few(members=60)
    for loose, tight in zip(bands(wide)[:2], bands(fitted)[:2], strict=True):
        assert loose.p95 - loose.p05 > 1.5 * (tight.p95 - tight.p05)
        assert loose.p05 < tight.p50 < loose.p95
    assert wide.acceptance == ""
    assert "REC-157" in {f.code for f in wide.findings}


def test_the_record_lies_in_the_band_of_its_own_years() -> None:
    result = simulate(PLAN, brussels())
    served = float(result.delivered_m3.sum() / result.wanted_m3.sum())
    band = fitted_futures(PLAN, brussels(), members=30, seed=1).served_frac
    assert band.p05 < served < band.p95


def test_words() -> None:
    futures = few()
    assert futures.acceptance.startswith("Held against the record, markov-1-gamma fails on ")
    served, days = futures.served_frac, futures.days_short_per_year
    assert futures.sentence == (
        f"In 8 invented futures of 30 years (markov-1-gamma), {100 * served.p50:.0f} % of the "
        f"water wanted was delivered (90 % of them: {100 * served.p05:.0f} to "
        f"{100 * served.p95:.0f} %), and something ran short on {days.p50:.0f} days a year "
        f"({days.p05:.0f} to {days.p95:.0f})."
    )


def test_one_member_is_its_own_band() -> None:
    futures = few(members=1)
    for band in bands(futures):
        assert band.p05 == band.p50 == band.p95
    assert futures.sentence.startswith("In 1 invented future of 30 years (markov-1-gamma), ")
    # One year is too short to judge a model by, and not too short to ask what it would make.
    year = fitted_futures(
        PLAN, record_of(1000.0 * brussels().depth_m[:365]), members=1, model="markov-1-gamma"
    )
    assert year.sentence.startswith("In 1 invented future of 1 year (")
    assert year.acceptance.startswith("Not held against the record")
    assert "REC-151" in {f.code for f in year.findings}


@pytest.mark.parametrize(
    ("days", "model"), [(9 * 365, "markov-1-gamma"), (10 * 366, "whole-years")]
)
def test_few_years_take_a_chain_and_many_are_drawn_again(days: int, model: str) -> None:
    record = record_of(1000.0 * brussels().depth_m[:days])
    assert default_model(record) == model
    assert fitted_futures(PLAN, record, members=1).model == model


def test_what_cannot_be_made() -> None:
    with pytest.raises(RangeError, match="REC-019"):
        fitted_futures(PLAN, brussels(), members=1, model="guess")
    with pytest.raises(RangeError, match="REC-064"):
        fitted_futures(PLAN, brussels(), members=0)
    with pytest.raises(RecordError, match="REC-060"):
        fitted_futures(PLAN, record_of(np.ones(30)), members=1)

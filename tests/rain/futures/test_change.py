"""A changed climate: what must stay, and what must become what was stated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.futures.records import record
from roofspring.errors import RangeError
from roofspring.rain import Kept, RainRecord
from roofspring.rain.futures import ChangeFactor, MarkovModel, acceptance

twelve = st.lists(st.floats(0.1, 3.0), min_size=12, max_size=12).map(tuple)
fewer = st.lists(st.floats(0.1, 1.0), min_size=12, max_size=12).map(tuple)
levels = st.lists(
    st.tuples(st.floats(0.0, 1.0), st.floats(0.1, 4.0)),
    min_size=1, max_size=5, unique_by=lambda pair: pair[0],
).map(lambda pairs: tuple(sorted(pairs)))  # fmt: skip


def month_of(rain: RainRecord) -> np.ndarray:
    return rain.days.astype("datetime64[M]").astype(int) % 12


def sums(rain: RainRecord) -> np.ndarray:
    return np.bincount(month_of(rain), rain.daily_depth_m, 12)


@given(seed=st.integers(0, 99), words=st.text(max_size=10))
@settings(max_examples=10, deadline=None)
def test_a_factor_of_one_changes_no_depth(seed: int, words: str) -> None:
    gauge = record("seattle")
    same = ChangeFactor(words=words).apply(gauge, seed=seed)
    np.testing.assert_array_equal(same.depth_m, gauge.depth_m)
    level = ChangeFactor(quantiles=((0.2, 1.5), (0.9, 1.5))).apply(gauge, seed=seed)
    np.testing.assert_array_equal(level.depth_m, gauge.depth_m)
    # But it is marked all the same.
    assert same.invented and (same.kept == Kept.INVENTED).all()


@given(rain=twelve, quantiles=levels, seed=st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_sums_change_by_the_factor_and_zeros_stay(
    rain: tuple[float, ...], quantiles: tuple[tuple[float, float], ...], seed: int
) -> None:
    gauge = record("seattle")
    changed = ChangeFactor(rain=rain, quantiles=quantiles).apply(gauge, seed=seed)
    assert sums(changed) == pytest.approx(sums(gauge) * np.array(rain), rel=1e-9)
    np.testing.assert_array_equal(changed.depth_m == 0.0, gauge.depth_m == 0.0)
    # More stays more within each month: no day overtakes another.
    for m in range(12):
        at = month_of(gauge) == m
        order = np.argsort(gauge.depth_m[at], kind="stable")
        mapped = changed.depth_m[at][order]
        assert (np.diff(mapped) >= -1e-12 * mapped.max()).all()


@given(rain=twelve, wet_days=twelve, seed=st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_wet_days_change_by_their_factor(
    rain: tuple[float, ...], wet_days: tuple[float, ...], seed: int
) -> None:
    gauge = record("seattle")
    changed = ChangeFactor(rain=rain, wet_days=wet_days).apply(gauge, seed=seed)
    assert sums(changed) == pytest.approx(sums(gauge) * np.array(rain), rel=1e-9)
    month = month_of(gauge)
    before = np.bincount(month, gauge.depth_m >= 0.00025, 12)
    after = np.bincount(month, changed.depth_m > 0.0, 12)
    all_days = np.bincount(month)
    wanted = np.minimum(before * np.array(wet_days), all_days)
    # Days are whole, and at least one stays.
    assert (np.abs(after - np.maximum(wanted, 1.0)) <= 0.5 + 1e-9).all()


@given(wet_days=fewer, seed=st.integers(0, 99))
@settings(max_examples=20, deadline=None)
def test_fewer_wet_days_are_wet_days_that_were(wet_days: tuple[float, ...], seed: int) -> None:
    gauge = record("seattle")
    changed = ChangeFactor(wet_days=wet_days).apply(gauge, seed=seed)
    assert not (changed.depth_m[gauge.depth_m == 0.0] > 0.0).any()


def test_more_wet_days_come_beside_wet_days() -> None:
    gauge = record("seattle")
    changed = ChangeFactor(wet_days=(1.1,) * 12).apply(gauge, seed=1)
    new = np.flatnonzero((changed.depth_m > 0.0) & (gauge.depth_m == 0.0))
    wet = gauge.depth_m >= 0.00025
    beside = np.roll(wet, 1) | np.roll(wet, -1)
    assert len(new) > 20 and beside[new].all()


def test_a_stormier_climate_has_greater_storms_and_the_same_sum() -> None:
    gauge = record("brussels")
    stormy = ChangeFactor(quantiles=((0.5, 0.8), (0.99, 1.4)), words="an example").apply(
        gauge, seed=1
    )
    assert stormy.depth_m.sum() == pytest.approx(gauge.depth_m.sum(), rel=1e-12)
    top = np.argsort(gauge.depth_m)[-30:]
    # Times 1.4 at the top, and then less so that the sum stays: still more than before.
    assert (stormy.depth_m[top] > 1.1 * gauge.depth_m[top]).all()
    wet = gauge.depth_m[gauge.depth_m > 0.0]
    small = np.argsort(np.where(gauge.depth_m > 0.0, gauge.depth_m, 9.0))[: len(wet) // 4]
    assert (stormy.depth_m[small] < gauge.depth_m[small]).all()


def test_words_and_marks() -> None:
    gauge = record("seattle")
    drier = ChangeFactor.by_season(rain=(1.0, 0.9, 0.6, 0.8), words="a drier summer")
    assert drier.rain == (1.0, 1.0, 0.9, 0.9, 0.9, 0.6, 0.6, 0.6, 0.8, 0.8, 0.8, 1.0)
    changed = drier.apply(gauge, seed=1)
    assert "a drier summer" in changed.name and "a drier summer" in changed.source
    assert changed.tmin_degc is gauge.tmin_degc
    (finding,) = (f for f in changed.findings if f.code == "REC-156")
    assert "not a forecast" in finding.what and "0.6 to 1" in finding.got
    assert drier.to_dict()["words"] == "a drier summer"


def test_hours_keep_their_shares() -> None:
    gauge = record("seattle")
    share = np.zeros(24)
    share[[2, 9, 20]] = 0.5, 0.3, 0.2
    depth = np.outer(gauge.depth_m[:1461], share).ravel()
    hourly = replace(gauge, step_s=3600.0, depth_m=depth, kept=np.zeros(len(depth), dtype=np.uint8))
    changed = ChangeFactor(rain=(0.7,) * 12, wet_days=(1.2,) * 12).apply(hourly, seed=1)
    table = changed.depth_m.reshape(-1, 24)
    wet = table.sum(axis=1) > 0.0
    assert wet.sum() > (gauge.depth_m > 0.0).sum()
    assert table[wet] / table[wet].sum(axis=1, keepdims=True) == pytest.approx(
        np.tile(share, (int(wet.sum()), 1)), abs=1e-12
    )


def test_a_changed_model_changes_each_record() -> None:
    gauge = record("brussels")
    plain = MarkovModel().fit(gauge)
    change = ChangeFactor.by_season(rain=(1.0, 1.0, 0.5, 1.0), words="half the summer rain")
    changed = change.model(plain)
    before, after = plain.simulate(years=50, seed=3), changed.simulate(years=50, seed=3)
    assert sums(after) == pytest.approx(sums(before) * np.array(change.rain), rel=1e-9)
    table = acceptance(gauge, changed, members=60, seed=1)
    for month in ("June", "July", "August"):
        assert not table.row("monthly mean", month=month).inside
    assert table.row("monthly mean", month="January").inside
    assert "half the summer rain" in table.model


@pytest.mark.parametrize(
    "changes",
    [{"rain": (1.0,) * 11}, {"rain": (-0.1,) * 12}, {"rain": (90.0,) * 12},
     {"wet_days": (0.0,) * 12}, {"wet_days": (float("nan"),) * 12},
     {"quantiles": ((0.9, 1.0), (0.5, 1.0))}, {"quantiles": ((1.5, 1.0),)},
     {"quantiles": ((0.5, 0.0),)}, {"quantiles": ((0.5, 1.0), (0.5, 2.0))}],
)  # fmt: skip
def test_factors_outside_their_limits(changes: dict[str, object]) -> None:
    with pytest.raises(RangeError, match="REC-065"):
        ChangeFactor(**changes)  # type: ignore[arg-type]  # wrong on purpose

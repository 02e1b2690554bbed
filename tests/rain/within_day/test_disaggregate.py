"""Days cut into short steps: sums, marks, seeds, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.within_day.records import record_of
from roofspring.errors import RangeError, RecordError
from roofspring.rain import Block, Kept
from roofspring.rain.within_day import (
    DEFAULT_CASCADE,
    DEFAULT_PULSES,
    METHODS,
    WITHIN_DAY,
    disaggregate,
)
from roofspring.rain.within_day._sums import close_sums

DEPTHS = st.lists(st.one_of(st.just(0.0), st.floats(1e-5, 1.8)), min_size=1, max_size=30)


@settings(max_examples=60)
@given(
    days=DEPTHS,
    name=st.sampled_from(sorted(METHODS)),
    step_s=st.sampled_from([60.0, 300.0, 900.0, 3600.0, 43_200.0]),
    seed=st.integers(0, 2**31),
)
def test_every_day_keeps_its_sum(days: list[float], name: str, step_s: float, seed: int) -> None:
    record = record_of(days)
    fine = disaggregate(record, method=name, step_s=step_s, seed=seed)
    assert fine.steps_per_day_count == 86_400 / step_s and fine.days_count == len(days)
    assert (fine.depth_m >= 0.0).all()
    # A sum of n terms is itself rounded: 1e-15 is about four units of the last place.
    assert fine.daily_depth_m == pytest.approx(record.depth_m, rel=1e-15, abs=0.0)


def test_what_rounding_leaves_over_is_put_back() -> None:
    # Scaled parts alone add up to the total in about half of all rows; the rest is put back.
    rng = np.random.default_rng(6)
    parts, totals = rng.random((4000, 288)), rng.random(4000)
    exact = close_sums(parts, totals).sum(axis=1) == totals
    plain = (parts * (totals / parts.sum(axis=1))[:, None]).sum(axis=1) == totals
    assert plain.mean() < 0.7 < 0.85 < exact.mean()


@pytest.mark.parametrize("name", sorted(METHODS))
def test_same_seed_same_rain(name: str) -> None:
    record = record_of([0.0, 0.010, 0.030, 0.0, 0.002])
    one, same, other = (disaggregate(record, method=name, seed=s) for s in (1, 1, 2))
    assert np.array_equal(one.depth_m, same.depth_m)
    assert np.array_equal(one.depth_m, other.depth_m) == (name in WITHIN_DAY)


def test_marks_history_and_temperature_are_kept() -> None:
    record = replace(
        record_of([0.010, 0.0, 0.004, 0.004, 0.0]),
        kept=np.array(
            [Kept.MEASURED, Kept.MEASURED, Kept.FILLED, Kept.INVENTED, Kept.TRACE], dtype=np.uint8
        ),
        tmin_degc=np.zeros(5),
        tmax_degc=np.ones(5),
    )
    fine = disaggregate(record, seed=7)
    by_day = fine.kept.reshape(5, 288)
    assert [sorted(set(day.tolist())) for day in by_day] == [
        [Kept.SPREAD], [Kept.MEASURED], [Kept.FILLED], [Kept.INVENTED], [Kept.TRACE],
    ]  # fmt: skip
    assert fine.source == "test; within the day by cascade, seed 7"
    assert fine.tmin_degc is record.tmin_degc and fine.days.tolist() == record.days.tolist()
    assert [(f.code, f.severity) for f in fine.findings] == [
        ("REC-170", "note"), ("REC-171", "caution"),
    ]  # fmt: skip


def test_a_fixed_pattern_falls_where_it_says() -> None:
    fine = disaggregate(record_of([0.012]), method=Block(length_hours=3, end_hour=15), seed=0)
    assert np.flatnonzero(fine.depth_m).tolist() == list(range(12 * 12, 15 * 12))
    assert fine.depth_m[144:180] == pytest.approx(0.012 / 36, rel=1e-12)


def test_the_cascade_also_cuts_hours() -> None:
    record = record_of([0.0, 0.004, 0.010, 0.0] * 6, step_s=3600.0)
    fine = disaggregate(record, seed=3)
    assert fine.depth_m.reshape(24, 12).sum(axis=1) == pytest.approx(record.depth_m, rel=1e-15)
    with pytest.raises(RecordError, match="REC-081"):
        disaggregate(record, method="type2", seed=3)


def test_refusals() -> None:
    record = record_of([0.010, 0.0])
    with pytest.raises(RangeError, match="REC-019"):
        disaggregate(record, method="triangle", seed=0)
    with pytest.raises(RecordError, match="REC-081"):
        disaggregate(record, step_s=7 * 60.0, seed=0)
    with pytest.raises(RecordError, match="REC-081"):
        disaggregate(record, step_s=86_400.0, seed=0)
    with pytest.raises(RangeError, match="REC-082"):
        disaggregate(record, step_s=30.0, seed=0)
    for method in ("cascade", "even"):
        with pytest.raises(RangeError, match="REC-082"):
            disaggregate(record, method=method, parameters=DEFAULT_PULSES, seed=0)
    with pytest.raises(RangeError, match="REC-082"):
        disaggregate(record, method="pulses", parameters=DEFAULT_CASCADE, seed=0)
    with pytest.raises(RecordError, match="REC-080"):
        disaggregate(record_of([0.010, np.nan]), seed=0)

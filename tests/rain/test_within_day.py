"""Spreading a day over its hours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.rain import WITHIN_DAY, Block, hour_weights, spread_days
from roofspring.rain.within_day import TypeTwo


@pytest.mark.parametrize(
    ("hour", "share"), [(0.0, 0.0), (6.0, 0.0801), (11.5, 0.2804), (12.0, 0.5), (12.5, 0.7196),
                        (18.0, 0.9199), (24.0, 1.0)],
)  # fmt: skip
def test_type_two_closed_form(hour: float, share: float) -> None:
    # HAAN_1994, closed form read; the shares are arithmetic from it, made elsewhere.
    got = TypeTwo().cumulative_frac(np.array([hour]))[0]
    assert got == pytest.approx(share, abs=5.0001e-5)


@pytest.mark.parametrize("name", WITHIN_DAY)
def test_weights_of_every_pattern(name: str) -> None:
    weights = hour_weights(name)
    assert weights.shape == (24,) and (weights >= 0.0).all()
    assert weights.sum() == pytest.approx(1.0, abs=1e-15)


@given(length=st.integers(1, 24), data=st.data())
def test_blocks(length: int, data: st.DataObject) -> None:
    end = data.draw(st.integers(length, 24))
    weights = hour_weights(Block(length_hours=length, end_hour=end))
    assert weights.sum() == pytest.approx(1.0, abs=1e-14)
    assert np.flatnonzero(weights).tolist() == list(range(end - length, end))


def test_type_two_is_symmetric_and_peaks_at_noon() -> None:
    weights = hour_weights("type2")
    assert weights == pytest.approx(weights[::-1], abs=1e-15)
    assert set(np.argsort(weights)[-2:].tolist()) == {11, 12}


@given(
    days=st.lists(st.floats(0.0, 1.8), min_size=1, max_size=20),
    name=st.sampled_from(sorted(WITHIN_DAY)),
)
def test_days_keep_their_sums(days: list[float], name: str) -> None:
    hourly = spread_days(np.array(days), pattern=name)
    assert hourly.reshape(-1, 24).sum(axis=1) == pytest.approx(days, rel=1e-13)


def test_refusals() -> None:
    with pytest.raises(RangeError, match="REC-019"):
        hour_weights("triangle")
    with pytest.raises(RangeError, match="REC-022"):
        Block(length_hours=6, end_hour=4)

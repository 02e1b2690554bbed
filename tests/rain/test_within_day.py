"""Fixed patterns of rain within a day."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofspring.errors import RangeError
from roofspring.rain import WITHIN_DAY, Block
from roofspring.rain.within_day import TypeTwo

HOURS = np.arange(25.0)


@pytest.mark.parametrize(
    ("hour", "share"), [(0.0, 0.0), (6.0, 0.0801), (11.5, 0.2804), (12.0, 0.5), (12.5, 0.7196),
                        (18.0, 0.9199), (24.0, 1.0)],
)  # fmt: skip
def test_type_two_closed_form(hour: float, share: float) -> None:
    # HAAN_1994, closed form read; the shares are arithmetic from it, made elsewhere.
    got = TypeTwo().cumulative_frac(np.array([hour]))[0]
    assert got == pytest.approx(share, abs=5.0001e-5)


@pytest.mark.parametrize("name", WITHIN_DAY)
def test_every_pattern_rises_from_nothing_to_all(name: str) -> None:
    share = WITHIN_DAY[name].cumulative_frac(HOURS)
    assert (np.diff(share) >= 0.0).all()
    assert share[[0, -1]].tolist() == pytest.approx([0.0, 1.0], abs=1e-15)


@given(length=st.integers(1, 24), data=st.data())
def test_blocks(length: int, data: st.DataObject) -> None:
    end = data.draw(st.integers(length, 24))
    hourly = np.diff(Block(length_hours=length, end_hour=end).cumulative_frac(HOURS))
    assert np.flatnonzero(hourly).tolist() == list(range(end - length, end))
    assert hourly[end - length : end] == pytest.approx(1.0 / length, rel=1e-12)


def test_type_two_is_symmetric_and_peaks_at_noon() -> None:
    hourly = np.diff(TypeTwo().cumulative_frac(HOURS))
    assert hourly == pytest.approx(hourly[::-1], abs=1e-15)
    assert set(np.argsort(hourly)[-2:].tolist()) == {11, 12}


def test_a_block_outside_the_day_is_refused() -> None:
    with pytest.raises(RangeError, match="REC-022"):
        Block(length_hours=6, end_hour=4)

"""The grading curve: what is read off it, and that nothing is read beyond it."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from roofspring.errors import RangeError, SieveError
from roofspring.sandfilter.sieve import (
    GradingCurve,
    log_probability_size_m,
    mixed,
    neighbours,
    parse_opening,
    series,
    sieve_name,
    standard_sieves,
)
from sand.sands import curves, lognormal

shares = st.floats(0.001, 0.999)


@given(curve=curves(), share=shares)
@settings(deadline=None)
def test_a_size_is_read_between_its_sieves_or_not_at_all(curve: GradingCurve, share: float) -> None:
    found = curve.size(share)
    if found.size_m is None:
        assert not curve.passing_frac[0] < share < curve.passing_frac[-1]
        assert (found.least_m is None) != (found.most_m is None)
        return
    assert found.least_m is not None and found.most_m is not None
    assert found.least_m * (1 - 1e-12) <= found.size_m <= found.most_m * (1 + 1e-12)
    least, most = curve.passing(found.size_m)
    # A flat stretch has many sizes; the finest is given. Near a sieve the last digit may slip.
    assert least <= share + 1e-9
    assert most >= share - 1e-9


@given(curve=curves(), a=shares, b=shares)
@settings(deadline=None)
def test_sizes_rise_with_the_share(curve: GradingCurve, a: float, b: float) -> None:
    low, high = (curve.size(s).size_m for s in sorted((a, b)))
    if low is not None and high is not None:
        assert low <= high * (1 + 1e-12)


@given(curve=curves(), size_m=st.floats(1e-5, 0.1))
@settings(deadline=None)
def test_what_passes_is_known_on_the_curve_only(curve: GradingCurve, size_m: float) -> None:
    least, most = curve.passing(size_m)
    assert 0.0 <= least <= most <= 1.0
    if size_m < curve.sizes_m[0]:
        assert (least, most) == (0.0, curve.passing_frac[0])
    elif size_m > curve.sizes_m[-1]:
        assert (least, most) == (curve.passing_frac[-1], 1.0)
    else:
        assert least == most


@given(curve=curves(), factor=st.floats(0.5, 2.0))
@settings(deadline=None)
def test_a_sand_scaled_in_size_has_its_sizes_scaled(curve: GradingCurve, factor: float) -> None:
    scaled = GradingCurve(tuple(d * factor for d in curve.sizes_m), curve.passing_frac)
    for share in (0.10, 0.60):
        ours, theirs = curve.size(share).size_m, scaled.size(share).size_m
        if ours is not None and theirs is not None:
            assert theirs == pytest.approx(ours * factor, rel=1e-9)
    # The sum of Fair and Hatch goes with the inverse square of size.
    if curve.passing_frac[-1] > curve.passing_frac[0]:
        assert scaled.fair_hatch_per_m2() * factor**2 == pytest.approx(
            curve.fair_hatch_per_m2(), rel=1e-9
        )


@given(curve=curves(), low=st.floats(0.0, 0.9), width=st.floats(0.05, 1.0))
@settings(deadline=None)
def test_a_trimmed_curve_is_the_middle_of_the_old_one(
    curve: GradingCurve, low: float, width: float
) -> None:
    high = min(1.0, low + width)
    assume(high - low > 0.01)
    try:
        left = curve.trimmed(low, high_frac=high)
    except RangeError:
        return  # nothing of it lies on the sieves
    for share in (0.2, 0.5, 0.8):
        ours, theirs = left.size(share).size_m, curve.size(low + share * (high - low)).size_m
        if ours is not None and theirs is not None:
            at_ours = curve.passing(ours)[0]
            assert at_ours == pytest.approx(low + share * (high - low), abs=1e-6)


@given(one=curves(), two=curves(), part=st.floats(0.01, 0.99))
@settings(deadline=None)
def test_a_mix_lies_between_its_parts(one: GradingCurve, two: GradingCurve, part: float) -> None:
    try:
        blend = mixed([one, two], [part, 1.0 - part])
    except RangeError:
        return  # no two sizes in common
    for size_m, share in zip(blend.sizes_m, blend.passing_frac, strict=True):
        low, high = sorted((one.passing(size_m)[0], two.passing(size_m)[0]))
        assert low - 1e-9 <= share <= high + 1e-9


def test_one_class_has_the_sum_of_its_mean_size() -> None:
    curve = GradingCurve((1e-4, 4e-4), (0.0, 1.0))
    assert curve.fair_hatch_per_m2() == pytest.approx(1.0 / (2e-4) ** 2)  # geometric mean 0.2 mm


@pytest.mark.parametrize("uniformity", [1.5, 2.0, 3.0])
def test_on_log_probability_paper_a_lognormal_sand_is_straight(uniformity: float) -> None:
    # Closed form: ln d is normal, so d50 = d10 UC**0.835 and d90 = d10 UC**1.670.
    curve = lognormal(0.25e-3, uniformity)
    assert log_probability_size_m(curve, 0.5) == pytest.approx(
        0.25e-3 * uniformity**0.835, rel=1e-3
    )
    assert log_probability_size_m(curve, 0.9) == pytest.approx(
        0.25e-3 * uniformity**1.670, rel=1e-3
    )
    assert curve.size(0.5).size_m == pytest.approx(0.25e-3 * uniformity**0.835, rel=1e-3)


@pytest.mark.parametrize(
    ("sizes", "passing"),
    [
        ((1e-4,), (0.5,)),
        ((2e-4, 1e-4), (0.1, 0.5)),
        ((1e-4, 2e-4), (0.5, 0.1)),
        ((1e-4, 2e-4), (0.5, 1.1)),
        ((1e-4, 2e-4), (-0.1, 1.0)),
        ((0.0, 2e-4), (0.1, 1.0)),
        ((1e-4, math.nan), (0.1, 1.0)),
        ((1e-4, 2e-4, 3e-4), (0.1, 1.0)),
    ],
)
def test_what_is_no_curve_is_refused(sizes: tuple[float, ...], passing: tuple[float, ...]) -> None:
    with pytest.raises(RangeError, match="SIV-020"):
        GradingCurve(sizes, passing)


def test_the_table_of_sieves_is_that_of_a_geometric_series() -> None:
    # ISO 565, R 20/3: each opening is the one before over 10**(3/20), rounded in the standard.
    main = [s.opening_m for s in standard_sieves() if s.iso == "R 20/3"]
    for coarse, fine in itertools.pairwise(main):
        assert coarse / fine == pytest.approx(10 ** (3 / 20), rel=0.025)
    everything = [s.opening_m for s in standard_sieves()]
    assert everything == sorted(set(everything), reverse=True)
    numbers = [s.astm for s in standard_sieves() if s.astm]
    assert len(numbers) == len(set(numbers))
    assert set(series("iso")) <= set(everything)


@pytest.mark.parametrize(
    ("text", "unit", "size_m"),
    [
        ("0.600 mm", "", 0.6e-3),
        ("600 um", "", 0.6e-3),
        ("600 µm", "", 0.6e-3),
        ("No. 30", "", 0.6e-3),
        ("#30", "", 0.6e-3),
        ("no 30", "", 0.6e-3),
        ("30", "No.", 0.6e-3),
        ("0.6", "mm", 0.6e-3),
        ("600", "um", 0.6e-3),
        ("3/8 in", "", 9.525e-3),  # 0.375 in of 25.4 mm, exact: the inch itself, not the sieve
        ("No. 3 1/2", "", 5.6e-3),
    ],
)
def test_names_of_sieves(text: str, unit: str, size_m: float) -> None:
    assert parse_opening(text, unit=unit) == pytest.approx(size_m, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "code"),
    [("0.6", "SIV-004"), ("30", "SIV-004"), ("No. 31", "SIV-004"), ("0.6 kg", "SIV-004"),
     ("", "SIV-004"), ("0,6 mm", "SIV-004"), ("600 mm", "SIV-016"), ("0.6 m", "SIV-016"),
     ("-0.3 mm", "SIV-016"), ("1 um", "SIV-016")],
)  # fmt: skip
def test_what_is_no_sieve_is_refused(text: str, code: str) -> None:
    with pytest.raises(SieveError, match=code):
        parse_opening(text)


def test_the_sieves_beside_a_size() -> None:
    astm = series("astm")
    assert neighbours(0.22e-3, astm) == (0.212e-3, 0.25e-3)
    assert neighbours(0.2121e-3, astm) == (0.212e-3,)
    assert neighbours(1e-6, astm) == (20e-6,)
    assert sieve_name(0.21e-3) == "0.21 mm"  # not a sieve of the standard

"""Cuts, washing and blends: the answer is put back into the curve and must come out again."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from roofspring.errors import RangeError, SieveError
from roofspring.sandfilter.sieve import GradingCurve, criteria, mixed, series
from roofspring.sandfilter.stock import (
    Stock,
    Wanted,
    blend,
    real_cuts,
    sand_to_buy,
    settling_velocity,
    split_stock,
    wanted_sand,
    washing,
    widest_cut,
)
from roofspring.water import density_kg_per_m3, viscosity_pa_s
from sand.sands import curves, lognormal

WIDE = Wanted(0.25e-3, 2.0, 0.15e-3, 0.35e-3, 3.0)


def goal(d10_mm: float, uniformity: float) -> Wanted:
    return wanted_sand(d10_mm / 1e3, uniformity=uniformity, chosen=criteria()["ten-states"])


@given(curve=curves(), d10_mm=st.floats(0.1, 0.6), uniformity=st.floats(1.2, 4.0))
@settings(deadline=None)
def test_a_trimmed_curve_returns_its_target(
    curve: GradingCurve, d10_mm: float, uniformity: float
) -> None:
    wanted = goal(d10_mm, uniformity)
    split = split_stock(curve, wanted=wanted)
    if split is None:
        bounds = [curve.passing(s) for s in (wanted.d10_m, wanted.d60_m)]
        assert any(a != b for a, b in bounds)
        return
    shares = (split.usable_frac, split.too_fine_frac, split.too_coarse_frac)
    assert sum(shares) == pytest.approx(1.0)
    if split.curve is None:
        assert split.lack and min(shares) < 1e-6
        return
    assert all(-1e-9 <= s <= 1.0 + 1e-9 for s in shares)
    for share, size_m in ((0.10, wanted.d10_m), (0.60, wanted.d60_m)):
        assert split.curve.passing(size_m)[0] == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize(
    ("stock", "lack"),
    [
        (lognormal(0.35e-3, 1.3), "too few fine grains"),
        (GradingCurve((0.1e-3, 0.25e-3, 0.5e-3, 0.6e-3), (0.0, 0.05, 0.9, 1.0)), "too few"),
        (GradingCurve((0.1e-3, 0.2e-3, 0.6e-3, 1e-3), (0.0, 0.5, 0.5, 1.0)), "no grains between"),
    ],
)
def test_a_stock_that_lacks_something_is_said(stock: GradingCurve, lack: str) -> None:
    split = split_stock(stock, wanted=goal(0.25, 2.0))
    assert split is not None and split.curve is None
    assert lack in split.lack


@given(curve=curves())
@settings(deadline=None)
def test_the_widest_cut_lies_in_the_band_and_is_no_narrower_than_the_exact_one(
    curve: GradingCurve,
) -> None:
    found = widest_cut(curve, wanted=WIDE)
    exact = split_stock(curve, wanted=WIDE)
    if found is None:
        return
    assert found.curve is not None
    d10, even = found.curve.size(0.10).size_m, found.curve.uniformity
    assert d10 is not None and even is not None
    # A flat stretch of the curve has no one size: there the grid and the curve read differently.
    assume(np.diff(curve.passing_frac).min() > 1e-3)
    assert WIDE.d10_low_m * (1 - 1e-6) <= d10 <= WIDE.d10_high_m * (1 + 1e-6)
    assert even <= WIDE.uniformity_most * (1 + 1e-6)
    if exact is not None and exact.curve is not None:
        assert found.usable_frac >= exact.usable_frac - 2.0 / 240.0


def test_a_sand_within_the_limits_needs_no_cut() -> None:
    found = widest_cut(lognormal(0.25e-3, 2.0), wanted=WIDE)
    assert found is not None
    assert found.usable_frac == pytest.approx(1.0, abs=0.01)


def test_real_sieves_stand_on_both_sides_of_the_cuts() -> None:
    curve = lognormal(0.2e-3, 4.0)
    found = real_cuts(curve, cuts_m=(0.22e-3, 1.05e-3), openings_m=series("astm"))
    assert {c.fine_m for c in found} == {0.212e-3, 0.25e-3}
    assert {c.coarse_m for c in found} == {1.0e-3, 1.18e-3}
    for cut in found:
        assert cut.fine_m is not None and cut.coarse_m is not None
        low, high = curve.passing(cut.fine_m)[0], curve.passing(cut.coarse_m)[0]
        assert cut.usable_frac == pytest.approx(high - low)
        assert cut.curve.passing_frac[0] == pytest.approx(0.0)
    # Nearest first, on the logarithm: 0.212 and 1.0 are nearer than 0.25 and 1.18.
    assert (found[0].fine_m, found[0].coarse_m) == (0.212e-3, 1.0e-3)
    only = real_cuts(curve, cuts_m=(None, 1.05e-3), openings_m=series("astm"))
    assert {c.fine_m for c in only} == {None}


@pytest.mark.parametrize("grain_mm", [0.02, 0.075, 0.1, 0.2, 0.5, 1.0])
@pytest.mark.parametrize("temp_degc", [2.0, 20.0])
def test_settling_against_a_reference_library(grain_mm: float, temp_degc: float) -> None:
    # Another fit to the same experiments (its default drag law): within 5 %.
    theirs = fluids.v_terminal(
        D=grain_mm / 1e3, rhop=2650.0, rho=density_kg_per_m3(temp_degc),
        mu=viscosity_pa_s(temp_degc),
    )  # fmt: skip
    ours = settling_velocity(grain_mm / 1e3, temp_degc=temp_degc)
    rel = 0.12 if ours.law == "Stokes" else 0.05
    assert ours.velocity_m_per_s == pytest.approx(theirs, rel=rel)


def test_stokes_holds_up_to_a_reynolds_number_of_one() -> None:
    fine, coarse = (settling_velocity(d, temp_degc=20.0) for d in (90e-6, 200e-6))
    assert fine.law == "Stokes" and fine.reynolds <= 1.0
    assert coarse.law != "Stokes" and coarse.velocity_m_per_s < 0.8 * coarse.stokes_m_per_s
    with pytest.raises(RangeError, match="DOM-002"):
        settling_velocity(1e-4, temp_degc=20.0, grain_kg_per_m3=900.0)


@given(fines=st.floats(0.0, 0.4), limit=st.floats(0.001, 0.1), water_m=st.floats(0.05, 0.5))
@settings(deadline=None)
def test_washing_goes_on_until_the_fines_are_within_the_limit(
    fines: float, limit: float, water_m: float
) -> None:
    bucket = {"layer_m": 0.1, "temp_degc": 10.0, "porosity_frac": 0.4}
    wash = washing(fines, limit_frac=limit, bucket_water_m=water_m, **bucket)
    if wash.washes_count is None:
        assert wash.left_frac > limit
        return
    assert wash.left_frac <= limit
    assert (wash.washes_count == 0) == (fines <= limit)
    # Twice the limit never needs more washes.
    easier = washing(fines, limit_frac=2 * limit, bucket_water_m=water_m, **bucket)
    assert easier.washes_count is not None and easier.washes_count <= wash.washes_count


def test_nobody_decants_clay() -> None:
    with pytest.raises(RangeError, match="SIV-023"):
        washing(0.05, limit_frac=0.005, bucket_water_m=0.2, layer_m=0.1, temp_degc=10.0,
                porosity_frac=0.4, cut_m=1e-6)  # fmt: skip


@given(area=st.floats(0.05, 10.0), usable=st.floats(0.05, 1.0))
@settings(deadline=None)
def test_stock_to_get_is_the_bed_over_the_usable_share(area: float, usable: float) -> None:
    buy = sand_to_buy(area, depth_m=0.7, usable_frac=usable, porosity_frac=0.4)
    assert buy.bed_kg == pytest.approx(area * 0.7 * 0.6 * 2650.0)
    assert buy.stock_kg * usable == pytest.approx(buy.bed_kg)
    assert buy.stock_m3 * usable == pytest.approx(buy.bed_m3)


@given(one=curves(), two=curves(), three=curves())
@settings(max_examples=40, deadline=None)
def test_a_blend_lies_within_the_hull_and_in_the_band(
    one: GradingCurve, two: GradingCurve, three: GradingCurve
) -> None:
    stocks = [Stock(c) for c in (one, two, three)]
    found = blend(stocks, wanted=WIDE)
    if not found.feasible:
        assert found.lack
        return
    assert sum(found.parts_frac) == pytest.approx(1.0)
    assert all(p >= 0.0 for p in found.parts_frac)
    curve = found.curve
    assert curve is not None
    used = [s.curve for s, p in zip(stocks, found.parts_frac, strict=True) if p > 1e-6]
    for size_m, share in zip(curve.sizes_m, curve.passing_frac, strict=True):
        bounds = [c.passing(size_m) for c in used]
        assert min(b[0] for b in bounds) - 1e-6 <= share <= max(b[1] for b in bounds) + 1e-6
    # At most 10 % may pass the fine end, at least 10 % must pass the coarse end of the band.
    assert curve.passing(WIDE.d10_low_m)[0] <= 0.10 + 1e-6
    assert curve.passing(WIDE.d10_high_m)[1] >= 0.10 - 1e-6
    if found.uniformity is not None and np.diff(curve.passing_frac).min() > 1e-3:
        assert found.uniformity <= WIDE.uniformity_most * (1 + 1e-5)


@given(fine=st.floats(0.08, 0.14), coarse=st.floats(0.4, 0.7), weight=st.floats(0.0, 1.0))
@settings(max_examples=25, deadline=None)
def test_no_mix_by_hand_is_cheaper(fine: float, coarse: float, weight: float) -> None:
    """Any mix that meets the band costs at least what the program found."""
    stocks = [Stock(lognormal(fine / 1e3, 1.6, name="fine"), 3.0),
              Stock(lognormal(coarse / 1e3, 1.6, name="coarse"), 1.0),
              Stock(lognormal(0.25e-3, 1.8, name="dear"), 9.0)]  # fmt: skip
    found = blend(stocks, wanted=WIDE)
    assert found.feasible and found.cost_per_kg is not None  # the dear one alone would do
    for dear in np.linspace(0.0, 1.0, 6):
        parts = [(1 - dear) * weight, (1 - dear) * (1 - weight), float(dear)]
        mix = mixed([s.curve for s in stocks], parts)
        d10, even = mix.size(0.10).size_m, mix.uniformity
        if d10 is None or even is None:
            continue
        if WIDE.d10_low_m <= d10 <= WIDE.d10_high_m and even <= WIDE.uniformity_most:
            cost = sum(p * (s.cost_per_kg or 0.0) for p, s in zip(parts, stocks, strict=True))
            assert found.cost_per_kg <= cost * 1.02 + 1e-9  # the grid of sizes steps by 2 %


def test_sieving_first_does_what_mixing_cannot() -> None:
    pit = Stock(lognormal(0.2e-3, 5.0, name="pit"))
    wanted = goal(0.25, 2.0)
    assert not blend([pit], wanted=wanted).feasible
    found = blend([pit], wanted=wanted, method="sieve-and-mix")
    assert found.feasible and found.left_out and found.curve is not None
    assert found.bought_per_used > 1.0
    even, d10 = found.curve.uniformity, found.curve.size(0.10).size_m
    assert even is not None and even <= 2.5 * (1 + 1e-6)
    assert d10 is not None and 0.15e-3 * (1 - 1e-6) <= d10 <= 0.30e-3 * (1 + 1e-6)
    # What is left out and what is used make up what was bought.
    out = sum(
        o.share_frac
        * (pit.curve.passing(o.high_m or 1.0)[1] - pit.curve.passing(o.low_m or 1e-9)[0])
        for o in found.left_out
    )
    assert 1.0 - out == pytest.approx(1.0 / found.bought_per_used, rel=1e-6)


@pytest.mark.parametrize(("sizes", "why"), [((0.5, 0.7), "too coarse"), ((0.05, 0.08), "too fine")])
def test_what_cannot_be_blended_says_what_to_add(sizes: tuple[float, ...], why: str) -> None:
    stocks = [Stock(lognormal(d / 1e3, 1.5, name=f"{d}")) for d in sizes]
    found = blend(stocks, wanted=WIDE)
    assert not found.feasible and why in found.lack
    assert found.add_frac is not None and found.add_low_m is not None and found.add_high_m
    assert 0.0 < found.add_frac <= 1.0
    # Adding a little more of just such a sand makes it possible.
    ideal = GradingCurve((found.add_low_m, found.add_high_m), (0.0, 1.0), "added")
    mended = blend([*stocks, Stock(ideal)], wanted=WIDE)
    assert mended.feasible
    assert mended.parts_frac[-1] >= found.add_frac - 1e-6


def test_a_price_stands_on_all_sands_or_on_none() -> None:
    curve = lognormal(0.25e-3, 2.0)
    with pytest.raises(SieveError, match="SIV-024"):
        blend([Stock(curve, 1.0), Stock(curve)], wanted=WIDE)
    with pytest.raises(SieveError, match="SIV-024"):
        blend([], wanted=WIDE)


def test_without_prices_most_is_used_of_the_first() -> None:
    mine = Stock(lognormal(0.12e-3, 1.6, name="mine"))
    good = Stock(lognormal(0.3e-3, 1.6, name="good"))
    found = blend([mine, good], wanted=WIDE)
    assert found.feasible
    more = [found.parts_frac[0] + 0.02, found.parts_frac[1] - 0.02]
    mix = mixed([mine.curve, good.curve], more)
    d10, even = mix.size(0.10).size_m, mix.uniformity
    assert d10 is not None and even is not None
    assert d10 < WIDE.d10_low_m or even > WIDE.uniformity_most

"""Gravel and drain: what holds, what lets through, and a drain marched hole by hole."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import RangeError
from roofspring.hydraulics import loss_m
from roofspring.network.sand import choose_drain
from roofspring.sandfilter.gravel import (
    RULES,
    Base,
    boundary_checks,
    cover_drain,
    design_gravel,
    gravel_findings,
    held_grain_m,
    layer_base,
    rule_named,
    sand_base,
)
from roofspring.sandfilter.sieve import GradingCurve
from roofspring.sandfilter.underdrain import (
    hole_loss_m,
    manifold_factor,
    underdrain,
    underdrain_findings,
)
from sand.sands import lognormal

SAND = Base("sand", 0.25e-3, 0.27e-3, 0.5e-3, 0.8e-3, 0.85e-3)


@given(
    d10_mm=st.floats(0.15, 0.35),
    uniformity=st.floats(1.4, 3.0),
    hole_mm=st.floats(2.0, 6.0),
    name=st.sampled_from(["huisman-wood", "sherard-5", "terzaghi-4"]),
)
@settings(deadline=None)
def test_every_layer_keeps_the_rule_by_which_it_was_chosen(
    d10_mm: float, uniformity: float, hole_mm: float, name: str
) -> None:
    sand = sand_base(lognormal(d10_mm / 1e3, uniformity))
    assert sand is not None
    design = design_gravel(sand, hole_m=hole_mm / 1e3, rule=rule_named(name))
    if not design.layers:
        assert design.lack
        assert "GRV-101" in {f.code for f in gravel_findings(design, sand)}
        return
    assert all(c.ok for layer in design.layers for c in layer.checks)
    assert "drain" in {c.kind for c in design.layers[-1].checks}
    lows = [layer.low_m for layer in design.layers]
    assert lows == sorted(lows)
    # SHERARD_1984: what a filter of D15 still holds is under the d85 of what lies on it.
    above = sand
    for layer in design.layers:
        assert held_grain_m(layer.base.d15_m) < above.d85_m
        above = layer.base


def test_the_usual_set_of_huisman_and_wood_keeps_their_step() -> None:
    # HUISMAN_WOOD_1974 (memory): 0.4-0.6, 1.5-2, 5-8, 15-25 mm. Their ratios of lower sizes are
    # 3.75, 3.33 and 3.00, all at most 4.
    layers = [
        layer_base(a / 1e3, high_m=b / 1e3) for a, b in ((0.4, 0.6), (1.5, 2), (5, 8), (15, 25))
    ]
    for above, below in itertools.pairwise(layers):
        (check,) = boundary_checks(above, below=below, rule=RULES["huisman-wood"], top=False)
        assert check.ok


def test_sources_that_disagree_are_named() -> None:
    design = design_gravel(SAND, hole_m=3e-3, rule=RULES["huisman-wood"])
    others = [f for f in gravel_findings(design, SAND) if f.code == "GRV-103"]
    assert {f.severity for f in others} == {"note"}
    assert {f.source for f in others} <= {r.source for r in RULES.values()}


def test_household_layers_are_checked_too() -> None:
    fine = Base("fine", 0.05e-3, 0.06e-3, 0.1e-3, 0.15e-3, 0.16e-3)
    design = design_gravel(fine, hole_m=10e-3, rule=RULES["household"])
    assert [layer.text for layer in design.layers] == ["0.7 to 6 mm", "6 to 12 mm"]
    wrong = [f for f in gravel_findings(design, fine) if f.code == "GRV-102"]
    assert len(wrong) == 2  # too coarse over so fine a sand, and it falls through such holes


def test_the_lowest_layer_covers_the_pipe() -> None:
    design = design_gravel(SAND, hole_m=3e-3, rule=RULES["huisman-wood"])
    covered = cover_drain(design, pipe_m=0.063)
    assert covered.layers[-1].thickness_m == pytest.approx(0.10)  # 63 + 30 mm, up to whole 10 mm
    assert covered.layers[:-1] == design.layers[:-1]
    assert cover_drain(design, pipe_m=0.01).thickness_m == design.thickness_m


def test_bad_requests() -> None:
    with pytest.raises(RangeError, match="DOM-004"):
        rule_named("mine")
    with pytest.raises(RangeError, match="DOM-002"):
        layer_base(2e-3, high_m=1e-3)
    with pytest.raises(RangeError, match="DOM-002"):
        design_gravel(SAND, hole_m=0.0, rule=RULES["sherard-5"])
    assert sand_base(GradingCurve((0.3e-3, 0.6e-3), (0.3, 0.5))) is None
    with pytest.raises(RangeError, match="DOM-003"):
        manifold_factor(1.0)


def _marched_spread(
    *, area_m2: float, rate_m_per_s: float, bed_loss_m: float, holes: int, hole_m: float,
    pipe_m: float, length_m: float, temp_degc: float,
) -> float:  # fmt: skip
    """Most over least draw, hole by hole from the far end: each draws by bed and hole together."""
    resist = bed_loss_m / (area_m2 * rate_m_per_s / holes)  # head per flow through its share of bed
    hole_area = math.pi * hole_m**2 / 4.0
    pipe_area = math.pi * pipe_m**2 / 4.0

    def run(far_head_m: float) -> tuple[float, list[float]]:
        head, flow, draws = far_head_m, 0.0, []
        for _ in range(holes):
            q = head / resist
            for _ in range(40):  # the hole's loss is small beside the bed's
                q = (head - hole_loss_m(q / hole_area)) / resist
            draws.append(q)
            before, flow = flow, flow + q
            head += loss_m(flow, diameter_m=pipe_m, length_m=length_m / holes, roughness_m=1.5e-6,
                           k_sum=0.0, temp_degc=temp_degc)  # fmt: skip
            head += (flow**2 - before**2) / pipe_area**2 / (2.0 * GRAVITY_M_PER_S2)
        return flow, draws

    low, high = 0.0, 10.0 * bed_loss_m
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if run(middle)[0] < area_m2 * rate_m_per_s else (low, middle)
    draws = run(high)[1]
    return (max(draws) - min(draws)) / (sum(draws) / holes)


@pytest.mark.parametrize(
    ("area_m2", "pipe_m", "rate_m_per_h"),
    [(0.5, 0.020, 0.1), (0.5, 0.016, 0.4), (2.0, 0.040, 0.2)],
)
def test_the_spread_is_that_of_a_drain_marched_hole_by_hole(
    area_m2: float, pipe_m: float, rate_m_per_h: float
) -> None:
    length_m, rate = math.sqrt(area_m2), rate_m_per_h / 3600.0
    holes, bed_loss = 60, 0.3 * rate_m_per_h
    flow = area_m2 * rate
    reynolds = flow / (math.pi * pipe_m / 4.0) / 1.306e-6  # nu at 10 degrees, IAPWS_R12_2008
    law = underdrain(
        area_m2, rate_m_per_s=rate, bed_loss_m=bed_loss, holes_count=holes, hole_m=3e-3,
        laterals_count=1, lateral_m=pipe_m, length_m=length_m,
        friction_m=loss_m(flow, diameter_m=pipe_m, length_m=length_m, roughness_m=1.5e-6,
                          k_sum=0.0, temp_degc=10.0),
        reynolds=reynolds,
    )  # fmt: skip
    marched = _marched_spread(
        area_m2=area_m2, rate_m_per_s=rate, bed_loss_m=bed_loss, holes=holes, hole_m=3e-3,
        pipe_m=pipe_m, length_m=length_m, temp_degc=10.0,
    )  # fmt: skip
    # The closed form leaves out that an uneven draw evens itself a little: within a quarter.
    assert law.spread_frac == pytest.approx(marched, rel=0.25)


def test_a_chosen_drain_draws_evenly_and_a_narrow_one_is_named() -> None:
    bed = {
        "depth_m": 0.7,
        "rate_m_per_s": 0.4 / 3600.0,
        "d10_m": 0.25e-3,
        "uniformity": 2.0,
        "porosity_frac": 0.4,
        "sphericity_frac": 0.8,
        "hole_m": 3e-3,
        "temp_degc": 10.0,
    }
    good = choose_drain(0.5, **bed)
    assert good.law.spread_frac <= 0.05 and good.law.lateral_ratio >= 2.0
    assert underdrain_findings(good.law) == ()
    narrow = choose_drain(6.0, **bed, pipe_m=0.013)
    codes = {f.code for f in underdrain_findings(narrow.law)}
    assert codes == {"GRV-110", "GRV-111", "GRV-113"}
    few = underdrain(
        0.5, rate_m_per_s=0.1 / 3600, bed_loss_m=0.03, holes_count=5, hole_m=3e-3,
        laterals_count=1, lateral_m=0.05, length_m=0.7, friction_m=1e-5, reynolds=500.0,
    )  # fmt: skip
    assert {f.code for f in underdrain_findings(few)} == {"GRV-112"}

"""Many designs at once: against the rule in plain Python, a published balance, and the engine."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import DATA, pipe, plan_of, tank, use
from roofspring.errors import RangeError
from roofspring.kernels.screening import (
    DESIGN_ROWS,
    SCREEN_LANES,
    SHORT_FRAC,
    WORK_ROWS,
    screen_designs,
)
from roofspring.network.events import short_days
from roofspring.network.simulate import simulate
from roofspring.rain import read
from roofspring.reliability.reference import balance
from roofspring.reliability.screening import screen

Floats = npt.NDArray[np.float64]
LARGE = 1e9
depths_m = st.one_of(st.just(0.0), st.floats(1e-4, 0.12))
sizes_m3 = st.one_of(st.just(0.0), st.floats(1e-3, 20.0))


def weather(days: int) -> tuple[Floats, Floats]:
    rng = np.random.default_rng(5)
    rain = np.where(rng.random(days) < 0.3, rng.gamma(0.7, 9e-3, days), 0.0)
    return rain, 0.2 + 0.1 * rng.random(days)


def some_designs(count: int) -> Floats:
    rng = np.random.default_rng(6)
    highest = np.array([200.0, 0.2, 5.0, 2.0, 3.0, 40.0])
    return highest[:, None] * rng.random((DESIGN_ROWS, count))


def one_design(
    rain_m: list[float], want_m3: list[float], design: list[float], start_frac: float
) -> tuple[float, int, float, float, float]:
    """The rule for one design, day by day: served, short days, spilled, held first and last."""
    catch, flush, raw_full, rate, clean_full, cistern_full = design
    raw, clean, cistern = (start_frac * full for full in (raw_full, clean_full, cistern_full))
    held_first = raw + clean + cistern
    served = spilled = 0.0
    short = 0
    for rain, want in zip(rain_m, want_m3, strict=True):
        first = min(want, clean)
        second = min(want - first, cistern)
        there = raw + max(0.0, catch * rain - flush)
        through = min(there, rate)
        raw = min(there - through, raw_full)
        full_clean = min(clean + through, clean_full)
        full_cistern = min(cistern + (clean + through - full_clean), cistern_full)
        spilled += (there - through - raw) + (
            cistern + (clean + through - full_clean) - full_cistern
        )
        clean, cistern = full_clean - first, full_cistern - second
        served += first + second
        short += first + second < want * (1.0 - SHORT_FRAC)
    return served, short, spilled, held_first, raw + clean + cistern


def test_each_design_is_the_rule_in_plain_python() -> None:
    rain, want = weather(700)
    designs = some_designs(SCREEN_LANES + 9)
    got = screen(
        rain, want, catch_m2=designs[0], first_flush_m3=designs[1], raw_m3=designs[2],
        filter_m3_per_day=designs[3], clean_m3=designs[4], cistern_m3=designs[5], start_frac=0.4,
    )  # fmt: skip
    for j in range(designs.shape[1]):
        served, short, spilled, _, _ = one_design(
            rain.tolist(), want.tolist(), designs[:, j].tolist(), 0.4
        )
        assert got.served_frac[j] == served / want.sum()
        assert got.short_days_count[j] == short
        assert got.spilled_m3[j] == pytest.approx(spilled, rel=1e-12, abs=1e-12)
    assert got.short_days_count.min() < got.short_days_count.max() < 700
    assert got.spilled_m3.max() > 0.0


def test_compiled_kernel_and_plain_body_give_the_same_bits() -> None:
    rain, want = weather(40)
    designs = some_designs(SCREEN_LANES + 3)
    both = []
    plain: Callable[..., None] = getattr(screen_designs, "py_func", screen_designs)
    compiled: Callable[..., None] = screen_designs
    for body in (compiled, plain):
        totals = [np.zeros(designs.shape[1]) for _ in range(3)]
        work = np.empty((WORK_ROWS, SCREEN_LANES))
        body(rain, want, designs, 0.3, 0, designs.shape[1], *totals, work)
        both.append(totals)
    np.testing.assert_array_equal(both[0], both[1])


@settings(max_examples=60, deadline=None)  # the first call compiles
@given(
    rain=st.lists(depths_m, min_size=1, max_size=40),
    design=st.tuples(st.floats(0.0, 300.0), st.floats(0.0, 0.3), *[sizes_m3] * 4),
    want=st.floats(0.0, 2.0),
    start_frac=st.floats(0.0, 1.0),
)
def test_water_is_neither_made_nor_lost(
    rain: list[float], design: tuple[float, ...], want: float, start_frac: float
) -> None:
    catch, flush = design[:2]
    served, _, spilled, first, last = one_design(rain, [want] * len(rain), list(design), start_frac)
    came = sum(max(0.0, catch * depth - flush) for depth in rain)
    assert first + came == pytest.approx(served + spilled + last, rel=1e-9, abs=1e-9)
    got = screen(
        rain, want, catch_m2=catch, first_flush_m3=flush, raw_m3=design[2],
        filter_m3_per_day=design[3], clean_m3=design[4], cistern_m3=design[5],
        start_frac=start_frac,
    )  # fmt: skip
    assert got.spilled_m3[0] == pytest.approx(spilled, rel=1e-9, abs=1e-12)
    assert 0.0 <= got.served_frac[0] <= 1.0 + 1e-12


@pytest.mark.parametrize("store", ["clean", "cistern"])
def test_one_store_alone_is_yield_after_spillage(store: str) -> None:
    # JENKINS_1978: the roof runs into one store, and nothing else is there.
    rain, want = weather(3000)
    sizes = np.geomspace(0.1, 50.0, 90)
    none: dict[str, float | Floats] = {"clean_m3": 0.0, "cistern_m3": 0.0}
    got = screen(
        rain, want, catch_m2=80.0, first_flush_m3=0.0, raw_m3=0.0, filter_m3_per_day=LARGE,
        start_frac=0.5, **{**none, f"{store}_m3": sizes},
    )  # fmt: skip
    for j, size in enumerate(sizes):
        one = balance(80.0 * rain, want, capacity_m3=size, start_m3=0.5 * size, theta=0.0)
        assert got.served_frac[j] == pytest.approx(one.served_frac, rel=1e-12)
        assert got.spilled_m3[j] == pytest.approx(one.spill_m3.sum(), rel=1e-9, abs=1e-9)
        assert got.short_days_count[j] == pytest.approx(one.short_steps_count, abs=1)


TRAIN = (
    '[roof.r]\narea = "100 m2"\nmaterial = "metal"\ncoefficient = "85 %"\nwetting = "0 mm"\n'
    + '[filter.sand]\narea = "0.02 m2"\nthrottle = "1.25 m/h"\nskin-resistance = "1 min"\n'
    + 'skin = { law = "steady" }\n'
    + '[run]\nwet-step = "1 h"\ndry-step = "1 h"\n[rain]\nwithin-day = "even"\nsnow = "as-rain"\n'
    + pipe("a", "r", "raw")
    + pipe("b", "raw", "sand", 'valve = { kind = "float" }')
    + pipe("c", "sand", "clean")
    + pipe("d", "clean.overflow", "cistern")
    + use("u", "clean cistern", "180 L/day", f"hours = {[1] + [0] * 23}")
)


@pytest.mark.parametrize(
    ("raw", "clean", "cistern"), [(1.9, 1.1, 10.0), (0.8, 0.4, 4.0), (4.0, 2.0, 25.0)]
)
def test_the_engine_with_its_physics_out_of_the_way(
    raw: float, clean: float, cistern: float
) -> None:
    # No pipe limits, the sand lets through what the throttle does (0.6 m3 a day), and the uses draw
    # in the first hour of the day. What is left is what comes to the stores within that hour.
    record = read(DATA / "seattle_daily_2012_2015.csv")
    plan = plan_of(
        TRAIN, tank("raw", volume_m3=raw), tank("clean", volume_m3=clean),
        tank("cistern", volume_m3=cistern),
    )  # fmt: skip
    ran = simulate(plan, record)
    got = screen(
        record.depth_m, 0.18, catch_m2=85.0, first_flush_m3=0.0, raw_m3=raw,
        filter_m3_per_day=0.6, clean_m3=clean, cistern_m3=cistern,
    )  # fmt: skip
    served = float(ran.delivered_m3.sum() / ran.wanted_m3.sum())
    spilled = sum(ran.total_m3(kind="overflow", from_part=p) for p in ("raw", "cistern"))
    assert 0.5 < served < 1.0
    assert served - 5e-3 <= got.served_frac[0] <= served
    assert got.spilled_m3[0] == pytest.approx(spilled, rel=0.01)
    assert got.short_days_count[0] == pytest.approx(int(short_days(ran).sum()), abs=8)


def test_more_roof_or_store_never_serves_less() -> None:
    rain, want = weather(2000)
    steps = np.linspace(0.0, 6.0, 80)
    base: dict[str, float | Floats] = {
        "catch_m2": 90.0, "raw_m3": 1.0, "clean_m3": 0.5, "cistern_m3": 5.0,
    }  # fmt: skip
    for name in base:
        more: dict[str, Any] = {**base, name: (30.0 if name == "catch_m2" else 1.0) * steps}
        got = screen(rain, want, first_flush_m3=0.05, filter_m3_per_day=0.3, **more)
        assert (np.diff(got.served_frac) >= -1e-12).all(), name
        # All that the clean tank has no room for still comes to the uses by the cistern.
        assert got.served_frac[-1] > got.served_frac[0] or name == "clean_m3"


def test_a_faster_filter_may_serve_less_where_the_raw_tank_is_the_larger_store() -> None:
    # It empties the raw tank into a cistern that is full already, and the next rain finds no use.
    got = screen(
        [0.0, 0.01, 0.0, 0.0, 0.0, 0.0], 0.2, catch_m2=100.0, first_flush_m3=0.0, raw_m3=5.0,
        filter_m3_per_day=[0.2, 5.0], clean_m3=0.0, cistern_m3=0.2,
    )  # fmt: skip
    assert got.served_frac[1] < got.served_frac[0]


def test_what_cannot_be_is_refused() -> None:
    good: dict[str, Any] = {
        "catch_m2": 90.0, "first_flush_m3": 0.0, "raw_m3": 1.0, "filter_m3_per_day": 0.3,
        "clean_m3": 0.5, "cistern_m3": 5.0,
    }  # fmt: skip
    with pytest.raises(RangeError, match=r"DOM-002 raw_m3\[1\]"):
        screen([0.01], 0.1, **{**good, "raw_m3": [1.0, -1.0]})
    with pytest.raises(RangeError, match=r"DOM-002 rain_m\[0\]"):
        screen([float("nan")], 0.1, **good)
    with pytest.raises(RangeError, match="DOM-007"):
        screen([0.01], 0.1, **{**good, "raw_m3": [1.0, 2.0], "clean_m3": [1.0, 2.0, 3.0]})
    with pytest.raises(RangeError, match="DOM-007"):
        screen([0.01, 0.0], [0.1, 0.1, 0.1], **good)
    with pytest.raises(RangeError, match="DOM-007"):
        screen([[0.01]], 0.1, **good)
    with pytest.raises(RangeError, match="DOM-003"):
        screen([0.01], 0.1, start_frac=1.5, **good)

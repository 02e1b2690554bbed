"""Tank geometry against closed forms (Euclid's solids, the circular segment) and as properties."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from roofspring.plan.geometry import (
    brim_volume_m3,
    dead_volume_m3,
    depth_to_volume_m3,
    inside_height_m,
    overflow_volume_m3,
    plan_area_m2,
    volume_to_depth_m,
)
from roofspring.plan.model import Tank

SIZES = st.floats(0.05, 20.0).map(lambda x: f"{x:.6f} m")


def tank_of(**fields: object) -> Tank:
    """A tank from keys as they stand in a plan file."""
    return Tank.model_validate(fields)


COUNTS = st.integers(1, 5)


@st.composite
def tables(draw: st.DrawFn) -> Tank:
    depths = sorted(draw(st.sets(st.integers(1, 9000), min_size=1, max_size=6)))
    volumes = sorted(
        draw(st.sets(st.integers(1, 90_000), min_size=len(depths), max_size=len(depths)))
    )
    rows = [["0 m", "0 L"]] + [[f"{d} mm", f"{v} L"] for d, v in zip(depths, volumes, strict=True)]
    return tank_of(shape="table", table=rows, count=draw(COUNTS))


TANKS = st.one_of(
    st.builds(lambda d, h, n: tank_of(diameter=d, height=h, count=n), SIZES, SIZES, COUNTS),
    st.builds(
        lambda x, y, z, n: tank_of(shape="box", length=x, width=y, height=z, count=n),
        SIZES,
        SIZES,
        SIZES,
        COUNTS,
    ),
    st.builds(
        lambda d, x, n: tank_of(shape="lying", diameter=d, length=x, count=n), SIZES, SIZES, COUNTS
    ),
    tables(),
)


@settings(max_examples=200, deadline=None)
@given(TANKS, st.floats(0.0, 1.0))
def test_depth_survives_the_way_there_and_back(tank: Tank, share: float) -> None:
    depth_m = share * inside_height_m(tank)
    back_m = volume_to_depth_m(tank, depth_to_volume_m3(tank, depth_m))
    # Near the top of a lying cylinder depth goes as the 2/3 power of the missing volume, so a
    # last-bit error e of the volume becomes e**(2/3) of the depth: 4e-11 for e = 2.2e-16.
    assert back_m == pytest.approx(depth_m, rel=1e-9, abs=1e-10 * inside_height_m(tank))


@settings(max_examples=200, deadline=None)
@given(TANKS, st.floats(0.0, 1.0))
def test_volume_survives_the_way_there_and_back(tank: Tank, share: float) -> None:
    volume_m3 = share * brim_volume_m3(tank)
    back_m3 = depth_to_volume_m3(tank, volume_to_depth_m(tank, volume_m3))
    assert back_m3 == pytest.approx(volume_m3, rel=1e-9, abs=1e-12 * brim_volume_m3(tank))


@settings(max_examples=200, deadline=None)
@given(TANKS, st.lists(st.floats(-0.2, 1.2), min_size=2, max_size=8))
def test_more_depth_is_never_less_volume(tank: Tank, shares: list[float]) -> None:
    depths_m = sorted(share * inside_height_m(tank) for share in shares)
    volumes_m3 = [depth_to_volume_m3(tank, depth_m) for depth_m in depths_m]
    assert volumes_m3 == sorted(volumes_m3)
    assert 0.0 <= volumes_m3[0] <= volumes_m3[-1] <= brim_volume_m3(tank) * (1 + 1e-15)


@settings(max_examples=100, deadline=None)
@given(TANKS)
def test_ends(tank: Tank) -> None:
    full_m3 = brim_volume_m3(tank)
    assert depth_to_volume_m3(tank, 0.0) == depth_to_volume_m3(tank, -1.0) == 0.0
    assert depth_to_volume_m3(tank, inside_height_m(tank)) == pytest.approx(full_m3, rel=1e-14)
    assert volume_to_depth_m(tank, 0.0) == volume_to_depth_m(tank, -1.0) == 0.0
    assert volume_to_depth_m(tank, 2 * full_m3) == pytest.approx(inside_height_m(tank), rel=1e-14)


@pytest.mark.parametrize("depth_m", [1e-6, 1e-4, 0.01, 0.3, 0.9, 1.0, 1.5, 1.9999, 2.0])
def test_lying_cylinder_against_the_integral_of_its_chord(depth_m: float) -> None:
    """Volume is the integral of chord times length; chord = 2 sqrt(2 R z - z2), elementary."""
    tank = tank_of(shape="lying", diameter="2 m", length="3 m", count=2)
    area_m2, _ = quad(
        lambda z: 2.0 * math.sqrt(max(2.0 * z - z * z, 0.0)), 0.0, depth_m, epsabs=0.0, epsrel=1e-10
    )
    assert depth_to_volume_m3(tank, depth_m) == pytest.approx(2 * 3.0 * area_m2, rel=1e-9)


@pytest.mark.parametrize("depth_m", [1e-9, 1e-6, 1e-4])
def test_lying_cylinder_near_the_floor(depth_m: float) -> None:
    """Leading terms of the segment for a small depth h: (4/3) h sqrt(2 R h) (1 - 3 h / (20 R))."""
    tank = tank_of(shape="lying", diameter="2 m", length="1 m")
    expected_m3 = 4.0 / 3.0 * depth_m * math.sqrt(2.0 * depth_m) * (1.0 - 3.0 * depth_m / 20.0)
    assert depth_to_volume_m3(tank, depth_m) == pytest.approx(expected_m3, rel=1e-8)


def test_lying_cylinder_is_symmetric() -> None:
    """What lacks above a depth equals what stands at the mirrored depth."""
    tank = tank_of(shape="lying", diameter="1.3 m", length="2.1 m")
    full_m3 = math.pi / 4 * 1.3**2 * 2.1
    for depth_m in (0.1, 0.4, 0.65):
        pair_m3 = depth_to_volume_m3(tank, depth_m) + depth_to_volume_m3(tank, 1.3 - depth_m)
        assert pair_m3 == pytest.approx(full_m3, rel=1e-12)


def test_simple_solids() -> None:
    box = tank_of(shape="box", length="2 m", width="3 m", height="0.5 m", count=2)
    assert brim_volume_m3(box) == pytest.approx(6.0)
    assert plan_area_m2(box) == pytest.approx(12.0)
    round_tank = tank_of(diameter="2 m", height="1 m")
    assert brim_volume_m3(round_tank) == pytest.approx(math.pi)
    assert plan_area_m2(round_tank) == pytest.approx(math.pi)
    by_volume = tank_of(volume="1900 L", height="1.25 m")
    assert plan_area_m2(by_volume) == pytest.approx(1.52)
    assert depth_to_volume_m3(by_volume, 0.5) == pytest.approx(0.76)
    lying = tank_of(shape="lying", diameter="2 m", length="3 m")
    assert plan_area_m2(lying) == pytest.approx(6.0)
    assert brim_volume_m3(lying) == pytest.approx(3 * math.pi)


def test_table_is_joined_by_straight_lines() -> None:
    rows = [["0 m", "0 L"], ["0.2 m", "40 L"], ["0.5 m", "130 L"]]
    tank = tank_of(shape="table", table=rows, count=2)
    assert depth_to_volume_m3(tank, 0.1) == pytest.approx(0.040)
    assert depth_to_volume_m3(tank, 0.35) == pytest.approx(0.170)
    assert volume_to_depth_m(tank, 0.170) == pytest.approx(0.35)


def test_volumes_at_ports() -> None:
    sizes = {"volume": "1 m3", "height": "2 m", "count": 3, "more-outlets": {"garden": "6 m"}}
    tank = tank_of(base="5 m", outlet="5.2 m", overflow="6.8 m", **sizes)
    assert overflow_volume_m3(tank) == pytest.approx(3 * 0.9)
    assert dead_volume_m3(tank, "outlet") == pytest.approx(3 * 0.1)
    assert dead_volume_m3(tank, "garden") == pytest.approx(3 * 0.5)
    assert dead_volume_m3(tank, "drain") == 0.0
    assert overflow_volume_m3(tank_of(volume="1 m3", height="2 m", base="5 m")) == 1.0

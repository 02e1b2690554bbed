"""Mass, ground and wind of the tanks of a plan, against sums by hand."""

from __future__ import annotations

import math

import pytest

from network.build import plan_of
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.network.loads import LoadRow, Loads, assess_loads
from roofspring.structure import tipping_wind_m_per_s

TOTE = """
[tank.t]
shape = "box"
length = "1.2 m"
width = "1.0 m"
height = "1.0 m"
"""


def loads(*stand: str, more: str = "", tank: str = TOTE) -> Loads:
    return assess_loads(plan_of(tank + "".join(f"stand = {{ {s} }}\n" for s in stand) + more))


def row(*stand: str, more: str = "") -> LoadRow:
    (found,) = loads(*stand, more=more).rows
    return found


def codes(found: Loads) -> list[str]:
    return [f.code for f in found.findings]


def test_mass_is_water_and_tank() -> None:
    found = row('kind = "slab", empty-mass = "60 kg"')
    # 1.2 m3 of water at 4 °C, 999.97 kg/m3, and the tote.
    assert found.full_kg == pytest.approx(1.2 * 999.97 + 60.0, rel=1e-5)
    assert row().empty_kg == pytest.approx(24.0)


@pytest.mark.parametrize(
    ("stand", "area_m2"),
    [
        ('kind = "ground"', 1.2),
        ('kind = "slab", width = "1.5 m"', 2.25),
        ('kind = "pallet"', 0.3),
        ('kind = "legs", foot = "250 mm"', 0.25),
    ],
)
def test_pressure_is_weight_over_what_touches(stand: str, area_m2: float) -> None:
    found = row(stand)
    by_hand = found.full_kg * GRAVITY_M_PER_S2 / area_m2
    assert found.pressure_pa == pytest.approx(by_hand, rel=1e-9)


def test_ground_that_bears_too_little_stops() -> None:
    hard = 'kind = "legs", foot = "200 mm", soil = "clay", tied = true'
    assert "LOD-101" in codes(loads(hard))
    assert "LOD-101" not in codes(loads(hard.replace("200 mm", "500 mm")))
    (stop,) = [f for f in loads(hard).findings if f.code == "LOD-101"]
    assert stop.severity == "stop" and "engineer" in stop.next and "72 kPa" in stop.limit
    fill = loads('kind = "slab", soil = "fill", tied = true')
    assert "nothing without a test" in next(f for f in fill.findings if f.code == "LOD-101").limit
    assert math.isinf(fill.rows[0].used_frac)


def test_wind_moves_what_is_light_high_and_loose() -> None:
    low, high = row('kind = "slab"'), row('kind = "legs", height = "1 m"')
    assert low.tips_m_per_s is not None and high.tips_m_per_s is not None
    assert high.tips_m_per_s < low.tips_m_per_s
    by_hand = tipping_wind_m_per_s(24.0, face_m=1.2, height_m=1.0, base_m=1.0)
    assert low.tips_m_per_s == pytest.approx(by_hand)
    assert "LOD-102" in codes(loads('kind = "slab"'))
    assert "LOD-102" not in codes(loads('kind = "slab", tied = true'))
    assert "LOD-102" not in codes(loads('kind = "slab", empty-mass = "2000 kg"'))


def test_buried_or_indoors_no_wind_is_told() -> None:
    for more in ('base = "1 m"\nground = "2 m"\n', "shelter = { indoors = true }\n"):
        assert row('kind = "slab"', more=more).tips_m_per_s is None
        assert "LOD-102" not in codes(loads('kind = "slab"', more=more))
    assert row(more='base = "1 m"\nground = "2 m"\n').is_buried


def test_without_a_stand_there_are_sums_and_no_findings() -> None:
    found = loads()
    assert found.rows[0].stand == "not given" and found.rows[0].tips_m_per_s is not None
    assert found.findings == ()


def test_tall_stands_and_pallets() -> None:
    assert "LOD-103" not in codes(loads('kind = "slab", height = "0.2 m"'))
    for height, severity in (("0.8 m", "caution"), ("1.5 m", "stop")):
        found = loads(f'kind = "legs", height = "{height}"')
        (tall,) = [f for f in found.findings if f.code == "LOD-103"]
        assert tall.severity == severity and "engineer" in tall.next
    assert "LOD-104" in codes(loads('kind = "pallet"'))


def test_a_lying_tank_and_a_filter() -> None:
    lying = '[tank.t]\nshape = "lying"\nlength = "2 m"\ndiameter = "1 m"\n'
    (found,) = loads(tank=lying).rows
    assert found.full_kg > 1500.0
    box = '[filter.f]\narea = "1 m2"\nsand-depth = "1 m"\nporosity = 0.4\n'
    (sand,) = loads(tank=box).rows
    # 0.6 m3 of grains of 2650 kg/m3 and 0.4 m3 of water, and a light box.
    assert sand.full_kg == pytest.approx(0.6 * 2650.0 + 400.0 + 20.0)
    assert sand.tips_m_per_s is None


def test_the_heaviest_stands_first() -> None:
    found = loads(more='[tank.big]\nvolume = "9 m3"\nheight = "2 m"\n')
    assert [r.where for r in found.rows] == ["big", "t"]
    assert loads(tank="").rows == ()

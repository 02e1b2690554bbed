"""One committed plan for each released format: they must all read, for ever."""

from pathlib import Path

import pytest

from roofspring.plan.model import FORMAT
from roofspring.plan.read import read_plan

HERE = Path(__file__).parent
PLANS = sorted(HERE.glob("v*.toml"))


def test_every_format_has_a_plan() -> None:
    formats = {int(path.name[1:].partition("_")[0]) for path in PLANS}
    assert formats == set(range(1, FORMAT + 1))


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_it_reads(path: Path) -> None:
    assert read_plan(path).plan.format == FORMAT


def test_values_of_the_first_format_keep_their_meaning() -> None:
    """Conversions are exact, NIST Handbook 44, appendix C: ft = 0.3048 m, gal = 231 in3."""
    plan = read_plan(HERE / "v1_small.toml").plan
    assert plan.roofs["woodshed"].area_m2 == pytest.approx(495 * 0.3048**2, rel=1e-12)
    assert plan.roofs["woodshed"].coefficient_frac == pytest.approx(0.85)
    assert plan.filters["sand-a"].throttle_m_per_s == pytest.approx(0.12 / 3600)
    assert plan.pipes["feed-a"].size_m == pytest.approx(0.75 * 0.0254)
    assert plan.pipes["cabin-down"].to == "leaves"
    assert plan.tanks["raw"].more_outlets == {"garden": pytest.approx(3.6)}
    assert plan.tanks["raw"].height_m("garden") == pytest.approx(3.6)
    rows = plan.tanks["trough"].table
    assert rows is not None
    assert [depth_m for depth_m, _ in rows] == pytest.approx([0.0, 0.2, 0.5])
    assert [volume_m3 for _, volume_m3 in rows] == pytest.approx([0.0, 0.04, 0.13])
    assert plan.uses["goats"].per_animal_m3_per_day == pytest.approx(2 * 231 * 0.0254**3)
    beds = plan.uses["beds"].garden_m_per_day
    assert beds is not None
    assert beds[6] == pytest.approx(0.004)
    assert plan.run.wet_step_s == pytest.approx(1800.0)
    assert plan.diverters["winter"].side_months == (12, 1, 2)

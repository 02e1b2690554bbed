from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest

from report.conftest import ran
from roofspring.plan.model import Plan, Tank
from roofspring.report.charts import Chart, all_charts, days_short, important_uses
from roofspring.report.document import DesignDocument
from roofspring.report.water_levels import depth_m, levels_at_start, levels_from_run


@pytest.fixture(scope="module")
def charts(document: DesignDocument) -> tuple[Chart, ...]:
    return all_charts(document.plan, *ran(document))


def test_every_chart_is_small_named_and_well_formed(charts: tuple[Chart, ...]) -> None:
    assert [c.id for c in charts] == ["stores", "curve", "months", "short"]
    ids: list[str] = []
    for chart in charts:
        root = ElementTree.fromstring(chart.svg)
        assert root.get("role") == "img"
        assert chart.title in root.get("aria-label", "")
        assert len(chart.svg) < 150_000
        assert not re.search(r"href|<image|@import", chart.svg)
        ids += [i for e in root.iter() if (i := e.get("id"))]
    assert len(ids) == len(set(ids))


def test_axes_carry_units_of_the_plan(document: DesignDocument, charts: tuple[Chart, ...]) -> None:
    words = {c.id: " ".join(ElementTree.fromstring(c.svg).itertext()) for c in charts}
    assert "cistern [m³]" in words["stores"]
    assert "rain [mm]" in words["months"]
    us = document.plan.model_copy(update={"show": "us"})
    changed = {c.id: c for c in all_charts(us, *ran(document))}
    assert "cistern [gal]" in changed["stores"].svg
    assert "rain [in]" in changed["months"].svg
    assert " gal" in changed["curve"].title


def test_days_short_counts_the_lack_of_the_important_uses(document: DesignDocument) -> None:
    run, supply = ran(document)
    uses = important_uses(document.plan, run)
    assert uses == ("drinking", "washing")  # importance 1 and 2 in the demo's plan file
    lack = (run.delivered_m3[:, :2] < 0.999 * run.wanted_m3[:, :2]).any(axis=1)
    np.testing.assert_array_equal(days_short(run, uses), lack)
    title = next(c for c in all_charts(document.plan, run, supply) if c.id == "short").title
    assert f"on {int(lack.sum()):,} days" in title


def test_the_lowest_day_in_the_title_is_the_lowest_day(
    document: DesignDocument, charts: tuple[Chart, ...]
) -> None:
    run, _ = ran(document)
    column = run.store_ids.index("cistern")
    low = run.low_m3[:, column]
    assert f"{run.days[int(low.argmin())]}: {low.min():.2f} m³" in charts[0].title


def test_a_lying_tank_half_full_stands_at_half_its_diameter() -> None:
    tank = Tank.model_validate({"shape": "lying", "diameter": "1.4 m", "length": "3 m"})
    assert depth_m(tank, share_frac=0.5, lip_m=1.4) == pytest.approx(0.7, abs=1e-9)
    # Circular segment at a quarter of the diameter: (acos(1/2) - sqrt(3)/4) / pi = 0.19550.
    quarter = (math.acos(0.5) - math.sqrt(3.0) / 4.0) / math.pi
    assert depth_m(tank, share_frac=quarter, lip_m=1.4) == pytest.approx(0.35, abs=1e-9)


def test_levels_at_the_start_without_a_run(demo_plan: Plan) -> None:
    cistern = demo_plan.tanks["cistern"].model_copy(update={"start_frac": 0.25})
    plan = demo_plan.model_copy(update={"tanks": {**demo_plan.tanks, "cistern": cistern}})
    levels = levels_at_start(plan)
    # Box: floor 1.80 m, lip 3.80 m, a quarter full. The raw tank: base 6.45 m, lip 7.75 m, half.
    assert levels["cistern"] == pytest.approx(1.80 + 0.25 * 2.00)
    assert levels["raw"] == pytest.approx(0.5 * (6.45 + 7.75))
    # Water stands in a filter up to its weir when nothing comes in.
    assert levels["sand-a"] == pytest.approx(5.65)
    assert set(levels) == {"raw", "sand-a", "sand-b", "clean", "cistern"}


def test_levels_of_the_demo_follow_from_contents(document: DesignDocument) -> None:
    plan, (run, _) = document.plan, ran(document)
    levels = levels_from_run(plan, run, moment="last")
    i, j = run.store_ids.index("cistern"), run.store_ids.index("sand-a")
    # Box: floor 1.80 m, lip 3.80 m. Filter: content over 0.25 m2 above the weir crest at 5.65 m.
    share = run.end_m3[-1, i] / run.capacity_m3[i]
    assert levels["cistern"] == pytest.approx(1.80 + 2.00 * share)
    weir = plan.filters["sand-a"].outlet_m
    assert weir is not None
    assert levels["sand-a"] == pytest.approx(weir + run.end_m3[-1, j] / 0.25)

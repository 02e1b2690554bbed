"""The numbers on the page about the sand's life are those that the code gives."""

from __future__ import annotations

import re
from datetime import date

import pytest

from docs.write import DOCS
from roofspring.hydraulics import orifice_diameter_m
from roofspring.sandfilter import conductivity_m_per_s
from roofspring.sandfilter.headloss import MODELS, CleanBed, head_loss
from roofspring.sandfilter.oxygen import (
    flowing_flux_kg_per_m2_s,
    oxygen_saturation_kg_per_m3,
    resting_flux_kg_per_m2_s,
    time_to_low_oxygen_s,
)
from roofspring.sandfilter.published_runs import published_runs
from roofspring.sandfilter.removal import GROUPS, passage_mean_log10, removal_range_log10
from roofspring.sandfilter.ripening import cleanings, ripening_time_s, waste_time
from roofspring.sandfilter.run_length import run_at_rate, run_through_seasons
from roofspring.sandfilter.skin import GROWTH_LAWS, GrowthLaw, Season
from roofspring.sandfilter.throttle import throttle_head_m, throttled_rate_m_per_s

PAGE = (DOCS / "guides" / "filter-life.md").read_text("utf-8")
DAY, HOUR, V = 86400.0, 3600.0, 0.1 / 3600.0
BED = CleanBed(0.7, 0.25e-3, 2.0)
BED_S = BED.depth_m / conductivity_m_per_s(BED.grain_m, temp_degc=20.0)


def cells(first: str) -> list[str]:
    """The cells of the one row that begins so, without the first."""
    rows = [line for line in PAGE.splitlines() if line.startswith(f"| {first}")]
    assert len(rows) == 1, first
    return [cell.strip() for cell in rows[0].strip("|").split("|")][1:]


@pytest.mark.parametrize("model", MODELS)
def test_head_loss(model: str) -> None:
    ours = [head_loss(V, bed=BED, temp_degc=t, model=model).loss_m * 1e3 for t in (5.0, 20.0)]
    assert cells(f"`{model}`") == [f"{x:.1f}" for x in ours]


@pytest.mark.parametrize("law", GROWTH_LAWS.values(), ids=list(GROWTH_LAWS))
def test_run_lengths(law: GrowthLaw) -> None:
    days = [
        run_at_rate(v / HOUR, head_m=0.5, bed_resistance_s=BED_S, law=law).time_s / DAY
        for v in (0.05, 0.1, 0.2, 0.4)
    ]
    assert cells(f"`{law.name}`") == [f"{x:.0f}" for x in days]


@pytest.mark.parametrize("name", cleanings())
def test_cleanings(name: str) -> None:
    row = cleanings()[name]
    said = cells(f"`{name}`")
    for cell, temp in ((said[3], 20.0), (said[4], 5.0)):
        waste = waste_time(name, temp_degc=temp)
        low, usual, high = (x / DAY for x in (waste.low_s, waste.usual_s, waste.high_s))
        assert cell == f"{usual:.0f} ({low:.0f} to {high:.0f})"
    assert said[2] == (f"{row.ripeness_left_frac:.0%}".replace("%", " %") if row.ripeness_left_frac
                       else "none")
    assert said[1] == (f"{row.skin_left_frac:.0%}".replace("%", " %") if row.skin_left_frac
                       else "none")


def test_ripening() -> None:
    ours = [ripening_time_s(temp_degc=t) / DAY for t in (25.0, 20.0, 15.0, 10.0, 5.0, 2.0)]
    assert "| " + " | ".join(f"{x:.0f} days" for x in ours) + " |" in PAGE


@pytest.mark.parametrize("group", GROUPS)
def test_removal(group: str) -> None:
    ours = [
        removal_range_log10(group, ripeness_frac=ripe, temp_degc=temp)
        for ripe, temp in ((0.0, 17.0), (0.5, 17.0), (1.0, 17.0), (1.0, 5.0))
    ]
    assert cells(f"{group} |") == [f"{low:.1f} to {high:.1f}" for low, high in ours]


def test_single_numbers() -> None:
    flat = re.sub(r"\s+", " ", PAGE)
    free = throttled_rate_m_per_s(0.5, resistance_s=BED_S) * HOUR
    hole = orifice_diameter_m(V * 0.25, head_m=throttle_head_m(0.5, rate_m_per_s=V, resistance_s=BED_S))
    assert f"passes {free:.1f} m/h" in flat
    assert f"0.1 m/h it is {hole * 1e3:.1f} mm" in flat
    pollen = Season(date(2001, 4, 15).timetuple().tm_yday, date(2001, 5, 30).timetuple().tm_yday, 3.0)
    run, bare = (
        run_through_seasons(
            V,
            head_m=0.5,
            bed_resistance_s=BED_S,
            law=GROWTH_LAWS["surface-cake"],
            start_day=date(2001, 4, 10).timetuple().tm_yday,
            seasons=seasons,
        ).time_s
        / DAY
        for seasons in ([pollen], [])
    )
    assert f"ends after {run:.0f} days and not after {bare:.0f}." in flat
    low = min(r.low_days for r in published_runs())
    high = max(r.high_days for r in published_runs())
    assert f"Published runs last {low:g} to {high:g} days" in flat
    assert f"two at 0.5 are {passage_mean_log10([50.0, 2.0], [2.0, 0.5]):.2f} log" in flat
    rest = resting_flux_kg_per_m2_s(0.05, temp_degc=20.0) * DAY * 1e6
    flow = flowing_flux_kg_per_m2_s(V, oxygen_kg_per_m3=oxygen_saturation_kg_per_m3(20.0)) * DAY * 1e3
    assert f"{rest:.0f} mg a day" in flat and f"at 0.1 m/h, {flow:.0f} g" in flat
    full, fifth = (
        time_to_low_oxygen_s(
            0.05, depth_m=0.7, porosity_frac=0.4, temp_degc=20.0, demand_kg_per_m2_s=V * 3e-3 * part
        )
        / HOUR
        for part in (1.0, 0.2)
    )
    assert f"lasts {full:.0f} hours" in flat and 30.0 < fifth < 40.0  # "a day and a half"

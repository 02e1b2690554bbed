"""What a run saw of a filter is counted again, from the books and not by the same way."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

from roofspring.network.forcing import water_degc
from roofspring.network.result import ArcKind, RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.read import LoadedPlan, read_plan
from roofspring.rain import RainRecord
from roofspring.reliability.filter_record import FilterRecord, filter_record
from roofspring.sandfilter.removal import removal_range_log10
from roofspring.workflows.demo import demo_record, write_demo
from roofspring.workflows.sand_bed import month_temps

Made = tuple[LoadedPlan, RainRecord, RunResult, FilterRecord]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder: Path = tmp_path_factory.mktemp("record")
    write_demo(folder)
    loaded, record = read_plan(folder), demo_record()
    run = simulate(loaded.plan, record)
    found = filter_record(
        run,
        "sand-a",
        plan=loaded.plan,
        water_degc=water_degc(loaded.plan, record),
    )
    return loaded, record, run, found


def test_waste_and_use_are_those_of_the_books(made: Made) -> None:
    _, _, run, found = made
    kinds: tuple[tuple[ArcKind, float], ...] = (
        ("waste", found.waste_m3_per_year),
        ("sand", found.filtered_m3_per_year),
    )
    for kind, per_year in kinds:
        total = run.total_m3(kind=kind, from_part="sand-a")
        assert per_year * run.years == pytest.approx(total, rel=1e-12)
    assert found.mean_m_per_s * 0.25 * len(run.days) * 86400.0 == pytest.approx(
        run.total_m3(kind="sand", from_part="sand-a")
        + run.total_m3(kind="waste", from_part="sand-a")
    )


def test_cleanings_by_month_are_all_of_them(made: Made) -> None:
    _, _, run, found = made
    marks = run.cleaned[:, run.filter_ids.index("sand-a")]
    assert found.cleanings_count + found.resands_count == int((marks > 0).sum())
    assert sum(found.by_month) == found.cleanings_count + found.resands_count > 0
    for day in run.days[marks > 0]:
        assert found.by_month[int(str(day)[5:7]) - 1] > 0


def test_new_sand_comes_after_as_many_scrapes_as_there_is_sand(made: Made) -> None:
    """0.70 to 0.50 m in scrapes of 15 mm are 13 (by hand); the 14th cleaning brings new sand."""
    _, _, run, found = made
    marks = run.cleaned[:, run.filter_ids.index("sand-a")]
    first = [int(m) for m in marks if m > 0][:14]
    assert first == [2] * 13 + [3]
    assert found.resand_seen
    day = int(np.flatnonzero(marks == 3)[0]) + 1
    assert found.resand_years == pytest.approx(day / 365.25)


def test_stops_and_unripe_days_are_counted_day_by_day(made: Made) -> None:
    _, _, run, found = made
    at = run.filter_ids.index("sand-a")
    assert found.unripe_frac == sum(v < 0.9 for v in run.ripeness_frac[:, at]) / len(run.days)
    arcs = [
        i for i, a in enumerate(run.arcs) if a.from_part == "sand-a" and a.kind in ("sand", "waste")
    ]
    # The bed counts as stopped below a twentieth of 0.1 m a day.
    still = [v / 0.25 < 0.05 * 0.1 for v in run.flow_m3[:, arcs].sum(axis=1)]
    assert found.still_frac == pytest.approx(sum(still) / len(still))
    longest = max(len(list(group)) for key, group in itertools.groupby(still) if key)
    assert found.longest_still_days == longest


def test_passage_is_averaged_and_never_the_log(made: Made) -> None:
    """``-log10(sum(f 10**-L))`` (HAAS_1999), day by day with the range of that day."""
    loaded, record, run, found = made
    at = run.filter_ids.index("sand-a")
    (arc,) = [i for i, a in enumerate(run.arcs) if a.from_part == "sand-a" and a.kind == "sand"]
    flow = run.flow_m3[:, arc]
    water = water_degc(loaded.plan, record)
    for group, low, high in found.removal_log10:
        passed = [0.0, 0.0]
        for volume, ripe, temp in zip(flow, run.ripeness_frac[:, at], water, strict=True):
            if volume > 0.0:
                ends = removal_range_log10(group, ripeness_frac=float(ripe), temp_degc=float(temp))
                for k in (0, 1):
                    passed[k] += float(volume) * 10.0 ** -ends[k]
        ours = [-np.log10(p / flow.sum()) for p in passed]
        assert [low, high] == pytest.approx(ours, rel=1e-9), group


def test_water_of_the_months_is_that_of_the_days(made: Made) -> None:
    loaded, record, _, _ = made
    months = month_temps(loaded.plan, record)
    daily = water_degc(loaded.plan, record)
    july = [d for day, d in zip(record.days, daily, strict=True) if str(day)[5:7] == "07"]
    assert months[6] == pytest.approx(sum(july) / len(july))
    assert months[6] > months[0]

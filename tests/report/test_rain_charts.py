from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from report.rain_documents import (
    BRUSSELS,
    SEATTLE,
    acceptance_table,
    century,
    daily,
    few_days,
    frequency_table,
    real,
)
from roofspring.rain.cloudburst import DesignRain, annual_maxima, design_rain
from roofspring.rain.completeness import completeness
from roofspring.rain.describe import MonthSpread, month_spread
from roofspring.rain.quality import QualityReport, Suspect, quality_report
from roofspring.rain.record import Kept, RainRecord
from roofspring.report.charts import Chart
from roofspring.report.rain_bursts_chart import bursts_chart
from roofspring.report.rain_charts import (
    BINS,
    SHADES,
    dry_chart,
    months_chart,
    record_chart,
)
from roofspring.report.rain_checks_charts import (
    acceptance_chart,
    completeness_chart,
    quality_chart,
)

HOURS_S = (300.0, 900.0, 3600.0, 10800.0, 43200.0, 86400.0, 172800.0)


def drawn(chart: Chart | None) -> Chart:
    assert chart is not None
    return chart


def marks(chart: Chart, name: str) -> list[dict[str, str]]:
    """Attributes of the elements of one kind, in order."""
    root = ElementTree.fromstring(chart.svg)
    return [dict(e.attrib) for e in root.iter(f"{{http://www.w3.org/2000/svg}}{name}")]


def design(record: RainRecord) -> list[DesignRain]:
    return [
        design_rain(
            duration_s=s, return_years=y, kind="AEP", record=record, resamples_count=100, seed=1
        )
        for s in HOURS_S
        for y in (2.0, 10.0, 100.0)
    ]


def every_chart(record: RainRecord, *, rains: list[DesignRain]) -> list[Chart]:
    made = [
        record_chart(record),
        months_chart(month_spread(record)),
        dry_chart(record),
        quality_chart(quality_report(record), record=record),
        completeness_chart(completeness(record)),
        bursts_chart(rains),
        acceptance_chart(acceptance_table()),
        acceptance_chart(acceptance_table(), place=2),
    ]
    return [c for c in made if c is not None]


def test_every_chart_of_a_hundred_years_is_small_named_and_well_formed() -> None:
    charts = every_chart(century(), rains=design(real(BRUSSELS)))
    assert [c.id for c in charts] == [
        "record", "months", "dry", "quality", "complete", "bursts", "acceptance-1", "acceptance-2",
    ]  # fmt: skip
    ids: list[str] = []
    for chart in charts:
        root = ElementTree.fromstring(chart.svg)
        assert root.get("role") == "img"
        assert chart.title in root.get("aria-label", "")
        assert len(chart.svg.encode()) < 150_000, chart.id
        assert not re.search(r"href|<image|@import|style=|<style|nan|inf\b", chart.svg)
        ids += [i for e in root.iter() if (i := e.get("id"))]
    assert len(ids) == len(set(ids))


def cells(chart: Chart) -> dict[tuple[int, int], int]:
    """Shade by year and five days, as drawn."""
    found: dict[tuple[int, int], int] = {}
    for path in marks(chart, "path"):
        if path.get("stroke") in SHADES and path.get("fill") == "none":
            for column, row, n in re.findall(r"M(\d+) (\d+)h(\d+)", path["d"]):
                for k in range(int(n)):
                    at = int(row), int(column) + k
                    assert at not in found
                    found[at] = SHADES.index(path["stroke"])
    return found


def test_the_heat_map_draws_every_five_days_of_whole_years_once() -> None:
    found = cells(drawn(record_chart(real(BRUSSELS))))
    assert set(found) == {(year, k) for year in range(30) for k in range(BINS)}


@pytest.mark.parametrize(
    ("day", "column"),
    [
        ("2020-01-05", 0), ("2020-01-06", 1),
        # 28 February is the 59th day: the twelfth five days, with the leap day; March begins it no
        # later in a leap year than in others.
        ("2020-02-28", 11), ("2020-02-29", 11), ("2020-03-01", 11), ("2021-03-01", 11),
        ("2020-03-02", 12), ("2021-03-02", 12), ("2020-12-31", 72), ("2021-12-31", 72),
    ],
)  # fmt: skip
def test_a_wet_day_is_drawn_in_its_five_days(day: str, column: int) -> None:
    days = np.arange("2020-01-01", "2022-01-01", dtype="datetime64[D]")
    rain = np.where(days == np.datetime64(day), 0.050, 0.0)
    found = cells(drawn(record_chart(daily("2020-01-01", rain))))
    wet = {at: shade for at, shade in found.items() if shade}
    assert wet == {(int(day[:4]) - 2020, column): 4}  # 40 to 80 mm


def test_a_day_without_a_value_is_hatched_and_days_outside_are_blank() -> None:
    chart = drawn(record_chart(few_days()))
    hatched = [p["d"] for p in marks(chart, "path") if p.get("fill") == "url(#chart-record-gap)"]
    assert [d.count("z") for d in hatched] == [1]  # the five days around 28 February
    assert set(cells(chart)) == {(0, 12)}
    assert "15 mm fell in 7 days" in chart.title


def test_the_title_tells_the_driest_and_the_wettest_whole_year() -> None:
    rain = np.concatenate([np.full(n, d) for n, d in ((365, 0.001), (365, 0.003), (100, 0.0))])
    chart = drawn(record_chart(daily("2021-01-01", rain)))
    assert chart.title == (
        "The driest whole year, 2021, had 365 mm; the wettest, 2022, had 1,095 mm."
    )


def test_the_months_are_as_high_as_their_middle_year() -> None:
    middle = tuple(0.010 * (m + 1) for m in range(12))
    spread = MonthSpread((20,) * 12, tuple(0.5 * v for v in middle), middle,
                         tuple(2.0 * v for v in middle))  # fmt: skip
    chart = drawn(months_chart(spread))
    high = [float(r["height"]) for r in marks(chart, "rect")]
    np.testing.assert_allclose(np.array(high) / high[0], np.arange(1, 13), rtol=2e-3)
    assert chart.title == (
        "December is the wettest month, with 120 mm in its middle year; "
        "January the driest, with 10 mm."
    )


def test_a_single_year_has_no_spread_and_a_part_of_a_month_has_no_bar() -> None:
    record = daily("2021-01-01", np.full(45, 0.001))
    chart = drawn(months_chart(month_spread(record)))
    assert len(marks(chart, "rect")) == 1
    assert chart.title == "January is the wettest month, with 31 mm in its only year."
    assert months_chart(month_spread(few_days())) is None


def test_the_longest_dry_spell_of_seattle() -> None:
    # 81 days under 1 mm to 2012-10-11, counted from the file on its own.
    chart = drawn(dry_chart(real(SEATTLE)))
    assert chart.title == "The longest dry spell, 81 days, ended on 2012-10-11."


def test_dry_spells_stand_where_they_fell() -> None:
    rain = np.full(200, 0.005)
    rain[20:60] = rain[150:170] = 0.0
    chart = drawn(dry_chart(daily("2021-01-01", rain)))
    bars = next(p["d"] for p in marks(chart, "path") if p.get("fill") == "#a35a00")
    found = [
        (float(x), float(bottom) - float(top), float(wide))
        for x, bottom, top, wide in re.findall(r"M([\d.]+) ([\d.]+)V([\d.]+)h([\d.]+)V", bars)
    ]
    (later, lower, narrow), (first, higher, wide) = found  # the longest is drawn last, on top
    assert higher / lower == pytest.approx(2.0, rel=2e-3)
    assert wide / narrow == pytest.approx(2.0, rel=5e-3)
    assert (later - first) / wide == pytest.approx(130.0 / 40.0, rel=5e-3)


@pytest.mark.parametrize(
    ("wet", "words"),
    [
        (slice(0, 5), "had lasted 5 days when the record ended, and may have gone on"),
        (slice(5, 10), "5 days, ended on 2021-06-05 and had begun before the record, or on"),
    ],
)
def test_a_spell_at_an_end_of_the_record_may_have_been_longer(wet: slice, words: str) -> None:
    rain = np.zeros(10)
    rain[wet] = 0.01
    assert words in drawn(dry_chart(daily("2021-06-01", rain))).title


def test_rain_on_every_day_gives_no_dry_spells() -> None:
    assert dry_chart(daily("2021-06-01", np.full(30, 0.01))) is None


def curves(chart: Chart) -> list[tuple[list[tuple[float, float]], bool]]:
    """Pieces of the curves: their ends, and whether they are dashed."""
    made = []
    for path in marks(chart, "path"):
        if float(path.get("stroke-width", "1")) in (2.0, 3.2):
            ends = [tuple(map(float, p.split())) for p in path["d"][1:].split("L")]
            made.append(([(p[0], p[1]) for p in ends], "stroke-dasharray" in path))
    return made


def test_scaled_depths_are_dashed_and_straight_over_an_hour() -> None:
    chart = drawn(bursts_chart(design(real(BRUSSELS))))
    pieces = curves(chart)
    # Three curves of six pieces; all that touch a duration under a day are scaled.
    assert [dashed for _, dashed in pieces] == 3 * [True, True, True, True, True, False]
    # Depth over an hour grows as duration**0.3, so intensity falls as duration**-0.7: with
    # logarithms on both axes a straight line. Decades of the axes give its slope.
    for at in range(0, 18, 6):
        slopes = [(b[1] - a[1]) / (b[0] - a[0]) for (a, b), _ in pieces[at + 2 : at + 5]]
        np.testing.assert_allclose(slopes, slopes[0], rtol=0.01)


def test_the_records_own_maxima_are_dots() -> None:
    record = real(BRUSSELS)
    maxima = [annual_maxima(record, duration_s=s) for s in (86400.0, 172800.0)]
    chart = drawn(bursts_chart(design(record), maxima=maxima))
    assert len(marks(chart, "circle")) == 60
    assert "Dots: the greatest of each year" in chart.caption


def test_a_table_of_the_place_is_read_and_its_numbers_are_told() -> None:
    table = frequency_table()
    rains = [
        design_rain(duration_s=s, return_years=y, kind="ARI", table=table)
        for s in (300.0, 900.0, 3600.0)
        for y in (2.0, 10.0)
    ]
    chart = drawn(bursts_chart(rains, units="us"))
    row = int(np.flatnonzero(table.duration_s == 900.0)[0])
    column = int(np.flatnonzero(table.return_years == 10.0)[0])
    inches = table.depth_m[row, column] / 0.0254
    assert chart.title.startswith(f"Once in 10 years on average, {inches:.2f} in or more falls in")
    assert not any(dashed for _, dashed in curves(chart))
    assert "mean intensity [in/h]" in chart.svg and "scaled" not in chart.caption
    assert bursts_chart(rains[:2]) is None  # one duration is no curve


def test_a_doubtful_stretch_stands_at_its_dates() -> None:
    record = daily("2021-01-01", np.full(730, 0.002))
    rows = (Suspect("zero-runs", "REC-104", "2022-01-01", "2022-12-31", 365.0, "days"),)
    chart = drawn(quality_chart(QualityReport((), rows, ("gaps", "zero-runs")), record=record))
    red = next(p["d"] for p in marks(chart, "path") if p.get("stroke") == "#b3141c")
    place = re.match(r"M(\d+) [\d.]+h(\d+)$", red)
    assert place is not None
    start, wide = map(int, place.groups())
    assert abs(start - 280) <= 1 and abs(start + wide - 554) <= 1  # the later half of 6 to 554
    assert chart.title.startswith("1 of 2 checks point at days of the record")
    assert quality_chart(QualityReport((), (), ("gaps",)), record=record) is None


def test_thousands_of_doubtful_days_do_not_swell_the_picture() -> None:
    record = century()
    rows = tuple(Suspect("gaps", "REC-101", str(d), str(d), 1.0, "days") for d in record.days[::2])
    chart = drawn(quality_chart(QualityReport((), rows, ("gaps",)), record=record))
    assert len(chart.svg) < 20_000
    assert f">{len(rows)}<" in chart.svg


def test_months_are_split_by_what_was_measured() -> None:
    record = daily("2021-01-01", np.full(365, 0.002))
    kept = record.kept.copy()
    kept[31:45] = Kept.FILLED  # half of February
    record = replace(record, kept=kept)
    chart = drawn(completeness_chart(completeness(record)))
    wide = {
        p["fill"]: [float(w) for w in re.findall(r"h([\d.]+)v", p["d"])]
        for p in marks(chart, "path")
        if "z" in p["d"]
    }
    assert len(wide["#d98a2b"]) == len(wide["none"]) == 1 and len(wide["#dcebf5"]) == 12
    assert wide["#d98a2b"][0] == pytest.approx(0.5 * wide["#dcebf5"][0], abs=0.01)
    assert chart.title == "11 of 12 months are whole; 14 days filled in the rest."
    assert "1 month has a heavy outline" in chart.caption


def test_a_whole_record_needs_no_picture_of_its_gaps() -> None:
    assert completeness_chart(completeness(real(BRUSSELS))) is None


def test_every_statistic_has_one_mark_where_it_stands() -> None:
    table = acceptance_table()
    chart = drawn(acceptance_chart(table))
    # The key has one dot and two triangles.
    assert len(marks(chart, "circle")) - 1 == table.inside_count == 11
    triangles = [p["d"] for p in marks(chart, "path") if p.get("fill") == "#b3141c"]
    assert len(triangles) - 2 == len(table.failed) == 2
    # Points up where the record is above: the tip is over the base.
    (march, july) = (tuple(map(float, re.findall(r"-?[\d.]+", d))) for d in triangles[2:])
    assert march[4] < march[1] and july[4] > july[1]
    assert march[3] < july[3]
    assert "11 of 13 statistics" in chart.title


def test_axes_and_titles_follow_the_unit_set() -> None:
    record = real(BRUSSELS)
    charts = [
        record_chart(record, units="us"),
        months_chart(month_spread(record), units="us"),
        dry_chart(record, units="us"),
        bursts_chart(design(record), units="us"),
    ]
    for chart in map(drawn, charts):
        root = ElementTree.fromstring(chart.svg)
        text = " ".join([*root.itertext(), chart.title, chart.caption])
        assert not re.search(r"\bmm\b", text), chart.id
    # 25.4 mm to the inch: 541 mm in the driest year.
    assert "1976, had 21.3 in" in drawn(charts[0]).title

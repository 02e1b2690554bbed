"""The sand page: whole HTML, all of it escaped, a section where there is something to say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from report.sand_documents import write_pages
from report.test_render import Page
from roofspring.report.sand_charts import box_chart, grading_chart
from roofspring.report.sand_sections import SECTION_IDS
from roofspring.sandfilter.gravel import RULES, GravelDesign, GravelLayer
from roofspring.workflows import SandRequest, sand
from roofspring.workflows.demo import SAND

BED = {
    "checks", "loss", "throttle", "water", "fall", "runs", "cleaning", "ripening", "removal",
    "oxygen", "guide",
}  # fmt: skip
HEADINGS = {
    "cut": {"grading", "limits", "cut", "buy", "gravel", "drain"},
    "blend": {"grading", "limits", "cut", "buy", "blend", "gravel", "drain"},
    "no-blend": {"grading", "limits", "cut", "blend"},
    "few": {"grading", "limits", "cut"},
    "hostile": {"grading", "limits", "cut", "buy", "gravel", "drain"},
    "rough": {"rough", "first"},
    "plan": {"grading", "limits", "cut", "buy", "gravel", "drain", "record"},
    "us": {"grading", "limits", "cut", "buy", "gravel", "drain", "record"},
    "nothing": {"first"},
}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("sand"))


@pytest.mark.parametrize("name", HEADINGS)
def test_a_page_is_whole_and_has_its_sections(pages: dict[str, Path], name: str) -> None:
    text = pages[name].read_text("utf-8")
    page = Page(text)
    assert page.open == []
    ids = [attrs["id"] for _, attrs in page.tags if attrs.get("id")]
    assert len(ids) == len(set(ids))
    assert {i for i in ids if i in SECTION_IDS} == HEADINGS[name] | BED
    links = re.findall(r'href="#([^"]+)"', text)
    assert set(links) <= set(ids)
    assert "://" not in re.sub(r"http://www\.w3\.org/[^\"]*", "", text)
    assert "Silica dust" in text and "mask" in text


def test_names_cannot_become_markup(pages: dict[str, Path]) -> None:
    text = pages["hostile"].read_text("utf-8")
    assert "<script" not in text
    assert "&lt;script&gt;" in text


def test_the_chart_shows_the_sieves_the_cuts_and_the_band(tmp_path: Path) -> None:
    (tmp_path / "pit.csv").write_text(SAND, "utf-8")
    study = sand(SandRequest(path=tmp_path / "pit.csv")).study
    chart = grading_chart(study)
    assert chart is not None and study.curve is not None
    assert "effective size 0.166 mm, uniformity 3.13" in chart.title
    assert "pit, as it is" in chart.svg and "pit, after the cuts" in chart.svg
    # A mark for each sieve of both curves, a line for each, and the band.
    after = study.bed_curve
    assert after is not None
    marks = chart.svg.count('class="mark-symbol role-mark')
    drawn = re.findall(r'class="mark-symbol role-mark[^"]*".*?</g>', chart.svg, re.DOTALL)
    assert marks == 1
    points = len(study.curve.sizes_m) + len(after.sizes_m)
    assert drawn[0].count("<path") == points
    # Named ticks on a logarithmic scale: a decade is as wide anywhere.
    at = {
        float(label): float(x)
        for x, label in re.findall(
            r'<text text-anchor="middle" transform="translate\(([\d.]+),[\d.]+\)"[^>]*>'
            r"([\d.]+)</text>",
            chart.svg,
        )
    }
    assert at[1.0] - at[0.1] == pytest.approx(at[2.0] - at[0.2], abs=1.0)


def test_a_box_of_more_layers_than_shades_is_drawn() -> None:
    layers = tuple(GravelLayer(0.002 * 2**n, 0.0028 * 2**n, 0.06, ()) for n in range(6))
    made = box_chart(
        GravelDesign(RULES["huisman-wood"], layers, 0.05),
        sand_m=0.7,
        drain=None,
        pipe_m=0.0,
        units="metric",
    )
    assert made is not None
    assert made.title.startswith("6 layers") and "64 to 89.6 mm" in made.svg

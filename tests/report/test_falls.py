"""The whole way down in the report: the metres of the example's plan, subtracted by hand."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from report.conftest import synthetic_document
from roofspring.network.levels import FallRow
from roofspring.plan.model import Plan
from roofspring.report.document import DesignDocument
from roofspring.report.flow_tables import fall_table, fall_words
from roofspring.report.render import render_html

OUTLET_M = {"cabin": 8.60, "woodshed": 8.55}
"""Gutter outlets of the example, as its plan file writes them."""
TAP_M = {"kitchen": 1.05, "house": 1.00, "yard": -0.60}
TITLE = "The whole way down, from gutter to tap"


def metres(text: str) -> list[float]:
    return [float(m) for m in re.findall(r"(−?[\d.]+) m\b", text.replace("-", "−"))]


def chapter(html: str) -> str:
    begin = html.index('<h2 id="levels">')
    return html[begin : html.index("</section>", begin)]


def test_each_row_is_the_fall_less_what_the_steps_take(document: DesignDocument) -> None:
    table = fall_table(document.falls, "metric")
    assert len(table.rows) == len(OUTLET_M) * len(TAP_M)
    assert table.is_narrow  # side by side on a phone
    for ends, *cells in table.rows:
        roof, _, tap = ends.partition(" to ")
        fall_m, taken_m, left_m = (metres(cell)[0] for cell in cells)
        assert fall_m == pytest.approx(OUTLET_M[roof] - TAP_M[tap])
        assert left_m == pytest.approx(fall_m - taken_m, abs=0.011)  # each printed to 10 mm


def test_the_sentence_is_of_the_tap_with_the_least_left(document: DesignDocument) -> None:
    words = fall_words(document.falls, "metric")
    least = min(metres(row[3])[0] for row in fall_table(document.falls, "metric").rows)
    left_m, taken_m, fall_m = metres(words)
    assert left_m == least
    assert " are left at the tap house, the least of all: " in words
    assert "from the gutter of woodshed" in words
    assert fall_m == pytest.approx(8.55 - 1.00)
    assert left_m == pytest.approx(fall_m - taken_m, abs=0.011)


def test_a_single_way_down_is_not_called_the_least() -> None:
    words = fall_words((FallRow("house.outlet", "kitchen.height", 4.35, 1.25),), "metric")
    assert "least" not in words
    assert metres(words) == [3.1, 1.25, 4.35]


def test_too_small_a_fall_is_said_without_a_minus() -> None:
    row = FallRow("house.outlet", "kitchen.height", 0.85, 1.25)
    words = fall_words((row,), "metric")
    assert words.startswith("0.40 m are missing at the tap kitchen: ")
    assert metres(words) == [0.4, 1.25, 0.85]
    assert "−" not in words
    assert fall_table((row,), "metric").rows[0][-1].replace("-", "−").startswith("−0.40")


def test_it_stands_in_the_chapter_on_heights_and_its_table_is_folded(
    document: DesignDocument,
) -> None:
    text = chapter(render_html(document))
    begin = text.index(TITLE)
    words = text.index("are left at the tap house", begin)
    folded = text.index("<details", words)
    assert words < folded < text.index("Every gutter and every tap: 6 rows", folded)


def test_without_a_way_down_nothing_is_said(document: DesignDocument) -> None:
    assert TITLE not in render_html(replace(document, falls=()))


def test_in_us_units_it_is_told_in_feet(demo_plan: Plan) -> None:
    document = synthetic_document(demo_plan.model_copy(update={"show": "us"}))
    left_ft, taken_ft, fall_ft = (
        float(n) for n in re.findall(r"([\d.]+) ft\b", fall_words(document.falls, "us"))
    )
    assert fall_ft * 0.3048 == pytest.approx(8.55 - 1.00, abs=0.05 * 0.3048)  # printed to a tenth
    assert left_ft == pytest.approx(fall_ft - taken_ft, abs=0.11)

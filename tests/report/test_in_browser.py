from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from report.pages import assert_page_fits_and_is_quiet
from roofspring.report.document import DesignDocument
from roofspring.report.render import render_html

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file_url(document: DesignDocument, tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(render_html(document), encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_fits_asks_for_nothing_and_is_quiet(
    chromium: Any, file_url: str, width: int
) -> None:
    assert_page_fits_and_is_quiet(chromium, file_url, width=width)


def test_no_text_of_the_section_overlaps_as_the_browser_sets_it(
    chromium: Any, file_url: str
) -> None:
    page = chromium.new_page(viewport={"width": 1600, "height": 900})
    page.goto(file_url)
    hits = page.evaluate(
        """() => {
          const boxes = [...document.querySelectorAll('svg.section text')].map(t => {
            const r = t.getBoundingClientRect();
            return {words: t.textContent, x0: r.left, x1: r.right,
                    y0: r.top + 0.22 * r.height, y1: r.bottom - 0.22 * r.height};
          });
          const hits = [];
          boxes.forEach((a, i) => boxes.slice(i + 1).forEach(b => {
            if (a.x0 < b.x1 - 1 && b.x0 < a.x1 - 1 && a.y0 < b.y1 && b.y0 < a.y1)
              hits.push([a.words, b.words]);
          }));
          return hits;
        }"""
    )
    assert hits == []
    page.close()


def test_letters_of_the_section_are_large_enough_on_a_phone(chromium: Any, file_url: str) -> None:
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(file_url)
    scale = page.evaluate(
        "document.querySelector('svg.section').getBoundingClientRect().width"
        " / document.querySelector('svg.section').viewBox.baseVal.width"
    )
    assert 11.5 * scale >= 9.5
    page.close()


def test_it_prints_with_everything_open(chromium: Any, file_url: str) -> None:
    page = chromium.new_page(viewport={"width": 1280, "height": 844})
    page.goto(file_url)
    table = page.locator("#assumed ~ details table")
    assert not table.is_visible()
    page.emulate_media(media="print")
    assert table.is_visible()
    pdf: bytes = page.pdf(format="A4", print_background=True)
    assert pdf.startswith(b"%PDF")
    # One of the sheets is turned sideways for the section.
    boxes = {tuple(float(v) for v in line.split()) for line in _media_boxes(pdf)}
    assert any(w > h for _, _, w, h in boxes)
    assert any(w < h for _, _, w, h in boxes)
    page.close()


def _media_boxes(pdf: bytes) -> list[str]:
    pieces = pdf.split(b"/MediaBox [")[1:]
    return [piece.split(b"]")[0].decode() for piece in pieces]

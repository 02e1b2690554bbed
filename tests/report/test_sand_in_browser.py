from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from report.pages import assert_page_fits_and_is_quiet
from report.sand_documents import write_pages

pytestmark = pytest.mark.browser

NAMES = ["cut", "blend", "no-blend", "few", "hostile", "rough", "plan", "us", "nothing"]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("sand"))


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", [*NAMES, "design"])
def test_the_page_fits_asks_for_nothing_and_is_quiet(
    chromium: Any, pages: dict[str, Path], name: str, width: int
) -> None:
    assert_page_fits_and_is_quiet(chromium, pages[name].as_uri(), width=width)


@pytest.mark.parametrize("name", NAMES)
def test_letters_of_the_charts_stay_large_apart_and_inside(
    chromium: Any, pages: dict[str, Path], name: str
) -> None:
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(pages[name].as_uri())
    found = page.evaluate(
        """() => [...document.querySelectorAll('svg.chart')].map(svg => {
          const sheet = svg.getBoundingClientRect();
          const scale = sheet.width / svg.viewBox.baseVal.width;
          const words = [...svg.querySelectorAll('text')].filter(t => t.textContent).map(t => {
            const r = t.getBoundingClientRect();
            return {text: t.textContent, size: scale * parseFloat(getComputedStyle(t).fontSize),
                    x0: r.left, x1: r.right, y0: r.top + 0.22 * r.height,
                    y1: r.bottom - 0.22 * r.height};
          });
          const hits = [];
          words.forEach((a, i) => words.slice(i + 1).forEach(b => {
            if (a.x0 < b.x1 - 1 && b.x0 < a.x1 - 1 && a.y0 < b.y1 && b.y0 < a.y1)
              hits.push([a.text, b.text]);
          }));
          return {hits, least: Math.min(...words.map(w => w.size)),
                  out: words.filter(w => w.x0 < sheet.left - 1 || w.x1 > sheet.right + 1
                    || w.y1 > sheet.bottom + 1).map(w => w.text)};
        })"""
    )
    assert found
    for chart in found:
        assert chart["hits"] == []
        assert chart["out"] == []
        assert chart["least"] >= 9.5
    page.close()


LONGEST_PX = 30_000
"""On a phone, of the page on a plan: a third of it is what to weigh and do."""


def test_on_a_phone_the_answer_comes_first_and_detail_is_folded(
    chromium: Any, pages: dict[str, Path]
) -> None:
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(pages["plan"].as_uri())
    assert page.locator(".say").bounding_box()["y"] < 844
    assert page.evaluate("document.documentElement.scrollHeight") < LONGEST_PX
    assert page.locator("details").count() > 20
    assert page.locator("details[open]").count() == 0
    sideways = page.evaluate(
        """() => [...document.querySelectorAll('.scroll')]
             .filter(box => box.scrollWidth > box.clientWidth + 1)
             .map(box => box.getAttribute('aria-label'))"""
    )
    assert sideways == []
    page.close()


def test_it_prints_with_all_that_is_folded(chromium: Any, pages: dict[str, Path]) -> None:
    page = chromium.new_page(viewport={"width": 700, "height": 1000})
    page.goto(pages["plan"].as_uri())
    page.emulate_media(media="print")
    heights = page.evaluate(
        """() => [...document.querySelectorAll('details > :not(summary)')]
             .map(inside => inside.getBoundingClientRect().height)"""
    )
    assert len(heights) > 20 and min(heights) > 10.0
    pdf: bytes = page.pdf(format="A4", print_background=True)
    assert pdf.startswith(b"%PDF")
    page.close()

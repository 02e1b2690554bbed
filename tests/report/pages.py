"""What every page of ours must do in a browser."""

from __future__ import annotations

from typing import Any


def assert_page_fits_and_is_quiet(chromium: Any, file_url: str, *, width: int) -> None:
    """The page is no wider than the window, asks for nothing but itself, and says nothing."""
    page = chromium.new_page(viewport={"width": width, "height": 844})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file_url)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert asked == [file_url]
    assert said == []
    page.close()


def assert_letters_of_charts_are_clear(chromium: Any, file_url: str) -> None:
    """On a phone the words of every chart are large enough, apart from each other and inside."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(file_url)
    found = page.evaluate(
        """() => [...document.querySelectorAll('svg.chart')].map(svg => {
          const sheet = svg.getBoundingClientRect();
          const scale = sheet.width / svg.viewBox.baseVal.width;
          const words = [...svg.querySelectorAll('text')].map(t => {
            const r = t.getBoundingClientRect();
            return {text: t.textContent, size: scale * t.getAttribute('font-size'),
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

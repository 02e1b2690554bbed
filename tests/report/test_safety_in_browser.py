from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from report.pages import assert_page_fits_and_is_quiet
from report.safety_documents import write_pages

pytestmark = pytest.mark.browser

NAMES = ["demo", "hostile", "nobody"]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("safety"))


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", NAMES)
def test_the_page_fits_asks_for_nothing_and_is_quiet(
    chromium: Any, pages: dict[str, Path], name: str, width: int
) -> None:
    assert_page_fits_and_is_quiet(chromium, pages[name].as_uri(), width=width)


@pytest.mark.parametrize("name", NAMES)
def test_the_summary_prints_on_one_sheet(chromium: Any, pages: dict[str, Path], name: str) -> None:
    """At the width of an A4 sheet, the summary is no higher than the sheet."""
    page = chromium.new_page(viewport={"width": 695, "height": 1000})  # A4 less its margins, 96 dpi
    page.emulate_media(media="print")
    page.goto(pages[name].as_uri())
    high = page.evaluate("document.querySelector('.summary').getBoundingClientRect().height")
    assert 0 < high < 1016  # 297 mm less two margins of 14 mm
    page.close()

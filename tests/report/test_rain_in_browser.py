from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from report.pages import assert_letters_of_charts_are_clear, assert_page_fits_and_is_quiet
from report.rain_documents import (
    BRUSSELS,
    NEW_YORK,
    acceptance_table,
    century,
    daily,
    document,
    few_days,
    frequency_table,
    real,
)
from roofspring.rain.record import Kept
from roofspring.report.rain_page import RainDocument, render_rain_html

pytestmark = pytest.mark.browser

PAGES: dict[str, Callable[[], RainDocument]] = {
    "thirty-years": lambda: document(real(BRUSSELS), acceptance=(acceptance_table(),)),
    "one-year": lambda: document(real(NEW_YORK), units="us", table=frequency_table()),
    "century": lambda: document(century()),
    "few": lambda: document(few_days()),
    "invented": lambda: document(
        daily("2021-01-01", np.full(800, 0.002), kept=Kept.INVENTED),
    ),
}


@pytest.fixture(scope="module", params=list(PAGES))
def file_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("rain") / f"{request.param}.html"
    path.write_text(render_rain_html(PAGES[request.param]()), encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_fits_asks_for_nothing_and_is_quiet(
    chromium: Any, file_url: str, width: int
) -> None:
    assert_page_fits_and_is_quiet(chromium, file_url, width=width)


def test_letters_of_the_charts_stay_large_apart_and_inside(chromium: Any, file_url: str) -> None:
    assert_letters_of_charts_are_clear(chromium, file_url)


def test_it_prints_with_everything_open(chromium: Any, file_url: str) -> None:
    page = chromium.new_page(viewport={"width": 1280, "height": 844})
    page.goto(file_url)
    page.emulate_media(media="print")
    folded = page.locator("details table")
    for k in range(folded.count()):
        assert folded.nth(k).is_visible()
    pdf: bytes = page.pdf(format="A4", print_background=True)
    assert pdf.startswith(b"%PDF")
    page.close()

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from report.pages import assert_page_fits_and_is_quiet
from report.safety_documents import write_pages
from roofspring.safety.inspection import read_answers

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
@pytest.mark.parametrize(("width", "height"), [(695, 1016), (718, 950)], ids=["A4", "Letter"])
def test_the_summary_prints_on_one_sheet(
    chromium: Any, pages: dict[str, Path], name: str, width: int, height: int
) -> None:
    """At the width of a sheet less its margins, 96 dpi, the summary is no higher than the sheet."""
    page = chromium.new_page(viewport={"width": width, "height": 1000})
    page.emulate_media(media="print")
    page.goto(pages[name].as_uri())
    high = page.evaluate("document.querySelector('.summary').getBoundingClientRect().height")
    assert 0 < high < height
    page.close()


def test_the_walk_round_filled_on_a_phone_goes_into_the_logbook(
    chromium: Any, pages: dict[str, Path], tmp_path: Path
) -> None:
    """No script: the answers stand in the address, and the sheet reader takes the address."""
    page = chromium.new_page(viewport={"width": 390, "height": 844}, has_touch=True)
    page.goto(pages["demo"].as_uri())
    page.locator("#walk ~ details > summary").tap()
    for name, said in (("S01", "no"), ("S19", "yes")):
        box = page.locator(f'label:has(input[name="{name}"][value="{said}"])')
        assert box.bounding_box()["height"] >= 40  # a thumb finds it
        box.tap()
    page.get_by_role("button", name="Put the answers").click()
    page.wait_for_url("**S19=yes#taken")
    assert page.get_by_text("The answers stand in the address").is_visible()
    found = read_answers(f"my walk\t{page.url}".partition("\t")[2])
    assert [(g.question, g.is_fault) for g in found] == [("S01", False), ("S19", True)]
    page.close()


def test_the_walk_round_prints_without_what_is_for_the_screen(
    chromium: Any, pages: dict[str, Path]
) -> None:
    page = chromium.new_page(viewport={"width": 695, "height": 1000})
    page.emulate_media(media="print")
    page.goto(pages["demo"].as_uri())
    assert not page.get_by_role("button", name="Put the answers").is_visible()
    assert not page.get_by_text("open, and fill in while you walk").is_visible()
    assert page.get_by_text("Yeses marked STOP: __").is_visible()
    high = page.evaluate("document.querySelector('.sheet-walk').getBoundingClientRect().height")
    assert high < 4 * 1016  # four sheets of A4
    page.close()

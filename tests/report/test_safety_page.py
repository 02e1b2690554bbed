"""The page on drinking water: whole HTML, escaped, no promise, a summary and a walk-round."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from report.safety_documents import write_pages
from report.test_render import Page
from roofspring.units import unbroken

NAMES = ["demo", "hostile", "nobody"]
ALWAYS = {"disinfection", "materials", "testing", "walk", "lay", "evidence"}
WITH_TAPS = {"ways", "risk", "change", "credits"}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    made = write_pages(tmp_path_factory.mktemp("safety"))
    return {name: file.read_text("utf-8") for name, file in made.items()}


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_whole_and_has_its_sections(pages: dict[str, str], name: str) -> None:
    page = Page(pages[name])
    assert page.open == []
    ids = [attrs["id"] for _, attrs in page.tags if attrs.get("id")]
    assert len(ids) == len(set(ids))
    assert set(ids) >= ALWAYS
    assert (set(ids) >= WITH_TAPS) == (name != "nobody")
    assert set(re.findall(r'href="#([^"]+)"', pages[name])) <= set(ids)
    assert "://" not in re.sub(r"http://www\.w3\.org/[^\"]*", "", pages[name])


@pytest.mark.parametrize("name", NAMES)
def test_it_promises_nothing(pages: dict[str, str], name: str) -> None:
    text = re.sub(r"<style>.*?</style>|<[^>]+>", " ", pages[name], flags=re.DOTALL)
    assert not re.search(r"\b(safe|safely|potable|certified)\b", text, re.IGNORECASE)
    assert "not a test of your water" in text
    assert "Babies under 12 months" in text
    assert "never into or through the living sand filter" in text


def test_names_cannot_become_markup(pages: dict[str, str]) -> None:
    assert "<script" not in pages["hostile"]
    assert "&lt;script&gt;" in pages["hostile"]


def test_prices_stand_beside_what_they_reach(pages: dict[str, str]) -> None:
    """The coin is escaped; without prices one sentence says how to give them."""
    section = re.findall(r'aria-labelledby="costs">(.*?)</section>', pages["hostile"], re.DOTALL)
    (told,) = section
    assert "&lt;i&gt;crowns" in told and "<i>crowns" not in pages["hostile"]
    rows = [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.DOTALL)
            for row in re.findall(r"<tr>(.*?)</tr>", told, re.DOTALL)]  # fmt: skip
    heads, first, light = rows[0], rows[1], rows[2]
    assert heads[-1] == unbroken("Goal met by 95 % of households for")
    assert unbroken("Each 1,000 gal drunk") in heads
    assert first[:3] == ["as it stands: the sand filter", "900", "138 (117 to 177)"]
    assert light[:2] == ["ultraviolet light", "1,200"] and light[4] == "471"
    assert "boiling all that is drunk" in [row[0] for row in rows]
    assert "costs" not in re.findall(r'id="(\w+)"', pages["demo"])
    for name in ("demo", "nobody"):
        assert ("No prices are built in" in pages[name]) == (name == "demo")


def test_the_walk_round_has_a_box_for_every_answer(pages: dict[str, str]) -> None:
    asked = re.findall(r'<span class="id">(S\d\d)', pages["demo"])
    assert asked == [f"S{i:02}" for i in range(1, 43)]
    for said in ("yes", "no"):
        boxes = re.findall(rf'<input type="radio" name="(S\d\d)" value="{said}">', pages["demo"])
        assert boxes == asked


def test_the_logbook_stands_on_the_page(tmp_path: Path) -> None:
    from roofspring.workflows import log, safety, write_demo

    write_demo(tmp_path)
    plan = (tmp_path / "plan.toml").read_text("utf-8")
    without_rain = plan.replace('file = "rain.csv"\nform = "csv"\n', "")
    (tmp_path / "plan.toml").write_text(without_rain, "utf-8")
    sheet = tmp_path / "walk.csv"
    sheet.write_text("S01,yes\nS19,yes\n", "utf-8")
    log.add_walk(tmp_path, answers=sheet, note="<b>storm</b>")
    log.add_test(tmp_path, what="lead", value="<1 ug/L", point="kitchen", method="<i>acid</i>")
    (file,) = safety(tmp_path, out=tmp_path / "out").files
    text = Path(file).read_text("utf-8")
    assert "What the logbook says" in text and "By the logbook" in text
    assert "Faults of the newest walk-round" in text and "40 questions not looked at" in text
    assert "&lt;0.001 mg/L" in text and "<i>acid" not in text and "&lt;i&gt;acid" in text


def test_the_first_step_mends_the_bypass(pages: dict[str, str]) -> None:
    steps = re.findall(r'<ol class="steps">(.*?)</ol>', pages["demo"], re.DOTALL)[0]
    assert steps.index("raw-overflow") < steps.index("boil what is drunk.</li>")


def test_the_report_has_its_chapter(tmp_path: Path) -> None:
    from roofspring.workflows import design, log, write_demo

    write_demo(tmp_path)
    log.add_test(tmp_path, what="lead", value="12 ug/L", point="kitchen")
    design(tmp_path, out=tmp_path / "out")
    text = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert "What the logbook says" in text and "SAF-132" in text
    assert text.count("Is it fit to drink?") == 2
    assert "The weakest ways to a tap" in text and "Babies under 12 months" in text


def test_us_units_reach_the_sums_as_well(pages: dict[str, str]) -> None:
    """Gallons and degrees F where the plan asks for them; a US gallon is 3.785 L (NIST SP 811)."""
    bleach = re.sub(r"<[^>]+>", " ", pages["hostile"])
    assert unbroken("55 gal") in bleach and unbroken("1,000 L") not in bleach
    assert unbroken("20 °C, 68 °F") in bleach
    assert unbroken("1,000 L") in re.sub(r"<[^>]+>", " ", pages["demo"])

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

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
from report.test_render import Page
from roofspring.rain import Neighbour, assess
from roofspring.rain.record import Kept, RainRecord
from roofspring.report.rain_page import RainDocument, render_rain_html


@pytest.fixture(scope="module")
def brussels() -> RainDocument:
    return document(real(BRUSSELS), acceptance=(acceptance_table(),))


@pytest.fixture(scope="module")
def html(brussels: RainDocument) -> str:
    return render_rain_html(brussels)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def invented() -> RainRecord:
    rain = np.where(np.arange(3653) % 3 == 0, 0.007, 0.0)
    return daily("2021-01-01", rain, kept=Kept.INVENTED)


def all_zero() -> RainRecord:
    return daily("2016-01-01", np.zeros(731))


def pages() -> list[RainDocument]:
    return [
        document(real(BRUSSELS), acceptance=(acceptance_table(), acceptance_table())),
        document(real(NEW_YORK), table=frequency_table(), units="us"),
        document(invented()),
        document(few_days()),
        document(all_zero()),
        document(daily("2021-01-01", np.zeros(0))),
    ]


@pytest.mark.parametrize("which", range(6))
def test_the_page_is_well_formed_alone_and_runs_nothing(which: int) -> None:
    page = Page(render_rain_html(pages()[which]))
    assert page.open == []
    ids = [a["id"] for _, a in page.tags if a.get("id")]
    assert len(ids) == len(set(ids))
    assert {str(a["href"])[1:] for t, a in page.tags if t == "a"} <= set(ids)
    for tag, attributes in page.tags:
        assert tag not in ("script", "link", "img", "iframe", "object", "embed", "base", "form")
        for name, value in attributes.items():
            assert not name.startswith("on") and name != "style", (tag, name)
            if name in ("src", "href", "xlink:href", "action", "srcset", "data"):
                assert value is not None and value.startswith("#"), (tag, name, value)
    assert not re.search(r"\b(nan|inf|None)\b", page.text.replace("None is given", ""))


def test_the_answer_comes_first_then_findings_pictures_and_numbers(page: Page) -> None:
    ids = [a.get("id") for _, a in page.tags]
    order = [
        "ask", "findings", "pictures", "figure-record", "figure-months", "figure-dry", "numbers",
        "heavy", "figure-bursts", "models", "figure-acceptance-1", "read", "cautions", "computed",
    ]  # fmt: skip
    places = [ids.index(name) for name in order]
    assert places == sorted(places)


def test_a_good_record_is_summed_up_in_one_sentence(page: Page) -> None:
    # 841 mm a year, 38 days: counted from the file on its own.
    assert "30 years of daily rain, 841 mm a year, nothing doubtful found." in page.text
    assert "under 1.0 mm is 38 days, to 1990-08-14" in page.text


def test_doubt_is_said_in_the_first_sentence_and_in_full_below() -> None:
    text = Page(render_rain_html(document(all_zero()))).text
    first = text[text.index("2 years of daily rain") : text.index("to mend before this is used")]
    assert "0 mm a year; doubtful: no rain at all in whole years" in first
    assert "Stop 1. No rain at all in whole years" in text and "REC-103" in text


def test_every_finding_is_there_in_order() -> None:
    said = document(few_days())
    text = Page(render_rain_html(said)).text
    at = 0
    assert said.findings
    for n, finding in enumerate(said.findings, start=1):
        what = finding.what[:1].upper() + finding.what[1:]
        at = text.index(f"{finding.severity.capitalize()} {n}. {what}", at)
        for piece in (finding.where, finding.got, finding.limit, finding.code):
            assert piece in text[at:], piece


def test_invented_rain_is_said_loudly_and_gives_no_heavy_rain(html: str) -> None:
    made = render_rain_html(document(invented()))
    assert made.count("INVENTED RAIN") == 1 and "INVENTED" not in html
    text = Page(made).text
    assert "10 years of invented daily rain" in text and "no gauge measured it" in text
    assert "a generator is no witness of cloudbursts" in text
    assert "figure-bursts" not in made
    with_table = document(invented(), table=frequency_table())
    assert {r.way for r in with_table.design} == {"table"} and with_table.maxima == ()


def test_names_from_the_record_stay_text() -> None:
    page = Page(render_rain_html(document(few_days())))
    assert not any(tag in ("script", "img") for tag, _ in page.tags)
    assert "<script>alert(1)</script> & co" in page.text
    assert '"><img src=x>' in page.text


def test_control_characters_do_not_reach_the_page() -> None:
    record = replace(all_zero(), name="a\x00b\x07c")
    assert "a b c" in render_rain_html(document(record))


def test_the_three_words_and_the_tick_never_appear() -> None:
    for one in pages():
        text = render_rain_html(one)
        assert not re.search(r"\b(safe|safely|potable|certified)\b", text, re.IGNORECASE)
        assert not re.search("[\u2713\u2714\u2705]", text)


def test_a_page_in_us_units_has_no_metric_numbers(brussels: RainDocument) -> None:
    us = document(real(BRUSSELS), units="us", acceptance=(acceptance_table(),))
    text = Page(render_rain_html(us)).text
    assert "33.1 in a year" in text  # 841 mm at 25.4 mm to the inch
    # The sentence on how it was read, and the findings, are texts of others.
    mine = text.replace("Read in a test; no gaps.", "")
    assert re.findall(r"\d (m|mm|cm|mm²|°C)\b|\[(m|mm)\b", mine) == []


def test_depths_stand_with_their_band_and_their_source(page: Page, brussels: RainDocument) -> None:
    day = next(r for r in brussels.design if (r.duration_s, r.return_years) == (86400.0, 10.0))
    assert day.low_m is not None and day.high_m is not None
    cell = f"{day.depth_m * 1e3:.0f} mm ({day.low_m * 1e3:.0f}–{day.high_m * 1e3:.0f})"
    row = page.text[page.text.index("1 day 3") :]
    assert cell in row[: row.index("the record")]
    assert "scaled from 1 day" in page.text and day.source in page.text


def test_a_table_of_the_place_is_preferred(brussels: RainDocument) -> None:
    both = document(real(BRUSSELS), table=frequency_table())
    assert {r.way for r in both.design} == {"table"}
    assert {r.way for r in brussels.design} == {"record", "scaled"}
    assert {r.kind for r in both.design} == {"ARI"}


def test_a_year_is_too_little_for_heavy_rain() -> None:
    text = Page(render_rain_html(document(real(NEW_YORK)))).text
    assert "None is given: the greatest rain of at least 5 years is needed, and one year" in text


def test_a_model_fails_in_a_plain_sentence(page: Page) -> None:
    assert (
        "Fails on monthly skew in March (too low in the model); monthly skew in July (too high in "
        "the model)." in page.text
    )
    assert "2 outside the band" in page.text


def test_a_hundred_years_make_a_page_that_can_be_sent() -> None:
    assert len(render_rain_html(document(century())).encode()) < 600_000


def test_a_finding_is_listed_once() -> None:
    first = document(all_zero())
    again = document(all_zero().with_findings(*first.findings))
    assert again.findings == first.findings


def test_the_page_speaks_one_set_of_units_and_names_the_neighbours() -> None:
    """The record was read in metric units; the page says every finding once, in its own."""
    gauge = real(BRUSSELS)
    depth = gauge.depth_m.copy()
    depth[100:107], depth[7000:] = 0.003, 0.5 * depth[7000:]
    depth[3000:3060] = 0.0
    doubtful = replace(gauge, depth_m=depth)
    doubtful = doubtful.with_findings(*assess(doubtful))
    near = Neighbour(replace(gauge, name="village"), distance_m=6_000.0)
    made = document(doubtful, units="us", neighbours=(near,))
    found = [f.code for f in made.findings]
    assert {"REC-113", "REC-123", "REC-127", "REC-129"} <= set(found)
    assert len(found) == len(set(found))
    text = Page(render_rain_html(made)).text
    assert "village, 3.7 miles" in text
    assert not re.search(r"\d ?(mm|cm|m|km)\b|°C", text)
    metric = Page(render_rain_html(document(doubtful, neighbours=(near,)))).text
    assert "village, 6 km" in metric and not re.search(r"[.]\d+ in\b|°F|miles", metric)
    assert "Judged beside" not in Page(render_rain_html(document(doubtful))).text

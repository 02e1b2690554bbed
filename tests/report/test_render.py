from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest

from report.conftest import ran, synthetic_document, without_rain
from roofspring.plan.model import Plan
from roofspring.report.document import DesignDocument
from roofspring.report.render import render_html
from roofspring.units import unbroken

VOID = {"meta", "link", "br", "img", "hr", "input"}


class Page(HTMLParser):
    """Collects what the tests ask for, and refuses tags that do not close."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("style", "script"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def html(document: DesignDocument) -> str:
    return render_html(document)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_the_page_is_well_formed_and_its_ids_are_unique(page: Page) -> None:
    assert page.open == []
    ids = [a["id"] for _, a in page.tags if a.get("id")]
    assert len(ids) == len(set(ids))
    anchors = {str(a["href"])[1:] for t, a in page.tags if t == "a"}
    assert anchors <= set(ids)


def test_nothing_is_asked_from_outside_and_nothing_runs(page: Page) -> None:
    for tag, attributes in page.tags:
        assert tag not in ("script", "link", "img", "iframe", "object", "embed", "base", "form")
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            assert name != "style", tag
            if name in ("src", "href", "xlink:href", "action", "srcset", "data"):
                assert value is not None and value.startswith("#"), (tag, name, value)


def test_every_finding_is_there_in_order_with_its_parts(
    page: Page, document: DesignDocument
) -> None:
    at = 0
    for n, finding in enumerate(document.findings, start=1):
        word = finding.severity.capitalize()
        at = page.text.index(f"{word} {n}. {finding.what}", at)
        for piece in (finding.where, finding.got, finding.limit, finding.next, finding.code):
            assert piece in page.text[at:], piece


def test_answers_come_first_then_findings_then_the_drawing(html: str, page: Page) -> None:
    document_order = [
        "ask-last", "ask-flow", "findings", "finding-1", "finding-5", "section", "part-raw",
        "supply", "figure-stores", "uses", "levels", "methods", "rain", "assumed", "cautions",
        "computed",
    ]  # fmt: skip
    ids = [a.get("id") for _, a in page.tags]
    places = [ids.index(name) for name in document_order]
    assert places == sorted(places)
    assert html.index("Will it last?") < html.index("Will it flow?") < html.index('id="findings"')


def test_the_answers_and_their_doubt_are_there(page: Page, document: DesignDocument) -> None:
    _, supply = ran(document)
    for words in (
        supply.sentence,
        supply.doubt,
        document.levels_sentence,
        document.record_words,
        document.provenance.rain_hash,
    ):
        assert words in page.text


def test_the_worst_events_stand_with_their_days(html: str, document: DesignDocument) -> None:
    after = html.partition("The worst that happened</h3>")[2].partition("</table>")[0]
    assert document.supply is not None
    for event in document.supply.worst:
        for text in (f"{event.words[0].upper()}{event.words[1:]}", event.begins, event.ends):
            assert f">{unbroken(text)}</td>" in after


def test_no_line_ends_between_a_number_and_its_unit(html: str) -> None:
    body = re.sub(r"<svg.*?</svg>|<style.*?</style>", "", html, flags=re.DOTALL)
    assert re.findall(r"\d (?:mm|m|°C|%|L)\b", body) == []
    assert "20\u00a0°C" in body


def test_invented_rain_is_said_loudly_and_only_then(html: str, document: DesignDocument) -> None:
    assert html.count("INVENTED RAIN") == 2
    assert document.record is not None
    measured = replace(
        document,
        record=replace(document.record, kept=document.record.kept * 0),
        supply=replace(ran(document)[1], invented=False),
    )
    assert "INVENTED" not in render_html(measured)


def test_missing_heights_say_what_to_give(page: Page) -> None:
    assert "not checked : give clean.outlet" in page.text


def test_the_three_words_and_the_tick_never_appear(html: str) -> None:
    assert not re.search(r"\b(safe|safely|potable|certified)\b", html, re.IGNORECASE)
    assert not re.search("[\u2713\u2714\u2705]", html)


def test_names_from_the_plan_stay_text(hostile_document: DesignDocument) -> None:
    page = Page(render_html(hostile_document))
    assert not any(tag in ("script", "img") for tag, _ in page.tags)
    assert "<script>alert(1)</script> & co" in page.text
    assert "</p><script>alert(3)</script>" in page.text


def test_control_characters_do_not_reach_the_page(document: DesignDocument) -> None:
    plan = document.plan.model_copy(update={"name": "a\x00b\x07c"})
    assert "a b c" in render_html(replace(document, plan=plan))


@pytest.mark.parametrize(
    ("change", "there", "words"),
    [
        ({}, True, "Never climb into a tank"),
        ({"tanks": {}}, False, "Never climb into a tank"),
        ({}, True, "about 24.0 tonnes"),
        ({"filters": {}}, False, "Never mix chlorine"),
        ({"roofs": {}}, False, "Tie the ladder"),
        ({"tanks": {}, "roofs": {}, "filters": {}}, True, "health department"),
    ],
)
def test_cautions_appear_where_they_apply(
    document: DesignDocument, change: dict[str, Any], there: bool, words: str
) -> None:
    # The pipes go too, so that the plan stays whole.
    update = {**change, "pipes": {}} if change else {}
    plan = document.plan.model_copy(update=update)
    assert (words in render_html(replace(document, plan=plan))) is there


def test_a_plan_in_us_units_gives_a_report_in_us_units(demo_plan: Plan) -> None:
    plan = demo_plan.model_copy(update={"show": "us"})
    text = Page(render_html(synthetic_document(plan))).text
    assert "gal a year" in text
    # The sentence on heights and the findings of this document are fixed texts; the report writes
    # the rest.
    mine = text[: text.index("Will it flow?")] + text[text.index("Section, heights to scale") :]
    metric = r"\d (m|mm|m²|m³|L|m/h|tonnes?|litres?)\b|\[(m|mm|m³)\b"
    assert re.findall(metric, mine.replace("weir of sand-b to 5.630 m", "")) == []


def test_us_weight_of_the_heaviest_tank(demo_plan: Plan) -> None:
    # 4 m by 3 m by 2 m up to the lip is 24 tonnes; a pound is 0.45359237 kg, exact.
    plan = demo_plan.model_copy(update={"show": "us"})
    text = Page(render_html(synthetic_document(plan))).text
    assert "Full, the cistern holds about 53,000 pounds of it." in text


def test_a_margin_of_nothing_has_no_minus(document: DesignDocument) -> None:
    check = replace(document.levels[0], have_m=0.05, need_m=0.05, margin_m=-4e-16)
    page = Page(render_html(replace(document, levels=(check,))))
    assert "50 mm 50 mm 0 mm holds" in page.text


@pytest.fixture(scope="module")
def dry(document: DesignDocument) -> str:
    return render_html(without_rain(document))


def test_without_rain_the_page_says_so_and_leaves_out_what_needs_it(
    dry: str, document: DesignDocument
) -> None:
    page = Page(dry)
    assert page.open == []
    ids = [str(a["id"]) for _, a in page.tags if a.get("id")]
    assert len(ids) == len(set(ids))
    assert {str(a["href"])[1:] for t, a in page.tags if t == "a"} <= set(ids)
    assert (
        "Will it last? Not answered: the plan has no rain record. Put one beside it." in page.text
    )
    assert not {"supply", "uses", "methods", "rain"} & set(ids)
    assert not any(i.startswith(("figure-", "chart-")) for i in ids)
    assert "INVENTED" not in dry and "Rain record" not in page.text
    assert unbroken(ran(document)[1].sentence) not in page.text


def test_without_rain_the_page_keeps_the_rest(dry: str, document: DesignDocument) -> None:
    page = Page(dry)
    ids = [a.get("id") for _, a in page.tags]
    kept = [
        "ask-last", "ask-flow", "findings", "finding-1", "section", "part-raw", "levels", "assumed",
        "cautions", "computed",
    ]  # fmt: skip
    places = [ids.index(name) for name in kept]
    assert places == sorted(places)
    for words in (
        document.levels_sentence,
        document.findings[0].what,
        "SUP-110",
        "weir above sand",
        "Depth of runoff held back",
        "about 24.0 tonnes",
        "No temperatures of your place were given.",
        "No rain was run through the plan",
    ):
        assert words in page.text, words


def test_without_a_run_the_legend_says_where_the_water_levels_are_from(dry: str, html: str) -> None:
    assert "water level (where a run would start: no run was made)" in dry
    assert "water level (mean of the run)" in html
    assert "where a run would start" not in html


def test_a_record_that_was_read_is_shown_without_a_run(document: DesignDocument) -> None:
    text = render_html(replace(without_rain(document), record=document.record))
    assert 'id="rain"' in text and 'id="supply"' not in text
    assert text.count("INVENTED RAIN") == 2


def test_a_report_without_findings_does_not_praise(document: DesignDocument) -> None:
    text = Page(render_html(replace(document, findings=()))).text
    assert "No findings. That is no proof that nothing is wrong" in text


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition of "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize(
    ("front", "back"),
    [
        ("ink", "paper"), ("ink", "tint"), ("soft", "paper"), ("soft", "tint"), ("stop", "paper"),
        ("amber", "paper"), ("blue", "paper"),
    ],
)  # fmt: skip
def test_text_is_dark_enough_to_read(html: str, front: str, back: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
    def find(name: str) -> str:
        found = re.search(rf"--{name}:(#[0-9a-f]{{3,6}})", html)
        assert found
        short = found.group(1)
        return short if len(short) == 7 else "#" + "".join(c * 2 for c in short[1:])

    light, dark = sorted((luminance(find(front)), luminance(find(back))), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5

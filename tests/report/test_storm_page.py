"""The page on one storm: what stands on it, and how it looks in a browser."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from network.build import DEMO, PLAIN_ROOF, pipe, plan_of, tank, use
from report.pages import assert_letters_of_charts_are_clear, assert_page_fits_and_is_quiet
from roofspring.network.assemble import assemble
from roofspring.network.faults import break_plan
from roofspring.plan.model import Plan
from roofspring.reliability.storm import (
    StormAnswer,
    assess_storm,
    design_weather,
    on_day,
    record_weather,
)
from roofspring.report.storm_charts import (
    account_chart,
    changes_chart,
    levels_chart,
    rain_and_flows_chart,
)
from roofspring.report.storm_page import render_storm_html
from roofspring.units import unbroken
from roofspring.workflows.demo import demo_record

DEMO_PLAN = Plan.model_validate(tomllib.loads(DEMO.read_text("utf-8")))
BUTT = plan_of('show = "us"', PLAIN_ROOF, tank("butt", volume_m3=1.0), pipe("p", "r", "butt"))


def made_to_order() -> tuple[Plan, StormAnswer]:
    return DEMO_PLAN, assess_storm(DEMO_PLAN, design_weather(depth_m=0.04, duration_s=3600.0))


def of_the_record() -> tuple[Plan, StormAnswer]:
    record = demo_record()
    assembled = assemble(DEMO_PLAN)
    day = record.days[400]
    weather = record_weather(DEMO_PLAN, record, start=day, hours=72.0, step_s=60.0)
    broken = break_plan(DEMO_PLAN, "feed-a:stuck-open")
    state = on_day(DEMO_PLAN, record, assembled, day)
    return broken.plan, assess_storm(broken.plan, weather, state=state, faults=[broken])


def small_and_mild() -> tuple[Plan, StormAnswer]:
    return BUTT, assess_storm(BUTT, design_weather(depth_m=0.002, duration_s=300.0))


PAGES: dict[str, Callable[[], tuple[Plan, StormAnswer]]] = {
    "made-to-order": made_to_order,
    "of-the-record": of_the_record,
    "small-and-mild": small_and_mild,
}


def page_of(name: str) -> str:
    plan, answer = PAGES[name]()
    return render_storm_html(plan, answer, plan_file="plan.toml", invented=name == "of-the-record")


def test_it_says_the_answer_the_account_and_what_was_tried() -> None:
    plan, answer = made_to_order()
    page = render_storm_html(plan, answer, plan_file="plan.toml")
    assert unbroken(answer.sentence) in page
    assert answer.advice is not None
    assert unbroken(answer.advice.sentence) in page
    for row in answer.account:
        assert unbroken(row.words) in page
    for tried in answer.advice.tried:
        assert unbroken(tried.words) in page
    assert "INVENTED RAIN" not in page
    assert re.findall(r'figure id="figure-storm-(\w+)"', page) == [
        "account",
        "flows",
        "levels",
        "changes",
    ]
    assert not re.search(r"\bsafe|potable|certified", page)


def test_changes_that_make_no_difference_are_folded_away() -> None:
    """Less than half a litre, so shown as 0 L: a name is enough."""
    plan, answer = made_to_order()
    page = render_storm_html(plan, answer, plan_file="plan.toml")
    shown, _, folded = page.partition("No difference by any of these")
    assert answer.advice is not None
    idle = 0
    for tried in answer.advice.tried:
        does = max(abs(tried.more_kept_m3), abs(tried.more_filtered_m3)) >= 0.0005
        idle += not does
        assert (f">{unbroken(tried.words)}</td>" in shown) == does
        assert (f">{unbroken(tried.words)}</td>" in folded) != does
    assert 0 < idle < len(answer.advice.tried)


def test_a_fault_and_invented_rain_are_said() -> None:
    page = page_of("of-the-record")
    assert "INVENTED RAIN" in page
    assert "Under a fault." in page
    assert "FLT-101" in page


def test_the_bars_add_up_to_all_that_fell() -> None:
    plan, answer = made_to_order()
    chart = account_chart(plan, answer)
    assert chart is not None
    litres = [float(v.replace(",", "")) for v in re.findall(r">([\d,]+) L \(", chart.svg)]
    assert sum(litres) == pytest.approx(answer.fell_m3 * 1000.0, abs=0.5 * len(litres))


def test_a_plan_without_heights_has_no_chart_of_levels() -> None:
    plan, answer = small_and_mild()
    assert levels_chart(plan, answer) is None
    assert changes_chart(plan, answer) is None  # nothing was lost
    assert "through the sand" in rain_and_flows_chart(plan, answer).svg


def test_without_rain_there_is_no_account() -> None:
    plan = plan_of(PLAIN_ROOF, tank("t", volume_m3=1.0, start=1.0), pipe("p", "r", "t"),
                   use("u", "t", "1 L/day"))  # fmt: skip
    answer = assess_storm(plan, design_weather(depth_m=0.01, duration_s=300.0).dry)
    assert account_chart(plan, answer) is None
    assert render_storm_html(plan, answer, plan_file="plan.toml")


@pytest.fixture(scope="module", params=list(PAGES))
def file_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("storm") / f"{request.param}.html"
    path.write_text(page_of(request.param), encoding="utf-8")
    return path.as_uri()


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_fits_asks_for_nothing_and_is_quiet(
    chromium: Any, file_url: str, width: int
) -> None:
    assert_page_fits_and_is_quiet(chromium, file_url, width=width)


@pytest.mark.browser
def test_letters_of_the_charts_stay_large_apart_and_inside(chromium: Any, file_url: str) -> None:
    assert_letters_of_charts_are_clear(chromium, file_url)


@pytest.mark.browser
def test_it_prints(chromium: Any, file_url: str) -> None:
    page = chromium.new_page(viewport={"width": 1280, "height": 844})
    page.goto(file_url)
    pdf: bytes = page.pdf(format="A4", print_background=True)
    assert pdf.startswith(b"%PDF")
    page.close()

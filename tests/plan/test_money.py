"""Prices in the plan file: the owner's own, told back as written, and every slip on its line."""

from __future__ import annotations

import pytest

from plan.texts import BARE, load, problems
from roofspring.plan.explain import all_fields, explain
from roofspring.plan.money import Money
from roofspring.plan.new import NewPlanAnswers, new_plan
from roofspring.plan.write import set_value

PRICED = f"""{BARE}
[money]
coin = "crowns"
rate = "3 %"
drunk = "40 L/day"

[price.sand]
first = 900
yearly = 60.25
replacements = [{{ cost = 80, every = "5 years" }}, {{ cost = 7, every = "18 months" }}]
left = 100

[price.uv]
first = 1200
yearly = 200
"""


def test_prices_are_read_as_they_stand() -> None:
    plan = load(PRICED).plan
    sand, light = plan.prices["sand"], plan.prices["uv"]
    assert (sand.first_cost, sand.cost_per_year, sand.left_value) == (900.0, 60.25, 100.0)
    assert [(r.cost, r.every_years) for r in sand.replacements] == [(80.0, 5.0), (7.0, 1.5)]
    assert (light.replacements, light.left_value) == ((), 0.0)
    assert plan.money.rate_frac == pytest.approx(0.03)
    assert plan.money.drunk_m3_per_day == pytest.approx(0.04)


def test_no_price_stands_in_for_one_that_is_left_out() -> None:
    plan = load(BARE).plan
    assert plan.prices == {}
    assert plan.money == Money()
    assert (plan.money.rate_frac, plan.money.years_count) == (0.04, 20)


@pytest.mark.parametrize(
    ("name", "text", "origin"),
    [
        ("money.coin", "crowns", "given"),
        ("money.rate", "0.03", "given"),
        ("money.years", "20", "default"),
        ("price.sand.first", "900", "given"),
        ("uv.yearly", "200", "given"),
        (
            "price.sand.replacements",
            "[{ cost = 80, every = 5 years }, { cost = 7, every = 18 months }]",
            "given",
        ),
        ("price.uv.replacements", "none", "default"),
        ("price.uv.left", "0", "default"),
    ],
)
def test_a_price_is_explained(name: str, text: str, origin: str) -> None:
    told = explain(load(PRICED), name)
    assert (told.text, told.origin) == (text, origin)


def test_chosen_defaults_say_so_and_every_field_is_listed_once() -> None:
    loaded = load(PRICED)
    told = {t.where: t for t in all_fields(loaded)}
    assert told["money.rate"].origin == "given"
    assert told["money.years"].source == "engineering choice"
    assert {f"price.sand.{k}" for k in ("first", "yearly", "replacements", "left")} <= set(told)
    for one in told.values():
        assert (one.origin == "given") == loaded.given(one.where), one.where


PRICE = "[price.uv]\nfirst = 1\nyearly = 2\n"
SLIPS = [
    ("PLN-014", "[price.chlorin]\nfirst = 1\nyearly = 2\n", "[price.chlorin]", '"chlorine"'),
    ("PLN-014", "[price.lamp]\nfirst = 1\nyearly = 2\n", "[price.lamp]", "one of these names"),
    ("PLN-010", PRICE.replace("yearly", "yeerly") + "yearly = 2\n", "yeerly", '"yearly"'),
    ("PLN-012", "[price.uv]\nyearly = 2\n", "[price.uv]", "first ="),
    ("PLN-012", "[price.uv]\nfirst = 2\n", "[price.uv]", "yearly ="),
    ("PLN-013", PRICE.replace("= 1", '= "900 crowns"'), "900 crowns", "[money]"),
    ("PLN-013", PRICE.replace("= 1", '= "90 %"'), "90 %", "[money]"),
    ("PLN-013", PRICE.replace("= 1", "= true"), "true", "the number alone"),
    ("PLN-013", PRICE.replace("= 1", "= -1"), "= -1", "check the number"),
    ("PLN-013", PRICE.replace("= 1", "= nan"), "= nan", "check the number"),
    ("PLN-013", PRICE.replace("= 1", "= inf"), "= inf", "check the number"),
    ("PLN-013", PRICE.replace("= 1", "= 1" + "0" * 400), "= 1000", "check the number"),
    ("PLN-015", PRICE + 'replacements = { cost = 1, every = "1 year" }\n', "replacements", "as de"),
    ("PLN-015", PRICE + "replacements = [7]\n", "replacements", "{ key = value"),
    ("PLN-010", PRICE + 'replacements = [{ cost = 1, every = "1 year", evry = 1 }]\n', "evry",
     '"every"'),
    ("PLN-012", PRICE + "replacements = [{ cost = 1 }]\n", "cost = 1", "inside the braces"),
    ("PLN-013", PRICE + "replacements = [{ cost = 1, every = 5 }]\n", "every = 5", "5 years"),
    ("PLN-013", PRICE + 'replacements = [{ cost = 1, every = "0 years" }]\n', "0 years", "unit"),
    ("PLN-013", PRICE + 'replacements = [{ cost = 1, every = "5 m" }]\n', "5 m", "5 years"),
    ("PLN-015", "[price]\nuv = 3\n", "uv = 3", "sand or uv or chlorine"),
    ("PLN-052", PRICE + "left = 5\n", "left = 5", "check both"),
    ("PLN-013", '[money]\nrate = "104 %"\n', "104 %", "check the unit"),
    ("PLN-013", "[money]\nrate = -0.01\n", "-0.01", "check the unit"),
    ("PLN-013", "[money]\nyears = 0\n", "years = 0", "check the number"),
    ("PLN-015", "[money]\nyears = 20.5\n", "20.5", "as described"),
    ("PLN-015", '[money]\ncoin = "' + "x" * 21 + '"\n', "coin", "as described"),
    ("PLN-013", '[money]\ncoin = "\\u001b[31m"\n', "coin", "backslash"),
    ("PLN-010", '[money]\ncoyn = "crowns"\n', "coyn", '"coin"'),
    ("PLN-011", "[mony]\nyears = 3\n", "[mony]", '"money"'),
]  # fmt: skip


@pytest.mark.parametrize(("code", "more", "at", "step"), SLIPS)
def test_a_slip_is_told_on_its_line(code: str, more: str, at: str, step: str) -> None:
    text = BARE + more
    (problem,) = problems(text)
    assert problem.code == code
    assert at in text.split("\n")[(problem.line or 0) - 1]
    assert step in problem.next and problem.what
    assert problem.allowed or code == "PLN-015"


def test_all_slips_of_one_price_are_told_at_once() -> None:
    text = BARE + '[price.uv]\nfirst = "1"\nyearly = -1\nreplacements = [{ cost = -1, evry = 2 }]\n'
    found = sorted(p.code for p in problems(text))
    assert found == ["PLN-010", "PLN-012", "PLN-013", "PLN-013", "PLN-013"]


@pytest.mark.parametrize(
    ("name", "value", "wanted"),
    [
        ("price.uv.left", "12", 12.0),
        ("money.years", "15", 15),
        ("money.rate", "3.5 %", 0.035),
    ],
)
def test_a_price_can_be_changed(name: str, value: str, wanted: float) -> None:
    text = set_value(load(PRICED), name, value)
    assert explain(load(text), name).value == pytest.approx(wanted)


def test_the_example_of_a_new_plan_reads_once_it_is_taken_out_of_its_comment() -> None:
    text = new_plan(NewPlanAnswers("Alder Bench"))
    assert load(text).plan.prices == {}
    head, mark, tail = text.partition("# [money]")
    assert mark
    shown = "\n".join(line.removeprefix("# ") for line in (mark + tail).split("\n"))
    plan = load(head + shown).plan
    assert plan.money.coin == "crowns" and list(plan.prices) == ["uv"]

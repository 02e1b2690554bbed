"""Costs stand beside what they reach: by hand-made risks and plans, with sums worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from plan.texts import BARE, load
from roofspring.plan.model import Plan
from roofspring.safety.prices import FAIR, SafetyCosts, safety_costs
from roofspring.safety.risk import AgentRisk, Option, agents, assess_agent, barriers

FILTER = '[filter.sand]\narea = "1 m2"\n'
SAND = '[price.sand]\nfirst = 900\nyearly = 60\nreplacements = [{ cost = 80, every = "5 years" }]\n'
LIGHT = (
    '[price.uv]\nfirst = 1200\nyearly = 200\nreplacements = [{ cost = 900, every = "10 years" }]\n'
)
CHLORINE = "[price.chlorine]\nfirst = 50\nyearly = 320\n"
MET, MISSED = 1e-5, 1e-2


@pytest.fixture(scope="module")
def one() -> AgentRisk:
    """A true risk, small: its options are exchanged below."""
    agent = agents()["giardia"]
    return assess_agent(agent, barriers([1.0], [2.0]), households=8, years_each=5)


def _risk(one: AgentRisk, label: str, **p95: float) -> AgentRisk:
    """A germ whose changes have these ends of the band; as it is, the goal is missed."""

    def bands(high: float) -> dict[str, float]:
        return {"p05": high / 100.0, "p50": high / 10.0, "p95": high}

    options = tuple(Option(n.replace("_", "-"), n, bands(high)) for n, high in p95.items())
    return replace(one, label=label, options=options, as_it_is_per_person_year=bands(MISSED))


def _plan(text: str, people: int = 5) -> Plan:
    return load(f"{BARE}[site]\npeople = {people}\n{text}").plan


def _costs(plan: Plan, risk: list[AgentRisk], present: frozenset[str] = frozenset()) -> SafetyCosts:
    made = safety_costs(plan, risk, present=present)
    assert made is not None
    return made


def test_the_worked_example_comes_out_with_the_sand_in_it(one: AgentRisk) -> None:
    """1879.6 and 4526.1 over 13.5903 years at 40 L a day, computed by hand: 9.47 and 22.81."""
    plan = _plan(FILTER + SAND + LIGHT + '[money]\ncoin = "crowns"\ndrunk = "40 L/day"\n')
    made = _costs(plan, [_risk(one, "Giardia", uv=MET)])
    assert made.stands is not None
    assert made.stands.present_cost == pytest.approx(1879.6, abs=0.05)
    assert made.stands.cost_per_m3 == pytest.approx(9.47, abs=0.005)
    (light,) = made.changes
    assert light.alone.cost_per_year == pytest.approx(333.0, abs=0.05)
    assert light.alone.cost_per_m3 == pytest.approx(22.81, abs=0.005)
    assert light.whole is not None  # the sand that needs light carries it: 138.3 + 333.0
    assert light.whole.cost_per_year == pytest.approx(471.3, abs=0.1)
    assert "1,200 crowns at first" in made.each[1] and "471 a year" in made.each[1]


def test_people_drink_what_the_risk_reckons_where_the_plan_says_nothing(one: AgentRisk) -> None:
    made = _costs(_plan(FILTER + SAND + LIGHT), [_risk(one, "Giardia", uv=MET)])
    assert made.drunk_l_per_day == pytest.approx(5 * 0.8725)  # 3.49 cups of a quarter litre
    assert "5 people" in made.says[-2]
    nobody = _costs(_plan(FILTER + SAND + LIGHT, people=0), [_risk(one, "Giardia", uv=MET)])
    assert nobody.changes[0].alone.cost_per_m3 is None and "drunk;" not in nobody.each[1]


def test_no_order_is_told_of_what_does_not_reach_the_same(one: AgentRisk) -> None:
    plan = _plan(FILTER + LIGHT + CHLORINE)
    unequal = [
        _risk(one, "Giardia", uv=MET, chlorine=MISSED),
        _risk(one, "Campylobacter", uv=MET, chlorine=MET),
    ]
    made = _costs(plan, unequal)
    assert not any("order" in line for line in made.says)
    by_name = {c.name: c for c in made.changes}
    assert by_name["uv"].misses == () and by_name["chlorine"].misses == ("Giardia",)
    equal = [_risk(one, "Giardia", uv=MET, chlorine=MET)]
    assert any("order" in line for line in _costs(plan, equal).says)


def test_none_that_reaches_no_goal_is_ordered(one: AgentRisk) -> None:
    made = _costs(_plan(LIGHT + CHLORINE), [_risk(one, "Giardia", uv=MISSED, chlorine=MISSED)])
    assert not any("order" in line for line in made.says)
    assert all("reached for no germ" in line for line in made.each)


def test_an_order_that_turns_with_the_rate_is_told_at_both_ends(one: AgentRisk) -> None:
    """Light 305 at 0 % and 333 at 4 %, by hand (6100 / 20; 4526.1 / 13.5903); chlorine 322.5."""
    made = _costs(_plan(LIGHT + CHLORINE), [_risk(one, "Giardia", uv=MET, chlorine=MET)])
    (line,) = [line for line in made.says if "order" in line]
    assert "changes with the rate" in line
    assert "at 0 % ultraviolet light (305 a year), then chlorine" in line
    assert "at 4 % chlorine with proven contact (324 a year), then ultraviolet light (333" in line
    assert "at 10 % chlorine" in line
    cheap = "[price.chlorine]\nfirst = 1\nyearly = 1\n"
    made = _costs(_plan(LIGHT + cheap), [_risk(one, "Giardia", uv=MET, chlorine=MET)])
    (line,) = [line for line in made.says if "order" in line]
    assert "The order is the same at 0 %, 4 % and 10 %" in line


def test_a_filter_without_a_price_is_not_free(one: AgentRisk) -> None:
    made = _costs(_plan(FILTER + LIGHT), [_risk(one, "Giardia", uv=MET)])
    assert made.stands is None and made.changes[0].whole is None
    assert any("[price.sand]" in line and "only the changes are summed" in line
               for line in made.says)  # fmt: skip


def test_a_lamp_that_stands_is_part_of_what_stands(one: AgentRisk) -> None:
    plan = _plan(FILTER + SAND + LIGHT + CHLORINE)
    made = _costs(plan, [_risk(one, "Giardia", chlorine=MET)], frozenset({"uv"}))
    assert made.stands_words == "the sand filter and light"
    assert made.stands is not None
    assert made.stands.cost_per_year == pytest.approx(471.3, abs=0.1)
    assert [c.name for c in made.changes] == ["chlorine"]


def test_closing_a_bypass_with_a_lamp_costs_both_and_is_no_rival_of_the_lamp(
    one: AgentRisk,
) -> None:
    text = LIGHT + "[price.no-bypass]\nfirst = 35\nyearly = 0\n"
    risk = [_risk(one, "Giardia", uv=MET, no_bypass=MISSED, no_bypass_and_uv=MET)]
    made = _costs(_plan(text), risk)
    assert [c.name for c in made.changes] == ["uv", "no-bypass", "no-bypass-and-uv"]
    assert made.changes[2].alone.first_cost == 1235.0
    assert not any("order" in line for line in made.says)


def test_prices_that_are_missing_or_not_used_are_named(one: AgentRisk) -> None:
    risk = [_risk(one, "Giardia", uv=MET, chlorine=MET, boiling=MET)]
    made = _costs(_plan(SAND + LIGHT + "[price.no-bypass]\nfirst = 5\nyearly = 0\n"), risk)
    assert "No price is given for chlorine with proven contact and boiling all that is drunk." in (
        made.says
    )
    assert any("[price.sand] is not used: the plan has no sand filter" in s for s in made.says)
    assert any("[price.no-bypass] is not used" in s for s in made.says)


def test_a_scenario_is_told_as_one(one: AgentRisk) -> None:
    virus = replace(_risk(one, "norovirus", uv=MET), is_scenario=True)
    made = _costs(_plan(LIGHT), [_risk(one, "Giardia", uv=MISSED), virus])
    assert made.changes[0].reaches == ("norovirus (what if)",)


def test_without_prices_or_risk_there_is_no_sum(one: AgentRisk) -> None:
    assert safety_costs(_plan(FILTER), [_risk(one, "Giardia", uv=MET)]) is None
    assert safety_costs(_plan(LIGHT), []) is None


def test_what_a_plan_of_its_own_says_is_not_called_our_choice(one: AgentRisk) -> None:
    risk = [_risk(one, "Giardia", uv=MET)]
    assert "engineering choice" in _costs(_plan(LIGHT), risk).says[-2]
    told = _costs(_plan(LIGHT + "[money]\nrate = 0\nyears = 15\n"), risk)
    assert "engineering choice" not in told.says[-2]
    assert "15 years at a real rate of 0 %" in told.says[-2]
    assert told.says[-1] == FAIR


def test_in_us_units_a_thousand_gallons_are_told(one: AgentRisk) -> None:
    text = f'{BARE}show = "us"\n[site]\npeople = 5\n{LIGHT}[money]\ndrunk = "40 L/day"\n'
    made = _costs(load(text).plan, [_risk(one, "Giardia", uv=MET)])
    assert "86.3 for each 1,000 gal drunk" in made.each[0]  # 22.81 x 3.785, by hand


def test_the_json_holds_numbers_and_words(one: AgentRisk) -> None:
    made = _costs(_plan(FILTER + SAND + LIGHT), [_risk(one, "Giardia", uv=MET)]).to_dict()
    assert made["as_it_stands"]["first_cost"] == 900.0
    (change,) = made["changes"]
    assert change["alone"].keys() == {
        "first_cost", "present_cost", "cost_per_year", "cost_per_year_at_0_percent",
        "cost_per_year_at_10_percent", "cost_per_m3",
    }  # fmt: skip
    assert change["alone"]["cost_per_year_at_0_percent"] == 305.0
    assert change["reaches"] == ["Giardia"] and change["misses"] == []

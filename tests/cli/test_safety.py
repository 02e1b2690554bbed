"""The safety command as a user meets it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from cli.conftest import Ended, Run
from cli.contract import (
    CHANGE_COST_KEYS,
    COST_KEYS,
    COST_SUM_KEYS,
    PATH_KEYS,
    RISK_KEYS,
    SAFETY_KEYS,
)
from sand.sands import write

PRICES = """
[money]
coin = "crowns"
[price.sand]
first = 900
yearly = 60
[price.uv]
first = 1200
yearly = 200
replacements = [{ cost = 900, every = "10 years" }]
"""


def answer(ended: Ended) -> dict[str, list[dict[str, object]]]:
    assert ended.code == 0, ended.err or ended.out
    found: dict[str, list[dict[str, object]]] = json.loads(ended.out)
    return found


def test_the_planted_faults_are_told_first(run: Run, four_years: Path) -> None:
    ended = run("safety", four_years)
    assert ended.code == 0
    assert ended.out.startswith(
        "Is it fit to drink?  Not as drawn: unfiltered roof water can reach"
    )
    words = re.sub(r"\s+", " ", ended.out)
    assert "could plausibly be" in words and "It is not a test of your water" in words
    for code in ("SAF-101", "SAF-109", "SAF-115", "SAF-120", "LVL-007", "LVL-016"):
        assert code in ended.out
    assert max(map(len, ended.out.splitlines())) <= 80
    assert run("safety", four_years, "--strict").code == 1


def test_the_stable_keys(run: Run, four_years: Path) -> None:
    found = answer(run("safety", four_years, "--json"))
    assert found.keys() >= SAFETY_KEYS
    assert all(path.keys() >= PATH_KEYS for path in found["paths"])
    assert all(risk.keys() >= RISK_KEYS for risk in found["risk"])
    first = found["paths"][0]
    assert first["bypass"] is True and first["barriers"] == [] and first["to"] == "house"
    agents = [risk["agent"] for risk in found["risk"]]
    assert agents == ["campylobacter", "salmonella", "giardia", "cryptosporidium", "norovirus"]


def test_no_number_of_the_risk_has_more_than_two_digits(run: Run, four_years: Path) -> None:
    found = answer(run("safety", four_years, "--json"))
    for risk in found["risk"]:
        for key in ("infections_per_person_year", "daly_per_person_year"):
            bands = risk[key]
            assert isinstance(bands, dict)
            for value in bands.values():
                assert value == float(f"{value:.2g}")


def test_mending_the_plan_mends_the_answer(run: Run, four_years: Path, tmp_path: Path) -> None:
    """The overflow to the swale and a lamp at each tap: less risk, and no stop of the ways."""
    text = (four_years / "plan.toml").read_text("utf-8")
    mended = text.replace('to = "cistern.inlet"     # the fault', 'to = "lower-swale"     # mended')
    assert mended != text
    for tap, pipe in (("kitchen", "to-kitchen"), ("house", "to-house")):
        mended = mended.replace(f'to = "{tap}"\n', f'to = "lamp-{tap}"\n')
        mended += (
            f'\n[disinfection.lamp-{tap}]\nmethod = "uv"\n[pipe.{pipe}-2]\n'
            f'from = "lamp-{tap}"\nto = "{tap}"\n'
        )
    write(tmp_path, mended, "plan.toml")
    write(tmp_path, (four_years / "rain.csv").read_text("utf-8"), "rain.csv")
    before = answer(run("safety", four_years, "--json"))
    after = answer(run("safety", tmp_path, "--json"))
    codes = {f["code"] for f in after["findings"]}
    assert not codes & {"SAF-101", "SAF-102", "SAF-108", "SAF-109"}
    for worse, better in zip(before["risk"], after["risk"], strict=True):
        a, b = worse["infections_per_person_year"], better["infections_per_person_year"]
        assert isinstance(a, dict) and isinstance(b, dict)
        assert b["p95"] < a["p50"]


def test_prices_of_the_plan_are_summed_and_none_is_made_up(
    run: Run, four_years: Path, tmp_path: Path
) -> None:
    """A plan without prices is told how to give them; with them, sums stand by what they reach."""
    plain = run("safety", four_years)
    assert "No prices are built in" in re.sub(r"\s+", " ", plain.out)
    assert "What that would cost" not in plain.out
    assert answer(run("safety", four_years, "--json"))["costs"] is None
    text = (four_years / "plan.toml").read_text("utf-8")
    priced = re.sub(r"\[rain\].*?\n\n", "", text, flags=re.DOTALL) + PRICES
    write(tmp_path, priced, "plan.toml")
    ended = run("safety", tmp_path)
    words = re.sub(r"\s+", " ", ended.out)
    assert "What that would cost" in words and "1,200 crowns at first" in words
    assert "at a real rate of 4 % (engineering choice)" in words
    assert max(map(len, ended.out.splitlines())) <= 80
    costs: Any = answer(run("safety", tmp_path, "--json"))["costs"]
    assert costs.keys() == COST_KEYS
    assert all(c.keys() == CHANGE_COST_KEYS for c in costs["changes"])
    assert all(c["alone"].keys() == COST_SUM_KEYS for c in costs["changes"])
    assert costs["as_it_stands"].keys() == COST_SUM_KEYS


def test_a_bad_price_is_told_with_its_line(run: Run, tmp_path: Path) -> None:
    write(tmp_path, 'format = 1\nname = "A"\n[price.uv]\nfirst = "9 crowns"\nyearly = 1\n',
          "plan.toml")  # fmt: skip
    ended = run("safety", tmp_path, "--json")
    assert ended.code == 2
    (problem,) = json.loads(ended.out)["problems"]
    assert (problem["code"], problem["line"], problem["where"]) == (
        "PLN-013", 4, "price.uv.first",
    )  # fmt: skip


def test_without_rain_it_says_what_it_cannot_show(
    run: Run, four_years: Path, tmp_path: Path
) -> None:
    text = (four_years / "plan.toml").read_text("utf-8")
    without = re.sub(r"\[rain\].*?\n\n", "", text, flags=re.DOTALL)
    write(tmp_path, without, "plan.toml")
    ended = run("safety", tmp_path)
    assert ended.code == 0
    assert "No rain was run through the plan" in re.sub(r"\s+", " ", ended.out)
    found = answer(run("safety", tmp_path, "--json"))
    water: Any = found["water"]
    assert water["from_run"] is False


def test_a_plan_from_which_nobody_drinks(run: Run, four_years: Path, tmp_path: Path) -> None:
    text = (four_years / "plan.toml").read_text("utf-8")
    write(tmp_path, re.sub(r"drinking = true.*", "", text), "plan.toml")
    write(tmp_path, (four_years / "rain.csv").read_text("utf-8"), "rain.csv")
    ended = run("safety", tmp_path)
    assert ended.code == 0 and "SAF-117" in ended.out and "no tap that people drink" in ended.out


def test_the_page_is_written_whole(run: Run, four_years: Path, tmp_path: Path) -> None:
    ended = run("safety", four_years, "--out", tmp_path / "pages")
    page = (tmp_path / "pages" / "safety.html").read_text("utf-8")
    assert "safety.html" in ended.out and page.rstrip().endswith("</html>")
    assert "INVENTED RAIN" in page


@pytest.mark.parametrize("words", [("safety",), ("safety", "nowhere")])
def test_bad_input(run: Run, words: tuple[str, ...]) -> None:
    assert run(*words).code == 2

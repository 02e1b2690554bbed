"""What the answering commands print, as text and as JSON. The keys are those of the contract."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from cli.conftest import Run, put
from cli.contract import CHECK_KEYS, EVENT_KEYS, STORE_KEYS, SUPPLY_KEYS, USE_KEYS

FINDING_KEYS = {"code", "severity", "what", "where", "got", "limit", "source", "next"}


def one_object(text: str) -> dict[str, Any]:
    """The one JSON object of a text, which holds nothing else and no number JSON does not have."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    assert text.endswith("}\n") and text.count("\n") == 1
    found = json.loads(text, parse_constant=refuse)
    assert isinstance(found, dict)
    return found


def test_supply_has_the_stable_keys(run: Run, house: Path) -> None:
    ended = run("supply", house, "--json")
    assert (ended.code, ended.err) == (0, "")
    answer = one_object(ended.out)
    assert set(answer) >= SUPPLY_KEYS
    assert {use["id"] for use in answer["uses"]} == {"drinking", "washing", "goats", "garden"}
    assert all(set(use) >= USE_KEYS for use in answer["uses"])
    assert {s["id"] for s in answer["stores"]} >= {"raw", "sand-a", "sand-b", "clean", "cistern"}
    assert all(set(store) >= STORE_KEYS for store in answer["stores"])
    assert all(set(finding) == FINDING_KEYS for finding in answer["findings"])


def test_supply_lists_what_happened(run: Run, house: Path) -> None:
    answer = one_object(run("supply", house, "--json").out)
    events = answer["events"]
    assert all(set(event) == EVENT_KEYS for event in events)
    assert [e["begins_s"] for e in events] == sorted(e["begins_s"] for e in events)
    # By use and by day, the list says what the totals say.
    for use in answer["uses"]:
        short = [e for e in events if e["kind"] == "use short" and e["where"] == use["id"]]
        lacking = sum(e["volume_m3"] for e in short)
        assert lacking == pytest.approx(use["wanted_m3"] - use["delivered_m3"], abs=1e-6)
        assert sum(e["lasted_s"] for e in short) == 86400.0 * use["days_short"]
    spilled = sum(
        e["volume_m3"] for e in events if e["kind"] == "overflow" and e["to_part"] == "lower-swale"
    )
    assert spilled == pytest.approx(answer["spilled_m3"], abs=1e-3)
    text = run("supply", house).out
    assert "the worst that happened" in text
    assert all(one["begins"] in text for one in answer["worst"])


def test_supply_under_a_fault_says_so(run: Run, house: Path) -> None:
    sound = one_object(run("supply", house, "--json").out)
    faults = ("--fault", "feed-a:stuck-shut", "--fault", "feed-b:stuck-shut")
    broken = one_object(run("supply", house, "--json", *faults).out)
    served = {
        name: {use["id"]: use["served_frac"] for use in answer["uses"]}
        for name, answer in (("sound", sound), ("broken", broken))
    }
    assert sound["faults"] == []
    assert len(broken["faults"]) == 2
    assert [f["code"] for f in broken["findings"]].count("FLT-101") == 2
    assert served["broken"]["drinking"] < served["sound"]["drinking"]
    refused = run("supply", house, "--fault", "feed-a:rusty")
    assert refused.code == 2
    assert "FLT-001" in refused.err


def test_supply_adds_up(run: Run, house: Path) -> None:
    """Water in is water out and stored; what uses got is what was delivered."""
    answer = one_object(run("supply", house, "--json").out)
    assert answer["years"] == pytest.approx(4.0, abs=0.01)
    assert abs(answer["residual_m3"]) < 1e-9 * answer["fell_m3"]
    for key in ("wanted_m3", "delivered_m3"):
        assert sum(use[key] for use in answer["uses"]) == pytest.approx(answer[key], rel=1e-9)
    assert answer["served_frac"] == pytest.approx(answer["delivered_m3"] / answer["wanted_m3"])
    assert answer["caught_m3"] < answer["fell_m3"]
    # 108 and 46 m2 of roof in the plan; rain falls on the plan area.
    assert answer["fell_m3"] == pytest.approx(
        154.0 * answer["rain_mm_per_year"] / 1000.0 * answer["years"], rel=1e-6
    )
    # 6 L a day for each of five people, over four years with one leap day.
    drinking = next(use for use in answer["uses"] if use["id"] == "drinking")
    assert drinking["wanted_m3"] == pytest.approx(0.030 * 1461, rel=1e-9)


def test_levels_has_the_stable_keys(run: Run, house: Path) -> None:
    ended = run("levels", house, "--json")
    assert (ended.code, ended.err) == (0, "")
    answer = one_object(ended.out)
    assert all(set(check) >= CHECK_KEYS for check in answer["checks"])
    weir = next(c for c in answer["checks"] if c["where"] == "sand-b.weir over sand-b.sand-top")
    # Heights of the plan: 5.62 m over 5.60 m; 30 mm are needed.
    assert weir["have_m"] == pytest.approx(0.02)
    assert weir["margin_m"] == pytest.approx(-0.01)
    assert weir["ok"] is False


def test_check_and_design_as_json(run: Run, house: Path) -> None:
    check = one_object(run("check", house, "--json").out)
    assert set(check) == {"plan", "hash", "findings"}
    ended = run("design", house, "--json")
    assert (ended.code, ended.err) == (0, "")
    answer = one_object(ended.out)
    assert set(answer["supply"]) >= SUPPLY_KEYS
    assert answer["levels"]["checks"] and answer["assumptions"]
    written = json.loads(
        (house / "report" / "answers.json").read_text("utf-8"), parse_constant=pytest.fail
    )
    assert set(written) == set(answer)
    assert [Path(f).name for f in answer["files"]] == ["report.html", "answers.json"]
    assert all(Path(f).is_file() for f in answer["files"])


def test_other_commands_as_json(run: Run, house: Path) -> None:
    rain = one_object(run("rain", "inspect", house / "rain.csv", "--json").out)
    assert rain["summary"]["years"] == pytest.approx(4.0, abs=0.01)
    assert one_object(run("explain", "LVL-007", "--json").out)["code"] == "LVL-007"
    value = one_object(run("explain", house, "raw.overflow", "--json").out)
    assert value["where"] == "tank.raw.overflow" and value["value"] == "7.75 m"
    assert ["roofspring", "0.1.0"] in one_object(run("doctor", "--json").out)["rows"]


@pytest.mark.parametrize("command", ["check", "supply", "levels", "design"])
def test_strict_says_when_something_must_stop(run: Run, house: Path, command: str) -> None:
    assert run(command, house).code == 0
    assert run(command, house, "--strict").code == 1


def test_strict_with_json_still_answers(run: Run, house: Path) -> None:
    ended = run("levels", house, "--strict", "--json")
    assert ended.code == 1 and one_object(ended.out)["checks"]


def test_strict_is_content_without_a_stop(run: Run, tmp_path: Path) -> None:
    run("new", tmp_path / "place", "--yes")
    assert run("check", tmp_path / "place", "--strict").code == 0
    assert run("levels", tmp_path / "place", "--strict").code == 0


def texts(run: Run, house: Path) -> list[str]:
    commands: list[tuple[str | Path, ...]] = [
        ("check", house),
        ("supply", house),
        ("levels", house),
        ("design", house),
        ("explain", "LVL-007"),
        ("explain", house, "sand-b.rate-limit"),
        ("rain", "inspect", house / "rain.csv"),
        ("doctor",),
        ("explain", "LVL-00"),
        ("explain", house, "raw.overflw"),
        ("supply", house / "nothing"),
    ]
    return [text for words in commands for text in (run(*words).out + run(*words).err,)]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_text_fits_eighty_columns_without_colour(run: Run, house: Path, units: str) -> None:
    put(house, 'show = "metric"', f'show = "{units}"')
    for text in texts(run, house):
        assert text.strip() and "\x1b" not in text
        for line in text.splitlines():
            one_long_word = " " not in line.strip() or str(house) in line
            assert len(line) <= 80 or one_long_word, line
            assert line == line.rstrip()
            assert "…" not in line
        assert not re.search(r"\d\n\s*(?:%|mm|m³|m/h|gal|days?)(?!\w)", text), text


def test_tables_keep_their_columns(run: Run, house: Path) -> None:
    """Every row of a table stands in one line, its numbers under one another."""
    put(house, 'label = "bath and second kitchen tap"', 'label = "bath"')
    lines = run("levels", house).out.splitlines()
    rows = [line for line in lines if re.search(r" LVL-\d{3} ", line)]
    checks = one_object(run("levels", house, "--json").out)["checks"]
    table = [line for line in rows if line.endswith(("holds", "FAILS", "not checked"))]
    assert len(table) == len(checks)
    assert len({line.index("LVL-") for line in table}) == 1
    # The weir that is too low and the filter that nothing throttles, the worst first.
    assert [line.split()[0] for line in table if line.endswith("FAILS")] == [
        "sand-b",
        "sand-b.weir",
    ]
    assert all(line.endswith("FAILS") for line in table[:2])

    supply = run("supply", house).out.splitlines()
    uses = [line for line in supply if re.match(r"(drinking and|washing  |goats  )", line)]
    assert len(uses) == 3
    assert len({line.index("%") for line in uses}) == 1


def test_a_long_label_wraps_and_its_numbers_do_not(run: Run, house: Path) -> None:
    put(
        house,
        'label = "drinking and cooking"',
        'label = "drinking and cooking for everybody who stays in the house over the summer"',
    )
    lines = run("supply", house).out.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("drinking and"))
    assert re.search(r"m³ .*m³ .*% +[\d,]+ +[\d,]+ +[\d,]+$", lines[at])
    assert len(lines[at]) <= 80
    assert not re.search(r"\d", lines[at + 1])


def test_a_plan_with_nothing_in_it_has_no_empty_tables(run: Run, house: Path) -> None:
    (house / "plan.toml").write_text('format = 1\nname = "Bare"\n[site]\npeople = 2\n', "utf-8")
    out = run("check", house).out
    assert out.startswith("Bare: no parts, no pipes, no uses; 1 finding.\n")
    assert "NET-106" in out
    ended = run("levels", house)
    assert ended.code == 0 and "height over height" not in ended.out


def test_us_units_reach_the_text(run: Run, house: Path) -> None:
    put(house, 'show = "metric"', 'show = "us"')
    text = run("supply", house).out
    assert "gal" in text.partition("STOP")[0]
    assert "m³" not in text.partition("STOP")[0]

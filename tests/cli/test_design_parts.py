"""A plan that is incomplete for one question still answers the others."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from cli.conftest import Run, put
from cli.contract import CHECK_KEYS

ROOF = '[roof.barn]\narea = "40 m2"\nmaterial = "slate"\n'
TANK = '[tank.butt]\nvolume = "900 L"\nheight = "1.2 m"\n'
USE = '[use.garden]\nfrom = ["butt"]\nper-day = "20 L/day"\n'
FALL = '[pipe.fall]\nfrom = "barn.outlet"\nto = "butt"\n'
RAIN = '[rain]\nfile = "rain.csv"\n'


def written(folder: Path) -> dict[str, Any]:
    text = (folder / "report" / "answers.json").read_text("utf-8")
    found = json.loads(text, parse_constant=pytest.fail)
    assert isinstance(found, dict)
    return found


def plan_of(folder: Path, *tables: str) -> Path:
    folder.mkdir()
    text = 'format = 1\nname = "Half a plan"\n' + "".join(tables)
    (folder / "plan.toml").write_text(text, "utf-8")
    return folder


def test_a_new_plan_without_rain_is_designed(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "place"
    run("new", place, "--yes")
    ended = run("design", place)
    assert (ended.code, ended.err) == (0, "")
    text = " ".join(ended.out.split())
    assert "Will it last? Not answered: the plan has no rain record. Put a record" in text
    assert "Will it flow? All" in text and "SUP-110 rain.file" in text

    answer = written(place)
    assert answer["supply"] is None
    assert [entry["question"] for entry in answer["not_answered"]] == ["Will it last?"]
    assert 'file = "rain.csv"' in answer["not_answered"][0]["reason"]
    assert answer["levels"]["checks"] and set(answer["levels"]["checks"][0]) >= CHECK_KEYS
    assert answer["assumptions"]
    page = (place / "report" / "report.html").read_text("utf-8")
    assert "Not answered: the plan has no rain record." in page and 'id="part-raw"' in page


def test_the_demo_without_rain_keeps_what_needs_no_rain(run: Run, house: Path) -> None:
    """The planted faults of the heights and of the raw overflow; frost needs the record."""
    put(house, 'file = "rain.csv"\n', "")
    ended = run("design", house, "--json")
    assert (ended.code, ended.err) == (0, "")
    answer = json.loads(ended.out)
    found = {f["code"] for f in answer["findings"]}
    sand = {code for code in found if code.startswith(("BED", "SIV", "GRV"))}
    # What the safety question finds weak, though nothing is wrong in the drawing, stands there too.
    weak = {"SAF-106", "SAF-109", "SAF-115", "SAF-116", "SAF-120"}
    weak |= {"SAF-142", "SAF-151", "SAF-155"}  # a buried cistern; drains; what nobody said
    weak |= {"OVF-102", "OVF-105", "OVF-106", "PIP-102"}  # meshes, open ends, runs of pipes
    assert found - sand - weak == {"LVL-007", "LVL-016", "SAF-101", "SUP-110"}
    assert "SIV-112" in sand and answer["sand"]["sands"][0]["record"] == []
    assert run("design", house, "--strict").code == 1


def test_a_whole_plan_leaves_nothing_unanswered(run: Run, house: Path) -> None:
    answer = json.loads(run("design", house, "--json").out)
    assert answer["not_answered"] == [] and answer["supply"]["days_short"] > 0
    assert "SUP-110" not in {f["code"] for f in answer["findings"]}


@pytest.mark.parametrize(
    ("tables", "where", "words"),
    [
        ((ROOF, TANK, FALL, USE), "rain.file", "the plan has no rain record."),
        ((RAIN, TANK, USE), "roof", "the plan has no roof."),
        ((RAIN, ROOF, TANK, FALL), "use", "the plan has no use."),
        ((RAIN, ROOF), "tank, use", "the plan has no tank and no use."),
        ((), "rain.file, roof, tank, use", "no rain record, no roof, no tank and no use."),
    ],
    ids=["no rain", "no roof", "no use", "only a roof", "nothing"],
)
def test_what_a_run_lacks_is_named(
    run: Run, house: Path, tmp_path: Path, tables: tuple[str, ...], where: str, words: str
) -> None:
    place = plan_of(tmp_path / "place", *tables)
    shutil.copy(house / "rain.csv", place)
    ended = run("design", place)
    assert ended.code == 0, ended.err
    assert words in " ".join(ended.out.split())
    answer = written(place)
    (finding,) = (f for f in answer["findings"] if f["code"] == "SUP-110")
    assert finding["where"] == where and finding["severity"] == "note"
    # A record that is there is looked at and shown, run or no run: it is invented, and it freezes.
    looked_at = {"REC-115", "FRO-101"} <= {f["code"] for f in answer["findings"]}
    assert looked_at is (RAIN in tables)
    page = (place / "report" / "report.html").read_text("utf-8")
    assert ("INVENTED RAIN" in page) is (RAIN in tables)


def test_a_named_record_that_cannot_be_read_is_still_an_error(run: Run, tmp_path: Path) -> None:
    for name, tables in {"all": (RAIN, ROOF, TANK, FALL, USE), "no-use": (RAIN, ROOF)}.items():
        place = plan_of(tmp_path / name, *tables)
        (place / "rain.csv").write_text(
            "date,precip_mm\n2021-02-29,1\n2021-03-01,x\n2021-03-02,1\n", "utf-8"
        )
        ended = run("design", place, "--json")
        assert ended.code == 2
        found = json.loads(ended.out)["problems"]
        # The 29th of February 2021 in line 2, and the x in line 3.
        assert [p["line"] for p in found] == [2, 3]
        assert not (place / "report").exists()

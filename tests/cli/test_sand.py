"""The sand command as a user meets it."""

from __future__ import annotations

import json
import math
import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from cli.conftest import Ended, Run, put
from cli.contract import LAYER_KEYS, SAND_KEYS
from sand.sands import PIT, write

TYPED = ("1.18 mm=27 g", "0.6 mm=92 g", "0.3 mm=172 g", "0.15 mm=124 g", "0.075 mm=25 g",
         "pan=11.6 g")  # fmt: skip


def answer(ended: Ended) -> dict[str, Any]:
    assert ended.code == 0, ended.err or ended.out
    found: dict[str, Any] = json.loads(ended.out)
    return found


@pytest.fixture
def demo(alder_bench: Path, tmp_path: Path) -> Path:
    """A copy of the demo's plan and sand."""
    for name in ("plan.toml", "sand.csv"):
        write(tmp_path, (alder_bench / name).read_text("utf-8"), name)
    return tmp_path


def test_the_demo_has_a_sand_that_must_be_prepared(run: Run, demo: Path) -> None:
    ended = run("sand", demo)
    assert ended.code == 0
    assert ended.out.startswith("Is the sand right?  Not as it is: effective size 0.166 mm")
    assert "INVENTED SAND" in ended.out
    assert "For filters sand-a, sand-b." in ended.out
    assert {"SIV-112", "SIV-113"} <= set(ended.out.split())
    assert max(map(len, ended.out.splitlines())) <= 80


def test_the_stable_keys(run: Run, demo: Path) -> None:
    found = answer(run("sand", demo, "--json"))
    assert found.keys() >= SAND_KEYS
    layers = found["layers"]
    assert isinstance(layers, list) and layers
    for layer in layers:
        assert layer.keys() >= LAYER_KEYS
    shares = [found[f"{k}_frac"] for k in ("usable", "too_fine", "too_coarse")]
    assert sum(float(str(s)) for s in shares) == pytest.approx(1.0)
    assert found["invented"] is True
    assert found["wanted_d10_mm"] == pytest.approx(0.25)  # the plan's


def test_a_file_and_typed_sieves_say_the_same(run: Run, tmp_path: Path) -> None:
    rows = "".join(f"{t.replace('=', ',')}\n" for t in TYPED)
    path = write(tmp_path, "sieve,retained mass\n" + rows)
    typed = answer(run("sand", *(w for t in TYPED for w in ("--sieve", t)), "--json"))
    read = answer(run("sand", path, "--json"))
    for key in SAND_KEYS - {"findings"}:
        assert typed[key] == read[key], key


def test_a_size_off_the_sieves_is_null_and_its_side_is_said(run: Run) -> None:
    found = answer(
        run("sand", "--sieve", "0.6 mm=70 %", "--sieve", "0.3 mm=30 %", "--as", "passing-percent",
            "--json")
    )  # fmt: skip
    assert found["d10_mm"] is None and found["uniformity"] is None
    assert found["bounds"] == {
        "d5": "finer than 0.300 mm", "d10": "finer than 0.300 mm", "d15": "finer than 0.300 mm",
        "d85": "coarser than 0.600 mm", "d90": "coarser than 0.600 mm",
        "d95": "coarser than 0.600 mm",
    }  # fmt: skip
    assert found["usable_frac"] is None and found["layers"] == []


def test_options_stand_over_the_plan(run: Run, demo: Path) -> None:
    plan = answer(run("sand", demo, "--json"))
    ours = answer(
        run("sand", demo, "--d10", "0.3 mm", "--uniformity", "1.8", "--gravel", "sherard-5",
            "--area", "2 m2", "--json")
    )  # fmt: skip
    assert ours["wanted_d10_mm"] == pytest.approx(0.3)
    assert ours["layers"] != plan["layers"]
    assert float(str(ours["stock_kg"])) > 2.0 * float(str(plan["stock_kg"]))


def test_blending(run: Run, demo: Path) -> None:
    fine = write(demo, "sieve mm,passing %\n0.6,100\n0.425,99\n0.3,90\n0.212,30\n0.15,5\n0.075,0\n",
                 "fine.csv")  # fmt: skip
    found = answer(run("sand", demo, "--price", "20/t", "--blend", f"{fine}=60/t", "--json"))
    blends = found["blends"]
    best = blends[-1]
    assert best["feasible"] and 0.02 <= best["cost_per_kg"] <= 0.06
    assert sum(best["parts"].values()) == pytest.approx(1.0)
    ended = run("sand", demo, "--blend", fine)
    assert "Blending" in ended.out and "fine" in ended.out


def test_without_sieves(run: Run) -> None:
    ended = run("sand", "--mesh", "fly-screen=98 %", "--mesh", "paint-strainer-190=3 %",
                "--jar-sand", "95 mm", "--jar-silt", "5 mm")  # fmt: skip
    assert ended.code == 0
    assert "between 0.170 mm and 1.60 mm" in ended.out.replace("\n", " ")
    assert "SIV-141" in ended.out and "SIV-140" in ended.out
    found = answer(run("sand", "--mesh", "fly-screen=98 %", "--json"))
    assert found["rough_d10_mm"] == [None, 1.6]
    assert found["d10_mm"] is None


def test_the_page_is_written(run: Run, demo: Path) -> None:
    found = answer(run("sand", demo, "--out", demo / "page", "--json"))
    files = found["files"]
    assert isinstance(files, list) and len(files) == 1
    text = Path(files[0]).read_text("utf-8")
    assert "Alder Bench" in text and "INVENTED SAND" in text


def test_strict_ends_with_one_on_a_sand_that_nothing_mends(run: Run, tmp_path: Path) -> None:
    path = write(tmp_path, "sieve mm,passing %\n4.75,100\n2.36,60\n1.18,10\n0.6,0\n")
    assert run("sand", path).code == 0
    ended = run("sand", path, "--strict")
    assert ended.code == 1 and "STOP    SIV-111" in ended.out


def test_us_units(run: Run, demo: Path) -> None:
    put(demo, 'show = "metric"', 'show = "us"')
    ended = run("sand", demo)
    assert " lb" in ended.out and "ft³" in ended.out and " kg" not in ended.out.partition("STOP")[0]


@pytest.mark.parametrize(
    ("words", "code", "where"),
    [
        (("--stated-d10", "0.3 mm"), "SIV-021", "--stated-d10"),
        (("--stated-d10", "0.3 mm", "--stated-uniformity", "9"), "SIV-021", "--stated-uniformity"),
        (("--stated-d10", "30 mm", "--stated-uniformity", "2"), "SIV-021", "--stated-d10"),
        (("sand.csv", "--stated-d10", "0.3 mm", "--stated-uniformity", "2"), "SIV-021",
         "--stated-d10"),
        (("--fall", "0 min=48 mm"), "SIV-021", "--fall-temp"),
        (("--fall", "0 min", "--fall-temp", "9 degC"), "SIV-021", "--fall"),
        (("--fall", "0=48", "--fall-temp", "9 degC"), "UNI-001", "--fall"),
        (("--fall", "0 min=48 mm", "--fall", "1 min=60 mm", "--fall-temp", "9 degC"), "BED-004",
         "level_m"),
        (("--fall", "0 min=48 mm", "--fall", "1 min=40 mm", "--fall-temp", "99 degC"), "DOM-001",
         "temp_degc"),
        (("missing.csv",), "SIV-001", "missing.csv"),
        (("--sieve", "0.6=3 g"), "SIV-004", "--sieve"),
        (("sand.csv", "--sieve", "0.6 mm=3 g"), "SIV-021", "--sieve"),
        (("sand.csv", "--as", "sieved"), "SIV-021", "--as"),
        (("sand.csv", "--d10", "0.25"), "UNI-001", "--d10"),
        (("sand.csv", "--d10", "25 mm"), "SIV-021", "--d10"),
        (("sand.csv", "--uniformity", "0.5"), "SIV-021", "--uniformity"),
        (("sand.csv", "--criterion", "mine"), "SIV-021", "--criterion"),
        (("sand.csv", "--gravel", "mine"), "SIV-021", "--gravel"),
        (("sand.csv", "--before", "500"), "UNI-001", "--before"),
        (("sand.csv", "--before", "0 g"), "SIV-021", "--before"),
        (("sand.csv", "--price", "45"), "SIV-021", "--price"),
        (("sand.csv", "--blend", "sand.csv=45/t"), "SIV-024", "blend"),
        (("sand.csv", "--blend", "gone.csv"), "SIV-001", "gone.csv"),
        (("sand.csv", "--area", "0 m2"), "SIV-021", "--area"),
        (("sand.csv", "--depth", "7 m"), "SIV-021", "--depth"),
        (("sand.csv", "--hole", "0 mm"), "SIV-021", "--hole"),
        (("sand.csv", "--pipe", "5 m"), "SIV-021", "--pipe"),
        (("--mesh", "sock=3 %"), "SIV-022", "--mesh"),
        (("--jar-sand", "9 mm"), "SIV-021", "--jar-sand"),
        (("sand.csv", "--filter", "sand-z"), "SIV-021", "--filter"),
        (("--filter", "sand-z"), "SIV-021", "--filter"),
    ],
)  # fmt: skip
def test_bad_requests_are_refused(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: str,
    where: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    write(tmp_path, PIT)
    ended = run("sand", *words)
    assert ended.code == 2
    assert code in ended.err and where in ended.err
    assert "Traceback" not in ended.err


def test_a_plan_without_a_sieve_test_says_what_a_bucket_would_tell(run: Run, demo: Path) -> None:
    ended = run("sand", demo, "--filter", "sand-z")
    assert ended.code == 2 and "SIV-026" in ended.err
    text = (demo / "plan.toml").read_text("utf-8")
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith("sieve =")]
    write(demo, "".join(kept), "plan.toml")
    found = answer(run("sand", demo, "--json"))
    assert found["d10_mm"] is None and found["filters"] == ["sand-a", "sand-b"]
    beds = found["beds"]
    assert [bed["filter"] for bed in beds] == ["sand-a", "sand-b"]
    assert beds[0]["d10_mm"] == pytest.approx(0.25) and not beds[0]["sand_known"]
    assert "What a bucket and three sieves would tell" in run("sand", demo).out


def test_nothing_at_all_is_answered_too(run: Run) -> None:
    ended = run("sand")
    assert ended.code == 0
    assert ended.out.startswith("Is the sand right?  Nobody can tell yet")
    # Of a sand that nobody knows the bed is told when it is asked for, and nothing else is offered.
    assert (
        "Head lost in clean sand" not in ended.out and "From cleaning to cleaning" not in ended.out
    )
    more = " ".join(ended.out.split()).partition("More, with --section: ")[2].partition(".")[0]
    for name in more.split(", "):
        assert len(run("sand", "--section", name).out) > 300, name
    assert {"loss", "fall", "guide"} <= set(more.split(", ")) and "limits" not in more
    # What was taken for want of better is not judged.
    assert "BED-110" not in ended.out and "BED-111" not in ended.out


def test_a_suppliers_sheet(run: Run) -> None:
    asked = ("sand", "--stated-d10", "0.25 mm", "--stated-uniformity")
    assert "By its supplier's word, yes" in run(*asked, "2.0").out
    ended = run(*asked, "3.5")
    assert "By its supplier's word, no" in ended.out and "SIV-142" in ended.out
    assert answer(run(*asked, "2", "--json"))["stated_d10_mm"] == pytest.approx(0.25)


def test_a_falling_head_is_held_against_the_grains(run: Run) -> None:
    """K 2.74 m/h at 10 degrees C by hand: 0.30 to 0.05 m through 0.8 m of sand in 31.4 min."""
    levels = [0.30 * math.exp(-2.74 * t / 60.0 / 0.8) for t in (0, 10, 20, 31)]
    readings = [f"{t} min={1e3 * h:.3f} mm" for t, h in zip((0, 10, 20, 31), levels, strict=True)]
    words = [w for text in readings for w in ("--fall", text)]
    found = answer(run("sand", "--depth", "0.8 m", *words, "--fall-temp", "50 degF", "--json"))
    (bed,) = found["beds"]
    measured = bed["falling_head"]["measured"]
    assert measured["conductivity_m_per_s"] * 3600.0 == pytest.approx(2.74, rel=1e-4)
    assert bed["conductivity_20_m_per_s"] == pytest.approx(
        measured["conductivity_20_m_per_s"], rel=0.01
    )
    ended = run("sand", *words[:4], "--fall-temp", "10 degC", "--section", "fall")
    assert "they agree" in ended.out and "Head lost in clean sand" not in ended.out


def test_sections_are_printed_when_asked_for(run: Run, demo: Path) -> None:
    ended = run("sand", demo, "--section", "guide")
    assert "Laying and filling:" in ended.out and "The grading curve" not in ended.out
    assert "one-litre bottle" in " ".join(ended.out.split())
    assert run("sand", demo, "--section", "bogus").code == 2
    ended = run("sand", demo, "--section", "checks")
    assert "Not allowed by: household filters (CAWST)" in " ".join(ended.out.split())


def test_a_record_that_cannot_be_read_does_not_hide_the_sand(run: Run, demo: Path) -> None:
    ended = run("sand", demo)  # the copy has no rain beside it
    assert ended.code == 0 and "No run was made:" in ended.out
    assert "What the run through the rain saw" not in ended.out


def test_the_run_is_in_the_answer(run: Run, house: Path) -> None:
    found = answer(run("sand", house, "--json"))
    records = found["record"]
    assert isinstance(records, list) and [r["filter_id"] for r in records] == ["sand-a", "sand-b"]
    for record in records:
        assert record["years"] == pytest.approx(4.0, abs=0.01)
        assert 0.0 <= record["unripe_frac"] <= 1.0 and len(record["by_month"]) == 12
        assert set(record["removal_log10"]) == {"bacteria", "viruses", "protozoa"}
    beds = found["beds"]
    assert beds[0]["throttle"]["limit_hole_mm"] > beds[0]["throttle"]["design_hole_mm"] > 1.0
    ended = run("sand", house)
    assert "What the run through the rain saw" in ended.out
    assert max(map(len, ended.out.splitlines())) <= 80


def test_design_has_the_sand_as_a_chapter(run: Run, house: Path) -> None:
    found = answer(run("design", house, "--json"))
    sands = found["sand"]["sands"]
    assert sands[0].keys() >= SAND_KEYS and sands[0]["filters"] == ["sand-a", "sand-b"]
    codes = [f["code"] for f in found["findings"]]
    assert {"SIV-112", "SIV-151", "BED-110"} <= set(codes)
    assert codes.count("BED-111") == 1 and codes.count("LVL-016") == 1
    page = (house / "report" / "report.html").read_text("utf-8")
    assert 'id="sand"' in page and "INVENTED SAND" in page and "figure-record" in page
    write(house, "sieve mm,passing %\n", "sand.csv")
    broken = answer(run("design", house, "--json"))
    assert "SIV-152" in [f["code"] for f in broken["findings"]]
    assert broken["sand"] is None
    questions = [n["question"] for n in broken["not_answered"]]
    assert questions == ["Is the sand right?"]


def test_the_plan_is_told_of_another_sand(run: Run, demo: Path) -> None:
    put(demo, 'd10 = "0.25 mm"\nuniformity = 2.0\nsieve = "sand.csv"\n# no',
        'd10 = "0.25 mm"\nuniformity = 2.0\n# no')  # fmt: skip
    # Sand within the limits as it is, but not the one of the plan.
    write(demo, "sieve mm,passing %\n1.18,100\n0.425,80\n0.3,50\n0.18,10\n0.075,0\n")
    found = answer(run("sand", demo, "--json"))
    assert found["filters"] == ["sand-a"]
    findings = found["findings"]
    assert "SIV-150" in [f["code"] for f in findings]


def test_the_guide_is_true(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its sieve test is read and every command in it is run."""
    monkeypatch.chdir(tmp_path)
    text = (Path(__file__).parents[2] / "docs" / "guides" / "sand.md").read_text("utf-8")
    (table,) = re.findall(r"```\n(sieve mm.*?)```", text, re.DOTALL)
    for name in ("sand.csv", "pit.csv"):
        write(tmp_path, table, name)
    write(tmp_path, "sieve mm,passing %\n0.6,100\n0.3,80\n0.15,3\n0.075,0\n", "river.csv")
    commands = re.findall(r"^roofspring (sand (?:.*\\\n)*.*)$", text, re.MULTILINE)
    assert len(commands) == 6
    for command in commands:
        ended = run(*shlex.split(command.replace("\\\n", " ")))
        assert ended.code == 0, ended.err


def test_the_guide_names_every_key_of_a_bed_and_of_a_record(run: Run, house: Path) -> None:
    text = (Path(__file__).parents[2] / "docs" / "guides" / "sand.md").read_text("utf-8")
    rows = re.findall(r"^\| `((?:beds|record)\[\].*)$", text, re.MULTILINE)
    named = set(re.findall(r"`(?:beds\[\]\.)?(\w+)", " ".join(f"`{row}" for row in rows)))
    found = answer(run("sand", house, "--json"))
    for key in ("beds", "record"):
        (first, *_) = found[key]
        assert set(first) <= named, set(first) - named


def test_a_plan_with_two_sands_says_so(run: Run, demo: Path) -> None:
    put(demo, 'sieve = "sand.csv"\n# no', 'sieve = "other.csv"\n# no')
    write(demo, PIT, "other.csv")
    first = run("sand", demo)
    assert "another sand, other.csv for sand-b: see it with --filter sand-b." in " ".join(
        first.out.split()
    )
    second = answer(run("sand", demo, "--filter", "sand-b", "--json"))
    assert (second["name"], second["filters"]) == ("other", ["sand-b"])


def test_with_prices_sieving_first_never_costs_more(run: Run, demo: Path) -> None:
    fine = write(demo, "sieve mm,passing %\n0.6,100\n0.425,99\n0.3,90\n0.212,30\n0.15,5\n0.075,0\n",
                 "fine.csv")  # fmt: skip
    found = answer(run("sand", demo, "--price", "20/t", "--blend", f"{fine}=60/t", "--json"))
    blends = found["blends"]
    mixed, sieved = blends
    assert mixed["feasible"] and sieved["feasible"]
    assert sieved["cost_per_kg"] <= mixed["cost_per_kg"] + 1e-9
    assert sieved["left_out"] and not mixed["left_out"]

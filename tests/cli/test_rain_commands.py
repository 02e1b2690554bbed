"""Rain on the command line: reading, inventing, getting records, and futures of a plan.

The servers of these tests are our own, on this computer; nothing is asked of the network.
"""

from __future__ import annotations

import gzip
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cli.conftest import Ended, Run, put
from rain.files import put as put_record
from rain.files import sheet
from roofspring.rain import Kept, load, write_csv
from roofspring.rain.download import fetch_list, fetch_station
from roofspring.rain.futures.models import MODELS
from roofspring.units import unbroken

DATA = Path(__file__).parents[1] / "data"
SEATTLE = DATA / "seattle_daily_2012_2015.csv"
FORMATS = DATA / "formats"
STATION = "USC00999901"
FUTURES_KEYS = {
    "sentence", "model", "members", "years", "seed", "served_frac", "days_short_per_year",
    "short_years_frac", "acceptance", "findings",
}  # fmt: skip
BANDS = ("served_frac", "days_short_per_year", "short_years_frac")


def one_object(ended: Ended) -> dict[str, Any]:
    """The one JSON object on stdout; a word that JSON does not have fails the test."""
    assert ended.code == 0 and ended.err == "", ended.err
    return parsed(ended.out)


def parsed(out: str) -> dict[str, Any]:
    assert out.count("\n") == 1
    found = json.loads(out, parse_constant=pytest.fail)
    assert isinstance(found, dict)
    return found


def refused(run: Run, *words: str | Path) -> list[dict[str, Any]]:
    """The problems of a command line, which are the same as text and as JSON."""
    plain = run(*words)
    assert plain.code == 2 and plain.out == ""
    ended = run(*words, "--json")
    assert ended.code == 2 and ended.err == ""
    (problems,) = parsed(ended.out).values()
    for problem in problems:
        assert problem["code"] in plain.err and problem["what"] and problem["next"]
    return list(problems)


class TestRead:
    def test_writes_a_plain_csv_that_reads_back(self, run: Run, tmp_path: Path) -> None:
        out = tmp_path / "ours.csv"
        answer = one_object(run("rain", "read", SEATTLE, "--out", out, "--json"))
        assert set(answer) == {"words", "summary", "filled_frac", "findings", "files"}
        assert answer["files"] == [str(out)] and answer["filled_frac"] == 0.0
        np.testing.assert_array_equal(load(out).depth_m, load(SEATTLE).depth_m)

    def test_the_text_ends_with_the_file(self, run: Run, tmp_path: Path) -> None:
        ended = run("rain", "read", SEATTLE, "--out", tmp_path / "ours.csv")
        assert ended.code == 0
        assert ended.out.endswith(f"Written: {tmp_path / 'ours.csv'}\n")
        assert all(len(s) <= 80 or str(tmp_path) in s for s in ended.out.splitlines())

    @pytest.mark.parametrize(
        ("name", "unit"),
        [("plain.csv", None), ("ghcn.dly", None), ("ghcn_by_station.csv", None),
         ("ghcn_by_year.csv", None), ("gsod.csv", None), ("usgs_daily.rdb", None),
         ("power.csv", None), ("ncei_access.csv", "0.1 mm"), ("ncei_ordered_inches.csv", "in")],
    )  # fmt: skip
    def test_every_published_form(
        self, run: Run, tmp_path: Path, name: str, unit: str | None
    ) -> None:
        """Seven days, 101.6 mm where measured (README of tests/data/formats); one day is filled."""
        told = ["--unit", unit] if unit else []
        file = FORMATS / name
        if name == "ghcn_by_year.csv":
            told += ["--station", STATION]
        answer = one_object(run("rain", "read", file, *told, "--out", tmp_path / "x.csv", "--json"))
        record = load(tmp_path / "x.csv")
        measured = record.depth_m[record.kept != Kept.FILLED]
        assert measured.sum() * 1000.0 == pytest.approx(101.6, abs=1e-9)
        assert answer["filled_frac"] == pytest.approx(1.0 / 7.0)

    def test_without_the_unit_an_access_file_is_refused(self, run: Run, tmp_path: Path) -> None:
        (problem,) = refused(
            run, "rain", "read", FORMATS / "ncei_access.csv", "--out", tmp_path / "x.csv"
        )
        assert problem["code"] == "REC-006" and "never guessed" in problem["what"]
        assert "0.1 mm" in problem["next"]
        assert not (tmp_path / "x.csv").exists()

    @pytest.mark.parametrize(
        ("told", "code", "says"),
        [
            (["--form", "csvv"], "REC-019", "csv"),
            (["--unit", "furlong"], "REC-007", "0.1 mm"),
            (["--fill", "zero"], "REC-019", "same-season"),
            (["--fill", "normal-ratio"], "REC-025", "neighbour"),
            (["--fill", "none"], "REC-017", "same-season"),
            (["--sheet", "gauge"], "REC-038", "xlsx"),
            (["--tip", "0.2 mm"], "REC-037", ""),
            (["--tip-step", "5 min"], "REC-038", "tip_mm"),
            (["--tip-step", "5 furlong"], "UNI-001", "24 h"),
            (["--station", "porch"], "REC-015", ""),
        ],
        ids=lambda value: " ".join(value) if isinstance(value, list) else "",
    )
    def test_bad_options(
        self, run: Run, tmp_path: Path, told: list[str], code: str, says: str
    ) -> None:
        out = tmp_path / "x.csv"
        (problem,) = refused(run, "rain", "read", FORMATS / "plain.csv", *told, "--out", out)
        assert problem["code"] == code
        assert says in problem["allowed"] + problem["next"]
        assert not out.exists()

    def test_a_word_that_is_neither_start_nor_end(self, run: Run, tmp_path: Path) -> None:
        words: list[str | Path] = [
            "rain",
            "read",
            FORMATS / "plain.csv",
            "--out",
            tmp_path / "x.csv",
        ]
        ended = run(*words, "--stamp", "middle")
        assert ended.code == 2 and "'start', 'end'" in ended.err

    def test_a_file_that_is_not_there(self, run: Run, tmp_path: Path) -> None:
        (problem,) = refused(
            run, "rain", "read", tmp_path / "none.csv", "--out", tmp_path / "x.csv"
        )
        assert problem["code"] == "REC-001"
        (problem,) = refused(
            run, "rain", "read", SEATTLE, "--out", tmp_path / "no-such-folder" / "x.csv"
        )
        assert problem["code"] == "OUT-001"

    def test_a_file_is_never_written_over(self, run: Run, tmp_path: Path) -> None:
        for command in (["read"], ["make", "--years", "1"]):
            out = tmp_path / "mine.csv"
            out.write_text("my shopping list", "utf-8")
            (problem,) = refused(run, "rain", *command, SEATTLE, "--out", out)
            assert (problem["code"], problem["file"]) == ("OUT-002", str(out))
            assert out.read_text("utf-8") == "my shopping list"
        assert [p.name for p in tmp_path.iterdir()] == ["mine.csv"]

    def test_tips_become_five_minutes(self, run: Run, tmp_path: Path) -> None:
        """Four tips of 0.2 mm, three of them within five minutes."""
        file = tmp_path / "tips.csv"
        times = ("00:01:10", "00:02:00", "00:03:30", "13:00:00")
        file.write_text("time\n" + "".join(f"2020-05-01 {t}\n" for t in times), "utf-8")
        words: list[str | Path] = [
            "rain",
            "read",
            file,
            "--tip",
            "0.2 mm",
            "--out",
            tmp_path / "x.csv",
            "--json",
        ]
        answer = one_object(run(*words))
        record = load(tmp_path / "x.csv")
        assert record.step_s == 300.0
        assert sorted(record.depth_m[record.depth_m > 0.0]) == pytest.approx([2e-4, 6e-4])
        assert "REC-138" in {f["code"] for f in answer["findings"]}


class TestInspect:
    def test_says_what_is_in_it(self, run: Run) -> None:
        answer = one_object(run("rain", "inspect", SEATTLE, "--json"))
        rain_m = load(SEATTLE).depth_m
        assert answer["summary"]["greatest_day_m"] == pytest.approx(rain_m.max())
        assert answer["summary"]["mean_m_per_year"] == pytest.approx(rain_m.sum() / 4.0, rel=1e-3)

    def test_the_unit_is_asked_for(self, run: Run) -> None:
        (problem,) = refused(run, "rain", "inspect", FORMATS / "ncei_access.csv")
        assert problem["code"] == "REC-006"


def plan_with_rain(folder: Path, rain: str, *, shown: str = "us") -> Path:
    """A plan with no more than a record and a neighbour that has half of its rain."""
    folder.mkdir()
    (folder / "plan.toml").write_text(
        f'format = 1\nname = "hut"\nshow = "{shown}"\n[rain]\nfile = "rain.csv"\n{rain}'
        '[neighbour.village]\nfile = "village.csv"\ndistance = "6 km"\n',
        "utf-8",
    )
    record = load(SEATTLE)
    depth = record.depth_m.copy()
    depth[:60] = 0.0  # in the wet season
    write_csv(replace(record, depth_m=depth), folder / "rain.csv")
    write_csv(replace(record, depth_m=0.5 * record.depth_m), folder / "village.csv")
    return folder


class TestPlans:
    @pytest.mark.parametrize("whole", [True, False])
    def test_a_plan_brings_its_neighbours_its_units_and_its_table(
        self, run: Run, tmp_path: Path, whole: bool
    ) -> None:
        folder = plan_with_rain(tmp_path / "hut", 'table = "table.csv"\n')
        (folder / "table.csv").write_bytes((FORMATS / "frequency_inches_ari.csv").read_bytes())
        plan = folder if whole else folder / "plan.toml"
        ended = run("rain", "inspect", plan, "--out", tmp_path / "page")
        assert ended.code == 0, ended.err
        assert "REC-123" in ended.out and " in a year, on " in ended.out and " mm" not in ended.out
        page = (tmp_path / "page" / "rain.html").read_text("utf-8")
        assert "REC-123" in page and "village, 3.7 miles" in page
        assert "Table of heavy rain" in page
        answer = one_object(run("rain", "inspect", plan, "--json"))
        assert set(answer) == {"words", "summary", "filled_frac", "findings", "files"}
        alone = one_object(run("rain", "inspect", folder / "rain.csv", "--json"))
        assert "REC-123" not in {f["code"] for f in alone["findings"]}
        assert alone["summary"] == answer["summary"]

    def test_units_may_be_told(self, run: Run, tmp_path: Path) -> None:
        folder = plan_with_rain(tmp_path / "hut", "")
        assert " mm a year" in run("rain", "inspect", folder, "--units", "metric").out
        assert " in a year" in run("rain", "inspect", SEATTLE, "--units", "us").out
        made = run("rain", "make", folder, "--out", tmp_path / "x.csv", "--years", "1")
        assert "wet days from 0.00984 in" in " ".join(made.out.split())

    def test_a_table_without_a_page_to_stand_on_is_not_passed_over(self, run: Run) -> None:
        (problem,) = refused(run, "rain", "inspect", SEATTLE, "--table", "nowhere.csv")
        assert problem["code"] == "REC-038" and "--out" in problem["next"]

    def test_nothing_else_is_told_of_a_plan(self, run: Run, tmp_path: Path) -> None:
        folder = plan_with_rain(tmp_path / "hut", "")
        told = ("--unit", "mm", "--stamp", "end", "--tip", "0.2 mm", "--tip-step", "1 h")
        for command in ("inspect", "read", "make"):
            (problem,) = refused(run, "rain", command, folder, "--out", tmp_path / "x", *told)
            assert problem["code"] == "REC-038"
            assert problem["where"] == "unit, stamp, tip, tip_step_s"
        assert [p.name for p in tmp_path.iterdir()] == ["hut"]

    def test_reading_a_plan_fills_from_its_neighbours(self, run: Run, tmp_path: Path) -> None:
        folder = plan_with_rain(tmp_path / "hut", 'fill = "same-season"\n')
        lines = (folder / "rain.csv").read_text("utf-8").splitlines(keepends=True)
        holes = [s for s in lines if not s.startswith("2013-11")]
        (folder / "rain.csv").write_text("".join(holes), "utf-8")
        answers = {}
        for fill in ("", "normal-ratio"):
            words = ("--fill", fill) if fill else ()
            out = tmp_path / f"{fill or 'as-told'}.csv"
            answers[fill] = one_object(run("rain", "read", folder, "--out", out, *words, "--json"))
        assert "same-season: 30 of" in answers[""]["words"]
        assert "normal-ratio: 30 of" in answers["normal-ratio"]["words"]
        filled = load(tmp_path / "normal-ratio.csv")
        np.testing.assert_allclose(filled.depth_m[60:], load(SEATTLE).depth_m[60:], rtol=0.2)

    def test_problems_of_the_plan_and_of_a_neighbour(self, run: Run, tmp_path: Path) -> None:
        folder = plan_with_rain(tmp_path / "hut", "")
        (folder / "village.csv").write_text("date,rain\n2012-01-01,1\n", "utf-8")
        (problem,) = refused(run, "rain", "inspect", folder)
        assert problem["code"] == "REC-006" and problem["file"].endswith("village.csv")
        (problem,) = refused(run, "rain", "inspect", tmp_path / "no-such-plan.toml")
        assert problem["code"].startswith("PLN-")


class TestMake:
    def test_takes_what_read_takes(self, run: Run, tmp_path: Path) -> None:
        """Two years of half-hourly tips, and of a sheet, give what the same record as CSV gives."""
        record = load(SEATTLE)
        mm = np.round(record.depth_m * 1e3, 1)
        rows = list(zip(record.days.astype(str).tolist(), mm.tolist(), strict=True))
        sheet(tmp_path / "a.xlsx", [("date", "rain (mm)"), *rows], name="gauge")
        late = [(f"{np.datetime64(d) + 1} 00:00", v) for d, v in rows]
        put_record(
            tmp_path, "time,rain_mm\n" + "".join(f"{t},{v}\n" for t, v in late), name="b.csv"
        )
        tips = [f"{d} {k // 60:02d}:{k % 60:02d}:00\n" for d, v in rows for k in range(round(v))]
        put_record(tmp_path, "time\n" + "".join(tips), name="c.csv")
        texts = []
        for name, told in (
            ("a.xlsx", ("--sheet", "gauge")),
            ("b.csv", ("--stamp", "end")),
            ("c.csv", ("--tip", "1 mm", "--tip-step", "24 h")),
        ):
            out = tmp_path / f"made-{name}.csv"
            words = ("--years", "2", "--model", "whole-years", "--out", out, "--json")
            one_object(run("rain", "make", tmp_path / name, *told, *words))
            texts.append(load(out).depth_m)
        np.testing.assert_array_equal(texts[0], texts[1])
        assert texts[2].sum() == pytest.approx(texts[0].sum(), rel=0.1)  # tips are whole mm

    def test_invents_years_and_says_where_they_differ(self, run: Run, tmp_path: Path) -> None:
        out = tmp_path / "made.csv"
        answer = one_object(run("rain", "make", SEATTLE, "--out", out, "--years", "3", "--json"))
        assert set(answer) == {"words", "fit", "acceptance", "findings", "files"}
        assert "markov-1-gamma" in answer["words"]  # four years are few
        assert "Fails on" in answer["acceptance"] and "90 % band" in answer["acceptance"]
        assert {"REC-150", "REC-151", "REC-154"} <= {f["code"] for f in answer["findings"]}
        record = load(out)
        assert record.days_count == 3 * 365 and (record.kept == Kept.INVENTED).all()

    def test_two_years_are_too_few_to_judge_a_model_by(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "two.csv"
        lines = SEATTLE.read_text("utf-8").splitlines(keepends=True)
        file.write_text("".join(s for s in lines if not "2014" <= s[:4] <= "2015"), "utf-8")
        out = tmp_path / "made.csv"
        answer = one_object(run("rain", "make", file, "--out", out, "--years", "1", "--json"))
        assert answer["acceptance"].startswith("Not held against the record")
        assert load(out).days_count == 365

    def test_a_seed_gives_the_same_sky(self, run: Run, tmp_path: Path) -> None:
        for name, seed in (("a", 5), ("b", 5), ("c", 6)):
            words: list[str | Path] = [
                "--years",
                "1",
                "--seed",
                str(seed),
                "--model",
                "whole-years",
            ]
            ended = run("rain", "make", SEATTLE, *words, "--out", tmp_path / name)
            assert ended.code == 0, ended.err
            assert "no gauge measured it" in " ".join(ended.out.split())
        texts = [(tmp_path / name).read_text("utf-8") for name in "abc"]
        assert texts[0] == texts[1] != texts[2]

    def test_an_unknown_model_is_refused_with_the_known_ones(
        self, run: Run, tmp_path: Path
    ) -> None:
        (problem,) = refused(
            run, "rain", "make", SEATTLE, "--out", tmp_path / "x", "--model", "markov"
        )
        assert problem["code"] == "REC-019"
        assert all(name in problem["allowed"] for name in MODELS)

    def test_a_week_is_too_short_to_learn_from(self, run: Run, tmp_path: Path) -> None:
        (problem,) = refused(
            run, "rain", "make", FORMATS / "plain.csv", "--out", tmp_path / "x.csv"
        )
        assert problem["code"] == "REC-060"
        assert not list(tmp_path.iterdir())

    @pytest.mark.parametrize("words", [("--years", "0"), ("--seed", "-1"), ("--years", "ten")])
    def test_numbers_out_of_range(self, run: Run, tmp_path: Path, words: tuple[str, str]) -> None:
        ended = run("rain", "make", SEATTLE, "--out", tmp_path / "x.csv", *words)
        assert ended.code == 2 and words[0] in ended.err
        assert not list(tmp_path.iterdir())


STATIONS = (
    "USC00999901  45.1000 -110.0000 1500.0 XX ALDER BENCH\n"
    "USC00999902  46.0000 -110.0000 1500.0 XX FARTHER OFF\n"
    "USC00999903  45.0000 -110.0000 1500.0 XX ONLY TWO YEARS\n"
)
INVENTORY = (
    "USC00999901  45.1000 -110.0000 PRCP 1990 2020\n"
    "USC00999902  46.0000 -110.0000 PRCP 1950 2020\n"
    "USC00999903  45.0000 -110.0000 PRCP 2019 2020\n"
)
FILES = {
    f"/ghcn/by_station/{STATION}.csv.gz": gzip.compress(
        (FORMATS / "ghcn_by_station.csv").read_bytes(), mtime=0
    ),
    "/ghcn/ghcnd-stations.txt": STATIONS.encode(),
    "/ghcn/ghcnd-inventory.txt": INVENTORY.encode(),
}
"""What the server has. Columns of the lists: readme of GHCN-Daily, sections IV and VII."""


class Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        body = FILES.get(self.path)
        self.send_response(404 if body is None else 200)
        self.send_header("Content-Length", str(len(body or b"")))
        self.end_headers()
        self.wfile.write(body or b"")

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


def point_to(monkeypatch: pytest.MonkeyPatch, url: str, **settings: float) -> None:
    """The commands ask the publisher; here they ask another address, and once."""
    monkeypatch.setenv("no_proxy", "*")
    for function in (fetch_station, fetch_list):
        defaults: dict[str, Any] | None = function.__kwdefaults__
        assert defaults is not None
        for name, value in {"base_url": url, "retries": 0, **settings}.items():
            assert name in defaults
            monkeypatch.setitem(defaults, name, value)


@contextmanager
def serving() -> Iterator[str]:
    """Our own server, and its address; at the end nobody listens there any more."""
    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as http:
        thread = threading.Thread(target=partial(http.serve_forever, poll_interval=0.02))
        thread.start()
        yield f"http://127.0.0.1:{http.server_port}/ghcn/"
        http.shutdown()
        thread.join()


@pytest.fixture
def publisher(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with serving() as url:
        point_to(monkeypatch, url)
        yield


@pytest.fixture
def offline(monkeypatch: pytest.MonkeyPatch) -> None:
    with serving() as url:
        point_to(monkeypatch, url)


class TestNetwork:
    @pytest.mark.usefixtures("publisher")
    def test_fetch_brings_a_record_that_reads(self, run: Run, tmp_path: Path) -> None:
        folder = tmp_path / "downloads"
        ended = run("rain", "fetch", STATION, "--out", folder)
        assert ended.code == 0, ended.err
        file = folder / f"{STATION}.csv.gz"
        assert ended.out == f"Written: {file}\n"
        assert np.nansum(load(file).depth_m) * 1000.0 == pytest.approx(101.6)
        answer = one_object(run("rain", "fetch", STATION, "--out", folder, "--json"))
        assert answer == {"files": [str(file)], "findings": []}

    @pytest.mark.usefixtures("publisher")
    def test_fetch_of_a_station_that_is_not_there(self, run: Run, tmp_path: Path) -> None:
        for station, code in (("USC00999999", "REC-051"), ("nowhere", "REC-054")):
            (problem,) = refused(run, "rain", "fetch", station, "--out", tmp_path)
            assert problem["code"] == code
        assert not list(tmp_path.iterdir())

    @pytest.mark.usefixtures("publisher")
    def test_near_lists_stations_with_many_years(self, run: Run, tmp_path: Path) -> None:
        place: list[str | Path] = ["--latitude", "45", "--longitude", "-110", "--out", tmp_path]
        ended = run("rain", "near", *place)
        assert ended.code == 0, ended.err
        rows = [line.split() for line in ended.out.splitlines() if line.startswith("USC")]
        # A tenth of a degree of latitude is 11.1 km, a degree 111 km.
        assert [(row[0], row[3]) for row in rows] == [(STATION, "11"), ("USC00999902", "111")]
        ended = run("rain", "near", *place, "--units", "us")
        assert " 6.9 miles" in ended.out and " 69 miles" in ended.out and " km" not in ended.out
        answer = one_object(run("rain", "near", *place, "--count", "1", "--json"))
        (station,) = answer["stations"]
        assert station["identifier"] == STATION and station["first_year"] == 1990

    @pytest.mark.usefixtures("publisher")
    def test_near_a_place_that_is_not_on_earth(self, run: Run, tmp_path: Path) -> None:
        (problem,) = refused(
            run, "rain", "near", "--latitude", "95", "--longitude", "0", "--out", tmp_path
        )
        assert problem["code"] == "REC-054" and "90" in problem["allowed"]
        ended = run("rain", "near", "--latitude", "45")
        assert ended.code == 2 and "--longitude" in ended.err

    @pytest.mark.usefixtures("offline")
    def test_offline_says_so(self, run: Run, tmp_path: Path) -> None:
        place: list[str | Path] = ["--latitude", "45", "--longitude", "-110"]
        for words in (["fetch", STATION], ["near", *place]):
            (problem,) = refused(run, "rain", *words, "--out", tmp_path)
            assert problem["code"] == "REC-050"
            assert problem["what"] == "the publisher cannot be reached"
            assert "network" in problem["next"]

    def test_offline_an_old_copy_serves_and_says_so(
        self, run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        words: list[str | Path] = ["rain", "fetch", STATION, "--out", tmp_path]
        with serving() as url:
            point_to(monkeypatch, url)
            assert run(*words).code == 0
        point_to(monkeypatch, url, max_age_s=0.0)
        (finding,) = one_object(run(*words, "--json"))["findings"]
        assert finding["code"] == "REC-143" and "earlier copy" in finding["what"]
        ended = run(*words)
        assert ended.code == 0 and "CAUTION REC-143" in ended.out


class TestFutures:
    def test_supply_with_five(self, run: Run, house: Path) -> None:
        words: list[str | Path] = ["supply", house, "--futures", "5", "--json"]
        answer = one_object(run(*words))
        futures = answer["futures"]
        assert set(futures) == FUTURES_KEYS
        assert (futures["model"], futures["members"], futures["seed"]) == ("markov-1-gamma", 5, 1)
        assert futures["years"] == 4
        for band in BANDS:
            assert futures[band]["p05"] <= futures[band]["p50"] <= futures[band]["p95"]
        assert futures["acceptance"].startswith("Held against the record, markov-1-gamma fails on")
        codes = {f["code"] for f in answer["findings"]}
        assert codes >= {f["code"] for f in futures["findings"]} >= {"REC-151"}
        assert one_object(run(*words))["futures"] == futures
        other = one_object(run(*words, "--seed", "2"))["futures"]
        assert other["served_frac"] != futures["served_frac"]

    def test_supply_without(self, run: Run, house: Path) -> None:
        assert one_object(run("supply", house, "--json"))["futures"] is None
        assert one_object(run("supply", house, "--futures", "0", "--json"))["futures"] is None

    def test_the_text_has_the_futures(self, run: Run, house: Path) -> None:
        ended = run("supply", house, "--futures", "1", "--model", "whole-years")
        text = " ".join(ended.out.split())
        assert "In 1 invented future of 4 years (whole-years), " in text
        assert "Held against the record, whole-years fails on" in text
        assert all(len(line) <= 80 for line in ended.out.splitlines())

    def test_design_takes_them_into_its_report(self, run: Run, house: Path) -> None:
        answer = one_object(run("design", house, "--futures", "3", "--json"))
        futures = answer["supply"]["futures"]
        assert set(futures) == FUTURES_KEYS and futures["members"] == 3
        written = json.loads((house / "report" / "answers.json").read_text("utf-8"))
        assert written["supply"]["futures"] == futures
        page = (house / "report" / "report.html").read_text("utf-8")
        assert unbroken(futures["sentence"]) in page

    def test_monthly_normals_have_forty_of_their_own(self, run: Run, house: Path) -> None:
        put(house, 'file = "rain.csv"\nform = "csv"\n', "")
        plan = house / "plan.toml"
        table = (
            f"[normals]\nyears = 2\nrain = {json.dumps(['80 mm'] * 12)}\nwet-days = {[10] * 12}\n"
        )
        plan.write_text(plan.read_text("utf-8") + table, "utf-8")
        futures = one_object(run("supply", house, "--json"))["futures"]
        assert (futures["model"], futures["members"]) == ("monthly normals", 40)
        assert futures["acceptance"] == ""
        (problem,) = refused(run, "supply", house, "--model", "whole-years")
        assert problem["code"] == "REC-019" and "monthly normals" in problem["what"]

    def test_a_model_that_is_unknown_or_would_not_be_used(self, run: Run, house: Path) -> None:
        (problem,) = refused(run, "supply", house, "--futures", "2", "--model", "whole-year")
        assert problem["code"] == "REC-019" and "whole-years" in problem["allowed"]
        (problem,) = refused(run, "supply", house, "--model", "whole-year")
        assert "whole-years" in problem["allowed"]
        (problem,) = refused(run, "supply", house, "--model", "whole-years")
        assert problem["code"] == "REC-019" and "no futures" in problem["what"]

    def test_numbers_out_of_range(self, run: Run, house: Path) -> None:
        for command in ("supply", "design"):
            ended = run(command, house, "--futures", "-1")
            assert ended.code == 2 and "--futures" in ended.err
        (problem,) = refused(run, "supply", house, "--futures", "2", "--seed", "-1")
        assert problem["code"] == "CMD-001"


@pytest.mark.parametrize("command", ["read", "inspect", "make", "fetch", "near"])
def test_help_names_every_option(run: Run, command: str) -> None:
    ended = run("rain", command, "--help")
    assert ended.code == 0 and f"roofspring rain {command} [OPTIONS]" in ended.out
    assert "--json" in ended.out and "--out" in ended.out
    assert all(len(line) <= 80 for line in ended.out.splitlines())

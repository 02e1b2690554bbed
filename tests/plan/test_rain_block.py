"""The rain of a plan: every choice, what is refused, neighbours and normals, and whole plans."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from plan.texts import BARE, GOOD, load, problems
from rain.files import DATA, sheet
from roofspring import workflows
from roofspring.errors import Problem, RangeError, RecordError, RoofspringError
from roofspring.plan.explain import all_fields, explain
from roofspring.plan.fields import fields_of
from roofspring.plan.reference import reference_markdown
from roofspring.plan.weather import RainForm, RainUnit
from roofspring.rain import FILL_METHODS, READERS, WITHIN_DAY, Kept, RainRecord, write_csv
from roofspring.rain import load as load_rain
from roofspring.workflows.opening import open_with_rain

SEATTLE = load_rain(DATA / "seattle_daily_2012_2015.csv")
RAIN = '[rain]\nfile = "rain.csv"\n'
NEAR = '[neighbour.porch]\nfile = "porch.csv"\ndistance = "6 km"\n'
NEIGHBOUR_KEYS = (
    "file", "distance", "form", "unit", "station", "stamp", "tip", "tip-step", "sheet",
)  # fmt: skip
TWELVE = json.dumps(["80 mm"] * 12)
NORMALS = f"[normals]\nrain = {TWELVE}\nwet-days = {[10] * 12}\n"
HOUSE = """
[run]
wet-step = "24 h"
dry-step = "24 h"

[roof.r]
area = "100 m2"
material = "metal"

[tank.t]
volume = "5 m3"
height = "1.5 m"

[tap.kitchen]

[pipe.down]
from = "r"
to = "t"

[pipe.out]
from = "t"
to = "kitchen"

[use.u]
from = ["kitchen"]
per-day = "100 L/day"
"""


def rain_with(line: str) -> str:
    return BARE + RAIN + line + "\n" + NEAR


class TestChoices:
    @pytest.mark.parametrize("form", get_args(RainForm))
    def test_every_form(self, form: str) -> None:
        assert load(rain_with(f'form = "{form}"')).plan.rain.form == form

    @pytest.mark.parametrize("unit", get_args(RainUnit))
    def test_every_unit(self, unit: str) -> None:
        assert load(rain_with(f'unit = "{unit}"')).plan.rain.unit == unit

    @pytest.mark.parametrize("fill", FILL_METHODS)
    def test_every_fill(self, fill: str) -> None:
        assert load(rain_with(f'fill = "{fill}"')).plan.rain.fill == fill

    @pytest.mark.parametrize("way", [*WITHIN_DAY, "cascade"])
    def test_every_way_within_the_day(self, way: str) -> None:
        assert load(rain_with(f'within-day = "{way}"')).plan.rain.within_day == way

    def test_the_forms_are_those_that_are_read(self) -> None:
        assert set(get_args(RainForm)) == set(READERS)

    def test_stamp_tip_and_sheet(self) -> None:
        block = load(
            rain_with('stamp = "end"\ntip = "0.01 in"\ntip-step = "10 min"\nsheet = "gauge"')
        ).plan.rain
        assert (block.stamp, block.sheet) == ("end", "gauge")
        assert block.tip_m == pytest.approx(0.254e-3)  # an inch is 25.4 mm
        assert block.tip_step_s == pytest.approx(600.0)

    @pytest.mark.parametrize(
        ("line", "code", "next_step"),
        [
            ('form = "ghcn-dlly"', "PLN-014", 'did you mean "ghcn-dly"?'),
            ('form = "xls"', "PLN-014", 'did you mean "xlsx"?'),
            ('unit = "0.1mm"', "PLN-014", 'did you mean "0.1 mm"?'),
            ('unit = "inches"', "PLN-014", "write one of these words"),
            ('stamp = "ends"', "PLN-014", 'did you mean "end"?'),
            ('fill = "normal-ration"', "PLN-014", 'did you mean "normal-ratio"?'),
            ('fill = "quantile-maps"', "PLN-014", 'did you mean "quantile-map"?'),
            ('fill = "zero"', "PLN-014", "write one of these words"),
            ('within-day = "cascades"', "PLN-014", 'did you mean "cascade"?'),
            ('within-day = "type-2"', "PLN-014", 'did you mean "type2"?'),
            ("tip = 0.2", "PLN-013", "write it like"),
            ('tip = "0.2 kg"', "PLN-013", "write it like"),
            ('tip = "2 m"', "PLN-013", "check the unit"),
            ('tip-step = "5"', "PLN-013", "write it like"),
            ("sheet = 1", "PLN-015", "write it as described"),
            ('within_day = "even"', "PLN-010", 'did you mean "within-day"?'),
            ('shet = "gauge"', "PLN-010", 'did you mean "sheet"?'),
        ],
    )
    def test_slips(self, line: str, code: str, next_step: str) -> None:
        text = rain_with(line)
        (problem,) = problems(text)
        assert problem.code == code
        assert next_step in problem.next
        assert text.split("\n")[(problem.line or 0) - 1] == line


class TestRules:
    @pytest.mark.parametrize("fill", ["normal-ratio", "inverse-distance", "quantile-map"])
    def test_a_fill_that_needs_a_neighbour(self, fill: str) -> None:
        text = BARE + RAIN + f'fill = "{fill}"\n'
        (problem,) = problems(text)
        assert (problem.code, problem.where) == ("PLN-045", "rain.fill")
        assert f'fill = "{fill}"' == text.split("\n")[(problem.line or 0) - 1]
        assert "[neighbour.NAME]" in problem.next
        assert problems(text + NEAR) == ()

    def test_a_record_and_normals(self) -> None:
        (problem,) = problems(BARE + RAIN + NORMALS)
        assert (problem.code, problem.where) == ("PLN-046", "normals")
        assert problems(BARE + NORMALS) == ()
        assert problems(BARE + '[rain]\nwithin-day = "even"\n' + NORMALS) == ()

    @pytest.mark.parametrize("key", ["rain", "wet-days", "high", "low"])
    def test_not_twelve_months(self, key: str) -> None:
        lists: dict[str, list[Any]] = {
            "rain": ["80 mm"] * 12,
            "wet-days": [10] * 12,
            "high": ["15 degC"] * 12,
            "low": ["5 degC"] * 12,
        }
        lists[key] = lists[key][:11]
        text = BARE + "[normals]\n" + "".join(f"{k} = {json.dumps(v)}\n" for k, v in lists.items())
        (problem,) = problems(text)
        assert (problem.code, problem.where) == ("PLN-047", f"normals.{key}")
        assert "there are 11 values" in problem.what

    @pytest.mark.parametrize("key", ["high", "low"])
    def test_half_of_the_temperatures(self, key: str) -> None:
        (problem,) = problems(BARE + NORMALS + f"{key} = {json.dumps(['9 degC'] * 12)}\n")
        assert problem.code == "PLN-048"

    def test_a_gauge_is_not_its_own_neighbour(self) -> None:
        """Another station of the same file is another gauge."""
        same = NEAR.replace("porch.csv", "sub/../rain.csv")
        (problem,) = problems(BARE + RAIN + same)
        assert (problem.code, problem.where) == ("PLN-049", "neighbour.porch.file")
        assert problems(BARE + RAIN + 'station = "A"\n' + same + 'station = "B"\n') == ()
        (problem,) = problems(BARE + RAIN + 'station = "A"\n' + same + 'station = "A"\n')
        assert problem.code == "PLN-049"

    def test_all_of_them_at_once(self) -> None:
        text = (
            BARE + RAIN + 'fill = "normal-ratio"\nform = "cvs"\n'
            '[normals]\nrain = ["80 mm"]\nwet-days = [10]\nlow = ["5 degC"]\n'
        )
        codes = [p.code for p in problems(text)]
        assert sorted(codes) == ["PLN-014", "PLN-045", "PLN-046", *["PLN-047"] * 3, "PLN-048"]

    @pytest.mark.parametrize(
        ("old", "new", "code"),
        [
            ('file = "porch.csv"\n', "", "PLN-012"),
            ('distance = "6 km"\n', "", "PLN-012"),
            ('distance = "6 km"', 'distance = "0 km"', "PLN-013"),
            ('distance = "6 km"', 'distnce = "6 km"', "PLN-010"),
            ("[neighbour.porch]", "[neighbor.porch]", "PLN-011"),
            ("[neighbour.porch]", "[neighbour.Porch]", "PLN-016"),
            ("[neighbour.porch]", "[neighbour]", "PLN-015"),
        ],
    )
    def test_slips_of_a_neighbour(self, old: str, new: str, code: str) -> None:
        assert old in NEAR
        found = problems(BARE + RAIN + NEAR.replace(old, new))
        assert code in {p.code for p in found}
        if code == "PLN-011":
            assert 'did you mean "neighbour"?' in found[0].next

    @pytest.mark.parametrize(
        ("old", "new", "code"),
        [
            ('"80 mm", ', "80, ", "PLN-013"),
            ('"80 mm", ', '"80 L", ', "PLN-013"),
            ("[10, ", "[-1, ", "PLN-013"),
            (f"wet-days = {[10] * 12}\n", "", "PLN-012"),
            ("wet-days", "wet-day", "PLN-012"),
            ("[normals]", "[normals]\nyears = 0", "PLN-013"),
            ("[normals]", "[normal]", "PLN-011"),
        ],
    )
    def test_slips_of_normals(self, old: str, new: str, code: str) -> None:
        assert old in NORMALS
        assert code in {p.code for p in problems(BARE + NORMALS.replace(old, new, 1))}

    def test_normals_that_contradict_themselves(self, tmp_path: Path) -> None:
        """80 mm in a month without a wet day."""
        text = BARE + NORMALS.replace("[10, ", "[0, ") + HOUSE
        (tmp_path / "plan.toml").write_text(text, "utf-8")
        with pytest.raises(RangeError, match="REC-067"):
            workflows.supply(tmp_path)


class TestTold:
    TEXT = GOOD + NEAR.replace("porch]", "raw]")
    """The neighbour has the id of the raw tank."""

    def test_a_neighbour_may_have_the_id_of_a_part(self) -> None:
        assert problems(self.TEXT) == ()
        loaded = load(self.TEXT)
        assert set(loaded.plan.neighbours) == {"raw"}
        assert dict(loaded.plan.parts()) == dict(load(GOOD).plan.parts())

    def test_explain(self) -> None:
        loaded = load(self.TEXT)
        assert explain(loaded, "raw.overflow").where == "tank.raw.overflow"
        told = explain(loaded, "neighbour.raw.distance")
        assert (told.value, told.unit, told.text) == (pytest.approx(6000.0), "m", "6000 m")
        assert (told.origin, told.as_written) == ("given", '"6 km"')
        assert self.TEXT.split("\n")[(told.line or 0) - 1] == 'distance = "6 km"'
        assert explain(loaded, "neighbour.raw.unit").origin == "derived"
        for key in ("stamp", "tip", "tip-step", "sheet"):
            told, own = explain(loaded, f"neighbour.raw.{key}"), explain(loaded, f"rain.{key}")
            assert (told.about, told.allowed, told.text) == (own.about, own.allowed, own.text)
        assert explain(loaded, "tank.raw.overflow").text == "4.4 m"
        assert explain(loaded, "rain.tip-step").text == "5 min"
        assert explain(loaded, "rain.within-day").source == "HAAN_1994"
        normals = load(BARE + NORMALS)
        assert explain(normals, "normals.rain").text == "12 times 80 mm"
        assert explain(normals, "normals.wet-day").text == "1 mm"
        assert explain(normals, "normals.years").text == "30"
        assert explain(normals, "normals.high").origin == "not given"

    def test_every_value_is_listed(self) -> None:
        where = {t.where for t in all_fields(load(self.TEXT))}
        assert {f"neighbour.raw.{k}" for k in NEIGHBOUR_KEYS} <= where
        assert not any(w.startswith("normals") for w in where)
        listed = {t.where for t in all_fields(load(BARE + NORMALS))}
        keys = ("rain", "wet-days", "wet-day", "high", "low", "years", "seed")
        assert {f"normals.{k}" for k in keys} <= listed

    def test_the_reference_page(self) -> None:
        page = reference_markdown()
        sections = dict(re.findall(r"^## `\[(.+?)\]`\n((?:(?!^## ).*\n?)*)", page, re.MULTILINE))
        for table, keys in (
            ("rain", ("file", "form", "unit", "station", "stamp", "tip", "tip-step", "sheet")),
            ("neighbour.NAME", NEIGHBOUR_KEYS),
            ("normals", ("rain", "wet-days", "wet-day", "high", "low", "years", "seed")),
        ):
            for key in keys:
                assert f"\n| `{key}` | " in sections[table]
        for word in (*READERS, *FILL_METHODS, *WITHIN_DAY, "cascade"):
            assert f'"{word}"' in sections["rain"]


def test_the_examples_of_the_guide_read() -> None:
    guide = (DATA.parents[1] / "docs" / "guides" / "rain-records.md").read_text("utf-8")
    record, normals = re.findall(r"^```toml\n(.*?)^```", guide, re.DOTALL | re.MULTILINE)
    plan = load(BARE + record).plan
    assert plan.rain.within_day == "cascade" and plan.rain.fill == "normal-ratio"
    assert set(plan.neighbours) == {"village"}
    told = load(BARE + normals).plan.normals
    assert told is not None and sum(told.rain_m) == pytest.approx(0.785)
    table = guide.partition("| key of `[rain]` |")[2].partition("\n\n")[0]
    keys = re.findall(r"^\| `([a-z-]+)`(?:, `([a-z-]+)`)? \|", table, re.MULTILINE)
    known = {key for pair in keys for key in pair if key}
    assert set(fields_of("rain")) - {"file"} == known


def with_holes(record: RainRecord) -> tuple[RainRecord, np.ndarray]:
    """Ten stretches of a fortnight cut out, one every 140 days."""
    gone = np.zeros(record.days_count, dtype=bool)
    for first in range(60, 1400, 140):
        gone[first : first + 14] = True
    assert gone.sum() == 140
    return (
        replace(
            record,
            depth_m=np.where(gone, np.nan, record.depth_m),
            kept=np.where(gone, Kept.MISSING, record.kept).astype(np.uint8),
        ),
        gone,
    )


def written(folder: Path, rain: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "plan.toml").write_text(BARE + rain + HOUSE, "utf-8")
    return folder


class TestWholePlans:
    def test_a_neighbour_fills_better_than_the_season(self, tmp_path: Path) -> None:
        """The neighbour has 0.8 of the rain on every day, so the normal ratio is exact."""
        cut, gone = with_holes(SEATTLE)
        filled = {}
        for fill in ("same-season", "normal-ratio", "inverse-distance", "quantile-map"):
            folder = written(tmp_path / fill, RAIN + f'fill = "{fill}"\n' + NEAR)
            write_csv(cut, folder / "rain.csv")
            write_csv(replace(SEATTLE, depth_m=0.8 * SEATTLE.depth_m), folder / "porch.csv")
            record = open_with_rain(folder).record
            np.testing.assert_array_equal(record.depth_m[~gone], SEATTLE.depth_m[~gone])
            assert (record.kept[gone] == Kept.FILLED).all()
            assert record.fill_method.startswith(f"{fill}: 140 of 1461 steps")
            filled[fill] = np.abs(record.depth_m - SEATTLE.depth_m)[gone].mean()
        rain_m = SEATTLE.depth_m[gone].mean()
        assert filled["normal-ratio"] < 1e-9
        assert filled["inverse-distance"] == pytest.approx(0.2 * rain_m, rel=1e-9)
        assert filled["quantile-map"] < 0.1 * filled["same-season"]
        assert filled["same-season"] > 0.5 * rain_m

    def test_a_neighbour_in_a_spreadsheet(self, tmp_path: Path) -> None:
        cut, gone = with_holes(SEATTLE)
        near = NEAR.replace("porch.csv", "porch.xlsx") + 'sheet = "porch"\n'
        folder = written(tmp_path / "house", RAIN + 'fill = "normal-ratio"\n' + near)
        write_csv(cut, folder / "rain.csv")
        rows = zip(SEATTLE.days.tolist(), (1e3 * SEATTLE.depth_m).tolist(), strict=True)
        sheet(folder / "porch.xlsx", [("date", "rain (mm)"), *rows], name="porch")
        record = open_with_rain(folder).record
        assert gone.sum() and np.abs(record.depth_m - SEATTLE.depth_m).max() < 1e-9
        written(folder, RAIN + near.replace('"porch"\n', '"prch"\n'))
        (problem,) = refusal(folder)
        assert problem.file.endswith("porch.xlsx") and "porch" in problem.allowed + problem.got

    def test_a_tipping_bucket_fills_a_record_of_days(self, tmp_path: Path) -> None:
        """A tip is 0.5 mm of ours; the bucket knows how much it rained on each day of a hole."""
        rng = np.random.default_rng(6)
        tips = rng.poisson(2.0, 800) * (rng.random(800) < 0.4)
        depth = np.where(np.arange(800) // 20 == 15, np.nan, 0.5e-3 * tips)
        days = np.datetime64("2021-01-01") + np.arange(800)
        for step in ('tip-step = "24 h"\n', "", 'tip-step = "1 h"\n'):
            folder = written(
                tmp_path / f"house{len(step)}",
                RAIN + 'fill = "normal-ratio"\n'
                '[neighbour.porch]\nfile = "tips.csv"\ndistance = "6 km"\ntip = "0.01 in"\n' + step,
            )
            lines = [f"{d},{v:.1f}\n" for d, v in zip(days, depth * 1e3, strict=True)]
            (folder / "rain.csv").write_text("date,rain_mm\n" + "".join(lines), "utf-8")
            times = [
                f"{d} {8 + k % 12:02d}:{k // 12:02d}:00\n"
                for d, n in zip(days, tips, strict=True) for k in range(n)
            ]  # fmt: skip
            (folder / "tips.csv").write_text("time\n" + "".join(sorted(times)), "utf-8")
            record = open_with_rain(folder).record
            assert record.fill_method.startswith("normal-ratio: 20 of 800 steps")
            np.testing.assert_allclose(record.depth_m, 0.5e-3 * tips, atol=1e-9)

    def test_a_step_for_tips_of_a_neighbour_of_depths(self, tmp_path: Path) -> None:
        folder = written(tmp_path / "house", RAIN + NEAR + 'tip-step = "1 h"\n')
        write_csv(SEATTLE, folder / "rain.csv")
        write_csv(SEATTLE, folder / "porch.csv")
        (problem,) = refusal(folder)
        assert (problem.code, problem.where) == ("REC-038", "tip_step_s")
        assert problem.file.endswith("porch.csv") and "depths" in problem.what
        written(folder, RAIN + 'tip-step = "1 h"\n' + NEAR)
        (problem,) = refusal(folder)
        assert problem.code == "REC-038" and problem.file.endswith("rain.csv")

    @pytest.mark.parametrize(
        ("shown", "wants", "never"), [("us", " in ", "mm"), ("metric", " mm ", " in ")]
    )
    def test_findings_speak_the_units_of_the_plan(
        self, shown: str, wants: str, never: str, tmp_path: Path
    ) -> None:
        """Half of the rain from a year on, a stuck gauge, and a neighbour that was not."""
        depth = np.concatenate([SEATTLE.depth_m] * 4 + [0.4 * SEATTLE.depth_m] * 4)
        depth[100:107] = 0.003
        depth[500:540] = 0.0
        record = replace(SEATTLE, depth_m=depth, kept=np.zeros(len(depth), dtype=np.uint8),
                         tmin_degc=None, tmax_degc=None)  # fmt: skip
        near = replace(record, depth_m=np.concatenate([SEATTLE.depth_m] * 8))
        folder = written(tmp_path / "house", RAIN + NEAR)
        text = (folder / "plan.toml").read_text("utf-8")
        assert "show =" not in text
        (folder / "plan.toml").write_text(f'show = "{shown}"\n{text}', "utf-8")
        write_csv(record, folder / "rain.csv")
        write_csv(near, folder / "porch.csv")
        # REC-125 names the grid that an observer rounded to, in the unit in which it is round.
        found = [f for f in open_with_rain(folder).record.findings if f.code != "REC-125"]
        words = " ".join(f"{f.what} {f.got} {f.limit} {f.next} " for f in found)
        assert {"REC-113", "REC-123", "REC-127", "REC-129"} <= {f.code for f in found}
        assert wants in words
        assert not re.search(rf"\d ?{never.strip()}\b", words), words

    def test_the_catch_of_the_gauge_and_snow_are_choices(self, tmp_path: Path) -> None:
        """A tenth more is a tenth more, and snow is corrected apart from rain."""
        cold = replace(
            SEATTLE,
            tmin_degc=np.full(1461, -8.0) + 16.0 * (np.arange(1461) % 365 > 90),
            tmax_degc=np.full(1461, -4.0) + 18.0 * (np.arange(1461) % 365 > 90),
        )
        told = {}
        for name, line in (
            ("as it is", ""),
            ("more", "rain-factor = 1.1\n"),
            ("snow", "snow-factor = 1.5\n"),
        ):
            folder = written(tmp_path / name, RAIN + line)
            write_csv(cold, folder / "rain.csv")
            told[name] = open_with_rain(folder).record
        base, winter = told["as it is"], np.arange(1461) % 365 <= 90
        np.testing.assert_array_equal(base.depth_m, SEATTLE.depth_m)
        np.testing.assert_allclose(told["more"].depth_m, 1.1 * base.depth_m, rtol=1e-12)
        by_snow = base.depth_m * np.where(winter, 1.5, 1.0)
        np.testing.assert_allclose(told["snow"].depth_m, by_snow, rtol=1e-12)
        codes = {name: {f.code for f in record.findings} for name, record in told.items()}
        assert "REC-193" in codes["more"] & codes["snow"]
        assert "REC-193" not in codes["as it is"]

    @pytest.mark.parametrize(
        ("line", "code"),
        [
            ("rain-factor = 0.9", "REC-028"),
            ("rain-factor = 1.6", "REC-028"),
            ("snow-factor = 4", "REC-028"),
            ("snow-factor = 1.3", "REC-027"),
        ],
    )
    def test_choices_that_cannot_be(self, line: str, code: str, tmp_path: Path) -> None:
        folder = written(tmp_path / "house", RAIN + line + "\n")
        write_csv(replace(SEATTLE, tmin_degc=None, tmax_degc=None), folder / "rain.csv")
        with pytest.raises(RoofspringError) as caught:
            open_with_rain(folder)
        assert [p.code for p in caught.value.problems] == [code]

    def test_the_answer_says_what_was_filled(self, tmp_path: Path) -> None:
        cut, _ = with_holes(SEATTLE)
        folder = written(tmp_path / "house", RAIN + 'fill = "normal-ratio"\n' + NEAR)
        write_csv(cut, folder / "rain.csv")
        write_csv(replace(SEATTLE, depth_m=0.8 * SEATTLE.depth_m), folder / "porch.csv")
        answer = workflows.supply(folder)
        assert answer.filled_frac == pytest.approx(140.0 / 1461.0)
        assert answer.fell_m3 == pytest.approx(100.0 * SEATTLE.depth_m.sum(), rel=1e-9)

    def test_problems_of_a_neighbour_name_its_file(self, tmp_path: Path) -> None:
        folder = written(tmp_path / "house", RAIN + NEAR)
        write_csv(SEATTLE, folder / "rain.csv")
        (problem,) = refusal(folder)
        assert problem.code == "REC-001" and problem.file.endswith("plan.toml")
        assert problem.got == "porch.csv" and problem.where == "neighbour.porch.file"
        (folder / "porch.csv").write_text("date,rain\n2012-01-01,1\n", "utf-8")
        (problem,) = refusal(folder)
        assert problem.code == "REC-006" and problem.file.endswith("porch.csv")
        told = (folder / "plan.toml").read_text("utf-8").replace(NEAR, NEAR + 'unit = "mm"\n')
        (folder / "plan.toml").write_text(told, "utf-8")
        assert open_with_rain(folder).record.days_count == 1461

    def test_a_spreadsheet(self, tmp_path: Path) -> None:
        folder = written(
            tmp_path / "house", '[rain]\nfile = "rain.xlsx"\nsheet = "gauge"\nform = "xlsx"\n'
        )
        mm = np.round(SEATTLE.depth_m * 1000.0, 1)
        rows = [("date", "rain (mm)"), *zip(SEATTLE.days.tolist(), mm.tolist(), strict=True)]
        sheet(folder / "rain.xlsx", rows, name="gauge")
        same = written(tmp_path / "same", RAIN)
        write_csv(SEATTLE, same / "rain.csv")
        ours, theirs = workflows.supply(folder), workflows.supply(same)
        assert ours.fell_m3 == pytest.approx(100.0 * mm.sum() / 1000.0, rel=1e-9)
        assert ours.delivered_m3 == pytest.approx(theirs.delivered_m3, rel=1e-9)
        assert ours.days_short == theirs.days_short
        (folder / "plan.toml").write_text(
            BARE + '[rain]\nfile = "rain.xlsx"\nsheet = "gage"\n' + HOUSE, "utf-8"
        )
        (problem,) = refusal(folder)
        assert problem.code.startswith("REC-") and "gauge" in problem.allowed + problem.got

    def test_tips(self, tmp_path: Path) -> None:
        """A thousand tips of 0.2 mm in a year are 200 mm on 100 m2, so 20 m3."""
        rng = np.random.default_rng(4)
        minutes = np.sort(rng.choice(365 * 1440, size=1000, replace=False))
        times = np.datetime64("2021-01-01T00:00:00") + minutes.astype("timedelta64[m]")
        folder = written(
            tmp_path / "house",
            '[rain]\nfile = "tips.csv"\ntip = "0.2 mm"\ntip-step = "15 min"\n',
        )
        lines = "".join(f"{t}\n".replace("T", " ") for t in times.astype("datetime64[s]"))
        (folder / "tips.csv").write_text("time\n" + lines, "utf-8")
        record = open_with_rain(folder).record
        assert record.step_s == 900.0
        assert record.depth_m.sum() == pytest.approx(0.2, rel=1e-9)
        days = np.bincount(minutes // 1440, minlength=365)
        at = (record.days - np.datetime64("2021-01-01")).astype(int)
        np.testing.assert_allclose(record.daily_depth_m, 0.2e-3 * days[at], atol=1e-12)
        answer = workflows.supply(folder)
        whole = record.daily_depth_m.sum()
        assert answer.fell_m3 == pytest.approx(100.0 * whole, rel=1e-9)
        assert answer.within_day_ways == ()

    def test_tips_with_their_depths_in_a_column(self, tmp_path: Path) -> None:
        """The step is that of the plan, though the depth of a tip stands in the file."""
        folder = written(tmp_path / "house", '[rain]\nfile = "tips.csv"\ntip-step = "1 h"\n')
        (folder / "tips.csv").write_text(
            "time,tip_mm\n2021-01-01 00:01:00,0.2\n2021-01-01 00:58:00,0.2\n", "utf-8"
        )
        record = open_with_rain(folder).record
        assert record.step_s == 3600.0
        assert record.depth_m[:2].tolist() == pytest.approx([0.4e-3, 0.0])

    def test_defaults_do_not_meet_a_form_that_cannot_take_them(self, tmp_path: Path) -> None:
        """A stamp, a tip or a step is told to the reader only where the plan gives it."""
        folder = written(tmp_path / "house", '[rain]\nfile = "rain.dly"\n')
        (folder / "rain.dly").write_bytes((DATA / "formats" / "ghcn.dly").read_bytes())
        assert open_with_rain(folder).record.days_count >= 7
        written(folder, '[rain]\nfile = "rain.dly"\nstamp = "start"\n')
        (problem,) = refusal(folder)
        assert problem.code == "REC-038" and "csv" in problem.allowed

    def test_a_tip_step_that_does_not_divide_the_day(self, tmp_path: Path) -> None:
        folder = written(
            tmp_path / "house",
            '[rain]\nfile = "tips.csv"\ntip = "0.2 mm"\ntip-step = "7 min"\n',
        )
        (folder / "tips.csv").write_text("time\n2021-01-01 00:01:00\n", "utf-8")
        (problem,) = refusal(folder)
        assert problem.code.startswith("REC-") and problem.next

    def test_the_unit_of_an_access_file(self, tmp_path: Path) -> None:
        folder = written(tmp_path / "house", '[rain]\nfile = "a.csv"\n')
        (folder / "a.csv").write_bytes((DATA / "formats" / "ncei_access.csv").read_bytes())
        (problem,) = refusal(folder)
        assert problem.code == "REC-006"
        written(folder, '[rain]\nfile = "a.csv"\nunit = "0.1 mm"\n')
        record = open_with_rain(folder).record
        # README of tests/data/formats.
        measured = record.depth_m[record.kept != Kept.FILLED]
        assert measured.sum() == pytest.approx(0.1016, rel=1e-9)


def refusal(folder: Path) -> tuple[Problem, ...]:
    with pytest.raises(RecordError) as caught:
        open_with_rain(folder)
    return caught.value.problems

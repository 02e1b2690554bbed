"""Changing one value leaves every other byte of the file where it was."""

import tomllib
from pathlib import Path

import pytest

from plan.texts import BARE, GOOD, load
from roofspring.errors import OutputError, PlanError
from roofspring.plan.read import read_plan
from roofspring.plan.write import save, set_value

LOADED = load(GOOD)


@pytest.mark.parametrize(
    ("name", "value", "old", "new"),
    [
        ("tank.raw.overflow", "4.30 m", 'overflow = "4.40 m"', 'overflow = "4.30 m"'),
        ("rain.file", "other.csv", 'file = "rain.csv"  # beside', 'file = "other.csv"  # beside'),
        ("site.people", "7", "people = 5", "people = 7"),
        ("kitchen.drinking", "false", "drinking = true", "drinking = false"),
        ("goats.from", '["trough"]', '["trough", "raw.garden"]', '["trough"]'),
        ("beds.ration-to", "60 %", "ration-to = 0.5", 'ration-to = "60 %"'),
        ("beds.ration-to", "0.6", "ration-to = 0.5", "ration-to = 0.6"),
        ("feed-a.valve.kv", "2 m3/h", 'kv = "1.7 m3/h"', 'kv = "2 m3/h"'),
        ("show", "us", 'show = "metric"', 'show = "us"'),
        (
            "cabin-down.size",
            "90 mm",
            '"leaves", size = "80 mm" }\nshed',
            '"leaves", size = "90 mm" }\nshed',
        ),
    ],
)
def test_changed_value(name: str, value: str, old: str, new: str) -> None:
    assert GOOD.count(old) == 1
    assert set_value(LOADED, name, value) == GOOD.replace(old, new)


@pytest.mark.parametrize(
    ("name", "value", "after", "line"),
    [
        ("raw.mesh", "1 mm", 'outlet = "3.30 m"', 'mesh = "1 mm"'),
        ("trough.count", "2", "]\n\n[disinfection.lamp]", "count = 2"),
        ("sand-b.d10", "0.3 mm", '[filter.sand-b]\narea = "0.5 m2"', 'd10 = "0.3 mm"'),
        ("feed-b.valve.kind", "check", 'to = "sand-b"', 'valve = { kind = "check" }'),
        ("feed-a.strainer.k", "2", 'blocked = "20 %"', "k = 2"),
    ],
)
def test_added_value_stands_under_the_last_key_of_its_table(
    name: str, value: str, after: str, line: str
) -> None:
    assert GOOD.count(after) == 1
    at = GOOD.index(after) + (1 if after.startswith("]") else len(after))
    assert set_value(LOADED, name, value) == GOOD[:at] + f"\n{line}" + GOOD[at:]


def test_value_of_a_table_that_is_not_there_yet() -> None:
    assert (
        set_value(load(BARE), "run.wet-step", "10 min") == BARE + '\n[run]\nwet-step = "10 min"\n'
    )
    assert load(set_value(load(BARE), "show", "us")).plan.show == "us"


def test_key_inside_an_inline_table() -> None:
    text = set_value(LOADED, "cabin-down.length", "6 m")
    content = tomllib.loads(text)
    assert content["pipe"]["cabin-down"].pop("length") == "6 m"
    assert content == tomllib.loads(GOOD)
    assert [line for line in text.split("\n") if "#" in line] == [
        line for line in GOOD.split("\n") if "#" in line
    ]


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("raw.overflow", "1.30 kg", "PLN-013"),
        ("raw.overflow", "1.30 m", "PLN-033"),
        ("raw.shape", "sphere", "PLN-014"),
        ("raw.nothing", "1", "PLN-050"),
        ("site.people", "many", "PLN-051"),
        ("site.people", "5\nelevation = 3", "PLN-051"),
        ("feed-a.to", "nowhere", "PLN-021"),
        ("kitchen.drinking", "flase", "PLN-051"),
        ("format", "2", "PLN-006"),
    ],
)
def test_bad_value_is_refused(name: str, value: str, code: str) -> None:
    with pytest.raises(PlanError) as caught:
        set_value(LOADED, name, value)
    assert code in [p.code for p in caught.value.problems]


def test_text_is_quoted_whatever_it_holds() -> None:
    odd = 'a "quoted" \\ name\twith # signs'
    assert load(set_value(LOADED, "name", odd)).plan.name == odd


class TestSave:
    def test_file_is_replaced(self, tmp_path: Path) -> None:
        path = tmp_path / "plan.toml"
        path.write_text(BARE)
        path.chmod(0o640)
        save(path, GOOD)
        assert read_plan(path).text == GOOD
        assert path.stat().st_mode & 0o777 == 0o640
        assert [p.name for p in tmp_path.iterdir()] == ["plan.toml"]

    def test_bad_plan_is_not_written(self, tmp_path: Path) -> None:
        path = tmp_path / "plan.toml"
        path.write_text(BARE)
        with pytest.raises(PlanError):
            save(path, "format = 1")
        assert path.read_text() == BARE
        assert [p.name for p in tmp_path.iterdir()] == ["plan.toml"]

    def test_folder_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(OutputError) as caught:
            save(tmp_path / "none" / "plan.toml", BARE)
        assert caught.value.problems[0].code == "OUT-001"

    def test_target_that_cannot_be_replaced_leaves_nothing_behind(self, tmp_path: Path) -> None:
        (tmp_path / "plan.toml").mkdir()
        with pytest.raises(OutputError) as caught:
            save(tmp_path / "plan.toml", BARE)
        assert caught.value.problems[0].code == "OUT-001"
        assert [p.name for p in tmp_path.iterdir()] == ["plan.toml"]

"""Where values come from, told from the file and the model."""

import pytest

from plan.texts import GOOD, load
from roofspring.errors import PlanError
from roofspring.plan.explain import all_fields, explain
from roofspring.plan.fields import fields_of, table_names
from roofspring.sources import cite

LOADED = load(GOOD)


def test_given_value() -> None:
    told = explain(LOADED, "raw.overflow")
    assert told == explain(LOADED, "tank.raw.overflow")
    assert (told.where, told.value, told.unit, told.text) == (
        "tank.raw.overflow",
        pytest.approx(4.4),
        "m",
        "4.4 m",
    )
    assert told.origin == "given"
    assert GOOD.split("\n")[(told.line or 0) - 1] == 'overflow = "4.40 m"'
    assert told.as_written == '"4.40 m"'
    assert "100 m" in told.allowed


def test_default_with_its_source() -> None:
    told = explain(LOADED, "sand-a.d10")
    assert (told.origin, told.source, told.text, told.line) == (
        "default",
        "VISSCHER_1990",
        "0.25 mm",
        None,
    )


def test_derived_and_absent() -> None:
    assert explain(LOADED, "cabin.wetting").origin == "derived"
    assert "roof table" in explain(LOADED, "cabin.wetting").text
    assert explain(LOADED, "sand-b.weir").origin == "not given"


@pytest.mark.parametrize(
    ("name", "where", "text"),
    [
        ("site.people", "site.people", "5"),
        ("run.dry-step", "run.dry-step", "6 h"),
        ("rain.fill", "rain.fill", "none"),
        ("name", "name", "Alder Bench"),
        ("feed-a.size", "pipe.feed-a.size", "19.05 mm"),
        ("pipe.feed-a.valve.shuts-at", "pipe.feed-a.valve.shuts-at", "3.1 m"),
        ("feed-a.strainer.blocked", "pipe.feed-a.strainer.blocked", "0.2"),
        ("feed-b.valve.open", "pipe.feed-b.valve.open", "1"),
        ("cabin-down.size", "pipe.cabin-down.size", "80 mm"),
        ("house.per-person", "use.house.per-person", "50 L/day"),
        ("trough.table", "tank.trough.table", "[[0 m, 0 m3], [0.2 m, 40 L], [0.5 m, 130 L]]"),
        ("raw.more-outlets", "tank.raw.more-outlets", "garden = 3.6 m"),
    ],
)
def test_names(name: str, where: str, text: str) -> None:
    told = explain(LOADED, name)
    assert (told.where, told.text) == (where, text)


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("raw.overflw", "overflow"),
        ("rew.overflow", "raw"),
        ("tank.rew.overflow", "raw"),
        ("site.peple", "people"),
        ("feed-a.valv.kv", "valve"),
        ("feed-a.valve.knd", "kind"),
    ],
)
def test_near_misses(name: str, meant: str) -> None:
    with pytest.raises(PlanError, match=f'did you mean "{meant}"') as caught:
        explain(LOADED, name)
    assert caught.value.problems[0].code == "PLN-050"


@pytest.mark.parametrize("name", ["", ".", "a.b.c.d.e", "raw", "tank.raw", "raw.overflow.x", "é"])
def test_names_that_mean_nothing(name: str) -> None:
    with pytest.raises(PlanError):
        explain(LOADED, name)


def test_units_of_the_plan_are_used() -> None:
    us = load(GOOD.replace('show = "metric"', 'show = "us"'))
    assert explain(us, "woodshed.area").text == "495 ft2"
    assert explain(us, "raw.overflow").text == "14.436 ft"  # 4.40 / 0.3048


def test_every_field_of_every_part_is_listed_once() -> None:
    told = all_fields(LOADED)
    assert len({t.where for t in told}) == len(told)
    where = {t.where for t in told}
    for part_id, part in LOADED.plan.parts():
        inner = {"skin", "care", "cover", "shelter", "soak"}  # told key by key
        keys = set(fields_of(part.kind)) - inner
        assert {f"{part.kind}.{part_id}.{key}" for key in keys} <= where
    assert {"filter.sand-a.skin.law", "filter.sand-a.care.by"} <= where
    assert "pipe.feed-a.valve.kv" in where and "pipe.feed-a.valve" not in where
    assert "pipe.feed-b.valve" in where
    # The small plan has a record, so no normals, and no neighbour: test_rain_block.py has both;
    # and no other water (test_source.py), and no prices (test_money.py).
    tables = set(table_names()) - {"normals", "neighbour", "source", "price"}
    assert {t.split(".")[0] for t in where} == {*tables, "format", "name", "show"}
    for one in told:
        assert explain(LOADED, one.where) == one


def test_given_agrees_with_the_file() -> None:
    for one in all_fields(LOADED):
        assert (one.origin == "given") == LOADED.given(one.where), one.where
        assert (one.line is not None) == (one.origin == "given")


def test_every_source_can_be_cited() -> None:
    for one in all_fields(LOADED):
        assert not one.source or cite(one.source)


def test_loaded_plan_tells_lines_and_raw_text() -> None:
    assert LOADED.raw("tank.raw.overflow") == '"4.40 m"'
    assert LOADED.raw("tank.raw.mesh") == ""
    assert GOOD.split("\n")[LOADED.lines["tank.raw"] - 1] == "[tank.raw]"
    assert len(LOADED.hash) == 12
    assert load(GOOD + "# one more comment\n").hash != LOADED.hash

"""Whatever a file holds, it is a whole plan or a list of problems; never another error."""

import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plan.texts import GOOD, load
from roofspring.errors import PlanError, codes
from roofspring.plan.explain import all_fields
from roofspring.plan.read import read_plan
from roofspring.plan.write import set_value

LINES = GOOD.split("\n")
BITS = [
    "",
    "=",
    "[",
    "]",
    '"',
    "'",
    "{",
    "}",
    ",",
    ".",
    "#",
    "\\",
    "0",
    "-",
    "nan",
    "true",
    "é",
    "\0",
]


def assert_whole_or_told(text: str) -> None:
    try:
        loaded = load(text)
    except PlanError as error:
        assert error.problems
        assert all(p.code in codes() and p.what and p.next for p in error.problems)
        assert all(p.line is None or 1 <= p.line <= text.count("\n") + 1 for p in error.problems)
    else:
        all_fields(loaded)


@st.composite
def line_mutations(draw: st.DrawFn) -> str:
    lines = list(LINES)
    for _ in range(draw(st.integers(1, 6))):
        i, j = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        match draw(st.sampled_from(["delete", "double", "swap", "copy", "join"])):
            case "delete" if len(lines) > 2:
                del lines[i]
            case "double":
                lines.insert(i, lines[i])
            case "swap":
                lines[i], lines[j] = lines[j], lines[i]
            case "copy":
                lines.insert(j, lines[i])
            case _:
                lines[i] += lines[j]
    return "\n".join(lines)


@st.composite
def character_mutations(draw: st.DrawFn) -> str:
    text = GOOD
    for _ in range(draw(st.integers(1, 5))):
        at = draw(st.integers(0, len(text) - 1))
        text = text[:at] + draw(st.sampled_from(BITS)) + text[at + draw(st.integers(0, 2)) :]
    return text


@settings(max_examples=6000, deadline=None)
@given(line_mutations())
def test_mutated_lines(text: str) -> None:
    assert_whole_or_told(text)


@settings(max_examples=6000, deadline=None)
@given(character_mutations())
def test_mutated_characters(text: str) -> None:
    assert_whole_or_told(text)


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["1 m", "1 m2", "1 m3", "raw", "raw.outlet", "float", "metal", "upright"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)
WORDS = sorted(
    {w.strip('[]"= ') for line in LINES for w in line.replace(".", " ").split(" ") if w.isascii()}
    - {""}
)


def toml(value: Any) -> str:
    """A value in TOML; None stands for a date, which no field takes."""
    if value is None:
        return "1979-05-27"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return "{" + ", ".join(f"{quoted(k)} = {toml(v)}" for k, v in value.items()) + "}"


def quoted(text: str) -> str:
    plain = [c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08x}" for c in text]
    return '"' + "".join(plain) + '"'


@settings(max_examples=6000, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.lists(st.sampled_from(WORDS) | st.text(max_size=4), min_size=1, max_size=4), VALUES
        ),
        max_size=6,
    )
)
def test_random_documents(entries: list[tuple[list[str], Any]]) -> None:
    lines = [f"{'.'.join(quoted(k) for k in keys)} = {toml(value)}" for keys, value in entries]
    assert_whole_or_told("\n".join(["format = 1", *lines]))


@settings(max_examples=6000, deadline=None)
@given(st.data())
def test_any_value_in_any_place(data: st.DataObject) -> None:
    """One value of the good plan exchanged for any other value, in the midst of the whole plan."""
    i = data.draw(st.sampled_from([i for i, line in enumerate(LINES) if " = " in line]))
    key = LINES[i].partition(" = ")[0]
    lines = [*LINES[:i], f"{key} = {toml(data.draw(VALUES))}", *LINES[i + 1 :]]
    assert_whole_or_told("\n".join(lines))


@settings(max_examples=6000, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_random_bytes(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path: Path = tmp_path_factory.getbasetemp() / "fuzz.toml"
    path.write_bytes(content)
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert caught.value.problems and all(p.code in codes() for p in caught.value.problems)


@settings(max_examples=6000, deadline=None)
@given(st.data())
def test_any_change_gives_a_plan_or_problems(data: st.DataObject) -> None:
    loaded = load(GOOD)
    name = data.draw(st.sampled_from([one.where for one in all_fields(loaded)]))
    value = data.draw(st.sampled_from(["1 m", "0.5", "2", "true", "raw", "[]", "{}", '"', "x\ny"]))
    try:
        text = set_value(loaded, name, value)
    except PlanError as error:
        assert error.problems
    else:
        assert load(text).given(name)


def test_order_of_the_tables_does_not_matter() -> None:
    """The same blocks in another order are the same plan (a property of TOML tables)."""
    head, *blocks = GOOD.replace("\n[", "\n\0[").split("\0")
    random.Random(7).shuffle(blocks)
    assert load(head + "\n" + "\n".join(blocks)).plan == load(GOOD).plan

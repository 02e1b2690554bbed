"""The line map against the standard library's parser and against documents of known layout."""

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.plan.lines import KeyPath, Place, line_map

AWKWARD = '''\
# title = "not a key"
title = "a # b [c] = d"   # comment with "quotes"
  indented = 1
"quoted.key" = 2
'literal "key"' = 3
"esc\\u0061pe\\t\\"" = 4
dotted . inner."last one" = 5
empty = ""
one-line = { a = 1, "b.c" = { d = "}" }, e = [1, 2] }
long = """
[not.a.table]
key = "no"
\\""" still
end""""
literal = \'\'\'
]
\'\'\'
list = [ # comment ]
    "a]",
    [1,
     2], # nested
    { x = [
        1,
    ], y = 2 },
]
date = 1979-05-27 07:32:00  # a space in a value
1234 = true

[ table . "sub.table" ]   # header
a=1
[[many]]
a = 1
[[many]]
a = 2
[many.inner]
b = 3
[[many.deep]]
c = 4
[[many.deep]]
c = 5
[table]
z = 6
'''
EXPECTED: dict[KeyPath, int] = {
    ("title",): 2,
    ("indented",): 3,
    ("quoted.key",): 4,
    ('literal "key"',): 5,
    ('escape\t"',): 6,
    ("dotted", "inner", "last one"): 7,
    ("dotted",): 7,
    ("empty",): 8,
    ("one-line", "a"): 9,
    ("one-line", "b.c", "d"): 9,
    ("one-line", "e", 1): 9,
    ("long",): 10,
    ("literal",): 15,
    ("list",): 18,
    ("list", 0): 19,
    ("list", 1): 20,
    ("list", 1, 1): 21,
    ("list", 2, "x"): 22,
    ("list", 2, "x", 0): 23,
    ("list", 2, "y"): 24,
    ("date",): 26,
    ("1234",): 27,
    ("table",): 41,
    ("table", "sub.table"): 29,
    ("table", "sub.table", "a"): 30,
    ("many", 0): 31,
    ("many", 0, "a"): 32,
    ("many", 1, "a"): 34,
    ("many", 1, "inner", "b"): 36,
    ("many", 1, "deep", 0, "c"): 38,
    ("many", 1, "deep", 1, "c"): 40,
    ("table", "z"): 42,
}


def leaves(value: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """Every path to a value that holds no other, and every path to a container."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from leaves(inner, (*path, i))


def test_awkward_document() -> None:
    places = line_map(AWKWARD)
    assert {path: places[path].line for path in EXPECTED} == EXPECTED
    assert set(places) == set(leaves(tomllib.loads(AWKWARD)))


def test_value_text_is_as_written() -> None:
    places = line_map(AWKWARD)
    assert places["title",] == Place(2, '"a # b [c] = d"')
    assert places["date",].text == "1979-05-27 07:32:00"
    assert places["list", 1].text == "[1,\n     2]"
    assert places["table",].text == ""


@pytest.mark.parametrize(
    "text", ["", "a", "[", "[[", "a = ", "a = [", "a = {", 'a = "', "= 1", "]"]
)
def test_broken_text_ends(text: str) -> None:
    line_map(text)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="ab.=[]{}\"'\\#,\n 1", max_size=60))
def test_any_text_ends_and_valid_text_is_mapped_whole(text: str) -> None:
    places = line_map(text)
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(places) == set(leaves(content))


KEYS = st.one_of(
    st.from_regex(r"[A-Za-z0-9_-]{1,6}", fullmatch=True),
    st.text(alphabet="ab \"'.#=[]{}\\é\t", max_size=6),
)


def written_key(key: str, style: int) -> str:
    """A key in one of the forms in which it may be written."""
    if style == 0 and key and key.isascii() and all(c.isalnum() or c in "-_" for c in key):
        return key
    if style == 1 and "'" not in key and "\t" not in key:
        return f"'{key}'"
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t") + '"'


VALUES = st.sampled_from(
    [
        "1",
        '"a # b"',
        "'lit\\'",
        "1979-05-27 07:32:00",
        '"""\nx = 1\n[t]\n"""',
        "'''\n'' ]\n'''",
        '"""two quotes"""""',
        "[\n1, # c ]\n2,\n]",
        '["a", [ "]" ]]',
        '{ k = 1, "l.m" = [\n2 ] }',
        "-inf",
    ]
)


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[KeyPath, int]]:
    """A valid document, and the line of every key that was put into it."""
    lines: list[str] = []
    where: dict[KeyPath, int] = {}

    def noise() -> None:
        lines.extend(draw(st.lists(st.sampled_from(["", "  # x = 1", "\t"]), max_size=2)))

    def pairs(table: KeyPath) -> None:
        for key in draw(st.lists(KEYS, max_size=3, unique=True)):
            noise()
            parts = (key, "in") if draw(st.booleans()) else (key,)
            style = draw(st.integers(0, 2))
            blank = draw(st.sampled_from(["", " ", "\t"]))
            dot = f"{blank}.{blank}"
            name = dot.join(written_key(part, style) for part in parts)
            value = draw(VALUES)
            where[(*table, *parts)] = len(lines) + 1
            lines.extend(f"{blank}{name}{blank}={blank}{value}{blank}# end".split("\n"))

    pairs(())
    taken = {path[0] for path in where}
    for key in draw(st.lists(KEYS, max_size=4, unique=True)):
        if key in taken:
            continue
        noise()
        name = written_key(key, draw(st.integers(0, 2)))
        if draw(st.booleans()):
            for i in range(draw(st.integers(1, 2))):
                where[(key, i)] = len(lines) + 1
                lines.append(f"[[{name}]]")
                pairs((key, i))
        else:
            where[(key, "t")] = len(lines) + 1
            lines.append(f"[ {name} . t ] # head")
            pairs((key, "t"))
    return "\n".join(lines), where


@settings(max_examples=200, deadline=None)
@given(documents())
def test_every_key_of_a_generated_document_is_on_its_line(
    document: tuple[str, dict[KeyPath, int]],
) -> None:
    text, where = document
    places = line_map(text)
    assert {path: places[path].line for path in where} == where
    assert set(places) == set(leaves(tomllib.loads(text)))

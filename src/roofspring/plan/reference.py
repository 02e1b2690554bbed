"""The reference page of the plan file, made from the model."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import get_origin

from roofspring.plan.fields import LISTS, Field, fields_of, is_group, reads_of, tables
from roofspring.plan.model import FORMAT, Part
from roofspring.sources import cite
from roofspring.units import example

EXAMPLE = """\
format = 1
name = "Alder Bench, woodshed"

[site]
people = 2

[rain]
file = "rain.csv"

[roof.woodshed]
area = "46 m2"
material = "metal"

[tank.barrel]          # the part's name is "barrel"
volume = "500 L"
height = "0.9 m"

[tap.yard]

[pipe.down]            # from the roof's outlet to the tank's inlet
from = "woodshed"
to = "barrel"

[pipe.hose]
from = "barrel.outlet"
to = "yard"

[use.garden]
from = ["yard"]
per-day = "40 L/day"
"""

_INTRODUCTION = f"""\
# The plan file

This page is made from the program's own model of the plan, format {FORMAT}. Do not edit it by hand.

A plan is one text file, `plan.toml`, in a folder with its rain record. It is written in TOML: lines
of `key = value` under headings in square brackets. `#` begins a comment.

- **Quantities** are text with a unit, in quotes: `"300 gal"`, `"1 1/4 in"`, `"5 ft 3 in"`,
  `"0.12 m/h"`, `"8 degC"`. A gallon is the US gallon unless you write `"imperial gallon"`. A comma
  inside a number is refused, because it may be a decimal mark or a thousands mark. Shares may be
  written `0.9` or `"90 %"`.
- **Heights** are above one point that you choose, the datum. You may leave a height out: the
  questions that need it then say so, and the others are still answered.
- **Parts** have a kind and a name: `[tank.raw]` is a tank called raw. Names are small letters,
  digits and hyphens. No two parts share a name.
- **Pipes** join an outlet of one part to an inlet of another: `from = "raw.overflow"`. A name alone
  means the part's outlet where a pipe begins, and its inlet where a pipe ends.
- **Uses** draw water from taps or tanks, and say once how much is wanted: `per-person`,
  `per-animal` with `animals`, `garden-area` with `garden-depth`, or `per-day`.

A file is read whole or not at all. Every problem in it is listed at once, with its line. A key that
is not on this page is refused. Limits are there to catch a slip of the unit; they are not advice.

## A small plan
"""

_DEFAULT_WORDS = """\
## How to read the tables

**Default** is what stands when the key is left out: `required` means that there is none; words tell
how the value is found from others; `not given` means that nothing stands in for it. **Source** says
where a default comes from. An engineering choice is our own, with or without a published range.
"""


def reference_markdown() -> str:
    """The reference page of the plan file, in Markdown.

    Returns
    -------
    str
        The page that stands in the docs, generated from the model: every table, key, allowed
        value, default, source and meaning.
    """
    lines = [_INTRODUCTION, "```toml", EXAMPLE.rstrip("\n"), "```", "", _DEFAULT_WORDS]
    for table in tables():
        lines += _section(table)
    lines += _sources()
    return "\n".join(lines).rstrip("\n") + "\n"


def _section(table: str) -> Iterator[str]:
    model = tables()[table]
    kind, _, inner = table.partition(".")
    if not table:
        yield "## At the top of the file"
    elif table in LISTS:
        yield f"## Rows of `{inner}` in `[{kind}.NAME]`"
    elif inner:
        yield f"## `[{kind}.NAME.{inner}]`"
    elif is_group(table):
        yield f"## `[{table}.NAME]`"
    else:
        yield f"## `[{table}]`"
    yield ""
    if table:
        yield " ".join((model.__doc__ or "").split()).replace("``", "`")
        yield ""
    if issubclass(model, Part):
        yield f"Water enters at: {_names(model.inlets)}. Water leaves at: {_names(model.outlets)}."
        if model.single:
            yield f"One pipe only may leave from: {_names(model.single)}."
        yield ""
    yield "| key | meaning | allowed | default | source |"
    yield "|---|---|---|---|---|"
    for field in fields_of(table).values():
        if table or field.key not in tables():
            yield _row(field)
    yield ""


def _names(names: tuple[str, ...]) -> str:
    return ", ".join(f"`{name}`" for name in names) or "nothing"


def _row(field: Field) -> str:
    if field.required:
        default = "required"
    elif field.derived:
        default = field.derived
    else:
        default = field.show(field.default) or "not given"
    cells = (f"`{field.key}`", field.about, _allowed(field), default, field.source)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _allowed(field: Field) -> str:
    """What a field accepts; for a quantity, one example and its limits are enough here."""
    reads = reads_of(field.annotation)
    if reads is None or not reads.unit or get_origin(field.annotation) in (tuple, Mapping):
        return field.allowed
    first = re.split(r",| or ", example(reads.unit))[0].strip('"')
    return f'like `"{first}"`, from {reads.low_text} to {reads.high_text}'


def _sources() -> Iterator[str]:
    """The works behind the defaults, in full."""
    keys = {f.source for table in tables() for f in fields_of(table).values()}
    yield "## Sources"
    yield ""
    for key in sorted(keys):
        if key and cite(key) != key:
            yield f"- **{key}**: {cite(key)}"

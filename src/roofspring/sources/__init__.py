"""The one bibliography. Constants, formulas, checks and findings cite its keys."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources

NOT_SAID = "not said"
"""Stands for a fact that the plan leaves out: nothing is taken for granted then."""
COMMON_PRACTICE = "common practice, no source"
ENGINEERING_CHOICE = "engineering choice"
"""Said of a default that we chose, within published ranges or without one, and shown as such."""

KEY = re.compile(r"^[A-Z][A-Z0-9]*(?:_[A-Z0-9]+)+(?=,|$)")
"""How a key looks: ``AUTHOR_YEAR`` or ``STANDARD_NUMBER``, then perhaps a comma and a place."""


@cache
def bibliography() -> dict[str, dict[str, str]]:
    """Every entry by key: ``authors``, ``year``, ``title``, ``in`` and ``seen``.

    ``seen`` is ``read`` (the text was read), ``quoted`` (read in someone else's quotation),
    ``memory`` (not looked up) or ``computed`` (our own arithmetic from a stated formula).
    """
    return tomllib.loads(resources.files(__name__).joinpath("bibliography.toml").read_text("utf-8"))


def cite(source: str) -> str:
    """Readable reference for a key; a plain statement passes through.

    Raises
    ------
    KeyError
        It looks like a key and is not in the bibliography.

    >>> cite("common practice, no source")
    'common practice, no source'
    """
    if KEY.match(source) is None:
        return source
    name, _, place = source.partition(",")
    entry = bibliography()[name.strip()]
    text = f"{entry['authors']} ({entry['year']}), {entry['title']}"
    if entry.get("in"):
        text += f", {entry['in']}"
    return text + (f", {place.strip()}" if place else "")

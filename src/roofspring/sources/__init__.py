"""The one bibliography. Constants, formulas, checks and findings cite its keys."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

COMMON_PRACTICE = "common practice, no source"
ENGINEERING_CHOICE = "engineering choice"
"""Said of a default that we chose within published ranges, or without one. Shown to the user as such."""


@cache
def bibliography() -> dict[str, dict[str, str]]:
    """Every entry by key: ``authors``, ``year``, ``title``, ``in`` and ``seen``.

    ``seen`` is ``read`` (the text was read), ``quoted`` (read in someone else's quotation),
    ``memory`` (not looked up) or ``computed`` (our own arithmetic from a stated formula).
    """
    return tomllib.loads(resources.files(__name__).joinpath("bibliography.toml").read_text("utf-8"))


def cite(key: str) -> str:
    """Readable reference for a key; common practice and our own choices pass through.

    Raises
    ------
    KeyError
        The key is not in the bibliography.
    """
    if key.startswith((COMMON_PRACTICE, ENGINEERING_CHOICE)):
        return key
    name, _, place = key.partition(",")
    entry = bibliography()[name.strip()]
    text = f"{entry['authors']} ({entry['year']}), {entry['title']}"
    if entry.get("in"):
        text += f", {entry['in']}"
    return text + (f", {place.strip()}" if place else "")

"""Tables of text, and how a share and a source are written in them."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.sources import cite


@dataclass(frozen=True)
class Table:
    """A table of text; the columns named in ``numeric`` (from 0) are set flush right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()


def percent(share: float) -> str:
    """A share with one decimal."""
    return f"{100.0 * share:.1f} %"


def cited(key: str) -> str:
    """The reference in words; the key itself when the bibliography does not have it."""
    try:
        return cite(key) if key else ""
    except KeyError:
        return key

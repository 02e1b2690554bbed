"""A plan's text with its places, and the problems that are told about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from roofspring.errors import Problem
from roofspring.plan.lines import KeyPath, Place, line_map

_LONGEST_SHOWN = 80
_MOST_LISTED = 30


@dataclass(frozen=True)
class PlanText:
    """The text of a plan, the name to call it by, and where each key stands."""

    name: str
    text: str
    places: Mapping[KeyPath, Place]

    @classmethod
    def of(cls, text: str, *, name: str) -> PlanText:
        """Walk a text that a TOML parser has accepted."""
        return cls(name, text, line_map(text))

    def line(self, path: KeyPath) -> int | None:
        """Line of a key, or of the nearest table above it that stands in the text."""
        for depth in range(len(path), 0, -1):
            if place := self.places.get(path[:depth]):
                return place.line
        return None

    def raw(self, path: KeyPath) -> str:
        """The value of a key as written, cut when it is long; empty where none is written."""
        place = self.places.get(path)
        text = " ".join(place.text.split()) if place else ""
        return text if len(text) <= _LONGEST_SHOWN else text[:_LONGEST_SHOWN] + "..."

    def problem(
        self,
        code: str,
        path: KeyPath,
        what: str,
        *,
        got: str | None = None,
        allowed: str = "",
        next_step: str,
    ) -> Problem:
        """A problem at a key: its line, its path and its value are filled in."""
        return Problem(
            code,
            what,
            file=self.name,
            line=self.line(path),
            where=dotted(path),
            got=self.raw(path) if got is None else got,
            allowed=allowed,
            next=next_step,
        )


def dotted(path: KeyPath) -> str:
    """A key path for people: ``tank.raw.table, item 2``."""
    words = ".".join(part for part in path if isinstance(part, str))
    items = [str(part + 1) for part in path if isinstance(part, int)]
    return words + (f", item {' of item '.join(reversed(items))}" if items else "")


def listed(names: Iterable[str]) -> str:
    """Names in a row, cut where they are very many."""
    everything = list(names)
    more = len(everything) - _MOST_LISTED
    return ", ".join(everything[:_MOST_LISTED]) + (f", and {more} more" if more > 0 else "")


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems by line, then code and place, without repeats."""
    unique = dict.fromkeys(problems)
    return tuple(sorted(unique, key=lambda p: (p.line or 0, p.code, p.where)))

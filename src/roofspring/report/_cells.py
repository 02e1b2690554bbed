"""Tables of text, and how a share and a source are written in them."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.sources import cite

PHONE_PX, LETTER_PX, GAP_PX = 356.0, 8.4, 12.0
"""Room on a phone of 390 px, a letter of a table, and what stands between two columns."""
SHORT, WRAPPED, LONG = 16, 60, 30
"""Words up to so many letters stay on a line; up to so many they wrap in that width; longer ones
want this width."""
MANY_ROWS = 12


@dataclass(frozen=True)
class Table:
    """A table of text; the columns named in ``numeric`` (from 0) are set flush right.

    ``folded`` is for detail: only the name shows until somebody opens it, or prints the page.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    folded: bool = False

    @property
    def folds(self) -> bool:
        """Whether it is folded: as detail, or because it is long."""
        return self.folded or len(self.rows) > MANY_ROWS

    @property
    def is_narrow(self) -> bool:
        """Whether its columns fit side by side on a phone; others are set row under row there.

        >>> Table(("Size", "Share"), (("0.3 mm", "32 %"),), frozenset({1})).is_narrow
        True
        """
        letters = sum(self._letters(at) for at in range(len(self.heads)))
        return letters * LETTER_PX + GAP_PX * len(self.heads) <= PHONE_PX

    def _letters(self, at: int) -> int:
        head = max(map(len, self.heads[at].split()), default=0)
        cell = max((len(row[at]) for row in self.rows), default=0)
        if at not in self.numeric and cell > SHORT:
            cell = SHORT if cell <= WRAPPED else LONG
        return max(head, cell)


def percent(share: float) -> str:
    """A share with one decimal."""
    return f"{100.0 * share:.1f} %"


def cited(key: str) -> str:
    """The reference in words; the key itself when the bibliography does not have it."""
    try:
        return cite(key) if key else ""
    except KeyError:
        return key

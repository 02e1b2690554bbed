"""The record of one level check, as every level question gives it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from roofspring.network.levels.changes import Change


@dataclass(frozen=True)
class StateMargin:
    """How one check stands in one state."""

    state: str
    have_m: float
    need_m: float
    margin_m: float
    ok: bool


@dataclass(frozen=True)
class LevelCheck:
    """One height that must stand above another by a needed amount.

    ``have_m`` is the difference found, ``need_m`` the difference wanted; ``margin_m`` is have less
    need. ``ok`` is None where a height is missing, and ``missing`` then says which. A check that is
    made in several states stands here as in the worst of them, and ``states`` has them all.
    """

    code: str
    what: str
    where: str
    state: str
    have_m: float | None
    need_m: float
    margin_m: float | None
    ok: bool | None
    source: str
    change: str = ""
    """The single value to change, and to what, in the plan's units, when the check fails."""
    change_where: str = ""
    change_to_m: float | None = None
    """The height or bore that it is changed to [m]; None for a rate or an area."""
    missing: tuple[str, ...] = ()
    states: tuple[StateMargin, ...] = ()
    """Every state that it was made in, the worst first; empty where it asks the same in all."""
    options: tuple[Change, ...] = ()
    """Single changes that may mend it, the nearest at hand first."""
    mends: bool | None = None
    """Whether the check held when it was made again with the change; None where none was tried."""
    breaks: tuple[str, ...] = ()
    """Checks that hold without the change and fail with it."""
    upper_m: float | None = None
    lower_m: float | None = None
    """The two heights that are compared [m over the datum], where there are two."""

    @property
    def key(self) -> tuple[str, str]:
        """What makes it the same check on another plan."""
        return self.code, self.where

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def worst_of(checks: list[LevelCheck]) -> tuple[LevelCheck, ...]:
    """One record for each check, as it stands in its worst state, with all states beside it."""
    groups: dict[tuple[str, str], list[LevelCheck]] = {}
    for check in checks:
        groups.setdefault(check.key, []).append(check)
    made = []
    for members in groups.values():
        if len(members) == 1:
            made.append(members[0])
            continue
        ordered = sorted(members, key=lambda c: (c.margin_m is None, c.margin_m or 0.0))
        made.append(
            replace(
                ordered[0],
                states=tuple(
                    StateMargin(c.state, c.have_m, c.need_m, c.margin_m, bool(c.ok))
                    for c in ordered
                    if c.have_m is not None and c.margin_m is not None
                ),
            )
        )
    return tuple(made)

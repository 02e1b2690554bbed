"""The record of one level check, as every level question gives it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class LevelCheck:
    """One height that must stand above another by a needed amount.

    ``have_m`` is the difference found, ``need_m`` the difference wanted; ``margin_m`` is have less
    need. ``ok`` is None where a height is missing, and ``missing`` then says which.
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
    """The single height to change, and to what, in the plan's units, when the check fails."""
    change_where: str = ""
    change_to_m: float | None = None
    missing: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)

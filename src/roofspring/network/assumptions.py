"""Where each number that the engine used came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Assumption:
    """One value that the person did not give: what stood in for it, and why."""

    where: str
    what: str
    value: float | str
    kind: str
    """A kind of `roofspring.units.show`, or empty for text and shares."""
    origin: Literal["default", "derived"]
    source: str

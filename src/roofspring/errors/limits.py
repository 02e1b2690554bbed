"""Range checks shared by the formulas: each raises a `RangeError` that says what to do."""

from __future__ import annotations

import math
from collections.abc import Iterable

from roofspring.errors import Problem, RangeError
from roofspring.errors.names import did_you_mean


def positive(name: str, value: float) -> None:
    """Refuse a value that is not finite and above zero (DOM-002)."""
    if not (math.isfinite(value) and value > 0.0):
        _refuse("DOM-002", name, value, "a finite value above 0")


def not_negative(name: str, value: float) -> None:
    """Refuse a value that is not finite and at least zero (DOM-002)."""
    if not (math.isfinite(value) and value >= 0.0):
        _refuse("DOM-002", name, value, "a finite value, 0 or more")


def finite(name: str, value: float) -> None:
    """Refuse a value that is not a finite number (DOM-002)."""
    if not math.isfinite(value):
        _refuse("DOM-002", name, value, "a finite value")


def share(name: str, value: float) -> None:
    """Refuse a value outside 0 to 1 (DOM-003)."""
    if not 0.0 <= value <= 1.0:
        _refuse("DOM-003", name, value, "a share between 0 and 1")


def part_share(name: str, value: float) -> None:
    """Refuse a value that is not above 0 and below 1 (DOM-003)."""
    if not 0.0 < value < 1.0:
        _refuse("DOM-003", name, value, "a share above 0 and below 1")


def known(name: str, value: str, names: Iterable[str]) -> None:
    """Refuse a name that the table does not have (DOM-004)."""
    names = list(names)
    if value not in names:
        raise RangeError(
            Problem(
                "DOM-004",
                f"the {name} table has no such entry",
                where=name,
                got=repr(value),
                allowed=", ".join(names),
                next=did_you_mean(
                    value,
                    names,
                    otherwise="use one of these names, or give the number itself with where you "
                    "got it",
                ),
            )
        )


def _refuse(code: str, name: str, value: float, allowed: str) -> None:
    raise RangeError(
        Problem(
            code,
            "this value is outside what the formula holds for",
            where=name,
            got=f"{value:g}",
            allowed=allowed,
            next="check the value and its unit; inside the program all quantities are in SI",
        )
    )

"""The range a formula was made for, as a thing that can be asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

_SLACK = 1e-9
"""Of a bound: a value that sits on it may be off by the rounding of a change of unit."""


@dataclass(frozen=True)
class Bound:
    """Limits of one quantity: its name for people, its unit as shown, and both ends.

    ``scale`` turns the SI value into the shown unit: 1000 for mm.
    """

    quantity: str
    low: float
    high: float
    unit: str = ""
    scale: float = 1.0

    def says(self, value: float) -> str:
        """Nothing where the value lies within, else one clause that says by how much it does not.

        >>> Bound("effective size", 0.1, 3.0, "mm", 1e3).says(0.05e-3)
        'effective size 0.05 mm is outside 0.1 to 3 mm'
        """
        shown = value * self.scale
        slack = _SLACK * max(abs(self.low), abs(self.high))
        if self.low - slack <= shown <= self.high + slack:
            return ""
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.quantity} {shown:.3g}{unit} is outside {self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True)
class Validity:
    """Bounds by field name, with where they are published."""

    bounds: Mapping[str, Bound]
    source: str
    where: str = ""

    def outside(self, values: Mapping[str, float]) -> tuple[str, ...]:
        """What lies outside, one clause each; empty where the formula holds.

        A quantity without a bound is not looked at, nor a bound without a value.
        """
        said = (
            self.bounds[name].says(value) for name, value in values.items() if name in self.bounds
        )
        return tuple(clause for clause in said if clause)

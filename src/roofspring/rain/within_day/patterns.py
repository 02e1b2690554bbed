"""Fixed patterns of rain within a day, where only the daily depth is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray

HOURS = 24


class DayPattern(Protocol):
    """The one signature of all patterns."""

    def cumulative_frac(self, hour: FloatArray) -> FloatArray:
        """Share of the day's rain fallen by each hour of the day, 0 at 0 h and 1 at 24 h."""


@dataclass(frozen=True)
class Even:
    """The same in every hour: never spills a tank that a day's mean would not fill."""

    def cumulative_frac(self, hour: FloatArray) -> FloatArray:
        """A straight line."""
        return hour / HOURS


@dataclass(frozen=True)
class TypeTwo:
    """The SCS Type II 24-hour storm in closed form: half of the rain by noon, most of it near noon.

    ``P/P24 = 0.5 + (T/24) (24.04 / (2|T| + 0.04))**0.75`` with ``T = t - 12 h``. The tabulated
    curve is steeper at its peak (0.663 of the rain at noon); this is the closed form.
    Source: HAAN_1994, closed form of the Type II curve.
    """

    def cumulative_frac(self, hour: FloatArray) -> FloatArray:
        """The closed form."""
        t = hour - 12.0
        share: FloatArray = 0.5 + t / 24.0 * (24.04 / (2.0 * np.abs(t) + 0.04)) ** 0.75
        return share


@dataclass(frozen=True)
class Block:
    """Even over a block of hours. Its length and end are an engineering choice.

    Parameters
    ----------
    length_hours : int
        1 to 24.
    end_hour : int
        Hour of the day at which the block ends, ``length_hours`` to 24.
    """

    length_hours: int = 6
    end_hour: int = 18

    def __post_init__(self) -> None:
        if not 1 <= self.length_hours <= self.end_hour <= HOURS:
            raise RangeError(
                Problem(
                    "REC-022",
                    "the block of rain does not lie within the day",
                    got=f"{self.length_hours} h ending at hour {self.end_hour}",
                    allowed="1 to 24 hours, ending no earlier than they last and by hour 24",
                    next="shorten the block or end it later",
                )
            )

    def cumulative_frac(self, hour: FloatArray) -> FloatArray:
        """0, a straight rise, 1."""
        share: FloatArray = np.clip(
            (hour - (self.end_hour - self.length_hours)) / self.length_hours, 0.0, 1.0
        )
        return share


WITHIN_DAY: dict[str, DayPattern] = {"even": Even(), "type2": TypeTwo(), "block": Block()}
"""Patterns by name."""

"""Spreading a day's rain over its hours, where only the daily depth is known."""

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


def hour_weights(pattern: str | DayPattern) -> FloatArray:
    """Share of a day's rain in each of its 24 hours.

    Parameters
    ----------
    pattern : str or DayPattern
        A name in `WITHIN_DAY`, or a pattern such as ``Block(length_hours=3, end_hour=15)``.

    Returns
    -------
    (24,) float64
        Shares [-], 0 or more, sum 1.

    Raises
    ------
    RangeError (REC-019)
        No such pattern.

    Source
    ------
    HAAN_1994 for ``type2``; ``even`` and ``block`` are engineering choices.

    Examples
    --------
    >>> hour_weights("block").nonzero()[0].tolist()
    [12, 13, 14, 15, 16, 17]
    >>> round(float(hour_weights("type2")[11]), 3)
    0.265
    """
    chosen = WITHIN_DAY.get(pattern) if isinstance(pattern, str) else pattern
    if chosen is None:
        raise RangeError(
            Problem(
                "REC-019",
                "this pattern of rain within a day is not known",
                got=str(pattern),
                allowed=", ".join(WITHIN_DAY),
                next="use one of these",
            )
        )
    weights = np.diff(chosen.cumulative_frac(np.arange(HOURS + 1.0)))
    shares: FloatArray = weights / weights.sum()
    return shares


def spread_days(daily_depth_m: FloatArray, *, pattern: str | DayPattern) -> FloatArray:
    """Hourly depths from daily ones; every day keeps its sum.

    Parameters
    ----------
    daily_depth_m : (n,) float64
        Rain per day [m].
    pattern : str or DayPattern
        As in `hour_weights`.

    Returns
    -------
    (24 n,) float64
        Rain per hour [m].

    Raises
    ------
    RangeError (REC-019)
        No such pattern.

    Source
    ------
    As `hour_weights`.

    Examples
    --------
    >>> spread_days(np.array([0.012]), pattern="even")[:2]
    array([0.0005, 0.0005])
    """
    hourly: FloatArray = np.outer(daily_depth_m, hour_weights(pattern)).ravel()
    return hourly

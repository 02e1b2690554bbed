"""The order in which the rain of a design storm falls."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.cloudburst.curves import DepthCurve, RuleCurve
from roofspring.rain.record import FloatArray
from roofspring.rain.within_day import TypeTwo
from roofspring.rain.within_day._sums import close_sums

_DAY_S = 86_400.0

HUFF_STEP_FRAC = 0.05
HUFF_PERCENT = (
    (0, 16, 33, 43, 52, 60, 66, 71, 75, 79, 82, 84, 86, 88, 90, 92, 94, 96, 97, 98, 100),
    (0, 3, 8, 12, 16, 22, 29, 39, 51, 62, 70, 76, 81, 85, 88, 91, 93, 95, 97, 98, 100),
    (0, 3, 6, 9, 12, 15, 19, 23, 27, 32, 38, 45, 57, 70, 79, 85, 89, 92, 95, 97, 100),
    (0, 2, 5, 8, 10, 13, 16, 19, 22, 25, 28, 32, 35, 39, 45, 51, 59, 72, 84, 92, 100),
)
"""Median curves at a point, first to fourth quartile, by twentieths of the storm [%].

HUFF_1990: recalled, and found alike in two quotations; the table itself was not seen.
"""


class Hyetograph(Protocol):
    """The one signature of all shapes."""

    def depths_m(self, depth_m: float, *, duration_s: float, step_s: float) -> FloatArray:
        """Rain of each step [m], 0 or more, with the sum ``depth_m``.

        Parameters
        ----------
        depth_m : float
            Rain of the whole storm [m], above 0.
        duration_s, step_s : float
            Length of the storm and of its steps [s]; a whole number of steps.

        Raises
        ------
        RangeError (REC-088)
            Not so.
        """


@dataclass(frozen=True)
class AlternatingBlock:
    """The fiercest step in the middle, the next ones after and before it in turn.

    Every shorter storm of the same rarity is nested in it, so that it tests all parts of a system
    at once; a real storm seldom does. The curve gives the order and the shares of the steps.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, section 14.4.
    """

    curve: DepthCurve = field(default_factory=RuleCurve)

    def depths_m(self, depth_m: float, *, duration_s: float, step_s: float) -> FloatArray:
        """Increments of the curve, sorted and laid out."""
        n = _count(depth_m, duration_s, step_s)
        edges: FloatArray = np.arange(n + 1, dtype=np.float64) * step_s
        parts = np.sort(np.diff(self.curve.depth_m(edges)))[::-1]
        turn = np.arange(n)
        place = (n - 1) // 2 + np.where(turn % 2 == 1, (turn + 1) // 2, -(turn // 2))
        laid = np.empty(n)
        laid[place] = parts
        return _closed(laid, depth_m)


@dataclass(frozen=True)
class Chicago:
    """A smooth storm with its peak at a share of its length, nested as the alternating block is.

    Parameters
    ----------
    curve : DepthCurve
    peak_frac : float
        Share of the storm before its peak, ``r``, 0 to 1 [-]. The default is common practice.

    Raises
    ------
    RangeError (REC-088)
        ``peak_frac`` outside 0 to 1.

    Notes
    -----
    By time ``t`` after the peak ``(1 - r) D(t / (1 - r))`` has fallen since it, and likewise
    ``r D(t / r)`` before; for ``i = a / (t + b)**c`` that is the intensity of the paper, summed.

    Source
    ------
    KEIFER_CHU_1957.
    """

    curve: DepthCurve = field(default_factory=RuleCurve)
    peak_frac: float = 0.4

    def __post_init__(self) -> None:
        if not 0.0 <= self.peak_frac <= 1.0:
            raise RangeError(_bad(f"peak at {self.peak_frac:g} of the storm", "a share of 0 to 1"))

    def depths_m(self, depth_m: float, *, duration_s: float, step_s: float) -> FloatArray:
        """Differences of what has fallen by each edge."""
        n = _count(depth_m, duration_s, step_s)
        r = self.peak_frac
        from_peak = np.arange(n + 1) * step_s - r * duration_s
        side = np.where(from_peak < 0.0, r, 1.0 - r)
        reach: FloatArray = np.zeros(n + 1)
        np.divide(np.abs(from_peak), side, out=reach, where=side > 0.0)
        fallen = np.sign(from_peak) * side * self.curve.depth_m(reach)
        return _closed(np.diff(fallen), depth_m)


@dataclass(frozen=True)
class TypeTwoStorm:
    """The SCS Type II storm in closed form; storms under 24 h are the middle of that day.

    Source
    ------
    HAAN_1994 (closed form); the cut from its middle is common practice, no source.
    """

    def depths_m(self, depth_m: float, *, duration_s: float, step_s: float) -> FloatArray:
        """Differences of the closed form."""
        n = _count(depth_m, duration_s, step_s)
        if duration_s > _DAY_S * (1.0 + 1e-9):
            raise RangeError(_bad(f"a storm of {duration_s:g} s", "up to 86400 s"))
        hours = 12.0 + (np.arange(n + 1) * step_s - 0.5 * duration_s) / 3600.0
        share = np.diff(TypeTwo().cumulative_frac(np.clip(hours, 0.0, 24.0)))
        return _closed(np.maximum(share, 0.0), depth_m)


@dataclass(frozen=True)
class Huff:
    """The median course of real storms whose heaviest rain fell in one quarter of them.

    Parameters
    ----------
    quartile : int
        1 to 4. First-quartile storms are the commonest when short, under about 6 h.

    Raises
    ------
    RangeError (REC-088)
        Not 1 to 4.

    Source
    ------
    HUFF_1990, median curves at a point (quoted).
    """

    quartile: int = 1

    def __post_init__(self) -> None:
        if self.quartile not in (1, 2, 3, 4):
            raise RangeError(_bad(f"quartile {self.quartile}", "1 to 4"))

    def depths_m(self, depth_m: float, *, duration_s: float, step_s: float) -> FloatArray:
        """Differences of the curve, straight between its points."""
        n = _count(depth_m, duration_s, step_s)
        curve = np.array(HUFF_PERCENT[self.quartile - 1]) / 100.0
        at = np.linspace(0.0, 1.0, len(curve))
        return _closed(np.diff(np.interp(np.linspace(0.0, 1.0, n + 1), at, curve)), depth_m)


HYETOGRAPHS: dict[str, Hyetograph] = {
    "alternating-block": AlternatingBlock(),
    "chicago": Chicago(),
    "type2": TypeTwoStorm(),
    "huff1": Huff(1),
    "huff2": Huff(2),
    "huff3": Huff(3),
    "huff4": Huff(4),
}
"""Shapes by name. The first two follow `RuleCurve`; give them a local curve where you have one."""


def _count(depth_m: float, duration_s: float, step_s: float) -> int:
    n = duration_s / step_s if step_s > 0.0 else 0.0
    if not (depth_m > 0.0 and n > 1.0 - 1e-9 and abs(n - round(n)) < 1e-9):
        raise RangeError(
            _bad(
                f"{depth_m:g} m in {duration_s:g} s by steps of {step_s:g} s",
                "a depth above 0 and a whole number of steps",
            )
        )
    return round(n)


def _closed(parts: FloatArray, depth_m: float) -> FloatArray:
    """Scaled to the depth of the storm, exactly."""
    whole: FloatArray = close_sums(parts[None, :], np.array([depth_m]))[0]
    return whole


def _bad(got: str, allowed: str) -> Problem:
    return Problem(
        "REC-088",
        "a design storm cannot be laid out so",
        got=got,
        allowed=allowed,
        next="change the storm or its steps",
    )

"""Depth against duration for storms of one rarity: the heart of some design storms."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.cloudburst.scaling import HOUR_S, LONG_EXPONENT, SHORT_FRAC, SHORT_S
from roofspring.rain.record import FloatArray


class DepthCurve(Protocol):
    """Any of the curves below."""

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """Depth for each duration [m]; 0 at 0, and never falling."""


@dataclass(frozen=True)
class ShiftedPowerCurve:
    """Intensity ``i = a / (t + b)**c``, with the numbers as published.

    Parameters
    ----------
    a, b, c : float
        ``a`` above 0, ``b`` 0 or more, ``c`` 0 to 1. ``b`` is in ``time_s``, ``a`` in
        ``rate_m_per_s`` times a power of ``time_s``.
    time_s : float
        The unit of ``t`` in the publication [s]: 60 for minutes.
    rate_m_per_s : float
        The unit of ``i`` in the publication [m/s]: by default mm/h.

    Source
    ------
    KEIFER_CHU_1957.
    """

    a: float
    b: float
    c: float
    time_s: float = 60.0
    rate_m_per_s: float = 1e-3 / 3600.0

    def __post_init__(self) -> None:
        _check(self.a, self.b, self.c)

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """``i t``."""
        t = duration_s / self.time_s
        base = np.where(t > 0.0, t + self.b, 1.0)
        depth: FloatArray = self.rate_m_per_s * duration_s * self.a / base**self.c
        return depth


@dataclass(frozen=True)
class PlusPowerCurve:
    """Intensity ``i = a / (t**c + b)``, with the numbers as published.

    Parameters
    ----------
    a, b, c, time_s, rate_m_per_s : float
        As in `ShiftedPowerCurve`; ``b`` is in ``time_s`` to the power ``c``.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, eq. 14.2.2 (from memory).

    Examples
    --------
    >>> denver = PlusPowerCurve(96.6, 13.90, 0.97, rate_m_per_s=0.0254 / 3600.0)
    >>> (denver.depth_m(np.array([600.0, 1200.0])) / 0.0254).round(3).tolist()
    [0.693, 1.001]
    """

    a: float
    b: float
    c: float
    time_s: float = 60.0
    rate_m_per_s: float = 1e-3 / 3600.0

    def __post_init__(self) -> None:
        _check(self.a, self.b, self.c)

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """``i t``."""
        t = duration_s / self.time_s
        base = np.where(t > 0.0, t**self.c + self.b, 1.0)
        depth: FloatArray = self.rate_m_per_s * duration_s * self.a / base
        return depth


def _check(a: float, b: float, c: float) -> None:
    if not (a > 0.0 and b >= 0.0 and 0.0 <= c <= 1.0):
        raise RangeError(
            Problem(
                "REC-088",
                "a curve of intensity is outside its limits",
                got=f"a {a:g}, b {b:g}, c {c:g}",
                allowed="a above 0, b 0 or more, c 0 to 1 (else depth falls with duration)",
                next="copy the numbers, their time unit and their rate unit from one publication",
            )
        )


@dataclass(frozen=True)
class PointsCurve:
    """Depths at some durations, straight between them in logarithms; its ends go on as they are.

    Parameters
    ----------
    durations_s, depths_m : tuple of float
        Two or more, above 0 [s], [m]; durations rise, depths never fall.

    Raises
    ------
    RangeError (REC-088)
        Not so.
    """

    durations_s: tuple[float, ...]
    depths_m: tuple[float, ...]

    def __post_init__(self) -> None:
        ok = len(self.durations_s) == len(self.depths_m) >= 2
        ok = ok and self.durations_s[0] > 0.0 and bool((np.diff(self.durations_s) > 0.0).all())
        ok = ok and self.depths_m[0] > 0.0 and bool((np.diff(self.depths_m) >= 0.0).all())
        if not ok:
            raise RangeError(
                Problem(
                    "REC-088",
                    "depths and durations do not make a curve",
                    got=f"durations {self.durations_s}, depths {self.depths_m}",
                    allowed="two or more of each, above 0, rising, depths never falling",
                    next="sort them, and drop repeats",
                )
            )

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """Log-log interpolation; beyond the ends, the slope of the last two points."""
        x, y = np.log(self.durations_s), np.log(self.depths_m)
        at = np.log(np.where(duration_s > 0.0, duration_s, 1.0))
        i = np.clip(np.searchsorted(x, at) - 1, 0, len(x) - 2)
        value = np.exp(y[i] + (at - x[i]) * (y[i + 1] - y[i]) / (x[i + 1] - x[i]))
        depth: FloatArray = np.where(duration_s > 0.0, value, 0.0)
        return depth


@dataclass(frozen=True)
class RuleCurve:
    """The curve used where nothing local is known: its depths are shares of that of an hour.

    Under an hour the ratios of `short_ratio`; over it ``duration**exponent``; under five minutes
    the slope from five to ten minutes goes on.

    Parameters
    ----------
    exponent : float
        0 to 1, above 0 [-].

    Source
    ------
    HERSHFIELD_1961 (ratios, from memory); the exponent is an engineering choice.
    """

    exponent: float = LONG_EXPONENT

    def __post_init__(self) -> None:
        _check(1.0, 0.0, self.exponent if self.exponent > 0.0 else -1.0)

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """Share of the depth of an hour, as if that were 1 m."""
        short = PointsCurve(SHORT_S, SHORT_FRAC).depth_m(np.minimum(duration_s, HOUR_S))
        depth: FloatArray = short * np.maximum(duration_s / HOUR_S, 1.0) ** self.exponent
        return depth

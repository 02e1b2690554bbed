"""Poisson rectangular pulses: showers that come at random, each with its length and strength."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray
from roofspring.rain.within_day._sums import close_sums

_CHUNK = 20_000
_LEAST_S, _MOST_S = 1.0, 3.2e7


@dataclass(frozen=True)
class PulseParameters:
    """Mean gap between starts, mean length and mean strength of the pulses.

    Parameters
    ----------
    gap_s : float
        Mean time between the starts of pulses, ``1 / lambda`` [s], 1 to 3.2e7.
    length_s : float
        Mean length of a pulse, ``1 / eta`` [s], 1 to 3.2e7.
    strength_m_per_s : float
        Mean intensity of a pulse, ``mu`` [m/s], above 0. Where days are scaled to their sums, only
        the spread of strengths matters, not this mean.

    Raises
    ------
    RangeError (REC-082)
        A value outside its limits.

    Source
    ------
    RODRIGUEZ_ITURBE_1987.
    """

    gap_s: float
    length_s: float
    strength_m_per_s: float

    def __post_init__(self) -> None:
        if not (
            _LEAST_S <= self.gap_s <= _MOST_S
            and _LEAST_S <= self.length_s <= _MOST_S
            and 0.0 < self.strength_m_per_s < 1.0
        ):
            raise RangeError(
                Problem(
                    "REC-082",
                    "a parameter of the pulses is outside its limits",
                    where="parameters of the pulses",
                    got=f"gap {self.gap_s:g} s, length {self.length_s:g} s, "
                    f"strength {self.strength_m_per_s:g} m/s",
                    allowed=f"gap and length {_LEAST_S:g} to {_MOST_S:g} s, strength above 0",
                    next="check the unit",
                )
            )


DEFAULT_PULSES = PulseParameters(gap_s=180_000.0, length_s=14_400.0, strength_m_per_s=1e-3 / 3600.0)
"""A pulse every 50 h, of 4 h, at 1 mm/h: 700 mm a year, 43 % of days wet. Engineering choice."""


@dataclass(frozen=True)
class PulseMoments:
    """What the process gives, before any day is scaled to a sum.

    Attributes
    ----------
    mean_m : float
        Mean rain of a step [m].
    variance_m2 : float
        Its variance [m2].
    dry_frac : float
        Chance of a dry step [-].
    """

    mean_m: float
    variance_m2: float
    dry_frac: float


def pulse_moments(parameters: PulseParameters, *, step_s: float) -> PulseMoments:
    """Moments of the rain of a step, in closed form.

    Parameters
    ----------
    parameters : PulseParameters
    step_s : float
        Length of the step [s], above 0.

    Returns
    -------
    PulseMoments

    Notes
    -----
    ``E = lambda h mu / eta``; ``Var = 4 lambda mu**2 (eta h - 1 + exp(-eta h)) / eta**3``;
    ``P(dry) = exp(-lambda (h + 1 / eta))``.

    Source
    ------
    RODRIGUEZ_ITURBE_1987 (from memory; the moments agree with simulation).

    Examples
    --------
    >>> day = pulse_moments(DEFAULT_PULSES, step_s=86400.0)
    >>> round(day.mean_m * 1e3, 2), round(day.variance_m2 * 1e6, 4), round(day.dry_frac, 5)
    (1.92, 25.6127, 0.57121)
    """
    p = parameters
    turns = step_s / p.length_s
    return PulseMoments(
        mean_m=step_s * p.length_s * p.strength_m_per_s / p.gap_s,
        variance_m2=4.0
        * p.strength_m_per_s**2
        * p.length_s**3
        * (turns + math.expm1(-turns))
        / p.gap_s,
        dry_frac=math.exp(-(step_s + p.length_s) / p.gap_s),
    )


def wet_windows(
    count: int,
    *,
    window_s: float,
    step_s: float,
    parameters: PulseParameters,
    rng: np.random.Generator,
) -> FloatArray:
    """Rain per step (count, window_s / step_s) [m] of windows in which some rain falls.

    The number of pulses is a Poisson number that is not 0; a pulse is already falling when the
    window begins, or begins within it, by the lengths of the two; so wet windows have exactly
    their law under the process. Windows do not depend on each other.
    """
    p = parameters
    mean = (window_s + p.length_s) / p.gap_s
    # The time of the first arrival, given that there is one, and a Poisson number after it.
    first = -np.log1p(rng.random(count) * math.expm1(-mean))
    pulses = 1 + rng.poisson(np.maximum(mean - first, 0.0))
    edges = np.arange(round(window_s / step_s) + 1) * step_s
    out = np.empty((count, len(edges) - 1))
    rows = max(1, int(_CHUNK / max(1.0, mean)))
    for a in range(0, count, rows):
        part = pulses[a : a + rows]
        total = int(part.sum())
        falling = rng.random(total) < p.length_s / (window_s + p.length_s)
        start = np.where(falling, 0.0, rng.random(total) * window_s)
        length = rng.exponential(p.length_s, total)
        strength = rng.exponential(p.strength_m_per_s, total)
        fallen = np.clip(edges - start[:, None], 0.0, length[:, None]) * strength[:, None]
        first_of = np.concatenate(([0], np.cumsum(part)[:-1]))
        out[a : a + rows] = np.diff(np.add.reduceat(fallen, first_of, axis=0), axis=1)
    return out


def spread_pulses(
    depth_m: FloatArray,
    *,
    parent_s: float,
    step_s: float,
    parameters: PulseParameters,
    rng: np.random.Generator,
) -> FloatArray:
    """Depths per step from depths per day, (n,) to (n, k) [m]: wet windows scaled to the sums."""
    wet = np.flatnonzero(depth_m > 0.0)
    shape = np.maximum(
        wet_windows(len(wet), window_s=parent_s, step_s=step_s, parameters=parameters, rng=rng),
        0.0,
    )
    out = np.zeros((len(depth_m), shape.shape[1]))
    out[wet] = close_sums(shape, depth_m[wet])
    return out

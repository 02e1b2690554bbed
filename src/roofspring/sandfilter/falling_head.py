"""The falling-head test: how fast the water over the sand sinks tells how much the sand lets by."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from roofspring.errors import Finding, Problem, RangeError
from roofspring.errors.limits import not_negative, positive
from roofspring.sources import COMMON_PRACTICE
from roofspring.water import REFERENCE_DEGC, viscosity_ratio

GOOD_SCATTER_FRAC = 0.02
"""Scatter of the levels about the fitted fall, up to which a test is called clean; our choice."""
AGREES_FACTOR = 2.0
"""A measured conductivity from half to twice the reckoned one agrees with it; common practice."""


@dataclass(frozen=True)
class FallingHead:
    """A falling-head test, reduced.

    Attributes
    ----------
    resistance_s : float
        Of bed and skin at the temperature of the test: head over rate [s].
    conductivity_m_per_s : float or None
        Of the sand at the temperature of the test [m/s]; None where the skin takes all.
    conductivity_20_m_per_s : float or None
        The same at 20 degrees C.
    scatter_frac : float
        Root mean square of how far the levels lie off the fitted fall, as a share of the level.
    readings_count : int
    """

    resistance_s: float
    conductivity_m_per_s: float | None
    conductivity_20_m_per_s: float | None
    scatter_frac: float
    readings_count: int

    def against(self, reckoned_m_per_s: float) -> tuple[Finding, ...]:
        """What to say of the test beside the conductivity at 20 degrees C reckoned from the sand.

        BED-102: the test and the sand differ by more than twice. BED-103: the levels scatter.
        BED-104: the skin takes all that was measured.
        """
        positive("reckoned_m_per_s", reckoned_m_per_s)
        found = []
        ours = self.conductivity_20_m_per_s
        if ours is None:
            found.append(
                Finding(
                    "BED-104",
                    "caution",
                    "the skin's resistance that was given is more than all that was measured",
                    where="falling-head test",
                    got=f"{self.resistance_s / 3600:.3g} h in all",
                    source="DARCY_1856",
                    next="clean the bed and time the fall again, with no skin to allow for",
                )
            )
        elif not 1.0 / AGREES_FACTOR <= ours / reckoned_m_per_s <= AGREES_FACTOR:
            found.append(
                Finding(
                    "BED-102",
                    "caution",
                    "the sand lets by "
                    + ("more" if ours > reckoned_m_per_s else "less")
                    + " than its grains say",
                    where="falling-head test",
                    got=f"{ours * 3600:.3g} m/h at 20 °C",
                    limit=f"{reckoned_m_per_s / AGREES_FACTOR * 3600:.3g} to "
                    f"{reckoned_m_per_s * AGREES_FACTOR * 3600:.3g} m/h, half to twice the "
                    "reckoned one",
                    source=COMMON_PRACTICE,
                    next="more: look for a gap along the wall, a crack or a leak. Less: look for "
                    "fines, air in the bed, or a blocked drain",
                )
            )
        if self.scatter_frac > GOOD_SCATTER_FRAC:
            found.append(
                Finding(
                    "BED-103",
                    "note",
                    "the levels do not lie on one smooth fall",
                    where="falling-head test",
                    got=f"{self.scatter_frac:.1%} off",
                    limit=f"{GOOD_SCATTER_FRAC:.0%}",
                    source="engineering choice",
                    next="stop all inflow, let the bed fill with no air in it, and time it again",
                )
            )
        return tuple(found)


def falling_head(
    time_s: Sequence[float],
    level_m: Sequence[float],
    *,
    depth_m: float,
    temp_degc: float,
    area_ratio: float = 1.0,
    skin_resistance_s: float = 0.0,
) -> FallingHead:
    """Conductivity of a bed from timed levels of the water over it, unfed.

    Parameters
    ----------
    time_s : sequence of float
        Times of the readings, rising [s]; two or more.
    level_m : sequence of float
        Water levels over the outlet weir at those times, falling [m], above 0.
    depth_m : float
        Sand depth [m], above 0.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    area_ratio : float
        Area of the falling water over area of the bed [-], above 0.
    skin_resistance_s : float
        What the skin takes at that temperature [s], 0 or more: 0 for clean sand.

    Returns
    -------
    FallingHead

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.
    RangeError (BED-004)
        Fewer than two readings, times that do not rise, levels that do not fall.

    Notes
    -----
    ``ln h = ln h0 - t / (r R)`` fitted by least squares, R the resistance of bed and skin and r
    the ratio of areas; ``K = L / (R - Rs)``, and ``K20 = K nu(T) / nu(20)``.

    Source
    ------
    DARCY_1856, integrated.

    Examples
    --------
    >>> test = falling_head([0.0, 1882.0], [0.30, 0.05], depth_m=0.8, temp_degc=10.0)
    >>> round(test.conductivity_m_per_s * 3600, 2), round(test.conductivity_20_m_per_s * 3600, 2)
    (2.74, 3.57)
    """
    positive("depth_m", depth_m)
    positive("area_ratio", area_ratio)
    not_negative("skin_resistance_s", skin_resistance_s)
    _check_readings(time_s, level_m)
    logs = [math.log(level) for level in level_m]
    n = len(logs)
    mean_t, mean_log = math.fsum(time_s) / n, math.fsum(logs) / n
    spread = math.fsum((t - mean_t) ** 2 for t in time_s)
    slope = (
        math.fsum((t - mean_t) * (y - mean_log) for t, y in zip(time_s, logs, strict=True)) / spread
    )
    off = [y - mean_log - slope * (t - mean_t) for t, y in zip(time_s, logs, strict=True)]
    resistance_s = -1.0 / (slope * area_ratio)
    sand_s = resistance_s - skin_resistance_s
    k = depth_m / sand_s if sand_s > 0.0 else None
    return FallingHead(
        resistance_s,
        k,
        None if k is None else k * viscosity_ratio(temp_degc, reference_degc=REFERENCE_DEGC),
        math.sqrt(math.fsum(x * x for x in off) / n),
        n,
    )


def _check_readings(time_s: Sequence[float], level_m: Sequence[float]) -> None:
    for level in level_m:
        positive("level_m", level)
    for time in time_s:
        not_negative("time_s", time)
    rising = all(a < b for a, b in itertools.pairwise(time_s))
    falling = all(a > b for a, b in itertools.pairwise(level_m))
    if len(time_s) < 2 or len(time_s) != len(level_m) or not rising or not falling:
        raise RangeError(
            Problem(
                "BED-004",
                "these readings are not those of a falling level",
                where="time_s, level_m",
                got=f"{len(time_s)} times and {len(level_m)} levels",
                allowed="two readings or more, each later and lower than the one before",
                next="give time and level over the weir crest pair by pair, with no inflow",
            )
        )

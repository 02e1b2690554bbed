"""The run of a pipe up and down: air at its high points, water at its low points, time to fill."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, not_negative, positive, share
from roofspring.hydraulics.pipe import flow_m3_per_s

_SWEEP_SLOPE, _SWEEP_LEVEL = 0.56, 0.61
_STEPS_COUNT = 60
_FLAT_M = 1e-6


@dataclass(frozen=True)
class Profile:
    """Distances along a pipe and its heights there [m], from the end that water enters."""

    stations_m: tuple[float, ...]
    heights_m: tuple[float, ...]

    @property
    def length_m(self) -> float:
        """Length of the pipe [m]."""
        return self.stations_m[-1]

    def height_m(self, station_m: float) -> float:
        """Height at a distance, by straight lines [m]."""
        for (x0, x1), (z0, z1) in zip(
            pairwise(self.stations_m), pairwise(self.heights_m), strict=True
        ):
            if station_m <= x1:
                return z0 + (z1 - z0) * (station_m - x0) / (x1 - x0)
        return self.heights_m[-1]


@dataclass(frozen=True)
class HighPoint:
    """A place that lies over what comes before and after it.

    Attributes
    ----------
    station_m, height_m : float
    falls_m : float
        How far the pipe falls from here to the next low point, or to its end [m].
    slope_frac : float
        Steepest fall on that way, height over length [-].
    is_closed : bool
        True where a low point follows, so that air cannot go on to the open end by itself.
    """

    station_m: float
    height_m: float
    falls_m: float
    slope_frac: float
    is_closed: bool


@dataclass(frozen=True)
class LowPoint:
    """A place that lies under what comes before and after it; ``held_m`` of pipe stay full there
    when the line has run empty."""

    station_m: float
    height_m: float
    held_m: float


def pipe_profile(stations_m: Sequence[float], heights_m: Sequence[float]) -> Profile:
    """The run of a pipe by distances and heights.

    Parameters
    ----------
    stations_m : sequence of float
        Distances along the pipe [m], the first 0, rising.
    heights_m : sequence of float
        Heights there [m], as many.

    Returns
    -------
    Profile

    Raises
    ------
    RangeError (DOM-009)
        Fewer than two rows, distances that do not rise from 0, or a step that climbs or falls
        further than it is long.

    Notes
    -----
    Straight between the rows.

    Source
    ------
    Plane geometry.

    Examples
    --------
    >>> pipe_profile([0.0, 4.0], [5.0, 4.0]).height_m(1.0)
    4.75
    """
    steps = list(
        zip(pairwise(stations_m), pairwise(heights_m), strict=len(stations_m) == len(heights_m))
    )
    rises = all(
        x1 > x0 and abs(z1 - z0) <= (x1 - x0) * (1.0 + 1e-6) for (x0, x1), (z0, z1) in steps
    )
    if len(stations_m) != len(heights_m) or not steps or stations_m[0] != 0.0 or not rises:
        raise RangeError(
            Problem(
                "DOM-009",
                "these rows are no run of a pipe",
                where="stations_m",
                got=f"{list(stations_m)[:8]} m at heights {list(heights_m)[:8]} m",
                allowed="two rows or more, distances rising from 0, no step steeper than upright",
                next="measure distances along the pipe and heights from one datum",
            )
        )
    return Profile(tuple(stations_m), tuple(heights_m))


def high_points(profile: Profile) -> tuple[HighPoint, ...]:
    """Every place inside the run where air gathers, in the order of the flow.

    Where the pipe is level on top, the last place of it counts.

    >>> run = pipe_profile([0.0, 2.0, 5.0, 9.0, 12.0], [5.0, 4.0, 4.5, 3.0, 3.2])
    >>> [(p.station_m, p.falls_m, p.is_closed) for p in high_points(run)]
    [(5.0, 1.5, True)]
    """
    turns = _turns(profile)
    found = []
    for n, (i, is_high) in enumerate(turns):
        if not is_high:
            continue
        j = turns[n + 1][0] if n + 1 < len(turns) else len(profile.stations_m) - 1
        found.append(
            HighPoint(
                profile.stations_m[i],
                profile.heights_m[i],
                profile.heights_m[i] - profile.heights_m[j],
                max(_slope(profile, k) for k in range(i, j)),
                n + 1 < len(turns),
            )
        )
    return tuple(found)


def low_points(profile: Profile) -> tuple[LowPoint, ...]:
    """Every dip inside the run, with the length of pipe that stays full when the rest is empty.

    Water leaves a dip over the lower of the ways out of it, with air let in at both ends.

    >>> run = pipe_profile([0.0, 2.0, 5.0, 9.0, 12.0], [5.0, 4.0, 4.5, 3.0, 3.2])
    >>> [(p.station_m, round(p.held_m, 3)) for p in low_points(run)]
    [(2.0, 4.0), (9.0, 3.533)]
    """
    before = list(accumulate(profile.heights_m, max))
    after = list(accumulate(reversed(profile.heights_m), max))[::-1]
    turns = _turns(profile)
    found = []
    for n, (i, is_high) in enumerate(turns):
        if is_high:
            continue
        first = turns[n - 1][0] if n > 0 else 0
        last = turns[n + 1][0] if n + 1 < len(turns) else len(profile.stations_m) - 1
        held_m = math.fsum(
            _under_m(profile, k, min(before[k], after[k + 1])) for k in range(first, last)
        )
        found.append(LowPoint(profile.stations_m[i], profile.heights_m[i], held_m))
    return tuple(found)


def air_lock_m(profile: Profile) -> float:
    """Head that air caught while the empty line filled can hold back [m].

    The falls behind all high points that a low point follows, full of air, against climbs full of
    water. The air is taken as not squeezed, which is on the careful side.

    >>> air_lock_m(pipe_profile([0.0, 2.0, 5.0, 9.0, 12.0], [5.0, 4.0, 4.5, 3.0, 3.2]))
    1.5
    """
    return math.fsum(p.falls_m for p in high_points(profile) if p.is_closed)


def air_sweep_speed_m_per_s(diameter_m: float, *, fall_frac: float) -> float:
    """Speed of the water that carries pockets of air down a falling pipe.

    Parameters
    ----------
    diameter_m : float
        Inside diameter [m], above 0.
    fall_frac : float
        Fall over length [-], 0 to 1.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value that cannot be.

    Notes
    -----
    ``V / sqrt(g D) = 0.56 sqrt(sin slope) + 0.61``, for the largest pockets of the tests, in pipes
    of 150 mm that fell up to 22 degrees; in pipes of 25 and 38 mm others found the same. Small
    bubbles need less.

    Source
    ------
    ESCARAMEIA_2007; the form quoted, the two numbers from memory. MAY_2018 for small pipes.

    Examples
    --------
    >>> round(air_sweep_speed_m_per_s(0.021, fall_frac=0.10), 2)
    0.36
    """
    positive("diameter_m", diameter_m)
    share("fall_frac", fall_frac)
    froude = _SWEEP_SLOPE * math.sqrt(fall_frac) + _SWEEP_LEVEL
    return froude * math.sqrt(GRAVITY_M_PER_S2 * diameter_m)


def pipe_fill_time_s(
    profile: Profile,
    *,
    source_m: float,
    diameter_m: float,
    roughness_m: float,
    k_sum: float,
    temp_degc: float,
) -> float:
    """Time in which an empty, vented pipe fills from its upper end to the other.

    Parameters
    ----------
    profile : Profile
    source_m : float
        Height of the water it fills from [m].
    diameter_m, roughness_m, k_sum, temp_degc : float
        As in `flow_m3_per_s`; all fittings are taken to stand before the front.

    Returns
    -------
    float
        Time [s]; infinite where the pipe climbs over the water.

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        A value that cannot be.

    Notes
    -----
    At each place of the front the flow is the steady one through the length already full, under the
    head down to the front: the water's own inertia and the surge at the end are left out. Where the
    front falls, the pipe is taken to run full behind it.

    Source
    ------
    CHURCHILL_1977, through `flow_m3_per_s`.

    Examples
    --------
    >>> run = pipe_profile([0.0, 12.0], [4.2, 1.0])
    >>> round(pipe_fill_time_s(run, source_m=4.3, diameter_m=0.021, roughness_m=1.5e-6, k_sum=4.0,
    ...                        temp_degc=10.0), 1)
    7.6
    """
    finite("source_m", source_m)
    return _crossed_s(
        profile.length_m,
        lambda at_m: source_m - profile.height_m(at_m),
        lambda at_m: at_m,
        diameter_m,
        roughness_m,
        k_sum,
        temp_degc,
    )


def pipe_drain_time_s(
    profile: Profile,
    *,
    diameter_m: float,
    roughness_m: float,
    k_sum: float,
    temp_degc: float,
) -> float:
    """Time in which a full pipe that falls all the way runs empty by its lower end.

    Parameters
    ----------
    profile : Profile
    diameter_m, roughness_m, k_sum, temp_degc : float
        As in `flow_m3_per_s`; all fittings are taken to stand behind the front.

    Returns
    -------
    float
        Time [s]; infinite where a dip holds water or the end is not the lowest place.

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        A value that cannot be.

    Notes
    -----
    Air follows the water from the upper end. The flow at each place of the front is the steady one
    of the water that is left, under its own height over the end. The last twentieth of the length
    is left out: a pipe dribbles on for long.

    Source
    ------
    CHURCHILL_1977, through `flow_m3_per_s`.

    Examples
    --------
    >>> run = pipe_profile([0.0, 12.0], [4.2, 1.0])
    >>> round(pipe_drain_time_s(run, diameter_m=0.021, roughness_m=1.5e-6, k_sum=4.0,
    ...                         temp_degc=10.0), 1)
    7.3
    """
    end_m = profile.heights_m[-1]
    if low_points(profile) or min(profile.heights_m) < end_m or profile.heights_m[0] <= end_m:
        return math.inf
    return _crossed_s(
        0.95 * profile.length_m,
        lambda at_m: profile.height_m(at_m) - end_m,
        lambda at_m: profile.length_m - at_m,
        diameter_m,
        roughness_m,
        k_sum,
        temp_degc,
    )


def _crossed_s(
    length_m: float,
    head_m: Callable[[float], float],
    full_m: Callable[[float], float],
    diameter_m: float,
    roughness_m: float,
    k_sum: float,
    temp_degc: float,
) -> float:
    """Time of a front over a length, by the middle of equal steps."""
    positive("diameter_m", diameter_m)
    not_negative("k_sum", k_sum)
    step_m = length_m / _STEPS_COUNT
    area_m2 = math.pi * diameter_m**2 / 4.0
    time_s = 0.0
    for i in range(_STEPS_COUNT):
        at_m = (i + 0.5) * step_m
        flow = flow_m3_per_s(
            head_m(at_m),
            diameter_m=diameter_m,
            length_m=full_m(at_m),
            roughness_m=roughness_m,
            k_sum=k_sum,
            temp_degc=temp_degc,
        )
        if flow <= 0.0:
            return math.inf
        time_s += step_m * area_m2 / flow
    return time_s


def _slope(profile: Profile, k: int) -> float:
    fall_m = profile.heights_m[k] - profile.heights_m[k + 1]
    return min(1.0, max(0.0, fall_m / (profile.stations_m[k + 1] - profile.stations_m[k])))


def _turns(profile: Profile) -> list[tuple[int, bool]]:
    """Rows at which the run turns: (row, True for a high point), ends left out."""
    found: list[tuple[int, bool]] = []
    went = 0.0
    for i, (z0, z1) in enumerate(pairwise(profile.heights_m)):
        step = z1 - z0
        if abs(step) <= _FLAT_M:
            continue
        if went * step < 0.0:
            found.append((i, went > 0.0))
        went = step
    return found


def _under_m(profile: Profile, k: int, level_m: float) -> float:
    """Length of one step that lies under a level."""
    z0, z1 = profile.heights_m[k], profile.heights_m[k + 1]
    length_m = profile.stations_m[k + 1] - profile.stations_m[k]
    low, high = min(z0, z1), max(z0, z1)
    if high - low <= _FLAT_M:
        return length_m if level_m > high + _FLAT_M else 0.0
    return length_m * min(1.0, max(0.0, (level_m - low) / (high - low)))

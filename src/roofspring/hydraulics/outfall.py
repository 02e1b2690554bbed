"""Where a pipe spills: how fast the water leaves it, what the ground bears, stones that hold."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors.limits import known, not_negative, positive
from roofspring.hydraulics.gutter.outlets import drain_flow_m3_per_s

PIPE_MANNING = 0.011
"""Manning's n of smooth plastic pipe."""
_TAIL_FRAC = 0.4
"""Depth of water below the end over the diameter, where nobody knows it: the rule's least."""
_FULL_FRAC = 0.938
"""Depth over the bore at which Manning's flow is greatest; beyond it a pipe runs full."""
_HALVINGS = 60


@dataclass(frozen=True)
class Exit:
    """Water at the open end of a pipe: its depth and its speed there."""

    depth_m: float
    speed_m_per_s: float
    is_full: bool


@dataclass(frozen=True)
class Apron:
    """Stones under the open end: middle size, length, thickness and width at the far end [m]."""

    stone_m: float
    length_m: float
    thick_m: float
    wide_m: float


def pipe_exit(flow_m3_per_s: float, *, diameter_m: float, fall_frac: float) -> Exit:
    """Depth and speed of water that leaves the open end of a pipe.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow [m3/s], above 0.
    diameter_m : float
        Inside diameter [m], above 0.
    fall_frac : float
        Fall of the pipe over its length [-], 0 or more.

    Returns
    -------
    Exit

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    Critical depth, or the depth of even flow by Manning's formula (n 0.011) where the pipe is so
    steep that this is the lesser. Deeper than 0.938 of the bore, the pipe is taken to run full.

    Source
    ------
    CHOW_1959, critical and uniform flow in circular sections.

    Examples
    --------
    >>> end = pipe_exit(4.507e-3, diameter_m=0.1, fall_frac=0.0)
    >>> round(end.depth_m * 1e3, 1), round(end.speed_m_per_s, 2)
    (68.9, 0.78)
    """
    positive("flow_m3_per_s", flow_m3_per_s)
    positive("diameter_m", diameter_m)
    not_negative("fall_frac", fall_frac)
    most = math.acos(1.0 - 2.0 * _FULL_FRAC)
    critical = _half_angle(lambda half: _critical_m3_per_s(half, diameter_m), flow_m3_per_s, most)
    even = None
    if fall_frac > 0.0:
        even = _half_angle(
            lambda half: _even_m3_per_s(half, diameter_m, fall_frac),
            flow_m3_per_s,
            most,
        )
    halves = [half for half in (critical, even) if half is not None]
    if not halves:
        return Exit(diameter_m, flow_m3_per_s / (math.pi * diameter_m**2 / 4.0), is_full=True)
    half = min(halves)
    return Exit(
        diameter_m * math.sin(half / 2.0) ** 2,
        flow_m3_per_s / _area_m2(half, diameter_m),
        is_full=False,
    )


def apron(flow_m3_per_s: float, *, diameter_m: float, depth_m: float | None = None) -> Apron:
    """Stones that hold under the open end of a pipe.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow [m3/s], 0 or more.
    diameter_m : float
        Inside diameter [m], above 0.
    depth_m : float, optional
        Depth of fast (supercritical) water in the pipe [m]: half of the depth and the diameter then
        takes the place of the diameter in the size of the stones.

    Returns
    -------
    Apron

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``d50 = 0.2 D (Q / (sqrt(g) D**2.5))**(4/3) D / T`` with water of depth T = 0.4 D below the end.
    Length 4 D and thickness 3.5 d50 are those of the smallest class of stones in the source, which
    has 125 mm; for the gravel that house pipes need they go beyond it. The far end is
    ``3 D + 2/3`` of the length wide.

    Source
    ------
    FHWA_HEC_14, riprap aprons, equation 10.4 (quoted); lengths and width from memory.

    Examples
    --------
    >>> stones = apron(4.5e-3, diameter_m=0.1)
    >>> round(stones.stone_m * 1e3), round(stones.length_m, 2)
    (17, 0.4)
    """
    not_negative("flow_m3_per_s", flow_m3_per_s)
    positive("diameter_m", diameter_m)
    size_m = diameter_m if depth_m is None else 0.5 * (diameter_m + min(depth_m, diameter_m))
    positive("size_m", size_m)
    strength = flow_m3_per_s / (math.sqrt(GRAVITY_M_PER_S2) * size_m**2.5)
    stone_m = 0.2 * size_m * strength ** (4.0 / 3.0) / _TAIL_FRAC
    length_m = 4.0 * diameter_m
    return Apron(stone_m, length_m, 3.5 * stone_m, 3.0 * diameter_m + 2.0 / 3.0 * length_m)


@dataclass(frozen=True)
class Bears:
    """Speed of clear water that a ground bears, and where that comes from."""

    ground: str
    speed_m_per_s: float
    source: str
    seen: str


@cache
def ground_speeds() -> dict[str, Bears]:
    """Greatest speed of water over each ground, in the order of the file.

    >>> ground_speeds()["loam"].speed_m_per_s
    0.76
    """
    path = resources.files("roofspring.hydraulics").joinpath("tables/ground_speed.csv")
    return {
        row["ground"]: Bears(row["ground"], float(row["speed_m_per_s"]), row["source"], row["seen"])
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def ground_speed_m_per_s(ground: str) -> float:
    """Greatest speed of water that a ground bears [m/s]; an unknown name is DOM-004.

    >>> ground_speed_m_per_s("sand")
    0.46
    """
    known("ground", ground, ground_speeds())
    return ground_speeds()[ground].speed_m_per_s


def _area_m2(half: float, diameter_m: float) -> float:
    return diameter_m**2 * (half - math.sin(half) * math.cos(half)) / 4.0


def _critical_m3_per_s(half: float, diameter_m: float) -> float:
    area_m2 = _area_m2(half, diameter_m)
    return area_m2 * math.sqrt(GRAVITY_M_PER_S2 * area_m2 / (diameter_m * math.sin(half)))


def _even_m3_per_s(half: float, diameter_m: float, fall_frac: float) -> float:
    return drain_flow_m3_per_s(
        diameter_m,
        fall_frac=fall_frac,
        manning=PIPE_MANNING,
        depth_frac=math.sin(half / 2.0) ** 2,
    )


def _half_angle(
    flow_of: Callable[[float], float], flow_m3_per_s: float, most: float
) -> float | None:
    """Half the angle of the wetted wall at a flow, by halving; None where even the most is less."""
    if flow_of(most) < flow_m3_per_s:
        return None
    low, high = 1e-6, most
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if flow_of(middle) < flow_m3_per_s else (low, middle)
    return 0.5 * (low + high)

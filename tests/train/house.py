"""The demo house in numbers, as a reader would take them from its plan, and the published laws.

Nothing here comes from the engine. Laws, with where they come from:

- feed pipe: ``h = (f L / D + sum K) V**2 / 2g`` with Churchill's ``f`` (CHURCHILL_1977) from the
  fluids package, IEC 60534 for the valve, viscosity from the iapws package (IAPWS R12-08);
- filter: Darcy, ``Q = A (h - weir) / R``, with Carman's ``R`` (CARMAN_1937) and a throttle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache

import fluids
import iapws
import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

Floats = npt.NDArray[np.float64]

G = 9.80665  # standard gravity, CGPM_1901
MPA = 0.101325  # standard atmosphere, exact by definition

ROOFS_M2 = {"cabin": 108.0, "woodshed": 46.0}
RUNOFF, FILM_M, DRYING_M_PER_S = 0.95, 0.2e-3, 1e-3 / 86400.0  # metal; dries 1 mm a day
SCREEN_PASSES = 0.9
FLUSH_M3 = 1e-3 * sum(ROOFS_M2.values())
WEEP_M3_PER_S = FLUSH_M3 / (48 * 3600.0)

RAW_M2, RAW_FLOOR_M = 1.9 / 1.45, 6.45
RAW_OUT_M3, RAW_LIP_M3, RAW_BRIM_M3 = RAW_M2 * 0.15, RAW_M2 * 1.30, 1.9
BED_M2 = 0.25
CLEAN_M2 = 1.1 / 1.30
CLEAN_OUT_M3, CLEAN_LIP_M3 = CLEAN_M2 * 0.10, CLEAN_M2 * 1.20
CISTERN_M2 = 12.0
CISTERN_OUT_M3, CISTERN_LIP_M3 = CISTERN_M2 * 0.10, CISTERN_M2 * 2.00

INLET_M = 6.22
BORE_M, ROUGH_M = 0.021, 1.5e-6
LENGTH_M = {"a": 4.0, "b": 5.0}
WEIR_M = {"a": 5.65, "b": 5.62}
SHUT_M3 = {bed: BED_M2 * (5.93 - weir) for bed, weir in WEIR_M.items()}
THROTTLE_M3_PER_S = {"a": 0.12 / 3600.0 * BED_M2, "b": math.inf}
# entry, exit, ball valve, three elbows, strainer 30 % blocked (clean factor 1.65)
K_PIPE = 0.5 + 1.0 + 0.1 + 3 * 0.9 + 1.65 / (1.0 - 0.3) ** 2
K_VALVE = 1.6e9 * BORE_M**4 / 1.7**2  # Kv 1.7 m3/h

FEED_DEGC = 10.0
SKIN_S = 4320.0

HOURS = {
    "washing": [0, 0, 0, 0, 0, 1, 3, 4, 3, 2, 1, 1, 2, 1, 1, 1, 1, 2, 3, 3, 2, 1, 1, 0],
    "garden": [0, 0, 0, 0, 0, 1, 2, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 1, 0, 0, 0],
}
GARDEN_MM = [0.0, 0.0, 0.0, 0.0, 1.5, 2.5, 3.0, 3.0, 1.5, 0.0, 0.0, 0.0]

STORES = ("flush", "raw", "sand-a", "sand-b", "clean", "cistern")
ARCS = (
    *((kind, roof) for roof in ROOFS_M2 for kind in ("rain", "wetting", "splash", "pass")),
    ("pass", "leaf-screen"), ("reject", "leaf-screen"), ("pass", "flush"), ("weep", "flush"),
    ("feed", "sand-a"), ("feed", "sand-b"), ("sand", "sand-a"), ("sand", "sand-b"),
    ("overflow", "raw"), ("overflow", "clean"), ("overflow", "cistern"),
    ("draw", "drinking clean"), ("draw", "drinking cistern"), ("draw", "washing"),
    ("draw", "goats"), ("draw", "garden"),
)  # fmt: skip
"""Ways water moves: what it is, and the part it leaves (for a feed, the filter it fills)."""

HAIR = 1e-9
"""A sliding motion whose rates are this near to its end has ended."""

STATES_COUNT = len(ROOFS_M2) + len(STORES)


@cache
def viscosity_ratio(degc: float) -> float:
    """Kinematic viscosity over that at 20 degrees C."""
    return _nu_m2_per_s(degc) / _nu_m2_per_s(20.0)


@cache
def _nu_m2_per_s(degc: float) -> float:
    return float(iapws.IAPWS95(T=273.15 + degc, P=MPA).nu)  # 273.15 K is 0 degC, exact


@cache
def bed_resistance_s(degc: float) -> float:
    """Sand of 0.70 m, effective size 0.25 mm, uniformity 2, and the skin, at a temperature."""
    grain_m = 0.25e-3 * (1.0 + 2.0 * math.log10(2.0))
    k = G * 0.4**3 * (0.8 * grain_m) ** 2 / (180.0 * _nu_m2_per_s(20.0) * 0.6**2)
    return (0.70 / k + SKIN_S) * viscosity_ratio(degc)


def pipe_loss_m(q_m3_per_s: float, *, length_m: float, k_sum: float, degc: float) -> float:
    """Head lost, by the fluids package."""
    speed = q_m3_per_s / (math.pi * BORE_M**2 / 4.0)
    if speed == 0.0:
        return 0.0
    reynolds = fluids.Reynolds(V=speed, D=BORE_M, nu=_nu_m2_per_s(degc))
    f = fluids.friction.Churchill_1977(reynolds, ROUGH_M / BORE_M)
    return float((f * length_m / BORE_M + k_sum) * speed**2 / (2.0 * G))


@cache
def pipe_flow(bed: str, k_sum: float) -> CubicSpline:
    """Flow of a feed against the root of its head: 4,000 points, joined smoothly."""
    q = np.linspace(0.0, 6e-4, 4001)
    heads = [pipe_loss_m(x, length_m=LENGTH_M[bed], k_sum=k_sum, degc=FEED_DEGC) for x in q]
    return CubicSpline(np.sqrt(heads), q)


@cache
def plain_loss(bed: str) -> CubicSpline:
    """Head lost by a feed without its valve, against flow."""
    q = np.linspace(0.0, 6e-4, 4001)
    heads = [pipe_loss_m(x, length_m=LENGTH_M[bed], k_sum=K_PIPE, degc=FEED_DEGC) for x in q]
    return CubicSpline(q, heads)


def part_open_flow(bed: str, head_m: float, opening: float) -> float:
    """Flow of a feed whose valve passes a share of its flow at the same head over it."""
    if head_m <= 0.0 or opening <= 0.0:
        return 0.0
    area = math.pi * BORE_M**2 / 4.0
    valve = K_VALVE / opening**2 / (2.0 * G * area**2)
    loss = plain_loss(bed)
    q = math.sqrt(head_m / valve)
    for _ in range(50):  # Newton: the loss rises ever faster, so it comes down from above
        step = (float(loss(q)) + valve * q * q - head_m) / (float(loss(q, 1)) + 2.0 * valve * q)
        q -= step
        if abs(step) <= 1e-13 * q:
            return q
    raise AssertionError("the flow of a part-open valve was not found")


OVERFLOW_BORES_M = {"raw": 0.11, "clean": 0.05, "cistern": 0.11}


@cache
def side_outlet(bore_m: float) -> Callable[[float], float]:
    """Flow out of a level pipe through a wall against the level over the bottom of its bore.

    Critical flow in a circle, ``y + A / 2T = H`` and ``Q = A sqrt(g A / T)`` (CHOW_1959), times 0.9
    for the entry; above the top of the bore no more than an orifice of 0.6 passes.
    """
    half = np.linspace(1e-3, math.pi - 1e-3, 4001)  # half the angle that the surface spans
    area = (half - np.sin(half) * np.cos(half)) * bore_m**2 / 4.0
    width = np.sin(half) * bore_m
    head = bore_m * np.sin(half / 2.0) ** 2 + area / (2.0 * width)
    root = CubicSpline(head, np.sqrt(0.9 * area * np.sqrt(G * area / width)))

    def flow(level_m: float) -> float:
        if level_m <= head[0]:
            return 0.0
        q = float(root(level_m)) ** 2 if level_m < head[-1] else math.inf
        if level_m > bore_m:
            drowned = math.sqrt(2.0 * G * (level_m - bore_m / 2.0))
            q = min(q, 0.6 * math.pi * bore_m**2 / 4.0 * drowned)
        return q

    return flow


@dataclass(frozen=True)
class Laws:
    """Which of the laws that have a choice. ``band_m`` None: the valve holds its shut level.

    ``spill`` gives, by store, the flow over a lip under a head [m]; a store that is not named
    passes all that stands over its lip. ``cake_s_per_m`` is the resistance
    that a depth of water filtered adds to the skin, at 20 degrees C.
    """

    band_m: float | None = None
    spill: Mapping[str, Callable[[float], float]] = field(default_factory=dict)
    degc: float = 10.0
    cake_s_per_m: float = 0.0


@dataclass(frozen=True)
class Storm:
    """What drives a run. ``rain_m`` falls evenly within each step."""

    rain_m: Floats
    step_s: float
    month: int
    start_hours: float = 0.0
    ration: Mapping[str, float] = field(default_factory=dict)


def wants_m3_per_s(storm: Storm, hour: int) -> dict[str, float]:
    """What each use wants in an hour of the day, in order of importance."""
    per_day = {
        "drinking": 5 * 6e-3,
        "washing": 5 * 38e-3,
        "goats": 2 * 8e-3,
        "garden": 45.0 * GARDEN_MM[storm.month] / 1000.0,
    }
    shares = {use: hours[hour] / sum(hours) for use, hours in HOURS.items()}
    return {
        use: want * storm.ration.get(use, 1.0) * shares.get(use, 1.0 / 24.0) / 3600.0
        for use, want in per_day.items()
    }

"""Water that soaks into the ground: Green and Ampt, Horton, Philip, and how long a swale drains."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.errors.limits import not_negative, positive

_TRIES = 60


@dataclass(frozen=True)
class SoilClass:
    """How a soil takes water.

    Attributes
    ----------
    name : str
    porosity_frac : float
        Voids that water can fill [-].
    suction_m : float
        Suction at the wetting front [m].
    soak_m_per_s : float
        Conductivity under a wet surface [m/s].
    design_m_per_s : float
        Rate that a published guide lets one count on [m/s].
    source, seen : str
    """

    name: str
    porosity_frac: float
    suction_m: float
    soak_m_per_s: float
    design_m_per_s: float
    source: str
    seen: str


@cache
def soil_classes() -> dict[str, SoilClass]:
    """The table of soils by name, from the coarsest.

    >>> round(soil_classes()["silt-loam"].suction_m, 4)
    0.1668
    """
    path = resources.files("roofspring.hydraulics").joinpath("tables/soils.csv")
    return {
        row["soil"]: SoilClass(
            row["soil"],
            float(row["porosity"]),
            float(row["suction_cm"]) / 100.0,
            float(row["soak_cm_per_h"]) / 100.0 / 3600.0,
            float(row["design_in_per_h"]) * 0.0254 / 3600.0,
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def green_ampt_m(
    time_s: float,
    *,
    soak_m_per_s: float,
    suction_m: float,
    filled_frac: float,
    start_m: float = 0.0,
) -> float:
    """Depth soaked in under a ponded surface after a time.

    Parameters
    ----------
    time_s : float
        [s], 0 or more.
    soak_m_per_s : float
        Conductivity [m/s], above 0.
    suction_m : float
        Suction at the wetting front, with the depth of ponded water [m], above 0.
    filled_frac : float
        Rise of the water content behind the front [-], above 0.
    start_m : float
        Depth soaked in before [m], 0 or more.

    Returns
    -------
    float
        Whole depth soaked in [m].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``F - S ln((F + S) / (F0 + S)) = F0 + K t`` with ``S = suction * filled``, by Newton from above.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, section 4.3, Green and Ampt.

    Examples
    --------
    >>> k = 0.65 / 100.0 / 3600.0
    >>> f = green_ampt_m(3600.0, soak_m_per_s=k, suction_m=0.167, filled_frac=0.340)
    >>> round(f * 100.0, 2)
    3.17
    """
    not_negative("time_s", time_s)
    positive("soak_m_per_s", soak_m_per_s)
    positive("suction_m", suction_m)
    positive("filled_frac", filled_frac)
    not_negative("start_m", start_m)
    store_m = suction_m * filled_frac
    added_m = soak_m_per_s * time_s
    if added_m == 0.0:
        return start_m
    # Over the root: the depth grows by at most what the rate at its start would bring on its own.
    depth_m = start_m + added_m + math.sqrt(2.0 * store_m * added_m)
    for _ in range(_TRIES):
        error_m = depth_m - start_m - added_m
        error_m -= store_m * math.log((depth_m + store_m) / (start_m + store_m))
        next_m = depth_m - error_m * (depth_m + store_m) / max(depth_m, 1e-300)
        if abs(next_m - depth_m) <= 1e-14 * depth_m:
            break
        depth_m = max(next_m, start_m + added_m)
    return depth_m


def green_ampt_rate_m_per_s(
    depth_m: float, *, soak_m_per_s: float, suction_m: float, filled_frac: float
) -> float:
    """Rate of soaking once a depth is in, ``K (S / F + 1)``.

    Parameters
    ----------
    depth_m : float
        Depth soaked in [m], above 0.
    soak_m_per_s, suction_m, filled_frac
        As in `green_ampt_m`.

    Returns
    -------
    float
        [m/s]

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    Falls toward the conductivity as the front goes down.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, equation 4.3.7.

    Examples
    --------
    >>> k = 0.65 / 100.0 / 3600.0
    >>> f = green_ampt_rate_m_per_s(0.0317, soak_m_per_s=k, suction_m=0.167, filled_frac=0.340)
    >>> round(f * 3600.0 * 100.0, 2)
    1.81
    """
    positive("depth_m", depth_m)
    positive("soak_m_per_s", soak_m_per_s)
    positive("suction_m", suction_m)
    positive("filled_frac", filled_frac)
    return soak_m_per_s * (suction_m * filled_frac / depth_m + 1.0)


def ponding_time_s(
    rain_m_per_s: float, *, soak_m_per_s: float, suction_m: float, filled_frac: float
) -> float:
    """Time until steady rain stands on the ground.

    Parameters
    ----------
    rain_m_per_s : float
        Intensity [m/s], above 0.
    soak_m_per_s, suction_m, filled_frac
        As in `green_ampt_m`.

    Returns
    -------
    float
        [s]; infinite where the ground takes it all.

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    ``K S / (i (i - K))``.

    Source
    ------
    CHOW_MAIDMENT_MAYS_1988, section 4.4.

    Examples
    --------
    >>> k, i = 0.65 / 100.0 / 3600.0, 1.0 / 100.0 / 3600.0
    >>> t = ponding_time_s(i, soak_m_per_s=k, suction_m=0.167, filled_frac=0.340)
    >>> round(t / 3600.0, 1)
    10.5
    """
    positive("rain_m_per_s", rain_m_per_s)
    positive("soak_m_per_s", soak_m_per_s)
    positive("suction_m", suction_m)
    positive("filled_frac", filled_frac)
    if rain_m_per_s <= soak_m_per_s:
        return math.inf
    store_m = suction_m * filled_frac
    return soak_m_per_s * store_m / (rain_m_per_s * (rain_m_per_s - soak_m_per_s))


def horton_m(
    time_s: float, *, first_m_per_s: float, last_m_per_s: float, decay_per_s: float
) -> float:
    """Depth soaked in by Horton's law after a time under water.

    Parameters
    ----------
    time_s : float
        [s], 0 or more.
    first_m_per_s, last_m_per_s : float
        Rate at the start and at long last [m/s], 0 or more.
    decay_per_s : float
        How fast the one goes to the other [1/s], above 0.

    Returns
    -------
    float
        [m]

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``fc t + (f0 - fc)(1 - exp(-k t)) / k``.

    Source
    ------
    HORTON_1940.

    Examples
    --------
    >>> mm_per_h = 1.0 / 3.6e6
    >>> f = horton_m(3600.0, first_m_per_s=76 * mm_per_h, last_m_per_s=13 * mm_per_h,
    ...              decay_per_s=4.14 / 3600.0)
    >>> round(f * 1e3, 3)
    27.975
    """
    not_negative("time_s", time_s)
    not_negative("first_m_per_s", first_m_per_s)
    not_negative("last_m_per_s", last_m_per_s)
    positive("decay_per_s", decay_per_s)
    more_m = (first_m_per_s - last_m_per_s) * -math.expm1(-decay_per_s * time_s) / decay_per_s
    return last_m_per_s * time_s + more_m


def horton_rate_m_per_s(
    time_s: float, *, first_m_per_s: float, last_m_per_s: float, decay_per_s: float
) -> float:
    """Rate of soaking by Horton's law, ``fc + (f0 - fc) exp(-k t)`` [m/s]; as in `horton_m`.

    >>> mm_per_h = 1.0 / 3.6e6
    >>> f = horton_rate_m_per_s(3600.0, first_m_per_s=76 * mm_per_h, last_m_per_s=13 * mm_per_h,
    ...                         decay_per_s=4.14 / 3600.0)
    >>> round(f / mm_per_h, 3)
    14.003
    """
    not_negative("time_s", time_s)
    positive("decay_per_s", decay_per_s)
    return last_m_per_s + (first_m_per_s - last_m_per_s) * math.exp(-decay_per_s * time_s)


def philip_m(time_s: float, *, sorptivity: float, soak_m_per_s: float) -> float:
    """Depth soaked in by Philip's two terms, ``S sqrt(t) + K t`` [m].

    Source: PHILIP_1957.

    >>> mm, h = 1e-3, 3600.0
    >>> f = philip_m(h, sorptivity=50 * mm / h**0.5, soak_m_per_s=10 * mm / h)
    >>> round(f / mm, 6)
    60.0
    """
    not_negative("time_s", time_s)
    not_negative("sorptivity", sorptivity)
    not_negative("soak_m_per_s", soak_m_per_s)
    return sorptivity * math.sqrt(time_s) + soak_m_per_s * time_s


def soak_away_time_s(depth_m: float, *, soak_m_per_s: float) -> float:
    """Time for ponded water to soak away at a steady rate [s].

    >>> round(soak_away_time_s(0.150, soak_m_per_s=0.45 * 0.0254 / 3600.0) / 3600.0, 2)
    13.12
    """
    not_negative("depth_m", depth_m)
    positive("soak_m_per_s", soak_m_per_s)
    return depth_m / soak_m_per_s

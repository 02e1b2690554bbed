"""Frost: how long stored water takes to freeze, how thick ice grows, and heat lost by pipes."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import known, not_negative, positive, share

FloatArray = npt.NDArray[np.float64]

HEAT_J_PER_KG_K = 4186.0
MELTING_J_PER_KG = 334e3
ICE_W_PER_M_K = 2.22
ICE_KG_PER_M3 = 917.0
ICE_GROWS_FRAC = 0.09
"""Room that water gains when it freezes, over its own."""
BARE_W_PER_M2_K = 5.0
"""Heat a bare wall loses to still air; engineering choice, wind makes it two to four times more."""
_PIPE_FILM_W_PER_M2_K = 10.0
THAW_M_PER_DEGC_DAY = 5e-3
"""Ice that a degree above freezing melts in a day; engineering choice inside the range for snow."""
_SOIL_W_PER_M_K = 1.5
_SOIL_ICE_J_PER_M3 = 5e7


@cache
def insulation_kinds() -> dict[str, float]:
    """Conductivity of what tanks and pipes are wrapped in, dry, by name [W/(m K)].

    >>> insulation_kinds()["foam"]
    0.035
    """
    path = resources.files("roofspring.hydraulics").joinpath("tables/insulation.csv")
    return {
        row["kind"]: float(row["conductivity"])
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def wall_loss_w_per_k(area_m2: float, *, insulation_m: float = 0.0, kind: str = "foam") -> float:
    """Heat that a wetted box or tank loses for each degree to the air.

    Parameters
    ----------
    area_m2 : float
        All its outer surface [m2], above 0.
    insulation_m : float
        Thickness of insulation [m], 0 or more.
    kind : str
        A name in `insulation_kinds`.

    Returns
    -------
    float
        [W/K]

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A value that cannot be, a kind that is not in the table.

    Notes
    -----
    ``A / (1 / 5 + thickness / conductivity)``.

    Source
    ------
    INCROPERA_2007, plane wall with a film.

    Examples
    --------
    >>> round(wall_loss_w_per_k(1.0, insulation_m=0.05), 2)
    0.61
    """
    positive("area_m2", area_m2)
    not_negative("insulation_m", insulation_m)
    known("insulation", kind, insulation_kinds())
    return area_m2 / (1.0 / BARE_W_PER_M2_K + insulation_m / insulation_kinds()[kind])


def pipe_loss_w_per_k(
    diameter_m: float, *, length_m: float, insulation_m: float = 0.0, kind: str = "foam"
) -> float:
    """Heat that a full pipe loses for each degree to the air.

    Parameters
    ----------
    diameter_m, length_m : float
        Diameter and length [m], above 0; the wall is left out.
    insulation_m : float
        Thickness of insulation [m], 0 or more.
    kind : str
        A name in `insulation_kinds`.

    Returns
    -------
    float
        [W/K]

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A value that cannot be, a kind that is not in the table.

    Notes
    -----
    A ring of insulation with 10 W/(m2 K) outside.

    Source
    ------
    INCROPERA_2007, radial conduction with a film.

    Examples
    --------
    >>> round(pipe_loss_w_per_k(0.025, length_m=1.0, insulation_m=0.02), 3)
    0.207
    """
    positive("diameter_m", diameter_m)
    positive("length_m", length_m)
    not_negative("insulation_m", insulation_m)
    known("insulation", kind, insulation_kinds())
    outer_m = diameter_m + 2.0 * insulation_m
    ring = math.log(outer_m / diameter_m) / (2.0 * math.pi * insulation_kinds()[kind])
    film = 1.0 / (_PIPE_FILM_W_PER_M2_K * math.pi * outer_m)
    return length_m / (ring + film)


def cooling_time_s(
    mass_kg: float, *, loss_w_per_k: float, start_degc: float, air_degc: float
) -> float:
    """Time until still water is at the freezing point; infinite in air that is not below it.

    Parameters
    ----------
    mass_kg : float
        Water [kg], above 0.
    loss_w_per_k : float
        Heat lost for each degree [W/K], above 0.
    start_degc : float
        Temperature of the water [degrees C], 0 or more.
    air_degc : float
        Temperature of the air [degrees C].

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    All the water at one temperature: ``m c / UA ln((T0 - Ta) / (0 - Ta))``.

    Source
    ------
    INCROPERA_2007, lumped capacitance.

    Examples
    --------
    >>> t = cooling_time_s(1000.0, loss_w_per_k=28.0, start_degc=8.0, air_degc=-10.0)
    >>> round(t / 3600.0, 1)
    24.4
    """
    positive("mass_kg", mass_kg)
    positive("loss_w_per_k", loss_w_per_k)
    not_negative("start_degc", start_degc)
    if air_degc >= 0.0:
        return math.inf
    return mass_kg * HEAT_J_PER_KG_K / loss_w_per_k * math.log((start_degc - air_degc) / -air_degc)


def freezing_time_s(
    mass_kg: float, *, loss_w_per_k: float, air_degc: float, ice_frac: float
) -> float:
    """Time in which a share of water that stands at the freezing point turns to ice.

    Parameters
    ----------
    mass_kg, loss_w_per_k, air_degc
        As in `cooling_time_s`.
    ice_frac : float
        Share of the water that freezes [-], 0 to 1.

    Returns
    -------
    float
        Time [s]; infinite in air that is not below freezing.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value that cannot be.

    Notes
    -----
    ``x m L / (UA |Ta|)``: the ice itself does not insulate, so the time is short.

    Source
    ------
    INCROPERA_2007, latent heat.

    Examples
    --------
    >>> t = freezing_time_s(1000.0, loss_w_per_k=28.0, air_degc=-10.0, ice_frac=0.1)
    >>> round(t / 3600.0, 1)
    33.1
    """
    positive("mass_kg", mass_kg)
    positive("loss_w_per_k", loss_w_per_k)
    share("ice_frac", ice_frac)
    if air_degc >= 0.0:
        return math.inf
    return ice_frac * mass_kg * MELTING_J_PER_KG / (loss_w_per_k * -air_degc)


def ice_depth_m(frost_sum: float, *, factor: float = 1.0) -> float:
    """Ice that grows on open water.

    Parameters
    ----------
    frost_sum : float
        Sum of degrees below freezing over days [degC day], 0 or more.
    factor : float
        Share of it that is found in the field [-]: 0.5 to 0.9 under snow or cover; above 0.

    Returns
    -------
    float
        Thickness [m].

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    ``sqrt(2 k / (rho L) * time * degrees)``.

    Source
    ------
    STEFAN_1891, growth of ice; the numbers of ice from memory.

    Examples
    --------
    >>> round(ice_depth_m(50.0), 4)
    0.2503
    """
    not_negative("frost_sum", frost_sum)
    positive("factor", factor)
    heat_j_per_m2 = 2.0 * ICE_W_PER_M_K * SECONDS_PER_DAY * frost_sum
    return factor * math.sqrt(heat_j_per_m2 / (ICE_KG_PER_M3 * MELTING_J_PER_KG))


def ice_through_m(air_degc: FloatArray, *, factor: float = 1.0) -> FloatArray:
    """Thickness of ice on open water, day by day, growing in frost and melting in thaw.

    Parameters
    ----------
    air_degc : (n_days,) float64
        Mean temperature of each day [degrees C].
    factor : float
        As in `ice_depth_m`.

    Returns
    -------
    (n_days,) float64
        Thickness at the end of each day [m].

    Raises
    ------
    RangeError (DOM-002)
        The factor is not above 0.

    Notes
    -----
    In frost the square of the thickness grows by what `ice_depth_m` says; in thaw the ice loses
    5 mm for each degree and day.

    Source
    ------
    STEFAN_1891; the thaw is an engineering choice.

    Examples
    --------
    >>> import numpy as np
    >>> np.round(ice_through_m(np.array([-10.0, -10.0, 8.0])), 3)
    array([0.112, 0.158, 0.118])
    """
    square_per_degc = ice_depth_m(1.0, factor=factor) ** 2
    ice_m, depth = np.zeros(len(air_degc)), 0.0
    for i, degc in enumerate(air_degc.tolist()):
        if degc < 0.0:
            depth = math.sqrt(depth * depth - square_per_degc * degc)
        elif depth > 0.0:
            depth = max(0.0, depth - THAW_M_PER_DEGC_DAY * degc)
        ice_m[i] = depth
    return ice_m


def soil_frost_depth_m(frost_sum: float) -> float:
    """Depth to which frost goes into bare moist soil in one winter [m].

    Stefan's formula with soil of 1.5 W/(m K) that gives 50 MJ/m3 as it freezes: engineering
    choices, deep for grass or snow. The local code's frost depth goes before it.

    >>> round(soil_frost_depth_m(100.0), 2)
    0.72
    """
    not_negative("frost_sum", frost_sum)
    heat_j_per_m2 = 2.0 * _SOIL_W_PER_M_K * SECONDS_PER_DAY * frost_sum
    return math.sqrt(heat_j_per_m2 / _SOIL_ICE_J_PER_M3)


@dataclass(frozen=True)
class Freeze:
    """Still water through a series of air temperatures, for several vessels at once.

    Attributes
    ----------
    water_degc, ice_frac : (n_steps, n_vessels) float64
        At the end of each step.
    """

    water_degc: FloatArray
    ice_frac: FloatArray


def freeze_through(
    air_degc: FloatArray,
    *,
    step_s: float,
    mass_kg: FloatArray,
    loss_w_per_k: FloatArray,
    start_degc: float,
) -> Freeze:
    """Follow still water through cold and thaw.

    Parameters
    ----------
    air_degc : (n_steps,) float64
        Air temperature of each step [degrees C].
    step_s : float
        [s], above 0.
    mass_kg, loss_w_per_k : (n_vessels,) float64
        Water and heat loss of each vessel, above 0.
    start_degc : float
        Temperature of all the water at the start [degrees C], 0 or more.

    Returns
    -------
    Freeze

    Raises
    ------
    RangeError (DOM-002, DOM-007)
        A value that cannot be; masses and losses that do not match.

    Notes
    -----
    Each step is exact for steady air: water cools or warms toward the air as `cooling_time_s`,
    until it stands at 0; then heat makes or melts ice as `freezing_time_s`, and what is left of a
    step after the last ice warms the water. Nothing flows in.

    Source
    ------
    INCROPERA_2007, lumped capacitance and latent heat.

    Examples
    --------
    >>> import numpy as np
    >>> day = freeze_through(np.full(48, -10.0), step_s=3600.0, mass_kg=np.array([1000.0]),
    ...                      loss_w_per_k=np.array([28.0]), start_degc=8.0)
    >>> int(np.argmax(day.ice_frac[:, 0] > 0.0)), round(float(day.ice_frac[-1, 0]), 4)
    (24, 0.0712)
    """
    positive("step_s", step_s)
    not_negative("start_degc", start_degc)
    if mass_kg.shape != loss_w_per_k.shape:
        raise RangeError(
            Problem(
                "DOM-007",
                "masses and heat losses do not match",
                where="loss_w_per_k",
                got=f"{loss_w_per_k.shape} beside {mass_kg.shape}",
                allowed="one of each for every vessel",
                next="give both for every vessel",
            )
        )
    for name, values in (("mass_kg", mass_kg), ("loss_w_per_k", loss_w_per_k)):
        for value in values.tolist():
            positive(name, value)
    heat_j_per_k = mass_kg * HEAT_J_PER_KG_K
    rate_per_s = loss_w_per_k / heat_j_per_k
    kept = np.exp(-rate_per_s * step_s)
    melt_degc = MELTING_J_PER_KG / HEAT_J_PER_KG_K  # ice as degrees of the same water
    water, ice = np.full(mass_kg.shape, start_degc), np.zeros(mass_kg.shape)
    waters = np.empty((len(air_degc), len(mass_kg)))
    ices = np.empty_like(waters)
    is_icy = False
    for i, air in enumerate(air_degc.tolist()):
        if air >= 0.0 and not is_icy:
            water = air + (water - air) * kept
        elif air >= 0.0:
            melted = np.minimum(ice, rate_per_s * step_s * air / melt_degc)
            ice = ice - melted
            time = step_s - melted * melt_degc / (rate_per_s * air) if air > 0.0 else step_s
            warmed = air + (water - air) * np.exp(-rate_per_s * time)
            water = np.where(ice > 0.0, 0.0, warmed)
            is_icy = bool(ice.any())
        else:
            cooled = air + (water - air) * kept
            to_zero_s = np.log((water - air) / -air) / rate_per_s
            frozen = rate_per_s * np.maximum(0.0, step_s - to_zero_s) * -air / melt_degc
            ice = np.minimum(1.0, ice + frozen)
            water = np.maximum(0.0, cooled)
            is_icy = bool(ice.any())
        waters[i], ices[i] = water, ice
    return Freeze(waters, ices)

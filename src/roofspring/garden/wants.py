"""What gardens, animals and people want, and how much of it rain gives."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from roofspring.constants import US_GALLON_M3
from roofspring.errors.limits import not_negative, positive, share

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Want:
    """Water that one animal, one person or one house wants in a day."""

    what: str
    least_m3_per_day: float
    most_m3_per_day: float
    note: str
    source: str
    seen: str


@cache
def livestock_wants() -> dict[str, Want]:
    """What animals drink, by kind.

    >>> round(livestock_wants()["sheep or goat"].most_m3_per_day * 1e3, 1)
    7.6
    """
    return _wants("livestock.csv", "gal", US_GALLON_M3)


@cache
def household_wants() -> dict[str, Want]:
    """What people use, by what for.

    >>> household_wants()["cooking"].least_m3_per_day
    0.003
    """
    return _wants("household.csv", "l", 1e-3)


@cache
def house_wants() -> dict[str, Want]:
    """What a US house with mains, of 2.65 people, uses in a day, by what for.

    >>> round(sum(want.most_m3_per_day for want in house_wants().values()) * 1e3)
    521
    """
    path = resources.files("roofspring.garden").joinpath("tables/house.csv")
    return {
        row["what"]: Want(
            row["what"],
            float(row["gal_per_day"]) * US_GALLON_M3,
            float(row["gal_per_day"]) * US_GALLON_M3,
            row["note"],
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def _wants(file: str, unit: str, size_m3: float) -> dict[str, Want]:
    path = resources.files("roofspring.garden").joinpath(f"tables/{file}")
    return {
        row["what"]: Want(
            row["what"],
            float(row[f"least_{unit}_per_day"]) * size_m3,
            float(row[f"most_{unit}_per_day"]) * size_m3,
            row["note"],
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def effective_rain_scs_m(rain_m: float) -> float:
    """Rain of a month that crops can use, by the rule of the US soil service.

    Parameters
    ----------
    rain_m : float
        Rain of the month [m], 0 or more.

    Returns
    -------
    float
        [m]

    Raises
    ------
    RangeError (DOM-002)
        A negative rain.

    Notes
    -----
    ``P (125 - 0.2 P) / 125`` up to 250 mm, ``125 + 0.1 P`` above, in mm.

    Source
    ------
    USDA_SCS_1970, effective rainfall; from memory.

    Examples
    --------
    >>> round(effective_rain_scs_m(0.100) * 1e3), round(effective_rain_scs_m(0.300) * 1e3)
    (84, 155)
    """
    not_negative("rain_m", rain_m)
    rain_mm = rain_m * 1e3
    used = rain_mm * (125.0 - 0.2 * rain_mm) / 125.0 if rain_mm <= 250.0 else 125.0 + 0.1 * rain_mm
    return used / 1e3


def effective_rain_fao_m(rain_m: float) -> float:
    """Rain of a month that crops can use, by FAO's simple rule.

    Parameters
    ----------
    rain_m : float
        Rain of the month [m], 0 or more.

    Returns
    -------
    float
        [m], never below 0.

    Raises
    ------
    RangeError (DOM-002)
        A negative rain.

    Notes
    -----
    ``0.6 P - 10`` up to 75 mm, ``0.8 P - 25`` above, in mm.

    Source
    ------
    BROUWER_HEIBLOEM_1986; from memory.

    Examples
    --------
    >>> round(effective_rain_fao_m(0.060) * 1e3), round(effective_rain_fao_m(0.100) * 1e3)
    (26, 55)
    """
    not_negative("rain_m", rain_m)
    rain_mm = rain_m * 1e3
    used = 0.6 * rain_mm - 10.0 if rain_mm <= 75.0 else 0.8 * rain_mm - 25.0
    return max(0.0, used) / 1e3


def watering_m(
    crop_m_per_day: FloatArray,
    *,
    rain_m: FloatArray,
    root_store_m: float,
    reaches_frac: float,
) -> FloatArray:
    """Depth to water each day so that the roots never want.

    Parameters
    ----------
    crop_m_per_day : (n_days,) float64
        What the crop evaporates [m/day]; 0 where nothing grows.
    rain_m : (n_days,) float64
        Rain of each day [m].
    root_store_m : float
        Water that the root zone holds within easy reach [m], 0 or more.
    reaches_frac : float
        Share of the water given that the roots get [-], above 0.

    Returns
    -------
    (n_days,) float64
        [m]

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A store below 0, a share not above 0.

    Notes
    -----
    A balance of the root zone: rain fills its store, what does not fit is lost; the crop draws it
    down, and what the store cannot give is watered that day. The store begins full.

    Source
    ------
    FAO_56_1998, chapter 8, soil water balance, with watering to need.

    Examples
    --------
    >>> import numpy as np
    >>> watering_m(np.full(3, 0.005), rain_m=np.array([0.0, 0.002, 0.0]), root_store_m=0.006,
    ...            reaches_frac=1.0)
    array([0.   , 0.002, 0.005])
    """
    not_negative("root_store_m", root_store_m)
    positive("reaches_frac", reaches_frac)
    share("reaches_frac", reaches_frac)
    given, held = np.zeros(len(rain_m)), root_store_m
    for i, (out, fell) in enumerate(zip(crop_m_per_day.tolist(), rain_m.tolist(), strict=True)):
        held = held + fell - out
        given[i] = max(0.0, -held)
        held = min(max(held, 0.0), root_store_m)
    return given / reaches_frac

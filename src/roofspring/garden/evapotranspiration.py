"""Reference evapotranspiration of grass: Penman and Monteith, and Hargreaves, as FAO-56 has them.

The steps work on single values and on arrays. Radiation is in MJ/(m2 day) and vapour pressure in
kPa, the fixed units of the source; depths of water are in metres.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, positive

FloatArray = npt.NDArray[np.float64]
Values = TypeVar("Values", float, FloatArray)

SOLAR_MJ_PER_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ = 4.903e-9
"""MJ/(K4 m2 day), as FAO-56 prints it."""
ALBEDO_FRAC = 0.23
MM_PER_MJ = 0.408
"""Millimetres of water that a MJ/m2 evaporates."""
RANGE_INLAND, RANGE_COAST = 0.16, 0.19
"""Solar radiation from the range of temperature, per root of a degree."""
USUAL_WIND_M_PER_S = 2.0
MOST_LATITUDE_DEG = 66.0
"""Nearer the poles the sun does not set or rise every day, and the formulas fail."""


def _sun(latitude_deg: float, day_of_year: Values) -> tuple[Values, Values, Values, float]:
    """Sunset angle, declination and inverse relative distance of the sun, and the latitude."""
    finite("latitude_deg", latitude_deg)
    if abs(latitude_deg) > MOST_LATITUDE_DEG:
        raise RangeError(
            Problem(
                "DOM-008",
                "the sun formulas do not hold so near a pole",
                where="latitude_deg",
                got=f"{latitude_deg:g}°",
                allowed=f"{-MOST_LATITUDE_DEG:g}° to {MOST_LATITUDE_DEG:g}°",
                next="give the depth of watering by month instead",
            )
        )
    phi = math.radians(latitude_deg)
    turn = 2.0 * np.pi * day_of_year / 365.0
    declination = 0.409 * np.sin(turn - 1.39)
    sunset = np.arccos(-math.tan(phi) * np.tan(declination))
    return sunset, declination, 1.0 + 0.033 * np.cos(turn), phi


def extraterrestrial_mj_per_m2_day(latitude_deg: float, *, day_of_year: Values) -> Values:
    """Radiation at the top of the air.

    Parameters
    ----------
    latitude_deg : float
        North positive, -66 to 66 [deg].
    day_of_year : float or array
        1 for 1 January.

    Returns
    -------
    float or array
        [MJ/(m2 day)]

    Raises
    ------
    RangeError (DOM-002, DOM-008)
        A latitude that is no number, or too near a pole.

    Notes
    -----
    Equations 21 to 25.

    Source
    ------
    FAO_56_1998, equation 21.

    Examples
    --------
    >>> round(float(extraterrestrial_mj_per_m2_day(-20.0, day_of_year=246.0)), 1)
    32.2
    """
    sunset, declination, distance, phi = _sun(latitude_deg, day_of_year)
    scale = 24.0 * 60.0 / math.pi * SOLAR_MJ_PER_M2_MIN
    along = sunset * math.sin(phi) * np.sin(declination)
    across = math.cos(phi) * np.cos(declination) * np.sin(sunset)
    value: Values = scale * distance * (along + across)
    return value


def daylight_hours(latitude_deg: float, *, day_of_year: Values) -> Values:
    """Hours from sunrise to sunset, equation 34 of FAO_56_1998.

    >>> round(float(daylight_hours(-20.0, day_of_year=246.0)), 1)
    11.7
    """
    return 24.0 / math.pi * _sun(latitude_deg, day_of_year)[0]


def saturation_kpa(air_degc: Values) -> Values:
    """Saturation vapour pressure over water [kPa], equation 11 of FAO_56_1998.

    >>> round(float(saturation_kpa(24.5)), 3)
    3.075
    """
    value: Values = 0.6108 * np.exp(17.27 * air_degc / (air_degc + 237.3))
    return value


def slope_kpa_per_degc(air_degc: Values) -> Values:
    """Slope of the saturation curve [kPa/degC], equation 13 of FAO_56_1998.

    >>> round(float(slope_kpa_per_degc(30.2)), 3)
    0.246
    """
    return 4098.0 * saturation_kpa(air_degc) / (air_degc + 237.3) ** 2


def pressure_kpa(elevation_m: float) -> float:
    """Air pressure at a height above the sea [kPa], equation 7 of FAO_56_1998.

    >>> round(pressure_kpa(1800.0), 1)
    81.8
    """
    finite("elevation_m", elevation_m)
    return float(101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26)


def psychrometric_kpa_per_degc(elevation_m: float) -> float:
    """The psychrometric constant at a height [kPa/degC], equation 8 of FAO_56_1998.

    >>> round(psychrometric_kpa_per_degc(1800.0), 3)
    0.054
    """
    return 0.665e-3 * pressure_kpa(elevation_m)


def wind_at_two_m_per_s(wind_m_per_s: float, *, height_m: float) -> float:
    """Wind at 2 m from wind measured at another height [m/s], equation 47 of FAO_56_1998.

    >>> round(wind_at_two_m_per_s(3.2, height_m=10.0), 1)
    2.4
    """
    positive("height_m", height_m)
    return wind_m_per_s * 4.87 / math.log(67.8 * height_m - 5.42)


def solar_from_sunshine_mj_per_m2_day(
    top_mj_per_m2_day: Values, *, sun_hours: Values, day_hours: Values
) -> Values:
    """Solar radiation from hours of bright sun, equation 35 of FAO_56_1998.

    >>> round(float(solar_from_sunshine_mj_per_m2_day(25.1, sun_hours=7.1, day_hours=10.9)), 1)
    14.5
    """
    return (0.25 + 0.50 * sun_hours / day_hours) * top_mj_per_m2_day


def solar_from_range_mj_per_m2_day(
    top_mj_per_m2_day: Values,
    *,
    tmin_degc: Values,
    tmax_degc: Values,
    range_factor: float = RANGE_INLAND,
) -> Values:
    """Solar radiation from the range of temperature, equation 50 of FAO_56_1998.

    ``range_factor`` is 0.16 inland and 0.19 on a coast.

    >>> round(float(solar_from_range_mj_per_m2_day(40.6, tmin_degc=14.8, tmax_degc=26.6)), 1)
    22.3
    """
    span = np.sqrt(np.maximum(tmax_degc - tmin_degc, 0.0))
    value: Values = range_factor * span * top_mj_per_m2_day
    return value


def clear_sky_mj_per_m2_day(top_mj_per_m2_day: Values, *, elevation_m: float) -> Values:
    """Solar radiation of a day without a cloud, equation 37 of FAO_56_1998.

    >>> round(float(clear_sky_mj_per_m2_day(25.1, elevation_m=0.0)), 1)
    18.8
    """
    return (0.75 + 2e-5 * elevation_m) * top_mj_per_m2_day


def net_radiation_mj_per_m2_day(
    solar_mj_per_m2_day: Values,
    *,
    clear_mj_per_m2_day: Values,
    tmin_degc: Values,
    tmax_degc: Values,
    vapour_kpa: Values,
) -> Values:
    """What grass keeps of the sun, less what it gives back to the sky.

    Parameters
    ----------
    solar_mj_per_m2_day, clear_mj_per_m2_day : float or array
        Radiation of the sun, and that of a clear day [MJ/(m2 day)].
    tmin_degc, tmax_degc : float or array
        Extremes of the air of the day [degrees C].
    vapour_kpa : float or array
        Actual vapour pressure [kPa].

    Returns
    -------
    float or array
        [MJ/(m2 day)]

    Raises
    ------
    Nothing.

    Notes
    -----
    Equations 38 to 40; the share of a clear sky counts as 1 at most.

    Source
    ------
    FAO_56_1998, equations 38 to 40.

    Examples
    --------
    >>> rn = net_radiation_mj_per_m2_day(14.5, clear_mj_per_m2_day=18.8, tmin_degc=19.1,
    ...                                  tmax_degc=25.1, vapour_kpa=2.1)
    >>> round(float(rn), 1)
    7.6
    """
    clear_frac = np.minimum(1.0, solar_mj_per_m2_day / clear_mj_per_m2_day)
    warm = ((tmax_degc + 273.16) ** 4 + (tmin_degc + 273.16) ** 4) / 2.0
    sky = STEFAN_BOLTZMANN_MJ * warm * (0.34 - 0.14 * np.sqrt(vapour_kpa))
    value: Values = (1.0 - ALBEDO_FRAC) * solar_mj_per_m2_day - sky * (1.35 * clear_frac - 0.35)
    return value


def penman_monteith_m_per_day(
    net_mj_per_m2_day: Values,
    *,
    ground_mj_per_m2_day: Values,
    tmin_degc: Values,
    tmax_degc: Values,
    vapour_kpa: Values,
    wind_m_per_s: Values,
    elevation_m: float,
) -> Values:
    """Reference evapotranspiration by Penman and Monteith.

    Parameters
    ----------
    net_mj_per_m2_day, ground_mj_per_m2_day : float or array
        Net radiation, and heat that goes into the ground [MJ/(m2 day)].
    tmin_degc, tmax_degc : float or array
        Extremes of the air of the day [degrees C].
    vapour_kpa : float or array
        Actual vapour pressure [kPa].
    wind_m_per_s : float or array
        Wind at 2 m [m/s].
    elevation_m : float
        Height above the sea [m].

    Returns
    -------
    float or array
        [m/day]

    Raises
    ------
    RangeError (DOM-002)
        An elevation that is no number.

    Notes
    -----
    Equation 6, with the mean of the two temperatures, and saturation as the mean over both.

    Source
    ------
    FAO_56_1998, equation 6.

    Examples
    --------
    >>> et = penman_monteith_m_per_day(14.33, ground_mj_per_m2_day=0.14, tmin_degc=25.6,
    ...                                tmax_degc=34.8, vapour_kpa=2.85, wind_m_per_s=2.0,
    ...                                elevation_m=2.0)
    >>> round(float(et) * 1e3, 2)
    5.72
    """
    mean = (tmin_degc + tmax_degc) / 2.0
    slope = slope_kpa_per_degc(mean)
    gamma = psychrometric_kpa_per_degc(elevation_m)
    lack = (saturation_kpa(tmin_degc) + saturation_kpa(tmax_degc)) / 2.0 - vapour_kpa
    sun = MM_PER_MJ * slope * (net_mj_per_m2_day - ground_mj_per_m2_day)
    air = gamma * 900.0 / (mean + 273.0) * wind_m_per_s * lack
    return (sun + air) / (slope + gamma * (1.0 + 0.34 * wind_m_per_s)) / 1e3


def hargreaves_m_per_day(
    top_mj_per_m2_day: Values,
    *,
    tmin_degc: Values,
    tmax_degc: Values,
    tmean_degc: Values | None = None,
) -> Values:
    """Reference evapotranspiration by Hargreaves, from temperatures alone.

    Parameters
    ----------
    top_mj_per_m2_day : float or array
        From `extraterrestrial_mj_per_m2_day` [MJ/(m2 day)].
    tmin_degc, tmax_degc : float or array
        Extremes of the air of the day [degrees C].
    tmean_degc : float or array, optional
        Mean [degrees C]; that of the extremes when not given.

    Returns
    -------
    float or array
        [m/day], never below 0.

    Raises
    ------
    Nothing.

    Notes
    -----
    ``0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra``, Ra as a depth of water. Too low in strong wind,
    too high where the air is damp: within a fifth or so over a week, not on a single day.

    Source
    ------
    FAO_56_1998, equation 52.

    Examples
    --------
    >>> round(float(hargreaves_m_per_day(40.6, tmin_degc=14.8, tmax_degc=26.6)) * 1e3, 1)
    5.0
    """
    mean = (tmin_degc + tmax_degc) / 2.0 if tmean_degc is None else tmean_degc
    span = np.sqrt(np.maximum(tmax_degc - tmin_degc, 0.0))
    depth_mm = 0.0023 * (mean + 17.8) * span * MM_PER_MJ * top_mj_per_m2_day
    value: Values = np.maximum(depth_mm, 0.0) / 1e3
    return value


def reference_from_temperatures_m_per_day(
    *,
    tmin_degc: Values,
    tmax_degc: Values,
    latitude_deg: float,
    elevation_m: float,
    day_of_year: Values,
    wind_m_per_s: float = USUAL_WIND_M_PER_S,
    range_factor: float = RANGE_INLAND,
) -> Values:
    """Penman and Monteith where only temperatures are known, the rest estimated.

    Parameters
    ----------
    tmin_degc, tmax_degc : float or array
        Extremes of the air of the day [degrees C].
    latitude_deg : float
        [deg], -66 to 66.
    elevation_m : float
        [m]
    day_of_year : float or array
    wind_m_per_s : float
        Wind at 2 m [m/s]; 2 where nobody knows.
    range_factor : float
        As in `solar_from_range_mj_per_m2_day` [-].

    Returns
    -------
    float or array
        [m/day], never below 0.

    Raises
    ------
    RangeError (DOM-002, DOM-008)
        As in `extraterrestrial_mj_per_m2_day`.

    Notes
    -----
    Dew point at the lowest temperature, radiation from the range and not over a clear sky's, no
    heat into the ground.

    Source
    ------
    FAO_56_1998, equations 48 and 50, and example 20.

    Examples
    --------
    >>> et = reference_from_temperatures_m_per_day(tmin_degc=14.8, tmax_degc=26.6,
    ...     latitude_deg=45.72, elevation_m=200.0, day_of_year=196.0)
    >>> round(float(et) * 1e3, 1)
    4.6
    """
    top = extraterrestrial_mj_per_m2_day(latitude_deg, day_of_year=day_of_year)
    clear = clear_sky_mj_per_m2_day(top, elevation_m=elevation_m)
    solar = np.minimum(
        clear,
        solar_from_range_mj_per_m2_day(
            top, tmin_degc=tmin_degc, tmax_degc=tmax_degc, range_factor=range_factor
        ),
    )
    vapour = saturation_kpa(tmin_degc)
    net = net_radiation_mj_per_m2_day(
        solar,
        clear_mj_per_m2_day=clear,
        tmin_degc=tmin_degc,
        tmax_degc=tmax_degc,
        vapour_kpa=vapour,
    )
    depth = penman_monteith_m_per_day(
        net,
        ground_mj_per_m2_day=0.0 * net,
        tmin_degc=tmin_degc,
        tmax_degc=tmax_degc,
        vapour_kpa=vapour,
        wind_m_per_s=wind_m_per_s + 0.0 * net,
        elevation_m=elevation_m,
    )
    value: Values = np.maximum(depth, 0.0)
    return value

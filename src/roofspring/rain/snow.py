"""Snow on the roof: what falls as snow lies, and reaches the gutter when it melts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RangeError, RecordError
from roofspring.kernels import snow as kernels
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import plural

ALL_SNOW_DEGC, ALL_RAIN_DEGC = -1.0, 3.0
"""Daily mean at or below which all is snow, and at or above which all is rain. Source:
WMO_168 (linear split, from memory)."""

MELT_M_PER_DEGC_DAY = 0.004
"""Degree-day factor, the middle of the 2 to 6 mm that are published. Source: WMO_168 (memory)."""

MELT_FROM_DEGC = 0.0
MOST_MELT_M_PER_DEGC_DAY = 0.020


@dataclass(frozen=True)
class RoofSnow:
    """Water of each day by where it went, in metres over the plan of the roof.

    Attributes
    ----------
    water_m : (n,) float64
        Reaches the gutter: rain, and what melts less what is lost.
    rain_m, snow_m : (n,) float64
        Fallen as rain and as snow (as water).
    melt_m, lost_m : (n,) float64
        Melted, slid or taken off; and that part of it that the gutter does not get.
    lying_m : (n,) float64
        Snow on the roof at the end of the day, as water.
    start_m : float
        Snow on the roof before the first day, as water.
    """

    water_m: FloatArray
    rain_m: FloatArray
    snow_m: FloatArray
    melt_m: FloatArray
    lost_m: FloatArray
    lying_m: FloatArray
    start_m: float

    @property
    def residual_m(self) -> float:
        """What fell and lay, less what ran, was lost and lies [m]: rounding only."""
        fell = float(np.sum(self.rain_m) + np.sum(self.snow_m)) + self.start_m
        left = float(self.lying_m[-1]) if len(self.lying_m) else self.start_m
        return fell - float(np.sum(self.water_m) + np.sum(self.lost_m)) - left


def snow_share_frac(
    tmin_degc: FloatArray,
    tmax_degc: FloatArray,
    *,
    all_snow_degc: float = ALL_SNOW_DEGC,
    all_rain_degc: float = ALL_RAIN_DEGC,
) -> FloatArray:
    """Share of the day's precipitation that falls as snow.

    Parameters
    ----------
    tmin_degc, tmax_degc : (n,) float64
        Daily extremes of the air [degrees C].
    all_snow_degc, all_rain_degc : float
        Daily mean at or below which all is snow, and at or above which all is rain [degrees C].

    Returns
    -------
    (n,) float64
        0 to 1 [-].

    Raises
    ------
    RangeError
        REC-028: the first temperature is not below the second.

    Notes
    -----
    Linear in the mean of the extremes.

    Source
    ------
    WMO_168, linear split between two temperatures (from memory).

    Examples
    --------
    >>> snow_share_frac(np.array([-6.0, -2.0, 2.0]), np.array([-2.0, 4.0, 6.0])).tolist()
    [1.0, 0.5, 0.0]
    """
    if not all_snow_degc < all_rain_degc:
        raise _outside(
            "all_snow_degc", f"{all_snow_degc:g}", f"below all_rain_degc, {all_rain_degc:g}"
        )
    mean = (np.asarray(tmin_degc) + np.asarray(tmax_degc)) / 2.0
    share: FloatArray = np.clip((all_rain_degc - mean) / (all_rain_degc - all_snow_degc), 0.0, 1.0)
    return share


def snow_on_roof(
    rain_m: FloatArray,
    *,
    tmin_degc: FloatArray,
    tmax_degc: FloatArray,
    melt_m_per_degc_day: float = MELT_M_PER_DEGC_DAY,
    melt_from_degc: float = MELT_FROM_DEGC,
    all_snow_degc: float = ALL_SNOW_DEGC,
    all_rain_degc: float = ALL_RAIN_DEGC,
    lost_frac: float = 0.0,
    start_m: float = 0.0,
) -> RoofSnow:
    """Split precipitation into rain and snow, let snow lie and melt.

    Parameters
    ----------
    rain_m : (n,) float64
        Rain and melted snow fallen in each day [m], 0 or more, as a gauge gives it.
    tmin_degc, tmax_degc : (n,) float64
        Daily extremes of the air [degrees C].
    melt_m_per_degc_day : float
        Melt for each degree of the daily mean above ``melt_from_degc`` [m per degree and day],
        0 to 0.020; published values are 0.002 to 0.006.
    melt_from_degc : float
        Mean temperature at which melt begins [degrees C].
    all_snow_degc, all_rain_degc : float
        As in `snow_share_frac` [degrees C].
    lost_frac : float
        Share of what leaves the roof that slides over the gutter or is held by its ice [-], 0 to 1.
    start_m : float
        Snow on the roof before the first day, as water [m], 0 or more.

    Returns
    -------
    RoofSnow

    Raises
    ------
    RangeError
        REC-028: a value outside its limits, or arrays that differ in length or are not finite.

    Notes
    -----
    Each day: snow falls, then ``melt = min(lying, melt_m_per_degc_day * max(0, mean -
    melt_from_degc))``. Lost water is counted on the day on which it leaves the roof. Rain on snow
    runs off at once. Warmth from the house, wind and evaporation of snow are left out. Sums close
    to rounding (`RoofSnow.residual_m`). By days and without a plan; the simulation of a plan holds
    snow roof by roof, step by step, by the same shares and the same melt.

    Source
    ------
    WMO_168, degree-day method and linear split (from memory); lost share: engineering choice.

    Examples
    --------
    >>> day = snow_on_roof(np.array([0.010, 0.0, 0.0]), tmin_degc=np.array([-5.0, -1.0, 2.0]),
    ...                    tmax_degc=np.array([-1.0, 3.0, 6.0]), lost_frac=0.25)
    >>> day.water_m.round(4).tolist(), day.lying_m.round(4).tolist()
    ([0.0, 0.003, 0.0045], [0.01, 0.006, 0.0])
    """
    arrays = [np.ascontiguousarray(x, dtype=np.float64) for x in (rain_m, tmin_degc, tmax_degc)]
    rain, low, high = arrays
    if rain.ndim != 1 or not rain.shape == low.shape == high.shape:
        raise _outside("arrays", ", ".join(str(x.shape) for x in arrays), "three of one length")
    if not all(np.isfinite(x).all() for x in arrays) or (rain < 0.0).any():
        raise _outside("arrays", "missing or negative values", "finite values, rain 0 or more")
    for name, value, most in (
        ("melt_m_per_degc_day", melt_m_per_degc_day, MOST_MELT_M_PER_DEGC_DAY),
        ("lost_frac", lost_frac, 1.0),
        ("start_m", start_m, 10.0),
    ):
        if not 0.0 <= value <= most:
            raise _outside(name, f"{value:g}", f"0 to {most:g}")
    if not np.isfinite(melt_from_degc):
        raise _outside("melt_from_degc", f"{melt_from_degc:g}", "a finite value")
    share = snow_share_frac(low, high, all_snow_degc=all_snow_degc, all_rain_degc=all_rain_degc)
    snow = rain * share
    thaw = melt_m_per_degc_day * np.maximum((low + high) / 2.0 - melt_from_degc, 0.0)
    melt, lying = np.empty_like(rain), np.empty_like(rain)
    kernels.lie_and_melt(snow, thaw, float(start_m), melt, lying)
    lost = melt * lost_frac
    wet = rain - snow
    return RoofSnow(wet + (melt - lost), wet, snow, melt, lost, lying, float(start_m))


def temperatures(record: RainRecord, *, what: str) -> tuple[FloatArray, FloatArray]:
    """Both extremes of every day.

    Raises
    ------
    RecordError (REC-027)
        There are none, or some are missing.
    """
    tmin, tmax = record.tmin_degc, record.tmax_degc
    if tmin is None or tmax is None or not np.isfinite(tmin + tmax).all():
        missing = (
            "no temperatures"
            if tmin is None or tmax is None
            else f"{plural(int((~np.isfinite(tmin + tmax)).sum()), 'day')} without"
        )
        raise RecordError(
            Problem(
                "REC-027",
                f"{what} needs both temperatures of every day",
                record.source,
                got=missing,
                allowed="a least and a greatest temperature on every day",
                next="read a record with temperatures and fill its gaps first",
            )
        )
    return tmin, tmax


def _outside(where: str, got: str, allowed: str) -> RangeError:
    return RangeError(
        Problem(
            "REC-028",
            "a value for snow or the catch of a gauge is outside its limits",
            where=where,
            got=got,
            allowed=allowed,
            next="check the value and its unit; inside the program depths are in metres",
        )
    )

"""Gaps in the temperatures of a record."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.rain.gaps._base import runs
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

_MAX_LINEAR_DAYS = 5
_MIN_TEMP_FRAC = 0.5
_WINDOW_DAYS = 15


def fill_temps(record: RainRecord) -> RainRecord:
    """Both temperatures without NaN, or neither."""
    if record.tmin_degc is None and record.tmax_degc is None:
        return record
    if record.tmin_degc is None or record.tmax_degc is None:
        return replace(record, tmin_degc=None, tmax_degc=None)
    missing = ~np.isfinite(record.tmin_degc) | ~np.isfinite(record.tmax_degc)
    if not missing.any():
        return record
    tmin = _fill_series(record.tmin_degc, record)
    tmax = _fill_series(record.tmax_degc, record)
    if tmin is None or tmax is None:
        return replace(record, tmin_degc=None, tmax_degc=None).with_findings(
            Finding(
                "REC-112",
                "caution",
                "too few temperatures to use; they were left out",
                got=f"{int(missing.sum())} of {plural(len(missing), 'day')} missing",
                limit=f"{_MIN_TEMP_FRAC:.0%} of the days, in every season",
                source=ENGINEERING_CHOICE,
                next="find a station with temperatures: frost and warmth cannot be judged without",
            )
        )
    return replace(record, tmin_degc=tmin, tmax_degc=np.maximum(tmax, tmin)).with_findings(
        Finding(
            "REC-112",
            "note" if missing.mean() <= 0.05 else "caution",
            "missing temperatures were filled: up to 5 days by a straight line, "
            "longer by the mean of the season",
            got=f"{int(missing.sum())} of {plural(len(missing), 'day')}",
            source=ENGINEERING_CHOICE,
            next="do not read a frost date from a filled day",
        )
    )


def _fill_series(values: FloatArray, record: RainRecord) -> FloatArray | None:
    ok = np.isfinite(values)
    if ok.mean() < _MIN_TEMP_FRAC:
        return None
    out, index = values.copy(), np.arange(len(values))
    of_year = (record.days - record.days.astype("datetime64[Y]")).astype(np.int64)
    season = _season_mean(of_year[ok], values[ok])
    for a, b in runs(~ok, longest=len(values)):
        if b - a <= _MAX_LINEAR_DAYS and a > 0 and b < len(values):
            out[a:b] = np.interp(index[a:b], index[[a - 1, b]], values[[a - 1, b]])
            continue
        out[a:b] = season[of_year[a:b]]
    return out if np.isfinite(out).all() else None


def _season_mean(of_year: npt.NDArray[np.int64], values: FloatArray) -> FloatArray:
    """Mean of the values within the window about each of 366 days of the year; NaN without any."""
    wide = np.ones(2 * _WINDOW_DAYS + 1)

    def around(per_day: npt.NDArray[np.generic]) -> FloatArray:
        wrapped = np.pad(per_day.astype(np.float64), _WINDOW_DAYS, mode="wrap")
        return np.asarray(np.convolve(wrapped, wide, "valid"), dtype=np.float64)

    total = around(np.bincount(of_year, values, 366))
    count = around(np.bincount(of_year, minlength=366))
    mean: FloatArray = np.divide(total, count, out=np.full(366, np.nan), where=count > 0.5)
    return mean

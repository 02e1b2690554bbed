"""Records for the tests of rain within the day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rain.files import DATA
from roofspring.rain import Kept, RainRecord, read


def record_of(
    depth_m: list[float] | np.ndarray[tuple[int], np.dtype[np.float64]], step_s: float = 86_400.0
) -> RainRecord:
    """Measured steps from 2001 on."""
    depth = np.array(depth_m, dtype=np.float64)
    return RainRecord(
        start=np.datetime64("2001-01-01"),
        step_s=step_s,
        depth_m=depth,
        kept=np.full(len(depth), Kept.MEASURED, dtype=np.uint8),
        name="test",
        source="test",
    )


def new_york() -> RainRecord:
    """A year of measured hours."""
    return read(DATA / "new_york_jfk_hourly_2013.csv", seed=4)


def days_of(hours: RainRecord) -> RainRecord:
    """The same record as days."""
    return replace(
        hours,
        step_s=86_400.0,
        depth_m=hours.daily_depth_m,
        kept=np.zeros(hours.days_count, dtype=np.uint8),
    )

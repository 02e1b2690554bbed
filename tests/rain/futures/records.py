"""Real records, read once."""

from __future__ import annotations

from functools import cache

from rain.files import DATA
from roofspring.rain import RainRecord, read

NAMES = {
    "brussels": "brussels_daily_1976_2005",
    "cordoba": "cordoba_daily_1991_2021",
    "iowa": "iowa_daily_1990_2020",
    "seattle": "seattle_daily_2012_2015",
}


@cache
def record(name: str) -> RainRecord:
    return read(DATA / f"{NAMES[name]}.csv")

"""Rain records: reading, judging, filling, inventing, writing and summing them up."""

from roofspring.rain.describe import RainSummary, describe
from roofspring.rain.gaps import FILL_METHODS, fill_gaps
from roofspring.rain.generate import GENERATORS, MonthlyClimate, generate
from roofspring.rain.quality import assess
from roofspring.rain.readers import READERS, Reader, load
from roofspring.rain.reading import read
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.within_day import WITHIN_DAY, Block, hour_weights, spread_days
from roofspring.rain.write import csv_lines, write_csv

__all__ = [
    "FILL_METHODS",
    "GENERATORS",
    "READERS",
    "WITHIN_DAY",
    "Block",
    "Kept",
    "MonthlyClimate",
    "RainRecord",
    "RainSummary",
    "Reader",
    "assess",
    "csv_lines",
    "describe",
    "fill_gaps",
    "generate",
    "hour_weights",
    "load",
    "read",
    "spread_days",
    "write_csv",
]

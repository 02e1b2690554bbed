"""Rain records: reading, judging, filling, inventing, writing and summing them up."""

from roofspring.rain.describe import RainSummary, describe
from roofspring.rain.futures.climate import MonthlyClimate
from roofspring.rain.futures.generate import GENERATORS, generate
from roofspring.rain.gaps import FILL_METHODS, fill_gaps
from roofspring.rain.quality import assess
from roofspring.rain.readers import READERS, Reader, load
from roofspring.rain.reading import read
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.within_day import WITHIN_DAY, Block, disaggregate
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
    "disaggregate",
    "fill_gaps",
    "generate",
    "load",
    "read",
    "write_csv",
]

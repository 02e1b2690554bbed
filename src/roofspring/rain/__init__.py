"""Rain records: reading, judging, filling, inventing, writing and summing them up."""

from roofspring.rain.completeness import completeness
from roofspring.rain.describe import (
    RainSummary,
    describe,
    dry_spells,
    longest_dry_by_year,
    month_spread,
    year_days,
)
from roofspring.rain.futures.climate import MonthlyClimate
from roofspring.rain.futures.generate import GENERATORS, generate
from roofspring.rain.gaps import FILL_METHODS, Neighbour, fill_gaps
from roofspring.rain.quality import QualityReport, assess, quality_report
from roofspring.rain.readers import READERS, Reader, load
from roofspring.rain.readers._stamps import Stamp
from roofspring.rain.reading import read
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.snow import snow_on_roof
from roofspring.rain.undercatch import with_undercatch
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
    "Neighbour",
    "QualityReport",
    "RainRecord",
    "RainSummary",
    "Reader",
    "Stamp",
    "assess",
    "completeness",
    "csv_lines",
    "describe",
    "disaggregate",
    "dry_spells",
    "fill_gaps",
    "generate",
    "load",
    "longest_dry_by_year",
    "month_spread",
    "quality_report",
    "read",
    "snow_on_roof",
    "with_undercatch",
    "write_csv",
    "year_days",
]

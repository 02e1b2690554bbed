"""Quantities with units at the border: the only package that imports pint."""

from roofspring.units.parse import LONGEST_COUNT, example, parse
from roofspring.units.show import (
    MONTH_NAMES,
    UNIT_SETS,
    UnitSet,
    show,
    temp_text,
    unbroken,
    written,
)
from roofspring.units.suffixes import SUFFIXES

__all__ = [
    "LONGEST_COUNT",
    "MONTH_NAMES",
    "SUFFIXES",
    "UNIT_SETS",
    "UnitSet",
    "example",
    "parse",
    "show",
    "temp_text",
    "unbroken",
    "written",
]

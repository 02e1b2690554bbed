"""Numbers of rain in words."""

from __future__ import annotations

from roofspring.rain.cloudburst import Kind
from roofspring.rain.words import depth, plural
from roofspring.units import UnitSet

__all__ = ["depth", "often", "plural", "span", "step_words", "temperature"]


def span(seconds: float) -> str:
    """A duration in words."""
    for size, name in ((86400.0, "day"), (3600.0, "hour"), (60.0, "minute")):
        if seconds >= size * (1.0 - 1e-9):
            return plural(seconds / size, name)
    return plural(seconds, "second")


def often(return_years: float, kind: Kind) -> str:
    """How rare something is."""
    if kind == "AEP":
        return f"In 1 year of {return_years:g}"
    return f"Once in {plural(return_years, 'year')} on average"


def step_words(step_s: float) -> str:
    """The step of a record as an adjective."""
    known = {86400.0: "daily", 3600.0: "hourly"}
    return known.get(step_s, f"{step_s / 60.0:g}-minute")


def temperature(value_degc: float, units: UnitSet) -> str:
    """A temperature of the air."""
    if units == "us":
        return f"{1.8 * value_degc + 32.0:.0f} °F".replace("-", "−")
    return f"{value_degc:.0f} °C".replace("-", "−")

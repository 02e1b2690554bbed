"""Numbers of rain in words."""

from __future__ import annotations

from roofspring.rain.cloudburst import Kind
from roofspring.units import UNIT_SETS, UnitSet, show


def depth(value_m: float, units: UnitSet) -> str:
    """A depth of rain with about three digits and its unit."""
    size = UNIT_SETS[units]["rain"][1]
    if abs(value_m) < 1e-9:
        return show(0.0, "rain", units=units, digits=0)
    digits = 0 if units == "metric" else 1
    if value_m / size < 9.95:
        digits += 1
    return show(value_m, "rain", units=units, digits=digits)


def span(seconds: float) -> str:
    """A duration in words."""
    for size, name in ((86400.0, "day"), (3600.0, "hour"), (60.0, "minute")):
        if seconds >= size * (1.0 - 1e-9):
            return plural(seconds / size, name)
    return plural(seconds, "second")


def plural(number: float, name: str) -> str:
    """A number with its noun."""
    text = f"{number:,.0f}" if number == int(number) else f"{number:.3g}"
    return f"{text} {name}" + ("" if number == 1 else "s")


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

"""Depths, counts and lengths of time in the words of findings, in the units a person asked for."""

from __future__ import annotations

from roofspring.units import UNIT_SETS, UnitSet, show

YEAR_DAYS = 365.2425


def depth(value_m: float, units: UnitSet) -> str:
    """A depth of rain with about three digits and its unit.

    >>> depth(0.0254, "metric"), depth(0.0254, "us"), depth(0.0, "us")
    ('25 mm', '1.00 in', '0 in')
    """
    size = UNIT_SETS[units]["rain"][1]
    if abs(value_m) < 1e-9:
        return show(0.0, "rain", units=units, digits=0)
    digits = 0 if units == "metric" else 1
    if value_m / size < 9.95:
        digits += 1
    return show(value_m, "rain", units=units, digits=digits)


def as_read(value_m: float, units: UnitSet) -> str:
    """A depth that someone read or set, with all its digits where it is shown in millimetres.

    >>> as_read(0.00025, "metric"), as_read(0.00025, "us")
    ('0.25 mm', '0.00984 in')
    """
    name, size, _ = UNIT_SETS[units]["rain"]
    return f"{value_m / size:{'g' if units == 'metric' else '.3g'}} {name}"


def both(value_m: float) -> str:
    """A depth in millimetres and inches, for words that do not know who reads them.

    >>> both(0.0127)
    '12.7 mm (0.50 in)'
    """
    return f"{value_m * 1e3:.1f} mm ({value_m / 0.0254:.2f} in)"


def air(value_degc: float, units: UnitSet) -> str:
    """A temperature of the air.

    >>> air(1.0, "metric"), air(1.0, "us")
    ('1 degrees C', '33.8 degrees F')
    """
    if units == "us":
        return f"{1.8 * value_degc + 32.0:.3g} degrees F"
    return f"{value_degc:g} degrees C"


def far(distance_m: float, units: UnitSet) -> str:
    """How far away a gauge stands.

    >>> far(6_000.0, "metric"), far(6_000.0, "us"), far(300.0, "metric")
    ('6 km', '3.7 miles', '0.3 km')
    """
    size, name = (1609.344, "miles") if units == "us" else (1000.0, "km")
    away = distance_m / size
    return f"{away:,.0f} {name}" if away >= 9.95 else f"{away:.1f}".removesuffix(".0") + f" {name}"


def plural(count: float, name: str) -> str:
    """A number with its noun.

    >>> plural(1, "gap"), plural(1200, "day"), plural(0.5, "hour")
    ('1 gap', '1,200 days', '0.5 hours')
    """
    text = f"{count:,.0f}" if count == int(count) else f"{count:.3g}"
    return f"{text} {name}" + ("" if count == 1 else "s")


def lasting(years: float) -> str:
    """A length of time in years, or in days where it is less than one.

    >>> lasting(30.99), lasting(12.34), lasting(1.0), lasting(7 / 365.2425), lasting(0.0)
    ('31 years', '12.3 years', '1 year', '7 days', '0 days')
    """
    days = round(years * YEAR_DAYS)
    return plural(days, "day") if days < 365 else plural(round(years, 1), "year")

"""SI floats to text in the units a person asked for, exactly once, at the border."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Literal

from roofspring.units.parse import parse

UnitSet = Literal["metric", "us"]

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

# kind: (unit text, SI value of one unit, decimals)
UNIT_SETS: dict[UnitSet, dict[str, tuple[str, float, int]]] = {
    "metric": {
        "height": ("m", 1.0, 3),
        "length": ("m", 1.0, 2),
        "gap": ("mm", 1e-3, 0),
        "pipe": ("mm", 1e-3, 0),
        "rain": ("mm", 1e-3, 0),
        "depth": ("mm", 1e-3, 1),
        "area": ("m²", 1.0, 1),
        "volume": ("m³", 1.0, 2),
        "small_volume": ("L", 1e-3, 0),
        "flow": ("L/h", 1e-3 / 3600.0, 1),
        "tap_flow": ("L/min", 1e-3 / 60.0, 1),
        "daily_flow": ("L/day", 1e-3 / 86400.0, 0),
        "rate": ("m/h", 1.0 / 3600.0, 2),
        "mass": ("kg", 1.0, 0),
        "bulk": ("m³", 1.0, 2),
        "speed": ("m/s", 1.0, 0),
        "pressure": ("kPa", 1e3, 0),
        "intensity": ("mm/h", 1e-3 / 3600.0, 0),
    },
    "us": {
        "height": ("ft", 0.3048, 2),
        "length": ("ft", 0.3048, 1),
        "gap": ("in", 0.0254, 2),
        "pipe": ("in", 0.0254, 2),
        "rain": ("in", 0.0254, 1),
        "depth": ("in", 0.0254, 3),
        "area": ("ft²", 0.3048**2, 0),
        "volume": ("gal", 3.785411784e-3, 0),
        "small_volume": ("gal", 3.785411784e-3, 1),
        "flow": ("gal/h", 3.785411784e-3 / 3600.0, 1),
        "tap_flow": ("gal/min", 3.785411784e-3 / 60.0, 1),
        "daily_flow": ("gal/day", 3.785411784e-3 / 86400.0, 0),
        "rate": ("ft/h", 0.3048 / 3600.0, 2),
        "mass": ("lb", 0.45359237, 0),
        "bulk": ("ft³", 0.3048**3, 1),
        "speed": ("mph", 0.44704, 0),
        "pressure": ("psf", 0.45359237 * 9.80665 / 0.3048**2, 0),
        "intensity": ("in/h", 0.0254 / 3600.0, 1),
    },
}

# Units to write a value in, by its SI unit: the first in which it is at least the number beside it,
# else the last.
_WRITTEN_IN: dict[UnitSet, dict[str, tuple[tuple[str, float], ...]]] = {
    "metric": {
        "m": (("m", 0.1), ("mm", 0.0)),
        "m3": (("m3", 1.0), ("L", 0.0)),
        "m3/s": (("m3/h", 1.0), ("L/h", 0.0)),
        "m3/day": (("m3/day", 1.0), ("L/day", 0.0)),
        "m/s": (("m/h", 0.05), ("mm/day", 0.0)),
        "m/day": (("mm/day", 0.0),),
        "s": (("days", 1.0), ("h", 1.0), ("min", 1.0), ("s", 0.0)),
        "year": (("years", 2.0), ("months", 1.0), ("days", 0.0)),
    },
    "us": {
        "m": (("ft", 1.0), ("in", 0.05), ("mm", 0.0)),
        "m2": (("ft2", 0.0),),
        "m3": (("gal", 0.0),),
        "m3/s": (("gal/h", 0.0),),
        "m3/day": (("gal/day", 0.0),),
        "m/s": (("ft/h", 0.05), ("in/day", 0.0)),
        "m/day": (("in/day", 0.0),),
        "s": (("days", 1.0), ("h", 1.0), ("min", 1.0), ("s", 0.0)),
        "year": (("years", 2.0), ("months", 1.0), ("days", 0.0)),
        "degC": (("degF", -1000.0),),
    },
}


def show(
    value: float,
    kind: str,
    *,
    units: UnitSet = "metric",
    digits: int | None = None,
    grouped: bool = True,
) -> str:
    """Write an SI value for a reader.

    Parameters
    ----------
    value : float
        In SI.
    kind : str
        A key of `UNIT_SETS`: ``height``, ``length``, ``gap``, ``pipe``, ``rain``, ``depth``,
        ``area``, ``volume``, ``small_volume``, ``flow``, ``tap_flow`` (by the
        minute), ``daily_flow``, ``rate``, ``mass``,
        ``bulk`` (of sand and gravel), ``speed``, ``pressure`` or ``intensity`` (of rain).
    units : {"metric", "us"}
    digits : int, optional
        Decimals; the kind's own when not given.
    grouped : bool, optional
        Commas between thousands. `parse` refuses them: leave them out of text to be read again.

    Returns
    -------
    str
        The number and its unit. Infinity is ``no limit``, not-a-number is ``unknown``.

    Examples
    --------
    >>> show(1.9, "small_volume")
    '1,900 L'
    >>> show(1.9, "small_volume", units="us")
    '501.9 gal'
    """
    unit, size, decimals = UNIT_SETS[units][kind]
    if not math.isfinite(value):
        return "no limit" if value > 0 else "unknown"
    places = decimals if digits is None else digits
    return f"{value / size:{',' if grouped else ''}.{places}f} {unit}"


def written(value: float, *, to: str, units: UnitSet = "metric", digits: int = 6) -> str:
    """Write a value as a person would put it in a plan, so that `parse` reads it again.

    Parameters
    ----------
    value : float
        In the unit ``to``, finite.
    to : str
        A unit as in `parse`; empty for a plain number.
    units : {"metric", "us"}
    digits : int, optional
        Significant digits at most.

    Returns
    -------
    str
        The number, in a unit of the set in which it is neither very large nor very small.

    Examples
    --------
    >>> written(0.4 / 3600.0, to="m/s")
    '0.4 m/h'
    >>> written(5e-3 / 86400.0, to="m/s")
    '5 mm/day'
    >>> written(1.2192, to="m", units="us")
    '4 ft'
    """
    if not to:
        return _plain(value, digits)
    number, name = value, to
    for unit, least in _WRITTEN_IN[units].get(to, ()):
        zero = parse(f"0 {unit}", to=to)
        number, name = (value - zero) / (parse(f"1 {unit}", to=to) - zero), unit
        text = _plain(number, digits)
        if value == 0.0 or abs(float(text)) >= least:
            break
    text = _plain(number, digits)
    return f"{text} {'day' if (text, name) == ('1', 'days') else name}"


def _plain(number: float, digits: int) -> str:
    """A number without an exponent."""
    return format(Decimal(f"{number:.{digits}g}").normalize() + 0, "f")


def temp_text(temp_degc: float, units: UnitSet) -> str:
    """A temperature, to the whole degree.

    >>> temp_text(4.0, "metric"), temp_text(4.0, "us")
    ('4 °C', '39 °F')
    >>> temp_text(-3.2, "metric"), temp_text(-0.2, "metric")
    ('−3 °C', '0 °C')
    """
    value, unit = (temp_degc, "°C") if units == "metric" else (1.8 * temp_degc + 32.0, "°F")
    return f"{value:.0f} {unit}".replace("-0 ", "0 ").replace("-", "−")

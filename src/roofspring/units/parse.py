"""Text with a unit to an SI float, exactly once, at the border."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from roofspring.errors import Problem, UnitError
from roofspring.units.registry import registry

LONGEST_COUNT = 60
"""Characters in the longest text that is read as a quantity."""

_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_FRACTION_PART = r"(?:(?:([0-9]+)\s+)?([0-9]+)\s*/\s*([0-9]+))"
_FRACTION = re.compile(rf"^([+-]?)\s*{_FRACTION_PART}\s*(.*)$")
_FEET_INCHES = re.compile(
    rf"^([+-]?)\s*({_NUMBER})\s*(?:ft|feet|foot|')\s*"
    rf"(?:{_FRACTION_PART}|({_NUMBER}))\s*(?:in\.?|inch|inches|\")$"
)
_PLAIN = re.compile(rf"^([+-]?)\s*({_NUMBER})\s*(.*)$")
_COMMA = re.compile(r"[0-9],[0-9]")

_SIGNS = str.maketrans(
    {"\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "\u00b7": "*", "\u2044": "/"}
    | {"\u2032": "'", "\u2019": "'", "\u2033": '"', "\u201d": '"'}
    | {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3"}
    | {"⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
)

# Spellings the registry reads as something else, or not at all.
_SPELLINGS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), spelling)
    for pattern, spelling in (
        (r"²", "2"),
        (r"³", "3"),
        (r"\bper\b", "/"),
        (r"°\s*(?=[CF])", "deg"),
        (r"°", "deg"),
        (r"\bsq(?:uare)?\.?\s*(?:ft|feet|foot)\b", "ft2"),
        (r"\bcu(?:bic)?\.?\s*(?:ft|feet|foot)\b", "ft3"),
        (r"\b(in|ft)\.", r"\1"),
        (r"\b([a-zA-Z]+)(?:\s*(?:\*\*|\^)\s*)?([1-9])(?![0-9])", r"\1**\2"),
        (r"\b(?:imp|imperial|UK)[ .]+(?:gallons?|gals?)\b", "imperial_gallon"),
        (r"\b(?:US[ .]+)?(?:gallons?|gals?)\b", "gallon"),
        (r"\bl\b", "L"),
        (r"\blit(?:re|er)s?\b", "L"),
        (r"\b(?:degC|C|[Cc]elsius)\b", "degC"),
        (r"\b(?:degF|F|[Ff]ahrenheit)\b", "degF"),
        (r"%|\bper\s?cent\b", "percent_"),
        (r"\bd\b", "day"),
        (r"\bhrs?\b", "hour"),
        (r"\bh\b", "hour"),
        (r"\bmins?\b", "minute"),
        (r"\"", "inch"),
        (r"'", "foot"),
        (r"\b(?:people|persons?|animals?|head|each)\b", "1"),
    )
)
# What may reach the registry: names with one-digit powers, joined by * or / or a space. So no text
# can ask it for arithmetic.
_NAME = r"(?:1|[a-zA-Zµμ_]+(?:\*\*[1-9])?)"
_PURE = re.compile(rf"^(?:/\s*)?{_NAME}(?:\s*(?:[*/]|\s)\s*{_NAME})*$")

_EXAMPLES = {
    "mJ/cm2": '"40 mJ/cm2"',
    "m": '"1.25 m", "5 ft 3 in" or "1 1/4 in"',
    "m2": '"108 m2" or "1160 ft2"',
    "m3": '"1900 L" or "500 gal"',
    "m/s": '"0.12 m/h" or "5 mm/day"',
    "m/day": '"4 mm/day" or "0.15 in/day"',
    "m3/s": '"25 L/h" or "6 gal/h"',
    "m3/day": '"50 L/day" or "13 gal/day"',
    "s": '"24 h" or "3 days"',
    "deg": '"51.5 deg"',
    "degC": '"8 degC" or "46 degF"',
    "year": '"5 years" or "18 months"',
    "": '0.9 or "90 %"',
}


def example(to: str) -> str:
    """A well-formed value for the unit, to show beside a refusal."""
    return _EXAMPLES.get(to, f'"1 {to}"')


def _refuse(text: str, to: str, why: str, allowed: str = "") -> UnitError:
    shown = text if len(text) <= LONGEST_COUNT else text[:LONGEST_COUNT] + "..."
    return UnitError(
        Problem(
            "UNI-001",
            why,
            got=repr(shown),
            allowed=allowed or f"a number and a unit that can be turned into {to or 'a share'}",
            next=f"write it like {example(to)}",
        )
    )


def parse(text: str, *, to: str) -> float:
    """Read a quantity written by a person.

    Parameters
    ----------
    text : str
        ``"300 gal"``, ``"1 1/4 in"``, ``"5 ft 3 in"``, ``"0.12 m/h"``, ``"90 %"``; at most 60
        characters. A gallon is the US gallon unless written ``"imperial gallon"``. Persons and
        animals in a unit, as in ``"L/person/day"``, count as 1. A plain number is accepted only
        where ``to`` is empty.
    to : str
        Unit of the result, as in `roofspring.units.suffixes`; empty for a share or a count.

    Returns
    -------
    float
        The value in ``to``.

    Raises
    ------
    UnitError
        UNI-001: not a number with a unit, a unit of another kind, not finite, too long, or a
        comma between digits.

    Source
    ------
    NIST_HB44, appendix C (conversion factors, through the pint package).

    Examples
    --------
    >>> round(parse("5 ft 3 in", to="m"), 4)
    1.6002
    >>> round(parse("300 gal", to="m3"), 6)
    1.135624
    >>> parse("90 %", to="")
    0.9
    """
    if len(text) > LONGEST_COUNT:
        raise _refuse(text, to, f"a quantity has at most {LONGEST_COUNT} characters")
    plain = text.translate(_SIGNS).strip()
    if _COMMA.search(plain):
        raise _refuse(
            text,
            to,
            "a comma in a number is not read: it may be a decimal or a thousands mark",
            "digits with a point as the decimal mark",
        )
    magnitude, unit = _split(text, plain, to)
    if not math.isfinite(magnitude):
        raise _refuse(text, to, "the number is too large")
    if not unit and to:
        raise _refuse(text, to, "the unit is missing")
    factor, offset = _scale(text, unit, to)
    result = magnitude * factor + offset
    if not math.isfinite(result):
        raise _refuse(text, to, "the number is too large")
    return result


def _split(text: str, plain: str, to: str) -> tuple[float, str]:
    """The number and the unit of a text; feet and inches come back in inches."""
    if m := _FEET_INCHES.match(plain):
        sign, feet, whole, top, below, inches = m.groups()
        size = float(feet) * 12.0
        size += float(inches) if inches else _mixed(text, whole, top, below, to)
        unit = "in"
    elif m := _FRACTION.match(plain):
        sign, whole, top, below, unit = m.groups()
        size = _mixed(text, whole, top, below, to)
    elif m := _PLAIN.match(plain):
        sign, size, unit = m[1], float(m[2]), m[3]
    else:
        raise _refuse(text, to, "this is not a number with a unit")
    return (-size if sign == "-" else size), unit


def _mixed(text: str, whole: str | None, top: str, below: str, to: str) -> float:
    """A whole number and a fraction, as in 1 1/4."""
    if int(below) == 0:
        raise _refuse(text, to, "a fraction cannot have 0 below the line")
    return int(whole or 0) + int(top) / int(below)


def _scale(text: str, unit: str, to: str) -> tuple[float, float]:
    """Factor and offset from a unit as written to ``to``."""
    scale = _known_scale(unit, to)
    if scale is None:
        raise _refuse(text, to, f"{unit!r} is not a unit of this kind")
    return scale


@lru_cache(maxsize=1024)
def _known_scale(unit: str, to: str) -> tuple[float, float] | None:
    """Factor and offset between two units as written, or None where there is no such step."""
    source, target = _spelt(unit), _spelt(to)
    if source is None or target is None:
        return None
    ureg = registry()
    try:
        known = ureg.parse_units(source) if source else ureg.dimensionless
        wanted = ureg.parse_units(target) if target else ureg.dimensionless
        zero = float(ureg.Quantity(0.0, known).to(wanted).magnitude)
        thousand = float(ureg.Quantity(1000.0, known).to(wanted).magnitude)
    except Exception:  # the registry raises many kinds; all mean "not this unit"
        return None
    return _exact((thousand - zero) / 1000.0), zero


def _exact(factor: float) -> float:
    """The short decimal that a factor is but for the last bits, where there is one (1 ft)."""
    short = float(f"{factor:.14g}")
    return short if math.isclose(short, factor, rel_tol=1e-15) else factor


def _spelt(unit: str) -> str | None:
    """A unit in the registry's spelling; None where it holds more than names and small powers."""
    for pattern, spelling in _SPELLINGS:
        unit = pattern.sub(spelling, unit)
    unit = unit.strip()
    if unit and not _PURE.match(unit):
        return None
    return "1" + unit if unit.startswith("/") else unit

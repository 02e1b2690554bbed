"""What each column of a plain CSV is, told from its heading and never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal

from roofspring.rain.readers._text import Problems
from roofspring.units import parse

RAIN_UNITS: dict[str, tuple[str, ...]] = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "in": ("in", "inch", "inches"),
    "0.1 mm": ("0.1 mm", "0.1mm", "tenths of mm"),
    "0.01 in": ("0.01 in", "0.01in", "hundredths of inch"),
}
"""Units of rain depth that are read, with their spellings."""

_TEMP_UNITS = {
    "c": "degC",
    "degc": "degC",
    "celsius": "degC",
    "f": "degF",
    "degf": "degF",
    "fahrenheit": "degF",
}
_TIME_NAMES = {
    "date",
    "day",
    "time",
    "datetime",
    "timestamp",
    "date_time",
    "time_utc",
    "date_utc",
    "datetime_utc",
    "date_time_utc",
    "time_local",
    "valid_time",
}
_DATE_NAMES = {"date", "day", "date_utc", "date_local"}
_CLOCK_NAMES = {"time", "time_utc", "time_local", "time_of_day", "clock"}
_RAIN_WORDS = ("rain", "precip", "prcp", "depth")
_NOT_RAIN = ("snow", "flag", "attr", "qual", "prob", "type", "hours", "kept", "groundwater")
_TMIN = {"tmin", "t_min", "temp_min", "min_temp", "temperature_min", "tasmin", "tn"}
_TMAX = {"tmax", "t_max", "temp_max", "max_temp", "temperature_max", "tasmax", "tx"}
_TEMP = {"temp", "temperature", "air_temp", "air_temperature", "tair", "t"}
_SCALED = {"tenth", "tenths", "hundredth", "hundredths", "per", "rate", "intensity"}


@dataclass(frozen=True)
class Column:
    """One column that will be read: where it stands and how it becomes SI."""

    index: int
    heading: str
    slope: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class Columns:
    """The columns of a file. ``rain`` is a depth, or the depth of one tip where ``tips`` is set."""

    count: int
    time: Column
    rain: Column | None
    rain_m_per_unit: Decimal
    clock: Column | None = None
    utc: bool = False
    tips: bool = False
    temps: dict[str, Column] = field(default_factory=dict)
    kept: Column | None = None
    station: Column | None = None


def canonical_unit(text: str) -> str | None:
    """The unit's own spelling, or None when it is no unit of rain depth."""
    low = text.strip().lower().rstrip(".")
    return next((unit for unit, names in RAIN_UNITS.items() if low in names), None)


def split_heading(heading: str) -> tuple[str, str]:
    """Name and unit of a heading: ``rain (in)``, ``rain [mm]`` and ``precip_mm`` alike.

    >>> split_heading("Rain depth [mm]")
    ('rain_depth', 'mm')
    >>> split_heading("tmax_degF")
    ('tmax', 'degf')
    >>> split_heading("prcp")
    ('prcp', '')
    """
    low = heading.strip().lower().replace("°", "deg")
    if m := re.match(r"^(.*?)\s*[(\[]\s*([^)\]]*?)\s*[)\]]$", low):
        return re.sub(r"[\s_\-.]+", "_", m[1]), m[2]
    words = [w for w in re.split(r"[\s_\-.]+", low) if w]
    if len(words) > 1 and (canonical_unit(words[-1]) or words[-1] in _TEMP_UNITS):
        return "_".join(words[:-1]), words[-1]
    return "_".join(words), ""


def find_columns(
    headings: list[str], *, unit: str | None, line: int, problems: Problems, tips: bool = False
) -> Columns:
    """Name the columns, or raise everything that is unclear about them.

    With ``tips`` each row is a tip of known depth, so that the file needs no column of rain.
    """
    parts = [split_heading(h) for h in headings]
    low = [h.strip().lower() for h in headings]
    for name in sorted({h for h in low if h and low.count(h) > 1}):
        problems.add(
            "REC-005",
            "two columns have the same heading",
            line=line,
            got=name,
            next="give each column its own heading",
        )
    times = [i for i, h in enumerate(headings) if _is_time(h)]
    times, clock = _split_clock(times, headings)
    tip = [i for i, (name, _) in enumerate(parts) if name == "tip"]
    rains = tip or [
        i for i, (name, _) in enumerate(parts) if _is_rain(name) and i not in (*times, clock)
    ]
    named = [i for i in rains if parts[i][1]]
    rains = named if len(rains) > 1 and named else rains
    time = _one(
        times, headings, "date or time", "date, day, time, time_utc or datetime", line, problems
    )
    rain, factor = None, Decimal(1)
    if tips and rains:
        problems.add(
            "REC-037",
            "the depth of a tip was given, but the file has a column of rain as well",
            line=line,
            got=", ".join(headings[i] for i in rains),
            next="leave out tip if rows hold depths; take out the column if each row is a tip",
        )
    elif not tips:
        rain = _one(
            rains, headings, "rain", "precip_mm, rain (in), rain [mm] or depth_cm", line, problems
        )
    if rain is not None:
        factor = _rain_factor(headings[rain], parts[rain], unit, line, problems)
    temps = {}
    for key, names in (("tmin_degc", _TMIN), ("tmax_degc", _TMAX), ("temp_degc", _TEMP)):
        spots = [
            i for i, (name, _) in enumerate(parts) if name in names and i not in (*times, clock)
        ]
        if spots and (column := _temp_column(spots, headings, parts, line, problems)):
            temps[key] = column
    problems.check()
    assert time is not None  # it was reported otherwise
    at = {name: Column(i, headings[i]) for i, name in enumerate(low)}
    return Columns(
        len(headings),
        Column(time, headings[time]),
        None if rain is None else Column(rain, headings[rain]),
        factor,
        clock=None if clock is None else Column(clock, headings[clock]),
        utc=any(plain_name(headings[i]).endswith("utc") for i in (time, clock) if i is not None),
        tips=tips or bool(tip),
        temps={} if tips or tip else temps,
        kept=None if tips or tip else at.get("kept"),
        station=at.get("station") or at.get("station_id"),
    )


def _split_clock(times: list[int], headings: list[str]) -> tuple[list[int], int | None]:
    """Tell a column of dates and a column of times of day apart from two columns of either."""
    dates = [i for i in times if plain_name(headings[i]) in _DATE_NAMES]
    names = _CLOCK_NAMES if dates else set()
    clocks = [i for i, h in enumerate(headings) if plain_name(h) in names]
    if len(dates) == 1 and len(clocks) == 1 and set(times) <= {dates[0], clocks[0]}:
        return dates, clocks[0]
    return times, None


def _is_rain(name: str) -> bool:
    return any(w in name for w in _RAIN_WORDS) and not any(w in name for w in _NOT_RAIN)


def _one(
    spots: list[int], headings: list[str], what: str, examples: str, line: int, problems: Problems
) -> int | None:
    if len(spots) == 1:
        return spots[0]
    problems.add(
        "REC-005",
        f"{'more than one' if spots else 'no'} {what} column",
        line=line,
        got=", ".join(headings[i] for i in spots) or ", ".join(headings),
        allowed=f"one column with a heading such as {examples}",
        next="leave one such column, or rename the others",
    )
    return None


def _rain_factor(
    heading: str, parts: tuple[str, str], unit: str | None, line: int, problems: Problems
) -> Decimal:
    """Metres in one unit of the rain column."""
    name, said = parts
    words = re.split(r"_", name)
    in_name = next((u for w in words if (u := canonical_unit(w))), None)
    stated = canonical_unit(said) if said else None
    wanted = canonical_unit(unit) if unit is not None else None
    allowed = ", ".join(RAIN_UNITS)
    if unit is not None and wanted is None:
        problems.add(
            "REC-007",
            "this is not a unit of rain depth",
            where="unit",
            got=unit,
            allowed=allowed,
            next="say the unit of the rain column",
        )
    elif (said and stated is None) or in_name or _SCALED.intersection(words):
        problems.add(
            "REC-007",
            "the heading does not name a plain depth for each row",
            line=line,
            got=heading,
            allowed=allowed,
            next="if each row is a depth, head the column with name and unit, such as precip_mm",
        )
    elif stated and wanted and stated != wanted:
        problems.add(
            "REC-007",
            "the heading and the unit you gave disagree",
            line=line,
            got=f"heading {heading!r}, unit {unit!r}",
            next="find out which is right; leave out the unit if the heading is",
        )
    elif not stated and not wanted:
        problems.add(
            "REC-006",
            "the unit of the rain column is not stated and is never guessed",
            line=line,
            got=heading,
            allowed=allowed,
            next="put the unit in the heading (precip_mm) or give it when reading",
        )
    chosen = stated or wanted
    if chosen is None:
        return Decimal(1)
    return Decimal(repr(parse(chosen if chosen[0] == "0" else f"1 {chosen}", to="m")))


def _temp_column(
    spots: list[int],
    headings: list[str],
    parts: list[tuple[str, str]],
    line: int,
    problems: Problems,
) -> Column | None:
    if len(spots) > 1:
        problems.add(
            "REC-005",
            "more than one column of the same temperature",
            line=line,
            got=", ".join(headings[i] for i in spots),
            next="leave one of them",
        )
        return None
    i = spots[0]
    unit = _TEMP_UNITS.get(parts[i][1].replace(" ", ""))
    if unit is None:
        problems.add(
            "REC-006",
            "the unit of a temperature column is not stated and is never guessed",
            line=line,
            got=headings[i],
            allowed="degC or degF, as in tmin_c, tmax_degF or temp (C)",
            next="put the unit in the heading, or remove the column",
        )
        return None
    if unit == "degC":
        return Column(i, headings[i])
    zero, hundred = parse(f"0 {unit}", to="degC"), parse(f"100 {unit}", to="degC")
    return Column(i, headings[i], slope=(hundred - zero) / 100.0, offset=zero)


def looks_like_heading(line: str) -> bool:
    """Whether a file's first line is a heading with a date or a rain column.

    >>> looks_like_heading("date,precip_mm")
    True
    >>> looks_like_heading("2012-01-01,0.0")
    False
    """
    cells = [c.strip() for c in re.split(r"[,;\t]", line.replace('"', ""))]
    if any(c[:1].isdigit() for c in cells):
        return False
    names = [split_heading(c)[0] for c in cells]
    return any(_is_time(c) for c in cells) or any(_is_rain(n) or n == "tip" for n in names)


def plain_name(heading: str) -> str:
    """A heading in small letters with single underscores."""
    return re.sub(r"[\s()\[\]_]+", "_", heading.strip().lower()).rstrip("_")


def _is_time(heading: str) -> bool:
    return plain_name(heading) in _TIME_NAMES

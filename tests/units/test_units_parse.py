"""Parsing against the exact factors of NIST Handbook 44, appendix C, and against any text."""

import math
import time
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.errors import UnitError
from roofspring.units import (
    LONGEST_COUNT,
    SUFFIXES,
    UNIT_SETS,
    UnitSet,
    example,
    parse,
    show,
    written,
)

# NIST Handbook 44, appendix C: 1 in = 0.0254 m, 1 gal = 231 in3, both exact; 1 UK gal = 4.54609 L
# (exact, UK Units of Measurement Regulations 1995). Everything else is arithmetic on these.
IN, GAL, UK_GAL = 0.0254, 231 * 0.0254**3, 4.54609e-3
FT, DAY = 12 * IN, 86400.0
READ = [
    ("1.25 m", "m", 1.25),
    ("1.25m", "m", 1.25),
    ("  25 mm ", "m", 0.025),
    ("-2 m", "m", -2.0),
    ("\u22122 m", "m", -2.0),
    ("+2 m", "m", 2.0),
    (".5 m", "m", 0.5),
    ("1e-3 km", "m", 1.0),
    ("40 µm", "m", 4e-5),
    ("5 ft 3 in", "m", 63 * IN),
    ("5ft3in", "m", 63 * IN),
    ("5'3\"", "m", 63 * IN),
    ("5\u2032 3\u2033", "m", 63 * IN),
    ("-5 ft 3 in", "m", -63 * IN),
    ("5 ft 3 1/2 in", "m", 63.5 * IN),
    ("5 feet 1/2 inches", "m", 60.5 * IN),
    ("5 ft 3½ in", "m", 63.5 * IN),
    ("1 1/4 in", "m", 1.25 * IN),
    ("-1 1/4 in", "m", -1.25 * IN),
    ("3/4 in", "m", 0.75 * IN),
    ("¾ in", "m", 0.75 * IN),
    ('1¼"', "m", 1.25 * IN),
    ("6'", "m", 6 * FT),
    ("12 in.", "m", 12 * IN),
    ("1160 ft2", "m2", 1160 * FT**2),
    ("1160 ft²", "m2", 1160 * FT**2),
    ("2 sq ft", "m2", 2 * FT**2),
    ("2 sq. ft", "m2", 2 * FT**2),
    ("2 cu ft", "m3", 2 * FT**3),
    ("300 gal", "m3", 300 * GAL),
    ("1 gallon", "m3", GAL),
    ("2 US gallons", "m3", 2 * GAL),
    ("1 imperial gallon", "m3", UK_GAL),
    ("2 imp gal", "m3", 2 * UK_GAL),
    ("1900 L", "m3", 1.9),
    ("1900 l", "m3", 1.9),
    ("3 litres", "m3", 0.003),
    ("1 m^3", "m3", 1.0),
    ("1 m**3", "m3", 1.0),
    ("0.12 m/h", "m/s", 0.12 / 3600),
    ("5 mm/day", "m/s", 0.005 / DAY),
    ("5 mm/d", "m/day", 0.005),
    ("1 m3/m2/day", "m/s", 1 / DAY),
    ("25 L/h", "m3/s", 0.025 / 3600),
    ("5 gpm", "m3/s", 5 * GAL / 60),
    ("100 gpd", "m3/day", 100 * GAL),
    ("5 gal/min", "m3/s", 5 * GAL / 60),
    ("50 L/person/day", "m3/day", 0.05),
    ("13 gal per person per day", "m3/day", 13 * GAL),
    ("24 h", "s", 86400.0),
    ("90 min", "s", 5400.0),
    ("3 days", "s", 3 * DAY),
    ("8 degC", "degC", 8.0),
    ("8 °C", "degC", 8.0),
    ("-40 degF", "degC", -40.0),
    ("212 °F", "degC", 100.0),
    ("273.15 K", "degC", 0.0),
    ("90 %", "", 0.9),
    ("90%", "", 0.9),
    ("10 percent", "", 0.1),
    ("0.9", "", 0.9),
    ("1/2", "", 0.5),
    ("51.5°", "deg", 51.5),
    ("-3.2 deg", "deg", -3.2),
    ("3 1/m", "1/m", 3.0),
]
REFUSED = [
    ("", "m"),
    ("m", "m"),
    ("5", "m"),
    ("5 L", "m"),
    ("5 kg", "m"),
    ("1 m/h", "m3/s"),
    ("1,5 m", "m"),
    ("1,900 L", "m3"),
    ("1 234 L", "m3"),
    ("nan m", "m"),
    ("inf m", "m"),
    ("1e999 m", "m"),
    ("1e308 km", "m"),
    ("5 ft 1/0 in", "m"),
    ("1/0 in", "m"),
    ("1 2", ""),
    ("5 ft 3", "m"),
    ("5 m m", "m"),
    ("5 m3", "m"),
    ("1 2/3/4 in", "m"),
    ("0x10 m", "m"),
    ("1_000 m", "m"),
    ("٣ m", "m"),
    ("5 m;", "m"),
    ("9**9**9**9 m", "m"),
    ("1 m**9**9**9", "m"),
    ("1 (9**9**9)*m", "m"),
    ("1 m*9**9**9**9/9**9**9**9", "m"),
    ("1 __import__('os')", "m"),
    ("1 m" + " " * LONGEST_COUNT, "m"),
    ("8 degC/day", "degC"),
    ("5 furlongs per fortnight of rain", "m/s"),
]


@pytest.mark.parametrize(("text", "to", "value"), READ)
def test_read(text: str, to: str, value: float) -> None:
    assert parse(text, to=to) == pytest.approx(value, rel=1e-12, abs=1e-11)


@pytest.mark.parametrize(("text", "to"), REFUSED)
def test_refused_with_what_is_allowed_and_a_next_step(text: str, to: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, to=to)
    (problem,) = caught.value.problems
    assert problem.code == "UNI-001"
    assert problem.what and problem.got and problem.allowed and problem.next


def test_area_in_feet_is_not_feet_and_inches() -> None:
    """Once, "1160 ft2" was taken for 1160 ft and 2 in."""
    with pytest.raises(UnitError):
        parse("1160 ft2", to="m")


@settings(max_examples=500, deadline=None)
@given(st.text(max_size=80), st.sampled_from(["", "m", "m3", "m/s", "degC"]))
def test_any_text_is_a_finite_number_or_refused(text: str, to: str) -> None:
    try:
        assert math.isfinite(parse(text, to=to))
    except UnitError as error:
        assert error.problems[0].code == "UNI-001"


PIECES = ["1", "2", "9", ".", "/", "*", "**", "^", " ", "m", "ft", "in", "gal", "L", "day", "h"]
PIECES += ["degC", "%", "'", '"', "-", "e", "½", "²", "(", ")", "°", "per", "K", "person"]


@settings(max_examples=500, deadline=None)
@given(
    st.lists(st.sampled_from(PIECES), max_size=25).map("".join), st.sampled_from(["", "m", "m3"])
)
def test_any_mixture_of_units_ends_soon(text: str, to: str) -> None:
    start = time.perf_counter()
    with suppress(UnitError):
        assert math.isfinite(parse(text, to=to))
    assert time.perf_counter() - start < 2.0


@pytest.mark.parametrize("to", sorted(set(SUFFIXES.values()) | {"deg", "m/day", "m3/day"}))
def test_every_unit_reads_itself_and_its_own_example(to: str) -> None:
    assert parse(f"2 {to}".strip(), to=to) == pytest.approx(2.0)
    for one in example(to).replace(" or ", ", ").split(", "):
        assert math.isfinite(parse(one.strip('"'), to=to))


KIND_UNITS = {
    "height": "m",
    "gap": "m",
    "length": "m",
    "pipe": "m",
    "rain": "m",
    "depth": "m",
    "area": "m2",
    "volume": "m3",
    "small_volume": "m3",
    "flow": "m3/s",
    "daily_flow": "m3/s",
    "rate": "m/s",
    "mass": "kg",
    "bulk": "m3",
    "speed": "m/s",
    "pressure": "Pa",
    "intensity": "m/s",
    "tap_flow": "m3/s",
}


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(["metric", "us"]),
    st.sampled_from(sorted(KIND_UNITS)),
    st.floats(-1e6, 1e6),
)
def test_shown_text_reads_back(units: UnitSet, kind: str, number: float) -> None:
    """Shown in the kind's unit with 9 decimals, a value reads back to half of the last decimal."""
    _, size, _ = UNIT_SETS[units][kind]
    text = show(number * size, kind, units=units, digits=9, grouped=False)
    back = parse(text, to=KIND_UNITS[kind])
    assert back == pytest.approx(number * size, rel=1e-11, abs=0.51e-9 * size)


def test_kinds_of_both_sets_are_the_tested_ones() -> None:
    assert set(UNIT_SETS["metric"]) == set(UNIT_SETS["us"]) == set(KIND_UNITS)


def test_sizes_of_the_shown_units_are_what_parse_says() -> None:
    for kinds in UNIT_SETS.values():
        for kind, (unit, size, _) in kinds.items():
            assert parse(f"1 {unit}", to=KIND_UNITS[kind]) == pytest.approx(size, rel=1e-14)


WRITABLE = ["m", "m2", "m3", "m3/s", "m3/day", "m/s", "m/day", "s", "degC", "deg", ""]


@settings(max_examples=500, deadline=None)
@given(
    st.floats(-1e5, 1e5).filter(lambda x: x == 0 or abs(x) > 1e-12),
    st.sampled_from(WRITABLE),
    st.sampled_from(["metric", "us"]),
)
def test_written_text_reads_back_to_its_digits(value: float, to: str, units: UnitSet) -> None:
    text = written(value, to=to, units=units)
    # Six digits; degrees Fahrenheit have another zero, so the error is of the shifted value.
    shift = 40.0 if to == "degC" else 0.0
    assert parse(text, to=to) == pytest.approx(value, abs=5.1e-6 * (abs(value) + shift))


@pytest.mark.parametrize(
    ("value", "to", "units", "text"),
    [
        (0.4 / 3600, "m/s", "metric", "0.4 m/h"),
        (0.0, "m", "metric", "0 m"),
        (0.25e-3, "m", "metric", "0.25 mm"),
        (0.25e-3, "m", "us", "0.25 mm"),
        (1.25 * IN, "m", "us", "1.25 in"),
        (-1.5 * FT, "m", "us", "-1.5 ft"),
        (1.9, "m3", "metric", "1.9 m3"),
        (0.12, "m3", "metric", "120 L"),
        (5000 * GAL, "m3", "us", "5000 gal"),
        (86400.0, "s", "metric", "1 day"),
        (1800.0, "s", "us", "30 min"),
        (8.0, "degC", "us", "46.4 degF"),
        (0.9, "", "us", "0.9"),
    ],
)
def test_written(value: float, to: str, units: UnitSet, text: str) -> None:
    assert written(value, to=to, units=units) == text


def test_not_finite_is_said_in_words() -> None:
    assert show(math.inf, "volume") == "no limit"
    assert show(math.nan, "volume") == show(-math.inf, "volume") == "unknown"

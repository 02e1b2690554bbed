"""Roof yield and first flush."""

from __future__ import annotations

from cases import Case
from roofspring.catchment import (
    EventYield,
    annual_yield_m3,
    event_yield,
    first_flush_depth_m,
    first_flush_volume_m3,
    kept_wash_off_frac,
    wash_off_left_frac,
)
from roofspring.constants import INCH_M, US_GALLON_M3
from roofspring.sources import COMMON_PRACTICE

_FT2_M2 = (12.0 * INCH_M) ** 2
_EVENT_WHERE = "12 mm on 100 m², 0.5 mm wetting, 0.9 runs, 1 mm first flush, 0.9 passes the screen"


def _event() -> EventYield:
    return event_yield(
        0.012,
        area_m2=100.0,
        runoff_frac=0.9,
        wetting_m=0.0005,
        first_flush_m3=first_flush_volume_m3(100.0, depth_m=0.001),
        screen_frac=0.9,
    )


def _inch_gal(runoff_frac: float) -> float:
    """US gallons from one inch on 1,000 square feet, no other loss."""
    caught = event_yield(
        INCH_M,
        area_m2=1000.0 * _FT2_M2,
        runoff_frac=runoff_frac,
        wetting_m=0.0,
        first_flush_m3=0.0,
        screen_frac=1.0,
    )
    return caught.caught_m3 / US_GALLON_M3


def _saying(loss: str, runoff_frac: float) -> Case:
    return Case(
        "T1",
        f"one inch on about 1,000 ft² gives about 600 gallons: {loss}",
        lambda: _inch_gal(runoff_frac),
        "about 600",
        "US gal",
        COMMON_PRACTICE,
        "read as to the nearest hundred",
        "common practice, no source",
        within=50.0,
    )


CASES = [
    Case(
        "Y1",
        "yearly yield of 200 m² under 750 mm, 0.8, loss 24 mm",
        lambda: annual_yield_m3(0.750, area_m2=200.0, runoff_frac=0.8) * 1e3,
        "116,160",
        "L",
        "ENHEALTH_2010",
        "appendix B, worked example",
        "confirmed",
    ),
    Case(
        "Y5",
        "one inch on 1,000 ft², nothing lost",
        lambda: _inch_gal(1.0),
        "623.4",
        "US gal",
        "",
        "1000 × 144/231",
        "computed",
    ),
    Case(
        "Y5",
        "one inch on 1,000 ft², 0.9 runs",
        lambda: _inch_gal(0.9),
        "561.0",
        "US gal",
        "",
        "900 × 144/231",
        "computed",
    ),
    _saying("nothing lost", 1.0),
    _saying("0.9 runs", 0.9),
    Case(
        "T2",
        "one inch on such a roof, 0.9 runs, fills a 300 gallon raw tank about twice",
        lambda: _inch_gal(0.9) / 300.0,
        "about 2",
        "tanks",
        COMMON_PRACTICE,
        "",
        "common practice, no source",
        note="A sand filter takes little of it meanwhile: the second tankful needs an overflow",
    ),
    Case(
        "Y8 K27",
        "first flush of 1 gallon per 100 ft²",
        lambda: first_flush_depth_m(US_GALLON_M3, area_m2=100.0 * _FT2_M2) * 1e3,
        "0.4075",
        "mm",
        "TWDB_2005",
        "the rule; its conversion is our own arithmetic",
        "computed",
    ),
    Case(
        "Y9 K25",
        "contamination left after 2 mm",
        lambda: wash_off_left_frac(0.002),
        "0.25",
        "",
        "MARTINSON_THOMAS_2005",
        "abstract: halves for each millimetre",
        "confirmed",
        rel=1e-12,
    ),
    Case(
        "Y9",
        "mean contamination of 10 mm, nothing diverted",
        lambda: kept_wash_off_frac(0.010, flush_m=0.0),
        "0.14413",
        "",
        "",
        "(1 - 2⁻¹⁰) / (10 ln 2)",
        "computed",
    ),
    Case(
        "Y9 K26",
        "mean contamination of the 8 mm kept after 2 mm",
        lambda: kept_wash_off_frac(0.010, flush_m=0.002),
        "0.044908",
        "",
        "",
        "(2⁻² - 2⁻¹⁰) / (8 ln 2)",
        "computed",
    ),
    Case(
        "Y10",
        "event: water in the gutter",
        lambda: _event().runoff_m3 * 1e3,
        "1035.0",
        "L",
        "",
        _EVENT_WHERE,
        "computed",
        rel=1e-12,
    ),
    Case(
        "Y10",
        "event: water after the first flush",
        lambda: (_event().runoff_m3 - _event().diverted_m3) * 1e3,
        "935.0",
        "L",
        "",
        _EVENT_WHERE,
        "computed",
        rel=1e-12,
    ),
    Case(
        "Y10",
        "event: water to the raw tank",
        lambda: _event().caught_m3 * 1e3,
        "841.5",
        "L",
        "",
        _EVENT_WHERE,
        "computed",
        rel=1e-12,
    ),
]

"""The sand bed and the levels over it."""

from __future__ import annotations

import math

from cases import Case
from roofspring.constants import US_GALLON_M3
from roofspring.sandfilter import (
    cake_run_s,
    clean_bed_loss_m,
    conductivity_m_per_s,
    falling_head_time_s,
    filter_area_m2,
    filtration_rate_m_per_s,
    hazen_conductivity_m_per_s,
    linear_store_level_m,
    linear_store_time_s,
    pore_volume_m3,
    specific_diameter_m,
    waste_volume_m3,
)
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import parse

_H = 3600.0
_K_M_PER_S = 2.74 / _H  # the rounded conductivity that the references use
_BED = "0.8 m of sand, d10 0.25 mm, uniformity 2, porosity 0.40, sphericity 0.80"
_G = "The reference used g = 9.81 and a table of viscosity"


def _grain_m() -> float:
    return specific_diameter_m(0.25e-3, uniformity=2.0)


def _carman_m_per_h(temp_degc: float) -> float:
    return conductivity_m_per_s(_grain_m(), temp_degc=temp_degc) * _H


def _loss(temp_degc: float, printed: str) -> Case:
    return Case(
        "S22",
        f"clean-bed loss at 0.1 m/h, {temp_degc:g} °C",
        lambda: (
            clean_bed_loss_m(
                0.1 / _H, depth_m=0.8, conductivity_m_per_s=_carman_m_per_h(temp_degc) / _H
            )
            * 1e3
        ),
        printed,
        "mm",
        "CARMAN_1937",
        _BED,
        "computed",
        rel=0.01,
        note=_G,
    )


def _carman(temp_degc: float, printed: str) -> Case:
    return Case(
        "S20",
        f"conductivity at {temp_degc:g} °C, Carman 180",
        lambda: _carman_m_per_h(temp_degc),
        printed,
        "m/h",
        "CARMAN_1937",
        _BED,
        "computed",
        rel=2e-3,
        note=_G,
    )


def _hazen(temp_degc: float, printed: str) -> Case:
    return Case(
        "S24",
        f"conductivity at {temp_degc:g} °C, Hazen 1000, d10 0.25 mm",
        lambda: hazen_conductivity_m_per_s(0.25e-3, temp_degc=temp_degc) * _H,
        printed,
        "m/h",
        "HAZEN_1892",
        "1000 d10² (0.70 + 0.03 T) m/day",
        "computed",
    )


def _level(hours: float, printed: str) -> Case:
    return Case(
        "Q1",
        f"linear store after {hours:g} h: 1.2 m², 2e-5 m²/s, in 1e-5 m³/s, from 0.2 m",
        lambda: linear_store_level_m(
            0.2,
            time_s=hours * _H,
            area_m2=1.2,
            conductance_m2_per_s=2e-5,
            inflow_m3_per_s=1e-5,
        ),
        printed,
        "m",
        "CHOW_MAIDMENT_MAYS_1988",
        "linear reservoir, closed form",
        "computed",
    )


def _cake(rate_m_per_h: float, printed: str) -> Case:
    return Case(
        "S27",
        f"run length at {rate_m_per_h:g} m/h while a cake grows, 0.05 h/m, to 0.9 m",
        lambda: (
            cake_run_s(
                rate_m_per_h / _H,
                head_m=0.9,
                depth_m=0.8,
                conductivity_m_per_s=_K_M_PER_S,
                cake_s_per_m=0.05 * _H,
            )
            / 86400.0
        ),
        printed,
        "days",
        "RUTH_1935",
        "(H - v L / K) / (a v²)",
        "computed",
    )


CASES = [
    Case(
        "S19",
        "specific diameter, d10 0.25 mm, uniformity 2",
        lambda: _grain_m() * 1e3,
        "0.4005",
        "mm",
        "HUISMAN_WOOD_1974",
        "d10 (1 + 2 log10 UC)",
        "computed",
    ),
    _carman(5.0, "2.3587"),
    _carman(10.0, "2.7413"),
    _carman(20.0, "3.5688"),
    Case(
        "S21",
        "conductivity at 10 °C, Carman 180 against 150 (0.72 + 0.028 T) (e³/(1-e)²) φ² ds²",
        lambda: _carman_m_per_h(10.0),
        "2.7377",
        "m/h",
        "HUISMAN_WOOD_1974",
        _BED,
        "computed",
        rel=2e-3,
        note="Another form of the same formula; the two agree at 10 °C",
    ),
    _loss(5.0, "33.9"),
    _loss(10.0, "29.2"),
    _loss(20.0, "22.4"),
    Case(
        "S23",
        "clean-bed loss at 0.1 m/h, 10 °C, Ergun's 150",
        lambda: (
            clean_bed_loss_m(
                0.1 / _H,
                depth_m=0.8,
                conductivity_m_per_s=conductivity_m_per_s(_grain_m(), temp_degc=10.0, carman=150.0),
            )
            * 1e3
        ),
        "24.3",
        "mm",
        "ERGUN_1952",
        f"both terms; ours has the viscous one only. {_BED}",
        "computed",
        rel=0.01,
    ),
    _hazen(5.0, "2.2135"),
    _hazen(10.0, "2.6042"),
    _hazen(20.0, "3.3854"),
    _cake(0.1, "72.57"),
    _cake(0.2, "17.53"),
    Case(
        "S44",
        "water over the sand falling from 0.30 m to 0.05 m above the weir",
        lambda: (
            falling_head_time_s(0.30, end_m=0.05, depth_m=0.8, conductivity_m_per_s=_K_M_PER_S) / _H
        ),
        "0.523",
        "h",
        "DARCY_1856",
        "(L / K) ln(0.30 / 0.05), K 2.74 m/h, L 0.8 m",
        "computed",
    ),
    Case(
        "S45",
        "bed for 0.4 L/min at 0.4 m/h",
        lambda: filter_area_m2(0.4e-3 / 60.0, rate_m_per_s=0.4 / _H),
        "0.060",
        "m²",
        "",
        "24 L/h over 0.4 m/h",
        "computed",
        rel=1e-12,
    ),
    Case(
        "S45",
        "bed for 200 L a day at 0.10 m/h",
        lambda: filter_area_m2(0.200 / 86400.0, rate_m_per_s=0.10 / _H),
        "0.0833",
        "m²",
        "",
        "0.200 / (24 × 0.10)",
        "computed",
    ),
    Case(
        "S46",
        "pore volume of 0.06 m² by 0.543 m, porosity 0.40",
        lambda: pore_volume_m3(0.06, depth_m=0.543) * 1e3,
        "13.0",
        "L",
        "",
        "0.06 × 0.543 × 0.40",
        "computed",
    ),
    Case(
        "S54",
        "run to waste for 48 h at 0.1 m/h from 0.5 m²",
        lambda: waste_volume_m3(48.0 * _H, rate_m_per_s=0.1 / _H, area_m2=0.5) * 1e3,
        "2,400",
        "L",
        "",
        "48 × 0.1 × 0.5 m³",
        "computed",
        rel=1e-12,
    ),
    Case(
        "S57",
        "clean filter with no throttle, 0.5 m of head",
        lambda: filtration_rate_m_per_s(0.5, depth_m=0.8, conductivity_m_per_s=_K_M_PER_S) * _H,
        "1.71",
        "m/h",
        "DARCY_1856",
        "H K / L, K 2.74 m/h, L 0.8 m",
        "computed",
        note="More than four times 0.4 m/h, the highest rate published for such filters",
    ),
    Case(
        "S55",
        "share of a filter's head that its skin takes, by the levels over sand and drain",
        lambda: (
            100.0
            * (
                1.0
                - clean_bed_loss_m(0.1 / _H, depth_m=0.6, conductivity_m_per_s=_K_M_PER_S) / 0.14
            )
        ),
        "84",
        "%",
        "",
        "levels 1.00 and 0.86 m at 0.1 m/h are 1.40 h; clean sand of 0.6 m, K 2.74 m/h, 0.219 h",
        "computed",
        rel=1e-2,
    ),
    _level(6.0, "0.290697"),
    _level(12.0, "0.353974"),
    _level(24.0, "0.428922"),
    Case(
        "Q1",
        "time for the same store to get to 0.4 m",
        lambda: (
            linear_store_time_s(
                0.2, end_m=0.4, area_m2=1.2, conductance_m2_per_s=2e-5, inflow_m3_per_s=1e-5
            )
            / _H
        ),
        "18.3102",
        "h",
        "CHOW_MAIDMENT_MAYS_1988",
        "linear reservoir, closed form",
        "computed",
    ),
    Case(
        "T3",
        "a filter that passes 4 gallons in 20 minutes passes hundreds of gallons a day",
        lambda: parse("4 gal", to="m3") / parse("20 min", to="s") * 86400.0 / US_GALLON_M3,
        "288",
        "US gal",
        COMMON_PRACTICE,
        "true while the level over the sand is held",
        "common practice, no source",
    ),
    Case(
        "T4",
        "two inches of standing water over the sand",
        lambda: parse("2 in", to="m"),
        "0.03 to 0.10",
        "m",
        COMMON_PRACTICE,
        "household filters rest at about 0.05 m",
        "common practice, no source",
    ),
    Case(
        "T5",
        "a removal of 99.7 %",
        lambda: -math.log10(1.0 - parse("99.7 %", to="")),
        "2.5",
        "log",
        COMMON_PRACTICE,
        "-log10(1 - 0.997); 2.52",
        "common practice, no source",
    ),
]

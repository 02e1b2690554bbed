"""Roof drainage, loads, frost, wants and soaking away."""

from __future__ import annotations

from cases import Case, Status
from roofspring.catchment import code_rain, wind_area_m2
from roofspring.constants import INCH_M, US_GALLON_M3
from roofspring.garden import (
    crops,
    house_wants,
    livestock_wants,
)
from roofspring.hydraulics import (
    brim_flow_m3_per_s,
    code_rows,
    cooling_time_s,
    drain_flow_m3_per_s,
    freezing_time_s,
    green_ampt_m,
    green_ampt_rate_m_per_s,
    gutter_flow_m3_per_s,
    gutter_profile,
    gutter_section,
    horton_m,
    horton_rate_m_per_s,
    ice_depth_m,
    leader_flow_m3_per_s,
    philip_m,
    ponding_time_s,
    soak_away_time_s,
    soil_classes,
)
from roofspring.structure import (
    bearing_soils,
    pressure_pa,
    runner_area_m2,
    sliding_wind_m_per_s,
    tipping_wind_m_per_s,
)
from roofspring.structure.ground import PSF_PA

_GPM = US_GALLON_M3 / 60.0
_FOOT2 = (12.0 * INCH_M) ** 2
_POUND = 0.45359237
_CM_PER_H = 0.01 / 3600.0
_MM_PER_H = 0.001 / 3600.0
_BOX = gutter_section(0.15, shape="box", depth_m=0.10)
_SILT = {"soak_m_per_s": 0.65 * _CM_PER_H, "suction_m": 0.167, "filled_frac": 0.340}


def _leader(inches: int, printed: str) -> Case:
    return Case(
        "H5",
        f"leader of {inches} in, 7/24 full",
        lambda: leader_flow_m3_per_s(inches * INCH_M) / _GPM,
        printed,
        "gal/min",
        "IAPMO_UPC_2000",
        "table of roof drains and leaders; the law is from memory",
        "quoted",
    )


def _code_leader(code: str, inches: int, printed: str, source: str, status: Status) -> Case:
    (row,) = (r for r in code_rows() if r.code == code and r.diameter_m == inches * INCH_M)
    return Case(
        "H5",
        f"flow of {printed} ft² at 1 in/h: leader of {inches} in",
        lambda: leader_flow_m3_per_s(inches * INCH_M) / (INCH_M / 3600.0) / _FOOT2,
        printed,
        "ft²",
        source,
        f"{row.code}, area at 1 in/h",
        status,
        rel=0.01,
        note="the codes round the flow and turn it into area by 0.0104 gal/min for a ft² and in/h",
    )


def _momentum(width_mm: int, printed: str) -> Case:
    return Case(
        "H2",
        f"half circle of {width_mm} mm, brim-full at its far end, level, no friction",
        lambda: brim_flow_m3_per_s(gutter_section(width_mm / 1e3)) * 1e3,
        printed,
        "L/s",
        "CHOW_1959",
        "momentum at the free end equals pressure at the far end, solved apart",
        "computed",
    )


def _ratio(width_mm: int) -> Case:
    def ours() -> float:
        standard = gutter_flow_m3_per_s(width_mm / 1e3) / 0.9
        return standard / brim_flow_m3_per_s(gutter_section(width_mm / 1e3))

    return Case(
        "H2",
        f"half circle of {width_mm} mm: the standard over the momentum limit",
        ours,
        "0.801",
        "",
        "",
        "2.78e-5 A^1.25 over the frictionless limit: both grow as the 2.5th power of the size",
        "computed",
    )


def _soil_psf(soil: str, printed: str) -> Case:
    return Case(
        "L2",
        f"presumptive bearing of {soil}",
        lambda: bearing_soils()[soil].bears_pa / PSF_PA,
        printed,
        "psf",
        "IBC_1806_2",
        "table of presumptive load-bearing values",
        "confirmed",
    )


def _ice(frost_sum: float, printed: str) -> Case:
    return Case(
        "L3",
        f"ice after {frost_sum:g} degree days of frost",
        lambda: ice_depth_m(frost_sum) * 100.0,
        printed,
        "cm",
        "STEFAN_1891",
        "√(2 k F / (ρ L)), k 2.22, ρ 917, L 334 kJ/kg",
        "computed",
    )


def _drains(inches_per_hour: float, printed: str) -> Case:
    return Case(
        "F5",
        f"150 mm of water to drain at {inches_per_hour:g} in/h",
        lambda: soak_away_time_s(0.150, soak_m_per_s=inches_per_hour * INCH_M / 3600.0) / 3600.0,
        printed,
        "h",
        "MN_STORMWATER",
        "the rate is of the manual; depth over rate",
        "computed",
    )


CASES = [
    _momentum(100, "1.0784"),
    _momentum(125, "1.8838"),
    _momentum(150, "2.9716"),
    *(_ratio(width) for width in (75, 100, 125, 150)),
    Case(
        "H3",
        "level box, no friction: depth at the far end over critical depth",
        lambda: (
            (p := gutter_profile(_BOX, flow_m3_per_s=3e-3, length_m=10.0, manning=0.0)).deepest_m
            / p.end_m
        ),
        "1.73205",
        "",
        "CHOW_1959",
        "√3, closed form",
        "computed",
        within=1e-4,
    ),
    Case(
        "H4",
        "level box of 150 mm, 3 L/s over 10 m, Manning 0.011: deepest water",
        lambda: (
            gutter_profile(_BOX, flow_m3_per_s=3e-3, length_m=10.0, manning=0.011).deepest_m * 1e3
        ),
        "64.75",
        "mm",
        "CHOW_1959",
        "momentum stepped by another code",
        "computed",
        within=0.1,
    ),
    _leader(2, "23"),
    _leader(3, "67"),
    _leader(4, "144"),
    _leader(5, "261"),
    _leader(6, "424"),
    _leader(8, "913"),
    _code_leader("UPC 2000 by roof", 3, "6,440", "IAPMO_UPC_2000", "quoted"),
    _code_leader("UPC 2000 by roof", 4, "13,840", "IAPMO_UPC_2000", "quoted"),
    _code_leader("UPC 2000 by roof", 6, "40,800", "IAPMO_UPC_2000", "quoted"),
    _code_leader("NSPC 2006", 3, "6,426", "NSPC_2006", "confirmed"),
    Case(
        "H8",
        "drain of 6 in at 1/8 in/ft: its roof at 3.2 in/h",
        lambda: (
            next(
                r for r in code_rows() if r.code == "UPC 2000" and r.what == "drain"
            ).carries_m3_per_s
            / (3.2 * INCH_M / 3600.0)
            / _FOOT2
        ),
        "6,688",
        "ft²",
        "IAPMO_UPC_2000",
        "appendix D, 21,400 ft² at 1 in/h over 3.2",
        "quoted",
        within=1.0,
    ),
    Case(
        "H9",
        "drain of 4 in at 1/8 in/ft, 2,506 ft² at 3 in/h",
        lambda: next(r for r in code_rows() if r.code == "IPC 2012").carries_m3_per_s / _GPM,
        "78.2",
        "gal/min",
        "ICC_IPC_2012",
        "quoted with 0.0104 gal/min for a ft² and in/h, which is 0.1 % high",
        "quoted",
        within=0.1,
    ),
    Case(
        "H9",
        "the same by Manning, full, n 0.011",
        lambda: drain_flow_m3_per_s(4 * INCH_M, fall_frac=1 / 96, manning=0.011) / _GPM,
        "103",
        "gal/min",
        "CHOW_1959",
        "Manning's formula, separately worked",
        "computed",
    ),
    Case(
        "H10",
        "roof of 10 by 4 m, 3 m high: area in wind-driven rain",
        lambda: wind_area_m2(40.0, eave_m=10.0, rise_m=3.0),
        "55",
        "m²",
        "EN_12056_3",
        "L (W + H/2)",
        "quoted",
        within=1e-9,
    ),
    Case(
        "L1",
        "tote of 2,430 lb full on 48 by 40 in",
        lambda: pressure_pa(2430 * _POUND, area_m2=48 * 40 * INCH_M**2) / PSF_PA,
        "182",
        "psf",
        "common practice, no source",
        "trade sheets of totes",
        "common practice, no source",
    ),
    Case(
        "L1",
        "the same mass on three runners of 1.2 m",
        lambda: pressure_pa(1102.2, area_m2=runner_area_m2(1.2)) / 1e3,
        "30",
        "kPa",
        "",
        "weight over 3 × 0.1 × 1.2 m²",
        "computed",
    ),
    _soil_psf("sand", "2000"),
    _soil_psf("clay", "1500"),
    _soil_psf("gravel", "3000"),
    Case(
        "L2",
        "bearing where nobody knows the soil",
        lambda: bearing_soils()["unknown"].bears_pa / PSF_PA,
        "1500",
        "psf",
        "CFR_3285_202",
        "default value",
        "confirmed",
    ),
    _ice(10, "11.19"),
    _ice(50, "25.03"),
    _ice(100, "35.39"),
    Case(
        "L4",
        "1000 kg at 8 °C, 28 W/K, air at -10 °C: time to the freezing point",
        lambda: cooling_time_s(1000.0, loss_w_per_k=28.0, start_degc=8.0, air_degc=-10.0) / 3600.0,
        "24.41",
        "h",
        "INCROPERA_2007",
        "m c / UA ln(18/10)",
        "computed",
    ),
    Case(
        "L4",
        "the same: until a tenth of it is ice",
        lambda: freezing_time_s(1000.0, loss_w_per_k=28.0, air_degc=-10.0, ice_frac=0.1) / 3600.0,
        "33.1",
        "h",
        "INCROPERA_2007",
        "x m L / (UA × 10)",
        "computed",
    ),
    Case(
        "L5",
        "empty tote of 60 kg, 1.219 × 1.016 × 1.168 m: wind that tips it",
        lambda: tipping_wind_m_per_s(60.0, face_m=1.219, height_m=1.168, base_m=1.016),
        "21.24",
        "m/s",
        "ASCE_7",
        "√(W b/2 / (0.613 × 1.3 A h/2))",
        "computed",
    ),
    Case(
        "L5",
        "the same: wind that slides it",
        lambda: sliding_wind_m_per_s(60.0, face_m=1.219, height_m=1.168),
        "14.4",
        "m/s",
        "ASCE_7",
        "√(0.4 W / (0.613 × 1.3 A))",
        "computed",
    ),
    Case(
        "D1",
        "use of a US house with mains, summed over what it is for",
        lambda: sum(w.most_m3_per_day for w in house_wants().values()) / US_GALLON_M3,
        "138",
        "gal/day",
        "DEOREO_2016",
        "the total quoted in a summary; its parts from memory",
        "quoted",
        within=0.5,
    ),
    Case(
        "D1",
        "what a sheep or goat drinks",
        lambda: livestock_wants()["sheep or goat"].most_m3_per_day / US_GALLON_M3,
        "2",
        "gal/day",
        "common practice, no source",
        "extension sheets",
        "common practice, no source",
    ),
    Case(
        "D7",
        "berries: first coefficient",
        lambda: crops()["berries"].initial_factor,
        "0.30",
        "",
        "FAO_56_1998",
        "table 12",
        "quoted",
    ),
    Case(
        "D7",
        "berries: last coefficient",
        lambda: crops()["berries"].end_factor,
        "0.50",
        "",
        "FAO_56_1998",
        "table 12",
        "quoted",
    ),
    Case(
        "H1",
        "roof of 55 m² at 75 mm/h, as the United Kingdom has it: 0.021 L/s for a m²",
        lambda: 55.0 * next(r.rain_m_per_s or 0.0 for r in code_rain()) * 1e3,
        "1.155",
        "L/s",
        "EN_12056_3",
        "national default quoted as 0.021 L/s for a m²; 75 mm/h is 0.0208",
        "quoted",
        rel=0.01,
        note="the source rounds 75 mm/h up to 0.021 L/s for a m², by 0.8 %",
    ),
    Case(
        "F1",
        "silt loam under water for an hour: depth soaked in",
        lambda: green_ampt_m(3600.0, **_SILT) * 100.0,
        "3.17",
        "cm",
        "CHOW_MAIDMENT_MAYS_1988",
        "example 4.3.1, from memory",
        "memory",
    ),
    Case(
        "F1",
        "the same: rate at the end",
        lambda: green_ampt_rate_m_per_s(green_ampt_m(3600.0, **_SILT), **_SILT) / _CM_PER_H,
        "1.81",
        "cm/h",
        "CHOW_MAIDMENT_MAYS_1988",
        "example 4.3.1, from memory",
        "memory",
        within=0.01,
        note="the source goes on from a depth rounded to 3.17 cm",
    ),
    Case(
        "F2",
        "silt loam in rain of 1 cm/h: time to ponding",
        lambda: ponding_time_s(1.0 * _CM_PER_H, **_SILT) / 3600.0,
        "10.5",
        "h",
        "CHOW_MAIDMENT_MAYS_1988",
        "example 4.4.1, from memory",
        "memory",
    ),
    Case(
        "F2",
        "silt loam in rain of 5 cm/h: time to ponding",
        lambda: ponding_time_s(5.0 * _CM_PER_H, **_SILT) / 3600.0,
        "0.17",
        "h",
        "CHOW_MAIDMENT_MAYS_1988",
        "example 4.4.1, from memory",
        "memory",
    ),
    Case(
        "F3",
        "silt loam: suction at the front",
        lambda: soil_classes()["silt-loam"].suction_m * 100.0,
        "16.68",
        "cm",
        "RAWLS_1983",
        "table, from memory",
        "memory",
    ),
    Case(
        "F4",
        "Horton, 76 to 13 mm/h, 4.14/h, after an hour: rate",
        lambda: (
            horton_rate_m_per_s(
                3600.0,
                first_m_per_s=76 * _MM_PER_H,
                last_m_per_s=13 * _MM_PER_H,
                decay_per_s=4.14 / 3600.0,
            )
            / _MM_PER_H
        ),
        "14.003",
        "mm/h",
        "HORTON_1940",
        "fc + (f0 − fc) exp(−k t)",
        "computed",
    ),
    Case(
        "F4",
        "the same: depth",
        lambda: (
            horton_m(
                3600.0,
                first_m_per_s=76 * _MM_PER_H,
                last_m_per_s=13 * _MM_PER_H,
                decay_per_s=4.14 / 3600.0,
            )
            * 1e3
        ),
        "27.975",
        "mm",
        "HORTON_1940",
        "its integral",
        "computed",
    ),
    Case(
        "F4",
        "Philip, S 50 mm/√h, K 10 mm/h, after an hour",
        lambda: philip_m(3600.0, sorptivity=50e-3 / 60.0, soak_m_per_s=10 * _MM_PER_H) * 1e3,
        "60",
        "mm",
        "PHILIP_1957",
        "S √t + K t",
        "computed",
    ),
    _drains(0.8, "7.4"),
    _drains(0.45, "13.12"),
    _drains(0.3, "19.7"),
    _drains(0.2, "29.5"),
    _drains(0.06, "98.4"),
]

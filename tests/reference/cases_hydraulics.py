"""Pipes, fittings, valves, holes and overflows."""

from __future__ import annotations

from cases import Case
from roofspring.hydraulics import (
    air_sweep_speed_m_per_s,
    apron,
    drain_time_s,
    float_valve_flow_m3_per_s,
    flow_m3_per_s,
    friction_factor,
    kv_of_seat_m3_per_h,
    orifice_factor,
    orifice_flow_m3_per_s,
    screen_k,
    side_outlet_flow_m3_per_s,
    standpipe_flow_m3_per_s,
    strainer_k,
    surge_head_m,
)

_HOLE = orifice_factor(0.020, discharge_frac=0.62)
_LITRES_PER_MINUTE = 60e3


def _valve(head_m: float, opening_frac: float, printed: str) -> Case:
    return Case(
        "P4",
        f"float valve, Kv 1.7, {head_m:g} m head, {opening_frac:g} open",
        lambda: (
            float_valve_flow_m3_per_s(head_m, kv_m3_per_h=1.7, opening_frac=opening_frac)
            * _LITRES_PER_MINUTE
        ),
        printed,
        "L/min",
        "IEC_60534",
        "Kv × opening × √(pressure drop in bar / specific gravity)",
        "computed",
    )


def _seat(seat_mm: float, printed: str) -> Case:
    return Case(
        "P4",
        f"Kv of a {seat_mm:g} mm seat, discharge 0.7",
        lambda: kv_of_seat_m3_per_h(seat_mm / 1e3),
        printed,
        "m³/h",
        "",
        "0.0400 × discharge × d², d in mm",
        "computed",
    )


def _side(bore_mm: float, level_mm: float, printed: str) -> Case:
    return Case(
        "H12",
        f"side outlet, bore {bore_mm:g} mm, level {level_mm:g} mm over its bottom",
        lambda: (
            side_outlet_flow_m3_per_s(level_mm / 1e3, diameter_m=bore_mm / 1e3, entry_frac=1.0)
            * 1e3
        ),
        printed,
        "L/s",
        "",
        "critical flow in a circle, no entry loss",
        "computed",
    )


def _standpipe(level_mm: float, printed: str) -> Case:
    return Case(
        "H12",
        f"stand-pipe of 100 mm, {level_mm:g} mm over its rim",
        lambda: standpipe_flow_m3_per_s(level_mm / 1e3, diameter_m=0.1) * 1e3,
        printed,
        "L/s",
        "",
        "weir 1.7 π D h^1.5, then orifice 0.6",
        "computed",
    )


def _strainer(blocked_frac: float, printed: str) -> Case:
    return Case(
        "P7",
        f"strainer blocked to {blocked_frac:g}: times its clean K",
        lambda: strainer_k(blocked_frac, k0=1.0),
        printed,
        "",
        "",
        "1 / (1 - c)²",
        "computed",
        rel=1e-12,
    )


CASES = [
    Case(
        "P1",
        "Churchill friction factor, Re 1e5, relative roughness 1e-4",
        lambda: friction_factor(1e5, roughness_frac=1e-4),
        "0.018462625",
        "",
        "FLUIDS_DOCS",
        "friction factor examples",
        "confirmed",
    ),
    Case(
        "P1",
        "Churchill against Colebrook, Re 1e5, relative roughness 1e-4",
        lambda: friction_factor(1e5, roughness_frac=1e-4),
        "0.0185138661",
        "",
        "FLUIDS_DOCS",
        "friction factor examples, Colebrook",
        "confirmed",
        rel=0.005,
        note="Another formula: the two are known to differ by a few parts in a thousand",
    ),
    Case(
        "P1",
        "Churchill friction factor, Re 1000 (laminar)",
        lambda: friction_factor(1000.0, roughness_frac=1e-4),
        "0.06400",
        "",
        "",
        "64 / Re",
        "computed",
    ),
    Case(
        "P3",
        "flow by 1.0 m head through 6 m of 20.93 mm pipe, K 5.3, 20 °C",
        lambda: (
            flow_m3_per_s(
                1.0,
                diameter_m=0.02093,
                length_m=6.0,
                roughness_m=1.5e-6,
                k_sum=5.3,
                temp_degc=20.0,
            )
            * _LITRES_PER_MINUTE
        ),
        "26.09",
        "L/min",
        "",
        "Darcy and Weisbach with Churchill's factor, iterated",
        "computed",
        within=0.01,
    ),
    _valve(0.1, 1.0, "2.81"),
    _valve(0.3, 1.0, "4.860"),
    _valve(0.5, 1.0, "6.27"),
    _valve(1.0, 1.0, "8.87"),
    _valve(0.3, 0.5, "2.43"),
    _seat(6.35, "1.13"),
    _seat(12.0, "4.03"),
    Case(
        "P5",
        "draining 1 m² from 0.9 m through a 20 mm hole, discharge 0.62",
        lambda: drain_time_s(0.9, end_m=0.0, area_m2=1.0, outflow_factor=_HOLE) / 60.0,
        "36.66",
        "min",
        "",
        "Torricelli's law integrated",
        "computed",
    ),
    Case(
        "P5",
        "the same, from 0.9 m to 0.1 m",
        lambda: drain_time_s(0.9, end_m=0.1, area_m2=1.0, outflow_factor=_HOLE) / 60.0,
        "24.44",
        "min",
        "",
        "Torricelli's law integrated",
        "computed",
    ),
    Case(
        "P6",
        "1.2 m², out 4e-4 √h, in 1.5e-4 m³/s, from 0.8 m to 0.5 m",
        lambda: drain_time_s(
            0.8, end_m=0.5, area_m2=1.2, outflow_factor=4e-4, inflow_m3_per_s=1.5e-4
        ),
        "2130.28",
        "s",
        "",
        "closed form, and an ODE solver",
        "computed",
    ),
    _side(100.0, 100.0, "4.507"),
    _side(100.0, 50.0, "1.335"),
    _side(75.0, 75.0, "2.196"),
    _side(50.0, 50.0, "0.797"),
    _standpipe(30.0, "2.775"),
    _standpipe(100.0, "6.600"),
    _strainer(0.5, "4"),
    _strainer(0.8, "25"),
    _strainer(0.9, "100"),
    Case(
        "P7",
        "wire screen, half open",
        lambda: screen_k(0.5),
        "1.65",
        "",
        "IDELCHIK_1986",
        "circular wire screens",
        "memory",
        rel=1e-12,
    ),
    Case(
        "S49",
        "3 mm hole, discharge 0.61, 1 m head",
        lambda: orifice_flow_m3_per_s(1.0, diameter_m=0.003) * 3.6e6,
        "68.8",
        "L/h",
        "",
        "Cd A √(2 g h)",
        "computed",
        rel=5e-3,
        note="The reference used g = 9.81",
    ),
    Case(
        "P8",
        "surge of 1 m/s stopped at once in soft plastic, wave 400 m/s",
        lambda: surge_head_m(1.0, wave_m_per_s=400.0),
        "40.79",
        "m",
        "STREETER_WYLIE_1979",
        "a V / g, Joukowsky's law",
        "computed",
    ),
    Case(
        "P9",
        "air carried down a level 150 mm pipe: speed",
        lambda: air_sweep_speed_m_per_s(0.150, fall_frac=0.0),
        "0.740",
        "m/s",
        "ESCARAMEIA_2007",
        "0.61 √(9.80665 × 0.150): the form quoted, the number from memory",
        "memory",
    ),
    Case(
        "P10",
        "stones under a 100 mm pipe, 4.5 L/s, water of 0.4 of the bore below it",
        lambda: apron(4.5e-3, diameter_m=0.1).stone_m * 1e3,
        "17.5",
        "mm",
        "FHWA_HEC_14",
        "0.2 D (Q / (√g D^2.5))^(4/3) D/T, equation 10.4 quoted, worked by hand",
        "computed",
    ),
]

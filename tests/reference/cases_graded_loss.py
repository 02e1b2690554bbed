"""Clean head loss through a graded sand, sieve by sieve."""

from __future__ import annotations

import math

from cases import Case
from roofspring.sandfilter.headloss import (
    CleanBed,
    Rose,
    SizeClass,
    drag_of,
    reynolds_of,
)

# Davis (2010), example 11-2, page 11-15: per cent between sieves and their geometric mean, m.
_DAVIS = (
    (5.3, 0.002),
    (17.1, 0.00142),
    (14.6, 0.001),
    (20.4, 0.000714),
    (17.6, 0.000505),
    (11.9, 0.000357),
    (5.9, 0.000252),
    (3.1, 0.000178),
    (0.7, 0.000126),
)
_DAVIS_RATE = 0.0025  # m/s
_DAVIS_TEMP = 10.0  # degrees C; its Reynolds numbers imply nu = 1.307e-6 m2/s


def _davis_reynolds(grain_m: float) -> float:
    return reynolds_of(_DAVIS_RATE, grain_m=grain_m, sphericity_frac=0.82, temp_degc=_DAVIS_TEMP)


def _davis_sum() -> float:
    return math.fsum(drag_of(_davis_reynolds(d)) * p / 100.0 / d for p, d in _DAVIS)


def _davis_loss_m() -> float:
    total = math.fsum(p for p, _ in _DAVIS)
    bed = CleanBed(0.5, 0.3e-3, 2.8, 0.45, 0.82, tuple(SizeClass(p / total, d) for p, d in _DAVIS))
    return Rose().loss_m(_DAVIS_RATE, bed=bed, temp_degc=_DAVIS_TEMP) * total / 100.0


def _davis_row(sieve: str, grain_m: float, reynolds: str, drag: str) -> list[Case]:
    note = "The book's viscosity is a shade above ours at 10 °C"
    return [
        Case(
            "D11-2",
            f"Reynolds number, sieves {sieve}",
            lambda: _davis_reynolds(grain_m),
            reynolds,
            "",
            "DAVIS_2010",
            "example 11-2, page 11-15",
            "confirmed",
            rel=1e-3,
            note=note,
        ),
        Case(
            "D11-2",
            f"drag coefficient, sieves {sieve}",
            lambda: drag_of(_davis_reynolds(grain_m)),
            drag,
            "",
            "DAVIS_2010",
            "example 11-2, page 11-15",
            "confirmed",
            rel=1e-3,
            note=note,
        ),
    ]


CASES = [
    *_davis_row("8 to 12", 0.002, "3.1370", "9.684551"),
    *_davis_row("40 to 50", 0.000357, "0.55995", "47.21035"),
    *_davis_row("50 to 70", 0.000252, "0.39526", "60.72009"),
    *_davis_row("100 to 140", 0.000126, "0.19763", "121.4402"),
    Case(
        "D11-2",
        "sum of drag times share over size, nine sieves",
        _davis_sum,
        "75,025",
        "1/m",
        "DAVIS_2010",
        "example 11-2, page 11-15",
        "confirmed",
        rel=1e-3,
        note="The rows as printed have a Reynolds number of 0.5 between 30-40 and 50-70",
    ),
    Case(
        "D11-2",
        "clean head loss by Rose: 0.5 m, 9 m/h, porosity 0.45, sphericity 0.82",
        _davis_loss_m,
        "0.76",
        "m",
        "DAVIS_2010",
        "example 11-2, page 11-16",
        "confirmed",
        note="The printed per cents add up to 96.6, and are used as printed",
    ),
]

"""Gutters, their outlets, and downpipes."""

from __future__ import annotations

from cases import Case, Status
from roofspring.hydraulics import (
    downpipe_flow_m3_per_s,
    end_depth_m,
    gutter_flow_m3_per_s,
    length_factor,
    outlet_flow_m3_per_s,
)

_DESIGN_FACTOR = 0.9


def _half_round(width_mm: float, printed: str) -> Case:
    return Case(
        "H1",
        f"half-round gutter of {width_mm:g} mm, level: flow at which it spills",
        lambda: gutter_flow_m3_per_s(width_mm / 1e3) / _DESIGN_FACTOR * 1e3,
        printed,
        "L/s",
        "EN_12056_3",
        "2.78e-5 A^1.25, A in mm²: the formula is from memory, the number computed from it",
        "computed",
    )


def _downpipe(width_mm: float, full_frac: float, printed: str, status: Status = "computed") -> Case:
    what = "table of downpipes, from memory" if status == "memory" else "the formula is from memory"
    said = " by the table" if status == "memory" else ""
    return Case(
        "H7",
        f"downpipe of {width_mm:g} mm, {full_frac:g} full{said}",
        lambda: downpipe_flow_m3_per_s(width_mm / 1e3, full_frac=full_frac) * 1e3,
        printed,
        "L/s",
        "EN_12056_3",
        what,
        status,
        # One part of the last digit: the table and the formula round in their own ways.
        within=0.06 if status == "memory" else None,
    )


def _outlet(head_mm: float, printed: str) -> Case:
    return Case(
        "H11",
        f"round outlet of 100 mm, {head_mm:g} mm of water over it",
        lambda: outlet_flow_m3_per_s(head_mm / 1e3, diameter_m=0.1) * 1e3,
        printed,
        "L/s",
        "EN_12056_3",
        "weir D h^1.5 / 7500 to half the width, then orifice: from memory, the number computed",
        "computed",
    )


def _length(ratio: float, printed: str) -> Case:
    return Case(
        "H1",
        f"gutter {ratio:g} times as long as its water is deep: share of the flow left",
        lambda: length_factor(ratio * 0.05, depth_m=0.05),
        printed,
        "",
        "EN_12056_3",
        "length factors, level gutter",
        "quoted",
    )


CASES = [
    _half_round(75, "0.421"),
    _half_round(100, "0.864"),
    _half_round(112, "1.147"),
    _half_round(125, "1.510"),
    _half_round(150, "2.381"),
    Case(
        "H1",
        "box gutter of 150 by 100 mm, level: flow at which it spills",
        lambda: gutter_flow_m3_per_s(0.150, shape="box", depth_m=0.100) / _DESIGN_FACTOR * 1e3,
        "5.777",
        "L/s",
        "EN_12056_3",
        "3.48e-5 A^1.25, depth and form factors 1: from memory, the number computed from it",
        "computed",
    ),
    _length(50, "1.00"),
    _length(100, "0.93"),
    _length(150, "0.86"),
    _length(200, "0.80"),
    Case(
        "H3",
        "depth at the free end of a level box, 59.62 mm at its far end",
        lambda: end_depth_m(0.05962) * 1e3,
        "34.42",
        "mm",
        "CHOW_1959",
        "critical depth of 3 L/s in 150 mm, momentum without friction",
        "computed",
    ),
    _downpipe(50, 0.33, "1.69"),
    _downpipe(75, 0.33, "4.97"),
    _downpipe(100, 0.33, "10.71"),
    _downpipe(150, 0.33, "31.59"),
    _downpipe(50, 0.33, "1.7", "memory"),
    _downpipe(75, 0.33, "5.0", "memory"),
    _downpipe(100, 0.33, "10.7", "memory"),
    _downpipe(150, 0.33, "31.6", "memory"),
    _downpipe(100, 0.20, "4.6", "memory"),
    _outlet(30, "2.191"),
    _outlet(50, "4.714"),
    _outlet(100, "6.667"),
]

"""What eaves gutters carry by the standard, level or with a fall, before they spill."""

from __future__ import annotations

import csv
import math
from functools import cache
from importlib import resources

import numpy as np

from roofspring.errors.limits import not_negative, positive, share
from roofspring.hydraulics.gutter.section import gutter_section
from roofspring.hydraulics.gutter.varied import brim_flow_m3_per_s

CORNER_FRAC = 0.85
"""What a bend of more than 10 degrees on the way to the outlet leaves of the flow."""
LEVEL_FALL_FRAC = 0.003
"""Fall up to which a gutter counts as level."""
_DESIGN_FACTOR = 0.9
"""All shapes are designed to this share of the flow at which they just spill."""
_HALF_ROUND, _BOX = 2.78e-5, 3.48e-5
_END_DEPTH_FRAC = 1.0 / math.sqrt(3.0)
"""Depth at the free end of a level box gutter over its depth at the far end, without friction."""


def gutter_flow_m3_per_s(
    width_m: float,
    *,
    shape: str = "half-round",
    depth_m: float | None = None,
    sole_m: float | None = None,
    length_m: float | None = None,
    corner_frac: float = 1.0,
    fall_frac: float = 0.0,
) -> float:
    """Design flow of an eaves gutter that drains freely at one end.

    Parameters
    ----------
    width_m, shape, depth_m, sole_m
        As in `gutter_section`.
    length_m : float, optional
        Length that drains to the outlet [m], above 0; short when not given.
    corner_frac : float
        `CORNER_FRAC` where the gutter has a corner on the way, 1 where it has none [-].
    fall_frac : float
        Fall toward the outlet over length [-], 0 or more.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003, DOM-004)
        A size that is not above 0, a factor beyond 1, a shape that is not known.

    Notes
    -----
    ``0.9 k A**1.25`` with A the water section in mm2, k 2.78e-5 for a half circle and 3.48e-5 for
    the others, in L/s. The standard has two more factors for a box or trapezoid, read off figures
    that were not seen. In their place the flow is never more than `brim_flow_m3_per_s`, the
    momentum of a brim-full level gutter without friction: that lowers it for sections wider than
    about two and a half times their depth, and for narrow soles. Length and fall: `length_factor`.

    Source
    ------
    EN_12056_3, design of eaves gutters; not opened, the formulas are from memory. CHOW_1959 for
    the limit by momentum.

    Examples
    --------
    >>> round(gutter_flow_m3_per_s(0.100) * 1e3, 3)
    0.778
    >>> round(gutter_flow_m3_per_s(0.150, shape="box", depth_m=0.100) * 1e3, 3)
    5.2
    """
    section = gutter_section(width_m, shape=shape, depth_m=depth_m, sole_m=sole_m)
    positive("corner_frac", corner_frac)
    share("corner_frac", corner_frac)
    k = _HALF_ROUND if section.is_round else _BOX
    spills_m3_per_s = k * (section.area_m2(section.depth_m) * 1e6) ** 1.25 / 1e3
    spills_m3_per_s = min(spills_m3_per_s, brim_flow_m3_per_s(section))
    factor = 1.0
    if length_m is not None:
        factor = length_factor(length_m, depth_m=section.depth_m, fall_frac=fall_frac)
    not_negative("fall_frac", fall_frac)
    design_m3_per_s: float = _DESIGN_FACTOR * spills_m3_per_s * factor * corner_frac
    return design_m3_per_s


@cache
def _factors() -> tuple[tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Ratios of length to depth, falls, and a row of factors for each ratio."""
    path = resources.files("roofspring.hydraulics").joinpath("tables/gutter_length.csv")
    rows = list(csv.DictReader(path.read_text("utf-8").splitlines()))
    falls = tuple(key for key in rows[0] if key.startswith("fall_"))
    return (
        tuple(float(row["length_over_depth"]) for row in rows),
        tuple(float(key.removeprefix("fall_").removesuffix("_mm_per_m")) / 1e3 for key in falls),
        tuple(tuple(float(row[key]) for key in falls) for row in rows),
    )


def length_factor(length_m: float, *, depth_m: float, fall_frac: float = 0.0) -> float:
    """What length and fall leave of the flow of a short level gutter.

    Parameters
    ----------
    length_m : float
        Length that drains to the outlet [m], above 0.
    depth_m : float
        Depth of the gutter up to the level at which it spills [m], above 0.
    fall_frac : float
        Fall toward the outlet over length [-]; up to 0.003 counts as level, and more than 0.010 as
        0.010.

    Returns
    -------
    float
        Factor [-], over 1 where a fall helps.

    Raises
    ------
    RangeError (DOM-002)
        A value that cannot be.

    Notes
    -----
    Read from a table by length over depth and fall, by straight lines. Beyond 200 depths the factor
    falls as one over the length, which is our choice and on the careful side.

    Source
    ------
    EN_12056_3, length factors: the level column quoted, the falls from memory.

    Examples
    --------
    >>> round(length_factor(5.0, depth_m=0.05), 3), round(length_factor(20.0, depth_m=0.05), 3)
    (0.93, 0.4)
    >>> round(length_factor(5.0, depth_m=0.05, fall_frac=0.006), 3)
    1.08
    """
    positive("length_m", length_m)
    positive("depth_m", depth_m)
    not_negative("fall_frac", fall_frac)
    ratios, falls, rows = _factors()
    fall = 0.0 if fall_frac <= LEVEL_FALL_FRAC else fall_frac
    ratio = max(ratios[0], length_m / depth_m)
    nearest = min(ratio, ratios[-1])
    columns = [float(np.interp(nearest, ratios, column)) for column in zip(*rows, strict=True)]
    factor = float(np.interp(fall, falls, columns))
    return factor * min(1.0, ratios[-1] / ratio)


def end_depth_m(depth_m: float) -> float:
    """Depth of water at the free end of a level gutter that is brim-full at its far end [m].

    ``y0 = sqrt(3) yc``: water falling freely off a level box without friction, by the balance of
    momentum (CHOW_1959, spatially varied flow). Taken for half-round gutters too.

    >>> round(end_depth_m(0.05962), 4)
    0.0344
    """
    positive("depth_m", depth_m)
    return depth_m * _END_DEPTH_FRAC

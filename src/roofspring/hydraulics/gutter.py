"""Level eaves gutters, their outlets, and downpipes: the flow each carries before it spills."""

from __future__ import annotations

import math

import numpy as np

from roofspring.errors.limits import known, part_share, positive, share

SHAPES = ("half-round", "box")

CORNER_FRAC = 0.85
"""What a bend of more than 10 degrees on the way to the outlet leaves of the flow."""
_DESIGN_FACTOR = 0.9
"""Both shapes are designed to this share of the flow at which they just spill."""
_HALF_ROUND, _BOX = 2.78e-5, 3.48e-5
_SHORT = 50.0
"""Length over depth of water up to which a gutter is hydraulically short."""
_LENGTH_RATIOS = (50.0, 100.0, 150.0, 200.0)
_LENGTH_FACTORS = (1.0, 0.93, 0.86, 0.80)
_END_DEPTH_FRAC = 1.0 / math.sqrt(3.0)
"""Depth at the free end of a level box gutter over its depth at the far end, without friction."""


def gutter_flow_m3_per_s(
    width_m: float,
    *,
    shape: str = "half-round",
    depth_m: float | None = None,
    length_m: float | None = None,
    corner_frac: float = 1.0,
) -> float:
    """Design flow of a level eaves gutter that drains freely at one end.

    Parameters
    ----------
    width_m : float
        Width inside, at the level at which it spills [m], above 0.
    shape : str
        ``half-round``, a full half circle; or ``box``.
    depth_m : float, optional
        Depth of a box, up to the level at which it spills [m], above 0. Half the width when not
        given, which is what a half-round gutter has.
    length_m : float, optional
        Length that drains to the outlet [m], above 0; short when not given.
    corner_frac : float
        `CORNER_FRAC` where the gutter has a corner on the way, 1 where it has none [-].

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
    ``0.9 k A**1.25`` with A the water section in mm2, k 2.78e-5 for a half circle and 3.48e-5 for a
    box, in L/s; the depth and form factors of a box are taken as 1. A gutter longer than 50 times
    its depth carries less: 0.93 of it at 100 times, 0.86 at 150, 0.80 at 200. Beyond that the
    factor falls as one over the length, which is our choice and on the careful side. A fall of up
    to 3 mm a metre counts as level.

    Source
    ------
    EN_12056_3, design of eaves gutters; not opened, the formulas are from memory.

    Examples
    --------
    >>> round(gutter_flow_m3_per_s(0.100) * 1e3, 3)
    0.778
    >>> round(gutter_flow_m3_per_s(0.150, shape="box", depth_m=0.100) * 1e3, 3)
    5.2
    """
    positive("width_m", width_m)
    known("gutter shape", shape, SHAPES)
    positive("corner_frac", corner_frac)
    share("corner_frac", corner_frac)
    depth_m = width_m / 2.0 if depth_m is None else depth_m
    positive("depth_m", depth_m)
    if shape == "half-round":
        section_m2, k = math.pi * width_m**2 / 8.0, _HALF_ROUND
    else:
        section_m2, k = width_m * depth_m, _BOX
    long_factor = 1.0 if length_m is None else length_factor(length_m, depth_m=depth_m)
    litres_per_s: float = _DESIGN_FACTOR * k * (section_m2 * 1e6) ** 1.25
    return litres_per_s * long_factor * corner_frac / 1e3


def length_factor(length_m: float, *, depth_m: float) -> float:
    """What the length of a level gutter leaves of its flow [-], by its length over its depth.

    >>> round(length_factor(5.0, depth_m=0.05), 3), round(length_factor(20.0, depth_m=0.05), 3)
    (0.93, 0.4)
    """
    positive("length_m", length_m)
    positive("depth_m", depth_m)
    ratio = max(_SHORT, length_m / depth_m)
    if ratio > _LENGTH_RATIOS[-1]:
        return _LENGTH_FACTORS[-1] * _LENGTH_RATIOS[-1] / ratio
    return float(np.interp(ratio, _LENGTH_RATIOS, _LENGTH_FACTORS))


def end_depth_m(depth_m: float) -> float:
    """Depth of water at the free end of a level gutter that is brim-full at its far end [m].

    ``y0 = sqrt(3) yc``: water falling freely off a level box without friction, by the balance of
    momentum (CHOW_1959, spatially varied flow). Taken for half-round gutters too.

    >>> round(end_depth_m(0.05962), 4)
    0.0344
    """
    positive("depth_m", depth_m)
    return depth_m * _END_DEPTH_FRAC


def outlet_flow_m3_per_s(head_m: float, *, diameter_m: float, strainer_frac: float = 1.0) -> float:
    """Flow through a sharp-edged round outlet in the sole of a gutter.

    Parameters
    ----------
    head_m : float
        Depth of water over the outlet [m], above 0.
    diameter_m : float
        Diameter of the outlet [m], above 0.
    strainer_frac : float
        1 for a bare outlet, 0.5 for one under a leaf strainer [-].

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A size not above 0, or a factor not above 0 or beyond 1.

    Notes
    -----
    A weir, ``D h**1.5 / 7500``, up to half the diameter; an orifice, ``D**2 h**0.5 / 15000``, above
    it; in L/s and mm. Both give the same at half the diameter.

    Source
    ------
    EN_12056_3, table of outlets; not opened, from memory.

    Examples
    --------
    >>> round(outlet_flow_m3_per_s(0.050, diameter_m=0.100) * 1e3, 3)
    4.714
    """
    positive("head_m", head_m)
    positive("diameter_m", diameter_m)
    positive("strainer_frac", strainer_frac)
    share("strainer_frac", strainer_frac)
    head_mm, diameter_mm = head_m * 1e3, diameter_m * 1e3
    if head_mm <= diameter_mm / 2.0:
        litres_per_s = diameter_mm * head_mm**1.5 / 7500.0
    else:
        litres_per_s = diameter_mm**2 * head_mm**0.5 / 15000.0
    return float(strainer_frac * litres_per_s / 1e3)


def downpipe_flow_m3_per_s(
    diameter_m: float, *, full_frac: float = 0.33, roughness_m: float = 0.25e-3
) -> float:
    """Flow down a vertical pipe, as a ring of water that fills a share of its section.

    Parameters
    ----------
    diameter_m : float
        Inside diameter [m], above 0.
    full_frac : float
        Share of the section that water fills [-], 0.20 to 0.33 in use.
    roughness_m : float
        Roughness of the wall [m], above 0.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A size not above 0, or a share not between 0 and 1.

    Notes
    -----
    Wyly and Eaton: ``2.5e-4 k**-0.167 D**2.667 f**1.667``, in L/s and mm.

    Source
    ------
    EN_12056_3, rainwater downpipes; not opened, from memory.

    Examples
    --------
    >>> round(downpipe_flow_m3_per_s(0.075) * 1e3, 2)
    4.97
    """
    positive("diameter_m", diameter_m)
    part_share("full_frac", full_frac)
    positive("roughness_m", roughness_m)
    litres_per_s: float = (
        2.5e-4 * (roughness_m * 1e3) ** -0.167 * (diameter_m * 1e3) ** 2.667 * full_frac**1.667
    )
    return litres_per_s / 1e3

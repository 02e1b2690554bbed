"""Outlets of gutters, downpipes, and drains that run part full; with the tables of codes."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import INCH_M, US_GALLON_M3
from roofspring.errors.limits import part_share, positive, share

LEADER_FULL_FRAC = 7.0 / 24.0
"""Share of a leader that water fills in the tables of US codes."""
_SQUARE_FOOT_M2 = (12.0 * INCH_M) ** 2
_GALLONS_PER_MINUTE_M3_PER_S = US_GALLON_M3 / 60.0


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


def leader_flow_m3_per_s(diameter_m: float, *, full_frac: float = LEADER_FULL_FRAC) -> float:
    """Flow down a leader by the form of Wyly and Eaton's law that US codes use.

    Parameters
    ----------
    diameter_m : float
        Inside diameter [m], above 0.
    full_frac : float
        Share of the section that water fills [-], 7/24 in the codes.

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
    ``27.8 r**(5/3) D**(8/3)`` in gallons a minute and inches.

    Source
    ------
    IAPMO_UPC_2000, table of leaders; the law from memory.

    Examples
    --------
    >>> round(leader_flow_m3_per_s(0.1016) * 60e3 / 3.785412, 1)
    143.8
    """
    positive("diameter_m", diameter_m)
    part_share("full_frac", full_frac)
    gallons = 27.8 * full_frac ** (5.0 / 3.0) * (diameter_m / INCH_M) ** (8.0 / 3.0)
    return float(gallons * _GALLONS_PER_MINUTE_M3_PER_S)


def drain_flow_m3_per_s(
    diameter_m: float, *, fall_frac: float, manning: float, depth_frac: float = 1.0
) -> float:
    """Flow of a drain laid at a fall, full or part full, without pressure.

    Parameters
    ----------
    diameter_m : float
        Inside diameter [m], above 0.
    fall_frac : float
        Fall over length [-], above 0.
    manning : float
        Manning's n [s/m^(1/3)], above 0; 0.009 to 0.011 for plastic.
    depth_frac : float
        Depth of water over diameter [-], above 0, at most 1.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value not above 0, or more than full.

    Notes
    -----
    ``Q = A R**(2/3) fall**0.5 / n``.

    Source
    ------
    CHOW_1959, Manning's formula.

    Examples
    --------
    >>> q = drain_flow_m3_per_s(0.1016, fall_frac=1 / 96, manning=0.011)
    >>> round(q * 60e3 / 3.785412)
    103
    """
    positive("diameter_m", diameter_m)
    positive("fall_frac", fall_frac)
    positive("manning", manning)
    positive("depth_frac", depth_frac)
    share("depth_frac", depth_frac)
    half = math.acos(1.0 - 2.0 * depth_frac)
    area_m2 = diameter_m**2 * (half - math.sin(half) * math.cos(half)) / 4.0
    radius_m = area_m2 / (diameter_m * half)
    return float(area_m2 * radius_m ** (2.0 / 3.0) * math.sqrt(fall_frac) / manning)


@dataclass(frozen=True)
class CodeRow:
    """What a code lets one size of leader or drain carry.

    Attributes
    ----------
    code : str
        Short name of the code.
    what : str
        ``leader`` or ``drain``.
    diameter_m : float
    fall_frac : float or None
        Of a drain [-].
    flow_m3_per_s, roof_m2, rain_m_per_s : float or None
        Flow [m3/s], or roof area [m2] at an intensity [m/s], as the code prints it.
    source, seen : str
    """

    code: str
    what: str
    diameter_m: float
    fall_frac: float | None
    flow_m3_per_s: float | None
    roof_m2: float | None
    rain_m_per_s: float | None
    source: str
    seen: str

    @property
    def carries_m3_per_s(self) -> float:
        """The flow, from the roof area and the intensity where the code prints those [m3/s]."""
        if self.flow_m3_per_s is not None:
            return self.flow_m3_per_s
        assert self.roof_m2 is not None and self.rain_m_per_s is not None
        return self.roof_m2 * self.rain_m_per_s


@cache
def code_rows() -> tuple[CodeRow, ...]:
    """The tables of codes for leaders and drains, as printed, in the order of the file.

    >>> [row.code for row in code_rows() if row.what == "drain"]
    ['UPC 2000', 'IPC 2012', 'IPC 2021']
    """
    path = resources.files("roofspring.hydraulics").joinpath("tables/leaders.csv")
    inch_per_hour = INCH_M / 3600.0

    def number(text: str, unit: float) -> float | None:
        return float(text) * unit if text else None

    return tuple(
        CodeRow(
            row["code"],
            row["what"],
            float(row["diameter_in"]) * INCH_M,
            number(row["fall_in_per_ft"], 1.0 / 12.0),
            number(row["flow_gpm"], _GALLONS_PER_MINUTE_M3_PER_S),
            number(row["roof_ft2"], _SQUARE_FOOT_M2),
            number(row["rain_in_per_h"], inch_per_hour),
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )

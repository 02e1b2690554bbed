"""The drain under the gravel: a perforated pipe, how evenly it draws, and what it costs in head."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2, Sourced
from roofspring.errors import Finding
from roofspring.errors.limits import not_negative, part_share, positive
from roofspring.sources import ENGINEERING_CHOICE

HOLE = Sourced(3e-3, "m", "VAN_DIJK_OOMEN_1978", "2 to 4 mm in use")
HOLE_RATIO = Sourced(0.0015, "", "VAN_DIJK_OOMEN_1978", "0.0015 to 0.005 of the bed")
HOLE_RATIO_RANGE = (0.0015, 0.005)
LATERAL_MOST = Sourced(0.2286, "m/s", "MINN_R_4720, part 4720.3947", "0.75 ft/s in laterals")
VAN_DIJK_MOST = Sourced(0.5, "m/s", "VAN_DIJK_OOMEN_1978", "in laterals and manifold")
LATERAL_HOLE_LEAST = Sourced(2.0, "", "NR_811", "area of the lateral over that of its holes")
SPREAD_MOST_FRAC = 0.10
"""Unevenness of draw from which on the drain matters: engineering choice, with 5 % better."""
DISCHARGE_FRAC = 0.61
"""Coefficient of a sharp hole, as in the orifice of the hydraulics part."""
LAMINAR_REYNOLDS = 2000.0


@dataclass(frozen=True)
class Underdrain:
    """A perforated lateral under one bed.

    Attributes
    ----------
    holes_count : int
        In all laterals.
    spacing_m : float
        From hole to hole along a lateral.
    hole_m_per_s, lateral_m_per_s : float
        Velocity in the holes, and at the end of a lateral.
    hole_loss_m : float
        Head lost in a hole.
    lateral_spread_m : float
        Difference of head between the far and the near end of a lateral.
    spread_frac : float
        How much more the near end draws than the far end, over the mean.
    hole_frac, lateral_ratio : float
        Area of holes over bed, and of a lateral over its holes.
    """

    holes_count: int
    spacing_m: float
    hole_m_per_s: float
    lateral_m_per_s: float
    hole_loss_m: float
    lateral_spread_m: float
    spread_frac: float
    hole_frac: float
    lateral_ratio: float


def holes_for(area_m2: float, *, hole_frac: float, hole_m: float) -> int:
    """Holes that a bed needs for a share of its area to be open, rounded up.

    >>> holes_for(0.5, hole_frac=0.0015, hole_m=3e-3)
    107
    """
    positive("area_m2", area_m2)
    part_share("hole_frac", hole_frac)
    return math.ceil(hole_frac * area_m2 / _circle_m2(hole_m) - 1e-9)


def hole_loss_m(velocity_m_per_s: float) -> float:
    """Head lost in a sharp hole, ``(v / Cd)**2 / 2 g`` [m].

    >>> round(hole_loss_m(0.0185) * 1e3, 3)
    0.047
    """
    not_negative("velocity_m_per_s", velocity_m_per_s)
    return (velocity_m_per_s / DISCHARGE_FRAC) ** 2 / (2.0 * GRAVITY_M_PER_S2)


def manifold_factor(evenness_frac: float) -> float:
    """Head in the holes over the spread along the pipe, for least flow over greatest.

    Parameters
    ----------
    evenness_frac : float
        Least flow of a hole over the greatest [-], above 0 and below 1.

    Returns
    -------
    float
        ``1 / (1 - m**2)``.

    Raises
    ------
    RangeError (DOM-003)
        Not above 0 and below 1.

    Notes
    -----
    For pipes whose holes alone make the draw even. Under slow sand the bed does.

    Source
    ------
    Closed form of flow through equal holes.

    Examples
    --------
    >>> round(manifold_factor(0.9), 3)
    5.263
    """
    part_share("evenness_frac", evenness_frac)
    return 1.0 / (1.0 - evenness_frac**2)


def underdrain(
    area_m2: float,
    *,
    rate_m_per_s: float,
    bed_loss_m: float,
    holes_count: int,
    hole_m: float,
    laterals_count: int,
    lateral_m: float,
    length_m: float,
    friction_m: float,
    reynolds: float,
) -> Underdrain:
    """A perforated pipe under a bed.

    Parameters
    ----------
    area_m2 : float
        Area of the bed [m2].
    rate_m_per_s : float
        Filtration rate [m/s]; the drain is hardest put to it at the highest.
    bed_loss_m : float
        Head lost in the clean bed at that rate [m], above 0: it is what evens the draw.
    holes_count : int
        In all laterals, from `holes_for`.
    hole_m : float
        Diameter of a hole [m].
    laterals_count : int
    lateral_m : float
        Inside diameter of a lateral [m].
    length_m : float
        Length of a lateral [m].
    friction_m : float
        Friction along one lateral if all its flow ran its whole length [m].
    reynolds : float
        Reynolds number at its end.

    Returns
    -------
    Underdrain

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    Flow gathers evenly along a lateral, so it loses a half of the friction of the full flow where
    that is laminar and a third where it is turbulent, and gains the velocity head besides (twice
    it, if the water that joins brings no speed along: a few per cent more under slow sand). Spread
    of the draw: that difference over the loss of the clean bed and the holes.

    Source
    ------
    Closed form (flow gathered evenly along a pipe); DARCY_1856 (the bed).
    """
    for name, value in (
        ("area_m2", area_m2),
        ("rate_m_per_s", rate_m_per_s),
        ("bed_loss_m", bed_loss_m),
        ("holes_count", holes_count),
        ("laterals_count", laterals_count),
        ("length_m", length_m),
    ):
        positive(name, value)
    not_negative("friction_m", friction_m)
    flow = area_m2 * rate_m_per_s
    holes_m2 = holes_count * _circle_m2(hole_m)
    lateral_m2 = _circle_m2(lateral_m)
    hole_v = flow / holes_m2
    end_v = flow / laterals_count / lateral_m2
    share = 0.5 if reynolds <= LAMINAR_REYNOLDS else 1.0 / 3.0
    spread_m = share * friction_m + end_v**2 / (2.0 * GRAVITY_M_PER_S2)
    loss_m = hole_loss_m(hole_v)
    return Underdrain(
        holes_count,
        length_m * laterals_count / holes_count,
        hole_v,
        end_v,
        loss_m,
        spread_m,
        spread_m / (bed_loss_m + loss_m),
        holes_m2 / area_m2,
        lateral_m2 * laterals_count / holes_m2,
    )


def underdrain_findings(drain: Underdrain, where: str = "underdrain") -> tuple[Finding, ...]:
    """Where the drain leaves the published ranges."""
    found = []
    if drain.lateral_m_per_s > LATERAL_MOST.value:
        found.append(
            Finding(
                "GRV-110",
                "caution",
                "water runs too fast in the drain pipe",
                where,
                f"{drain.lateral_m_per_s:.2f} m/s",
                f"at most {LATERAL_MOST.value:.2f} m/s; another source allows "
                f"{VAN_DIJK_MOST.value:g} m/s (VAN_DIJK_OOMEN_1978)",
                LATERAL_MOST.source,
                "take a wider pipe, or more of them",
            )
        )
    if drain.spread_frac > SPREAD_MOST_FRAC:
        found.append(
            Finding(
                "GRV-111",
                "caution",
                "the drain draws unevenly: sand near its end works harder",
                where,
                f"{100 * drain.spread_frac:.0f} % of the clean bed's loss",
                f"at most {100 * SPREAD_MOST_FRAC:g} %",
                ENGINEERING_CHOICE,
                "take a wider or shorter pipe, or more laterals",
            )
        )
    low, high = HOLE_RATIO_RANGE
    if not low * 0.98 <= drain.hole_frac <= high:
        found.append(
            Finding(
                "GRV-112",
                "note",
                "the area of the drain holes is outside what is usual",
                where,
                f"{100 * drain.hole_frac:.2f} % of the bed",
                f"{100 * low:g} to {100 * high:g} %",
                HOLE_RATIO.source,
                "change the count of holes",
            )
        )
    if drain.lateral_ratio < LATERAL_HOLE_LEAST.value:
        found.append(
            Finding(
                "GRV-113",
                "note",
                "the drain pipe is narrow for the area of its holes",
                where,
                f"{drain.lateral_ratio:.1f} times their area",
                f"at least {LATERAL_HOLE_LEAST.value:g} times",
                LATERAL_HOLE_LEAST.source,
                "take a wider pipe, or more of them",
            )
        )
    return tuple(found)


def _circle_m2(diameter_m: float) -> float:
    positive("diameter_m", diameter_m)
    return math.pi * diameter_m**2 / 4.0

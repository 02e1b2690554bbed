"""What the wall of the box does to the flow: little by its drag, much where it leaves a gap.

The mean effect is small and can be reckoned; the sneak path down a smooth wall cannot. So the
answer is a rule of size, a number for the mean, and the cure: a rough or ribbed wall.
"""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.errors.limits import part_share, positive
from roofspring.sources import COMMON_PRACTICE

LEAST_RATIO = 50.0
"""Width of the box over grain size from which the mean effect is not looked at; common practice."""


@dataclass(frozen=True)
class WallEffect:
    """The wall's mean effects on a bed of one grain size.

    Attributes
    ----------
    ratio : float
        Width of the box over grain size [-].
    drag_factor : float
        Head loss with the wall's drag over head loss without [-], 1 or a little more.
    looser_frac : float or None
        What looser packing along the wall adds to the mean porosity [-]; None where the ratio lies
        beyond the range that was measured, 1.5 to 50, and the effect is less than at its end.
    """

    ratio: float
    drag_factor: float
    looser_frac: float | None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """BED-101 where the box is too narrow for its grains."""
        if self.ratio >= LEAST_RATIO:
            return ()
        return (
            Finding(
                "BED-101",
                "caution",
                "the box is narrow for its grains: much of the water may run down the wall",
                where="filter box",
                got=f"{self.ratio:.0f} grains across",
                limit=f"{LEAST_RATIO:g} grains or more",
                source=COMMON_PRACTICE,
                next="use a wider box or finer sand, and roughen or rib the wall",
            ),
        )


def wall_effect(width_m: float, *, grain_m: float, porosity_frac: float) -> WallEffect:
    """Mean effect of the wall on the head lost in a round bed, or a square one as wide.

    Parameters
    ----------
    width_m : float
        Inside diameter, or side, of the box [m], above 0.
    grain_m : float
        Grain size [m], above 0.
    porosity_frac : float
        Porosity away from the wall [-], above 0 and below 1.

    Returns
    -------
    WallEffect

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    Drag: the wall adds its own wetted surface to that of the grains, so the laminar loss is
    multiplied by ``(1 + 2 d / (3 D (1 - e)))**2``. Packing: ``1.0814 / (D/d + 0.1226)**2`` more
    voids, measured for D/d of 1.5 to 50. A household box is a thousand grains wide, and both are
    far below what the formulas of head loss differ by.

    Source
    ------
    MEHTA_HAWLEY_1969 for the drag; BENYAHIA_ONEILL_2005 for the packing.

    Examples
    --------
    >>> effect = wall_effect(0.30, grain_m=0.4e-3, porosity_frac=0.40)
    >>> round(effect.ratio), round(effect.drag_factor, 4), effect.looser_frac
    (750, 1.003, None)
    """
    positive("width_m", width_m)
    positive("grain_m", grain_m)
    part_share("porosity_frac", porosity_frac)
    ratio = width_m / grain_m
    drag = (1.0 + 2.0 / (3.0 * ratio * (1.0 - porosity_frac))) ** 2
    measured = 1.5 <= ratio <= LEAST_RATIO
    return WallEffect(ratio, drag, 1.0814 / (ratio + 0.1226) ** 2 if measured else None)

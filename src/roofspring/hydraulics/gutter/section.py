"""Water sections of gutters: area, width, first moment and wetted perimeter at a depth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.errors.limits import known, not_negative, positive

SHAPES = ("half-round", "box", "trapezoid")


@dataclass(frozen=True)
class Section:
    """A gutter's section, ``half-round`` or with straight sides.

    Attributes
    ----------
    width_m, depth_m, sole_m : float
        Width at the level at which it spills, depth to there, and width of the sole; a half circle
        has no sole.
    is_round : bool
    """

    width_m: float
    depth_m: float
    sole_m: float
    is_round: bool

    def area_m2(self, water_m: float) -> float:
        """Water section at a depth."""
        if self.is_round:
            half = self._half_angle(water_m)
            return self._radius_m**2 * (half - math.sin(half) * math.cos(half))
        return water_m * (self.sole_m + 0.5 * self._lean * water_m)

    def surface_m(self, water_m: float) -> float:
        """Width of the water surface at a depth."""
        if self.is_round:
            return 2.0 * self._radius_m * math.sin(self._half_angle(water_m))
        return self.sole_m + self._lean * water_m

    def moment_m3(self, water_m: float) -> float:
        """Water section times the depth of its middle: the pressure on it, over weight."""
        if self.is_round:
            half = self._half_angle(water_m)
            sine = math.sin(half)
            return self._radius_m**3 * (sine - sine**3 / 3.0 - half * math.cos(half))
        return water_m**2 * (self.sole_m / 2.0 + self._lean * water_m / 6.0)

    def wetted_m(self, water_m: float) -> float:
        """Wetted perimeter at a depth."""
        if self.is_round:
            return 2.0 * self._radius_m * self._half_angle(water_m)
        return self.sole_m + 2.0 * water_m * math.hypot(1.0, 0.5 * self._lean)

    @property
    def _radius_m(self) -> float:
        return self.width_m / 2.0

    @property
    def _lean(self) -> float:
        return (self.width_m - self.sole_m) / self.depth_m

    def _half_angle(self, water_m: float) -> float:
        return math.acos(max(-1.0, 1.0 - water_m / self._radius_m))


def gutter_section(
    width_m: float,
    *,
    shape: str = "half-round",
    depth_m: float | None = None,
    sole_m: float | None = None,
) -> Section:
    """The section of a gutter by its sizes.

    Parameters
    ----------
    width_m : float
        Width inside, at the level at which it spills [m], above 0.
    shape : str
        ``half-round``, a full half circle; ``box``; or ``trapezoid``, which widens upward.
    depth_m : float, optional
        Depth of a box or trapezoid, up to the level at which it spills [m], above 0; half the width
        when not given.
    sole_m : float, optional
        Width of the sole of a trapezoid [m], 0 to the width; two thirds of it when not given.

    Returns
    -------
    Section

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A size that cannot be, a shape that is not known.

    Notes
    -----
    Plane geometry. Two thirds for a sole that nobody gave is an engineering choice.

    Source
    ------
    CHOW_1959, elements of channel sections.

    Examples
    --------
    >>> round(gutter_section(0.2, shape="box", depth_m=0.1).area_m2(0.05), 4)
    0.01
    """
    positive("width_m", width_m)
    known("gutter shape", shape, SHAPES)
    depth_m = width_m / 2.0 if depth_m is None else depth_m
    positive("depth_m", depth_m)
    if shape == "half-round":
        return Section(width_m, width_m / 2.0, 0.0, is_round=True)
    if shape == "box":
        return Section(width_m, depth_m, width_m, is_round=False)
    sole_m = 2.0 * width_m / 3.0 if sole_m is None else sole_m
    not_negative("sole_m", sole_m)
    not_negative("width_m - sole_m", width_m - sole_m)
    return Section(width_m, depth_m, sole_m, is_round=False)

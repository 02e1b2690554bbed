"""Tank geometry: depth, volume and height of the shapes a plan can hold.

All tanks of a ganged set count together. Depths are over the inside floor. The functions expect a
tank whose shape is complete, which reading a plan makes sure of.
"""

from __future__ import annotations

import math
from bisect import bisect_right

from roofspring.plan.model import Tank

_SERIES_BELOW_RAD = 0.02


def inside_height_m(tank: Tank) -> float:
    """Inside height of the tank, floor to brim [m].

    Examples
    --------
    >>> inside_height_m(Tank(shape="lying", diameter="1.2 m", length="2 m"))
    1.2
    """
    if tank.shape == "lying":
        return _known(tank.diameter_m)
    if tank.shape == "table":
        return _rows(tank)[0][-1]
    return _known(tank.height_inside_m)


def brim_volume_m3(tank: Tank) -> float:
    """Volume of all tanks of the set when full to the brim [m3].

    Examples
    --------
    >>> brim_volume_m3(Tank(shape="box", length="2 m", width="1 m", height="0.5 m", count=3))
    3.0
    """
    return tank.tanks_count * _one_full_m3(tank)


def depth_to_volume_m3(tank: Tank, depth_m: float) -> float:
    """Volume that stands in the set of tanks at a depth over the floor.

    Parameters
    ----------
    tank : Tank
    depth_m : float
        [m]. Below 0 the tank is empty; above the brim it is full.

    Returns
    -------
    float
        [m3]

    Notes
    -----
    A lying cylinder of radius R and length L holds ``L R**2 (t - sin t) / 2`` with
    ``t = 2 acos(1 - depth / R)``, the circular segment. A table is joined by straight lines.

    Examples
    --------
    >>> half = depth_to_volume_m3(Tank(shape="lying", diameter="2 m", length="1 m"), 1.0)
    >>> round(half, 6)
    1.570796
    """
    height_m = inside_height_m(tank)
    depth_m = min(max(depth_m, 0.0), height_m)
    if tank.shape == "lying":
        share = _segment_share(4.0 * math.asin(math.sqrt(depth_m / height_m)))
    elif tank.shape == "table":
        share = _between(*_rows(tank), at=depth_m) / _one_full_m3(tank)
    else:
        share = depth_m / height_m
    return brim_volume_m3(tank) * share


def volume_to_depth_m(tank: Tank, volume_m3: float) -> float:
    """Depth over the floor at which the set of tanks holds a volume.

    Parameters
    ----------
    tank : Tank
    volume_m3 : float
        [m3]. Below 0 the depth is 0; above the full volume it is the inside height.

    Returns
    -------
    float
        [m]

    Notes
    -----
    The inverse of `depth_to_volume_m3`; for a lying cylinder by halving the angle's interval until
    it cannot be halved further.

    Examples
    --------
    >>> round(volume_to_depth_m(Tank(shape="lying", diameter="2 m", length="1 m"), 1.5707963), 6)
    1.0
    """
    full_m3 = brim_volume_m3(tank)
    height_m = inside_height_m(tank)
    share = min(max(volume_m3 / full_m3, 0.0), 1.0)
    if tank.shape == "lying":
        return height_m * math.sin(_segment_angle_rad(share) / 4.0) ** 2
    if tank.shape == "table":
        depths_m, volumes_m3 = _rows(tank)
        return _between(volumes_m3, depths_m, at=share * volumes_m3[-1])
    return height_m * share


def overflow_volume_m3(tank: Tank) -> float:
    """Volume at which the set of tanks starts to overflow [m3]; the full volume without a lip.

    Examples
    --------
    >>> overflow_volume_m3(
    ...     Tank(volume="1 m3", height="1 m", base="2 m", overflow="2.9 m")
    ... )
    0.9
    """
    return min(brim_volume_m3(tank), _below(tank, tank.overflow_m, unknown=brim_volume_m3(tank)))


def dead_volume_m3(tank: Tank, port: str) -> float:
    """Volume below a port, out of its reach [m3]; 0 where the port's height is not known.

    Examples
    --------
    >>> tank = Tank(volume="1 m3", height="1 m", base="2 m", outlet="2.1 m")
    >>> round(dead_volume_m3(tank, "outlet"), 9)
    0.1
    """
    return _below(tank, tank.height_m(port), unknown=0.0)


def plan_area_m2(tank: Tank) -> float:
    """Plan area of the set of tanks [m2].

    Notes
    -----
    With upright sides, the water surface. For a lying cylinder, diameter times length, which is the
    surface when half full. For a table, volume over height, which is the mean surface.

    Examples
    --------
    >>> plan_area_m2(Tank(volume="2 m3", height="1 m"))
    2.0
    """
    if tank.shape == "lying":
        return tank.tanks_count * _known(tank.diameter_m) * _known(tank.length_m)
    return brim_volume_m3(tank) / inside_height_m(tank)


def _below(tank: Tank, height_m: float | None, *, unknown: float) -> float:
    if height_m is None or tank.base_m is None:
        return unknown
    return depth_to_volume_m3(tank, height_m - tank.base_m)


def _one_full_m3(tank: Tank) -> float:
    if tank.shape == "table":
        return _rows(tank)[1][-1]
    if tank.shape == "lying":
        return math.pi / 4.0 * _known(tank.diameter_m) ** 2 * _known(tank.length_m)
    if tank.shape == "box" and tank.length_m is not None and tank.width_m is not None:
        return tank.length_m * tank.width_m * _known(tank.height_inside_m)
    if tank.shape == "upright" and tank.diameter_m is not None:
        return math.pi / 4.0 * tank.diameter_m**2 * _known(tank.height_inside_m)
    return _known(tank.volume_m3)


def _rows(tank: Tank) -> tuple[list[float], list[float]]:
    rows = tank.table or ()
    return [depth for depth, _ in rows], [volume for _, volume in rows]


def _known(value: float | None) -> float:
    if value is None:
        raise ValueError("the shape of this tank is not complete; plans are checked when read")
    return value


def _between(xs: list[float], ys: list[float], *, at: float) -> float:
    """Straight line between rows; ``xs`` ascending."""
    i = min(max(bisect_right(xs, at), 1), len(xs) - 1)
    return ys[i - 1] + (ys[i] - ys[i - 1]) * (at - xs[i - 1]) / (xs[i] - xs[i - 1])


def _segment_share(angle_rad: float) -> float:
    """Share of a circle in the segment that spans an angle at the centre, 0 to 2 pi."""
    if angle_rad < _SERIES_BELOW_RAD:  # the difference below would lose its digits
        square = angle_rad * angle_rad
        return (
            angle_rad * square * (1.0 - square / 20.0 + square * square / 840.0) / (12.0 * math.pi)
        )
    return (angle_rad - math.sin(angle_rad)) / (2.0 * math.pi)


def _segment_angle_rad(share: float) -> float:
    """The angle of the segment that holds a share of a circle."""
    if share in (0.0, 1.0):
        return 2.0 * math.pi * share
    low, high = 0.0, 2.0 * math.pi
    while low < (middle := 0.5 * (low + high)) < high:
        if _segment_share(middle) < share:
            low = middle
        else:
            high = middle
    return middle

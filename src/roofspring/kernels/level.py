"""Levels of tanks, read from their tables."""

from __future__ import annotations

from roofspring.kernels._jit import inner
from roofspring.kernels.net import BED, LEVEL_POINTS_COUNT, TANK, Floats, Net


@inner
def tank_level_m(net: Net, node: int, content_m3: float) -> float:
    """Level over the datum, read between the points of the tank's table."""
    place = content_m3 / net.brim_m3[node] * (LEVEL_POINTS_COUNT - 1)
    i = min(max(int(place), 0), LEVEL_POINTS_COUNT - 2)
    low = net.level_m[node, i]
    return float(low + (place - i) * (net.level_m[node, i + 1] - low))


@inner
def rise_m_per_m3(net: Net, node: int, content_m3: float) -> float:
    """How much a node's level rises for each volume that it takes."""
    if net.kind[node] == BED:
        return float(1.0 / net.area_m2[node])
    if net.kind[node] == TANK:
        place = content_m3 / net.brim_m3[node] * (LEVEL_POINTS_COUNT - 1)
        i = min(max(int(place), 0), LEVEL_POINTS_COUNT - 2)
        rise_m = net.level_m[node, i + 1] - net.level_m[node, i]
        return float(rise_m / net.brim_m3[node] * (LEVEL_POINTS_COUNT - 1))
    return 0.0


@inner
def table_flow(flows: Floats, place: float) -> float:
    """Read a flow table, by equal steps of a root, at a place counted in steps."""
    i = min(max(int(place), 0), len(flows) - 2)
    return float(flows[i] + (place - i) * (flows[i + 1] - flows[i]))

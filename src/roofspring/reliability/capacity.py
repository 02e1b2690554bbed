"""Storage against reliability: the same physical run with the main clean store grown or shrunk."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.kernels.net import Books, Forcing, Net, State
from roofspring.network.assemble import Assembled
from roofspring.network.forcing import build_forcing
from roofspring.network.simulate import run_many, start_state
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord
from roofspring.reliability.answer import CurvePoint, UseAnswer

FloatArray = npt.NDArray[np.float64]

SIZE_FACTORS: tuple[float, ...] = (0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0, 1.25, 1.6, 2.0, 3.0, 4.0)


def capacity_curve(
    plan: Plan, record: RainRecord, assembled: Assembled, *, uses: tuple[UseAnswer, ...]
) -> tuple[str, tuple[CurvePoint, ...]]:
    """Share served if the largest store that a use draws from held more or less.

    The store keeps its heights and grows in plan; everything else stays as planned.

    Returns
    -------
    str, tuple of CurvePoint
        Id of the store that was varied (empty without one), and the curve by rising capacity.
    """
    drawn = {p.tank_id for points in assembled.topology.draws.values() for p in points}
    if not drawn or sum(u.wanted_m3 for u in uses) <= 0.0:
        return "", ()
    row = {part_id: i for i, part_id in enumerate(assembled.topology.nodes)}
    store = max(sorted(drawn), key=lambda s: assembled.net.capacity_m3[row[s]])
    forcing = build_forcing(plan, record, use_ids=assembled.use_ids)
    sizes = [_sized(assembled, row[store], factor) for factor in SIZE_FACTORS]
    runs = run_many(sizes, forcing, days=record.days)
    return store, tuple(
        _point(float(net.capacity_m3[row[store]]), forcing, books, record)
        for (net, _), books in zip(sizes, runs, strict=True)
    )


def _sized(assembled: Assembled, row: int, factor: float) -> tuple[Net, State]:
    state = start_state(assembled)
    state.content_m3[row] *= factor
    return scaled(assembled.net, row, factor), state


def _point(capacity_m3: float, forcing: Forcing, books: Books, record: RainRecord) -> CurvePoint:
    short = (forcing.want_m3 - books.delivered_m3 > 1e-9).any(axis=1)
    return CurvePoint(
        capacity_m3=capacity_m3,
        served_frac=float(books.delivered_m3.sum() / forcing.want_m3.sum()),
        days_short_per_year=float(short.sum()) / record.years,
    )


def scaled(net: Net, row: int, factor: float) -> Net:
    """The net with one tank's plan area multiplied; its heights stay."""

    def times(values: FloatArray, where: npt.NDArray[np.bool_]) -> FloatArray:
        return np.where(where, values * factor, values)

    here = np.arange(len(net.kind)) == row
    feeds = np.zeros(len(net.feed_arc), dtype=bool)
    feeds[net.feed_first[row] : net.feed_first[row + 1]] = True
    return net._replace(
        capacity_m3=times(net.capacity_m3, here),
        shut_m3=times(net.shut_m3, here),
        brim_m3=times(net.brim_m3, here),
        feed_dead_m3=times(net.feed_dead_m3, feeds),
        draw_dead_m3=times(net.draw_dead_m3, net.draw_node == row),
    )

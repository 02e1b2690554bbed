"""Daily flows across the borders that people ask about: caught, and gone for good."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from roofspring.network.result import GROUND, Arc, RunResult
from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    FirstFlush,
    Plan,
    Roof,
    Screen,
    Swale,
    Tank,
)

FloatArray = npt.NDArray[np.float64]


def caught_m3_by_day(plan: Plan, result: RunResult) -> FloatArray:
    """Roof water that reached a tank or filter, after screen and first flush, each day [m3]."""
    return _sum(result, catching(plan, result.arcs))


def first_spill_m3_by_day(plan: Plan, result: RunResult) -> FloatArray:
    """What spilled from the tanks and filters that roof water reaches first, each day [m3]."""
    first = {
        arc.to_part
        for arc, catches in zip(result.arcs, catching(plan, result.arcs), strict=True)
        if catches
    }
    picked = [arc.kind in ("overflow", "rim") and arc.from_part in first for arc in result.arcs]
    return _sum(result, picked)


def catching(plan: Plan, arcs: Sequence[Arc]) -> list[bool]:
    """The arcs by which roof water enters the first tank or filter on its way."""
    parts = dict(plan.parts())
    runoff = {p for p, part in parts.items() if isinstance(part, (Roof, Screen, FirstFlush))}
    grown = True
    while grown:  # what stands between roof and tank carries roof water too
        more = {
            arc.to_part
            for arc in arcs
            if arc.from_part in runoff
            and isinstance(parts.get(arc.to_part), (Diverter, Disinfection))
        } - runoff
        runoff |= more
        grown = bool(more)
    return [
        arc.kind in ("pass", "reject", "weep")
        and arc.from_part in runoff
        and isinstance(parts.get(arc.to_part), (Tank, Filter))
        for arc in arcs
    ]


def gone_m3_by_day(plan: Plan, result: RunResult) -> FloatArray:
    """Water that left a tank or filter over its overflow or brim for good, each day [m3]."""
    parts = dict(plan.parts())
    return _sum(
        result,
        [
            arc.kind in ("overflow", "rim")
            and (arc.to_part == GROUND or isinstance(parts.get(arc.to_part), Swale))
            for arc in result.arcs
        ],
    )


def _sum(result: RunResult, picked: list[bool]) -> FloatArray:
    total: FloatArray = result.flow_m3[:, np.array(picked, dtype=bool)].sum(axis=1)
    return total

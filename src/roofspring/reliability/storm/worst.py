"""The stretch of the record in which most was lost."""

from __future__ import annotations

import math

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.rain.words import plural
from roofspring.reliability.flows import gone_m3_by_day
from roofspring.reliability.storm.weather import DAY_S, HOUR_S


def worst_window(plan: Plan, result: RunResult, *, hours: float) -> np.datetime64:
    """The day from which most left over overflows and gutters for good.

    Parameters
    ----------
    plan : Plan
    result : RunResult
        Of that plan through the whole record.
    hours : float
        Length of the window [h]; counted in whole days from midnight.

    Returns
    -------
    numpy.datetime64
        The earliest of equally bad ones.

    Raises
    ------
    RangeError
        STO-006: the record is shorter. STO-007: nothing was lost in it.
    """
    days = max(1, math.ceil(hours * HOUR_S / DAY_S - 1e-9))
    if days > len(result.days):
        raise RangeError(
            Problem(
                "STO-006",
                "the record does not hold these hours",
                got=f"{hours:g} hours",
                allowed=plural(len(result.days), "day"),
                next="ask for fewer hours",
            )
        )
    edges = [arc.kind in ("gutter", "rim") for arc in result.arcs]
    lost = gone_m3_by_day(plan, result) + result.flow_m3[:, edges].sum(axis=1)
    gone = np.concatenate(([0.0], np.cumsum(lost)))
    sums = gone[days:] - gone[:-days]
    worst = int(np.argmax(np.round(sums, 9)))
    if not sums[worst] > 0.0:
        raise RangeError(
            Problem(
                "STO-007",
                "nothing was lost over an overflow or a gutter in the whole record",
                allowed="a record with a storm that spills",
                next="give a storm with --depth, or a day with --from",
            )
        )
    day: np.datetime64 = result.days[worst]
    return day

"""Textbook balances beside the physical run: what a simpler sum would have said."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord, describe
from roofspring.reliability.answer import ReferenceMethod
from roofspring.reliability.reference import (
    balance,
    dry_spell_m3,
    sequent_peak_m3,
    yearly_share_m3,
)

FloatArray = npt.NDArray[np.float64]


def reference_methods(
    plan: Plan, record: RainRecord, result: RunResult, caught_m3: FloatArray
) -> tuple[ReferenceMethod, ...]:
    """Named methods on the same rain and the same wants, with all stores as one tank.

    A first-flush chamber is no store: its water goes to waste. The methods know no filter, no
    heights and no hours; the difference to the physical run is what those cost. ``caught_m3`` is
    the roof water that reached a store, each day.
    """
    wanted = result.wanted_m3.sum(axis=1)
    if wanted.sum() <= 0.0:
        return ()
    kept = np.array([s not in plan.first_flushes for s in result.store_ids], dtype=bool)
    size_m3 = float(np.maximum(result.capacity_m3 - result.dead_m3, 0.0)[kept].sum())
    start_m3 = float(np.maximum(result.start_m3 - result.dead_m3, 0.0)[kept].sum())
    rows = []
    for name, theta, source in (
        ("yield after spillage, one tank", 0.0, "JENKINS_1978"),
        ("yield before spillage, one tank", 1.0, "JENKINS_1978"),
    ):
        b = balance(
            caught_m3, wanted, capacity_m3=size_m3, start_m3=min(start_m3, size_m3), theta=theta
        )
        rows.append(
            ReferenceMethod(
                name,
                b.served_frac,
                size_m3,
                source,
                "all stores as one tank, filter as fast as the rain, no rationing",
            )
        )
    peak = sequent_peak_m3(caught_m3, wanted)
    rows.append(
        ReferenceMethod(
            "sequent peak",
            1.0 if math.isfinite(peak) else None,
            peak if math.isfinite(peak) else None,
            "RIPPL_1883",
            "storage that never fails when the whole record is known ahead; "
            + ("a lower bound" if math.isfinite(peak) else "none: more is wanted than is caught"),
        )
    )
    years = result.years
    rows.append(
        ReferenceMethod(
            "6 % of a year",
            None,
            yearly_share_m3(
                float(caught_m3.sum()) / years, demand_m3_per_year=float(wanted.sum()) / years
            ),
            "DIN_1989_1",
            "made for rain spread over the whole year; knows no dry season",
        )
    )
    spell = describe(record)
    rows.append(
        ReferenceMethod(
            "longest dry spell",
            None,
            dry_spell_m3(float(wanted.mean()), dry_days=spell.longest_dry_days),
            "PACEY_CULLIS_1986",
            f"mean daily want through {spell.longest_dry_days} days, full at the start",
        )
    )
    return tuple(rows)

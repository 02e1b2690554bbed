"""First look at frost: how often the air freezes, and how hard."""

from __future__ import annotations

import numpy as np

from roofspring.errors import Finding
from roofspring.rain import RainRecord
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import MONTH_NAMES


def frost_findings(record: RainRecord) -> tuple[Finding, ...]:
    """A caution when the record's temperatures go below freezing; a note when it has none."""
    if record.tmin_degc is None:
        return (
            Finding(
                "FRO-102",
                "note",
                "the record has no temperatures, so frost is not looked at",
                where="rain",
                next="give daily minimum and maximum in the record, if your place freezes",
            ),
        )
    low = record.tmin_degc
    frozen = np.flatnonzero(low < 0.0)
    if len(frozen) == 0:
        return ()
    coldest = int(np.nanargmin(low))
    days = record.days
    month = days.astype("datetime64[M]").astype(np.int64) % 12
    all_day = record.tmax_degc is not None and int((record.tmax_degc < 0.0).sum())
    worst = MONTH_NAMES[int(np.argmax(np.bincount(month[frozen], minlength=12)))]
    return (
        Finding(
            "FRO-101",
            "caution",
            f"the air freezes, most often in {worst}: filters, valves and pipes above ground can "
            "burst, and a frozen filter passes nothing",
            where="site",
            got=f"{len(frozen) / record.years:.0f} frost days a year"
            + (f", {all_day / record.years:.0f} of them below 0 °C all day" if all_day else "")
            + f"; coldest {low[coldest]:.0f} °C on {days[coldest]}",
            limit="0 °C",
            source=COMMON_PRACTICE,
            next="bury pipes below frost depth or slope them to drain, insulate boxes and lids, "
            "leave a tenth of each tank free for ice, and say when to drain what",
        ),
    )

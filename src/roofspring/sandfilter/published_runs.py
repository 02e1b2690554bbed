"""Run lengths that were measured elsewhere, to hold a reckoned one against."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from roofspring.constants import SECONDS_PER_DAY, SECONDS_PER_HOUR
from roofspring.errors import Finding


@dataclass(frozen=True)
class PublishedRun:
    """One row: shortest and longest run of a filter, its rate where told, and the source."""

    filter: str
    low_days: float
    high_days: float
    rate_m_per_s: float | None
    source: str
    where: str
    seen: str
    note: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@cache
def published_runs() -> tuple[PublishedRun, ...]:
    """All rows, in the order of the file.

    >>> [(run.low_days, run.high_days) for run in published_runs()]
    [(20.0, 60.0), (99.0, 152.0), (9.0, 123.0)]
    """
    path = resources.files("roofspring.sandfilter").joinpath("tables/run_lengths.csv")
    return tuple(
        PublishedRun(
            row["filter"],
            float(row["low_days"]),
            float(row["high_days"]),
            float(row["rate_m_per_h"]) / SECONDS_PER_HOUR if row["rate_m_per_h"] else None,
            row["source"],
            row["where"],
            row["seen"],
            row["note"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


def run_findings(time_s: float, *, where: str = "filter") -> tuple[Finding, ...]:
    """BED-120 (note) where a reckoned run is shorter or longer than any that was published.

    >>> [f.code for f in run_findings(400 * 86400.0)], run_findings(40 * 86400.0)
    (['BED-120'], ())
    """
    runs = published_runs()
    low, high = min(r.low_days for r in runs), max(r.high_days for r in runs)
    days = time_s / SECONDS_PER_DAY
    if low <= days <= high:
        return ()
    got = f"{days:.0f} days" if math.isfinite(days) else "no end"
    return (
        Finding(
            "BED-120",
            "note",
            f"the reckoned run is {'shorter' if days < low else 'longer'} than published ones",
            where=where,
            got=got,
            limit=f"{low:g} to {high:g} days",
            source=runs[0].source,
            next="take it as a guess until the filter's own log has one run in it, then fit the "
            "growth of the skin to that",
        ),
    )

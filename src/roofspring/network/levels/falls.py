"""The sum of it all: the fall from a gutter to a tap, and what the steps on the way need of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import networkx as nx

from roofspring.network.levels.checks import LevelCheck
from roofspring.plan.model import Plan

OVER = " over "


@dataclass(frozen=True)
class FallRow:
    """One way down, from the outlet of a gutter to the mouth of a tap.

    ``fall_m`` is all there is [m]; ``needs_m`` what losses, air gaps and bands take, every step at
    its worst, by the way that takes most [m]. The depth of tanks is not in it: it is spare.
    """

    upper: str
    lower: str
    fall_m: float
    needs_m: float

    @property
    def spare_m(self) -> float:
        """What is left to share out; less than nothing where no shifting of parts can help [m]."""
        return self.fall_m - self.needs_m

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return {**asdict(self), "spare_m": self.spare_m}


def fall_rows(plan: Plan, checks: Sequence[LevelCheck]) -> tuple[FallRow, ...]:
    """A row for each gutter and each tap that its water runs down to, the least spare first.

    Parameters
    ----------
    plan : Plan
    checks : sequence of LevelCheck
        Each as in its worst state; what one height needs over the next is added up along the way.

    Returns
    -------
    tuple of FallRow
        None where a height on every way is missing.
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    for check in checks:
        upper, over, lower = check.where.partition(OVER)
        if not over or check.have_m is None or not math.isfinite(check.need_m):
            continue
        known = graph.get_edge_data(upper, lower, {"need_m": 0.0})["need_m"]
        graph.add_edge(upper, lower, need_m=max(known, check.need_m))
    if not nx.is_directed_acyclic_graph(graph):
        return ()
    taps = {f"{tap_id}.height": tap.inlet_m for tap_id, tap in plan.taps.items()}
    rows = []
    for roof_id, roof in plan.roofs.items():
        start = f"{roof_id}.outlet"
        if roof.outlet_m is None or start not in graph:
            continue
        needs_m = {start: 0.0}
        for name in nx.topological_sort(graph):
            for lower in graph.successors(name) if name in needs_m else ():
                through_m = needs_m[name] + float(graph.edges[name, lower]["need_m"])
                needs_m[lower] = max(needs_m.get(lower, 0.0), through_m)
        rows += [
            FallRow(start, tap, roof.outlet_m - height_m, needs_m[tap])
            for tap, height_m in taps.items()
            if height_m is not None and tap in needs_m
        ]
    return tuple(sorted(rows, key=lambda row: (row.spare_m, row.upper, row.lower)))

"""Every pipe that runs full, and what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.laws import check_fittings, pipe_k_sum
from roofspring.network.levels.lines import Run, runs
from roofspring.network.pipes.rows import PipeRow, ends_m, pipe_rows, run_head_m
from roofspring.plan.graph import connections
from roofspring.plan.model import Part, Plan
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import UnitSet, show

PROFILE_SLACK_M = 0.05
"""What the end of a profile may lie off the height of the opening there; engineering choice."""
SUCTION_M = 0.05
"""Suction from which a leaky joint draws air; engineering choice."""
SIPHON_LIMIT_M = 6.0
"""Suction at which a crest fails at any height a house stands at; common practice: the pressure of
the air less that of vapour is 10.1 m of water at the sea and 8.4 m at 1500 m."""


@dataclass(frozen=True)
class NotComputed:
    """A line that could not be looked at, and what the plan lacks for it."""

    where: str
    lacks: str


@dataclass(frozen=True)
class Pipes:
    """Pipes of a whole plan, in the order of their names."""

    rows: tuple[PipeRow, ...]
    not_computed: tuple[NotComputed, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        return {
            "rows": [asdict(row) for row in self.rows],
            "not_computed": [asdict(lack) for lack in self.not_computed],
        }


def assess_pipes(plan: Plan) -> Pipes:
    """Look at every pipe between what holds water and where it goes.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Pipes

    Raises
    ------
    PlanError (NET-001)
        A pipe names an unknown fitting.
    """
    check_fittings(plan)
    parts = dict(plan.parts())
    rows: dict[str, PipeRow] = {}
    lacking: dict[str, NotComputed] = {}
    for run in runs(plan):
        lack = _lack(run, parts)
        head_m = run_head_m(run, parts)
        if lack or head_m is None:
            where = ", ".join(f"pipe.{c.pipe_id}" for c in run)
            lacking.setdefault(where, NotComputed(where, lack))
            continue
        for row in pipe_rows(run, parts, head_m):
            rows.setdefault(row.where, row)
    made = tuple(row for _, row in sorted(rows.items()))
    not_computed = tuple(lack for _, lack in sorted(lacking.items()))
    return Pipes(made, not_computed, tuple(_findings(plan, parts, made, not_computed)))


def _lack(run: Run, parts: dict[str, Part]) -> str:
    lacks = [f"{c.pipe_id}.size" for c in run if c.pipe.size_m is None]
    first, last = run[0], run[-1]
    if run_head_m(run, parts) is None:
        lacks += [
            name
            for name, height_m in (
                (f"{first.from_part}.{first.from_port}", ends_m(first, parts)[0]),
                (f"{last.to_part}.{last.to_port}", ends_m(last, parts)[1]),
            )
            if height_m is None
        ] or [f"{first.from_part}.base"]
    shut = [
        f"{c.pipe_id} is shut"
        for c in run
        if c.pipe.size_m is not None and math.isinf(pipe_k_sum(c.pipe, diameter_m=c.pipe.size_m))
    ]
    return ", ".join((*lacks, *shut))


def _findings(
    plan: Plan,
    parts: dict[str, Part],
    rows: tuple[PipeRow, ...],
    not_computed: tuple[NotComputed, ...],
) -> Iterator[Finding]:
    units: UnitSet = plan.show
    if not_computed:
        yield Finding(
            "PIP-101",
            "note",
            "what these lines carry was not computed",
            where=not_computed[0].where,
            got="; ".join(
                f"{lack.where.removeprefix('pipe.')}: {lack.lacks}" for lack in not_computed
            ),
            source=COMMON_PRACTICE,
            next="give size, length and the heights of both ends",
        )
    bare = [row for row in rows if not row.has_profile]
    if bare:
        yield Finding(
            "PIP-102",
            "note",
            "no profile: these pipes are taken to run evenly from end to end, so air traps and "
            "water that stays in dips were not looked for",
            where=bare[0].where,
            got=f"so are {', '.join(row.label for row in bare[1:])}" if len(bare) > 1 else "",
            next="level along the pipe and give profile, rows of distance and height, for each "
            "line that does not fall all the way",
        )
    for row in rows:
        yield from _off_datum(row, plan, parts)
        yield from _air(row, units)
        yield from _dips(row, units)
        yield from _sucks(row, units)


def _off_datum(row: PipeRow, plan: Plan, parts: dict[str, Part]) -> Iterator[Finding]:
    (c,) = (c for c in connections(plan) if f"pipe.{c.pipe_id}" == row.where)
    if c.pipe.profile is None:
        return
    heights = (c.pipe.profile[0][1], c.pipe.profile[-1][1])
    names = (row.from_, row.to)
    for name, height_m, known_m in zip(names, heights, ends_m(c, parts), strict=True):
        if known_m is not None and abs(height_m - known_m) > PROFILE_SLACK_M:
            yield Finding(
                "PIP-103",
                "caution",
                "the end of this profile does not lie at the opening it joins: they are not "
                "measured from one datum, or a height is wrong",
                where=f"{row.where}.profile",
                got=f"{show(height_m, 'height', units=plan.show)} against "
                f"{show(known_m, 'height', units=plan.show)} of {name}",
                limit=f"within {show(PROFILE_SLACK_M, 'gap', units=plan.show)}",
                source=COMMON_PRACTICE,
                next="measure both from one datum",
            )


def _air(row: PipeRow, units: UnitSet) -> Iterator[Finding]:
    def speed(value: float) -> str:
        return show(value, "speed", units=units, digits=2)

    if row.air_lock_m >= row.head_m > 0.0:
        yield Finding(
            "PIP-104",
            "stop",
            "air can lock this line: caught in its falls while it fills, it holds back more than "
            "the full store drives",
            where=row.where,
            got=f"{show(row.air_lock_m, 'length', units=units)} of falls behind high points",
            limit=f"less than {show(row.head_m, 'length', units=units)}, the head of the line",
            source=COMMON_PRACTICE,
            next="lay it to fall all the way, or vent each high point",
        )
    fastest = row.best.speed_m_per_s
    stuck = [high for high in row.highs if high.sweep_m_per_s > fastest]
    if stuck:
        worst = max(stuck, key=lambda high: high.sweep_m_per_s)
        where_m = ", ".join(show(high.station_m, "length", units=units) for high in stuck)
        yield Finding(
            "PIP-105",
            "caution",
            "air that gathers at a high point of this pipe stays there: the water never runs fast "
            "enough to carry it on",
            where=row.where,
            got=f"{speed(fastest)} at most, high point at {where_m} along it",
            limit=f"{speed(worst.sweep_m_per_s)} to carry air down the fall behind it",
            source="ESCARAMEIA_2007",
            next="fit a vent there: an open stand-pipe that ends over the highest water, or an air "
            "valve where that is too high; or lay the pipe to fall all the way",
        )


def _dips(row: PipeRow, units: UnitSet) -> Iterator[Finding]:
    held = [low for low in row.lows if low.holds_m3 > 0.0]
    if held:
        where_m = ", ".join(show(low.station_m, "length", units=units) for low in held)
        yield Finding(
            "PIP-106",
            "note",
            "this pipe does not run empty: water stays in its dips, where it freezes and dirt "
            "settles",
            where=row.where,
            got=f"{show(row.holds_m3, 'small_volume', units=units, digits=1)}, lowest at {where_m} "
            "along it",
            limit="no dip, or a drain cock at its lowest place",
            source=COMMON_PRACTICE,
            next="fit a drain cock at each of these places, and open it before frost",
        )


def _sucks(row: PipeRow, units: UnitSet) -> Iterator[Finding]:
    if row.suction_m > SUCTION_M:
        fails = row.suction_m > SIPHON_LIMIT_M
        yield Finding(
            "PIP-107",
            "stop" if fails else "caution",
            "the water parts at the highest place of this pipe"
            if fails
            else "this pipe runs over its own grade line: leaky joints draw air in, or dirt, and a "
            "vent there would let air in too",
            where=row.where,
            got=f"{show(row.suction_m, 'length', units=units)} of suction, the store nearly empty",
            limit=f"none; {show(SIPHON_LIMIT_M, 'length', units=units)} is the end of any siphon",
            source=COMMON_PRACTICE,
            next="lay the high place lower, or throttle the line at its far end, not before it",
        )

"""Ways from roof to drinking tap that pass no filter and no disinfection."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roofspring.catchment import roof_materials
from roofspring.errors import Finding
from roofspring.network.result import RunResult
from roofspring.network.topology import is_shut
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Disinfection, Filter, Plan, Roof
from roofspring.units import show


@dataclass(frozen=True)
class RawPath:
    """One way without a barrier: the pipes on it from roof to tap, and the pipe to mend.

    ``wrong`` is the first pipe on the way that leads out of the part of the system that feeds a
    filter, such as an overflow; empty when the plan has no barrier at all.
    """

    pipes: tuple[str, ...]
    parts: tuple[str, ...]
    tap: str
    wrong: str


def raw_paths(plan: Plan) -> tuple[RawPath, ...]:
    """The shortest barrier-free way from any roof to each drinking tap; none when all are cut.

    Cleaning drains count as shut. Overflows, screen rejects and weeps count as open: they carry
    raw water whenever it rains hard.
    """
    parts = dict(plan.parts())
    open_pipes = [c for c in connections(plan) if not is_shut(parts[c.from_part], c.from_port)]
    feeds_filter = _leads_to_barrier(plan, open_pipes)
    found = []
    for tap_id, tap in sorted(plan.taps.items()):
        if tap.drinking:
            way = _shortest_raw_way(plan, open_pipes, tap_id)
            if way:
                wrong = next(
                    (
                        c.pipe_id
                        for c in way
                        if c.from_part in feeds_filter and c.to_part not in feeds_filter
                    ),
                    "",
                )
                found.append(
                    RawPath(
                        tuple(c.pipe_id for c in way),
                        (way[0].from_part, *(c.to_part for c in way)),
                        tap_id,
                        wrong,
                    )
                )
    return tuple(found)


def _is_barrier(plan: Plan, part_id: str) -> bool:
    part = dict(plan.parts())[part_id]
    return isinstance(part, (Filter, Disinfection))


def _leads_to_barrier(plan: Plan, open_pipes: list[Connection]) -> set[str]:
    """Parts from which a barrier lies ahead by the intended way (not over an overflow)."""
    leading = {part_id for part_id, _ in plan.parts() if _is_barrier(plan, part_id)}
    grown = True
    while grown:
        more = {
            c.from_part
            for c in open_pipes
            if c.to_part in leading and c.from_port not in ("overflow", "reject")
        } - leading
        leading |= more
        grown = bool(more)
    return leading


def _shortest_raw_way(
    plan: Plan, open_pipes: list[Connection], tap_id: str
) -> tuple[Connection, ...]:
    """Breadth first from all roofs, never through a barrier.

    What stands over the sand of a filter is raw: it may leave over the lip, not through the sand.
    """
    raw_pipes = [
        c
        for c in open_pipes
        if not _is_barrier(plan, c.from_part)
        or (c.from_part in plan.filters and c.from_port != "outlet")
    ]
    reached: dict[str, Connection | None] = {
        part_id: None for part_id, part in plan.parts() if isinstance(part, Roof)
    }
    edge = sorted(reached)
    while edge and tap_id not in reached:
        ahead: list[str] = []
        for c in raw_pipes:
            if c.from_part in edge and c.to_part not in reached:
                reached[c.to_part] = c
                ahead.append(c.to_part)
        edge = ahead
    way: list[Connection] = []
    at = reached.get(tap_id)
    while at is not None:
        way.append(at)
        at = reached[at.from_part]
    return tuple(reversed(way))


def path_findings(plan: Plan, result: RunResult | None = None) -> Iterator[Finding]:
    """Findings on raw ways to drinking taps and on roofs that are doubtful to drink from.

    With a run, the volume that took the wrong pipe is told.
    """
    for path in raw_paths(plan):
        way = " → ".join(path.parts)
        if not path.wrong:
            yield Finding(
                "SAF-102",
                "stop",
                "no filter and no disinfection stands between the roof and a drinking tap",
                where=path.tap,
                got=way,
                limit="at least one barrier, better two of different kinds",
                source="WHO_GDWQ_2011",
                next="put a filter and a disinfection step on the way, or boil what is drunk",
            )
            continue
        yield Finding(
            "SAF-101",
            "stop",
            "unfiltered roof water can reach a drinking tap past the filter",
            where=f"pipe.{path.wrong}",
            got=way + _volume(plan, result, path.wrong),
            limit="every way from roof to drinking tap passes the filter",
            source="WHO_GDWQ_2011",
            next=f"lead {path.wrong} to the garden or a swale instead, then clean and disinfect "
            "what it has filled; until then boil what is drunk",
        )
    if any(tap.drinking for tap in plan.taps.values()):
        for roof_id, roof in sorted(plan.roofs.items()):
            note = roof_materials()[roof.material].note
            if roof.material in ("asphalt-shingle", "gravel"):
                yield Finding(
                    "SAF-103",
                    "caution",
                    "this roof is a doubtful source of drinking water",
                    where=roof_id,
                    got=f"{roof.material}: {note}" if note else roof.material,
                    source="MENDEZ_2011",
                    next="test for what the material gives off, or drink from another roof",
                )


def _volume(plan: Plan, result: RunResult | None, pipe_id: str) -> str:
    if result is None:
        return ""
    moved = sum(
        float(result.flow_m3[:, i].sum())
        for i, arc in enumerate(result.arcs)
        if arc.pipe_id == pipe_id
    )
    if moved <= 0.0:
        return "; no water took this way in the run, but nothing stops it"
    yearly = show(moved / result.years, "volume", units=plan.show)
    return f"; {yearly} a year took this way in the run"

"""Ways from roof to drinking tap that pass no filter and no disinfection."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.safety.materials import roof_cautions
from roofspring.safety.paths.graph import STORM, Way, is_roof, ways
from roofspring.safety.paths.routes import Route, all_routes
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


def raw_paths(plan: Plan, routes: Sequence[Route] | None = None) -> tuple[RawPath, ...]:
    """The shortest barrier-free way from any roof to each drinking tap; none when all are cut.

    Cleaning drains count as shut, and diverters that a hand turns as left where they stand.
    Overflows, screen rejects and weeps count as open: they carry raw water whenever it rains hard.
    """
    open_ways = [w for w in ways(plan) if w.when <= STORM]
    feeds_filter = _leads_to_barrier(plan, open_ways)
    ends = {w.pipe_id: w for w in open_ways}
    found: dict[str, RawPath] = {}
    bare = [
        r
        for r in (all_routes(plan) if routes is None else routes)
        if not r.barriers and r.when <= STORM and is_roof(plan, r.start)
    ]
    for route in sorted(bare, key=lambda r: (r.tap, len(r.parts), r.when)):
        wrong = next((p for p in route.pipes if _leads_out(ends[p], feeds_filter)), "")
        found.setdefault(route.tap, RawPath(route.pipes, route.parts, route.tap, wrong))
    return tuple(found.values())


def _leads_out(way: Way, feeds_filter: set[str]) -> bool:
    return way.from_part in feeds_filter and way.to_part not in feeds_filter


def _leads_to_barrier(plan: Plan, open_ways: list[Way]) -> set[str]:
    """Parts from which a barrier lies ahead by the intended way (not over an overflow)."""
    leading = {*plan.filters, *plan.disinfections}
    grown = True
    while grown:
        more = {
            w.from_part
            for w in open_ways
            if w.to_part in leading and w.from_port not in ("overflow", "reject")
        } - leading
        leading |= more
        grown = bool(more)
    return leading


def path_findings(
    plan: Plan, result: RunResult | None = None, *, routes: Sequence[Route] | None = None
) -> Iterator[Finding]:
    """Findings on raw ways to drinking taps and on roofs that are doubtful to drink from.

    With a run, the volume that took the wrong pipe is told.
    """
    told: set[str] = set()
    found = raw_paths(plan, routes)
    for path in found:
        way = " → ".join(path.parts)
        taps = [p.tap for p in found if p.wrong == path.wrong and p.tap != path.tap]
        if taps and path.wrong:
            way += f", and to {', '.join(taps)}"
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
        if path.wrong in told:
            continue
        told.add(path.wrong)
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
            for row in roof_cautions(roof.material):
                yield Finding(
                    "SAF-103",
                    "caution",
                    "this roof is a doubtful source of drinking water",
                    where=roof_id,
                    got=f"{row.material}: {row.gives_off}",
                    source=row.source,
                    next=row.advice,
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

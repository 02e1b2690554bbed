"""Ways from roof to drinking tap that pass no filter and no disinfection."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from roofspring.errors import Finding
from roofspring.network.result import RunResult
from roofspring.plan.model import Plan
from roofspring.safety.materials import roof_cautions
from roofspring.safety.paths.graph import STORM, Way, is_counted, is_roof, ways
from roofspring.safety.paths.routes import Route, all_routes
from roofspring.units import show


@dataclass(frozen=True)
class RawPath:
    """One way without a barrier: the pipes on it from roof to tap, and the pipe to mend.

    ``wrong`` is the pipe on the way that leads out of the part of the system that feeds a filter,
    such as an overflow; empty when no barrier lies ahead anywhere on it. ``others`` are further
    drinking taps that the same pipe spoils.
    """

    pipes: tuple[str, ...]
    parts: tuple[str, ...]
    tap: str
    wrong: str
    others: tuple[str, ...] = ()


def raw_paths(plan: Plan, routes: Sequence[Route] | None = None) -> tuple[RawPath, ...]:
    """A barrier-free way for each pipe that makes one, and for each tap that has none before it.

    Cleaning drains count as shut, and diverters that a hand turns as left where they stand.
    Overflows, screen rejects and weeps count as open: they carry raw water whenever it rains hard.
    """
    open_ways = [w for w in ways(plan) if w.when <= STORM]
    bare = [w for w in open_ways if not w.barrier]
    feeds_filter = _leads_to_barrier(plan, open_ways)
    taps = [t for t, tap in sorted(plan.taps.items()) if tap.drinking]
    head = _reach(bare, list(plan.roofs))
    ahead = {t: _reach(_turned(bare), [t]) for t in taps}
    found: list[RawPath] = []
    for way in sorted(bare, key=lambda w: w.pipe_id):
        spoiled = [t for t in taps if way.to_part in ahead[t]]
        if way.from_part in head and spoiled and _leads_out(way, feeds_filter):
            before = _walk(head, way.from_part)[::-1]
            after = min((_walk(ahead[t], way.to_part) for t in spoiled), key=len)
            parts = (*(w.from_part for w in (*before, way)), way.to_part)
            parts += tuple(w.from_part for w in after)  # these are turned round
            pipes = tuple(w.pipe_id for w in (*before, way, *after))
            others = tuple(t for t in spoiled if t != parts[-1])
            found.append(RawPath(pipes, parts, parts[-1], way.pipe_id, others))
    ends = {w.pipe_id: w for w in open_ways}
    without: dict[str, RawPath] = {}
    for route in sorted(
        all_routes(plan) if routes is None else routes,
        key=lambda r: (r.tap, len(r.parts), r.when),
    ):
        if route.barriers or route.when > STORM or not is_roof(plan, route.start):
            continue
        if not any(_leads_out(ends[p], feeds_filter) for p in route.pipes):
            without.setdefault(route.tap, RawPath(route.pipes, route.parts, route.tap, ""))
    return (*found, *without.values())


def _turned(some: Sequence[Way]) -> list[Way]:
    return [replace(w, from_part=w.to_part, to_part=w.from_part) for w in some]


def _reach(some: Sequence[Way], starts: Sequence[str]) -> dict[str, Way | None]:
    """Every part that can be reached from the starts, with the last way of a shortest one."""
    out: dict[str, list[Way]] = {}
    for way in some:
        out.setdefault(way.from_part, []).append(way)
    came: dict[str, Way | None] = dict.fromkeys(starts)
    edge = deque(starts)
    while edge:
        for way in out.get(edge.popleft(), ()):
            if way.to_part not in came:
                came[way.to_part] = way
                edge.append(way.to_part)
    return came


def _walk(came: Mapping[str, Way | None], part_id: str) -> list[Way]:
    """The ways from a part back to a start."""
    made: list[Way] = []
    step = came[part_id]
    while step is not None:
        made.append(step)
        step = came[step.from_part]
    return made


def _leads_out(way: Way, feeds_filter: set[str]) -> bool:
    return way.from_part in feeds_filter and way.to_part not in feeds_filter


def _leads_to_barrier(plan: Plan, open_ways: list[Way]) -> set[str]:
    """Parts from which a barrier lies ahead by the intended way (not over an overflow)."""
    steps = plan.disinfections.items()
    leading = {*plan.filters, *(d for d, step in steps if is_counted(step))}
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
    for path in raw_paths(plan, routes):
        way = " → ".join(path.parts)
        if path.others:
            way += f", and to {', '.join(path.others)}"
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

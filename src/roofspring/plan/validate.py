"""Checks that need more than one field: ids, pipe ends, loops, and what the parts' own checks find.

They run on the readable part of the plan, so that one bad value does not hide the next problem.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, cast

import networkx as nx

from roofspring.errors import Problem
from roofspring.errors.names import did_you_mean
from roofspring.plan.fields import tables
from roofspring.plan.graph import Connection, connections
from roofspring.plan.gutter_checks import gutter_problems
from roofspring.plan.lines import KeyPath
from roofspring.plan.model import Part, split_port
from roofspring.plan.part_checks import part_problems
from roofspring.plan.pipe_checks import pipe_problems
from roofspring.plan.plantext import PlanText, listed
from roofspring.plan.price_checks import price_problems
from roofspring.plan.rain_checks import rain_problems
from roofspring.plan.salvage import Salvage, salvage
from roofspring.plan.use_checks import use_problems


def cross_problems(raw: Mapping[str, Any], text: PlanText) -> list[Problem]:
    """Every problem between fields and between parts.

    Parameters
    ----------
    raw : mapping
        The content of the file in the present format, with or without bad values in it.
    text : PlanText

    Returns
    -------
    list of Problem
        PLN-020 to PLN-049, PLN-052.
    """
    problems = list(rain_problems(raw, text))
    saved = salvage(raw)
    if saved is None:
        return problems
    problems += _double_ids(saved, text)
    sound = []
    for connection in connections(saved.plan):
        bad_ends = list(_end_problems(connection, saved, text))
        problems += bad_ends
        if not bad_ends:
            sound.append(connection)
    problems += _source_problems(saved, text)
    problems += _crowded_outlets(sound, saved, text)
    problems += _short_circuits(sound, text)
    problems += _loops(sound, text)
    problems += _misplaced_floats(sound, saved, text)
    problems += part_problems(saved, text)
    problems += gutter_problems(saved, text)
    problems += pipe_problems(saved, text)
    problems += use_problems(saved, sound, text)
    problems += price_problems(saved, text)
    return problems


def _double_ids(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    for part_id, kinds in saved.part_ids.items():
        for kind in kinds[1:]:
            yield text.problem(
                "PLN-020",
                (kind, part_id),
                f"there is already a {kinds[0]} of this name",
                got=part_id,
                next_step="give one of them another name, and mend the pipes",
            )


def _part_class(kind: str) -> type[Part]:
    return cast(type[Part], tables()[kind])


def _openings(saved: Salvage, part_id: str, *, out: bool) -> tuple[str, ...]:
    """The outlets, or the inlets, of a part."""
    names: tuple[str, ...] = ()
    for kind in saved.part_ids[part_id]:
        model = _part_class(kind)
        names += model.outlets if out else model.inlets
    return names + (saved.outlet_names.get(part_id, ()) if out else ())


def _end_problems(connection: Connection, saved: Salvage, text: PlanText) -> Iterator[Problem]:
    pipe = ("pipe", connection.pipe_id)
    start = (connection.from_part, connection.from_port)
    yield from _end_problem((*pipe, "from"), start, saved, text, out=True)
    end = (connection.to_part, connection.to_port)
    yield from _end_problem((*pipe, "to"), end, saved, text, out=False)


def _source_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """Other water ends at an inlet, and a tank that is said to stand beside another one does."""
    for source_id, source in sorted(saved.plan.sources.items()):
        end = split_port(source.to, default="inlet")
        yield from _end_problem(("source", source_id, "to"), end, saved, text, out=False)
    for tank_id, tank in sorted(saved.plan.tanks.items()):
        for i, other in enumerate(tank.cover.walled_with):
            if "tank" not in saved.part_ids.get(other, ()) or other == tank_id:
                yield text.problem(
                    "PLN-021",
                    ("tank", tank_id, "cover", "walled-with", i),
                    f"there is no other tank called {other}",
                    allowed=listed(sorted(t for t in saved.plan.tanks if t != tank_id)),
                    next_step=did_you_mean(
                        other, set(saved.plan.tanks) - {tank_id}, otherwise="add the tank"
                    ),
                )


def _end_problem(
    path: KeyPath, end: tuple[str, str], saved: Salvage, text: PlanText, *, out: bool
) -> Iterator[Problem]:
    part_id, port = end
    if part_id not in saved.part_ids:
        yield text.problem(
            "PLN-021",
            path,
            f"there is no part called {part_id}",
            allowed=listed(sorted(saved.part_ids)),
            next_step=did_you_mean(part_id, saved.part_ids, otherwise="add the part"),
        )
        return
    right, wrong = (_openings(saved, part_id, out=side) for side in (out, not out))
    if port in right:
        return
    kind = saved.part_ids[part_id][0]
    allowed = ", ".join(f"{part_id}.{name}" for name in right) or f"nothing: a {kind} has none"
    if port in wrong:
        way = "in, and a pipe leaves from it" if out else "out, and a pipe ends there"
        yield text.problem(
            "PLN-023",
            path,
            f"{part_id}.{port} lets water {way}",
            allowed=allowed,
            next_step="exchange from and to, or name another opening"
            if path[0] == "pipe"
            else "name an inlet",
        )
    else:
        yield text.problem(
            "PLN-022",
            path,
            f"the {kind} {part_id} has no {'outlet' if out else 'inlet'} called {port}",
            allowed=allowed,
            next_step=did_you_mean(port, right, otherwise="name one of its openings"),
        )


def _crowded_outlets(
    sound: Iterable[Connection], saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    first: dict[tuple[str, str], str] = {}
    for c in sound:
        kind = saved.part_ids[c.from_part][0]
        if c.from_port not in _part_class(kind).single:
            continue
        end = (c.from_part, c.from_port)
        if end in first:
            yield text.problem(
                "PLN-024",
                ("pipe", c.pipe_id, "from"),
                f"{c.from_part}.{c.from_port} feeds one pipe only, and {first[end]} leaves from it",
                next_step="remove one of the two pipes, or join them at a part further on",
            )
        first.setdefault(end, c.pipe_id)


def _short_circuits(sound: Iterable[Connection], text: PlanText) -> Iterator[Problem]:
    for c in sound:
        if c.from_part == c.to_part:
            yield text.problem(
                "PLN-025",
                ("pipe", c.pipe_id, "to"),
                "the pipe leads back to the part it leaves",
                next_step="name the part where the water goes",
            )


def _loops(sound: Iterable[Connection], text: PlanText) -> Iterator[Problem]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    for c in sound:
        if c.from_part != c.to_part:
            graph.add_edge(c.from_part, c.to_part, pipe=c.pipe_id)
    for knot in sorted(nx.strongly_connected_components(graph), key=min):
        if len(knot) < 2:
            continue
        edges = nx.find_cycle(graph.subgraph(knot), source=min(knot))
        way = [edge[0] for edge in edges] + [edges[0][0]]
        yield text.problem(
            "PLN-026",
            ("pipe", graph.edges[edges[-1][0], edges[-1][1]]["pipe"]),
            "water would run in a circle: " + ", ".join(way),
            got="",
            next_step="water runs down without a pump: remove one of these pipes, or turn it",
        )


def _misplaced_floats(
    sound: Iterable[Connection], saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    for c in sound:
        valve = c.pipe.valve
        kind = saved.part_ids[c.to_part][0]
        if valve is not None and valve.kind == "float" and kind not in ("filter", "tank"):
            yield text.problem(
                "PLN-027",
                ("pipe", c.pipe_id, "valve"),
                f"a float valve needs a water level to follow, and a {kind} keeps none",
                allowed="a float valve only in a pipe that ends in a tank or a filter",
                next_step="take another kind of valve, or none",
            )

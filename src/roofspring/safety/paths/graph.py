"""Every way that water can move between two parts, and when."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from roofspring.constants import Sourced
from roofspring.network.topology import is_shut
from roofspring.plan.geometry import inside_height_m
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    Part,
    Plan,
    Swale,
    Tank,
    Tap,
    split_port,
)
from roofspring.safety.disinfection import CLASS_A
from roofspring.sources import COMMON_PRACTICE

ALWAYS, STORM, TURNED, OPENED, BACK, SEEPS = range(6)
"""When a way is open, from every day to a mishap."""

WHEN_WORDS = (
    "every day",
    "when it rains hard and stores overflow",
    "when a diverter is turned the other way",
    "when a cleaning drain is opened",
    "when water flows back",
    "when ground or flood water stands over a crack or the lid",
)

STORM_PORTS = ("overflow", "reject")
SAND = "sand"
HOSE, GROUND, SOURCE = "hose", "ground", "source"
"""Starts of a way that are no part of the plan are written ``hose:yard``, ``ground:cistern`` and
``source:town``. No part id has a colon."""

LID_OVER_GROUND = Sourced(0.15, "m", COMMON_PRACTICE, "least height of a lid over the ground")


@dataclass(frozen=True)
class Way:
    """One way from a part to the next.

    Attributes
    ----------
    from_part, from_port, to_part, pipe_id : str
        ``pipe_id`` is that of other water, ``source.town``, or empty for ground water.
    when : int
        `ALWAYS` to `SEEPS`.
    barrier : str
        What the water passes on leaving: ``sand`` or the method of a disinfection that counts; else
        empty.
    """

    from_part: str
    from_port: str
    to_part: str
    pipe_id: str
    when: int
    barrier: str


def ways(plan: Plan) -> tuple[Way, ...]:
    """Every way of a plan, back-flow included.

    Overflows, screen rejects and weeps are open whenever it rains hard; both positions of a
    diverter that turns by month or by a float are open, the other position of one that a hand
    turns is a way of its own; cleaning drains open by hand; back-flow is what `back_ways` finds;
    ground water gets into a buried tank that is not said to be tight.
    """
    parts = dict(plan.parts())
    joined = [
        Way(
            c.from_part,
            c.from_port,
            c.to_part,
            c.pipe_id,
            _when(parts[c.from_part], c),
            _barrier(parts[c.from_part], c.from_port),
        )
        for c in connections(plan)
    ]
    return (*joined, *_other_water(plan), *_from_the_ground(plan), *back_ways(plan))


def place_words(plan: Plan, part_id: str) -> str:
    """The name for people of a part, or of a start that is none."""
    start, _, name = part_id.partition(":")
    if not name:
        groups: tuple[Mapping[str, Part], ...] = (
            plan.tanks, plan.filters, plan.taps, plan.roofs, plan.screens, plan.first_flushes,
            plan.disinfections, plan.diverters, plan.swales,
        )  # fmt: skip
        part = next((group[part_id] for group in groups if part_id in group), None)
        return part_id if part is None else part.label or part_id
    if start == SOURCE:
        source = plan.sources[name]
        return f"{source.label or name} ({source.water})"
    return start_words(part_id)


def start_words(part_id: str) -> str:
    """A start that is no part, in words; the id of a part as it is."""
    start, _, name = part_id.partition(":")
    return {HOSE: "end of a hose", GROUND: "ground water", SOURCE: name}.get(start, part_id)


def is_roof(plan: Plan, part_id: str) -> bool:
    """Whether a way starts at a roof: not at the ground, a hose, or other water."""
    return part_id in plan.roofs


def source_of(plan: Plan, part_id: str) -> str:
    """The kind of other water that a way starts with; empty for any other start."""
    start, _, name = part_id.partition(":")
    return plan.sources[name].water if start == SOURCE else ""


def _when(part: Part, c: Connection) -> int:
    if is_shut(part, c.from_port):
        return OPENED
    if isinstance(part, Diverter):
        turns_itself = part.side_months or part.side_hours or part.watch is not None
        return ALWAYS if turns_itself or c.from_port == part.position else TURNED
    if c.from_port in STORM_PORTS or (c.from_port == "drain"):
        return STORM
    return ALWAYS


def _barrier(part: Part, port: str) -> str:
    if isinstance(part, Filter):
        return SAND if port == "outlet" else ""
    return part.method if isinstance(part, Disinfection) and is_counted(part) else ""


def is_counted(step: Disinfection) -> bool:
    """Whether a step is a barrier: not a lamp whose proven dose is under that of class A.

    A lamp of which no dose is said is counted, and told as not said.

    Source
    ------
    NSF_55: class B is supplemental only.
    """
    dose = step.dose_mj_per_cm2
    return dose is None or dose >= CLASS_A.value or math.isclose(dose, CLASS_A.value)


def _other_water(plan: Plan) -> Iterator[Way]:
    for source_id, source in sorted(plan.sources.items()):
        to, _ = split_port(source.to, default="inlet")
        yield Way(f"{SOURCE}:{source_id}", "", to, f"source.{source_id}", ALWAYS, "")


def _from_the_ground(plan: Plan) -> Iterator[Way]:
    for tank_id, tank in sorted(plan.tanks.items()):
        if is_buried(tank) and not is_said_tight(tank):
            yield Way(f"{GROUND}:{tank_id}", "", tank_id, "", SEEPS, "")


def is_buried(tank: Tank) -> bool:
    """Whether the plan shows that ground water can stand higher than the tank's floor."""
    if tank.shelter.buried_m > 0.0:
        return True
    return tank.ground_m is not None and tank.base_m is not None and tank.base_m < tank.ground_m


def is_lid_low(tank: Tank) -> bool:
    """Whether water on the ground can stand over the lid of a buried tank."""
    if tank.shelter.buried_m > 0.0:
        return True
    brim = brim_m(tank)
    return (
        brim is not None
        and tank.ground_m is not None
        and (brim < tank.ground_m + LID_OVER_GROUND.value)
    )


def is_said_tight(tank: Tank) -> bool:
    """Whether the plan says that nothing gets in at walls or lid."""
    lid_ok = tank.cover.lid in ("locked", "shut") or (
        tank.cover.lid is None and not is_lid_low(tank)
    )
    return tank.cover.watertight is True and lid_ok


def brim_m(tank: Tank) -> float | None:
    """Height of the brim above the datum [m]; None when the plan gives no floor."""
    return None if tank.base_m is None else tank.base_m + inside_height_m(tank)


def back_ways(plan: Plan) -> tuple[Way, ...]:
    """Ways against the flow: into a part whose inlet stands drowned, or from a hose in a bucket.

    Water can come back through a pipe without a check valve when the water it ends in can stand
    over the port it comes from, and the inlet is under that water: then a full pipe runs as a
    siphon. It goes back through disinfection steps and diverters too, and no step counts on that
    way. A hose on a tap that nobody drinks from can draw whatever its end lies in, back to the
    store, unless the tap has a guard. Other water joined to a tap is pressed into the tap's store.
    """
    parts = dict(plan.parts())
    into: dict[str, list[Connection]] = {}
    for c in connections(plan):
        into.setdefault(c.to_part, []).append(c)
    fed = {split_port(s.to, default="inlet")[0] for s in plan.sources.values()}
    made: dict[tuple[str, str, str], Way] = {}
    for c in connections(plan):
        to = parts[c.to_part]
        if isinstance(to, Tap):
            if not to.drinking and not to.guard:
                chains = _chains(c, parts, into)
                start = f"{HOSE}:{c.to_part}"
            elif c.to_part in fed:
                chains, start = _chains(c, parts, into), c.to_part
            else:
                continue
            for chain in chains:
                if isinstance(parts[chain[-1].from_part], Tank):
                    _add_back(made, chain, start)
            continue
        lip = _lip_m(to)
        inlet = to.height_m(c.to_port)
        drowned = isinstance(to, Swale) or (lip is not None and inlet is not None and inlet < lip)
        if lip is None or not drowned:
            continue
        for chain in _chains(c, parts, into):
            end = chain[-1]
            start_part = parts[end.from_part]
            port = start_part.height_m(end.from_port)
            if isinstance(start_part, (Tank, Filter)) and port is not None and lip > port:
                _add_back(made, chain, c.to_part)
    return tuple(made.values())


def _chains(
    last: Connection, parts: dict[str, Part], into: dict[str, list[Connection]]
) -> list[tuple[Connection, ...]]:
    """Pipes back from one pipe to the stores behind it, where no check valve stands between."""
    made: list[tuple[Connection, ...]] = []
    seen = {last.pipe_id}
    edge: list[tuple[Connection, ...]] = [(last,)]
    while edge:
        chain = edge.pop()
        c = chain[-1]
        if c.pipe.valve is not None and c.pipe.valve.kind == "check":
            continue
        if isinstance(parts[c.from_part], (Disinfection, Diverter)):
            more = [b for b in into.get(c.from_part, ()) if b.pipe_id not in seen]
            seen |= {b.pipe_id for b in more}
            edge += [(*chain, b) for b in more]
        else:
            made.append(chain)
    return made


def _add_back(
    made: dict[tuple[str, str, str], Way], chain: tuple[Connection, ...], start: str
) -> None:
    for c in chain:
        key = (start, c.from_part, c.pipe_id)
        made.setdefault(key, Way(start, c.to_port, c.from_part, c.pipe_id, BACK, ""))
        start = c.from_part


def _lip_m(part: Part) -> float | None:
    """Height to which a part can fill; None when it holds no water or the plan does not say."""
    if isinstance(part, Tank):
        return part.overflow_m if part.overflow_m is not None else brim_m(part)
    if isinstance(part, Filter):
        return part.overflow_m
    return part.inlet_m if isinstance(part, Swale) else None

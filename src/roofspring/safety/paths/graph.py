"""Every way that water can move between two parts, and when."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.network.topology import is_shut
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Disinfection, Diverter, Filter, Part, Plan, Swale, Tank, Tap

ALWAYS, STORM, TURNED, OPENED, BACK = range(5)
"""When a way is open, from every day to a mishap."""

WHEN_WORDS = (
    "every day",
    "when it rains hard and stores overflow",
    "when a diverter is turned the other way",
    "when a cleaning drain is opened",
    "when water flows back",
)

STORM_PORTS = ("overflow", "reject")
SAND = "sand"
HOSE = "hose"


@dataclass(frozen=True)
class Way:
    """One way from a part to the next.

    Attributes
    ----------
    from_part, from_port, to_part, pipe_id : str
    when : int
        `ALWAYS` to `BACK`.
    barrier : str
        What the water passes on leaving: ``sand`` or the method of a disinfection; else empty.
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
    turns is a way of its own; cleaning drains open by hand; back-flow is what `back_ways` finds.
    """
    parts = dict(plan.parts())
    joined = connections(plan)
    made = [
        Way(
            c.from_part,
            c.from_port,
            c.to_part,
            c.pipe_id,
            _when(parts[c.from_part], c),
            _barrier(parts[c.from_part], c.from_port),
        )
        for c in joined
    ]
    return (*made, *back_ways(plan))


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
    return part.method if isinstance(part, Disinfection) else ""


def back_ways(plan: Plan) -> tuple[Way, ...]:
    """Ways against the flow: into a part whose inlet stands drowned, or from a hose in a bucket.

    Water can come back through a pipe without a check valve when the water it ends in can stand
    over the port it comes from, and the inlet is under that water. A hose on a tap that nobody
    drinks from can draw whatever its end lies in, back to the store, unless the tap has a guard.
    """
    parts = dict(plan.parts())
    made = []
    for c in connections(plan):
        if c.pipe.valve is not None and c.pipe.valve.kind == "check":
            continue
        to, start = parts[c.to_part], parts[c.from_part]
        if isinstance(to, Tap):
            if not to.drinking and not to.guard and isinstance(start, Tank):
                made.append(Way(HOSE + ":" + c.to_part, "", c.from_part, c.pipe_id, BACK, ""))
            continue
        lip = _lip_m(to)
        inlet = to.height_m(c.to_port)
        port = start.height_m(c.from_port)
        if lip is None or port is None or lip <= port:
            continue
        drowned = isinstance(to, Swale) or (inlet is not None and inlet < lip)
        if drowned and isinstance(start, (Tank, Filter)):
            made.append(Way(c.to_part, c.to_port, c.from_part, c.pipe_id, BACK, ""))
    return tuple(made)


def _lip_m(part: Part) -> float | None:
    """Height to which a part can fill; None when it holds no water or the plan does not say."""
    if isinstance(part, (Tank, Filter)):
        return part.overflow_m
    return part.inlet_m if isinstance(part, Swale) else None

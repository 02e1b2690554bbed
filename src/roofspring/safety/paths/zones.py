"""Which parts lie on the way to a drinking tap, and which of them hold raw water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Plan, Tank
from roofspring.safety.paths.graph import ALWAYS, STORM, TURNED, Way


@dataclass(frozen=True)
class Zones:
    """The plan as a sanitary engineer colours it.

    Attributes
    ----------
    plan : Plan
    everything : sequence of Way
    before : frozenset of str
        Parts, and starts that are none, from which a drinking tap can be reached.
    raw : frozenset of str
        Parts whose water is meant to pass a filter yet; in a plan without filters, a disinfection.
    joined : tuple of Connection
    tanks : mapping of str to Tank
        Tanks on the way to a drinking tap.
    """

    plan: Plan
    everything: Sequence[Way]
    before: frozenset[str]
    raw: frozenset[str]
    joined: tuple[Connection, ...]
    tanks: Mapping[str, Tank]

    def is_raw(self, part_id: str) -> bool:
        """Whether unfiltered water is meant to be in a part."""
        return part_id in self.raw

    def carries_raw(self, joined: Connection) -> bool:
        """Whether unfiltered water is meant to run in a pipe."""
        is_filtered = joined.from_part in self.plan.filters and joined.from_port == "outlet"
        return self.is_raw(joined.from_part) and not is_filtered

    def pipes(self) -> list[Connection]:
        """Pipes whose water can come to a drinking tap."""
        ends = {*self.before, *(t for t, tap in self.plan.taps.items() if tap.drinking)}
        return [c for c in self.joined if c.to_part in ends]

    def pipes_from_tanks(self) -> list[Connection]:
        """Pipes that leave a tank on the way to a drinking tap."""
        return [c for c in self.joined if c.from_part in self.tanks]


def zones_of(plan: Plan, everything: Sequence[Way]) -> Zones:
    """Colour the plan by its open ways; mishaps and back-flow do not count.

    A tank whose overflow leads round the filter still holds raw water: only the everyday way counts
    for what a part is meant to hold.
    """
    taps = {t for t, tap in plan.taps.items() if tap.drinking}
    before = _upstream([w for w in everything if w.when <= STORM], taps)
    ends = set(plan.filters) & before or set(plan.disinfections) & before
    raw = _upstream([w for w in everything if w.when == ALWAYS and not w.barrier], ends) | ends
    if not raw & set(plan.roofs):  # a diverter stands away from the filter
        meant = [w for w in everything if w.when in (ALWAYS, TURNED) and not w.barrier]
        raw = _upstream(meant, ends) | ends
    tanks = {t: tank for t, tank in sorted(plan.tanks.items()) if t in before}
    return Zones(plan, everything, frozenset(before), frozenset(raw), connections(plan), tanks)


def _upstream(open_ways: Sequence[Way], ends: set[str]) -> set[str]:
    """Every part from which one of the ends can be reached."""
    into: dict[str, list[str]] = {}
    for way in open_ways:
        into.setdefault(way.to_part, []).append(way.from_part)
    found: set[str] = set()
    edge = list(ends)
    while edge:
        for part in into.get(edge.pop(), ()):
            if part not in found:
                found.add(part)
                edge.append(part)
    return found

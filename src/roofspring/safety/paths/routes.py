"""Every kind of route to a drinking tap: from where, over what barriers, and when it is open.

Simple paths are never listed one by one: a plan of parallel parts has more of them than anybody
can count. For each tap one search goes back through pairs of a part and what has been passed, so
that every set of barriers, and every kind of mishap that shows more, is found once, by its shortest
route.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from typing import Any

from roofspring.plan.model import Disinfection, Filter, Plan
from roofspring.safety.paths.graph import (
    STORM,
    TURNED,
    WHEN_WORDS,
    Way,
    is_roof,
    source_of,
    start_words,
    ways,
)
from roofspring.safety.risk import credit
from roofspring.sandfilter.removal import GROUPS, range_law

Range = tuple[float, float]

NOTHING: Mapping[str, Range] = dict.fromkeys(GROUPS, (0.0, 0.0))


@dataclass(frozen=True)
class Route:
    """One kind of route, by its shortest example.

    Attributes
    ----------
    start, tap : str
        Where the water comes from: a roof, a swale; the end of a hose, the ground around a tank or
        other water, written ``hose:yard``, ``ground:cistern``, ``source:town``; and the tap.
    parts, pipes : tuple of str
    barriers : tuple of str
        Parts on it that take germs out.
    mechanisms : frozenset of str
        Kinds of barrier: two of one kind count as one.
    when : int
        As in `roofspring.safety.paths.graph`.
    log10 : mapping of str to pair
        Low and high end of the range for each group of germs [-].
    is_bypass : bool
        It misses a barrier that the fullest route to the same tap has, as drawn or with a diverter
        turned.
    is_supplied : bool
        It starts at a public main: what its supplier's treatment takes out is not counted.
    """

    start: str
    tap: str
    parts: tuple[str, ...]
    pipes: tuple[str, ...]
    barriers: tuple[str, ...]
    mechanisms: frozenset[str]
    when: int
    log10: Mapping[str, Range]
    is_bypass: bool
    is_supplied: bool = False

    @property
    def words(self) -> str:
        """The route in one line."""
        return " → ".join(start_words(p) for p in self.parts)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; ``log10`` is the low end, the one to count on."""
        return {
            "from": self.start,
            "to": self.tap,
            "parts": list(self.parts),
            "pipes": list(self.pipes),
            "barriers": list(self.barriers),
            "log10": {g: round(low, 2) for g, (low, _) in self.log10.items()},
            "log10_high": {g: round(high, 2) for g, (_, high) in self.log10.items()},
            "bypass": self.is_bypass,
            "supplied": self.is_supplied,
            "when": WHEN_WORDS[self.when],
        }


@dataclass(frozen=True)
class _Index:
    """The ways into each part, and the kinds of barrier as bits."""

    into: Mapping[str, Sequence[tuple[Way, int]]]
    out: Mapping[str, Sequence[Way]]
    kinds: tuple[str, ...]
    sources: frozenset[str]


def _index(plan: Plan) -> _Index:
    everything = ways(plan)
    kinds = tuple(sorted({w.barrier for w in everything} - {""}))
    bit = {kind: 1 << i for i, kind in enumerate(kinds)} | {"": 0}
    into: dict[str, list[tuple[Way, int]]] = {}
    out: dict[str, list[Way]] = {}
    for way in everything:
        into.setdefault(way.to_part, []).append((way, bit[way.barrier]))
        out.setdefault(way.from_part, []).append(way)
    # A swale is a source only of water that comes back out of the ground.
    sources = {*plan.roofs, *(w.from_part for w in everything if w.from_part in plan.swales)}
    sources |= {w.from_part for w in everything if ":" in w.from_part}
    return _Index(into, out, kinds, frozenset(sources))


def all_routes(
    plan: Plan, *, filter_log10: Mapping[str, Mapping[str, Range]] | None = None
) -> tuple[Route, ...]:
    """Routes to every drinking tap, the weakest first.

    Parameters
    ----------
    plan : Plan
    filter_log10 : mapping, optional
        For each filter, the range of each group of germs through time; without it, from new sand
        at the low end to a ripe bed at the high end, as published for household filters.

    Returns
    -------
    tuple of Route
        For each tap, source, set of kinds of barrier and mishap the shortest route, mishaps only
        where nothing as open passes fewer barriers; and at least one through every filter from
        which the tap can be reached.

    Notes
    -----
    Two barriers of one kind count once, the weaker of them: what got through the first is what the
    second does not catch either. A lamp in water that nothing has cleared counts from nothing up
    (NSF_55: for clear water). Of steps in a row, low ends are added to low ends.

    Source
    ------
    WHO_GDWQ_2011, multiple barriers.
    """
    index = _index(plan)
    ranges = filter_log10 or {f: default_filter_log10() for f in plan.filters}
    found: list[Route] = []
    known: dict[frozenset[tuple[str, str, int]], list[Route]] = {}
    for tap_id, tap in sorted(plan.taps.items()):
        if not tap.drinking:
            continue
        into = [way for way, _ in index.into.get(tap_id, ())]
        fed_alike = frozenset((w.from_part, w.barrier, w.when) for w in into)
        if len(into) == len(fed_alike) and fed_alike in known and tap_id not in index.out:
            found += [_to_another(r, tap_id, into) for r in known[fed_alike]]
            continue
        routes = _routes_to(plan, index, tap_id, ranges)
        # Water that came back and passed the same part again tells nothing new.
        made = _mark(plan, [r for r in routes if len(set(r.parts)) == len(r.parts)])
        if len(into) == len(fed_alike) and tap_id not in index.out:
            known[fed_alike] = made
        found += made
    return tuple(sorted(found, key=_weakness))


def _to_another(route: Route, tap_id: str, into: Sequence[Way]) -> Route:
    """The same route to another tap that the same parts feed."""
    last = next(w.pipe_id for w in into if w.from_part == route.parts[-2] and w.when <= route.when)
    return replace(
        route, tap=tap_id, parts=(*route.parts[:-1], tap_id), pipes=(*route.pipes[:-1], last)
    )


def _weakness(route: Route) -> tuple[float, bool, int, int, str, str]:
    low = sum(route.log10[g][0] for g in GROUPS)
    return (low, route.is_supplied, route.when, len(route.parts), route.start, route.tap)


def default_filter_log10() -> dict[str, Range]:
    """Range of a household filter that nothing is known of: new sand, cold, to a ripe bed."""
    return {g: (range_law(g).new_low_log10, range_law(g).ripe_high_log10) for g in GROUPS}


State = tuple[str, int, int]


def _routes_to(
    plan: Plan, index: _Index, tap_id: str, ranges: Mapping[str, Mapping[str, Range]]
) -> list[Route]:
    ahead = _search(index, tap_id)
    made = [
        _route(plan, _follow(ahead, state), tap_id, ranges)
        for state in ahead
        if state[0] in index.sources
    ]
    seen = {part for route in made for part in route.barriers}
    for filter_id in sorted(set(plan.filters) - seen):
        tail = _past_the_sand(index, filter_id, tap_id)
        head = _from_source(index, filter_id) if tail else None
        if tail is not None and head is not None:
            made.append(_route(plan, (*head, *tail), tap_id, ranges))
    return made


def _search(index: _Index, tap_id: str) -> dict[State, tuple[Way, State] | None]:
    """Back from a tap: for each part, what has been passed and how rare it is, by the shortest way.

    What is open rarely is kept only where nothing as open, or more, passes fewer barriers: the
    weaker way says it all. States come in the order of rarity, then of barriers, then of length,
    so that the weaker one is there first.
    """
    start: State = (tap_id, 0, 0)
    ahead: dict[State, tuple[Way, State] | None] = {}
    kept: dict[str, list[tuple[int, int]]] = {}
    edge: list[tuple[int, int, int, int, State, tuple[Way, State] | None]] = [
        (0, 0, 0, 0, start, None)
    ]
    pushed = 0
    while edge:
        _, _, length, _, state, step = heappop(edge)
        part, passed, worst = state
        if state in ahead:
            continue
        here = kept.setdefault(part, [])
        if worst > STORM and any(p & ~passed == 0 for p, _ in here):
            continue
        ahead[state] = step
        here.append((passed, worst))
        for way, bit in index.into.get(part, ()):
            behind = (way.from_part, passed | bit, max(worst, way.when))
            if behind not in ahead:
                pushed += 1
                key = (behind[2], behind[1].bit_count(), length + 1, pushed)
                heappush(edge, (*key, behind, (way, state)))
    return ahead


def _past_the_sand(index: _Index, filter_id: str, tap_id: str) -> tuple[Way, ...] | None:
    """Shortest way out of a filter by its sand and on to a tap, as open as there is one."""
    for most in range(len(WHEN_WORDS)):
        came: dict[str, Way] = {}
        edge = deque([filter_id])
        while edge:
            part = edge.popleft()
            if part == tap_id:
                way = [came[part]]
                while way[-1].from_part != filter_id:
                    way.append(came[way[-1].from_part])
                return tuple(reversed(way))
            for one in index.out.get(part, ()):
                by_sand = part != filter_id or one.barrier != ""
                if by_sand and one.when <= most and one.to_part not in came:
                    came[one.to_part] = one
                    edge.append(one.to_part)
    return None


def _follow(ahead: Mapping[State, tuple[Way, State] | None], state: State) -> tuple[Way, ...]:
    way: list[Way] = []
    step = ahead[state]
    while step is not None:
        way.append(step[0])
        step = ahead[step[1]]
    return tuple(way)


def _from_source(index: _Index, part_id: str) -> tuple[Way, ...] | None:
    """Shortest way from any source to a part; one that is open every day where there is one."""
    for most in range(len(WHEN_WORDS)):
        ahead: dict[str, tuple[Way, str] | None] = {part_id: None}
        edge = deque([part_id])
        while edge:
            part = edge.popleft()
            if part in index.sources:
                way: list[Way] = []
                step = ahead[part]
                while step is not None:
                    way.append(step[0])
                    step = ahead[step[1]]
                return tuple(way)
            for one, _ in index.into.get(part, ()):
                if one.when <= most and one.from_part not in ahead:
                    ahead[one.from_part] = (one, part)
                    edge.append(one.from_part)
    return None


def _route(
    plan: Plan, path: tuple[Way, ...], tap_id: str, ranges: Mapping[str, Mapping[str, Range]]
) -> Route:
    barriers = tuple(dict.fromkeys(w.from_part for w in path if w.barrier))
    places = (path[0].from_part, *(w.to_part for w in path))
    by_kind: dict[str, list[Mapping[str, Range]]] = {}
    for part_id in barriers:
        part = plan.part(part_id)
        if isinstance(part, Filter):
            by_kind.setdefault("sand", []).append(ranges[part_id])
        elif isinstance(part, Disinfection):
            taken = disinfection_log10(part.method)
            if part.method == "uv" and not is_cleared(plan, places, part_id):
                taken = {g: (0.0, high) for g, (_, high) in taken.items()}
            by_kind.setdefault(part.method, []).append(taken)
    return Route(
        path[0].from_part,
        tap_id,
        places,
        tuple(w.pipe_id for w in path),
        barriers,
        frozenset(by_kind),
        max(w.when for w in path),
        series_log10([_weaker(group) for group in by_kind.values()]),
        is_bypass=False,
    )


STEP_WORDS = {
    "uv": "a lamp",
    "boiling": "boiling",
    "chlorine": "chlorine",
    "cartridge": "a cartridge",
}


def kinds_of(mechanisms: Iterable[str]) -> str:
    """Kinds of barrier, in words."""
    return " and ".join(STEP_WORDS.get(m, m) for m in sorted(mechanisms))


def is_open_roof(plan: Plan, route: Route) -> bool:
    """Whether a route brings roof water as the plan is drawn, without a mishap."""
    return route.when <= STORM and is_roof(plan, route.start)


def is_round_the_sand(plan: Plan, route: Route) -> bool:
    """Whether a route brings roof water past a filter that another route to the tap passes."""
    is_round = route.is_bypass and bool(plan.filters) and "sand" not in route.mechanisms
    return is_round and is_open_roof(plan, route)


def is_cleared(plan: Plan, parts: Sequence[str], part_id: str) -> bool:
    """Whether sand, a cartridge or a supplier has cleared the water of a route before a part.

    Of water that nothing has cleared a lamp's credit has no low end: dirt shades the germs.
    """
    if source_of(plan, parts[0]) == "mains":
        return True
    before = parts[: parts.index(part_id)]
    return any(
        p in plan.filters
        or (p in plan.disinfections and plan.disinfections[p].method == "cartridge")
        for p in before
    )


def disinfection_log10(method: str) -> dict[str, Range]:
    """Published range of a disinfection step for each group of germs, of its most stubborn one."""
    made = {}
    for group in GROUPS:
        row = credit(method, group=group)
        made[group] = (row.low_log10, row.high_log10)
    return made


def _weaker(ranges: Sequence[Mapping[str, Range]]) -> dict[str, Range]:
    return {g: min(r[g] for r in ranges) for g in GROUPS}


def series_log10(steps: Sequence[Mapping[str, Range]]) -> dict[str, Range]:
    """Ranges of different kinds of barrier in a row: low ends add up, and so do high ends.

    Parameters
    ----------
    steps : sequence of mapping
        For each step the low and high log reduction of each group of germs.

    Returns
    -------
    dict of str to pair

    Source
    ------
    WHO_GDWQ_2011; independent barriers, an upper estimate where the survivors of one are tougher.

    Examples
    --------
    >>> series_log10([{g: (1.0, 2.0) for g in GROUPS}, {g: (0.5, 4.0) for g in GROUPS}])["viruses"]
    (1.5, 6.0)
    """
    return {g: (sum(s[g][0] for s in steps), sum(s[g][1] for s in steps)) for g in GROUPS}


def _mark(plan: Plan, routes: list[Route]) -> list[Route]:
    """Say of each route to one tap whether it misses what the fullest of its routes has.

    Mains water was treated before it came: it misses nothing. A barrier that a diverter turned by
    hand would lead to is missed too.
    """
    meant = [r.mechanisms for r in routes if r.when <= TURNED]
    fullest = max(meant, key=lambda m: (len(m), sorted(m)), default=frozenset())
    made = []
    for r in routes:
        is_supplied = source_of(plan, r.start) == "mains"
        is_bypass = r.mechanisms < fullest and not is_supplied
        made.append(replace(r, is_bypass=is_bypass, is_supplied=is_supplied))
    return made

"""What happened in a run: overflows, empty tanks, shut valves, starved filters, shortages.

An event is one unbroken stretch of days, or of steps of a window. The list is in order of time and
the same every time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal, get_args

import numpy as np
import numpy.typing as npt

from roofspring.kernels.net import RAKED, SANDED, SCRAPED
from roofspring.network.assemble import Assembled
from roofspring.network.result import Arc, RunResult
from roofspring.network.window import WindowResult
from roofspring.plan.model import Plan, Tank
from roofspring.units import show

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

EventKind = Literal[
    "use short",
    "tank dry",
    "filter starved",
    "float shut",
    "brim over",
    "overflow",
    "gutter over",
    "raked",
    "scraped",
    "re-sanded",
]
"""What can happen, the gravest first."""

WORDS: dict[str, str] = {
    "use short": "got less than it wanted",
    "tank dry": "was down to its outlet",
    "filter starved": "had no water over its weir",
    "float shut": "passed nothing: its float valve stood shut with water at hand",
    "brim over": "ran over its brim: its overflow could not carry what came",
    "overflow": "overflowed",
    "gutter over": "ran over its gutter",
    "raked": "was raked",
    "scraped": "was scraped",
    "re-sanded": "was sanded anew",
}

CLEANED: dict[int, EventKind] = {RAKED: "raked", SCRAPED: "scraped", SANDED: "re-sanded"}

DAY_S = 86400.0
SHORT_TOLERANCE_M3 = 1e-9
"""A step counts as short only if it misses by more: two programs that add in another order must
count the same days."""
EMPTY_M3 = 1e-6
"""Less than a cubic centimetre in a step is nothing."""
LEAST_S: dict[str, float] = {"filter starved": 3600.0, "float shut": DAY_S}
"""Stretches that must last to be told: engineering choices. All others are told however short."""


@dataclass(frozen=True)
class Event:
    """One thing that happened.

    Attributes
    ----------
    kind : str
        One of `EventKind`.
    where : str
        The part, pipe or use.
    begins, ends : str
        First and last day; or date and minute; or hours and minutes after the start of the window.
    begins_s : float
        After the start of the run [s].
    lasted_s : float
    volume_m3 : float or None
        What spilled, or what a use lacked [m3].
    peak_m3_per_s : float or None
        Greatest mean flow of a day, or of a step of a window, while it spilled [m3/s].
    to_part : str
        Where a spill went.
    words : str
        What happened, for people, without the dates.
    """

    kind: EventKind
    where: str
    begins: str
    ends: str
    begins_s: float
    lasted_s: float
    volume_m3: float | None = None
    peak_m3_per_s: float | None = None
    to_part: str = ""
    words: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def run_events(plan: Plan, result: RunResult) -> tuple[Event, ...]:
    """Every event of a run through a record, by whole days.

    Parameters
    ----------
    plan : Plan
    result : RunResult
        Of that plan.
    """
    stores = {store_id: i for i, store_id in enumerate(result.store_ids)}
    days = _Steps(
        plan,
        arcs=result.arcs,
        flow_m3=result.flow_m3,
        end_m3={s: result.end_m3[:, i] for s, i in stores.items()},
        low_m3={s: result.low_m3[:, i] for s, i in stores.items()},
        dead_m3={s: float(result.dead_m3[i]) for s, i in stores.items()},
        step_s=DAY_S,
        names=[str(day) for day in result.days],
    )
    lacks = short_days(result)
    made = list(days.events())
    for u, use_id in enumerate(result.use_ids):
        missing_m3 = result.wanted_m3[:, u] - result.delivered_m3[:, u]
        made += days.spells("use short", use_id, lacks[:, u], missing_m3)
    for i, filter_id in enumerate(result.filter_ids):
        for done, kind in CLEANED.items():
            made += days.spells(kind, filter_id, result.cleaned[:, i] == done)
    return in_order(made)


def window_events(
    plan: Plan, window: WindowResult, assembled: Assembled, *, start: np.datetime64 | None = None
) -> tuple[Event, ...]:
    """Every event of a window, step by step; shortages are not among them.

    Parameters
    ----------
    plan : Plan
    window : WindowResult
        Of that plan.
    assembled : Assembled
        The same plan compiled.
    start : numpy.datetime64, optional
        When it begins; times are counted from its start when not given.
    """
    count = len(window.flow_m3)
    steps = _Steps(
        plan,
        arcs=window.arcs,
        flow_m3=window.flow_m3,
        end_m3={n: window.content_m3[1:, i] for i, n in enumerate(window.nodes)},
        low_m3={n: window.content_m3[1:, i] for i, n in enumerate(window.nodes)},
        dead_m3={n: float(assembled.dead_m3[i]) for i, n in enumerate(window.nodes)},
        step_s=window.step_s,
        names=[_moment(start, i * window.step_s) for i in range(count + 1)],
    )
    return in_order(steps.events())


def short_days(result: RunResult) -> BoolArray:
    """Days on which a use got less than it wanted, (n_days, n_uses); counted with a tolerance."""
    short: BoolArray = result.wanted_m3 - result.delivered_m3 > np.maximum(
        SHORT_TOLERANCE_M3, 1e-9 * result.wanted_m3
    )
    return short


def after_filters(arcs: Sequence[Arc]) -> set[str]:
    """Parts that filtered water reaches."""
    reached = {arc.to_part for arc in arcs if arc.kind == "sand"}
    grown = True
    while grown:
        more = {arc.to_part for arc in arcs if arc.from_part in reached} - reached
        reached |= more
        grown = bool(more)
    return reached


def is_spill(plan: Plan, arc: Arc, filtered: set[str]) -> bool:
    """Whether water over this overflow is a trouble.

    A clean tank that fills the next tank over its overflow has spilled nothing.
    """
    return arc.kind == "overflow" and not (arc.from_part in filtered and arc.to_part in plan.tanks)


def in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    """By the time they begin, then the gravest first, then by place."""
    kinds = get_args(EventKind)
    return tuple(
        sorted(events, key=lambda e: (e.begins_s, kinds.index(e.kind), e.where, e.to_part))
    )


def worst_events(events: Sequence[Event], *, each: int = 2) -> tuple[Event, ...]:
    """The worst of each kind at each place: by volume where there is one, else by length."""
    best: list[Event] = []
    for kind in get_args(EventKind):
        mine = [e for e in events if e.kind == kind]
        mine.sort(key=lambda e: (-(e.volume_m3 or 0.0), -e.lasted_s, e.begins_s, e.where))
        best += mine[:each]
    return tuple(best)


def _told(event: Event, plan: Plan) -> Event:
    """The event with its words."""
    words = f"{_label(plan, event.where)} {WORDS[event.kind]}"
    if event.volume_m3 is not None:
        kind = "small_volume" if event.volume_m3 < 10.0 else "volume"
        words += f", {show(event.volume_m3, kind, units=plan.show)}"
        words += " in all" if event.peak_m3_per_s is not None else " less in all"
    if event.peak_m3_per_s is not None:
        words += f", at worst {show(event.peak_m3_per_s, 'flow', units=plan.show, digits=0)}"
    return replace(event, words=words)


def _label(plan: Plan, where: str) -> str:
    for group in (dict(plan.parts()), plan.pipes, plan.uses):
        if where in group:
            return str(group[where].label or where)
    return where


def _moment(start: np.datetime64 | None, after_s: float) -> str:
    minutes = round(after_s / 60.0)
    if start is None:
        return f"{minutes // 60:02d}:{minutes % 60:02d}"
    return str((start + np.timedelta64(minutes, "m")).astype("datetime64[m]"))


class _Steps:
    """The books of a run, step by step, from which stretches are read."""

    def __init__(
        self,
        plan: Plan,
        *,
        arcs: Sequence[Arc],
        flow_m3: FloatArray,
        end_m3: dict[str, FloatArray],
        low_m3: dict[str, FloatArray],
        dead_m3: dict[str, float],
        step_s: float,
        names: Sequence[str],
    ) -> None:
        self.plan, self.arcs, self.flow_m3 = plan, arcs, flow_m3
        self.end_m3, self.low_m3, self.dead_m3 = end_m3, low_m3, dead_m3
        self.step_s, self.names = step_s, names

    def events(self) -> Iterator[Event]:
        """All that arcs and contents tell."""
        filtered = after_filters(self.arcs)
        for j, arc in enumerate(self.arcs):
            flow_m3 = self.flow_m3[:, j]
            if is_spill(self.plan, arc, filtered):
                yield from self._spills("overflow", arc, flow_m3)
            elif arc.kind == "rim":
                yield from self._spills("brim over", arc, flow_m3)
            elif arc.kind == "gutter":
                yield from self._spills("gutter over", arc, flow_m3)
            elif arc.kind == "sand":
                dry = (flow_m3 <= EMPTY_M3) & (self.end_m3[arc.from_part] <= EMPTY_M3)
                yield from self.spells("filter starved", arc.from_part, dry)
            if self._has_float(arc):
                at_hand = self.low_m3[arc.from_part] > self.dead_m3[arc.from_part] + EMPTY_M3
                shut = (flow_m3 <= EMPTY_M3) & at_hand
                yield from self.spells("float shut", arc.pipe_id, shut)
        for part_id, part in self.plan.parts():
            if isinstance(part, Tank) and part_id in self.low_m3:
                dry = self.low_m3[part_id] <= self.dead_m3[part_id] + EMPTY_M3
                yield from self.spells("tank dry", part_id, dry)

    def _has_float(self, arc: Arc) -> bool:
        valve = self.plan.pipes[arc.pipe_id].valve if arc.pipe_id else None
        return arc.kind == "feed" and valve is not None and valve.kind == "float"

    def _spills(self, kind: EventKind, arc: Arc, flow_m3: FloatArray) -> Iterator[Event]:
        yield from self.spells(
            kind, arc.from_part, flow_m3 > EMPTY_M3, flow_m3, peaks=True, to_part=arc.to_part
        )

    def spells(
        self,
        kind: EventKind,
        where: str,
        flags: BoolArray,
        volume_m3: FloatArray | None = None,
        *,
        peaks: bool = False,
        to_part: str = "",
    ) -> Iterator[Event]:
        """An event for each unbroken stretch of true steps that is long enough to tell."""
        edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
        ends_after = len(self.names) > len(flags)  # moments, not days
        for first, past in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            lasted_s = (past - first) * self.step_s
            if lasted_s < LEAST_S.get(kind, 0.0):
                continue
            part = None if volume_m3 is None else volume_m3[first:past]
            event = Event(
                kind,
                where,
                self.names[first],
                self.names[past if ends_after else past - 1],
                first * self.step_s,
                lasted_s,
                None if part is None else float(part.sum()),
                float(part.max()) / self.step_s if part is not None and peaks else None,
                to_part,
            )
            yield _told(event, self.plan)

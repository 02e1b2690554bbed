"""Will it catch the storm? First cut: one cloudburst in five-minute steps, and where it went."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, ranked
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.result import GROUND
from roofspring.network.simulate import State, start_state
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.geometry import volume_to_depth_m
from roofspring.plan.model import Filter, FirstFlush, Plan, Tank
from roofspring.rain.cloudburst import HYETOGRAPHS, DesignRain
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet, show

FloatArray = npt.NDArray[np.float64]

STEP_S = 300.0
AFTER_S = 86400.0
START_HOURS = 12.0
LEAST_TOLD_M3 = 1e-4


@dataclass(frozen=True)
class Went:
    """Where some of the water went, and why."""

    where: str
    m3: float
    why: str


@dataclass(frozen=True)
class StormAnswer:
    """One storm through the plan. JSON keys as in the command contract."""

    show: UnitSet
    sentence: str
    depth_mm: float
    duration_s: float
    pattern: str
    peak_mm_per_h: float
    rain_source: str
    fell_m3: float
    caught_m3: float
    filtered_m3: float
    spilled: tuple[Went, ...]
    lost: tuple[Went, ...]
    """Before any store: wetting, splash, screen reject, first flush."""
    peak_level_m: dict[str, float]
    minutes: int
    residual_m3: float
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def assess_storm(
    plan: Plan,
    *,
    depth_m: float,
    duration_s: float,
    pattern: str = "alternating-block",
    month: int = 6,
    full_frac: float | None = None,
    design: DesignRain | None = None,
) -> StormAnswer:
    """Run one storm and the day after it through the plan.

    Parameters
    ----------
    plan : Plan
    depth_m, duration_s : float
        Rain of the storm [m] and its length [s], a whole number of five minutes.
    pattern : str
        A name in `roofspring.rain.cloudburst.HYETOGRAPHS`.
    month : int
        0 for January: what the uses want meanwhile.
    full_frac : float, optional
        Share of every tank that is full when the storm comes; the plan's own start when not given.
    design : DesignRain, optional
        Where the depth comes from, for the words.

    Raises
    ------
    PlanError, SolveError, RangeError
        The plan or the storm cannot be run.
    """
    storm = HYETOGRAPHS[pattern].depths_m(depth_m, duration_s=duration_s, step_s=STEP_S)
    rain_m = np.concatenate((storm, np.zeros(round(AFTER_S / STEP_S))))
    assembled = assemble(plan)
    window = simulate_window(
        plan,
        rain_m,
        step_s=STEP_S,
        month=month,
        start_hours=START_HOURS,
        assembled=assembled,
        state=_filled(assembled, full_frac),
    )
    moved = window.flow_m3.sum(axis=0)
    spilled = _spilled(plan, window, moved)
    over_gutters = _over_gutters(plan, window, assembled)
    fell = _total(window, moved, kinds=("rain",))
    caught = sum(
        float(v)
        for arc, v in zip(window.arcs, moved, strict=True)
        if arc.kind == "pass" and arc.to_part in (*plan.tanks, *plan.filters)
    )
    filtered = _total(window, moved, kinds=("sand",))
    lost_over = sum(w.m3 for w in spilled)
    volume = _volumes(plan)
    most = f", most of it from {spilled[0].where}" if spilled else ""
    over_m3 = sum(w.m3 for _, w in over_gutters)
    gutters = f"; {volume(over_m3)} ran over the gutters" if over_gutters else ""
    return StormAnswer(
        show=plan.show,
        sentence=(
            f"Of {volume(fell)} that fell on the roofs, {volume(caught)} reached the first tank "
            f"and {volume(lost_over)} left over an overflow{most}{gutters}; the filters passed "
            f"{volume(filtered)} in the storm and the day after it."
        ),
        depth_mm=depth_m * 1000.0,
        duration_s=duration_s,
        pattern=pattern,
        peak_mm_per_h=float(storm.max()) * 1000.0 * 3600.0 / STEP_S,
        rain_source=design.source if design else "as asked for",
        fell_m3=fell,
        caught_m3=caught,
        filtered_m3=filtered,
        spilled=tuple(
            sorted((*spilled, *(w for _, w in over_gutters)), key=lambda w: (-w.m3, w.where))
        ),
        lost=_lost(plan, window, moved),
        peak_level_m=_peaks(plan, window),
        minutes=round(len(rain_m) * STEP_S / 60.0),
        residual_m3=window.residual_m3,
        findings=ranked(
            (
                *(design.findings if design else ()),
                *assembled.findings,
                *_gutter_findings(over_gutters),
                *_limits(plan),
            )
        ),
    )


def _filled(assembled: Assembled, full_frac: float | None) -> State:
    state = start_state(assembled)
    if full_frac is not None:
        for i, part_id in enumerate(assembled.topology.nodes):
            if isinstance(assembled.topology.parts.get(part_id), Tank):
                state.content_m3[i] = full_frac * assembled.net.capacity_m3[i]
    return state


def _total(window: WindowResult, moved: FloatArray, *, kinds: tuple[str, ...]) -> float:
    return float(sum(v for arc, v in zip(window.arcs, moved, strict=True) if arc.kind in kinds))


def _volumes(plan: Plan) -> Any:
    return lambda m3: show(m3, "small_volume" if m3 < 10.0 else "volume", units=plan.show)


def _spilled(plan: Plan, window: WindowResult, moved: FloatArray) -> tuple[Went, ...]:
    """What left over each overflow, the most first, with the flows that made it do so."""
    rows = []
    flow = _flows(plan)
    filtered = _after_filters(window)
    for j, arc in enumerate(window.arcs):
        if arc.kind != "overflow" or moved[j] < LEAST_TOLD_M3:
            continue
        if arc.from_part in filtered and arc.to_part in plan.tanks:
            continue  # a clean tank that fills the next one: nothing is lost
        into = [i for i, a in enumerate(window.arcs) if a.to_part == arc.from_part]
        out = [
            i
            for i, a in enumerate(window.arcs)
            if a.from_part == arc.from_part and a.kind != "overflow"
        ]
        peak = int(np.argmax(window.flow_m3[:, j]))
        came = float(window.flow_m3[peak, into].sum()) / window.step_s
        went = float(window.flow_m3[peak, out].sum()) / window.step_s
        minutes = int((window.flow_m3[:, j] > 0.0).sum()) * window.step_s / 60.0
        part = dict(plan.parts())[arc.from_part]
        to = "the ground" if arc.to_part == GROUND else arc.to_part
        rows.append(
            Went(
                part.label or arc.from_part,
                float(moved[j]),
                f"full; at worst {flow(came)} came in and {flow(went)} went on; "
                f"it spilled to {to} for {minutes:.0f} minutes",
            )
        )
    return tuple(sorted(rows, key=lambda w: (-w.m3, w.where)))


def _over_gutters(
    plan: Plan, window: WindowResult, assembled: Assembled
) -> tuple[tuple[str, Went], ...]:
    """Roof by roof, what ran over its gutter, with what it carries and the worst five minutes."""
    rows = []
    flow = _flows(plan)
    for j, arc in enumerate(window.arcs):
        over = window.flow_m3[:, j]
        if arc.kind != "gutter" or over.sum() < LEAST_TOLD_M3:
            continue
        roof = arc.from_part
        came = over + window.flow_m3[:, assembled.topology.out[roof]]
        carries = assembled.net.gutter_m3_per_s[window.nodes.index(roof)]
        minutes = int((over > 0.0).sum()) * window.step_s / 60.0
        went = Went(
            f"gutter of {plan.roofs[roof].label or roof}",
            float(over.sum()),
            f"it carries {flow(carries)}; at worst {flow(came.max() / window.step_s)} ran off the "
            f"roof in five minutes; it spilled to the ground for {minutes:.0f} minutes",
        )
        rows.append((roof, went))
    return tuple(rows)


def _flows(plan: Plan) -> Callable[[float], str]:
    """Flows in the units of a plan."""
    return lambda m3_per_s: show(float(m3_per_s), "flow", units=plan.show, digits=0)


def _gutter_findings(rows: tuple[tuple[str, Went], ...]) -> Iterator[Finding]:
    for roof, went in rows:
        yield Finding(
            "ROF-101",
            "caution",
            "the gutter carries less than runs off the roof in the worst of this storm",
            where=f"{roof}.gutter",
            got=went.why,
            source="EN_12056_3",
            next="widen the gutter or the downpipe, give it a second outlet, or accept the loss",
        )


def _after_filters(window: WindowResult) -> set[str]:
    """Parts that filtered water reaches."""
    reached = {arc.to_part for arc in window.arcs if arc.kind == "sand"}
    grown = True
    while grown:
        more = {arc.to_part for arc in window.arcs if arc.from_part in reached} - reached
        reached |= more
        grown = bool(more)
    return reached


def _lost(plan: Plan, window: WindowResult, moved: FloatArray) -> tuple[Went, ...]:
    """What never reached a store."""
    parts = dict(plan.parts())
    words = {
        "wetting": "wetted the roof and dried off",
        "splash": "splashed, blew or leaked away",
        "reject": "thrown off by the screen with the leaves",
        "weep": "held by the first flush and wept away",
    }
    rows: dict[tuple[str, str], float] = {}
    for arc, volume in zip(window.arcs, moved, strict=True):
        if arc.kind in words and arc.to_part not in (*plan.tanks, *plan.filters):
            name = parts[arc.from_part].label or arc.from_part
            key = (name, words[arc.kind])
            rows[key] = rows.get(key, 0.0) + float(volume)
    held = {
        part_id: float(window.content_m3[-1, i])
        for i, part_id in enumerate(window.nodes)
        if isinstance(parts.get(part_id), FirstFlush)
    }
    for part_id, volume in held.items():
        rows[(parts[part_id].label or part_id, "still held by the first flush")] = volume
    return tuple(
        Went(where, m3, why) for (where, why), m3 in sorted(rows.items()) if m3 >= LEAST_TOLD_M3
    )


def _peaks(plan: Plan, window: WindowResult) -> dict[str, float]:
    """Highest level of each tank and filter whose heights are given [m above the datum]."""
    peaks = {}
    parts = dict(plan.parts())
    for i, part_id in enumerate(window.nodes):
        part, most = parts.get(part_id), float(window.content_m3[:, i].max())
        if isinstance(part, Tank) and part.base_m is not None:
            peaks[part_id] = part.base_m + volume_to_depth_m(part, most)
        elif isinstance(part, Filter) and part.outlet_m is not None:
            peaks[part_id] = part.outlet_m + most / part.area_m2
    return peaks


def _limits(plan: Plan) -> Iterator[Finding]:
    """What the storm takes to be wide enough."""
    bare = [roof_id for roof_id, roof in sorted(plan.roofs.items()) if roof.gutter is None]
    if bare:
        yield Finding(
            "STO-101",
            "note",
            "no gutter is given for these roofs, so they are taken to have gutters and downpipes "
            "that carry all that comes: what they would spill is counted as caught",
            where=", ".join(bare),
            source=ENGINEERING_CHOICE,
            next="add gutter to [roof...], or read the caught volume as the most that can be "
            "caught",
        )
    yield Finding(
        "STO-102",
        "note",
        "screens and overflows are taken to be wide enough: what a blocked screen would spill is "
        "counted as caught",
        where="screens and overflows",
        source=ENGINEERING_CHOICE,
        next="read the caught volume as the most that can be caught",
    )

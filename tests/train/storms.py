"""Storms on the demo train, run by the engine and held to the reference."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from roofspring.kernels.net import Books, Floats, Forcing
from roofspring.network.assemble import Assembled
from roofspring.network.forcing import build_forcing
from roofspring.network.result import Arc
from roofspring.network.simulate import State, run_books, start_state
from roofspring.network.topology import Topology
from roofspring.network.window import WindowResult, simulate_window
from roofspring.plan.model import Plan
from roofspring.rain import Kept, RainRecord, read

from . import course, house

DATA = Path(__file__).parents[1] / "data"

REPORT_S = 10.0
"""The reference reports this often; the engine's step is a whole number of it."""

AREAS_M2 = {
    "raw": house.RAW_M2,
    "sand-a": house.BED_M2,
    "sand-b": house.BED_M2,
    "clean": house.CLEAN_M2,
    "cistern": house.CISTERN_M2,
}
STARTS = {
    "half": {
        "flush": 0.0,
        "raw": 0.5 * house.RAW_LIP_M3,
        "sand-a": 0.0,
        "sand-b": 0.0,
        "clean": 0.5 * house.CLEAN_LIP_M3,
        "cistern": 0.5 * house.CISTERN_LIP_M3,
    },
    "full": {
        "flush": 0.05,
        "raw": 0.8 * house.RAW_LIP_M3,
        "sand-a": house.SHUT_M3["a"],
        "sand-b": house.SHUT_M3["b"],
        "clean": 0.95 * house.CLEAN_LIP_M3,
        "cistern": 0.98 * house.CISTERN_LIP_M3,
    },
}

PEAK_AT = 0.4


def real(day: str) -> house.Storm:
    """A day of the record and the day after it."""
    record = read(DATA / "new_york_jfk_hourly_2013.csv")
    first = 24 * [str(d) for d in record.days].index(day)
    return house.Storm(record.depth_m[first : first + 48].copy(), 3600.0, int(day[5:7]) - 1)


def made(depth_mm: float, minutes: int, *, hours: int = 28) -> house.Storm:
    """An hour without rain, a burst in July that rises and falls in a straight line, dry hours."""
    x = np.arange(0, minutes + 5, 5) / minutes
    cumulative = np.where(x < PEAK_AT, x**2 / PEAK_AT, 1.0 - (1.0 - x) ** 2 / (1.0 - PEAK_AT))
    burst_m = np.diff(cumulative) * depth_mm / 1000.0
    rain_m = np.zeros(12 * hours)
    rain_m[12 : 12 + len(burst_m)] = burst_m
    return house.Storm(rain_m, 300.0, 6)


def as_in_reference(plan: Plan, *, band_m: float = 0.0, skin: str = "steady") -> Plan:
    """The demo with what the reference has: strainers that do not foul, a law of the skin."""
    pipes = dict(plan.pipes)
    for pipe_id, pipe in plan.pipes.items():
        if pipe.valve is not None and pipe.strainer is not None:
            valve = pipe.valve.model_copy(update={"band_m": band_m})
            strainer = pipe.strainer.model_copy(update={"guard": True})
            pipes[pipe_id] = pipe.model_copy(update={"valve": valve, "strainer": strainer})
    filters = {
        name: part.model_copy(update={"skin": part.skin.model_copy(update={"law": skin})})
        for name, part in plan.filters.items()
    }
    return plan.model_copy(update={"pipes": pipes, "filters": filters})


def laws_of(*, band_m: float = 0.0, cake_s_per_m: float = 0.0) -> house.Laws:
    """The laws of such a plan: its overflows have the bores of their pipes."""
    spill = {store: house.side_outlet(bore) for store, bore in house.OVERFLOW_BORES_M.items()}
    return house.Laws(band_m=band_m or None, spill=spill, cake_s_per_m=cake_s_per_m)


def begin(assembled: Assembled, start: str) -> State:
    """Contents to begin with, dry roofs."""
    state = start_state(assembled)
    for store, volume in STARTS[start].items():
        state.content_m3[assembled.topology.nodes.index(store)] = volume
    return state


def engine(
    plan: Plan, assembled: Assembled, storm: house.Storm, start: str, *, step_s: float
) -> WindowResult:
    """The storm by the engine, reported every ``step_s``, which divides the storm's own step."""
    cut = round(storm.step_s / step_s)
    return simulate_window(
        plan,
        np.repeat(storm.rain_m / cut, cut),
        step_s=step_s,
        month=storm.month,
        assembled=assembled,
        state=begin(assembled, start),
    )


@dataclass(frozen=True)
class LongRun:
    """A storm as a run of years takes it: short steps while it rains, long ones after."""

    assembled: Assembled
    forcing: Forcing
    start: State

    def __call__(self) -> Books:
        """The run, with a page of the books for every step."""
        pages = np.datetime64("2001-01-01") + np.arange(len(self.forcing.day))
        return run_books(self.assembled.net, self.forcing, self.start, days=pages)[0]

    @property
    def ends_s(self) -> Floats:
        """When each step ends."""
        lengths = np.round((self.forcing.to_hour - self.forcing.from_hour) * 3600.0)
        return np.cumsum(lengths)


def in_long_run(plan: Plan, assembled: Assembled, storm: house.Storm, start: str) -> LongRun:
    """A storm of whole days, cut into steps by the rule for records of years."""
    first = np.datetime64(f"2001-{storm.month + 1:02d}-01", "s")
    kept = np.full(len(storm.rain_m), Kept.MEASURED, dtype=np.uint8)
    record = RainRecord(
        start=first, step_s=storm.step_s, depth_m=storm.rain_m, kept=kept, name="storm", source=""
    )
    steps = plan.run.model_copy(update={"wet_step_s": storm.step_s, "dry_step_s": 3600.0})
    forcing = build_forcing(
        plan.model_copy(update={"run": steps}), record, use_ids=assembled.use_ids
    )
    day = forcing.day
    paged = forcing._replace(
        day=np.arange(len(day)),
        date=np.full(len(day), -1, dtype=np.int64),
        **{
            name: getattr(forcing, name)[day]
            for name in (
                "month", "water_degc", "snow_frac", "thaw_m_per_s", "ice_m", "want_m3", "thickness"
            )
        },
    )  # fmt: skip
    return LongRun(assembled, paged, begin(assembled, start))


def name_of(arc: Arc) -> tuple[str, str]:
    """The reference's name of a way that water moves."""
    if arc.kind == "draw":
        both = f"drinking {arc.from_part}"
        return "draw", both if arc.to_part == "drinking" else arc.to_part
    return arc.kind, arc.to_part if arc.kind in ("rain", "feed") else arc.from_part


def worst(window: WindowResult, true: course.Course) -> tuple[float, float]:
    """Largest error of any volume at the end, as a share of what fell; of any level ever [m]."""
    ends_s = np.arange(1.0, len(window.flow_m3) + 1.0) * window.step_s
    return _worst(window.content_m3[1:], window.flow_m3, window, ends_s, true)


def worst_in_long_run(run: LongRun, true: course.Course) -> tuple[float, float]:
    """The same, at the ends of the steps of a long run."""
    books = run()
    return _worst(books.end_m3, books.flow_m3, run.assembled.topology, run.ends_s, true)


def _worst(
    content_m3: Floats,
    flow_m3: Floats,
    names: WindowResult | Topology,
    ends_s: Floats,
    true: course.Course,
) -> tuple[float, float]:
    fell_m3 = sum(true.moved_m3["rain", roof][-1] for roof in house.ROOFS_M2)
    shares = []
    for arc, moved_m3 in zip(names.arcs, flow_m3.sum(axis=0), strict=True):
        if name_of(arc) in true.moved_m3:
            shares.append(np.abs(moved_m3 - true.moved_m3[name_of(arc)][-1]) / fell_m3)
        else:
            assert moved_m3 == 0.0  # a way that the reference has no need of
    rows = np.round(ends_s / REPORT_S).astype(np.int64)
    levels = [
        np.abs(content_m3[:, names.nodes.index(store)] - true.content_m3[store][rows]).max() / area
        for store, area in AREAS_M2.items()
    ]
    return float(max(shares)), float(max(levels))

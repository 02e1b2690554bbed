"""Levels and flows of a storm, step by step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from roofspring.network.result import Arc
from roofspring.network.window import WindowResult
from roofspring.plan.model import Filter, FirstFlush, Plan, Tank
from roofspring.reliability.flows import catching
from roofspring.reliability.storm.account import is_catchable_loss
from roofspring.reliability.storm.spills import level_m
from roofspring.reliability.storm.weather import Weather
from roofspring.units import UNIT_SETS, UnitSet


@dataclass(frozen=True)
class Series:
    """A storm step by step.

    Attributes
    ----------
    step_s : float
    start : str
        Date and minute of the first moment; empty for a storm made to order.
    rain_m : (n_steps,)
    levels_m : by part, (n_steps + 1,)
        At each moment, the first at the start [m above the datum]; parts whose heights are given.
    contents_m3 : by part, (n_steps + 1,)
        Of tanks, filters (above their weir) and first-flush chambers [m3].
    flows_m3_per_s : by name, (n_steps,)
        Mean flow of each step along each way that water took [m3/s].
    into_tanks_m3_per_s, lost_m3_per_s, sand_m3_per_s : (n_steps,)
        The same, added up: roof water into tanks and filters, over gutters, screens and overflows
        to the ground, and through the sand.
    """

    step_s: float
    start: str
    rain_m: tuple[float, ...]
    levels_m: dict[str, tuple[float, ...]]
    contents_m3: dict[str, tuple[float, ...]]
    flows_m3_per_s: dict[str, tuple[float, ...]]
    into_tanks_m3_per_s: tuple[float, ...]
    lost_m3_per_s: tuple[float, ...]
    sand_m3_per_s: tuple[float, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def way_name(arc: Arc) -> str:
    """One way of water in words, like ``raw.outlet to sand-a``."""
    if arc.kind == "rain":
        return f"rain on {arc.to_part}"
    source = f"{arc.from_part}.{arc.from_port}" if arc.from_port else f"{arc.from_part} {arc.kind}"
    return f"{source} to {arc.to_part.strip('()')}"


def make_series(plan: Plan, window: WindowResult, weather: Weather) -> Series:
    """The series of a run."""
    parts = dict(plan.parts())
    stores = [
        i
        for i, part_id in enumerate(window.nodes)
        if isinstance(parts.get(part_id), (Tank, Filter, FirstFlush))
    ]
    levels = {
        window.nodes[i]: level_m(plan, window.nodes[i], window.content_m3[:, i]) for i in stores
    }
    flows: dict[str, np.ndarray[Any, np.dtype[np.float64]]] = {}
    for j, arc in enumerate(window.arcs):
        name = way_name(arc)
        flows[name] = flows.get(name, 0.0) + window.flow_m3[:, j] / window.step_s
    return Series(
        step_s=window.step_s,
        start="" if weather.start is None else str(weather.start.astype("datetime64[m]")),
        rain_m=tuple(weather.rain_m.tolist()),
        levels_m={p: tuple(v.tolist()) for p, v in levels.items() if v is not None},
        contents_m3={window.nodes[i]: tuple(window.content_m3[:, i].tolist()) for i in stores},
        flows_m3_per_s={name: tuple(v.tolist()) for name, v in flows.items()},
        into_tanks_m3_per_s=_sum(window, catching(plan, window.arcs)),
        lost_m3_per_s=_sum(window, is_catchable_loss(plan, window.arcs)),
        sand_m3_per_s=_sum(window, [arc.kind == "sand" for arc in window.arcs]),
    )


def _sum(window: WindowResult, picked: Sequence[bool]) -> tuple[float, ...]:
    flows = window.flow_m3[:, np.array(picked, dtype=bool)].sum(axis=1) / window.step_s
    return tuple(flows.tolist())


def series_csv(series: Series, *, units: UnitSet) -> Iterator[str]:
    """The series as lines of CSV, in the units a person asked for; the first line says which.

    Parameters
    ----------
    series : Series
    units : {"metric", "us"}

    Yields
    ------
    str
        The head, then one line for each step with its end: minutes gone, the date and minute where
        there is one, rain of the step, levels and contents at its end, mean flows in it.
    """
    rain, rain_m, _ = UNIT_SETS[units]["rain"]
    height, height_m, _ = UNIT_SETS[units]["height"]
    volume, volume_m3, _ = UNIT_SETS[units]["small_volume"]
    flow, flow_m3_per_s, _ = UNIT_SETS[units]["flow"]
    columns = [("time [min]", [(i + 1) * series.step_s / 60.0 for i in range(len(series.rain_m))])]
    columns.append((f"rain [{rain}]", [v / rain_m for v in series.rain_m]))
    columns += [
        (f"{p} level [{height}]", [v / height_m for v in values[1:]])
        for p, values in series.levels_m.items()
    ]
    columns += [
        (f"{p} holds [{volume}]", [v / volume_m3 for v in values[1:]])
        for p, values in series.contents_m3.items()
    ]
    columns += [
        (f"{name} [{flow}]", [v / flow_m3_per_s for v in values])
        for name, values in series.flows_m3_per_s.items()
    ]
    dated = bool(series.start)
    yield ",".join([*(["time"] if dated else []), *(name for name, _ in columns)]) + "\n"
    start = np.datetime64(series.start) if dated else None
    for row, cells in enumerate(zip(*(values for _, values in columns), strict=True)):
        words = [f"{value:.6g}" for value in cells]
        if start is not None:
            words.insert(
                0, str(start + np.timedelta64(round((row + 1) * series.step_s / 60.0), "m"))
            )
        yield ",".join(words) + "\n"

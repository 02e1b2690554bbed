"""A plan becomes arrays: the only place where plan fields meet formulas."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import fsum

import numpy as np

from roofspring.catchment import first_flush_volume_m3
from roofspring.errors import Finding
from roofspring.kernels import net as k
from roofspring.network.assumptions import Assumption
from roofspring.network.edges import ices_over, overflow_table, rim_flow_m3_per_s, valve_band
from roofspring.network.findings import graph_findings
from roofspring.network.heights import bed_heights, shut_height_m
from roofspring.network.laws import (
    bed_resistance_s,
    check_fittings,
    gutter_limit_m3_per_s,
    pipe_law,
    roof_runoff_frac,
    roof_wetting_m,
    strainer_fouling,
    valve_loss_frac,
    whole_days,
)
from roofspring.network.life import behind_sand, held_m3, life_of, start_of
from roofspring.network.result import GROUND
from roofspring.network.topology import Topology, arrange
from roofspring.plan.geometry import (
    brim_volume_m3,
    dead_volume_m3,
    depth_to_volume_m3,
    overflow_volume_m3,
    volume_to_depth_m,
)
from roofspring.plan.graph import Connection
from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    FirstFlush,
    Part,
    Pipe,
    Plan,
    Roof,
    Screen,
    Tank,
)

DAY_S = 86400.0
SMALLEST_M = 1e-9
_BOTTOMLESS_M = 1.0
"""How far below a tank's floor a feed runs when heights are not given: it is never held back."""


@dataclass(frozen=True)
class Assembled:
    """A plan compiled for the kernel, with the names that its rows stand for."""

    net: k.Net
    topology: Topology
    use_ids: tuple[str, ...]
    start: k.State
    dead_m3: np.ndarray[tuple[int], np.dtype[np.float64]]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]


def assemble(plan: Plan) -> Assembled:
    """Compile a plan.

    Raises
    ------
    PlanError (NET-001 to NET-004)
        Something in the plan that reading could not see; all of it at once.
    """
    check_fittings(plan)
    topology = arrange(plan)
    maker = _Maker(plan, topology)
    net = maker.net()
    return Assembled(
        net=net,
        topology=topology,
        use_ids=maker.use_ids,
        start=start_of(topology, maker.start_m3, len(net.feed_arc)),
        dead_m3=maker.dead_m3,
        findings=graph_findings(plan, topology),
        assumptions=tuple(maker.assumptions),
    )


class _Maker:
    """Fills the arrays row by row."""

    def __init__(self, plan: Plan, topology: Topology) -> None:
        n, arcs = len(topology.nodes), len(topology.arcs)
        self.plan, self.topology = plan, topology
        self.row = {part_id: i for i, part_id in enumerate(topology.nodes)}
        self.use_ids = tuple(sorted(plan.uses, key=lambda u: (plan.uses[u].importance, u)))
        self.assumptions: list[Assumption] = []
        self.kind = np.full(n, k.SINK, dtype=np.int64)
        self.slot = np.full((n, 6), -1, dtype=np.int64)
        self.arc_to = np.array(
            [self.row.get(arc.to_part, self.row[GROUND]) for arc in topology.arcs], dtype=np.int64
        ).reshape(arcs)
        self.arc_float = np.zeros(arcs, dtype=np.int64)
        self.area_m2, self.runoff_frac = np.zeros(n), np.zeros(n)
        self.wetting_m, self.drying_m_per_s = np.zeros(n), np.zeros(n)
        self.snow_lost_frac = np.zeros(n)
        self.blinding_m, self.rinse_days = np.full(n, np.inf), np.ones(n, dtype=np.int64)
        self.gutter_m3_per_s = np.full(n, k.UNLIMITED_M3_PER_S)
        self.capacity_m3, self.shut_m3 = np.zeros(n), np.full(n, np.inf)
        self.band_m3, self.valve_acts = np.zeros(n), np.zeros(n, dtype=np.int64)
        self.reset_s, self.bed_s, self.held_m3 = np.ones(n), np.zeros(n), np.zeros(n)
        self.throttle = np.full(n, k.UNLIMITED_M3_PER_S)
        self.side = np.zeros((n, 12), dtype=np.int64)
        self.side_hours = np.zeros((n, 24), dtype=np.int64)
        self.watch, self.side_above_m3 = np.full(n, -1, dtype=np.int64), np.zeros(n)
        self.evaporation = np.zeros((n, 12))
        self.freezes = np.zeros(n, dtype=np.int64)
        self.level_m = np.zeros((n, k.LEVEL_POINTS_COUNT))
        self.brim_m3 = np.ones(n)
        self.shut_heights_m: dict[str, list[float]] = {}
        self.over_limited = np.zeros(n, dtype=np.int64)
        self.over_flow = np.zeros((n, k.HEAD_POINTS_COUNT))
        self.over_most = np.full(n, k.UNLIMITED_M3_PER_S)
        self.start_m3, self.dead_m3 = np.zeros(n), np.zeros(n)
        for part_id in topology.nodes[:-1]:
            self._part(part_id)

    def _part(self, part_id: str) -> None:
        part, i = self.topology.parts[part_id], self.row[part_id]
        for place, arcs in ((k.OUT, self.topology.out), (k.SIDE, self.topology.side)):
            self.slot[i, place] = arcs.get(part_id, -1)
        if isinstance(part, Roof):
            self._roof(part_id, part, i)
        elif isinstance(part, Screen):
            self.kind[i], self.runoff_frac[i] = k.SCREEN, part.efficiency_frac
            if part.blinds_after_m is not None:
                self.blinding_m[i] = max(part.blinds_after_m, SMALLEST_M)
            self.rinse_days[i] = whole_days(part.rinsed_every_s)
        elif isinstance(part, FirstFlush):
            self.kind[i] = k.FLUSH
            self.capacity_m3[i] = self._flush_volume_m3(part_id, part)
            self.reset_s[i] = max(part.reset_s, 1.0)
        elif isinstance(part, Diverter):
            self.kind[i] = k.DIVERTER
            for month in range(12):
                to_side = part.position == "side" or month + 1 in part.side_months
                self.side[i, month] = int(to_side)
            self.side_hours[i, list(part.side_hours)] = 1
            watched = None if part.watch is None else self.topology.parts.get(part.watch)
            if part.watch is not None and isinstance(watched, Tank):
                self.watch[i] = self.row[part.watch]
                self.side_above_m3[i] = part.side_above_frac * overflow_volume_m3(watched)
        elif isinstance(part, Disinfection):
            self.kind[i] = k.PASS
        elif isinstance(part, Tank):
            self._tank(part_id, part, i)
        elif isinstance(part, Filter):
            self._filter(part_id, part, i)

    def _roof(self, part_id: str, part: Roof, i: int) -> None:
        self.kind[i] = k.ROOF
        self.slot[i, k.RAIN] = self.topology.rain[part_id]
        self.slot[i, k.WETTING] = self.topology.wetting[part_id]
        self.slot[i, k.SPLASH] = self.topology.splash[part_id]
        self.slot[i, k.SLID] = self.topology.slid[part_id]
        self.slot[i, k.GUTTER] = self.topology.gutter.get(part_id, -1)
        self.area_m2[i] = part.area_m2
        self.runoff_frac[i], self.wetting_m[i] = roof_runoff_frac(part), roof_wetting_m(part)
        self.drying_m_per_s[i] = part.drying_m_per_s
        self.snow_lost_frac[i] = part.snow_lost_frac
        if part.gutter is not None:
            self.gutter_m3_per_s[i] = gutter_limit_m3_per_s(part.gutter)
            if part.gutter.capacity_m3_per_s is None:
                self._assume(
                    f"{part_id}.gutter.capacity",
                    "flow that the gutter carries",
                    self.gutter_m3_per_s[i],
                    "flow",
                    "by its shape and size, level gutter: EN_12056_3",
                )
        source = f"by the material {part.material!r}: engineering choice"
        if part.coefficient_frac is None:
            self._assume(
                f"{part_id}.coefficient", "runoff coefficient", self.runoff_frac[i], "", source
            )
        if part.wetting_m is None:
            self._assume(f"{part_id}.wetting", "wetting loss", self.wetting_m[i], "depth", source)

    def _flush_volume_m3(self, part_id: str, part: FirstFlush) -> float:
        if part.volume_m3 is not None:
            return part.volume_m3
        area_m2 = fsum(  # not by the order of roofs in the file
            roof.area_m2
            for roof_id, roof in self.plan.roofs.items()
            if part_id in self._runs_to(roof_id)
        )
        volume_m3 = first_flush_volume_m3(area_m2, depth_m=part.depth_m) if area_m2 > 0.0 else 0.0
        self._assume(
            f"{part_id}.volume",
            "first-flush volume",
            volume_m3,
            "small_volume",
            "depth times the roof area that drains to it",
        )
        return volume_m3

    def _runs_to(self, part_id: str) -> set[str]:
        """Parts that the runoff of a roof reaches before any tank."""
        reached: set[str] = set()
        waiting = [part_id]
        while waiting:
            arc = self.topology.out.get(waiting.pop())
            if arc is None:
                continue
            to = self.topology.arcs[arc].to_part
            if to not in reached and not isinstance(self.topology.parts.get(to), (Tank, Filter)):
                reached.add(to)
                waiting.append(to)
        return reached

    def _tank(self, part_id: str, part: Tank, i: int) -> None:
        self.kind[i] = k.TANK
        self.brim_m3[i] = brim_volume_m3(part)
        self.capacity_m3[i] = overflow_volume_m3(part)
        floor_m = part.base_m or 0.0
        self.level_m[i] = [
            floor_m + volume_to_depth_m(part, float(v))
            for v in np.linspace(0.0, self.brim_m3[i], k.LEVEL_POINTS_COUNT)
        ]
        self.start_m3[i] = part.start_frac * self.capacity_m3[i]
        rim = self.topology.rim.get(part_id)
        if rim is not None and self.brim_m3[i] > self.capacity_m3[i]:
            self.slot[i, k.RIM] = rim
            self.over_limited[i] = 1
            pipe, far_m = self._overflow(part_id)
            self.over_flow[i] = overflow_table(part, pipe, far_m=far_m)
        if part.evaporation_m_per_day is not None:
            self.slot[i, k.EVAPORATION] = self.topology.evaporation[part_id]
            self.evaporation[i] = np.array(part.evaporation_m_per_day) / DAY_S
        self.freezes[i] = int(ices_over(part))
        ports = ["outlet", *part.more_outlets]
        self.dead_m3[i] = min(dead_volume_m3(part, port) for port in ports)

    def _overflow(self, part_id: str) -> tuple[Pipe, float | None]:
        """The pipe of an overflow, and the height of its far end where that is known."""
        over = self._connection(self.topology.side[part_id])
        assert over is not None
        far = self.topology.parts.get(over.to_part)
        return over.pipe, None if far is None else far.height_m(over.to_port)

    def _filter(self, part_id: str, part: Filter, i: int) -> None:
        self.kind[i] = k.BED
        self.area_m2[i] = part.area_m2
        self.bed_s[i], self.held_m3[i] = bed_resistance_s(part), held_m3(part)
        self.slot[i, k.WASTE] = self.topology.waste[part_id]
        if part_id in self.topology.rim:
            self.slot[i, k.RIM] = self.topology.rim[part_id]
            pipe, far_m = self._overflow(part_id)
            most_m3_per_s = rim_flow_m3_per_s(part, pipe, far_m=far_m)
            if most_m3_per_s is not None:
                self.over_most[i] = most_m3_per_s
        if part.throttle_m_per_s is not None:
            self.throttle[i] = part.throttle_m_per_s * part.area_m2
        heights = bed_heights(part)
        self.capacity_m3[i] = heights.overflow_over_weir_m * part.area_m2
        self.shut_m3[i] = self.capacity_m3[i]
        if heights.assumed:
            self._assume(
                f"{part_id}.overflow",
                "overflow lip over the weir crest",
                heights.overflow_over_weir_m,
                "height",
                "engineering choice",
            )

    def net(self) -> k.Net:
        """All arrays."""
        feeds = self._feeds()
        for part_id, heights_m in self.shut_heights_m.items():
            if min(heights_m) < max(heights_m):
                self._assume(
                    f"{part_id}.float-valves",
                    "level at which all float valves that fill it are shut",
                    min(heights_m),
                    "height",
                    "the lowest of them decides for all: engineering choice",
                )
        draws = self._draws()
        uses = [self.plan.uses[u] for u in self.use_ids]
        hours = np.array([use.hours for use in uses], dtype=np.float64).reshape(len(uses), 24)
        cum = np.zeros((len(uses), 25))
        if uses:
            cum[:, 1:] = np.cumsum(hours, axis=1) / hours.sum(axis=1, keepdims=True)
            cum[:, 24] = 1.0
        return k.Net(
            kind=self.kind,
            slot=self.slot,
            arc_to=self.arc_to,
            arc_float=self.arc_float,
            area_m2=self.area_m2,
            runoff_frac=self.runoff_frac,
            wetting_m=self.wetting_m,
            snow_lost_frac=self.snow_lost_frac,
            blinding_m=self.blinding_m,
            rinse_days=self.rinse_days,
            drying_m_per_s=self.drying_m_per_s,
            gutter_m3_per_s=self.gutter_m3_per_s,
            capacity_m3=self.capacity_m3,
            shut_m3=self.shut_m3,
            band_m3=self.band_m3,
            valve_acts=self.valve_acts,
            reset_s=self.reset_s,
            bed_s=self.bed_s,
            life=life_of(self.topology),
            throttle_m3_per_s=self.throttle,
            held_m3=self.held_m3,
            side=self.side,
            side_hours=self.side_hours,
            watch=self.watch,
            side_above_m3=self.side_above_m3,
            evaporation_m_per_s=self.evaporation,
            freezes=self.freezes,
            level_m=self.level_m,
            brim_m3=self.brim_m3,
            over_limited=self.over_limited,
            over_flow_m3_per_s=self.over_flow,
            over_most_m3_per_s=self.over_most,
            **feeds,
            **draws,
            ration_below_frac=np.array([u.ration_below_frac for u in uses], dtype=np.float64),
            ration_to_frac=np.array([u.ration_to_frac for u in uses], dtype=np.float64),
            hours_cum_frac=cum,
        )

    def _feeds(self) -> dict[str, np.ndarray]:
        first = [0]
        arcs: list[int] = []
        dead: list[float] = []
        inlet: list[float] = []
        head: list[float] = []
        flow: list[np.ndarray] = []
        drowns: list[int] = []
        for part_id, arc in self.topology.out.items():
            c = self._connection(arc)
            if c is not None and self.topology.waits(part_id):
                self._meter(c, arc)
        for part_id in self.topology.nodes:
            rows = [self._feed(part_id, c, arc) for c, arc in self.topology.feeds.get(part_id, ())]
            if part_id in self.topology.leak:
                rows.append(self._leak(part_id, self.topology.leak[part_id]))
            for row in sorted(rows, key=lambda r: (-r.dead_m3, r.arc)):
                arcs.append(row.arc)
                dead.append(row.dead_m3)
                inlet.append(row.inlet_m)
                head.append(row.head_m)
                flow.append(row.flow)
                drowns.append(row.drowns)
            first.append(len(arcs))
        filtered = behind_sand(self.topology)
        fouling = [
            strainer_fouling(
                [c.pipe for c in self._pipes_on(arc)],
                head_m=h,
                is_raw=self.topology.arcs[arc].from_part not in filtered,
            )
            for arc, h in zip(arcs, head, strict=True)
        ]
        return {
            "feed_first": np.array(first, dtype=np.int64),
            "feed_arc": np.array(arcs, dtype=np.int64),
            "feed_dead_m3": np.array(dead, dtype=np.float64),
            "feed_inlet_m": np.array(inlet, dtype=np.float64),
            "feed_head_m": np.array(head, dtype=np.float64),
            "feed_flow_m3_per_s": np.array(flow, dtype=np.float64).reshape(
                len(arcs), k.HEAD_POINTS_COUNT
            ),
            "feed_drowns": np.array(drowns, dtype=np.int64),
            "feed_valve": np.array([self._valve(arc) for arc in arcs], dtype=np.int64),
            "feed_fouling_m": np.array([f.fouling_m for f in fouling]),
            "feed_rinse_days": np.array([f.rinse_days for f in fouling], dtype=np.int64),
            "feed_strainer_frac": np.array([f.loss_frac for f in fouling]),
        }

    def _connection(self, arc: int) -> Connection | None:
        pipe_id = self.topology.arcs[arc].pipe_id
        if not pipe_id:
            return None
        a = self.topology.arcs[arc]
        return Connection(
            pipe_id, a.from_part, a.from_port, a.to_part, "inlet", self.plan.pipes[pipe_id]
        )

    def _way_on(self, arc: int) -> Iterator[int]:
        """The arc itself and those that follow it through disinfection steps."""
        yield arc
        to = self.topology.arcs[arc].to_part
        if isinstance(self.topology.parts.get(to), Disinfection):
            yield from self._way_on(self.topology.out[to])

    def _valve(self, arc: int) -> int:
        """The node whose float valve meters what leaves a tank by this arc; -1 for none."""
        metered = [a for a in self._way_on(arc) if self.arc_float[a]]
        return int(self.arc_to[metered[-1]]) if metered else -1

    def _meter(self, c: Connection, arc: int, *, valve_frac: float = 1.0) -> None:
        """Mark an arc that a float valve meters, and set the level at which it shuts."""
        if c.pipe.valve is None or c.pipe.valve.kind != "float":
            return
        part, i = self.topology.parts[c.to_part], self.row[c.to_part]
        self.arc_float[arc] = 1
        shut_m, assumed = shut_height_m(part, c.pipe)
        if isinstance(part, Tank):
            depth_m = shut_m - (part.base_m or 0.0)
            volume_m3 = depth_to_volume_m3(part, max(0.0, depth_m))
        else:
            assert isinstance(part, Filter)
            volume_m3 = max(0.0, shut_m - bed_heights(part).weir_m) * part.area_m2
        self.shut_heights_m.setdefault(c.to_part, []).append(shut_m)
        if volume_m3 < self.shut_m3[i]:
            self.shut_m3[i] = min(volume_m3, self.capacity_m3[i])
            self.band_m3[i], self.valve_acts[i] = valve_band(
                part, c.pipe.valve, shut_m=shut_m, valve_frac=valve_frac
            )
        if assumed:
            self._assume(
                f"{c.pipe_id}.valve.shuts-at",
                "level at which the float valve is shut",
                shut_m,
                "height",
                "50 mm under the overflow lip: engineering choice",
            )

    def _leak(self, tank_id: str, arc: int) -> _Feed:
        """A hole in the floor: its flow goes with the root of the depth."""
        tank = self.topology.parts[tank_id]
        assert isinstance(tank, Tank)
        floor_m = tank.base_m or 0.0
        head_m = float(self.level_m[self.row[tank_id], -1]) - floor_m
        flow = tank.leak_m3_per_s * np.linspace(0.0, 1.0, k.HEAD_POINTS_COUNT)
        return _Feed(arc, 0.0, floor_m, head_m, flow, 0)

    def _feed(self, tank_id: str, c: Connection, arc: int) -> _Feed:
        tank, far = self.topology.parts[tank_id], self.topology.parts[c.to_part]
        assert isinstance(tank, Tank)
        floor_m = tank.base_m or 0.0
        brim_m = float(self.level_m[self.row[tank_id], -1])
        dead_m3 = dead_volume_m3(tank, c.from_port)
        inlet_m = self._top_of_way_m(far, c, arc)
        has_heights = tank.base_m is not None and inlet_m is not None
        if tank.base_m is None or inlet_m is None:
            inlet_m = floor_m - _BOTTOMLESS_M
        head_m = max(brim_m - inlet_m, 1e-3)
        pipes = [way.pipe for way in self._pipes_on(arc)]
        self._meter(c, arc, valve_frac=valve_loss_frac(pipes, c.pipe, head_m=head_m))
        drowns = 0
        if has_heights:
            dead_m3 = max(dead_m3, depth_to_volume_m3(tank, max(0.0, inlet_m - floor_m)))
            if isinstance(far, Tank) and far.base_m is not None and not self.arc_float[arc]:
                drowns = int(inlet_m < self.level_m[self.row[c.to_part], -1])
        law = pipe_law(pipes, most_head_m=head_m)
        return _Feed(arc, dead_m3, inlet_m, head_m, law.flow_m3_per_s, drowns)

    def _top_of_way_m(self, far: Part, c: Connection, arc: int) -> float | None:
        """Highest inlet on the way to the next part that holds water; None when none is known."""
        heights = [far.height_m(c.to_port)]
        for onward in list(self._way_on(arc))[1:]:
            part = self.topology.parts.get(self.topology.arcs[onward].to_part)
            heights.append(part.height_m("inlet") if part is not None else None)
        heights.extend(c.pipe.crest_m for c in self._pipes_on(arc))
        known = [h for h in heights if h is not None]
        return max(known) if known else None

    def _pipes_on(self, arc: int) -> list[Connection]:
        """The pipe of an arc and those that follow it through disinfection steps."""
        ways = [self._connection(a) for a in self._way_on(arc)]
        return [c for c in ways if c is not None]

    def _draws(self) -> dict[str, np.ndarray]:
        first = [0]
        nodes: list[int] = []
        arcs: list[int] = []
        dead: list[float] = []
        for use_id in self.use_ids:
            for point in self.topology.draws[use_id]:
                tank = self.topology.parts[point.tank_id]
                assert isinstance(tank, Tank)
                dead_m3 = dead_volume_m3(tank, point.port)
                mouth_m = self.plan.taps[point.tap_id].inlet_m if point.tap_id else None
                if mouth_m is not None and tank.base_m is not None:
                    mouth_m3 = depth_to_volume_m3(tank, max(0.0, mouth_m - tank.base_m))
                    dead_m3 = max(dead_m3, mouth_m3)
                nodes.append(self.row[point.tank_id])
                arcs.append(point.arc)
                dead.append(dead_m3)
            first.append(len(nodes))
        return {
            "draw_first": np.array(first, dtype=np.int64),
            "draw_node": np.array(nodes, dtype=np.int64),
            "draw_arc": np.array(arcs, dtype=np.int64),
            "draw_dead_m3": np.array(dead, dtype=np.float64),
        }

    def _assume(self, where: str, what: str, value: float, kind: str, source: str) -> None:
        self.assumptions.append(Assumption(where, what, float(value), kind, "derived", source))


@dataclass(frozen=True)
class _Feed:
    arc: int
    dead_m3: float
    inlet_m: float
    head_m: float
    flow: np.ndarray
    drowns: int

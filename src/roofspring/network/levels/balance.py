"""As much comes as goes: the levels and flows of a plan at rest in one state.

Parts are passed in the order of flow, from the roofs to the last store, again and again: what is
drawn of a tank is known from the turn before.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from roofspring.network.drainage import peak_area_m2
from roofspring.network.heights import lip_height_m, shut_height_m
from roofspring.network.laws import (
    bed_resistance_s,
    gutter_limit_m3_per_s,
    overflow_flow_m3_per_s,
    roof_runoff_frac,
)
from roofspring.network.levels.lines import (
    Run,
    clogged,
    head_over_lip_m,
    narrowed,
    run_flow_m3_per_s,
    runs,
)
from roofspring.network.levels.states import State
from roofspring.network.life import clean_below_m_per_s
from roofspring.plan.geometry import inside_height_m
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Diverter, Filter, Part, Pipe, Plan, Roof, Screen, Tank
from roofspring.water import viscosity_ratio

STILL_M = 1e-7
"""Two turns whose levels differ by no more are at rest."""
RIM_OVER_LIP_M = 1.0
"""How far water may rise over a lip in the sums where no rim is given."""


def skin_s(part: Filter, state: State, lip_m: float | None) -> float:
    """Resistance of the living skin of a filter in a state, at 20 degrees C [s].

    At the end of a run it is what brings the filter under the rate at which it is cleaned with the
    water at its lip, as the engine has it.
    """
    if state.skin == "none":
        return 0.0
    below = clean_below_m_per_s(part)
    if state.skin == "given" or below <= 0.0 or lip_m is None or part.outlet_m is None:
        return part.skin_resistance_s
    whole_s = max(0.0, lip_m - part.outlet_m) / below / float(viscosity_ratio(state.temp_degc))
    return max(0.0, whole_s - bed_resistance_s(part))


class Balance:
    """Levels and flows as they stand after some turns."""

    def __init__(
        self, plan: Plan, order: tuple[str, ...], state: State, rain_m_per_s: float
    ) -> None:
        self.plan, self.order, self.state, self.rain_m_per_s = plan, order, state, rain_m_per_s
        self.parts = dict(plan.parts())
        self.by_port: dict[tuple[str, str], list[Connection]] = {}
        for c in connections(plan):
            self.by_port.setdefault((c.from_part, c.from_port), []).append(c)
        ways = [run for run in runs(plan) if self._is_open(run)]
        self.from_part: dict[str, list[Run]] = {}
        self.into: dict[str, list[Run]] = {}
        for run in ways:
            self.from_part.setdefault(run[0].from_part, []).append(run)
            self.into.setdefault(run[-1].to_part, []).append(run)
        self.pipes = {run: tuple(clogged(c.pipe, state.clogged_frac) for c in run) for run in ways}
        self.levels: dict[str, float] = {}
        self.run_flow: dict[Run, float] = {}
        self.flow: dict[str, float] = {}
        self.over: dict[str, float] = {}
        self.rim: dict[str, float] = {}
        self.rate: dict[str, float] = {}
        self.came: dict[str, float] = {}

    def _is_open(self, run: Run) -> bool:
        """Whether the diverters on the way stand so that water takes it."""
        for c in run:
            part = self.parts[c.from_part]
            if isinstance(part, Diverter) and c.from_port != part.position:
                return False
        return True

    def turn(self) -> None:
        """Pass the water down once, from the roofs to the last store."""
        self.came = dict.fromkeys(self.order, 0.0)
        for part_id in self.order:
            part = self.parts[part_id]
            if isinstance(part, Tank):
                self._tank(part_id, part)
            elif isinstance(part, Filter):
                self._filter(part_id, part)
            else:
                self._pass(part_id, part)

    def _send(self, part_id: str, port: str, flow: float) -> None:
        for c in self.by_port.get((part_id, port), [])[:1]:
            self.flow[c.pipe_id] = flow
            self.came[c.to_part] += flow

    def _pass(self, part_id: str, part: Part) -> None:
        came = self.came[part_id]
        if isinstance(part, Roof):
            ran = self.rain_m_per_s * peak_area_m2(part)
            if not self.state.is_worst:
                ran *= roof_runoff_frac(part)
            if part.gutter is not None:
                ran = min(ran, gutter_limit_m3_per_s(part.gutter))
            self._send(part_id, "outlet", ran)
        elif isinstance(part, Screen):
            # At worst it may pass all that comes, or throw all of it off.
            passes_frac = 1.0 if self.state.is_worst else part.efficiency_frac
            self._send(part_id, "outlet", came * passes_frac)
            self._send(part_id, "reject", came if self.state.is_worst else came * (1 - passes_frac))
        elif isinstance(part, Diverter):
            self._send(part_id, part.position, came)
        else:  # a full first flush passes on all that comes
            self._send(part_id, "outlet", came)

    def lip_m(self, part_id: str) -> float | None:
        """The overflow lip of a tank or filter."""
        return lip_height_m(self.parts[part_id])

    def _is_metered(self, run: Run) -> bool:
        valve = run[-1].pipe.valve
        return valve is not None and valve.kind == "float" and not self.state.is_stuck

    def _head_m(self, run: Run, far_m: float) -> float | None:
        """Head over a run whose far end stands in water of a level; None without heights."""
        start_m = self.start_m(run)
        ends = [self.parts[c.to_part].height_m(c.to_port) for c in run]
        if start_m is None or ends[-1] is None:
            return None
        crests = [c.pipe.high_point_m for c in run]
        return start_m - max(far_m, *(z for z in (*ends, *crests) if z is not None))

    def start_m(self, run: Run) -> float | None:
        """Level that drives a run: of its tank, but never under the outlet it leaves by."""
        level_m, port_m = self.levels.get(run[0].from_part), None
        port_m = self.parts[run[0].from_part].height_m(run[0].from_port)
        if level_m is None:
            return None
        return level_m if port_m is None else max(level_m, port_m)

    def _line(self, run: Run, far_m: float, open_frac: float) -> float:
        """Flow that comes by a run from a tank; not a number without heights."""
        head_m = self._head_m(run, far_m)
        if head_m is None:
            return math.nan
        return run_flow_m3_per_s(
            self.pipes[run],
            head_m,
            temp_degc=self.state.temp_degc,
            float_open_frac=open_frac,
        )

    def overflow_pipe(self, part_id: str) -> tuple[Pipe, float | None] | None:
        """The pipe of a known size at an overflow, blind as the state has it, and its fall."""
        for c in self.by_port.get((part_id, "overflow"), []):
            if c.pipe.size_m is not None:
                lip_m, far_m = self.lip_m(part_id), self.parts[c.to_part].height_m(c.to_port)
                fall_m = None if lip_m is None or far_m is None else lip_m - far_m
                return narrowed(c.pipe, self.state.blind_frac), fall_m
        return None

    def _form(self, part_id: str) -> str:
        part = self.parts[part_id]
        return part.overflow_form if isinstance(part, Tank) else "side"

    def _over(self, part_id: str) -> Callable[[float], float]:
        """What goes over the lip at a level; without a size, all that comes."""
        lip_m, found = self.lip_m(part_id), self.overflow_pipe(part_id)
        assert lip_m is not None
        form = self._form(part_id)

        def over(level_m: float) -> float:
            if level_m <= lip_m + 1e-12:
                return 0.0
            if found is None:
                return math.inf
            return overflow_flow_m3_per_s(found[0], level_m - lip_m, form=form, fall_m=found[1])

        return over

    def _settle(
        self,
        part_id: str,
        gain: Callable[[float], float],
        *,
        low_m: float,
        lip_m: float,
        top_m: float,
    ) -> float:
        """The level at which as much comes as goes: ``gain`` falls with the level."""
        from scipy.optimize import brentq  # late: slow to import

        over = self._over(part_id)
        has_pipe = self.overflow_pipe(part_id) is not None
        self.rim[part_id] = self.over[part_id] = 0.0
        if gain(low_m) <= 0.0:
            return low_m
        at_lip = gain(lip_m)
        if at_lip < 0.0:
            return float(brentq(gain, low_m, lip_m, xtol=STILL_M / 10.0))
        if not has_pipe or top_m <= lip_m:
            self.over[part_id] = at_lip
            return lip_m
        if (rest := gain(top_m) - over(top_m)) > 0.0:
            self.over[part_id], self.rim[part_id] = over(top_m), rest
            return top_m
        if (
            gain(top_m) == at_lip
        ):  # what comes does not hang on the level: the lip's law turned round
            found = self.overflow_pipe(part_id)
            assert found is not None
            form = self._form(part_id)
            level_m = lip_m + head_over_lip_m(found[0], form, found[1], at_lip)
        else:
            level_m = float(brentq(lambda z: gain(z) - over(z), lip_m, top_m, xtol=STILL_M / 10.0))
        self.over[part_id] = max(0.0, gain(level_m))
        return level_m

    def _tank(self, part_id: str, tank: Tank) -> None:
        lip_m = self.lip_m(part_id)
        if lip_m is None or tank.base_m is None:
            self._send(part_id, "overflow", math.nan)
            return
        into = self.into.get(part_id, [])
        metered = [run for run in into if self._is_metered(run)]
        if not self.state.is_full:
            self.levels[part_id] = tank.outlet_m if tank.outlet_m is not None else tank.base_m
            self.over[part_id] = self.rim[part_id] = 0.0
            self._take(metered, {run: self._line(run, -math.inf, 1.0) for run in metered}, None)
            for run in into:
                if run not in metered and isinstance(self.parts[run[0].from_part], Tank):
                    self._flows(run, self._line(run, -math.inf, 1.0))
            return
        drawn = math.fsum(self.run_flow.get(run, 0.0) for run in self.from_part.get(part_id, []))
        brim_m = tank.base_m + inside_height_m(tank)
        shut_m = min((shut_height_m(tank, run[-1].pipe)[0] for run in metered), default=lip_m)
        only_metered = bool(into) and len(metered) == len(into) and not self._other_ways(part_id)
        low_m = min(shut_m, lip_m) if only_metered else lip_m
        fed = [r for r in into if r not in metered and isinstance(self.parts[r[0].from_part], Tank)]

        def gain(level_m: float) -> float:
            comes = [self._line(run, level_m, 1.0) for run in fed]
            return self.came[part_id] + math.fsum(comes) - drawn

        at_low = gain(low_m)
        if not math.isfinite(at_low):
            # A pipe without a size draws all that comes, or brings what is not known.
            self.levels[part_id] = lip_m
            self.over[part_id] = 0.0 if at_low < 0.0 else math.nan
            self.rim[part_id] = 0.0
        else:
            self.levels[part_id] = self._settle(
                part_id, gain, low_m=low_m, lip_m=lip_m, top_m=max(lip_m, brim_m)
            )
        for run in fed:
            self._flows(run, self._line(run, self.levels[part_id], 1.0))
        for run in metered:
            self._flows(run, 0.0)
        self._send(part_id, "overflow", self.over[part_id])

    def _other_ways(self, part_id: str) -> bool:
        """Whether water comes to a tank by another way than from a store's outlet."""
        ends = {run[-1].pipe_id for run in self.into.get(part_id, [])}
        return any(
            c.to_part == part_id and c.pipe_id not in ends
            for joined in self.by_port.values()
            for c in joined
        )

    def _flows(self, run: Run, flow: float) -> None:
        self.run_flow[run] = flow
        for c in run:
            self.flow[c.pipe_id] = flow

    def _take(self, metered: list[Run], full: dict[Run, float], wanted: float | None) -> None:
        """Share what float valves let in; all that comes where ``wanted`` is None."""
        total = math.fsum(full.values())
        for run in metered:
            share = full[run]
            if wanted is not None and total > 0.0:
                if math.isinf(total):
                    share = wanted / len(metered)
                else:
                    share = full[run] * min(1.0, wanted / total)
            self._flows(run, share)

    def _filter(self, part_id: str, part: Filter) -> None:
        lip_m, weir_m = self.lip_m(part_id), part.outlet_m
        into = self.into.get(part_id, [])
        if lip_m is None or weir_m is None or lip_m <= weir_m:
            self._send(part_id, "overflow", math.nan)
            for run in (*into, *self.from_part.get(part_id, [])):
                self._flows(run, math.nan)
            return
        thickness = float(viscosity_ratio(self.state.temp_degc))
        resists_s = (bed_resistance_s(part) + skin_s(part, self.state, lip_m)) * thickness
        most = math.inf if part.throttle_m_per_s is None else part.throttle_m_per_s

        def rate(level_m: float) -> float:
            return min(most, max(0.0, level_m - weir_m) / resists_s)

        metered = [run for run in into if self._is_metered(run)]
        free = [run for run in into if run not in metered]

        def gain(level_m: float, is_open: float | None = None) -> float:
            comes = [self._line(run, level_m, 1.0) for run in free]
            comes += [
                self._line(run, level_m, x)
                for run in metered
                if (x := self._opening(part, run, level_m) if is_open is None else is_open) > 0.0
            ]
            return self.came[part_id] + math.fsum(comes) - rate(level_m) * part.area_m2

        top_m = part.rim_m if part.rim_m is not None else lip_m + RIM_OVER_LIP_M
        self.over[part_id] = self.rim[part_id] = 0.0
        if math.isnan(gain(weir_m)):
            level_m = math.nan
        elif metered and (held_m := self._held_m(part, metered, gain)) is not None:
            level_m = held_m
        else:
            level_m = self._settle(
                part_id, gain, low_m=weir_m, lip_m=lip_m, top_m=max(top_m, lip_m)
            )
        if math.isnan(level_m):
            self.levels.pop(part_id, None)
            self.rate[part_id] = self.over[part_id] = math.nan
        else:
            self.levels[part_id], self.rate[part_id] = level_m, rate(level_m)
        for run in free:
            self._flows(run, self._line(run, level_m, 1.0))
        wanted = max(0.0, self.rate[part_id] * part.area_m2 - self.came[part_id])
        self._take(metered, {run: self._line(run, level_m, 1.0) for run in metered}, wanted)
        self._send(part_id, "overflow", self.over[part_id])
        for run in self.from_part.get(part_id, []):
            self._flows(run, self.rate[part_id] * part.area_m2)
            self.came[run[-1].to_part] += self.rate[part_id] * part.area_m2
            break

    def _opening(self, part: Filter, run: Run, level_m: float) -> float:
        """How far a float valve stands open; one without a band holds its level sharply."""
        valve = run[-1].pipe.valve
        assert valve is not None
        shut_m, _ = shut_height_m(part, run[-1].pipe)
        if valve.band_m <= 0.0 or valve.action == "on-off":
            return 1.0 if level_m < shut_m else 0.0
        return min(1.0, max(0.0, (shut_m - level_m) / valve.band_m))

    def _held_m(self, part: Filter, metered: list[Run], gain: Callable[..., float]) -> float | None:
        """The level that a sharp float valve holds, where it can hold one."""
        for run in metered:
            shut_m, _ = shut_height_m(part, run[-1].pipe)
            below, above = gain(shut_m - 1e-12), gain(shut_m)
            if below >= 0.0 >= above and below > above:
                return shut_m
        return None

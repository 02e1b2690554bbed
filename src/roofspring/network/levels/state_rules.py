"""The rules of the checklist that depend on what flows, made in every state that they speak of.

Have and need are heads: what the heights give against what the flow of that state takes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from roofspring.network.forcing import want_m3_per_day
from roofspring.network.heights import lip_height_m, shut_height_m
from roofspring.network.laws import bed_resistance_s
from roofspring.network.levels.balance import skin_s
from roofspring.network.levels.changes import Change, Kind, told
from roofspring.network.levels.checks import LevelCheck
from roofspring.network.levels.heads import TAP_FLOW_M3_PER_S
from roofspring.network.levels.lines import (
    Run,
    clogged,
    head_over_lip_m,
    line_loss_m,
    narrowed,
    run_loss_m,
    runs,
)
from roofspring.network.levels.pairs import Height, ends_of, pair
from roofspring.network.levels.rules import runoff_parts
from roofspring.network.levels.steady import Steady
from roofspring.network.life import clean_below_m_per_s
from roofspring.plan.geometry import inside_height_m
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import Filter, Part, Pipe, Plan, Tank, Tap, split_port
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import show
from roofspring.water import viscosity_ratio

HALF_OPEN_FRAC = 0.5
DESIGN_RATE_M_PER_S = 0.1 / 3600.0
CLEAR_M = 0.02
"""Kept clear over water in its worst state: ripples, and a tape's error; engineering choice."""
WIDEST_M = 0.5
SOONER_FRAC = 0.8
"""A filter that is cleaned at more of its clean rate than this is cleaned all the time; engineering
choice."""
SECONDS_PER_DAY = 86400.0


def flowing_rules(plan: Plan, steadies: tuple[Steady, ...]) -> Iterator[LevelCheck]:
    """Every check of what flows, in every state that it applies to."""
    parts = dict(plan.parts())
    ways = runs(plan)
    for found in steadies:
        yield from _Rules(plan, parts, ways, found).all()


class _Rules:
    """The rules for one state."""

    def __init__(
        self, plan: Plan, parts: dict[str, Part], ways: tuple[Run, ...], found: Steady
    ) -> None:
        self.plan, self.parts, self.ways, self.found = plan, parts, ways, found
        self.state, self.units = found.state, plan.show
        self.temp_degc = found.state.temp_degc
        self.joined = connections(plan)

    def all(self) -> Iterator[LevelCheck]:
        """Those that this state speaks of."""
        if not self.state.is_full:
            for run in self.ways:
                yield from self._feed(run)
                yield from self._tap(run)
        if self.state.name in ("cleaned", "design-rain"):
            for run in self.ways:
                yield from self._filtered(run)
        for filter_id, part in self.plan.filters.items():
            if self.state.name == "cleaned":
                yield from self._not_too_fast(filter_id, part)
            if self.state.name == "design-rain":
                yield from self._drives(filter_id, part)
            if self.state.name == "end-of-run":
                yield from self._is_enough(filter_id, part)
        if self.state.is_full:
            for part_id, store in self.parts.items():
                if isinstance(store, (Tank, Filter)):
                    yield from self._overflow(part_id, store)
        if self.state.rains:
            runoff = runoff_parts(self.parts, self.joined)
            for c in self.joined:
                if c.from_part in runoff:
                    yield from self._roof_line(c)

    def _span(self, run: Run) -> tuple[Height, Height]:
        """The outlet a run begins at and the inlet it ends at."""
        return ends_of(run[0], self.parts)[0], ends_of(run[-1], self.parts)[1]

    def _feed(self, run: Run) -> Iterator[LevelCheck]:
        """A tank's outlet must still drive a filter's flow when the tank is at its lowest."""
        far = self.parts[run[-1].to_part]
        if not (isinstance(self.parts[run[0].from_part], Tank) and isinstance(far, Filter)):
            return
        upper, lower = self._span(run)
        flow = (far.throttle_m_per_s or DESIGN_RATE_M_PER_S) * far.area_m2
        need_m = math.fsum(
            line_loss_m(
                clogged(c.pipe, self.state.clogged_frac),
                flow,
                float_open_frac=HALF_OPEN_FRAC,
                temp_degc=self.temp_degc,
            )
            for c in run
        )
        yield from pair(
            "LVL-004",
            "the lowest useful level of the tank still feeds the filter through its valve and "
            "strainer",
            upper,
            lower,
            need_m,
            f"{self.state.title}, valve half open",
            "CHURCHILL_1977",
            units=self.units,
        )

    def _tap(self, run: Run) -> Iterator[LevelCheck]:
        """The lowest service level must stand over the tap mouth, by the line's loss and more."""
        tap, tank = self.parts[run[-1].to_part], self.parts[run[0].from_part]
        if not (isinstance(tap, Tap) and isinstance(tank, Tank)):
            return
        mouth = Height(f"{run[-1].to_part}.height", tap.inlet_m)
        lost_m = run_loss_m(run, TAP_FLOW_M3_PER_S, temp_degc=self.temp_degc)
        upper = self._span(run)[0]
        more: list[Change] = []
        if upper.value_m is not None and mouth.value_m is not None:
            last = run[-1].pipe
            others_m = lost_m - line_loss_m(last, TAP_FLOW_M3_PER_S, temp_degc=self.temp_degc)
            room_m = upper.value_m - mouth.value_m - tap.head_needed_m - others_m
            size_m = _bore_m(last, TAP_FLOW_M3_PER_S, room_m, self.temp_degc)
            if size_m is not None:
                where = f"pipe.{run[-1].pipe_id}.size"
                more.append(told("widen", where, size_m, units=self.units, kind="pipe"))
        yield from pair(
            "LVL-012",
            "the tap still runs usefully when its tank is at its outlet",
            upper,
            mouth,
            lost_m + tap.head_needed_m,
            f"{self.state.title}, tap running",
            COMMON_PRACTICE,
            units=self.units,
            move=mouth,
            more=more,
        )

    def _filtered(self, run: Run) -> Iterator[LevelCheck]:
        """The weir must stand over what it fills, by the loss of the line at the highest rate."""
        part = self.parts[run[0].from_part]
        if not isinstance(part, Filter) or isinstance(self.parts[run[-1].to_part], Tap):
            return
        weir = Height(f"{run[0].from_part}.weir", part.outlet_m)
        rate = self.found.rates_m_per_s.get(run[0].from_part, math.nan)
        fastest = (
            part.rate_limit_m_per_s if math.isnan(rate) else max(rate, part.rate_limit_m_per_s)
        )
        for k in range(1, len(run) + 1):
            yield from pair(
                "LVL-009",
                "filtered water falls freely from the weir to the next part",
                weir,
                ends_of(run[k - 1], self.parts)[1],
                run_loss_m(run[:k], fastest * part.area_m2, temp_degc=self.temp_degc),
                f"{self.state.title}, filter at its highest rate",
                "CHURCHILL_1977",
                units=self.units,
            )

    def _resists_s(self, part: Filter) -> float:
        """Resistance of sand and skin in this state and temperature [s]."""
        whole_s = bed_resistance_s(part) + skin_s(part, self.state, lip_height_m(part))
        return whole_s * float(viscosity_ratio(self.temp_degc))

    def _floats(self, filter_id: str) -> Iterator[Connection]:
        for c in self.joined:
            valve = c.pipe.valve
            if c.to_part == filter_id and valve is not None and valve.kind == "float":
                yield c

    def _drives(self, filter_id: str, part: Filter) -> Iterator[LevelCheck]:
        """With the float shut, the water over the weir drives the flow that is wanted."""
        rate = part.throttle_m_per_s or DESIGN_RATE_M_PER_S
        for c in self._floats(filter_id):
            shut_m, assumed = shut_height_m(part, c.pipe)
            yield from pair(
                "LVL-015",
                "the water over the weir drives the flow through sand and skin as given",
                Height(f"{c.pipe_id}.valve.shuts-at", None if assumed else shut_m),
                Height(f"{filter_id}.weir", part.outlet_m),
                rate * self._resists_s(part),
                self.state.title,
                "HUISMAN_WOOD_1974",
                units=self.units,
            )

    def _not_too_fast(self, filter_id: str, part: Filter) -> Iterator[LevelCheck]:
        """A clean bed may not run over its limit: the head that takes, over the head it has."""
        rate = self.found.rates_m_per_s.get(filter_id, math.nan)
        if math.isnan(rate) or part.outlet_m is None:
            return
        resists_s = self._resists_s(part)
        throttle = told(
            "set", f"{filter_id}.throttle", DESIGN_RATE_M_PER_S, units=self.units, kind="rate"
        )
        have_m, need_m = part.rate_limit_m_per_s * resists_s, rate * resists_s
        ok = rate <= part.rate_limit_m_per_s * (1.0 + 1e-9)
        yield LevelCheck(
            "LVL-016",
            "a freshly cleaned bed does not run over its limit",
            filter_id,
            self.state.title,
            have_m,
            need_m,
            have_m - need_m,
            ok,
            "HUISMAN_WOOD_1974",
            change="" if ok else throttle.words(self.units),
            change_where="" if ok else throttle.where,
            options=() if ok else (throttle,),
        )

    def _is_enough(self, filter_id: str, part: Filter) -> Iterator[LevelCheck]:
        """On the day of cleaning, and cold, the filters still pass what is drawn to be drunk."""
        level_m = self.found.levels_m.get(filter_id)
        wanted = _drunk_m3_per_s(self.plan) / math.fsum(
            f.area_m2 for f in self.plan.filters.values()
        )
        if level_m is None or part.outlet_m is None or wanted <= 0.0 or _in_series(self.plan):
            return
        have_m, need_m = level_m - part.outlet_m, wanted * self._resists_s(part)
        options: list[Change] = []
        clean_m_per_s = have_m / (bed_resistance_s(part) * float(viscosity_ratio(self.temp_degc)))
        if have_m > 0.0:
            sooner = clean_below_m_per_s(part) * need_m / have_m
            if sooner < SOONER_FRAC * min(clean_m_per_s, part.throttle_m_per_s or math.inf):
                options.append(self._raised(f"{filter_id}.care.below", sooner, "rate"))
            if len(self.plan.filters) == 1:
                options.append(
                    self._raised(f"{filter_id}.area", part.area_m2 * need_m / have_m, "area")
                )
        floats = [f"{c.pipe_id}.valve.shuts-at" for c in self._floats(filter_id)]
        top = floats[0] if floats else f"{filter_id}.water"
        yield from pair(
            "LVL-034",
            "at the end of a run the filter still passes its share of what the drinking taps give",
            Height(top, level_m),
            Height(f"{filter_id}.weir", part.outlet_m),
            need_m,
            self.state.title,
            ENGINEERING_CHOICE,
            units=self.units,
            more=options,
            fixed=(f"{filter_id}.water",),
        )

    def _raised(self, where: str, value: float, kind: Kind) -> Change:
        return told("raise", where, value, units=self.units, kind=kind)

    def _overflow(self, part_id: str, part: Tank | Filter) -> Iterator[LevelCheck]:
        """What comes to an overflow leaves by it, under the brim and under the inlet."""
        lip_m = lip_height_m(part)
        found = next(
            (
                c
                for c in self.joined
                if (c.from_part, c.from_port) == (part_id, "overflow") and c.pipe.size_m is not None
            ),
            None,
        )
        comes = self.found.over_m3_per_s.get(part_id, 0.0) + self.found.rim_m3_per_s.get(
            part_id, 0.0
        )
        if found is None or lip_m is None or not math.isfinite(comes) or part.overflow_m is None:
            return
        far_m = self.parts[found.to_part].height_m(found.to_port)
        fall_m = None if far_m is None else lip_m - far_m
        form = part.overflow_form if isinstance(part, Tank) else "side"
        pipe = narrowed(found.pipe, self.state.blind_frac)
        over_m = head_over_lip_m(pipe, form, fall_m, comes)

        def wider(room_m: float) -> tuple[Change, ...]:
            size_m = _size_m(found.pipe, self.state.blind_frac, form, fall_m, comes, room_m)
            if size_m is None:
                return ()
            where = f"pipe.{found.pipe_id}.size"
            return (told("widen", where, size_m, units=self.units, kind="pipe"),)

        lip = Height(f"{part_id}.overflow", lip_m)
        if isinstance(part, Tank):
            top_m = None if part.base_m is None else part.base_m + inside_height_m(part)
            code, top = "LVL-030", Height(f"{part_id}.brim", top_m)
        else:
            code, top = "LVL-031", Height(f"{part_id}.rim", part.rim_m)
        rows = [(code, "the overflow carries what comes before the water is at the brim", top)]
        if part.inlet_m is not None:
            inlet = Height(f"{part_id}.inlet", part.inlet_m)
            rows.append(("LVL-032", "the inlet stays over the water while it overflows", inlet))
        for name, what, upper in rows:
            if upper.value_m is None:
                continue
            yield from pair(
                name,
                what,
                upper,
                lip,
                over_m + CLEAR_M,
                self.state.title,
                f"{ENGINEERING_CHOICE}: {show(CLEAR_M, 'gap', units=self.units)} clear",
                units=self.units,
                move=lip if name != "LVL-032" else upper,
                more=wider(upper.value_m - lip_m - CLEAR_M),
                fixed=(f"{part_id}.brim",),
            )

    def _roof_line(self, c: Connection) -> Iterator[LevelCheck]:
        """A line from the roof takes the design rain without backing up."""
        line = self.found.lines.get(c.pipe_id)
        upper = ends_of(c, self.parts)[0]
        if line is None or c.pipe.size_m is None or not math.isfinite(line.flow_m3_per_s):
            return
        if line.end_m is None or upper.value_m is None:
            return
        lower = ends_of(c, self.parts)[1]
        need_m = line_loss_m(c.pipe, line.flow_m3_per_s, temp_degc=self.temp_degc)
        backed = Height(lower.name, line.end_m)
        size_m = _bore_m(c.pipe, line.flow_m3_per_s, upper.value_m - line.end_m, self.temp_degc)
        more: tuple[Change, ...] = ()
        if size_m is not None:
            where = f"pipe.{c.pipe_id}.size"
            more = (told("widen", where, size_m, units=self.units, kind="pipe"),)
        yield from pair(
            "LVL-033",
            "the line from the roof takes the design rain and does not back up",
            upper,
            backed,
            need_m,
            self.state.title,
            "CHURCHILL_1977",
            units=self.units,
            more=more,
            # The water below sets this, not the inlet's own height.
            fixed=(lower.name,) if line.end_m != lower.value_m else (),
        )


def _size_m(
    pipe: Pipe, blind_frac: float, form: str, fall_m: float | None, comes: float, room_m: float
) -> float | None:
    """The least bore by which an overflow carries a flow within a head; None where none does."""

    def fits(size_m: float) -> bool:
        wide = narrowed(pipe.model_copy(update={"size_m": size_m}), blind_frac)
        return head_over_lip_m(wide, form, fall_m, comes) <= room_m

    return _least(fits, pipe.size_m, room_m)


def _bore_m(pipe: Pipe, flow: float, fall_m: float, temp_degc: float) -> float | None:
    """The least bore by which a line carries a flow with a fall."""

    def fits(size_m: float) -> bool:
        wide = pipe.model_copy(update={"size_m": size_m})
        return line_loss_m(wide, flow, temp_degc=temp_degc) <= fall_m

    return _least(fits, pipe.size_m, fall_m)


def _least(fits: Callable[[float], bool], size_m: float | None, room_m: float) -> float | None:
    if size_m is None or room_m <= 0.0 or fits(size_m) or not fits(WIDEST_M):
        return None
    low_m, high_m = size_m, WIDEST_M
    while high_m - low_m > 5e-4:
        middle_m = 0.5 * (low_m + high_m)
        low_m, high_m = (low_m, middle_m) if fits(middle_m) else (middle_m, high_m)
    return high_m


def _drunk_m3_per_s(plan: Plan) -> float:
    """What uses that draw from a drinking tap want, in the month in which they want most."""
    drinking = {tap_id for tap_id, tap in plan.taps.items() if tap.drinking}
    uses = [
        use
        for use in plan.uses.values()
        if any(split_port(ref, default="outlet")[0] in drinking for ref in use.from_)
    ]
    months = [math.fsum(want_m3_per_day(use, plan, m) for use in uses) for m in range(12)]
    return max(months, default=0.0) / SECONDS_PER_DAY


def _in_series(plan: Plan) -> bool:
    """Whether one filter feeds another, so that their areas do not share the water."""
    return any(
        isinstance(plan.part(run[0].from_part), Filter)
        and isinstance(plan.part(run[-1].to_part), Filter)
        for run in runs(plan)
    )

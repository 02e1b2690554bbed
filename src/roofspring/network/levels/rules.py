"""The rules of the checklist, each with its needed margin and where that comes from.

Heights are static here: what must hold whatever flows. Losses are added where a line must carry a
known flow. The rules are written part by part; each gives its checks for one part or pipe.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from roofspring.hydraulics import loss_m
from roofspring.network.heights import lip_height_m, shut_height_m
from roofspring.network.laws import FEED_DEGC, bed_resistance_s, pipe_k_sum
from roofspring.network.levels.checks import LevelCheck
from roofspring.plan.graph import Connection, connections
from roofspring.plan.model import (
    Disinfection,
    Diverter,
    Filter,
    FirstFlush,
    Part,
    Plan,
    Roof,
    Screen,
    Swale,
    Tank,
    Tap,
)
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import UNIT_SETS, show
from roofspring.water import viscosity_ratio

FALL_FRAC = 0.01  # least fall of a line that runs part full; common practice
INLET_OVER_LIP_M = 0.05  # engineering choice: water over the lip while it spills, and some air
WEIR_OVER_SAND_M = 0.03  # least standing water over the sand
LIP_OVER_SHUT_M = 0.03  # float droop and ripples
RIM_OVER_LIP_M = 0.10  # freeboard
AIR_GAP_DIAMETERS = 2.0
COLD_DEGC = 4.0
CHANGE_DIGITS = 3
HALF_OPEN_FRAC = 0.5
DESIGN_RATE_M_PER_S = 0.1 / 3600.0
LEAST_DRIVE_M = 0.05  # engineering choice: enough to see that water will run, not at what rate

Run = tuple[Connection, ...]
"""Pipes one behind the other, from an outlet to the next part that holds or gives water."""


@dataclass(frozen=True)
class Height:
    """One height of the plan by name, such as ``raw.overflow``."""

    name: str
    value_m: float | None


def run_rules(plan: Plan) -> tuple[LevelCheck, ...]:
    """Every check that applies to a plan, in flow order of their codes."""
    parts = dict(plan.parts())
    joined = connections(plan)
    checks: list[LevelCheck] = []
    runoff = _runoff_parts(parts, joined)
    for c in joined:
        checks.extend(_fall(c, parts, runoff))
    for run in runs(plan):
        checks.extend(_feed(run, parts))
        checks.extend(_on(run, parts))
        checks.extend(_filtered(run, parts))
        checks.extend(_tap(run, parts))
    for part_id, part in parts.items():
        if isinstance(part, Tank):
            checks.extend(_tank(part_id, part, joined))
        elif isinstance(part, Filter):
            checks.extend(_filter(part_id, part, joined))
        elif isinstance(part, Roof):
            checks.extend(
                _pair(
                    "LVL-001",
                    "the gutter outlet lies below the eave",
                    Height(f"{part_id}.eave", part.eave_m),
                    Height(f"{part_id}.outlet", part.outlet_m),
                    0.0,
                    "raining",
                    COMMON_PRACTICE,
                )
            )
        elif isinstance(part, (Screen, FirstFlush)):
            checks.extend(
                _pair(
                    "LVL-002",
                    "water falls through this part",
                    Height(f"{part_id}.inlet", part.inlet_m),
                    Height(f"{part_id}.outlet", part.outlet_m),
                    0.0,
                    "raining",
                    COMMON_PRACTICE,
                )
            )
    return tuple(sorted((_told(check, plan) for check in checks), key=lambda c: (c.code, c.where)))


def _told(check: LevelCheck, plan: Plan) -> LevelCheck:
    """The check with the height to change written in the plan's units."""
    if check.change_to_m is None:
        return check
    size_m = UNIT_SETS[plan.show]["height"][1] * 10.0**-CHANGE_DIGITS
    steps = check.change_to_m / size_m
    # Rounded to the side on which the check holds.
    whole = (
        math.floor(steps + 1e-6) if check.change.startswith("lower") else math.ceil(steps - 1e-6)
    )
    height = show(whole * size_m, "height", units=plan.show, digits=CHANGE_DIGITS)
    return replace(check, change=f"{check.change} {height}")


def _pair(
    code: str,
    what: str,
    upper: Height,
    lower: Height,
    need_m: float,
    state: str,
    source: str,
    *,
    move: Height | None = None,
) -> Iterator[LevelCheck]:
    """One check that ``upper`` stands ``need_m`` over ``lower``; ``move`` is the one to change.

    None is made for a line that the plan has shut: no height would help, and LVL-018 says so.
    """
    if math.isinf(need_m):
        return
    missing = tuple(h.name for h in (upper, lower) if h.value_m is None)
    if upper.value_m is None or lower.value_m is None:
        if len(missing) == 1:  # with both left out the part is simply not described yet
            yield LevelCheck(
                code,
                what,
                f"{upper.name} over {lower.name}",
                state,
                None,
                need_m,
                None,
                None,
                source,
                missing=missing,
            )
        return
    have_m = upper.value_m - lower.value_m
    margin_m = have_m - need_m
    ok = margin_m >= -1e-9
    lowers = move is not None and move.name == lower.name
    moved = lower if lowers else upper
    to_m = upper.value_m - need_m if lowers else lower.value_m + need_m
    yield LevelCheck(
        code,
        what,
        f"{upper.name} over {lower.name}",
        state,
        have_m,
        need_m,
        margin_m,
        ok,
        source,
        change="" if ok else f"{'lower' if lowers else 'raise'} {moved.name} to",
        change_where="" if ok else moved.name,
        change_to_m=None if ok else to_m,
    )


def _ends(c: Connection, parts: dict[str, Part]) -> tuple[Height, Height]:
    upper, lower = parts[c.from_part], parts[c.to_part]
    from_m = lip_height_m(upper) if c.from_port == "overflow" else upper.height_m(c.from_port)
    to_name = f"{c.to_part}.rim" if isinstance(lower, Swale) else f"{c.to_part}.{c.to_port}"
    return (
        Height(f"{c.from_part}.{c.from_port}", from_m),
        Height(to_name, lower.height_m(c.to_port)),
    )


def runs(plan: Plan) -> tuple[Run, ...]:
    """Every way from a tank's or a filter's outlet to the next part that holds or gives water.

    Disinfection steps and diverters on the way are passed through: a height counts from where the
    water stands to where it goes, whatever it passes. Cleaning drains stand shut.
    """
    parts = dict(plan.parts())
    joined = connections(plan)
    starts: list[Run] = [
        (c,)
        for c in joined
        if isinstance(parts[c.from_part], (Tank, Filter))
        and c.from_port not in ("overflow", "drain")
    ]
    made: list[Run] = []
    while starts:
        way = starts.pop(0)
        if isinstance(parts[way[-1].to_part], (Disinfection, Diverter)):
            starts.extend((*way, c) for c in joined if c.from_part == way[-1].to_part)
        else:
            made.append(way)
    return tuple(made)


def _runoff_parts(parts: dict[str, Part], joined: tuple[Connection, ...]) -> set[str]:
    """Roofs, screens, first-flush chambers, and what stands between them and the first store."""
    reached = {i for i, part in parts.items() if isinstance(part, (Roof, Screen, FirstFlush))}
    grown = True
    while grown:
        more = {
            c.to_part
            for c in joined
            if c.from_part in reached and isinstance(parts[c.to_part], (Disinfection, Diverter))
        } - reached
        reached |= more
        grown = bool(more)
    return reached


def _fall(c: Connection, parts: dict[str, Part], runoff: set[str]) -> Iterator[LevelCheck]:
    """Lines that run part full: downpipes, screen and flush lines, overflows."""
    if c.from_part not in runoff and c.from_port != "overflow":
        return
    upper, lower = _ends(c, parts)
    code = "LVL-010" if c.from_port == "overflow" else "LVL-003"
    what = (
        "the overflow line falls all the way"
        if c.from_port == "overflow"
        else "the line from the roof falls all the way"
    )
    yield from _pair(
        code,
        what,
        upper,
        lower,
        FALL_FRAC * c.pipe.length_m,
        "spilling or raining",
        f"{COMMON_PRACTICE}: 1 % fall",
    )


def _span(run: Run, parts: dict[str, Part]) -> tuple[Height, Height]:
    """The outlet a run begins at and the inlet it ends at."""
    return _ends(run[0], parts)[0], _ends(run[-1], parts)[1]


def _feed(run: Run, parts: dict[str, Part]) -> Iterator[LevelCheck]:
    """A tank's outlet must still drive a filter's flow when the tank is at its lowest."""
    far = parts[run[-1].to_part]
    if not (isinstance(parts[run[0].from_part], Tank) and isinstance(far, Filter)):
        return
    upper, lower = _span(run, parts)
    rate = far.throttle_m_per_s or DESIGN_RATE_M_PER_S
    yield from _pair(
        "LVL-004",
        "the lowest useful level of the tank still feeds the filter through its valve and strainer",
        upper,
        lower,
        run_loss_m(run, rate * far.area_m2, float_open_frac=HALF_OPEN_FRAC),
        "tank low, valve half open, strainer as given",
        "CHURCHILL_1977",
    )


def _on(run: Run, parts: dict[str, Part]) -> Iterator[LevelCheck]:
    """What a full tank holds must stand over all that it is led to: water does not climb."""
    tank = parts[run[0].from_part]
    if not isinstance(tank, Tank):
        return
    lip = Height(f"{run[0].from_part}.overflow", lip_height_m(tank))
    for c in run:
        if isinstance(parts[c.to_part], Filter):
            continue  # its own rule asks for more
        lower = _ends(c, parts)[1]
        if isinstance(parts[c.to_part], Tap):
            lower = Height(f"{c.to_part}.height", lower.value_m)
        yield from _pair(
            "LVL-017",
            "a full tank stands over what it feeds",
            lip,
            lower,
            LEAST_DRIVE_M,
            "tank full",
            ENGINEERING_CHOICE,
            move=lower,
        )


def run_loss_m(run: Run, flow_m3_per_s: float, *, float_open_frac: float = 1.0) -> float:
    """Head that the lines of a run take together at a flow; infinite where one is shut."""
    return math.fsum(_line_loss_m(c, flow_m3_per_s, float_open_frac=float_open_frac) for c in run)


def _line_loss_m(c: Connection, flow_m3_per_s: float, *, float_open_frac: float = 1.0) -> float:
    """Head that a line takes at a flow; none where its size is not given, infinite where shut."""
    if c.pipe.size_m is None:
        return 0.0
    k_sum = pipe_k_sum(c.pipe, diameter_m=c.pipe.size_m, float_open_frac=float_open_frac)
    if k_sum == float("inf"):
        return k_sum
    return loss_m(
        flow_m3_per_s,
        diameter_m=c.pipe.size_m,
        length_m=c.pipe.length_m,
        roughness_m=c.pipe.roughness_m,
        k_sum=k_sum,
        temp_degc=FEED_DEGC,
    )


def _filtered(run: Run, parts: dict[str, Part]) -> Iterator[LevelCheck]:
    """The weir must stand over what it fills, by the loss of the line at the highest rate."""
    part = parts[run[0].from_part]
    if not isinstance(part, Filter) or isinstance(parts[run[-1].to_part], Tap):
        return
    weir = Height(f"{run[0].from_part}.weir", part.outlet_m)
    for k in range(1, len(run) + 1):
        yield from _pair(
            "LVL-009",
            "filtered water falls freely from the weir to the next part",
            weir,
            _ends(run[k - 1], parts)[1],
            run_loss_m(run[:k], part.rate_limit_m_per_s * part.area_m2),
            "filter at its highest rate",
            "CHURCHILL_1977",
        )


def _tap(run: Run, parts: dict[str, Part]) -> Iterator[LevelCheck]:
    """The lowest service level must stand over the tap mouth."""
    tap, tank = parts[run[-1].to_part], parts[run[0].from_part]
    if not (isinstance(tap, Tap) and isinstance(tank, Tank)):
        return
    yield from _pair(
        "LVL-012",
        "the tap still runs usefully when its tank is at its outlet",
        _span(run, parts)[0],
        Height(f"{run[-1].to_part}.height", tap.inlet_m),
        tap.head_needed_m,
        "tank low",
        COMMON_PRACTICE,
        move=Height(f"{run[-1].to_part}.height", tap.inlet_m),
    )


def _tank(part_id: str, tank: Tank, joined: tuple[Connection, ...]) -> Iterator[LevelCheck]:
    fed = [c for c in joined if c.to_part == part_id]
    lip = Height(f"{part_id}.overflow", lip_height_m(tank))
    if fed and tank.overflow_m is not None:
        yield from _pair(
            "LVL-005",
            "the inlet stands clear of the water when the tank overflows",
            Height(f"{part_id}.inlet", tank.inlet_m),
            lip,
            INLET_OVER_LIP_M,
            "overflowing",
            ENGINEERING_CHOICE,
        )
    if tank.overflow_m is not None:
        yield from _pair(
            "LVL-011",
            "the overflow lies above the outlet",
            lip,
            Height(f"{part_id}.outlet", tank.outlet_m or tank.base_m),
            0.0,
            "standing",
            COMMON_PRACTICE,
        )


def _filter(part_id: str, part: Filter, joined: tuple[Connection, ...]) -> Iterator[LevelCheck]:
    weir = Height(f"{part_id}.weir", part.outlet_m)
    lip = Height(f"{part_id}.overflow", part.overflow_m)
    inlet = Height(f"{part_id}.inlet", part.inlet_m)
    yield from _pair(
        "LVL-007",
        "the weir keeps water standing over the sand",
        weir,
        Height(f"{part_id}.sand-top", part.sand_top_m),
        WEIR_OVER_SAND_M,
        "no inflow",
        "CAWST_SHEET",
    )
    yield from _pair(
        "LVL-013",
        "the sand fits between the floor and its surface",
        Height(f"{part_id}.sand-top", part.sand_top_m),
        Height(f"{part_id}.base", part.base_m),
        part.sand_depth_m,
        "built",
        ENGINEERING_CHOICE,
    )
    yield from _pair(
        "LVL-014",
        "the box has freeboard over its overflow",
        Height(f"{part_id}.rim", part.rim_m),
        lip,
        RIM_OVER_LIP_M,
        "overflowing",
        COMMON_PRACTICE,
    )
    for c in joined:
        if c.to_part != part_id or c.pipe.valve is None or c.pipe.valve.kind != "float":
            continue
        shut_m, assumed = shut_height_m(part, c.pipe)
        shut = Height(f"{c.pipe_id}.valve.shuts-at", None if assumed else shut_m)
        gap_m = AIR_GAP_DIAMETERS * (c.pipe.size_m or 0.0)
        yield from _pair(
            "LVL-006",
            "an air gap keeps raw water from being drawn back",
            inlet,
            lip,
            gap_m,
            "overflowing",
            f"{COMMON_PRACTICE}: two pipe bores",
        )
        yield from _pair(
            "LVL-008",
            "the float valve shuts before the box overflows",
            lip,
            shut,
            LIP_OVER_SHUT_M,
            "float shut",
            COMMON_PRACTICE,
            move=shut,
        )
        rate = part.throttle_m_per_s or DESIGN_RATE_M_PER_S
        need_m = rate * (bed_resistance_s(part) + part.skin_resistance_s)
        need_m *= float(viscosity_ratio(COLD_DEGC))
        yield from _pair(
            "LVL-015",
            "the water over the weir drives the flow through sand and skin",
            shut,
            weir,
            need_m,
            "4 °C, living skin as given",
            "HUISMAN_WOOD_1974",
        )

"""Where plan fields meet formulas: the resistance of beds and the flow of feed pipes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.catchment import roof_materials
from roofspring.constants import GRAVITY_M_PER_S2, SECONDS_PER_DAY, SECONDS_PER_HOUR
from roofspring.errors import PlanError, Problem
from roofspring.hydraulics import (
    CORNER_FRAC,
    downpipe_flow_m3_per_s,
    end_depth_m,
    fitting_k,
    fitting_names,
    flow_m3_per_s,
    gutter_flow_m3_per_s,
    loss_factor_of_kv,
    outlet_flow_m3_per_s,
    side_outlet_flow_m3_per_s,
    standpipe_flow_m3_per_s,
    strainer_k,
)
from roofspring.kernels.net import HEAD_POINTS_COUNT, UNLIMITED_M3_PER_S
from roofspring.plan.model import Filter, Pipe, Plan, Roof
from roofspring.plan.pieces import Gutter, Valve
from roofspring.sandfilter import conductivity_m_per_s, specific_diameter_m

REFERENCE_DEGC = 20.0
"""Temperature at which bed and skin resistances are given."""

UNGUARDED_FOULING_M = 0.1
"""Rain that clogs a strainer without a guard of gravel and mesh before it: three or four storms of
an inch; common practice, no source."""

SPLIT_HALVINGS = 80
FEED_DEGC = 10.0
"""Temperature for the flow of feed pipes; between 4 and 20 degrees C it moves the flow little."""


TAP_KV_M3_PER_H = 1.5
"""Flow coefficient of an ordinary tap wide open; engineering choice."""


@dataclass(frozen=True)
class PipeLaw:
    """Flow of a pipe against head: HEAD_POINTS_COUNT points by equal steps of the root of head."""

    head_m: float
    flow_m3_per_s: npt.NDArray[np.float64]


def bed_resistance_s(part: Filter) -> float:
    """Resistance of the clean sand bed at 20 degrees C: depth over conductivity [s]."""
    grain_m = specific_diameter_m(part.d10_m, uniformity=part.uniformity)
    k_m_per_s = conductivity_m_per_s(
        grain_m,
        temp_degc=REFERENCE_DEGC,
        porosity_frac=part.porosity_frac,
        sphericity_frac=part.sphericity_frac,
    )
    return part.sand_depth_m / k_m_per_s


def roof_runoff_frac(part: Roof) -> float:
    """Runoff coefficient: the plan's, or that of the material."""
    if part.coefficient_frac is not None:
        return part.coefficient_frac
    return roof_materials()[part.material].runoff_frac


def roof_wetting_m(part: Roof) -> float:
    """Wetting loss: the plan's, or that of the material."""
    if part.wetting_m is not None:
        return part.wetting_m
    return roof_materials()[part.material].wetting_m


@dataclass(frozen=True)
class GutterSection:
    """Part of a gutter that drains to one outlet.

    Attributes
    ----------
    length_m : float or None
    share_frac : float
        Of the roof that drains to it.
    flows_m3_per_s : mapping of str to float
        What each of ``gutter``, ``outlet`` and ``downpipe`` passes, or ``as stated``.
    """

    length_m: float | None
    share_frac: float
    flows_m3_per_s: Mapping[str, float]

    @property
    def carries_m3_per_s(self) -> float:
        """The least of them."""
        return min(self.flows_m3_per_s.values())

    @property
    def limited_by(self) -> str:
        """Which of them is the least."""
        return min(self.flows_m3_per_s, key=lambda name: self.flows_m3_per_s[name])


def gutter_sections(gutter: Gutter) -> tuple[GutterSection, ...]:
    """What each part of a gutter carries to its outlet.

    Each outlet drains an equal length where the plan does not say otherwise, and the roof by its
    length. A downpipe, where its size is given, opens in the sole of the gutter as wide as it is,
    under the depth of water at a free end. A stated capacity is that of the whole gutter.
    """
    if gutter.capacity_m3_per_s is not None:
        return (GutterSection(gutter.length_m, 1.0, {"as stated": gutter.capacity_m3_per_s}),)
    whole_m, count = gutter.whole_m, gutter.outlets_count
    lengths: Sequence[float | None] = gutter.sections_m or (
        [None if whole_m is None else whole_m / count] * count
    )
    return tuple(
        GutterSection(
            length_m,
            1.0 / count if length_m is None or whole_m is None else length_m / whole_m,
            _section_flows(gutter, length_m),
        )
        for length_m in lengths
    )


def _section_flows(gutter: Gutter, length_m: float | None) -> dict[str, float]:
    assert gutter.width_m is not None  # or reading would have refused the plan
    depth_m = gutter.depth_m or gutter.width_m / 2.0
    flows = {
        "gutter": gutter_flow_m3_per_s(
            gutter.width_m,
            shape=gutter.shape,
            depth_m=depth_m,
            sole_m=gutter.sole_m,
            fall_frac=gutter.fall_frac,
            length_m=length_m,
            corner_frac=CORNER_FRAC if gutter.corners_count > 0 else 1.0,
        )
    }
    if gutter.downpipe_m is not None:
        flows["outlet"] = outlet_flow_m3_per_s(end_depth_m(depth_m), diameter_m=gutter.downpipe_m)
        flows["downpipe"] = downpipe_flow_m3_per_s(gutter.downpipe_m)
    return flows


def gutter_limit_m3_per_s(gutter: Gutter) -> float:
    """Flow from the roof at which the first section of a gutter spills [m3/s].

    Beyond it the others could carry more; the whole gutter is taken to carry no more.
    """
    return min(s.carries_m3_per_s / s.share_frac for s in gutter_sections(gutter))


def pipe_factors(
    pipe: Pipe,
    *,
    diameter_m: float,
    float_open_frac: float = 1.0,
    blocked_frac: float | None = None,
) -> tuple[tuple[str, float], ...]:
    """Name and loss factor of each thing along a pipe, from its entry to its exit.

    ``float_open_frac`` is how far its float valve stands open; ``blocked_frac`` the share of its
    strainer that is clogged, the plan's where not given. A factor is infinite where it is shut.
    """
    made = [("entry sharp", fitting_k("entry sharp"))]
    made += [(name, fitting_k(name)) for name in pipe.fittings]
    if pipe.strainer is not None:
        blocked = pipe.strainer.blocked_frac if blocked_frac is None else blocked_frac
        made.append(("strainer", strainer_k(blocked, k0=pipe.strainer.k_factor)))
    if pipe.valve is not None:
        made.append((f"{pipe.valve.kind} valve", _valve_k(pipe.valve, diameter_m, float_open_frac)))
    made.append(("exit", fitting_k("exit")))
    return tuple(made)


def _valve_k(valve: Valve, diameter_m: float, float_open_frac: float) -> float:
    """Loss factor of a valve: a part-open one passes its share of the flow at the same head."""
    open_frac = valve.open_frac * (float_open_frac if valve.kind == "float" else 1.0)
    if open_frac <= 0.0 or valve.kv_m3_per_s == 0.0:
        return math.inf
    if valve.kv_m3_per_s is not None:
        own_k = loss_factor_of_kv(valve.kv_m3_per_s * SECONDS_PER_HOUR, diameter_m=diameter_m)
    elif valve.kind == "check":
        own_k = fitting_k("swing check")
    else:
        own_k = 0.0
    return own_k / open_frac**2 if own_k > 0.0 else 1.0 / open_frac**2 - 1.0


def pipe_k_sum(pipe: Pipe, *, diameter_m: float, float_open_frac: float = 1.0) -> float:
    """Sum of the loss factors along a pipe; infinite where something is shut."""
    return math.fsum(
        k for _, k in pipe_factors(pipe, diameter_m=diameter_m, float_open_frac=float_open_frac)
    )


def pipe_flow_m3_per_s(
    pipe: Pipe, head_m: float, *, temp_degc: float, float_open_frac: float = 1.0
) -> float:
    """Flow of one pipe of the plan under a head; unlimited where its size is not given."""
    if head_m <= 0.0:
        return 0.0
    if pipe.size_m is None:
        is_shut = math.isinf(pipe_k_sum(pipe, diameter_m=1.0, float_open_frac=float_open_frac))
        return 0.0 if is_shut else UNLIMITED_M3_PER_S
    return flow_m3_per_s(
        head_m,
        diameter_m=pipe.size_m,
        length_m=pipe.length_m,
        roughness_m=pipe.roughness_m,
        k_sum=pipe_k_sum(pipe, diameter_m=pipe.size_m, float_open_frac=float_open_frac),
        temp_degc=temp_degc,
    )


def overflow_flow_m3_per_s(pipe: Pipe, head_m: float, *, form: str, fall_m: float | None) -> float:
    """Flow of a tank's overflow with water standing over its lip.

    The smaller of what enters the pipe (through the wall, or over the rim of a stand-pipe) and what
    the pipe carries down to its far end, ``fall_m`` below the lip, where that is known.
    """
    assert pipe.size_m is not None
    if form == "stand-pipe":
        enters_m3_per_s = standpipe_flow_m3_per_s(head_m, diameter_m=pipe.size_m)
    else:
        enters_m3_per_s = side_outlet_flow_m3_per_s(head_m, diameter_m=pipe.size_m)
    if fall_m is None or head_m <= 0.0:
        return enters_m3_per_s
    return min(
        enters_m3_per_s, pipe_flow_m3_per_s(pipe, max(0.0, fall_m + head_m), temp_degc=FEED_DEGC)
    )


@dataclass(frozen=True)
class Fouling:
    """How the strainers of a feed clog: rain that clogs them, and their share of the loss."""

    fouling_m: float
    rinse_days: int
    loss_frac: float


def whole_days(time_s: float) -> int:
    """A time in whole days, one at least."""
    return max(1, round(time_s / SECONDS_PER_DAY))


def strainer_fouling(pipes: Sequence[Pipe], *, head_m: float, is_raw: bool) -> Fouling:
    """How the strainers of feed pipes one behind the other clog.

    Only raw water clogs them. Their share of the loss is taken at a quarter of the greatest head.
    """
    strained = [pipe for pipe in pipes if pipe.strainer is not None]
    fouling_m, rinse_days = math.inf, 1
    for pipe in strained:
        strainer = pipe.strainer
        assert strainer is not None
        if is_raw and strainer.fouls_after_m is not None:
            fouling_m = min(fouling_m, max(strainer.fouls_after_m, 1e-9))
        elif is_raw and not strainer.guard:
            fouling_m = min(fouling_m, UNGUARDED_FOULING_M)
        rinse_days = whole_days(strainer.rinsed_every_s)
    if math.isinf(fouling_m):
        return Fouling(math.inf, 1, 0.0)
    test_m = head_m / 4.0
    flow = min(pipe_flow_m3_per_s(pipe, test_m, temp_degc=FEED_DEGC) for pipe in pipes)
    lost_m = 0.0
    for pipe in strained:
        assert pipe.strainer is not None
        if pipe.size_m is not None and pipe.strainer.blocked_frac < 1.0:
            speed = flow / (math.pi * pipe.size_m**2 / 4.0)
            k = strainer_k(pipe.strainer.blocked_frac, k0=pipe.strainer.k_factor)
            lost_m += k * speed**2 / (2.0 * GRAVITY_M_PER_S2)
    return Fouling(fouling_m, rinse_days, min(1.0, lost_m / test_m))


def valve_loss_frac(pipes: Sequence[Pipe], valved: Pipe, *, head_m: float) -> float:
    """Share of the loss of feed pipes that is in an open float valve, at a quarter of the head.

    1 where the valve or its pipe has no size: nothing else then holds the water back.
    """
    valve = valved.valve
    if valve is None or valve.kv_m3_per_s is None or valved.size_m is None:
        return 1.0
    test_m = head_m / 4.0
    flow = min(pipe_flow_m3_per_s(pipe, test_m, temp_degc=FEED_DEGC) for pipe in pipes)
    if flow <= 0.0:
        return 1.0
    k = loss_factor_of_kv(valve.kv_m3_per_s * SECONDS_PER_HOUR, diameter_m=valved.size_m)
    speed = flow / (math.pi * valved.size_m**2 / 4.0)
    return min(1.0, k * speed**2 / (2.0 * GRAVITY_M_PER_S2) / test_m)


def pipe_law(pipes: Sequence[Pipe], *, most_head_m: float) -> PipeLaw:
    """The flow table of feed pipes one behind the other, up to the greatest head they see [m]."""
    roots = np.linspace(0.0, 1.0, HEAD_POINTS_COUNT)
    tables = [
        np.array(
            [
                pipe_flow_m3_per_s(pipe, float(h), temp_degc=FEED_DEGC)
                for h in most_head_m * roots**2
            ]
        )
        for pipe in pipes
    ]
    flows = tables[0]
    for table in tables[1:]:
        flows = _behind(flows, table, roots)
    return PipeLaw(most_head_m, flows)


def _behind(
    first: npt.NDArray[np.float64], second: npt.NDArray[np.float64], roots: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """The table of two pipes in series: at each head, the split at which both carry the same."""
    heads = roots**2
    low, high = np.zeros_like(heads), heads.copy()  # head that the first pipe takes
    for _ in range(SPLIT_HALVINGS):
        part = 0.5 * (low + high)
        first_is_slower = np.interp(np.sqrt(part), roots, first) < np.interp(
            np.sqrt(heads - part), roots, second
        )
        low, high = np.where(first_is_slower, part, low), np.where(first_is_slower, high, part)
    flows: npt.NDArray[np.float64] = np.minimum(
        np.interp(np.sqrt(high), roots, first), np.interp(np.sqrt(heads - low), roots, second)
    )
    return flows


def check_fittings(plan: Plan) -> None:
    """Refuse fittings that the table does not have.

    Raises
    ------
    PlanError (NET-001)
        All unknown names of the plan at once.
    """
    names = set(fitting_names())
    problems = [
        Problem(
            "NET-001",
            "the fittings table has no such fitting",
            where=f"pipe.{pipe_id}.fittings",
            got=repr(name),
            allowed=", ".join(sorted(names)),
            next="use the nearest of these names",
        )
        for pipe_id, pipe in sorted(plan.pipes.items())
        for name in pipe.fittings
        if name not in names
    ]
    if problems:
        raise PlanError(problems)

"""A short window, step by step: every content and every flow, for one storm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RecordError
from roofspring.kernels import net as k
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.forcing import DEFAULT_WATER_DEGC, LEAST_TOLERANCE_M, want_m3_per_day
from roofspring.network.result import Arc
from roofspring.network.simulate import State, close_books, run_books, start_state
from roofspring.plan.model import Plan
from roofspring.water import viscosity_ratio

FloatArray = npt.NDArray[np.float64]

HOUR_S = 3600.0


@dataclass(frozen=True)
class WindowResult:
    """One window of steps.

    Attributes
    ----------
    step_s : float
    nodes : (n_nodes,) ids in flow order
    content_m3 : (n_steps + 1, n_nodes), the first row at the start
    arcs : (n_arcs,)
    flow_m3 : (n_steps, n_arcs) moved along each arc in each step
    residual_m3 : float
    """

    step_s: float
    nodes: tuple[str, ...]
    content_m3: FloatArray
    arcs: tuple[Arc, ...]
    flow_m3: FloatArray
    residual_m3: float


def simulate_window(
    plan: Plan,
    rain_m: FloatArray,
    *,
    step_s: float,
    month: int,
    start_hours: float = 0.0,
    snow_frac: FloatArray | None = None,
    thaw_m_per_s: FloatArray | None = None,
    crop_m3_per_day: Mapping[str, FloatArray] | None = None,
    assembled: Assembled | None = None,
    state: State | None = None,
) -> WindowResult:
    """Run a plan through a series of short steps and keep every one of them.

    Parameters
    ----------
    plan : Plan
    rain_m : (n_steps,) float64
        Rain of each step [m], finite, 0 or more.
    step_s : float
        Length of a step [s]; a whole number of them makes an hour.
    month : int
        0 for January: what uses want in that month.
    start_hours : float
        Hour of the day at which the window begins, a whole number of steps after midnight.
    snow_frac, thaw_m_per_s : (n_steps,) float64, optional
        Share of the rain of each step that falls as snow [-], and what can melt in it [m/s], as
        `roofspring.network.forcing.snow_and_thaw` has them by days; mild when not given.
    crop_m3_per_day : mapping of use id to (n_steps,) float64, optional
        What each use with a crop wants on the day of each step [m3/day]; nothing when not given.
    assembled : Assembled, optional
        The plan already compiled.
    state : State, optional
        Contents to begin with; the plan's own start when not given.

    Raises
    ------
    PlanError, SolveError
        As `roofspring.network.simulate.simulate`.
    RecordError (REC-093)
        A step that does not divide an hour, or rain that is not a number.
    """
    per_hour = HOUR_S / step_s if step_s > 0.0 else 0.0
    if per_hour < 1.0 or abs(per_hour - round(per_hour)) > 1e-9 or not np.isfinite(rain_m).all():
        raise RecordError(
            Problem(
                "REC-093",
                "this window cannot be run",
                got=f"steps of {step_s:g} s",
                allowed="finite rain in steps of which a whole number make an hour",
                next="use 5 minutes",
            )
        )
    assembled = assembled or assemble(plan)
    count = len(rain_m)
    hours = np.mod(start_hours + np.arange(count) * step_s / HOUR_S, 24.0)
    wants = np.array([want_m3_per_day(plan.uses[u], plan, month) for u in assembled.use_ids])
    want_m3 = np.tile(wants, (count, 1))
    for use_id, want in (crop_m3_per_day or {}).items():
        if use_id in assembled.use_ids and plan.uses[use_id].crop is not None:
            want_m3[:, assembled.use_ids.index(use_id)] = want
    degc = plan.run.water_temperature_degc
    thickness = float(viscosity_ratio(DEFAULT_WATER_DEGC if degc is None else degc))
    forcing = k.Forcing(
        tolerance_m=max(plan.run.tolerance_m, LEAST_TOLERANCE_M),
        day=np.arange(count),  # every step has a page of the books to itself
        from_hour=hours,
        to_hour=hours + step_s / HOUR_S,
        rain_m=np.ascontiguousarray(rain_m, dtype=np.float64),
        month=np.full(count, month, dtype=np.int64),
        date=np.full(count, -1, dtype=np.int64),
        water_degc=np.full(count, DEFAULT_WATER_DEGC if degc is None else degc),
        snow_frac=_of_steps(snow_frac, count),
        thaw_m_per_s=_of_steps(thaw_m_per_s, count),
        ice_m=np.zeros(count),
        want_m3=want_m3,
        thickness=np.full(count, thickness),
    )
    first = state or start_state(assembled)
    pages = np.datetime64("2001-01-01") + np.arange(count)
    books, _ = run_books(assembled.net, forcing, first, days=pages)
    return WindowResult(
        step_s=step_s,
        nodes=assembled.topology.nodes,
        content_m3=np.vstack((first.content_m3, books.end_m3)),
        arcs=assembled.topology.arcs,
        flow_m3=books.flow_m3,
        residual_m3=close_books(assembled, first.content_m3, books),
    )


def _of_steps(values: FloatArray | None, count: int) -> FloatArray:
    return np.zeros(count) if values is None else np.ascontiguousarray(values, dtype=np.float64)

"""The demo train through a storm, integrated to a tight tolerance.

The integration stops where a mode ends, located by the root finder of `scipy.integrate.solve_ivp`,
and goes on with the modes that hold from there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp

from .house import (
    ARCS,
    ROOFS_M2,
    STATES_COUNT,
    STORES,
    Floats,
    Laws,
    Storm,
    wants_m3_per_s,
)
from .piece import Piece


@dataclass(frozen=True)
class Course:
    """Contents and volumes moved until each time of the report."""

    times_s: Floats
    content_m3: dict[str, Floats]
    moved_m3: dict[tuple[str, str], Floats]
    calls: int


def run(
    storm: Storm,
    start_m3: Mapping[str, float],
    laws: Laws,
    *,
    report_s: float,
    film_m: Sequence[float] = (0.0, 0.0),
    rtol: float = 1e-9,
) -> Course:
    """Integrate a storm and report every ``report_s``, which divides the hour."""
    y = np.zeros(STATES_COUNT + len(ARCS))
    y[: len(ROOFS_M2)] = film_m
    y[len(ROOFS_M2) : STATES_COUNT] = [start_m3[store] for store in STORES]
    edges_s = _edges_s(storm)
    kept_t, kept_y, calls = [0.0], [y.copy()], 0
    for t, until in pairwise(edges_s):
        rain = storm.rain_m[int(0.5 * (t + until) / storm.step_s)] / storm.step_s
        hour = int(storm.start_hours + 0.5 * (t + until) / 3600.0) % 24
        piece = Piece(laws, float(rain), wants_m3_per_s(storm, hour))
        for _ in range(200):
            piece.settle(y)
            t, y = _stretch(piece, t, until, y, report_s, rtol, kept_t, kept_y)
            if t >= until:
                break
        else:
            raise AssertionError("too many switches in one piece")
        calls += piece.calls
    ys = np.array(kept_y)
    return Course(
        times_s=np.array(kept_t),
        content_m3={s: ys[:, len(ROOFS_M2) + i] for i, s in enumerate(STORES)},
        moved_m3={arc: ys[:, STATES_COUNT + i] for i, arc in enumerate(ARCS)},
        calls=calls,
    )


def _edges_s(storm: Storm) -> list[float]:
    """Times at which the rain or the hour of the day changes."""
    steps = len(storm.rain_m)
    changes = np.flatnonzero(np.diff(storm.rain_m) != 0.0) + 1
    hours = np.arange(0.0, steps * storm.step_s, 3600.0)
    ends = [0.0, steps * storm.step_s]
    return sorted({*ends, *hours.tolist(), *(changes * storm.step_s).tolist()})


@dataclass(frozen=True)
class Stop:
    """A switch as the solver asks for it: it ends the stretch, crossed in one direction or any."""

    function: Callable[[float, Floats], float]
    direction: int
    terminal: bool = True

    def __call__(self, t: float, y: Floats) -> float:
        """How far the state is from the switch."""
        return self.function(t, y)


def _stretch(
    piece: Piece, t: float, until: float, y: Floats, report_s: float, rtol: float,
    kept_t: list[float], kept_y: list[Floats],
) -> tuple[float, Floats]:  # fmt: skip
    """Integrate to the next switch or to the end of the piece, and keep the reports on the way."""
    switches = piece.switches()
    events, rates = [], piece.rates(t, y)
    for function, way, i, value in switches:
        # A switch the state stands on just now, and leaves, is not one that lies ahead.
        rate = float(rates[i])
        if y[i] == value and rate != 0.0 and (way == 0 or rate * way < 0.0):
            function = _leave(function, i, value, math.copysign(1e-30, rate))
        events.append(Stop(function, way))
    first = round(kept_t[-1] / report_s) + 1  # a switch may fall on a mark, to the last bits
    marks = [m * report_s for m in range(first, math.floor(until / report_s + 1e-9) + 1)]
    got = solve_ivp(
        piece.rates, (t, until), y, method="DOP853", rtol=rtol, atol=1e-11,
        events=events, dense_output=True,
    )  # fmt: skip
    assert got.status >= 0, got.message
    assert got.sol is not None and got.t_events is not None
    end = float(got.t[-1])
    for mark in marks:
        if mark <= end:
            kept_t.append(mark)
            kept_y.append(got.y[:, -1].copy() if mark == end else got.sol(mark))
    y = got.y[:, -1].copy()
    for (_, _, i, value), hits in zip(switches, got.t_events, strict=True):
        if got.status == 1 and len(hits) and hits[-1] == end:
            y[i] = value
    return end, y


def _leave(
    function: Callable[[float, Floats], float], i: int, value: float, little: float
) -> Callable[[float, Floats], float]:
    """The same switch, blind to the state it starts on."""

    def blind(t: float, y: Floats) -> float:
        return function(t, y) if abs(y[i] - value) > 1e-12 else little

    return blind

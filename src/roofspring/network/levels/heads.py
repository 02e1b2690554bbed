"""The head along every pipe of a plan at rest: how high water would rise in a tube set on it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from roofspring.network.levels.balance import Balance
from roofspring.network.levels.lines import Run, line_loss_m, run_flow_m3_per_s, without_float
from roofspring.plan.graph import Connection
from roofspring.plan.model import Filter, FirstFlush, Part, Screen, Tank, Tap

TAP_FLOW_M3_PER_S = 4e-3 / 60.0
"""Four litres a minute, of a tap that is useful; common practice, no source."""


@dataclass(frozen=True)
class Line:
    """One pipe of the plan in a state.

    Attributes
    ----------
    flow_m3_per_s : float
        Not a number where a size or height that it needs is not given.
    start_m, end_m : float or None
        Head at both ends [m over the datum]: the level that a pipe open at the top would show.
    valve_m : float
        Of the fall between them, what is taken at its far end: by the float valve, or by the tap.
    is_full : bool
        It runs full; else its water runs down it, part full.
    """

    pipe_id: str
    flow_m3_per_s: float
    start_m: float | None
    end_m: float | None
    valve_m: float
    is_full: bool


class Heads:
    """The lines of a balance that has come to rest."""

    def __init__(self, at: Balance) -> None:
        self.at = at

    def all(self) -> dict[str, Line]:
        """Of every pipe that water is led through."""
        lines: dict[str, Line] = {}
        for run, flow in self.at.run_flow.items():
            lines.update(self._full_lines(run, flow))
        for ways in self.at.into.values():
            for run in ways:
                if isinstance(self.at.parts[run[-1].to_part], Tap):
                    lines.update(self._full_lines(run, TAP_FLOW_M3_PER_S))
        for part_id in reversed(self.at.order):
            part = self.at.parts[part_id]
            for port in part.outlets:
                for c in self.at.by_port.get((part_id, port), []):
                    if c.pipe_id not in lines and c.pipe_id in self.at.flow:
                        lines[c.pipe_id] = self._free_line(c, lines)
        return lines

    def _full_lines(self, run: Run, flow: float) -> dict[str, Line]:
        """Lines from a tank run full; a filter's outlet line falls free from the weir."""
        end = self.at.parts[run[-1].to_part]
        is_filter = isinstance(self.at.parts[run[0].from_part], Filter)
        head_m = (
            self.at.parts[run[0].from_part].height_m("outlet")
            if is_filter
            else self.at.start_m(run)
        )
        last_m = end.height_m(run[-1].to_port)
        far_m = self.at.levels.get(run[-1].to_part)
        if last_m is not None and far_m is not None:
            last_m = max(last_m, far_m)
        if isinstance(end, Tap) and head_m is not None and last_m is not None:
            most = run_flow_m3_per_s(
                self.at.pipes[run], head_m - last_m, temp_degc=self.at.state.temp_degc
            )
            flow = min(flow, most)
        made = {}
        for c, pipe in zip(run, self.at.pipes[run], strict=True):
            if head_m is None or math.isnan(flow) or math.isinf(flow):
                made[c.pipe_id] = Line(c.pipe_id, flow, None, None, 0.0, is_full=not is_filter)
                continue
            lost_m = line_loss_m(without_float(pipe), flow, temp_degc=self.at.state.temp_degc)
            lost_m = 0.0 if math.isinf(lost_m) else lost_m
            after_m, valve_m, end_m = head_m - lost_m, 0.0, head_m - lost_m
            if c is run[-1] and last_m is not None:
                valve_m, end_m = max(0.0, after_m - last_m), min(after_m, last_m)
            if is_filter and c is run[-1]:
                valve_m, end_m = 0.0, last_m if last_m is not None else end_m
            made[c.pipe_id] = Line(c.pipe_id, flow, head_m, end_m, valve_m, is_full=not is_filter)
            head_m = after_m
        return made

    def _free_line(self, c: Connection, lines: Mapping[str, Line]) -> Line:
        """A line that falls: its water runs part full unless it cannot take the flow away."""
        upper, lower = self.at.parts[c.from_part], self.at.parts[c.to_part]
        lip_m = self.at.lip_m(c.from_part) if isinstance(upper, (Tank, Filter)) else None
        start_m = lip_m if c.from_port == "overflow" else upper.height_m(c.from_port)
        end_m, flow = lower.height_m(c.to_port), self.at.flow[c.pipe_id]
        if isinstance(lower, (Tank, Filter)):
            level_m = self.at.levels.get(c.to_part)
            end_m = None if end_m is None else max(end_m, -math.inf if level_m is None else level_m)
        elif isinstance(lower, (Screen, FirstFlush)) and end_m is not None:
            backed = self._backed_m(c.to_part, lower, lines)
            end_m = end_m if backed is None else max(end_m, backed)
        if start_m is None or end_m is None or not math.isfinite(flow):
            return Line(c.pipe_id, flow, start_m, end_m, 0.0, is_full=False)
        need_m = end_m + line_loss_m(c.pipe, flow, temp_degc=self.at.state.temp_degc)
        if c.from_port == "overflow":
            return Line(c.pipe_id, flow, start_m, end_m, 0.0, is_full=False)
        is_full = flow > 0.0 and need_m > start_m
        return Line(c.pipe_id, flow, max(start_m, need_m), end_m, 0.0, is_full=is_full)

    def _backed_m(self, part_id: str, part: Part, lines: Mapping[str, Line]) -> float | None:
        """Level to which the line below backs water up into a part that it leaves."""
        outlet_m = part.height_m("outlet")
        for c in self.at.by_port.get((part_id, "outlet"), []):
            line = lines.get(c.pipe_id)
            if line is not None and line.start_m is not None and outlet_m is not None:
                return line.start_m if line.start_m > outlet_m + 1e-9 else None
        return None

"""How high water stands over an overflow: its pipe, and the mesh over it half blind."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.catchment import mesh_open_frac
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.hydraulics import screen_k
from roofspring.network.laws import overflow_flow_m3_per_s
from roofspring.plan.model import Pipe

BLIND_FRAC = 0.5
"""Share of a mesh that leaves and dirt blind; common practice."""
HIGHEST_M = 10.0
_HALVINGS = 50


@dataclass(frozen=True)
class Mouth:
    """An overflow: its pipe, how it leaves the tank, how far it falls, and the mesh over it.

    ``mesh_m`` is None without a mesh; ``mesh_m2`` its area.
    """

    pipe: Pipe
    form: str
    fall_m: float | None
    mesh_m: float | None
    mesh_m2: float

    def rise_m(self, flow_m3_per_s: float) -> float:
        """Water over the lip at a flow [m]; infinite where it never passes."""
        if flow_m3_per_s <= 0.0:
            return 0.0
        if self._passes(HIGHEST_M) < flow_m3_per_s:
            return math.inf
        low, high = 0.0, HIGHEST_M
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self._passes(middle) < flow_m3_per_s else (low, middle)
        return high + self.mesh_loss_m(flow_m3_per_s)

    def carries_m3_per_s(self, room_m: float) -> float:
        """Greatest flow that stands no higher over the lip than there is room [m3/s]."""
        if room_m <= 0.0:
            return 0.0
        low, high = 0.0, self._passes(room_m)
        if self.rise_m(high) <= room_m * (1.0 + 1e-9):
            return high
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.rise_m(middle) <= room_m else (low, middle)
        return low

    def mesh_loss_m(self, flow_m3_per_s: float) -> float:
        """Head that the half-blind mesh takes [m]."""
        return self._mesh_k * (flow_m3_per_s / self.mesh_m2) ** 2 / (2.0 * GRAVITY_M_PER_S2)

    def mesh_for_m2(self, flow_m3_per_s: float, *, room_m: float) -> float:
        """Area of the mesh that lets a flow stand no higher than the room [m2]; infinite where the
        pipe alone needs more."""
        bare_m = Mouth(self.pipe, self.form, self.fall_m, None, self.mesh_m2).rise_m(flow_m3_per_s)
        if bare_m >= room_m:
            return math.inf
        return flow_m3_per_s * math.sqrt(
            self._mesh_k / (2.0 * GRAVITY_M_PER_S2 * (room_m - bare_m))
        )

    @property
    def _mesh_k(self) -> float:
        if self.mesh_m is None:
            return 0.0
        # The wire half as thick as the opening, as screens are reckoned.
        open_frac = mesh_open_frac(self.mesh_m, wire_m=self.mesh_m / 2.0)
        return screen_k(open_frac * (1.0 - BLIND_FRAC))

    def _passes(self, head_m: float) -> float:
        return overflow_flow_m3_per_s(self.pipe, head_m, form=self.form, fall_m=self.fall_m)

"""How high water stands over an overflow: its pipe, and the mesh over it half blind."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofspring.catchment import mesh_open_frac
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.hydraulics import screen_k
from roofspring.network.faults import BLINDED_FRAC
from roofspring.network.laws import overflow_flow_m3_per_s
from roofspring.network.levels.lines import head_over_lip_m, narrowed
from roofspring.plan.model import Pipe


@dataclass(frozen=True)
class Mouth:
    """An overflow: its pipe, how it leaves the tank, how far it falls, and the mesh over it.

    ``mesh_m2`` is the area of the mesh, None where the plan does not say: then one is taken to lie
    across the bore, for every overflow needs one, and half blind it leaves half of that open. A
    mesh of its own area takes head by the law of wire screens; ``mesh_m`` is its opening, None
    where the plan gives none.
    """

    pipe: Pipe
    form: str
    fall_m: float | None
    mesh_m: float | None
    mesh_m2: float | None

    def rise_m(self, flow_m3_per_s: float) -> float:
        """Water over the lip at a flow [m]; infinite where it never passes."""
        bare_m = head_over_lip_m(self._open, self.form, self.fall_m, flow_m3_per_s)
        return bare_m + self._mesh_loss_m(flow_m3_per_s)

    def carries_m3_per_s(self, room_m: float) -> float:
        """Greatest flow that stands no higher over the lip than there is room [m3/s]."""
        if room_m <= 0.0:
            return 0.0
        most = overflow_flow_m3_per_s(self._open, room_m, form=self.form, fall_m=self.fall_m)
        if self.mesh_m is None or self.mesh_m2 is None or most <= 0.0:
            return most
        from scipy.optimize import brentq  # late: it takes a quarter of a second

        def excess_m(flow_m3_per_s: float) -> float:
            return self.rise_m(flow_m3_per_s) - room_m

        return most if excess_m(most) <= 0.0 else float(brentq(excess_m, 0.0, most, xtol=1e-12))

    def mesh_for_m2(self, flow_m3_per_s: float, *, room_m: float) -> float:
        """Area of the mesh that lets a flow stand no higher than the room [m2]; infinite where the
        pipe alone needs more."""
        bare_m = head_over_lip_m(self.pipe, self.form, self.fall_m, flow_m3_per_s)
        if bare_m >= room_m:
            return math.inf
        return flow_m3_per_s * math.sqrt(
            self._mesh_k / (2.0 * GRAVITY_M_PER_S2 * (room_m - bare_m))
        )

    @property
    def _open(self) -> Pipe:
        """The pipe, with half of its bore shut where a half-blind mesh lies across it."""
        return narrowed(self.pipe, BLINDED_FRAC)

    def _mesh_loss_m(self, flow_m3_per_s: float) -> float:
        if self.mesh_m is None or self.mesh_m2 is None:
            return 0.0
        return self._mesh_k * (flow_m3_per_s / self.mesh_m2) ** 2 / (2.0 * GRAVITY_M_PER_S2)

    @property
    def _mesh_k(self) -> float:
        assert self.mesh_m is not None
        # The wire half as thick as the opening, as screens are reckoned.
        open_frac = mesh_open_frac(self.mesh_m, wire_m=self.mesh_m / 2.0)
        return screen_k(open_frac * (1.0 - BLINDED_FRAC))

"""Where the head goes in a full pipe: friction, and each fitting by name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.hydraulics.pipe import loss_m
from roofspring.water import kinematic_viscosity_m2_per_s

LAMINAR_REYNOLDS = 2000.0
TURBULENT_REYNOLDS = 4000.0
"""Between the two, pipes do either, and may go from one to the other."""
FRICTION = "friction"


@dataclass(frozen=True)
class Loss:
    """Head that one thing along a pipe takes.

    Attributes
    ----------
    what : str
        ``friction``, or the name of the fitting.
    k_factor : float or None
        Loss factor [-]; None for friction.
    head_m : float
        [m]
    """

    what: str
    k_factor: float | None
    head_m: float


@dataclass(frozen=True)
class PipeFlow:
    """A flow through a full pipe, with what it loses part by part.

    Attributes
    ----------
    flow_m3_per_s, speed_m_per_s, reynolds : float
    regime : str
        ``laminar``, ``between`` or ``turbulent``.
    losses : tuple of Loss
        Friction first, then in the order given.
    """

    flow_m3_per_s: float
    speed_m_per_s: float
    reynolds: float
    regime: str
    losses: tuple[Loss, ...]

    @property
    def head_m(self) -> float:
        """Sum of all losses [m]."""
        return math.fsum(loss.head_m for loss in self.losses)


def regime_of(reynolds: float) -> str:
    """``laminar`` below 2000, ``turbulent`` above 4000, ``between`` between them.

    >>> regime_of(420.0), regime_of(3000.0), regime_of(26_000.0)
    ('laminar', 'between', 'turbulent')
    """
    if reynolds < LAMINAR_REYNOLDS:
        return "laminar"
    return "turbulent" if reynolds > TURBULENT_REYNOLDS else "between"


def pipe_losses(
    flow_m3_per_s: float,
    *,
    diameter_m: float,
    length_m: float,
    roughness_m: float,
    factors: Sequence[tuple[str, float]],
    temp_degc: float,
) -> PipeFlow:
    """Head lost in a full pipe, part by part.

    Parameters
    ----------
    flow_m3_per_s, diameter_m, length_m, roughness_m, temp_degc : float
        As in `loss_m`.
    factors : sequence of (str, float)
        Name and loss factor [-] of each thing along the pipe.

    Returns
    -------
    PipeFlow

    Raises
    ------
    RangeError (DOM-001, DOM-002, DOM-003)
        As in `loss_m`.

    Notes
    -----
    Losses in series add: the sum is that of `loss_m` with the sum of the factors.

    Source
    ------
    CHURCHILL_1977 for friction; Darcy and Weisbach's equation.

    Examples
    --------
    >>> line = pipe_losses(26.09e-3 / 60.0, diameter_m=0.02093, length_m=6.0, roughness_m=1.5e-6,
    ...                    factors=[("entry", 0.5), ("exit", 1.0)], temp_degc=20.0)
    >>> line.regime, [(loss.what, round(loss.head_m, 3)) for loss in line.losses]
    ('turbulent', [('friction', 0.568), ('entry', 0.041), ('exit', 0.081)])
    """
    friction_m = loss_m(
        flow_m3_per_s,
        diameter_m=diameter_m,
        length_m=length_m,
        roughness_m=roughness_m,
        k_sum=0.0,
        temp_degc=temp_degc,
    )
    speed_m_per_s = flow_m3_per_s / (math.pi * diameter_m**2 / 4.0)
    velocity_head_m = speed_m_per_s**2 / (2.0 * GRAVITY_M_PER_S2)
    reynolds = speed_m_per_s * diameter_m / kinematic_viscosity_m2_per_s(temp_degc)
    return PipeFlow(
        flow_m3_per_s,
        speed_m_per_s,
        reynolds,
        regime_of(reynolds),
        (
            Loss(FRICTION, None, friction_m),
            *(Loss(name, k, k * velocity_head_m) for name, k in factors),
        ),
    )

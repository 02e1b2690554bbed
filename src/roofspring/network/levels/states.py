"""The states in which water must still run: what stands full, rains, is stuck or dirty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from roofspring.network.faults import BLINDED_FRAC, CLOGGED_FRAC

COLD_DEGC = 4.0
WARM_DEGC = 20.0

StateName = Literal["first-filling", "design-rain", "stuck-open", "cleaned", "end-of-run"]
STATE_NAMES: tuple[StateName, ...] = (
    "first-filling", "design-rain", "stuck-open", "cleaned", "end-of-run",
)  # fmt: skip


@dataclass(frozen=True)
class State:
    """One state of the whole train.

    Attributes
    ----------
    name : str
        One of `STATE_NAMES`.
    words : str
        What is so, for a reader.
    is_full : bool
        Tanks stand full, at their overflow or where their float shuts; else at their outlets.
    rains : bool
        The design rain falls.
    is_stuck : bool
        Every float valve stands open and never shuts.
    blind_frac : float
        Share of the mesh of every overflow that is blind.
    clogged_frac : float
        Share of every strainer that is clogged at least.
    skin : str
        Of the filters: ``given`` by the plan, ``none``, or ``end``, as on the day of cleaning.
    temp_degc : float
        Of the water.
    """

    name: StateName
    words: str
    is_full: bool
    rains: bool
    is_stuck: bool
    blind_frac: float
    clogged_frac: float
    skin: Literal["given", "none", "end"]
    temp_degc: float

    @property
    def is_worst(self) -> bool:
        """Everything at once: no roof holds any rain back, and a screen does the worse of both."""
        return self.rains and self.is_stuck

    @property
    def title(self) -> str:
        """The state and its temperature, for a reader."""
        return f"{self.words}, {self.temp_degc:.0f} °C"


def _both(
    name: StateName,
    words: str,
    *,
    is_full: bool,
    skin: Literal["given", "none", "end"],
    rains: bool = False,
    is_stuck: bool = False,
    blind_frac: float = 0.0,
    clogged_frac: float = 0.0,
) -> tuple[State, ...]:
    return tuple(
        State(name, words, is_full, rains, is_stuck, blind_frac, clogged_frac, skin, temp_degc)
        for temp_degc in (COLD_DEGC, WARM_DEGC)
    )


STATES: tuple[State, ...] = (
    *_both("first-filling", "first filling, tanks at their outlets", is_full=False, skin="none"),
    *_both("design-rain", "design rain, tanks full", is_full=True, skin="given", rains=True),
    *_both(
        "stuck-open",
        "design rain, floats stuck open, overflow meshes half blind",
        is_full=True,
        skin="end",
        rains=True,
        is_stuck=True,
        blind_frac=BLINDED_FRAC,
    ),
    *_both("cleaned", "filters freshly cleaned, tanks full", is_full=True, skin="none"),
    *_both(
        "end-of-run",
        "end of run, strainers clogged, tanks at their outlets",
        is_full=False,
        skin="end",
        clogged_frac=CLOGGED_FRAC,
    ),
)
"""Every state, cold and warm."""

"""What a run gives back: daily series by name, and the books they must close."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from roofspring.kernels.net import State

FloatArray = npt.NDArray[np.float64]

ArcKind = Literal[
    "rain",  # fell on a roof
    "wetting",  # dried off a roof
    "splash",  # lost at a roof by splash, wind and leaks
    "slid",  # snow that slid past the gutter or was held by its ice
    "gutter",  # over the edge of a gutter that carries no more
    "pass",  # through a roof outlet, screen, first flush, diverter or disinfection
    "reject",  # thrown off by a screen
    "weep",  # drained from a first-flush chamber
    "feed",  # tank outlet through a pipe
    "sand",  # through a filter bed and over its weir
    "waste",  # the same, but let go because the bed was just cleaned
    "overflow",
    "rim",  # over the brim of a tank whose overflow cannot carry what comes
    "leak",
    "evaporation",
    "draw",  # drawn by a use
]

GROUND = "(ground)"
"""Everything outside: where unpiped overflows, rejects and weeps end. No part id can have
brackets, so no part of a plan is taken for it."""


@dataclass(frozen=True)
class Arc:
    """One way water moves: from a part's port to another part (or to a use, or the ground)."""

    kind: ArcKind
    from_part: str
    from_port: str
    to_part: str
    pipe_id: str = ""


@dataclass(frozen=True)
class Provenance:
    """What made a result, so that it can be made again."""

    version: str
    plan_hash: str
    rain_hash: str
    seconds: float
    seed: int | None = None

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class RunResult:
    """Daily books of one run through one rain record.

    Attributes
    ----------
    days : (n_days,) datetime64[D]
    store_ids : (n_stores,)
        Tanks and filter boxes, and first-flush chambers. A filter box counts the water above its
        weir crest only: the water below it never leaves.
    start_m3 : (n_stores,)
    end_m3, low_m3 : (n_days, n_stores)
        Content at the end of each day, and the lowest content at its start or at the end of any
        step of it.
    capacity_m3, dead_m3 : (n_stores,)
        Content at the overflow lip, and content below the lowest outlet (out of reach).
    arcs : (n_arcs,)
    flow_m3 : (n_days, n_arcs)
        Volume moved along each arc, each day.
    use_ids : (n_uses,)
    wanted_m3, delivered_m3 : (n_days, n_uses)
    rationed : (n_days, n_uses) bool
    filter_rate_m_per_s : (n_days, n_filters)
        Highest rate in any step of the day; filters in the order of ``filter_ids``.
    skin_s, ripeness_frac, sand_m : (n_days, n_filters)
        Resistance of the skin at 20 degrees C, ripeness, and depth of sand at the end of each day.
    cleaned : (n_days, n_filters)
        What was done in the morning: 0 nothing, 1 raked, 2 scraped, 3 sanded anew.
    raw_frac, age_days : (n_days, n_stores)
        Share of unfiltered water in each store, and its mean age since it fell, at the end of each
        day. The water of a store is taken to be well mixed.
    raw_delivered_m3 : (n_days, n_uses)
        Unfiltered water in what each use got.
    residual_m3 : float
        Largest absolute error of the books: of any store, or of the whole.
    steps_count, forced_count : int
        Steps made, and those of them that could not be made short enough for the tolerance.
    final : State
        All that the run left behind: where a later one can go on.
    """

    days: npt.NDArray[np.datetime64]
    store_ids: tuple[str, ...]
    start_m3: FloatArray
    end_m3: FloatArray
    low_m3: FloatArray
    capacity_m3: FloatArray
    dead_m3: FloatArray
    arcs: tuple[Arc, ...]
    flow_m3: FloatArray
    use_ids: tuple[str, ...]
    wanted_m3: FloatArray
    delivered_m3: FloatArray
    rationed: npt.NDArray[np.bool_]
    filter_ids: tuple[str, ...]
    filter_rate_m_per_s: FloatArray
    skin_s: FloatArray
    ripeness_frac: FloatArray
    sand_m: FloatArray
    cleaned: npt.NDArray[np.int64]
    raw_frac: FloatArray
    age_days: FloatArray
    raw_delivered_m3: FloatArray
    residual_m3: float
    steps_count: int
    forced_count: int
    final: State
    provenance: Provenance

    @property
    def years(self) -> float:
        """Length of the run in years of 365.25 days."""
        return len(self.days) / 365.25

    def total_m3(
        self, *, kind: ArcKind, from_part: str | None = None, to_part: str | None = None
    ) -> float:
        """Volume moved along all arcs of a kind over the whole run, by part where asked."""
        picked = [
            i
            for i, arc in enumerate(self.arcs)
            if arc.kind == kind
            and from_part in (None, arc.from_part)
            and to_part in (None, arc.to_part)
        ]
        return float(self.flow_m3[:, picked].sum())

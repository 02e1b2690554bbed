"""Filling what a record lacks, by a stated method, without touching what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from roofspring.errors import Problem, RecordError
from roofspring.errors.names import did_you_mean
from roofspring.rain.gaps._base import Fill, FillMethod, when
from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.gaps.neighbours import InverseDistance, NormalRatio, QuantileMap
from roofspring.rain.gaps.season import SameSeason
from roofspring.rain.gaps.temps import fill_temps
from roofspring.rain.gaps.totals import share_totals
from roofspring.rain.record import Kept, RainRecord

MAX_MISSING_FRAC = 0.5
"""A record with less than half of its steps is not filled; engineering choice."""


@dataclass(frozen=True)
class Refuse:
    """Fill nothing: a record with gaps is an error."""

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Refuse."""
        del rng, neighbours  # nothing is filled
        gaps = ~np.isfinite(record.depth_m)
        first = int(gaps.argmax())
        raise RecordError(
            Problem(
                "REC-017",
                "the record has gaps and filling was refused",
                record.source,
                where=when(record, first),
                got=f"{int(gaps.sum())} of {len(gaps)} steps missing",
                allowed="a record without gaps, where nothing is to be filled",
                next=f"complete the record, or choose a fill method: {', '.join(FILL_METHODS)}",
            )
        )


FILL_METHODS: dict[str, FillMethod] = {
    "none": Refuse(),
    "same-season": SameSeason(),
    "normal-ratio": NormalRatio(),
    "inverse-distance": InverseDistance(),
    "quantile-map": QuantileMap(),
}
"""Fill methods by name. Filling with zero is not offered: it makes droughts that never were."""


def fill_gaps(
    record: RainRecord,
    *,
    method: str | FillMethod = "same-season",
    seed: int = 0,
    neighbours: Sequence[Neighbour] = (),
) -> RainRecord:
    """Fill missing rain and temperature by a stated method.

    Parameters
    ----------
    record : RainRecord
        As loaded: NaN where missing.
    method : str or FillMethod
        A name in `FILL_METHODS`, or a method of your own.
    seed : int
        For the draws.
    neighbours : sequence of Neighbour
        Gauges near by, for the methods that use them. When given, totals over several days are
        shared as the neighbours had their rain, whatever the method.

    Returns
    -------
    RainRecord
        Without NaN. Filled steps are marked `Kept.FILLED`, or `Kept.FAILED` where the publisher
        had failed a value; measured values are bit for bit as they were.

    Raises
    ------
    RecordError
        REC-017: gaps and the method is ``none``. REC-018: too little was measured to fill from.
        REC-019: no such method. REC-025: the method needs neighbours and none was given.
        REC-026: a neighbour that cannot be used.

    Notes
    -----
    Records are laid beside each other by date. A neighbour that was not measured in a step is left
    out of the mean of that step; where none was, the step is filled by ``same-season`` and
    ``fill_method`` says how many were. Means of several neighbours make more and lighter wet days
    than one gauge has: sums are right, dry spells too short. ``quantile-map`` keeps both.

    Temperatures: gaps of up to 5 days by a straight line, longer ones by the mean of the same
    days, plus or minus 15, of all years; with less than half of the days, or where no day of that
    season was measured, both temperatures are dropped and a finding says so (engineering choices).

    Source
    ------
    SUBRAMANYA_EH (normal ratio), SHEPARD_1968 (inverse distance), both from memory; quantile
    mapping and same-day resampling are common practice, no source; windows: engineering choice.

    Examples
    --------
    >>> gauge = RainRecord(start=np.datetime64("2021-06-01"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.array([0.004, np.nan, 0.004]),
    ...                    kept=np.array([0, Kept.MISSING, 0], dtype=np.uint8))
    >>> whole = fill_gaps(gauge, seed=1)
    >>> float(whole.depth_m[1]), Kept(whole.kept[1]).name
    (0.004, 'FILLED')
    """
    chosen = FILL_METHODS.get(method) if isinstance(method, str) else method
    if chosen is None:
        raise RecordError(
            Problem(
                "REC-019",
                "this fill method is not known",
                got=str(method),
                allowed=", ".join(FILL_METHODS),
                next=did_you_mean(str(method), FILL_METHODS),
            )
        )
    rng = np.random.default_rng(seed)
    record = fill_temps(record)
    if neighbours:
        record = share_totals(record, neighbours=neighbours)
    gaps = ~np.isfinite(record.depth_m)
    if not gaps.any():
        return record
    if not isinstance(chosen, Refuse) and gaps.mean() > MAX_MISSING_FRAC:
        raise RecordError(
            Problem(
                "REC-018",
                "too much is missing to fill the gaps",
                record.source,
                got=f"{gaps.mean():.0%} of the steps",
                allowed=f"up to {MAX_MISSING_FRAC:.0%}",
                next="choose the years that were measured; if the file lists only wet days, "
                "add the dry ones as 0, but only where they are known to have been dry",
            )
        )
    filled = chosen.fill(record, rng=rng, neighbours=neighbours)
    kept = record.kept.copy()
    kept[gaps & (kept != Kept.FAILED)] = Kept.FILLED
    name = method if isinstance(method, str) else type(method).__name__
    how = f" {filled.how}" if filled.how else ""
    text = f"{name}: {int(gaps.sum())} of {len(gaps)} steps{how}, seed {seed}"
    earlier = "" if record.fill_method == "none" else f"{record.fill_method}; "
    return replace(record, depth_m=filled.depth_m, kept=kept, fill_method=earlier + text)

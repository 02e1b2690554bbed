"""Totals over several days, shared over their days as the neighbours had their rain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from roofspring.rain.gaps.neighbour import Neighbour, usable
from roofspring.rain.gaps.neighbours import estimate
from roofspring.rain.record import Kept, RainRecord


def share_totals(record: RainRecord, *, neighbours: Sequence[Neighbour]) -> RainRecord:
    """Share totals over several days in the proportions of the neighbours' rain.

    Parameters
    ----------
    record : RainRecord
        Its steps marked `Kept.SPREAD` hold equal shares of totals, as the readers leave them.
    neighbours : sequence of Neighbour

    Returns
    -------
    RainRecord
        Each total as it was, on other days; ``fill_method`` says how many. A total stays even
        where a neighbour is needed on one of its days and none was measured, or none had rain.

    Raises
    ------
    RecordError
        REC-025, REC-026: no neighbour, or none that can be used.

    Notes
    -----
    A run of steps with the same share is taken as one total. The rounding of the shares is put on
    the greatest of them, so that the sum stays.

    Source
    ------
    WMO_168, accumulated totals (from memory); proportions of the normal-ratio estimate:
    engineering choice.
    """
    spread = record.kept == Kept.SPREAD
    if not spread.any():
        return record
    guess = estimate(record, usable(record, neighbours))
    depth, count = record.depth_m.copy(), 0
    new = np.flatnonzero(
        spread & ~(np.r_[False, spread[:-1]] & (np.diff(depth, prepend=-1.0) == 0))
    )
    for a in new.tolist():
        b = a + 1
        while b < len(depth) and spread[b] and depth[b] == depth[a]:
            b += 1
        like, total = guess[a:b], float(depth[a:b].sum())
        if b - a == 1 or not np.isfinite(like).all() or not like.sum() > 0.0:
            continue
        share = total * (like / like.sum())
        share[share.argmax()] += total - share.sum()
        depth[a:b] = share
        count += 1
    if not count:
        return record
    text = f"{count} totals shared as the neighbours had their rain"
    earlier = "" if record.fill_method == "none" else f"{record.fill_method}; "
    return replace(record, depth_m=depth, fill_method=earlier + text)

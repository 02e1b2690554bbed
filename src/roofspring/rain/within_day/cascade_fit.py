"""Parameters of the cascade from a record finer than a day."""

from __future__ import annotations

import numpy as np

from roofspring.errors import Problem, RecordError
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.within_day.cascade import (
    DEFAULT_CASCADE,
    FINEST_S,
    POSITIONS,
    VOLUMES,
    X_BINS,
    CascadeParameters,
    IntArray,
    classes,
)

MIN_WET_BOXES = 200
"""Fewer wet boxes over all levels than this cannot be fitted; engineering choice."""
PRIOR_BOXES = 20.0
"""Weight of what is known without the level, in boxes; engineering choice."""
_LONGEST_S = 2 * 86_400.0


def fit_cascade(record_subdaily: RainRecord) -> CascadeParameters:
    """Count how wet boxes of a real record split.

    Parameters
    ----------
    record_subdaily : RainRecord
        With steps finer than 12 h and without missing values; years of it, not weeks.

    Returns
    -------
    CascadeParameters
        Rows for boxes of 2, 4, 8 ... steps up to two days, counted; for shorter boxes the stated
        defaults. The row of a box says which it is.

    Raises
    ------
    RecordError
        REC-080: the record has gaps. REC-083: its steps are too long, or too little rain.

    Notes
    -----
    Boxes are doubled from the step of the record, so that an hourly record gives 2, 4, 8, 16 and
    32 h. Sparse classes lean on the others: counts of a level are joined by 20 boxes split as all
    levels together, and those of all levels by 20 boxes split as the defaults say. A gauge that
    tips at 0.25 mm cannot split its least rain; that stays in the fit.

    Source
    ------
    OLSSON_1998 (method of counting); the weights are an engineering choice.
    """
    depth, step_s = record_subdaily.depth_m, record_subdaily.step_s
    if not np.isfinite(depth).all():
        raise RecordError(
            Problem(
                "REC-080",
                "the record has gaps",
                where=record_subdaily.name,
                got=f"{int(np.isnan(depth).sum())} of {len(depth)} steps missing",
                allowed="a record without gaps",
                next="fill the gaps first",
            )
        )
    counts: list[FloatArray] = []
    shares: list[FloatArray] = []
    lengths: list[float] = []
    while 2.0 * step_s * 2 ** len(lengths) <= _LONGEST_S:
        pairs = depth[: len(depth) // 2 * 2].reshape(-1, 2)
        count, share = _count(pairs)
        counts.append(count)
        shares.append(share)
        lengths.append(2.0 * step_s * 2 ** len(lengths))
        depth = pairs.sum(axis=1)
    boxes = float(sum(c.sum() for c in counts))
    if step_s >= 43_200.0 or boxes < MIN_WET_BOXES:
        raise RecordError(
            Problem(
                "REC-083",
                "too little is known of the rain within the day to fit the cascade",
                where=record_subdaily.name,
                got=f"steps of {step_s:g} s, {boxes:g} wet boxes",
                allowed=f"steps under 43200 s, at least {MIN_WET_BOXES} wet boxes",
                next="give a longer or finer record, or use the stated defaults",
            )
        )
    default = DEFAULT_CASCADE
    prior = np.stack((default.second_frac[0], default.first_frac[0], default.both_frac[0]))
    pooled = _lean(np.sum(counts, axis=0), prior)
    pooled_x = _lean(np.sum(shares, axis=0), default.x_frac[0])
    chances = [_lean(c, pooled) for c in reversed(counts)]
    x_rows = [_lean(s, pooled_x) for s in reversed(shares)]
    sources = [f"fitted to {record_subdaily.name}" for _ in chances]
    box_s = list(reversed(lengths))
    if step_s > FINEST_S:
        box_s.append(step_s)  # boxes nearer to one step than to two were not seen to split
        chances.append(prior)
        x_rows.append(default.x_frac[0])
        sources.append(default.source[0])
    table = np.stack(chances)
    return CascadeParameters(
        box_s=np.array(box_s),
        second_frac=table[:, 0],
        first_frac=table[:, 1],
        both_frac=table[:, 2],
        x_frac=np.stack(x_rows),
        source=tuple(sources),
    )


def _lean(counts: FloatArray, prior: FloatArray) -> FloatArray:
    """Shares from counts and a prior worth 20 boxes, over the first axis."""
    frac: FloatArray = (counts + PRIOR_BOXES * prior) / (counts.sum(axis=0) + PRIOR_BOXES)
    return frac


def _count(pairs: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Splits (3, 2, 4) as second, first, both, and shares of the first half (7,)."""
    volume = pairs.sum(axis=1)
    box: IntArray = np.flatnonzero(volume > 0.0)
    first, second = pairs[box, 0], pairs[box, 1]
    high, position = classes(box, volume[box])
    kind = np.select([first == 0.0, second == 0.0], [0, 1], 2)
    count = np.zeros((3, len(VOLUMES), len(POSITIONS)))
    np.add.at(count, (kind, high, position), 1.0)
    split = kind == 2
    share = first[split] / volume[box][split]
    return count, np.histogram(share, bins=X_BINS, range=(0.0, 1.0))[0].astype(np.float64)

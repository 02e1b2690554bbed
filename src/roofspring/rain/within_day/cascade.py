"""A microcanonical cascade: rain halved again and again, no drop made or lost."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.rain.record import FloatArray
from roofspring.rain.within_day._sums import close_sums

IntArray = npt.NDArray[np.int64]

POSITIONS = ("starting", "enclosed", "ending", "isolated")
"""Where a wet box stands: dry before and wet after, wet on both sides, dry after, dry on both."""
VOLUMES = ("low", "high")
"""Up to the median of the wet boxes of its length and position, and above it."""
X_BINS = 7
"""Equal bins of the share of the first half."""
FINEST_S = 337.5
"""Boxes are halved down to about this: 24 h / 2**8."""

_SUM_TOLERANCE = 0.002


@dataclass(frozen=True)
class CascadeParameters:
    """Chances by which a wet box is split into halves.

    Parameters
    ----------
    box_s : (m,) float64
        Lengths of the boxes split [s], from long to short. A box takes the row whose length is
        nearest to its own, as a ratio.
    second_frac : (m, 2, 4) float64
        Chance that all falls in the second half, by `VOLUMES` and `POSITIONS` [-].
    first_frac : (m, 2, 4) float64
        Chance that all falls in the first half.
    both_frac : (m, 2, 4) float64
        Chance that some falls in each. The three add up to 1 within 0.002.
    x_frac : (m, 7) float64
        Where both halves are wet: chance of each of seven equal bins of the share of the first.
    source : tuple of m str
        Where each row comes from.

    Raises
    ------
    RangeError (REC-082)
        Wrong shapes, chances below 0, or sums that are not 1 within 0.002.

    Source
    ------
    OLSSON_1998 (the model and its classes).
    """

    box_s: FloatArray
    second_frac: FloatArray
    first_frac: FloatArray
    both_frac: FloatArray
    x_frac: FloatArray
    source: tuple[str, ...]

    def __post_init__(self) -> None:
        m = len(self.box_s)
        chances = (self.second_frac, self.first_frac, self.both_frac)
        if (
            m == 0
            or any(c.shape != (m, len(VOLUMES), len(POSITIONS)) for c in chances)
            or self.x_frac.shape != (m, X_BINS)
            or len(self.source) != m
        ):
            raise RangeError(
                _bad(
                    "the tables of the cascade do not fit each other",
                    got=", ".join(str(c.shape) for c in (*chances, self.x_frac)),
                    allowed=f"{m} rows of 2 by 4, and {m} rows of 7",
                )
            )
        whole = self.second_frac + self.first_frac + self.both_frac
        sums = np.concatenate((whole.ravel(), self.x_frac.sum(axis=1)))
        least = min(c.min() for c in (*chances, self.x_frac))
        if not (least >= 0.0 and np.abs(sums - 1.0).max() <= _SUM_TOLERANCE * (1 + 1e-9)):
            raise RangeError(
                _bad(
                    "the chances of the cascade do not add up to 1",
                    got=f"sums {sums.min():.4f} to {sums.max():.4f}, least chance {least:g}",
                    allowed=f"0 or more, sums of 1 within {_SUM_TOLERANCE}",
                )
            )

    def row(self, box_s: float) -> int:
        """The row for a box of this length."""
        return int(np.abs(np.log(self.box_s / box_s)).argmin())


def _bad(what: str, *, got: str, allowed: str) -> Problem:
    return Problem(
        "REC-082",
        what,
        where="parameters of the cascade",
        got=got,
        allowed=allowed,
        next="correct the table, or leave the parameters out for the stated defaults",
    )


DEFAULT_SOURCE = "default: published sample set of a general library, with even shares"
DEFAULT_CASCADE = CascadeParameters(
    box_s=np.array([86_400.0]),
    second_frac=np.array([[[0.577, 0.239, 0.167, 0.393], [0.303, 0.049, 0.039, 0.228]]]),
    first_frac=np.array([[[0.158, 0.257, 0.558, 0.423], [0.044, 0.047, 0.304, 0.218]]]),
    both_frac=np.array([[[0.265, 0.505, 0.276, 0.184], [0.653, 0.903, 0.657, 0.554]]]),
    x_frac=np.full((1, X_BINS), 1.0 / X_BINS),
    source=(DEFAULT_SOURCE,),
)
"""Defaults, the same at every length: a cascade is taken to be alike at all scales.

The chances are the sample set of a public general library of disaggregation methods, as printed
there. The shares of split boxes are even, which OLSSON_1998 (abstract, read) found to hold nearly
between an hour and a week. Both come from other climates than the reader's.
"""


def classes(box: IntArray, volume_m: FloatArray) -> tuple[IntArray, IntArray]:
    """Volume class (0 or 1) and position (0 to 3) of each wet box, both (n,).

    ``box`` holds the places of the wet boxes in order; ``volume_m`` their rain.
    """
    gap = np.diff(box) > 1
    dry_before = np.concatenate(([True], gap))
    dry_after = np.concatenate((gap, [True]))
    position = np.select(
        [dry_before & ~dry_after, ~dry_before & ~dry_after, ~dry_before], [0, 1, 2], 3
    ).astype(np.int64)
    high = np.zeros(len(box), dtype=np.int64)
    for place in range(len(POSITIONS)):
        here = position == place
        if here.any():
            high[here] = volume_m[here] > np.median(volume_m[here])
    return high, position


def halve(
    box: IntArray,
    volume_m: FloatArray,
    *,
    box_s: float,
    parameters: CascadeParameters,
    rng: np.random.Generator,
) -> tuple[IntArray, FloatArray]:
    """One level: the wet halves of the wet boxes, in order, and their rain."""
    high, position = classes(box, volume_m)
    row = parameters.row(box_s)
    second = parameters.second_frac[row, high, position]
    first = parameters.first_frac[row, high, position]
    both = parameters.both_frac[row, high, position]
    draw = rng.random(len(box)) * (second + first + both)
    edges = np.concatenate(([0.0], np.cumsum(parameters.x_frac[row])))
    share = np.interp(rng.random(len(box)) * edges[-1], edges, np.linspace(0.0, 1.0, X_BINS + 1))
    share[draw < second + first] = 1.0
    share[draw < second] = 0.0
    part = np.empty((len(box), 2))
    part[:, 0] = volume_m * share
    part[:, 1] = volume_m - part[:, 0]
    places = 2 * box[:, None] + np.arange(2)
    wet = part > 0.0
    return places[wet], part[wet]


def spread_cascade(
    depth_m: FloatArray,
    *,
    parent_s: float,
    step_s: float,
    parameters: CascadeParameters,
    rng: np.random.Generator,
) -> FloatArray:
    """Depths per step from depths per parent box, (n,) to (n, parent_s / step_s) [m].

    The boxes are halved down to about `FINEST_S`. They seldom fit the steps, so that their rain is
    shared out to the steps by overlap; within the last box it falls evenly.
    """
    levels = max(0, round(math.log2(parent_s / FINEST_S)))
    n_steps = round(parent_s / step_s)
    out = np.zeros((len(depth_m), n_steps))
    wet = np.flatnonzero(depth_m > 0.0)
    if not len(wet):
        return out
    box, volume = wet, depth_m[wet]
    for level in range(levels):
        box, volume = halve(
            box, volume, box_s=parent_s / 2.0**level, parameters=parameters, rng=rng
        )
    n_fine = 2**levels
    row = np.searchsorted(wet, box // n_fine)
    total = np.zeros((len(wet), n_fine + 1))
    total[row, box % n_fine + 1] = volume
    np.cumsum(total, axis=1, out=total)
    at = np.arange(n_steps + 1) * (n_fine / n_steps)
    left = np.minimum(at.astype(np.int64), n_fine - 1)
    below = total[:, left]
    # In this form a dry box gives steps of exactly 0.
    fallen = below + (at - left) * (total[:, left + 1] - below)
    out[wet] = close_sums(np.maximum(np.diff(fallen, axis=1), 0.0), depth_m[wet])
    return out

"""What every way of filling gaps is given, and what it gives back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.record import FloatArray, RainRecord

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Fill:
    """Depths with every gap filled [m], and anything to say about how."""

    depth_m: FloatArray
    how: str = ""


class FillMethod(Protocol):
    """The one signature of all fill methods."""

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Fill every gap; values that are there stay as they are."""


def when(record: RainRecord, step: int) -> str:
    """Date, or date and time, of a step."""
    return str(
        record.start
        + np.timedelta64(round(step * record.step_s), "s").astype(
            "timedelta64[D]" if record.step_s == 86_400 else "timedelta64[s]"
        )
    )


def runs(mask: BoolArray, *, longest: int) -> Iterator[tuple[int, int]]:
    """Starts and ends of the runs of True, cut into pieces of at most ``longest``."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        for at in range(int(a), int(b), longest):
            yield at, min(at + longest, int(b))

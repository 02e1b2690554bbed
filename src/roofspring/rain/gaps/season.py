"""Gaps filled with the record's own rain of the same season in another year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RecordError
from roofspring.rain.gaps._base import Fill, runs, when
from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.record import RainRecord

_MAX_BLOCK_DAYS = 30
_YEAR_DAYS = 365.2425


@dataclass(frozen=True)
class SameSeason:
    """Put in measured rain of the same days of another year, in whole runs of days.

    A run of missing steps, at most 30 days of it at a time, takes the rain of the same calendar
    days, moved by at most ``window_days``, of another year in which all of them were measured; one
    such run is drawn, each with the same chance. Where no other year has the whole run, it is
    halved; a single step that no other year can give is drawn from the days around it. Years more
    than ``reach_years`` away are not looked at.
    """

    window_days: int = 15
    reach_years: int = 50

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Draw and put in."""
        del neighbours  # the record's own other years are enough
        depth = record.depth_m.copy()
        good = np.isfinite(depth)
        n = record.steps_per_day_count
        before = np.concatenate(([0], np.cumsum(good)))
        years = min(int(record.years) + 1, self.reach_years)
        near = np.arange(-self.window_days, self.window_days + 1)
        shifts = np.concatenate(
            [round(_YEAR_DAYS * y) + near for y in range(-years, years + 1) if y]
        )
        left = list(runs(~good, longest=_MAX_BLOCK_DAYS * n))[::-1]
        while left:
            a, b = left.pop()
            starts = _whole(a + shifts * n, b - a, before)
            if not len(starts) and b - a > 1:
                middle = (a + b) // 2
                left += [(middle, b), (a, middle)]
                continue
            if not len(starts):
                starts = _whole(a + near * n, b - a, before)
            if not len(starts):
                raise RecordError(
                    Problem(
                        "REC-018",
                        "a gap cannot be filled: no measured day within "
                        f"{self.window_days} days of this date in any year",
                        record.source,
                        where=when(record, a),
                        next="use a longer record, or cut the record to the part that was measured",
                    )
                )
            pick = int(starts[rng.integers(len(starts))])
            depth[a:b] = record.depth_m[pick : pick + b - a]
        return Fill(depth)


def _whole(
    starts: npt.NDArray[np.int64], length: int, before: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """Those starts from which ``length`` steps lie in the record and were all measured."""
    starts = starts[(starts >= 0) & (starts + length < len(before))]
    whole: npt.NDArray[np.int64] = starts[before[starts + length] - before[starts] == length]
    return whole

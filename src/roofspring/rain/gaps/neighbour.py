"""A neighbouring gauge, and its rain laid on the steps of a record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RecordError
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.rain.words import plural

LEAST_SHARED_DAYS = 365
"""Days measured at both gauges that a neighbour needs; engineering choice."""


@dataclass(frozen=True)
class Neighbour:
    """A gauge near the one whose record is judged or filled.

    Attributes
    ----------
    record : RainRecord
        With the same step as the record it helps, or one that divides it. Only what was measured in
        it is used.
    distance_m : float
        From gauge to gauge [m], more than 0.
    weight : float or None
        Weight in a mean of neighbours [-], more than 0; None for that of the method.
    """

    record: RainRecord
    distance_m: float
    weight: float | None = None


def on_steps_of(record: RainRecord, neighbour: Neighbour) -> FloatArray:
    """What the neighbour measured in each step of the record [m]; NaN where it did not.

    Shorter steps of the neighbour are added up; where one of them lacks, the sum does.

    Raises
    ------
    RecordError
        REC-026: a step that does not divide that of the record, steps that start at another time,
        or a distance or weight that is not above 0.
    """
    other = neighbour.record
    start = other.start.astype("datetime64[s]") - record.start.astype("datetime64[s]")
    late_s = int(start.astype(np.int64))
    weight = 1.0 if neighbour.weight is None else neighbour.weight
    if record.step_s % other.step_s or late_s % record.step_s:
        raise _unfit(
            other,
            f"steps of {other.step_s:g} s from {other.start}",
            f"steps of {record.step_s:g} s, or a whole number of steps to each of them, that start "
            f"together with those of {record.name}",
            "bring both records to one step, such as a day that starts at the same hour",
        )
    if not (0.0 < neighbour.distance_m < np.inf and 0.0 < weight < np.inf):
        raise _unfit(
            other,
            f"distance {neighbour.distance_m:g} m, weight {weight:g}",
            "distance and weight above 0",
            "give the distance from gauge to gauge; a gauge at no distance is the same gauge",
        )
    measured = np.where(np.isin(other.kept, (Kept.MEASURED, Kept.TRACE)), other.depth_m, np.nan)
    each = round(record.step_s / other.step_s)
    measured = measured[: len(measured) // each * each].reshape(-1, each).sum(axis=1)
    out = np.full(len(record.depth_m), np.nan)
    shift = late_s // round(record.step_s)
    first, last = max(0, shift), min(len(out), shift + len(measured))
    if first < last:
        out[first:last] = measured[first - shift : last - shift]
    return out


def shared(record: RainRecord, near: FloatArray) -> npt.NDArray[np.bool_]:
    """The steps that both gauges measured, (n,)."""
    own = np.isin(record.kept, (Kept.MEASURED, Kept.TRACE)) & np.isfinite(record.depth_m)
    both: npt.NDArray[np.bool_] = own & np.isfinite(near)
    return both


def usable(
    record: RainRecord, neighbours: Sequence[Neighbour]
) -> list[tuple[Neighbour, FloatArray]]:
    """The neighbours that share enough days and had rain on them, with their rain on our steps.

    Raises
    ------
    RecordError
        REC-025: no neighbour was given. REC-026: one does not fit, or none shares enough.
    """
    if not neighbours:
        raise RecordError(
            Problem(
                "REC-025",
                "this way of filling gaps needs neighbouring gauges, and none was given",
                record.source,
                allowed="at least one neighbour",
                next="give neighbours, in a plan as [neighbour.NAME] tables, or choose same-season",
            )
        )
    need = LEAST_SHARED_DAYS * record.steps_per_day_count
    found = []
    for neighbour in neighbours:
        near = on_steps_of(record, neighbour)
        both = shared(record, near)
        if both.sum() >= need and near[both].sum() > 0.0 and record.depth_m[both].sum() > 0.0:
            found.append((neighbour, near))
    if not found:
        raise _unfit(
            neighbours[0].record,
            f"{plural(len(neighbours), 'neighbour')}, none with {LEAST_SHARED_DAYS} days measured "
            "at both gauges and rain on them",
            f"{LEAST_SHARED_DAYS} days measured at both",
            "give a neighbour with a longer record over the same years, or choose same-season",
        )
    return found


def _unfit(other: RainRecord, got: str, allowed: str, step: str) -> RecordError:
    return RecordError(
        Problem(
            "REC-026",
            "a neighbouring record cannot be used",
            other.source,
            where=other.name,
            got=got,
            allowed=allowed,
            next=step,
        )
    )

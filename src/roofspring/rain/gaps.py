"""Filling what a record lacks, by a stated method, without touching what was measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, Problem, RecordError
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE

BoolArray = npt.NDArray[np.bool_]

MAX_MISSING_FRAC = 0.5
"""A record with less than half of its steps is not filled; engineering choice."""

_MAX_BLOCK_DAYS = 30
_YEAR_DAYS = 365.2425
_MAX_LINEAR_DAYS = 5
_MIN_TEMP_FRAC = 0.5


class FillMethod(Protocol):
    """The one signature of all fill methods."""

    def fill(self, record: RainRecord, *, rng: np.random.Generator) -> FloatArray:
        """Depths with every gap filled [m]; values that are there stay as they are."""


@dataclass(frozen=True)
class Refuse:
    """Fill nothing: a record with gaps is an error."""

    def fill(self, record: RainRecord, *, rng: np.random.Generator) -> FloatArray:
        """Refuse."""
        del rng  # nothing is drawn
        gaps = ~np.isfinite(record.depth_m)
        first = int(gaps.argmax())
        raise RecordError(
            Problem(
                "REC-017",
                "the record has gaps and filling was refused",
                record.source,
                where=_when(record, first),
                got=f"{int(gaps.sum())} of {len(gaps)} steps missing",
                allowed="a record without gaps, where nothing is to be filled",
                next=f"complete the record, or choose a fill method: {', '.join(FILL_METHODS)}",
            )
        )


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

    def fill(self, record: RainRecord, *, rng: np.random.Generator) -> FloatArray:
        """Draw and put in."""
        depth = record.depth_m.copy()
        good = np.isfinite(depth)
        n = record.steps_per_day_count
        before = np.concatenate(([0], np.cumsum(good)))
        years = min(int(record.years) + 1, self.reach_years)
        near = np.arange(-self.window_days, self.window_days + 1)
        shifts = np.concatenate(
            [round(_YEAR_DAYS * y) + near for y in range(-years, years + 1) if y]
        )
        runs = list(_runs(~good, longest=_MAX_BLOCK_DAYS * n))[::-1]
        while runs:
            a, b = runs.pop()
            starts = _whole(a + shifts * n, b - a, before)
            if not len(starts) and b - a > 1:
                middle = (a + b) // 2
                runs += [(middle, b), (a, middle)]
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
                        where=_when(record, a),
                        next="use a longer record, or cut the record to the part that was measured",
                    )
                )
            pick = int(starts[rng.integers(len(starts))])
            depth[a:b] = record.depth_m[pick : pick + b - a]
        return depth


FILL_METHODS: dict[str, FillMethod] = {"none": Refuse(), "same-season": SameSeason()}
"""Fill methods by name. Filling with zero is not offered: it makes droughts that never were."""


def fill_gaps(
    record: RainRecord, *, method: str | FillMethod = "same-season", seed: int = 0
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

    Returns
    -------
    RainRecord
        Without NaN. Filled steps are marked `Kept.FILLED`, or `Kept.FAILED` where the publisher
        had failed a value; measured values are bit for bit as they were.

    Raises
    ------
    RecordError
        REC-017: gaps and the method is ``none``. REC-018: too little was measured to fill from.
        REC-019: no such method.

    Notes
    -----
    Temperatures: gaps of up to 5 days by a straight line, longer ones by the mean of the same
    days, plus or minus 15, of all years; with less than half of the days, or where no day of that
    season was measured, both temperatures are dropped and a finding says so (engineering choices).

    Source
    ------
    Same-day resampling is common practice, no source; run by run and window: engineering choice.

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
                next="use one of these",
            )
        )
    rng = np.random.default_rng(seed)
    record = _fill_temps(record)
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
    depth = chosen.fill(record, rng=rng)
    kept = record.kept.copy()
    kept[gaps & (kept != Kept.FAILED)] = Kept.FILLED
    name = method if isinstance(method, str) else type(method).__name__
    text = f"{name}: {int(gaps.sum())} of {len(gaps)} steps, seed {seed}"
    earlier = "" if record.fill_method == "none" else f"{record.fill_method}; "
    return replace(record, depth_m=depth, kept=kept, fill_method=earlier + text)


def _when(record: RainRecord, step: int) -> str:
    """Date, or date and time, of a step."""
    return str(
        record.start
        + np.timedelta64(round(step * record.step_s), "s").astype(
            "timedelta64[D]" if record.step_s == 86_400 else "timedelta64[s]"
        )
    )


def _runs(mask: BoolArray, *, longest: int) -> Iterator[tuple[int, int]]:
    """Starts and ends of the runs of True, cut into pieces of at most ``longest``."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        for at in range(int(a), int(b), longest):
            yield at, min(at + longest, int(b))


def _whole(
    starts: npt.NDArray[np.int64], length: int, before: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """Those starts from which ``length`` steps lie in the record and were all measured."""
    starts = starts[(starts >= 0) & (starts + length < len(before))]
    whole: npt.NDArray[np.int64] = starts[before[starts + length] - before[starts] == length]
    return whole


def _fill_temps(record: RainRecord) -> RainRecord:
    """Both temperatures without NaN, or neither."""
    if record.tmin_degc is None and record.tmax_degc is None:
        return record
    if record.tmin_degc is None or record.tmax_degc is None:
        return replace(record, tmin_degc=None, tmax_degc=None)
    missing = ~np.isfinite(record.tmin_degc) | ~np.isfinite(record.tmax_degc)
    if not missing.any():
        return record
    tmin = _fill_series(record.tmin_degc, record)
    tmax = _fill_series(record.tmax_degc, record)
    if tmin is None or tmax is None:
        return replace(record, tmin_degc=None, tmax_degc=None).with_findings(
            Finding(
                "REC-112",
                "caution",
                "too few temperatures to use; they were left out",
                got=f"{int(missing.sum())} of {len(missing)} days missing",
                limit=f"{_MIN_TEMP_FRAC:.0%} of the days, in every season",
                source=ENGINEERING_CHOICE,
                next="find a station with temperatures: frost and warmth cannot be judged without",
            )
        )
    return replace(record, tmin_degc=tmin, tmax_degc=np.maximum(tmax, tmin)).with_findings(
        Finding(
            "REC-112",
            "note" if missing.mean() <= 0.05 else "caution",
            "missing temperatures were filled: up to 5 days by a straight line, "
            "longer by the mean of the season",
            got=f"{int(missing.sum())} of {len(missing)} days",
            source=ENGINEERING_CHOICE,
            next="do not read a frost date from a filled day",
        )
    )


def _fill_series(values: FloatArray, record: RainRecord) -> FloatArray | None:
    ok = np.isfinite(values)
    if ok.mean() < _MIN_TEMP_FRAC:
        return None
    out, index = values.copy(), np.arange(len(values))
    of_year = (record.days - record.days.astype("datetime64[Y]")).astype(np.int64)
    season = _season_mean(of_year[ok], values[ok])
    for a, b in _runs(~ok, longest=len(values)):
        if b - a <= _MAX_LINEAR_DAYS and a > 0 and b < len(values):
            out[a:b] = np.interp(index[a:b], index[[a - 1, b]], values[[a - 1, b]])
            continue
        out[a:b] = season[of_year[a:b]]
    return out if np.isfinite(out).all() else None


def _season_mean(of_year: npt.NDArray[np.int64], values: FloatArray) -> FloatArray:
    """Mean of the values within the window about each of 366 days of the year; NaN without any."""
    wide = np.ones(2 * SameSeason.window_days + 1)

    def around(per_day: npt.NDArray[np.generic]) -> FloatArray:
        wrapped = np.pad(per_day.astype(np.float64), SameSeason.window_days, mode="wrap")
        return np.asarray(np.convolve(wrapped, wide, "valid"), dtype=np.float64)

    total = around(np.bincount(of_year, values, 366))
    count = around(np.bincount(of_year, minlength=366))
    mean: FloatArray = np.divide(total, count, out=np.full(366, np.nan), where=count > 0.5)
    return mean

"""From rows as they stood in a file to a gapless record on an even time grid."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding
from roofspring.rain.readers._clock import ClockChanges, clock_changes
from roofspring.rain.readers._stamps import DAY_S, Stamp
from roofspring.rain.readers._text import MAX_LISTED, Problems
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

MAX_DEPTH_M = 1.825
"""More than this in a day is refused. Greatest 24-hour rain known. Source: WMO_EXTREMES, 24 h."""

MAX_STEPS_COUNT = 20_000_000
"""Longest record held; engineering choice."""

MIN_STEP_S = 60
MIN_TEMP_SHARE_FRAC = 0.75
"""Share of a day's readings needed before their extremes count as the day's; engineering choice."""

IntArray = npt.NDArray[np.int64]

FAR_YEARS, LONE_SHARE = 40, 0.05
FAR_S = FAR_YEARS * 365.2425 * 86400.0
"""Rows so far from the others, and so few beside them, have a wrong year; engineering choice."""


@dataclass
class Rows:
    """Rows of a file, in file order, held in compact arrays."""

    time_s: array[int] = field(default_factory=lambda: array("q"))
    depth_m: array[float] = field(default_factory=lambda: array("d"))
    kept: array[int] = field(default_factory=lambda: array("B"))
    line: array[int] = field(default_factory=lambda: array("q"))
    tmin_degc: array[float] = field(default_factory=lambda: array("d"))
    tmax_degc: array[float] = field(default_factory=lambda: array("d"))
    temp_degc: array[float] = field(default_factory=lambda: array("d"))
    dates_only: bool = True


@dataclass(frozen=True)
class _Sorted:
    time_s: IntArray
    depth_m: FloatArray
    kept: npt.NDArray[np.uint8]
    line: IntArray
    temps: dict[str, FloatArray]


def build(
    rows: Rows,
    *,
    name: str,
    source: str,
    fill_method: str,
    problems: Problems,
    findings: Sequence[Finding] = (),
    stamp: Stamp = "start",
    shift_s: int = 0,
    clock_unknown: bool = False,
) -> RainRecord:
    """Sort, check the step, lay the rows on whole days and mark what is absent.

    ``shift_s`` is added to every time. With ``clock_unknown``, signs of a clock that was changed
    for summer are looked for.
    """
    if problems.count > MAX_LISTED:
        problems.check()  # no more would be listed, and sorting takes memory
    found = list(findings)
    time_s = np.array(rows.time_s, dtype=np.int64) + shift_s
    changes = None
    if clock_unknown and not rows.dates_only:
        changes = clock_changes(time_s)
        found += changes.finding()
    data = _sort(time_s, rows, changes, problems, found)
    problems.check()
    if not len(data.time_s) or not np.isfinite(data.depth_m).any():
        problems.fatal(
            "REC-014",
            "the file holds no rain value",
            allowed="at least one row with a depth; 0 is a depth, an empty cell is not",
            next="check that this is the right file and the right column",
        )
    _refuse_far(data, problems)
    step = _step(data, dates_only=rows.dates_only, problems=problems)
    if stamp == "end":
        if rows.dates_only:
            problems.fatal(
                "REC-038",
                "dates without a time of day cannot mark the end of a step",
                where="stamp",
                got=stamp,
                next="leave out stamp, or write the time of day of each reading",
            )
        data = replace(data, time_s=data.time_s - step)
    late_s = int(data.time_s[0] % step)
    if late_s:
        found.append(
            Finding(
                "REC-119",
                "note",
                "steps do not start on the round hour or at midnight; they are kept as if they did",
                got=f"{late_s // 60} min late",
                source=ENGINEERING_CHOICE,
                next="nothing, unless the hour of the rain matters to you",
            )
        )
    first = int((data.time_s[0] - late_s) // DAY_S * DAY_S)
    days = int((data.time_s[-1] - late_s) // DAY_S * DAY_S - first) // DAY_S + 1
    per_day = DAY_S // step
    if days * per_day > MAX_STEPS_COUNT:
        problems.fatal(
            "REC-002",
            "the first and last row are too far apart for this step",
            got=f"{days:,} days in steps of {step} s",
            allowed=f"{MAX_STEPS_COUNT:,} steps",
            next="check the first and last dates for a typing error, or add rows up to fewer years",
        )
    depth = np.full(days * per_day, np.nan)
    kept = np.full(days * per_day, Kept.MISSING, dtype=np.uint8)
    place = (data.time_s - late_s - first) // step
    depth[place], kept[place] = data.depth_m, data.kept
    _check_daily_sums(depth.reshape(-1, per_day), first, problems)
    problems.check()
    tmin, tmax = _daily_temps(data.temps, place // per_day, days, per_day)
    unit = "D" if per_day == 1 else "s"
    return RainRecord(
        start=np.datetime64(first, "s").astype(f"datetime64[{unit}]"),
        step_s=float(step),
        depth_m=depth,
        kept=kept,
        name=name,
        source=source,
        tmin_degc=tmin,
        tmax_degc=tmax,
        fill_method=fill_method,
        findings=tuple(found),
    )


def _sort(
    time_s: IntArray,
    rows: Rows,
    changes: ClockChanges | None,
    problems: Problems,
    found: list[Finding],
) -> _Sorted:
    line = np.frombuffer(rows.line, dtype=np.int64)
    depth, kept = np.frombuffer(rows.depth_m), np.frombuffer(rows.kept, dtype=np.uint8)
    temps = {
        key: np.frombuffer(values)
        for key in ("tmin_degc", "tmax_degc", "temp_degc")
        if len(values := getattr(rows, key))
    }
    back = int((np.diff(time_s) < 0).sum())
    if back:
        found.append(
            Finding(
                "REC-110",
                "note",
                "rows were not in order of time; they were sorted",
                got=f"{plural(back, 'step')} back in time",
                source=ENGINEERING_CHOICE,
                next="nothing, if the dates are right",
            )
        )
        order = np.argsort(time_s, kind="stable")
        temps = {key: values[order] for key, values in temps.items()}
        time_s, line, depth, kept = time_s[order], line[order], depth[order], kept[order]
    again = np.flatnonzero(np.diff(time_s) == 0) + 1
    if len(again):
        _check_repeats(again, time_s, line, (depth, kept, *temps.values()), changes, problems)
        found.append(
            Finding(
                "REC-111",
                "note",
                "rows that repeat an earlier row were dropped",
                got=f"{plural(len(again), 'row')}, first at line {line[again].min()}",
                source=ENGINEERING_CHOICE,
                next="nothing, if the file was joined from pieces that overlap",
            )
        )
        stay = np.ones(len(time_s), dtype=bool)
        stay[again] = False
        temps = {key: values[stay] for key, values in temps.items()}
        time_s, line, depth, kept = time_s[stay], line[stay], depth[stay], kept[stay]
    return _Sorted(time_s, depth, kept, line, temps)


def _check_repeats(
    again: npt.NDArray[np.int64],
    time_s: IntArray,
    line: IntArray,
    columns: tuple[npt.NDArray[np.generic], ...],
    changes: ClockChanges | None,
    problems: Problems,
) -> None:
    """A time given twice with two different rows cannot be settled by a program."""
    same = np.ones(len(again), dtype=bool)
    for values in columns:
        numbers = values.astype(np.float64)
        a, b = numbers[again - 1], numbers[again]
        same &= (a == b) | (np.isnan(a) & np.isnan(b))
    if changes is not None:
        summer = ~same & changes.within(time_s[again])
        hours: dict[int, int] = {}
        for i in again[summer]:
            hours.setdefault(int(time_s[i]) // 3600 * 3600, int(line[i]))
        changes.refuse(hours, problems)
        same |= summer
    for i in again[~same]:
        problems.add(
            "REC-012",
            "the same time is given twice with different values",
            line=int(line[i]),
            got=f"{np.datetime64(int(time_s[i]), 's')}, also at line {line[i - 1]}",
            allowed="one row for each time",
            next="keep the right row; if clocks were changed for summer, give standard time or UTC",
        )


def _refuse_far(data: _Sorted, problems: Problems) -> None:
    """A few rows that stand decades from all others have a slip of the pen in their year."""
    edges = np.flatnonzero(np.diff(data.time_s) > FAR_S) + 1
    starts = np.concatenate(([0], edges))
    counts = np.diff(np.concatenate((starts, [len(data.time_s)])))
    for at, count in zip(starts, counts, strict=True):
        if count <= LONE_SHARE * counts.max():
            problems.add(
                "REC-009",
                "this date stands decades from the other rows",
                line=int(data.line[at]),
                got=str(np.datetime64(int(data.time_s[at]), "s").astype("datetime64[D]")),
                allowed=f"within {FAR_YEARS} years of the row before or after it",
                next="mend the year, or take the row out",
            )
    problems.check()


def _step(data: _Sorted, *, dates_only: bool, problems: Problems) -> int:
    """The one time step of the file [s]."""
    gaps = np.diff(data.time_s)
    if dates_only:
        step, least = DAY_S, int(gaps.min()) if len(gaps) else DAY_S
    elif not len(gaps):
        problems.fatal(
            "REC-013",
            "one row with a time of day does not show how long a step is",
            next="give at least two rows, or give the date alone for a daily record",
        )
    else:
        lengths, counts = np.unique(gaps, return_counts=True)
        step = least = int(lengths[counts.argmax()])
    if step > DAY_S or least > DAY_S:
        problems.fatal(
            "REC-013",
            "the rows are more than a day apart",
            got=f"{max(step, least) / DAY_S:g} days",
            allowed="a daily record, or a fixed step that divides a day",
            next="find the daily record; weekly or monthly totals cannot size a tank",
        )
    if step < MIN_STEP_S or DAY_S % step:
        problems.fatal(
            "REC-013",
            "the time step does not divide a day",
            got=f"{step} s",
            allowed=f"{MIN_STEP_S} s to 86400 s, such as 5 min, 15 min, 1 h or 1 day",
            next="add the rows up to an even step",
        )
    off = np.flatnonzero((data.time_s - data.time_s[0]) % step)
    for i in off:
        problems.add(
            "REC-013",
            f"this time does not fit the step of {step} s that the other rows have",
            line=int(data.line[i]),
            got=str(np.datetime64(int(data.time_s[i]), "s")),
            allowed=f"the first time plus a whole number of steps of {step} s",
            next="mend the time, or bring the record to one step",
        )
    problems.check()
    return step


def _check_daily_sums(by_day: FloatArray, first_s: int, problems: Problems) -> None:
    if by_day.shape[1] == 1:
        return
    for i in np.flatnonzero(np.nansum(by_day, axis=1) > MAX_DEPTH_M):
        problems.add(
            "REC-011",
            "the steps of this day add up to more than has ever been measured in a day",
            where=str(np.datetime64(first_s, "s").astype("datetime64[D]") + i),
            got=f"{np.nansum(by_day[i]) * 1e3:g} mm",
            allowed=f"{MAX_DEPTH_M * 1e3:g} mm in a day",
            next="check the unit, and whether each row is a depth for its own step",
        )


def _daily_temps(
    temps: dict[str, FloatArray], day: IntArray, days: int, per_day: int
) -> tuple[FloatArray | None, FloatArray | None]:
    """Daily extremes, from their own columns or from readings through the day."""

    def extreme(key: str, ufunc: np.ufunc, worst: float) -> FloatArray | None:
        values, need = temps.get(key), 1.0
        if values is None:
            values, need = temps.get("temp_degc"), MIN_TEMP_SHARE_FRAC * per_day
        if values is None:
            return None
        ok = np.isfinite(values)
        out = np.full(days, worst)
        ufunc.at(out, day[ok], values[ok])
        out[np.bincount(day[ok], minlength=days) < need] = np.nan
        return out

    return extreme("tmin_degc", np.minimum, np.inf), extreme("tmax_degc", np.maximum, -np.inf)

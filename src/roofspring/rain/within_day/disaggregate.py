"""A daily record cut into short steps by a stated method."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from roofspring.errors import Finding, Problem, RangeError, RecordError
from roofspring.errors.names import did_you_mean
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.rain.within_day._sums import close_sums
from roofspring.rain.within_day.cascade import (
    DEFAULT_CASCADE,
    DEFAULT_SOURCE,
    CascadeParameters,
    spread_cascade,
)
from roofspring.rain.within_day.patterns import WITHIN_DAY, DayPattern
from roofspring.rain.within_day.pulses import DEFAULT_PULSES, PulseParameters, spread_pulses
from roofspring.sources import ENGINEERING_CHOICE

DAY_S = 86_400.0
LEAST_STEP_S = 60.0

Parameters = CascadeParameters | PulseParameters
Spread = Callable[[RainRecord, float, Parameters | None, np.random.Generator], FloatArray]


def _cascade(
    record: RainRecord, step_s: float, parameters: Parameters | None, rng: np.random.Generator
) -> FloatArray:
    chosen = DEFAULT_CASCADE if parameters is None else parameters
    if not isinstance(chosen, CascadeParameters):
        raise RangeError(_mismatch("cascade", chosen))
    return spread_cascade(
        record.depth_m, parent_s=record.step_s, step_s=step_s, parameters=chosen, rng=rng
    )


def _pulses(
    record: RainRecord, step_s: float, parameters: Parameters | None, rng: np.random.Generator
) -> FloatArray:
    chosen = DEFAULT_PULSES if parameters is None else parameters
    if not isinstance(chosen, PulseParameters):
        raise RangeError(_mismatch("pulses", chosen))
    return spread_pulses(
        record.depth_m, parent_s=record.step_s, step_s=step_s, parameters=chosen, rng=rng
    )


def _fixed(pattern: DayPattern) -> Spread:
    def spread(
        record: RainRecord, step_s: float, parameters: Parameters | None, rng: np.random.Generator
    ) -> FloatArray:
        del rng  # nothing is drawn
        if parameters is not None:
            raise RangeError(_mismatch("a fixed pattern", parameters))
        if record.step_s != DAY_S:
            raise RecordError(
                _bad_step(record, step_s, "a daily record, because the pattern is that of a day")
            )
        hours = np.linspace(0.0, 24.0, round(DAY_S / step_s) + 1)
        share = np.maximum(np.diff(pattern.cumulative_frac(hours)), 0.0)
        out = np.zeros((len(record.depth_m), len(share)))
        wet = record.depth_m > 0.0
        out[wet] = close_sums(np.tile(share, (int(wet.sum()), 1)), record.depth_m[wet])
        return out

    return spread


METHODS: dict[str, Spread] = {
    "cascade": _cascade,
    "pulses": _pulses,
    **{name: _fixed(pattern) for name, pattern in WITHIN_DAY.items()},
}
"""Ways to spread rain within the day, by name."""


def disaggregate(
    record: RainRecord,
    *,
    seed: int,
    method: str | DayPattern = "cascade",
    step_s: float = 300.0,
    parameters: Parameters | None = None,
) -> RainRecord:
    """Cut a record into short steps; every day keeps its sum.

    Parameters
    ----------
    record : RainRecord
        Daily, without missing values. The cascade also takes steps shorter than a day.
    seed : int
        The same seed gives the same record. Fixed patterns draw nothing.
    method : str or DayPattern
        ``cascade``, ``pulses``, a name in `WITHIN_DAY`, or a pattern such as ``Block(3, 15)``.
    step_s : float
        Step wanted [s], 60 or more, a whole part of the record's own.
    parameters : CascadeParameters or PulseParameters, optional
        Of the method; the stated defaults when not given.

    Returns
    -------
    RainRecord
        Sums of the days exact to rounding. Wet measured days are marked `Kept.SPREAD`; dry days
        keep their mark, as do filled and invented ones. Finding REC-170 names the method, REC-171
        says where defaults of the cascade were used.

    Raises
    ------
    RecordError
        REC-080: gaps. REC-081: the step does not fit the record.
    RangeError
        REC-019: no such method. REC-082: parameters of another method, or step under a minute.

    Notes
    -----
    Cascade: boxes are halved down to 24 h / 2**8 = 5.625 min and shared out to the steps by
    overlap, so that shorter steps do not sharpen the rain any more. Pulses: each wet day by
    itself, scaled to its sum.

    Source
    ------
    OLSSON_1998 (cascade); RODRIGUEZ_ITURBE_1987 (pulses); HAAN_1994 (``type2``).

    Examples
    --------
    >>> days = RainRecord(start=np.datetime64("2021-06-01"), step_s=86400.0, name="x", source="x",
    ...                   depth_m=np.array([0.012, 0.0]), kept=np.zeros(2, dtype=np.uint8))
    >>> fine = disaggregate(days, seed=1)
    >>> len(fine.depth_m), fine.daily_depth_m.round(12).tolist()
    (576, [0.012, 0.0])
    """
    spread = METHODS.get(method) if isinstance(method, str) else _fixed(method)
    if spread is None:
        raise RangeError(
            Problem(
                "REC-019",
                "this way to spread rain within a day is not known",
                got=str(method),
                allowed=", ".join(METHODS),
                next=did_you_mean(str(method), METHODS),
            )
        )
    _check(record, step_s)
    name = method if isinstance(method, str) else type(method).__name__.lower()
    depth = spread(record, step_s, parameters, np.random.default_rng(seed))
    kept = record.kept.copy()
    own = np.isin(kept, (Kept.MEASURED, Kept.TRACE)) & (record.depth_m > 0.0)
    kept[own] = Kept.SPREAD
    return replace(
        record,
        start=record.start.astype("datetime64[s]"),
        step_s=step_s,
        depth_m=depth.ravel(),
        kept=np.repeat(kept, depth.shape[1]),
        source=f"{record.source}; within the day by {name}, seed {seed}",
    ).with_findings(*_findings(name, record.step_s, parameters))


def _findings(name: str, parent_s: float, parameters: Parameters | None) -> list[Finding]:
    found = [
        Finding(
            "REC-170",
            "note",
            f"the rain within each step of {parent_s / 3600.0:g} h was not measured; "
            "it was spread by a stated method",
            got=name,
            source={"cascade": "OLSSON_1998", "pulses": "RODRIGUEZ_ITURBE_1987"}.get(
                name, ENGINEERING_CHOICE
            ),
            next="compare answers under two methods before you size a tank by its overflow",
        )
    ]
    if name == "cascade":
        used = DEFAULT_CASCADE if not isinstance(parameters, CascadeParameters) else parameters
        default = [
            f"{s / 3600.0:.3g} h"
            for s, text in zip(used.box_s, used.source, strict=True)
            if text == DEFAULT_SOURCE
        ]
        if default:
            whole = len(default) == len(used.box_s)
            found.append(
                Finding(
                    "REC-171",
                    "caution" if whole else "note",
                    "the cascade splits boxes by defaults from another climate",
                    got="at every length" if whole else f"for boxes of {default[0]} and shorter",
                    source="OLSSON_1998",
                    next="fit it to hours or minutes of a gauge near the house, if there is one",
                )
            )
    return found


def _check(record: RainRecord, step_s: float) -> None:
    if not np.isfinite(record.depth_m).all():
        raise RecordError(
            Problem(
                "REC-080",
                "the record has gaps",
                where=record.name,
                got=f"{int(np.isnan(record.depth_m).sum())} of {len(record.depth_m)} steps missing",
                allowed="a record without gaps",
                next="fill the gaps first",
            )
        )
    if step_s < LEAST_STEP_S:
        raise RangeError(
            Problem(
                "REC-082",
                "the step is too short: nothing is known of rain within a minute",
                got=f"{step_s:g} s",
                allowed=f"{LEAST_STEP_S:g} s or more",
                next="use a longer step",
            )
        )
    pieces = record.step_s / step_s
    if pieces < 1.5 or abs(pieces - round(pieces)) > 1e-9:
        raise RecordError(_bad_step(record, step_s, "a whole part of the record's own step"))


def _bad_step(record: RainRecord, step_s: float, allowed: str) -> Problem:
    return Problem(
        "REC-081",
        "the step wanted does not fit the record",
        where=record.name,
        got=f"{step_s:g} s from steps of {record.step_s:g} s",
        allowed=allowed,
        next="choose another step or method, or use the record as it is",
    )


def _mismatch(method: str, parameters: Parameters) -> Problem:
    return Problem(
        "REC-082",
        f"these parameters do not belong to {method}",
        got=type(parameters).__name__,
        next="leave them out, or choose their method",
    )

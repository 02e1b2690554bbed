"""What a careful reader of a record would say before anyone sizes a tank on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from roofspring.errors import Finding, Problem, RecordError
from roofspring.errors.names import did_you_mean
from roofspring.rain.gaps.neighbour import Neighbour
from roofspring.rain.quality import breaks, habits, marks, repeats, totals, zeros
from roofspring.rain.quality._base import Check, Days, Seen, Suspect
from roofspring.rain.quality.breaks import Break, DoubleMass, double_mass, pettitt
from roofspring.rain.quality.habits import WeekDays
from roofspring.rain.record import RainRecord
from roofspring.units import UnitSet

__all__ = [
    "CHECKS",
    "Break",
    "Check",
    "DoubleMass",
    "QualityReport",
    "Suspect",
    "WeekDays",
    "assess",
    "double_mass",
    "pettitt",
    "quality_report",
    "week_days",
]

CHECKS: dict[str, Check] = {
    check.name: check
    for check in (
        marks.INVENTED,
        marks.IMPOSSIBLE,
        marks.GAPS_CHECK,
        marks.COUNTED,
        zeros.DRY_YEARS,
        zeros.ZERO_RUNS,
        zeros.BESIDE,
        zeros.SNOW,
        repeats.SAME,
        repeats.COPIED,
        totals.AFTER_GAPS,
        totals.AFTER_ZEROS,
        totals.AFTER_BESIDE,
        habits.ROUNDING,
        habits.WEEK,
        breaks.BREAKS,
        breaks.AGAINST,
        marks.LENGTH,
        marks.CROSSED,
    )
}
"""Every check by name, in the order of its findings."""


@dataclass(frozen=True)
class QualityReport:
    """What the checks said of a record.

    Attributes
    ----------
    findings : tuple of Finding
        For people.
    rows : tuple of Suspect
        The stretches of days that they mean, for a picture or a table.
    checks : tuple of str
        The checks that ran.
    """

    findings: tuple[Finding, ...]
    rows: tuple[Suspect, ...]
    checks: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "findings": [f.to_dict() for f in self.findings],
            "rows": [asdict(r) for r in self.rows],
            "checks": list(self.checks),
        }


def quality_report(
    record: RainRecord,
    *,
    neighbours: Sequence[Neighbour] = (),
    units: UnitSet = "metric",
    checks: Sequence[str] | None = None,
) -> QualityReport:
    """Run the checks of a record, before or after its gaps are filled.

    Parameters
    ----------
    record : RainRecord
    neighbours : sequence of Neighbour
        Gauges near by, with the same step. Without any, the checks that need them say nothing.
    units : {"metric", "us"}
        In which the findings are written.
    checks : sequence of str, optional
        Names in `CHECKS`; all of them when not given.

    Returns
    -------
    QualityReport

    Raises
    ------
    RecordError
        REC-029: no such check. REC-026: a neighbour that cannot be used.

    Notes
    -----
    Thresholds and sources stand with each check. The tests are held to a chance of a false alarm
    of 0.001 for each test or family of tests; how often they err was measured, see the guide to
    the quality of rain records.

    Source
    ------
    WMO_1203 (rule for months), PETTITT_1979 (breaks), both from memory; limits: engineering choice.

    Examples
    --------
    >>> import numpy as np
    >>> dry = RainRecord(start=np.datetime64("2016-01-01"), step_s=86400.0, name="x", source="x",
    ...                  depth_m=np.zeros(731), kept=np.zeros(731, dtype=np.uint8))
    >>> [(r.check, r.first, r.last) for r in quality_report(dry).rows]
    [('dry-years', '2016-01-01', '2016-12-31'), ('dry-years', '2017-01-01', '2017-12-31')]
    """
    names = tuple(CHECKS) if checks is None else tuple(checks)
    unknown = [name for name in names if name not in CHECKS]
    if unknown:
        raise RecordError(
            Problem(
                "REC-029",
                "this check of a record is not known",
                got=", ".join(unknown),
                allowed=", ".join(CHECKS),
                next=did_you_mean(unknown[0], CHECKS),
            )
        )
    days = Days(record, tuple(neighbours), units)
    looks = names if record.days_count else ()
    said = [(name, seen) for name in looks for seen in CHECKS[name].look(days)]
    return QualityReport(
        tuple(seen.finding for _, seen in said),
        tuple(row for name, seen in said for row in _rows(name, seen, days)),
        names,
    )


def assess(
    record: RainRecord, *, neighbours: Sequence[Neighbour] = (), units: UnitSet = "metric"
) -> tuple[Finding, ...]:
    """Findings on a record: those of `quality_report`.

    Parameters
    ----------
    record : RainRecord
    neighbours : sequence of Neighbour
    units : {"metric", "us"}

    Returns
    -------
    tuple of Finding
        A ``stop`` where a result on this record would mislead.

    Raises
    ------
    RecordError (REC-026)
        A neighbour that cannot be used.

    Source
    ------
    As for `quality_report`.

    Examples
    --------
    >>> import numpy as np
    >>> dry = RainRecord(start=np.datetime64("2016-01-01"), step_s=86400.0, name="x", source="x",
    ...                  depth_m=np.zeros(731), kept=np.zeros(731, dtype=np.uint8))
    >>> [f.code for f in assess(dry) if f.severity == "stop"]
    ['REC-103']
    """
    return quality_report(record, neighbours=neighbours, units=units).findings


def week_days(record: RainRecord) -> WeekDays:
    """A record by day of the week, Monday first, of the days that were measured one by one."""
    return habits.week_days(Days(record))


def _rows(name: str, seen: Seen, days: Days) -> list[Suspect]:
    return [
        Suspect(
            name, seen.finding.code, str(days.days[first]), str(days.days[last]), value, seen.unit
        )
        for first, last, value in seen.spans
    ]

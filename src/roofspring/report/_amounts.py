"""How times, temperatures and small amounts are written for people."""

from __future__ import annotations

import math

from roofspring.constants import SECONDS_PER_DAY, SECONDS_PER_HOUR
from roofspring.sandfilter.steps import Amount, Kind, Step
from roofspring.units import UnitSet, show

_KINDS: dict[Kind, str] = {
    "length": "length",
    "small-length": "gap",
    "area": "area",
    "volume": "small_volume",
    "flow": "flow",
    "rate": "rate",
    "mass": "mass",
}
FOOT_M = 0.3048
"""Shorter lengths are written in mm or inches."""
_DROPS_M3_PER_S = 1e-3 / SECONDS_PER_HOUR


def time_text(time_s: float) -> str:
    """A time in the unit that fits it.

    >>> time_text(5400.0), time_text(60 * 86400.0), time_text(math.inf)
    ('1.5 hours', '60 days', 'no end')
    """
    if not math.isfinite(time_s):
        return "no end"
    days = time_s / SECONDS_PER_DAY
    if days > 900.0:
        return f"{days / 365.25:.1f} years"
    if days >= 2.0:
        return f"{days:.0f} days" if days >= 9.5 else f"{days:.2g} days"
    if time_s >= 1.5 * SECONDS_PER_HOUR:
        return f"{time_s / SECONDS_PER_HOUR:.2g} hours"
    if time_s >= 90.0:
        return f"{time_s / 60.0:.0f} minutes"
    return f"{time_s:.0f} seconds"


def days_text(time_s: float) -> str:
    """Whole days for a column of days; a dash where there is no end.

    >>> days_text(40.4 * 86400.0), days_text(0.3 * 86400.0), days_text(math.inf)
    ('40', 'under 1', 'no end')
    """
    if not math.isfinite(time_s):
        return "no end"
    days = time_s / SECONDS_PER_DAY
    return "0" if days == 0.0 else "under 1" if days < 1.0 else f"{days:,.0f}"


def amount_text(amount: Amount, units: UnitSet) -> str:
    """An amount of the guide, as somebody with a bucket and a rule would want it."""
    value = amount.value
    if amount.kind == "time":
        return time_text(value)
    if amount.kind == "count":
        return f"{value:.0f}"
    if amount.kind == "flow":
        return show(value, "flow", units=units, digits=0 if value > 10 * _DROPS_M3_PER_S else 1)
    if amount.kind == "volume":
        return show(value, "small_volume", units=units, digits=0 if value >= 0.01 else 1)
    if amount.kind == "length" and value < FOOT_M:
        return show(value, "gap", units=units)
    return show(value, _KINDS[amount.kind], units=units)


def step_text(step: Step, units: UnitSet) -> str:
    """The words of a step with its amounts in place."""
    return step.do.format(**{a.key: amount_text(a, units) for a in step.amounts})

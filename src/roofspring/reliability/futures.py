"""The same plan under many invented records: what the doubt of the sky does to the answer."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.errors import RecordError
from roofspring.network.assemble import assemble
from roofspring.network.events import short_days
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.rain import RainRecord
from roofspring.rain.futures import (
    AcceptanceTable,
    FittedModel,
    acceptance,
    ensemble,
    model_named,
)
from roofspring.reliability.answer import Band, Futures
from roofspring.reliability.doubt import whole_years
from roofspring.reliability.supply import share

LEAST_YEARS_TO_RESAMPLE = 10
ACCEPTANCE_MEMBERS = 100
TOO_SHORT_TO_HOLD = "Not held against the record, which has fewer than three whole years."
LONG_RECORD, SHORT_RECORD = "whole-years", "markov-1-gamma"


def default_model(record: RainRecord) -> str:
    """The model to take when none is asked for: years drawn again, or a chain for few years."""
    return LONG_RECORD if record.years >= LEAST_YEARS_TO_RESAMPLE else SHORT_RECORD


def fitted_futures(
    plan: Plan, record: RainRecord, *, members: int, model: str | None = None, seed: int = 1
) -> Futures:
    """Fit a model to a record and run the plan through its futures, each as long as the record.

    Raises
    ------
    RangeError, RecordError
        No such model; a record that is too short or has gaps.
    """
    name = model or default_model(record)
    fitted = model_named(name).fit(record)
    table = held_against(record, fitted, seed=seed)
    return run_futures(
        plan,
        fitted,
        name=name,
        members=members,
        years=max(1, round(record.years)),
        seed=seed,
        acceptance_words=TOO_SHORT_TO_HOLD
        if table is None
        else f"Held against the record, {name} {table.fails_on[0].lower()}{table.fails_on[1:]}",
    )


def held_against(record: RainRecord, fitted: FittedModel, *, seed: int) -> AcceptanceTable | None:
    """A model held against the record it was fitted to; None where the record is too short."""
    try:
        return acceptance(record, fitted, members=ACCEPTANCE_MEMBERS, seed=seed)
    except RecordError as error:
        if {problem.code for problem in error.problems} != {"REC-066"}:
            raise
        return None


def run_futures(
    plan: Plan,
    fitted: FittedModel,
    *,
    name: str,
    members: int,
    years: int,
    seed: int,
    acceptance_words: str = "",
) -> Futures:
    """Run the plan through ``members`` invented records of ``years`` years.

    Returns
    -------
    Futures
        Bands are the 5th, 50th and 95th percentile over the members.
    """
    assembled = assemble(plan)
    served, short_per_year, short_years = [], [], []
    for record in ensemble(fitted, members=members, years=years, seed=seed):
        result = simulate(plan, record, assembled=assembled)
        short = np.asarray(short_days(result).any(axis=1))
        served.append(share(float(result.delivered_m3.sum()), float(result.wanted_m3.sum())))
        short_per_year.append(float(short.sum()) / result.years)
        short_years.append(float(np.mean([bool(short[m].any()) for m in whole_years(result)])))
    band = _band(np.array(served))
    days = _band(np.array(short_per_year))
    return Futures(
        sentence=(
            f"In {members} invented future{'s' if members > 1 else ''} of {years} "
            f"year{'s' if years > 1 else ''} ({name}), {100 * band.p50:.0f} % of "
            f"the water wanted was delivered (90 % of them: {100 * band.p05:.0f} to "
            f"{100 * band.p95:.0f} %), and something ran short on {days.p50:.0f} days a year "
            f"({days.p05:.0f} to {days.p95:.0f})."
        ),
        model=name,
        members=members,
        years=years,
        seed=seed,
        served_frac=band,
        days_short_per_year=days,
        short_years_frac=_band(np.array(short_years)),
        acceptance=acceptance_words,
        findings=fitted.findings,
    )


def _band(values: npt.NDArray[np.float64]) -> Band:
    p05, p50, p95 = np.percentile(values, [5.0, 50.0, 95.0])
    return Band(float(p05), float(p50), float(p95))

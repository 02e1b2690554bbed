"""The finding on filters that are seldom ripe: why, and what would help, as it was tried."""

from __future__ import annotations

from collections.abc import Sequence

from roofspring.errors import Finding
from roofspring.reliability.filter_record import FilterRecord
from roofspring.reliability.ripe_trials import MOST_UNRIPE_FRAC, Trial
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet, show, temp_text

SELDOM_FRAC = 0.5


def ripe_findings(
    records: Sequence[FilterRecord], trials: Sequence[Trial], *, units: UnitSet
) -> tuple[Finding, ...]:
    """BED-121 (caution), once for all filters that were seldom ripe in a run.

    Parameters
    ----------
    records : sequence of FilterRecord
    trials : sequence of Trial
        From `roofspring.reliability.ripe_trials.try_to_ripen` for these filters, as it is first.
    units : {"metric", "us"}

    Returns
    -------
    tuple of Finding
    """
    bad = [r for r in records if r.is_seldom_ripe]
    if not bad:
        return ()
    worst = max(bad, key=lambda r: r.unripe_frac)
    seldom = worst.unripe_frac > SELDOM_FRAC
    return (
        Finding(
            "BED-121",
            "caution",
            f"in the run the filter was {'seldom' if seldom else 'often less than'} ripe",
            ", ".join(r.filter_id for r in bad),
            _found(worst, units, named=len(bad) > 1),
            f"at most {100.0 * MOST_UNRIPE_FRAC:g} % of the days, new sand left out",
            ENGINEERING_CHOICE,
            "; ".join((*_cures(bad, trials, units), "disinfect what is drunk")),
        ),
    )


def _found(record: FilterRecord, units: UnitSet, *, named: bool) -> str:
    why = record.why
    said = [
        f"less than ripe on {_share(record.unripe_frac)} of the days (never stopped it would be "
        f"{_share(why.never_stopped_frac)}, never cleaned {_share(why.never_cleaned_frac)})"
    ]
    if record.still_frac > 0.0:
        said.append(
            f"no water through it on {_share(record.still_frac)} of them, in "
            f"{why.stops_per_year:.0f} stops a year of over two days, the longest of "
            f"{record.longest_still_days}"
        )
    if why.empty_frac is not None:
        said.append(f"the tank before it was empty on {_share(why.empty_frac)} of those days")
    said.append(f"its water had {temp_text(record.mean_degc, units)} on the mean")
    return (f"{record.filter_id}, the worst: " if named else "") + ", ".join(said)


def _cures(bad: Sequence[FilterRecord], trials: Sequence[Trial], units: UnitSet) -> list[str]:
    made = []
    if any(_eases(r, r.why.never_stopped_frac) for r in bad):
        made.append(trial_words(trials, units))
    if any(_eases(r, r.why.never_cleaned_frac) for r in bad):
        made.append("clean less often, one filter at a time, and rake where that will do")
    return made


def _eases(record: FilterRecord, without_frac: float) -> bool:
    """Whether ripeness comes back by at least a tenth of the days without a cause."""
    return record.unripe_frac - without_frac > MOST_UNRIPE_FRAC


def trial_words(trials: Sequence[Trial], units: UnitSet) -> str:
    """What was tried, in a clause: what needs the fewest tanks, and what filters the most.

    Parameters
    ----------
    trials : sequence of Trial
        The plan as it is, then changed.
    units : {"metric", "us"}
    """
    if len(trials) < 2:
        return "let it trickle through dry spells: hold more water back before it"
    now, *changed = trials
    good = [t for t in changed if t.ripens]
    if good:
        lead = "let it trickle through dry spells: "
        fewest = min(good, key=lambda t: (t.tanks_count, -t.filtered_m3_per_year))
        rows = dict.fromkeys((fewest, max(good, key=lambda t: t.filtered_m3_per_year)))
    else:
        lead = "nothing that was tried is enough; nearest "
        rows = dict.fromkeys([min(changed, key=lambda t: t.unripe_frac)])
    aside = [_in_short(now, units)]
    aside += [_in_short(t, units) for t in changed if t.throttle_m_per_s is None and not t.ripens]
    return (
        f"{lead}{'; or '.join(_told(t, units) for t in rows)} (run again on the last "
        f"{now.years:.0f} years from ripe sand; {'; '.join(aside)})"
        + (
            "; so thin a stream wants a fine valve, set with a cup and a watch, for a hole of its "
            "size would clog"
            if any(t.throttle_m_per_s is not None for t in rows)
            else ""
        )
    )


def _told(trial: Trial, units: UnitSet) -> str:
    served = ""
    if trial.first_served_frac is not None:
        served = f", {trial.first_use} served to {_share(trial.first_served_frac)}"
    return (
        f"{change_words(trial, units)} it is less than ripe on {_share(trial.unripe_frac)} of the "
        f"days and filters {show(trial.filtered_m3_per_year, 'volume', units=units, digits=0)} "
        f"a year{served}"
    )


def _in_short(trial: Trial, units: UnitSet) -> str:
    filtered = show(trial.filtered_m3_per_year, "volume", units=units, digits=0)
    return f"{change_words(trial, units)}, {_share(trial.unripe_frac)} and {filtered}"


def change_words(trial: Trial, units: UnitSet) -> str:
    """What was changed."""
    said = []
    if trial.tanks_count > 1:
        said.append(f"with {trial.tanks_count} times the tank before it")
    if trial.throttle_m_per_s is not None:
        rate = show(trial.throttle_m_per_s, "rate", units=units, digits=3)
        said.append(f"throttled to {rate}")
    return " and ".join(said) or "as it is"


def _share(share_frac: float) -> str:
    return f"{100.0 * share_frac:.0f} %"

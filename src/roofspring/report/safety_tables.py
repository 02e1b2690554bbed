"""Tables of ways, risks and remedies, for the page of its own and for the design report."""

from __future__ import annotations

from collections.abc import Sequence

from roofspring.plan.model import Plan
from roofspring.report._cells import Table, cited
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.paths import CheckRow, Route, place_words
from roofspring.safety.paths.graph import WHEN_WORDS
from roofspring.safety.prices import (
    HIGH_RATE_FRAC,
    LOW_RATE_FRAC,
    CostSum,
    SafetyCosts,
    amount,
    for_volume,
    percent,
    volume_words,
)
from roofspring.safety.risk import Illness, people_studies
from roofspring.sandfilter.removal import GROUPS
from roofspring.units import UnitSet

MILLION = 1_000_000
SHOWN = 6
RESULTS = {"stop": "found: STOP", "caution": "found: caution", "note": "found: note"}


def range_words(low: float, high: float) -> str:
    """A range of log reductions; one number where both ends are the same."""
    return f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"


def ways_table(plan: Plan, routes: Sequence[Route]) -> Table:
    """One row for each way; ways of several roofs that go on alike share one."""
    alike: dict[tuple[object, ...], list[Route]] = {}
    for r in routes:
        kind = "" if r.start in plan.roofs else r.start
        alike.setdefault((kind, r.parts[1:], r.when, r.barriers), []).append(r)
    rows = tuple(
        (
            " → ".join(
                (
                    " or ".join(place_words(plan, s.start) for s in same),
                    *(place_words(plan, p) for p in r.parts[1:]),
                )
            ),
            ", ".join(place_words(plan, b) for b in r.barriers)
            or ("its supplier's" if r.is_supplied else "none"),
            WHEN_WORDS[r.when],
            *(counted_words(r, g) for g in GROUPS),
        )
        for same in alike.values()
        for r in same[:1]
    )
    heads = ("Way", "Barriers", "Open", "Bacteria, log", "Viruses, log", "Protozoa, log")
    return Table(heads, rows, frozenset({3, 4, 5}))


def counted_words(route: Route, group: str) -> str:
    """What is counted of a way for a group of germs; of a main's own treatment nothing is known."""
    low, high = route.log10[group]
    return "not known" if route.is_supplied and high == 0.0 else range_words(low, high)


def checks_table(checks: Sequence[CheckRow]) -> Table:
    """One row for each check, how it came out, and where."""
    rows = tuple(
        (
            c.about,
            RESULTS.get(c.state, c.state),
            ", ".join(c.where[:SHOWN]) + (" …" if len(c.where) > SHOWN else ""),
            ", ".join(c.codes),
        )
        for c in checks
    )
    return Table(("Looked for", "Result", "Where", "Codes"), rows, frozenset())


def risk_table(answer: SafetyAnswer) -> Table:
    """One row for each germ."""
    rows = tuple(
        (
            r.label + (" (what if)" if r.is_scenario else ""),
            _band(r.infections_per_person_year),
            words.plain(words.PEOPLE * r.untreated_frac),
            r.infection_goal,
            _band(r.daly_per_person_year, people=MILLION),
            r.daly_goal,
            f"{range_words(r.counted_log10, r.counted_high_log10)} of "
            f"{r.needed_infection_log10:.1f}",
        )
        for r in answer.risk
    )
    heads = (
        "Germ",
        "Infected, 5th to 95th",
        "Untreated",
        "Goal of 1",
        "Years lost by a million",
        "Goal of 1",
        "Log counted, of needed",
    )
    return Table(heads, rows, frozenset({1, 2, 4, 6}))


def illness_table(illness: Illness) -> Table:
    """By this calculation, and as it was counted in people."""
    ours = (("roof water drunk raw", illness.raw), ("as the plan is used", illness.as_it_is))
    rows = [(f"this calculation, {what}", "", _band(bands, people=1), "") for what, bands in ours]
    for study in people_studies():
        low, middle, high = (
            f"{float(f'{end:.2g}'):g}".replace("-", "−") for end in study.excess_band
        )
        left = f"; without {study.left_out}" if study.left_out else ""
        rows.append(
            (
                f"{study.title}: {study.people}{left}",
                f"{study.episodes_per_person_year:g}",
                f"{middle} ({low} to {high})",
                cited(study.source),
            )
        )
    heads = ("Illnesses a person and year", "Of every cause", "By the roof water", "Source")
    return Table(heads, tuple(rows), frozenset({1, 2}))


def _band(bands: dict[str, float], *, people: int = words.PEOPLE) -> str:
    p05, p50, p95 = (words.plain(people * bands[p]) for p in ("p05", "p50", "p95"))
    return f"{p50} ({p05} to {p95})"


def change_table(answer: SafetyAnswer) -> Table:
    """One row for each change, one column for each germ."""
    wording = {o.name: o.words for r in answer.risk for o in r.options}
    rows = [("as it is", *(_middle(r.as_it_is_per_person_year) for r in answer.risk))]
    for name, said in wording.items():
        cells = [next((o for o in r.options if o.name == name), None) for r in answer.risk]
        rows.append(
            (said, *("" if o is None else _middle(o.infections_per_person_year) for o in cells))
        )
    heads = ("Change", *(r.label for r in answer.risk))
    return Table(heads, tuple(rows), frozenset(range(1, len(heads))))


def _middle(bands: dict[str, float]) -> str:
    value = words.PEOPLE * bands["p50"]
    return "under 0.1" if value < 0.1 else words.plain(value)


def costs_title(costs: SafetyCosts) -> str:
    """What the table of costs is of."""
    years = "1 year" if costs.years_count == 1 else f"{costs.years_count} years"
    coin = f" in {costs.coin}" if costs.coin else ""
    return f"Costs{coin}, over {years} at a real rate of {percent(costs.rate_frac)}"


def costs_table(costs: SafetyCosts, units: UnitSet) -> Table:
    """One row for what stands and for each change that has a price, with what it reaches."""
    rows = [
        (
            c.words,
            *_sums(c.alone, units),
            *_with_what_stands(c.whole, units),
            ", ".join(c.reaches) or "none",
        )
        for c in costs.changes
    ]
    volume = volume_words(units)
    ends = f"{percent(LOW_RATE_FRAC)} to {percent(HIGH_RATE_FRAC)}".replace(" %", "\u00a0%")
    heads = ["What", "At first", f"A year ({ends})", f"Each {volume} drunk"]
    if costs.stands is not None:
        goals = ", ".join(costs.stands_reaches) or "none"
        first = f"as it stands: {costs.stands_words}"
        rows.insert(0, (first, *_sums(costs.stands, units), "", "", goals))
        heads += ["A year, with what stands", f"Each {volume} then"]
    heads.append("Goal met by 95 % of households for")
    return Table(tuple(heads), tuple(rows), frozenset(range(1, len(heads) - 1)))


def _with_what_stands(whole: CostSum | None, units: UnitSet) -> tuple[str, ...]:
    return () if whole is None else (amount(whole.cost_per_year), for_volume(whole, units))


def _sums(costs: CostSum, units: UnitSet) -> tuple[str, str, str]:
    ends = sorted((costs.zero_rate_cost_per_year, costs.high_rate_cost_per_year))
    return (
        amount(costs.first_cost),
        f"{amount(costs.cost_per_year)} ({amount(ends[0])} to {amount(ends[1])})",
        for_volume(costs, units),
    )

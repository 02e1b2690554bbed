"""What each change would cost by the owner's own prices, beside what it reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from roofspring.costs import Costs, Replacement, cost_per_m3, equal_cost_per_year, present_cost
from roofspring.costs import together as sum_of
from roofspring.plan.model import Plan
from roofspring.plan.money import Price
from roofspring.safety.risk import DRUNK_L_PER_DAY, INFECTION_TARGET, AgentRisk
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet, show

LOW_RATE_FRAC, HIGH_RATE_FRAC = 0.0, 0.10
"""Real rates between which the order of two changes is looked at: an engineering choice."""

NO_PRICES = (
    "What a change would cost is told once the plan has your own prices, such as a table "
    "[price.uv] with first and yearly. No prices are built in."
)
FAIR = (
    "Hours of work, and tests of the water, belong in every price or in none: else the sums cannot "
    "be set beside each other."
)
SAND = "sand"
STANDS = {SAND: "the sand filter", "uv": "light", "chlorine": "chlorine", "boiling": "boiling"}
CHANGES: dict[str, tuple[str, tuple[str, ...]]] = {
    "uv": ("ultraviolet light", ("uv",)),
    "chlorine": ("chlorine with proven contact", ("chlorine",)),
    "boiling": ("boiling all that is drunk", ("boiling",)),
    "no-bypass": ("no unfiltered water any more", ("no-bypass",)),
    "no-bypass-and-uv": ("no unfiltered water, and ultraviolet light", ("no-bypass", "uv")),
}
"""Words of each change that can have a price, and the prices that it takes."""

_PER_VOLUME: dict[UnitSet, tuple[str, float]] = {
    "metric": ("m³", 1.0),
    "us": ("1,000 gal", 3.785411784),
}


@dataclass(frozen=True)
class CostSum:
    """What something comes to, in the coin of the owner.

    Attributes
    ----------
    first_cost : float
    present_cost : float
        All years as one amount at the start.
    cost_per_year : float
        The same as equal yearly amounts.
    zero_rate_cost_per_year, high_rate_cost_per_year : float
        Those at a rate of 0 and of 10 %.
    cost_per_m3 : float or None
        For each cubic metre drunk; None where nobody drinks.
    """

    first_cost: float
    present_cost: float
    cost_per_year: float
    zero_rate_cost_per_year: float
    high_rate_cost_per_year: float
    cost_per_m3: float | None

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "first_cost": _six(self.first_cost),
            "present_cost": _six(self.present_cost),
            "cost_per_year": _six(self.cost_per_year),
            "cost_per_year_at_0_percent": _six(self.zero_rate_cost_per_year),
            "cost_per_year_at_10_percent": _six(self.high_rate_cost_per_year),
            "cost_per_m3": None if self.cost_per_m3 is None else _six(self.cost_per_m3),
        }


@dataclass(frozen=True)
class PricedChange:
    """One change with its price and what it reaches.

    Attributes
    ----------
    name, words : str
    alone : CostSum
        Of the change.
    whole : CostSum or None
        With what stands; None where nothing does, or a part of it has no price.
    reaches, misses : tuple of str
        Germs for which 95 households of 100 meet the goal for infections, and the others.
    """

    name: str
    words: str
    alone: CostSum
    whole: CostSum | None
    reaches: tuple[str, ...]
    misses: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "name": self.name,
            "words": self.words,
            "alone": self.alone.to_dict(),
            "with_what_stands": None if self.whole is None else self.whole.to_dict(),
            "reaches": list(self.reaches),
            "misses": list(self.misses),
        }


@dataclass(frozen=True)
class SafetyCosts:
    """The costs of a plan's drinking water by its own prices.

    Attributes
    ----------
    coin : str
    rate_frac : float
    years_count : int
    drunk_l_per_day : float
    stands_words : str
    stands : CostSum or None
        What stands in the plan; None where nothing does, or a part of it has no price.
    stands_reaches, stands_misses : tuple of str
    changes : tuple of PricedChange
    each : tuple of str
        What stands and each change, in a sentence.
    says : tuple of str
        What else there is to say: the order, what is missing, what the sums stand on.
    """

    coin: str
    rate_frac: float
    years_count: int
    drunk_l_per_day: float
    stands_words: str
    stands: CostSum | None
    stands_reaches: tuple[str, ...]
    stands_misses: tuple[str, ...]
    changes: tuple[PricedChange, ...]
    each: tuple[str, ...]
    says: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "coin": self.coin,
            "rate_frac": self.rate_frac,
            "years": self.years_count,
            "drunk_l_per_day": round(self.drunk_l_per_day, 2),
            "stands": self.stands_words,
            "as_it_stands": None if self.stands is None else self.stands.to_dict(),
            "as_it_stands_reaches": list(self.stands_reaches),
            "as_it_stands_misses": list(self.stands_misses),
            "changes": [c.to_dict() for c in self.changes],
            "each": list(self.each),
            "says": list(self.says),
        }


def safety_costs(
    plan: Plan, risk: Sequence[AgentRisk], *, present: frozenset[str] = frozenset()
) -> SafetyCosts | None:
    """Set each change that has a price beside what it reaches.

    Parameters
    ----------
    plan : Plan
    risk : sequence of AgentRisk
    present : frozenset of str
        Disinfection steps that all water passes already.

    Returns
    -------
    SafetyCosts or None
        None where the plan has no price, or nothing was estimated.

    Notes
    -----
    Steps are ordered by cost only among those that reach the goal for the same germs. A sand filter
    stands before every one of them, and its price, where there is one, is told with each.
    """
    if not plan.prices or not risk:
        return None
    prices: dict[str, Costs] = {name: _costs(price) for name, price in plan.prices.items()}
    standing = ([SAND] if plan.filters else []) + [s for s in STANDS if s in present]
    bare = [s for s in standing if s not in prices]
    money = plan.money
    drunk = money.drunk_m3_per_day
    litres = DRUNK_L_PER_DAY * plan.site.people_count if drunk is None else 1000.0 * drunk
    before = sum_of(*(prices[s] for s in standing)) if standing and not bare else None

    def summed(costs: Costs) -> CostSum:
        return _summed(plan, costs, litres)

    offered = [o.name for r in risk[:1] for o in r.options]
    changes = []
    for name, (words, takes) in CHANGES.items():
        if name in offered and all(t in prices for t in takes):
            own = sum_of(*(prices[t] for t in takes))
            reaches, misses = _reach(risk, name)
            whole = None if before is None else summed(sum_of(before, own))
            changes.append(PricedChange(name, words, summed(own), whole, reaches, misses))
    made = SafetyCosts(
        money.coin or "",
        money.rate_frac,
        money.years_count,
        litres,
        " and ".join(STANDS[s] for s in standing),
        None if before is None else summed(before),
        *_reach(risk, ""),
        tuple(changes),
        (),
        (),
    )
    used = {*standing, *(t for c in changes for t in CHANGES[c.name][1])}
    stands = () if made.stands is None else (_stands(made, made.stands, plan.show),)
    return replace(
        made,
        each=(*stands, *(_change(made, c, plan.show) for c in changes)),
        says=(
            *_orders(made),
            *_left_out(offered, prices, used),
            *_unpriced(bare),
            _basis(plan, made),
            FAIR,
        ),
    )


def _costs(price: Price) -> Costs:
    parts = tuple(Replacement(r.cost, r.every_years) for r in price.replacements)
    return Costs(price.first_cost, price.cost_per_year, parts, price.left_value)


def _summed(plan: Plan, costs: Costs, litres: float) -> CostSum:
    years = plan.money.years_count

    def yearly(rate_frac: float) -> float:
        present = present_cost(costs, rate_frac=rate_frac, years_count=years)
        return equal_cost_per_year(present, rate_frac=rate_frac, years_count=years)

    rate_frac = plan.money.rate_frac
    a_year = yearly(rate_frac)
    return CostSum(
        costs.first_cost,
        present_cost(costs, rate_frac=rate_frac, years_count=years),
        a_year,
        yearly(LOW_RATE_FRAC),
        yearly(HIGH_RATE_FRAC),
        cost_per_m3(a_year, water_l_per_day=litres) if litres > 0.0 else None,
    )


def _reach(risk: Sequence[AgentRisk], name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Germs for which a change, or the plan as it is, meets the goal in 95 households of 100."""
    reaches: list[str] = []
    misses: list[str] = []
    for r in risk:
        bands = next((o.infections_per_person_year for o in r.options if o.name == name),
                     r.as_it_is_per_person_year)  # fmt: skip
        label = f"{r.label} (what if)" if r.is_scenario else r.label
        (reaches if bands["p95"] <= INFECTION_TARGET.value else misses).append(label)
    return tuple(reaches), tuple(misses)


def amount(value: float, coin: str = "") -> str:
    """An amount of money to three digits, whole from a hundred on, with the word of the plan.

    >>> amount(1879.64), amount(9.473), amount(0.0), amount(-12.0, "crowns")
    ('1,880', '9.47', '0', '−12 crowns')
    """
    size = float(f"{abs(value):.3g}")
    text = f"{abs(value):,.0f}" if size >= 100.0 else f"{size:g}"
    return ("−" if value < 0.0 and text != "0" else "") + text + (f" {coin}" if coin else "")


def for_volume(costs: CostSum, units: UnitSet) -> str:
    """What a cubic metre, or a thousand gallons, comes to; empty where nobody drinks."""
    if costs.cost_per_m3 is None:
        return ""
    return amount(_PER_VOLUME[units][1] * costs.cost_per_m3)


def volume_words(units: UnitSet) -> str:
    """The volume that a price is told for.

    >>> volume_words("us")
    '1,000 gal'
    """
    return _PER_VOLUME[units][0]


def percent(rate_frac: float) -> str:
    """A rate in words.

    >>> percent(0.04)
    '4 %'
    """
    return f"{100.0 * rate_frac:.3g} %"


def _six(value: float) -> float:
    return float(f"{value:.6g}")


def _told(costs: CostSum, coin: str, units: UnitSet) -> str:
    each = for_volume(costs, units)
    return (
        f"{amount(costs.first_cost, coin)} at first; all of it spread evenly, "
        f"{amount(costs.cost_per_year)} a year"
        + (f" and {each} for each {volume_words(units)} drunk" if each else "")
    )


def _listed(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _goals(reaches: Sequence[str], misses: Sequence[str]) -> str:
    if not reaches:
        return "The goal is reached for no germ."
    return f"The goal is reached for {_listed(reaches) if misses else 'every germ'}."


def _stands(made: SafetyCosts, stands: CostSum, units: UnitSet) -> str:
    return (
        f"As it stands, {made.stands_words}: {_told(stands, made.coin, units)}. "
        f"{_goals(made.stands_reaches, made.stands_misses)}"
    )


def _unpriced(bare: Sequence[str]) -> Iterator[str]:
    if bare:
        names = _listed([f"[price.{s}]" for s in bare])
        yield (
            f"What stands has no whole price without {names}: only the changes are summed, and "
            "none of the sums is the price of the water."
        )


def _change(made: SafetyCosts, change: PricedChange, units: UnitSet) -> str:
    whole = ""
    if change.whole is not None:
        each = for_volume(change.whole, units)
        whole = f"; with what stands {amount(change.whole.cost_per_year)} a year" + (
            f" and {each}" if each else ""
        )
    return (
        f"{change.words[:1].upper()}{change.words[1:]}: {_told(change.alone, made.coin, units)}"
        f"{whole}. {_goals(change.reaches, change.misses)}"
    )


def _orders(made: SafetyCosts) -> Iterator[str]:
    """Which is cheaper, of steps that reach the same, and whether the rate decides it.

    Closing a way of unfiltered water is no rival of a step: it is not ordered among them.
    """
    alike: dict[tuple[str, ...], list[PricedChange]] = {}
    for change in made.changes:
        if change.reaches and change.name in STANDS:
            alike.setdefault(change.reaches, []).append(change)
    for reaches, same in alike.items():
        if len(same) < 2:
            continue
        by_rate = {
            LOW_RATE_FRAC: sorted(same, key=lambda c: c.alone.zero_rate_cost_per_year),
            made.rate_frac: sorted(same, key=lambda c: c.alone.cost_per_year),
            HIGH_RATE_FRAC: sorted(same, key=lambda c: c.alone.high_rate_cost_per_year),
        }
        rates = sorted(by_rate)
        lead = f"Of the steps that reach the goal for the same germs ({_listed(reaches)})"
        if len({tuple(c.name for c in order) for order in by_rate.values()}) == 1:
            names = ", then ".join(c.words for c in by_rate[made.rate_frac])
            yield (
                f"{lead}, the cheapest first: {names}. The order is the same at "
                f"{_listed([percent(r) for r in rates])}."
            )
        else:
            told = (
                f"at {percent(r)} " + ", then ".join(
                    f"{c.words} ({amount(_at(c.alone, r, made))} a year)" for c in by_rate[r]
                )
                for r in rates
            )  # fmt: skip
            yield f"{lead}, the order changes with the rate: {'; '.join(told)}."


def _at(costs: CostSum, rate_frac: float, made: SafetyCosts) -> float:
    if rate_frac == made.rate_frac:
        return costs.cost_per_year
    zero = rate_frac == LOW_RATE_FRAC
    return costs.zero_rate_cost_per_year if zero else costs.high_rate_cost_per_year


def _left_out(offered: Sequence[str], prices: dict[str, Costs], used: set[str]) -> Iterator[str]:
    bare = [n for n, (_, takes) in CHANGES.items()
            if n in offered and takes == (n,) and n not in prices]  # fmt: skip
    if bare:
        yield f"No price is given for {_listed([CHANGES[n][0] for n in bare])}."
    for name in prices:
        if name not in used:
            why = (
                "the plan has no sand filter"
                if name == SAND
                else "that change is not weighed in this plan"
            )
            yield f"The price [price.{name}] is not used: {why}."


def _basis(plan: Plan, made: SafetyCosts) -> str:
    """What the sums stand on."""
    chosen = {"rate_frac", "years_count"} - plan.money.model_fields_set
    choice = f" ({ENGINEERING_CHOICE})" if chosen else ""
    people = plan.site.people_count
    years = "1 year" if made.years_count == 1 else f"{made.years_count} years"
    said = (
        f"{people:,} {'person' if people == 1 else 'people'}, {DRUNK_L_PER_DAY:.2g} L each"
        if plan.money.drunk_m3_per_day is None
        else "as the plan says"
    )
    flow = show(made.drunk_l_per_day / 86.4e6, "daily_flow", units=plan.show, digits=1)
    return (
        f"Counted over {years} at a real rate of {percent(made.rate_frac)}"
        f"{choice}, for {flow} drunk ({said}). The goal is 1 infection in 10,000 people a year, "
        "reached where 95 households of 100 meet it, if the step works every day. No sum is better "
        "than the prices that were written."
    )

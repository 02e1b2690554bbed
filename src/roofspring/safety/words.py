"""What is said to people who drink the water: short, with its doubt, and never a promise."""

from __future__ import annotations

from collections.abc import Sequence

from roofspring.safety.risk import AgentRisk, Illness, people_studies

PEOPLE = 10_000

NOT_A_TEST = (
    "This is an estimate from published studies and the numbers of the plan. It is not a test of "
    "your water, and it cannot show that your water does no harm."
)
NOTHING_TESTED = (
    "A plan is not a test of your water, and it cannot show that your water does no harm."
)
SAND = (
    "The sand filter reduces germs; it does not remove all of them, and it removes little lead, "
    "salt or chemicals."
)
RAW = (
    "The plan has a way for unfiltered water to reach a drinking tap (red on the drawing). Until "
    "this is mended, treat that tap as unfiltered: boil what is drunk."
)
YOUNG = (
    "While the filter is young, cold or just cleaned, boil, or use a working lamp or chlorine "
    "step, until tests show that it has ripened."
)
NOT_SAID = (
    "The plan leaves out facts that decide whether germs get in, such as lids, mesh, light or "
    "lead. Nothing was taken for granted: walk round with the list, look, and write it down."
)
ONE_MOMENT = (
    "A clean result of a laboratory is one moment. It cannot prove the yearly goal; keep the "
    "barriers working."
)
E_COLI = (
    "A negative E. coli test does not rule out Giardia or Cryptosporidium, and chlorine does not "
    "kill Cryptosporidium."
)
WHO_FIRST = (
    "Babies under 12 months, pregnant women, old people and anyone with weak immunity should use "
    "boiled or otherwise approved water. Ask a doctor or the health department."
)
ILL = (
    "If anyone has diarrhoea with fever or blood, or several people are ill: stop drinking, boil "
    "or use other water, call a doctor, and tell the health department."
)
EVENTS = (
    "After a flood, smoke or ash, painting the roof, a chemical spray or a dead animal in a tank: "
    "do not drink it, even boiled, until it has been drained and tested. Boiling takes out no "
    "chemicals."
)
RULES = (
    "Rules differ by place. Ask your local health department and a licensed plumber or engineer "
    "before you build or join it to house plumbing."
)
NOT_RUN = (
    "No rain was run through the plan, so the filter may be anything from new to ripe, and how "
    "much water goes round it is not known: where a raw way is open, all counts as raw."
)
ALWAYS = (NOT_A_TEST, SAND, ONE_MOMENT, E_COLI, WHO_FIRST, ILL, EVENTS, RULES)


def about(value: float) -> str:
    """A count with two digits at most, small ones in words.

    >>> about(1234.0), about(7.46), about(0.03), about(0.7)
    ('about 1,200', 'about 7.5', 'less than 0.1', 'about 0.7')
    """
    return "less than 0.1" if value < 0.1 else f"about {plain(value)}"


def plain(value: float) -> str:
    """A count with two digits at most.

    >>> plain(1234.0), plain(7.46), plain(0.00031)
    ('1,200', '7.5', '0.00031')
    """
    rounded = float(f"{value:.2g}")
    return f"{rounded:,.0f}" if rounded >= 10.0 else f"{rounded:.15g}"


def out_of_many(risk: AgentRisk) -> str:
    """Infections among ten thousand people in a year, with the band."""
    p05, p50, p95 = (PEOPLE * risk.infections_per_person_year[p] for p in ("p05", "p50", "p95"))
    return (
        f"out of {PEOPLE:,} people drinking this for a year, the estimate is {about(p50)} "
        f"infected with {risk.label} (could plausibly be {_end(p05)} to {_end(p95)}); a common "
        "goal is 1 or fewer"
    )


def both_sides(illness: Illness) -> str:
    """What was counted in people, beside what this calculation gives for the same water."""
    trial = people_studies()[0]
    p05, p50, p95 = (plain(illness.raw[p]) for p in ("p05", "p50", "p95"))
    return (
        f"Calculations like this one give more illness than has been counted. Of roof water drunk "
        f"raw this one makes {p50} stomach illnesses a person and year ({p05} to {p95}); a blinded "
        "trial among families in Adelaide who drank it so found none that a working filter took "
        f"away, and would hardly have missed more than {plain(trial.excess_band[-1])} "
        f"({trial.left_out} were left out). Disinfection is advised all the same."
    )


def room_left(illness: Illness) -> str:
    """How far the calculation and the trial stand apart, and why neither is bent to the other."""
    trial = people_studies()[0]
    under = 100.0 * illness.room_frac[trial.id]
    over = illness.times_over
    stands = f"{plain(over)} times over" if over > 1.0 else "under"
    return (
        f"The middle for raw water stands {stands} the most that the trial leaves room for; "
        f"{plain(under)} % of our households lie under it. The estimates are kept as they are: "
        "the trial is of one town, one year, and people used to their water."
    )


def _end(value: float) -> str:
    return about(value).removeprefix("about ")


def leading(risks: Sequence[AgentRisk]) -> AgentRisk:
    """The germ, of those expected from a roof, with the highest middle estimate."""
    expected = [r for r in risks if not r.is_scenario]
    return max(expected, key=lambda r: r.infections_per_person_year["p50"])

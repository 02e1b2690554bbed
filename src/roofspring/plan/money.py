"""What things cost, in the owner's own prices: nothing stands in for a price that is left out."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from roofspring.plan.pieces import Block, Text
from roofspring.plan.quantities import Amount, Daily, Share, Span, given
from roofspring.sources import ENGINEERING_CHOICE

Coin = Annotated[Text, StringConstraints(max_length=20)]
Years = Annotated[int, Field(strict=True, ge=1, le=100)]
Priced = Literal["sand", "uv", "chlorine", "boiling", "no-bypass"]
"""What can have a price: the sand filters as they stand, and the changes that are weighed."""


class Money(Block):
    """How prices of different years are set beside each other."""

    coin: Coin | None = given(
        "Word that is written behind amounts; it changes no number", derived="none"
    )
    rate_frac: Share = given(
        "Real rate by which a later year counts for less: above the rise of prices",
        alias="rate",
        default=0.04,
        source=ENGINEERING_CHOICE,
    )
    years_count: Years = given(
        "Years that are counted", alias="years", default=20, source=ENGINEERING_CHOICE
    )
    drunk_m3_per_day: Daily | None = given(
        "Water drunk in the house in a day, cooking included; for the price of a cubic metre",
        alias="drunk",
        derived="0.87 L for each of the people of the site, as the risk reckons (MONS_2007)",
    )


class Replacement(Block):
    """A part that is bought again, the first time after ``every``, and not on the last day."""

    cost: Amount = given("Price each time")
    every_years: Span = given("Time between", alias="every")


class Price(Block):
    """What a step costs. NAME is ``sand`` for all sand filters as they stand, ``uv``,
    ``chlorine`` or ``boiling`` for such a step on all that is drunk, or ``no-bypass`` for closing
    every way of unfiltered water. A fine cartridge belongs in the price of the step that needs it.
    Amounts are plain numbers, all in one coin of today.
    """

    first_cost: Amount = given("Price at the start; 0 where it is there already", alias="first")
    cost_per_year: Amount = given(
        "Cost of a year: power, fuel, what is used up, hours of work at what they are worth to you",
        alias="yearly",
    )
    replacements: tuple[Replacement, ...] = given(
        'Parts bought again, like [{ cost = 80, every = "5 years" }]', default=()
    )
    left_value: Amount = given("What it is still worth at the end", alias="left", default=0.0)

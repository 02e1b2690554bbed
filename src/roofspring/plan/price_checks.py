"""Checks of prices that need more than one field."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Problem
from roofspring.plan.plantext import PlanText
from roofspring.plan.salvage import Salvage


def price_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """What is left at the end cannot be more than what was paid.

    Parameters
    ----------
    saved : Salvage
    text : PlanText

    Returns
    -------
    iterator of Problem
        PLN-052.
    """
    for name, price in saved.plan.prices.items():
        paid = price.first_cost + sum(r.cost for r in price.replacements)
        if price.left_value > paid and saved.whole("price", name):
            yield text.problem(
                "PLN-052",
                ("price", name, "left"),
                "more is left at the end than was paid for it",
                allowed=f"at most {paid:,.10g}, the price at the start and of each part once",
                next_step="check both numbers",
            )

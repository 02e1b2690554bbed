"""The page on one storm as one HTML file that needs nothing else."""

from __future__ import annotations

from roofspring.plan.model import Plan
from roofspring.reliability.storm import StormAnswer
from roofspring.report._page import render_page
from roofspring.report._storm_context import build_storm_context


def render_storm_html(
    plan: Plan, answer: StormAnswer, *, plan_file: str, invented: bool = False
) -> str:
    """Write the page of one storm.

    Parameters
    ----------
    plan : Plan
        The one that was run.
    answer : StormAnswer
    plan_file : str
        Name of its file.
    invented : bool
        Whether a generator made the rain.

    Returns
    -------
    str
        A whole HTML page. It asks for nothing from outside, runs no script, and prints.
    """
    context = build_storm_context(plan, answer, plan_file=plan_file, invented=invented)
    return render_page("storm.html", context)

"""The page on one storm as one HTML file that needs nothing else."""

from __future__ import annotations

from markupsafe import Markup

from roofspring.plan.model import Plan
from roofspring.reliability.storm import StormAnswer
from roofspring.report._storm_context import build_storm_context
from roofspring.report._svg import clean_text
from roofspring.report.render import fingerprint, templates


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
    pages = templates()
    # The sheet's own size is for the section drawing of the design report; there is none here.
    css = pages.get_template("report.css").render(section_min_px=0, section_max_px=0)
    policy = f"default-src 'none'; style-src {fingerprint(css)}"
    context = build_storm_context(plan, answer, plan_file=plan_file, invented=invented)
    page = pages.get_template("storm.html").render(r=context, css=Markup(css), policy=policy)
    return clean_text(page)

"""The design report as one HTML file that needs nothing else."""

from __future__ import annotations

from roofspring.report._context import build_context
from roofspring.report._ink import STYLE as SECTION_STYLE
from roofspring.report._page import render_page
from roofspring.report.document import DesignDocument
from roofspring.report.sand_chapter import MORE


def render_html(document: DesignDocument) -> str:
    """Write the report of one design.

    Parameters
    ----------
    document : DesignDocument
        Everything computed; nothing is computed here but means, dates and places on the sheet.

    Returns
    -------
    str
        A whole HTML page. It asks for nothing from outside, runs no script, and prints on A4 or
        letter paper with the section drawing on a page of its own, turned sideways.
    """
    context = build_context(document)
    return render_page(
        "report.html",
        context,
        section_px=context.widest_px,
        drawing_css=SECTION_STYLE,
        sand_more=MORE,
    )

"""The page on one rain record as one HTML file that needs nothing else."""

from __future__ import annotations

from roofspring.report._page import render_page
from roofspring.report._rain_context import build_rain_context
from roofspring.report.rain_document import RainDocument, rain_document

__all__ = ["RainDocument", "rain_document", "render_rain_html"]


def render_rain_html(document: RainDocument) -> str:
    """Write the page of one rain record.

    Parameters
    ----------
    document : RainDocument
        From `rain_document`.

    Returns
    -------
    str
        A whole HTML page. It asks for nothing from outside, runs no script, and prints.
    """
    return render_page("rain.html", build_rain_context(document))

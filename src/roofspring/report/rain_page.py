"""The page on one rain record as one HTML file that needs nothing else."""

from __future__ import annotations

from markupsafe import Markup

from roofspring.report._rain_context import build_rain_context
from roofspring.report._svg import clean_text
from roofspring.report.rain_document import RainDocument, rain_document
from roofspring.report.render import fingerprint, templates

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
    pages = templates()
    # The sheet's own size is for the section drawing of the design report; there is none here.
    css = pages.get_template("report.css").render(section_min_px=0, section_max_px=0)
    policy = f"default-src 'none'; style-src {fingerprint(css)}"
    page = pages.get_template("rain.html").render(
        r=build_rain_context(document), css=Markup(css), policy=policy
    )
    return clean_text(page)

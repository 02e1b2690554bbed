"""The design report as one HTML file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from roofspring.report._context import build_context
from roofspring.report._ink import STYLE as SECTION_STYLE
from roofspring.report._svg import clean_text
from roofspring.report.document import DesignDocument
from roofspring.report.sand_chapter import MORE

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def templates() -> Environment:
    """The pages and their pieces; what they show is escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("roofspring.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


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
    pages = templates()
    css = pages.get_template("report.css").render(
        section_min_px=round(0.84 * context.section.width_px),
        section_max_px=round(1.2 * context.section.width_px),
    )
    # The page itself forbids everything but these two style sheets.
    policy = "default-src 'none'; style-src " + " ".join(map(fingerprint, (css, SECTION_STYLE)))
    page = pages.get_template("report.html").render(
        r=context, css=Markup(css), policy=policy, markup=Markup, sand_more=MORE
    )
    return clean_text(page)


def fingerprint(text: str) -> str:
    """The hash by which a page allows its own style sheet."""
    digest = hashlib.sha256(clean_text(text).encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"

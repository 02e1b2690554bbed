"""A page as one file that needs nothing else: its template, its style, what it forbids."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from roofspring.report._svg import clean_text
from roofspring.units import unbroken

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def _templates() -> Environment:
    """The pages and their pieces; what they show is escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("roofspring.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_joined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _joined(value: object) -> object:
    """What goes into a page: in its text no line ends between a number and its unit."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return unbroken(value)
    return value


def render_page(
    name: str,
    context: object,
    *,
    section_px: float = 0.0,
    more_css: str = "",
    drawing_css: str = "",
    sand_more: str = "",
) -> str:
    """Fill the template of a page.

    Parameters
    ----------
    name : str
        Of the template.
    context : object
        What it shows, as ``r``.
    section_px : float
        Width of the section drawing, where the page has one.
    more_css : str
        A further style sheet by name.
    drawing_css : str
        Style that a drawing on the page brings with it: allowed beside the page's own.
    sand_more : str
        Where more on the sand is to be found.
    """
    pages = _templates()
    css = pages.get_template("report.css").render(
        section_min_px=round(0.84 * section_px), section_max_px=round(1.2 * section_px)
    )
    if more_css:
        css += "\n" + pages.get_template(more_css).render()
    # The page itself forbids everything but its own style sheets.
    sheets = (css, drawing_css) if drawing_css else (css,)
    policy = "default-src 'none'; style-src " + " ".join(map(_fingerprint, sheets))
    page = pages.get_template(name).render(
        r=context, css=Markup(css), policy=policy, markup=Markup, sand_more=sand_more
    )
    return clean_text(page)


def _fingerprint(text: str) -> str:
    """The hash by which a page allows its own style sheet."""
    digest = hashlib.sha256(clean_text(text).encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"

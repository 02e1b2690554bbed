"""Small helpers to write SVG as text: escaping, text width, boxes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import escape

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Widths of Arial and its kin, in thousandths of the letter height. Text is written with a
# `textLength`, so that a wider face is pressed into the same width and boxes stay true.
_WIDTHS = {
    **dict.fromkeys("ijl'|", 235),
    **dict.fromkeys("ft.,:;!()[]/ I", 290),
    **dict.fromkeys("r-", 340),
    **dict.fromkeys("cksvxyzJ", 505),
    **dict.fromkeys("w", 722),
    **dict.fromkeys("mMW%—…@", 900),
    **dict.fromkeys("−×=+<>", 590),
}
_CAPITAL, _OTHER = 690, 560


def clean_text(text: str) -> str:
    """The text without the control characters that XML refuses."""
    return _NOT_XML.sub(" ", text)


def tag(name: str, content: str = "", /, **attributes: str | float | int) -> str:
    """One element. ``content`` is markup; attribute names use ``_`` for ``-`` and at the end."""
    parts = [name]
    for key, value in attributes.items():
        text = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
        text = "0" if text == "-0" else text
        parts.append(f'{key.rstrip("_").replace("_", "-")}="{escape(clean_text(text))}"')
    head = " ".join(parts)
    return f"<{head}>{content}</{name}>" if content else f"<{head}/>"


SIZES = {"h": 11.5, "s": 11.5, "n": 13.0, "badge-text": 11.0}
BOLD = 1.07


def write(
    text: str,
    x: float,
    y: float,
    css: str,
    *,
    strong_from: int | None = None,
    **attributes: str | float | int,
) -> str:
    """A line of text with its baseline at ``y``, pressed into the width we counted on."""
    text = clean_text(text) or " "
    kind = css.split()[0]
    size = 9.0 if "two-digits" in css else SIZES[kind]
    wide = text_width(text, size, weight=BOLD if kind in ("n", "badge-text") else 1.0)
    content = escape(text, quote=False)
    if strong_from is not None:
        strong = tag("tspan", escape(text[strong_from:], quote=False), class_="b")
        content = escape(text[:strong_from], quote=False) + strong
    return tag(
        "text",
        content,
        class_=css,
        x=x,
        y=y,
        textLength=wide,
        lengthAdjust="spacingAndGlyphs",
        **attributes,
    )


def text_width(text: str, size_px: float, *, weight: float = 1.0) -> float:
    """Width that a line of text is given on the sheet [px]."""
    em = sum(_WIDTHS.get(c, _CAPITAL if c.isupper() else _OTHER) for c in text) / 1000.0
    return em * size_px * weight


def wrap(text: str, *, width_chars: int, lines: int) -> list[str]:
    """Break a name into a few short lines; what does not fit ends in an ellipsis."""
    made = [""]
    for word in clean_text(text).split():
        joined = f"{made[-1]} {word}".strip()
        if len(joined) <= width_chars or not made[-1]:
            made[-1] = joined
        else:
            made.append(word)
    cut = made[:lines]
    if len(made) > lines:
        cut[-1] += " …"
    return [line if len(line) <= width_chars + 2 else line[:width_chars] + "…" for line in cut]


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet [px], y downwards."""

    x0: float
    y0: float
    x1: float
    y1: float
    what: str = ""

    def moved(self, dx: float, dy: float = 0.0) -> Box:
        """The same box elsewhere."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy, self.what)

    def hits(self, other: Box, *, gap: float = 0.0) -> bool:
        """Whether the two overlap, or come nearer than ``gap``."""
        return (
            self.x0 < other.x1 + gap
            and other.x0 < self.x1 + gap
            and self.y0 < other.y1 + gap
            and other.y0 < self.y1 + gap
        )

"""SVG as text that a reviewer can read: one element a line, sorted attributes, rounded numbers."""

from __future__ import annotations

import re
from xml.etree import ElementTree

NUMBER = re.compile(r"-?\d+\.\d+")


def normalise(svg: str) -> str:
    """The same drawing, whatever the order of attributes and the last decimals."""
    lines: list[str] = []
    _write(ElementTree.fromstring(svg), 0, lines)
    return "\n".join(lines) + "\n"


def _write(element: ElementTree.Element, depth: int, lines: list[str]) -> None:
    name = element.tag.rpartition("}")[2]
    if name in ("style", "defs"):
        return
    attributes = " ".join(
        f'{k}="{NUMBER.sub(lambda m: f"{float(m.group()):.1f}", v)}"'
        for k, v in sorted(element.attrib.items())
    )
    text = " ".join((element.text or "").split())
    lines.append(f"{'  ' * depth}<{name} {attributes}> {text}".rstrip())
    for child in element:
        _write(child, depth + 1, lines)

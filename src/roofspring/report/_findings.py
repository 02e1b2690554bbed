"""Findings as every page shows them: numbered, with a mark, in words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from markupsafe import Markup

from roofspring.errors import SEVERITIES, Finding
from roofspring.report._cells import cited
from roofspring.report._ink import badge
from roofspring.report._svg import Box

SEVERITY_WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}


@dataclass(frozen=True)
class FindingRow:
    """One finding, numbered as on the drawing."""

    number: int
    severity: str
    word: str
    icon: Markup
    what: str
    next: str
    finding: Finding
    source: str
    marked: bool


def finding_rows(
    findings: tuple[Finding, ...], *, marked: Collection[int] = ()
) -> tuple[FindingRow, ...]:
    """All findings in their order, from 1 on; ``marked`` are the numbers that a drawing bears."""
    return tuple(
        FindingRow(
            n,
            f.severity,
            SEVERITY_WORDS[f.severity],
            severity_icon(n, f.severity),
            sentence_case(f.what),
            sentence_case(f.next),
            f,
            cited(f.source),
            n in marked,
        )
        for n, f in enumerate(findings, start=1)
    )


def counts(findings: tuple[Finding, ...], *, none: str, before: str = "this is used") -> str:
    """How many findings there are of each severity, in words; ``none`` where there are none.

    ``before`` says what has to wait until the stops are mended.
    """
    if not findings:
        return none
    to_do = {"stop": f"to mend before {before}", "caution": "to weigh", "note": "to know"}
    many = {s: sum(f.severity == s for f in findings) for s in SEVERITIES}
    return ", ".join(f"{many[s]} {to_do[s]}" for s in SEVERITIES if many[s]) + "."


def sentence_case(text: str) -> str:
    """The same text with a capital at its start."""
    return text[:1].upper() + text[1:]


def severity_icon(number: int, severity: str) -> Markup:
    """The mark of a finding as on the drawing; a note has a round one."""
    box = Box(1.0, 1.0, 21.0, 21.0)
    if severity == "note":
        inside = (
            '<circle class="badge-note" cx="11" cy="11" r="9.5"/>'
            f'<text class="badge-text" x="11" y="15">{number}</text>'
        )
    else:
        inside = badge(number, box, severity)
    return Markup(
        f'<svg class="icon" width="26" height="26" viewBox="0 0 22 22" aria-hidden="true">'
        f"{inside}</svg>"
    )

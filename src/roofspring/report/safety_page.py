"""The page "Is it fit to drink?": a summary that prints on one sheet, the rest, the walk-round."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from roofspring.plan.model import Plan
from roofspring.report._findings import FindingRow, counts, finding_rows
from roofspring.report._ink import STYLE
from roofspring.report._page import render_page
from roofspring.report._ways import shown_ways
from roofspring.report.safety_block import first_steps, lay_lines
from roofspring.report.safety_sections import safety_sections
from roofspring.report.sand_document import Pairs
from roofspring.report.sand_document import SandSection as Section
from roofspring.report.section import SectionDrawing, draw_section
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.inspection import Question, questions

__all__ = ["SafetyDocument", "render_safety_html"]

CAUTIONS: Pairs = (
    ("Drinking", words.WHO_FIRST),
    ("Illness", words.ILL),
    (
        "Chlorine",
        "Never mix bleach with acid, ammonia or another cleaner: the gas can kill. Never let it "
        "reach the sand filter.",
    ),
    (
        "Tanks",
        "Never climb into a tank or cistern alone: bad air and water kill without warning. Keep "
        "every lid locked so that no child can open it.",
    ),
    ("Roofs", "Look from the ground where you can. Tie the ladder, work with somebody below."),
    ("Rules", words.RULES),
)


NOTHING_FOUND = "No findings in the plan. A plan does not see droppings or dead birds: walk round."


@dataclass(frozen=True)
class SafetyDocument:
    """What the page is made of."""

    plan: Plan
    answer: SafetyAnswer
    invented: bool = False


@dataclass(frozen=True)
class SafetyContext:
    """The whole page, in words."""

    title: str
    sentence: str
    first_steps: tuple[str, ...]
    lay: tuple[str, ...]
    evidence: tuple[str, ...]
    unknown: tuple[str, ...]
    change: tuple[str, ...]
    counts: str
    invented: bool
    findings: tuple[FindingRow, ...]
    drawing: Markup
    drawing_words: tuple[str, ...]
    drawn: Pairs
    sections: tuple[Section, ...]
    walk: tuple[tuple[str, tuple[Question, ...]], ...]
    cautions: Pairs
    computed: tuple[str, ...]
    provenance: Pairs


def render_safety_html(document: SafetyDocument) -> str:
    """Write the page.

    Parameters
    ----------
    document : SafetyDocument

    Returns
    -------
    str
        A whole HTML page. It asks for nothing from outside, runs no script, and prints.
    """
    answer = document.answer
    drawing = draw_section(
        document.plan,
        findings=answer.findings,
        ways=shown_ways(document.plan, answer.routes),
    )
    return render_page(
        "safety.html",
        _context(document, drawing),
        more_css="safety.css",
        section_px=drawing.width_px,
        drawing_css=STYLE,
    )


def _context(document: SafetyDocument, drawing: SectionDrawing) -> SafetyContext:
    answer = document.answer
    marked = {b.what for b in drawing.boxes}
    p = answer.provenance
    rows = (
        ("Roofspring", p.version),
        ("Plan", p.plan_hash),
        ("Rain record", p.rain_hash),
        ("Seed", "" if p.seed is None else str(p.seed)),
        ("Time taken", f"{p.seconds:.1f} s"),
    )
    return SafetyContext(
        title=document.plan.name,
        sentence=answer.sentence,
        first_steps=first_steps(answer),
        lay=lay_lines(answer),
        evidence=answer.evidence,
        unknown=answer.unknown,
        change=answer.change,
        counts=counts(answer.findings, none=NOTHING_FOUND, before="anybody drinks"),
        invented=document.invented,
        findings=finding_rows(
            answer.findings,
            marked={n for n in range(1, len(answer.findings) + 1) if f"mark {n}" in marked},
        ),
        drawing=Markup(drawing.svg),
        drawing_words=tuple(_drawing_words(document, drawing)),
        drawn=tuple((w.letter, w.words) for w in shown_ways(document.plan, answer.routes)),
        sections=tuple(safety_sections(document.plan, answer)),
        walk=tuple((k, tuple(v)) for k, v in groupby(questions(), key=lambda q: q.place)),
        cautions=CAUTIONS,
        computed=COMPUTED,
        provenance=tuple((name, value) for name, value in rows if value),
    )


def _drawing_words(document: SafetyDocument, drawing: SectionDrawing) -> Iterator[str]:
    """What the drawing shows, before it is looked at."""
    ways = shown_ways(document.plan, document.answer.routes)
    bare = [r for r in document.answer.routes if not r.barriers and not r.is_supplied]
    if not ways:
        yield "No way without a barrier to a drinking tap was found in the plan."
    else:
        yield (
            "Red lines with a letter are ways to a drinking tap on which no barrier stands, or "
            "that run past the filter: dashed where they are open as drawn, dotted where it takes "
            "a mishap."
        )
        if len(bare) > sum(len(w.routes) for w in ways):
            yield "The table of ways lists further ones that are not drawn."
    yield (
        "Numbers in red octagons and amber triangles are the findings above. No water levels are "
        "drawn."
    )
    if drawing.estimated:
        yield (
            f"The plan gives no height for {', '.join(drawing.estimated)}: a guess, drawn with a "
            "broken outline."
        )


COMPUTED = (
    "Ways were searched on the graph of parts and pipes, overflows, drains, both positions of "
    "every diverter and water that flows back included.",
    "The filter's reduction on each day is the published range of household filters, moved by the "
    "ripeness and the temperature of the run. What passes is averaged, never its logarithm. "
    "Unfiltered water that gets to the tap was followed through every store.",
    "For each germ 400 households were drawn of what is not known (how often and how much, what "
    "share can infect, where in its range the filter stands, which law of dose and response), and "
    "25 years of daily cups for each. The chances of 365 days are compounded. Shares of the spread "
    "are Sobol indices of the expected yearly hazard at low doses.",
    "No number of the risk has more than two digits, because no more is known.",
)

"""The page "Is it fit to drink?": a summary that prints on one sheet, the rest, the walk-round."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from roofspring.errors import SEVERITIES, Finding
from roofspring.plan.model import Plan
from roofspring.report._cells import cited
from roofspring.report._context import SEVERITY_WORDS, FindingRow, sentence_case, severity_icon
from roofspring.report._svg import clean_text
from roofspring.report.render import fingerprint, templates
from roofspring.report.safety_block import first_steps
from roofspring.report.safety_sections import safety_sections
from roofspring.report.sand_document import Pairs
from roofspring.report.sand_document import SandSection as Section
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
    pages = templates()
    css = pages.get_template("report.css").render(section_min_px=0, section_max_px=0)
    css += "\n" + pages.get_template("safety.css").render()
    policy = f"default-src 'none'; style-src {fingerprint(css)}"
    page = pages.get_template("safety.html").render(
        r=_context(document), css=Markup(css), policy=policy, markup=Markup
    )
    return clean_text(page)


def _context(document: SafetyDocument) -> SafetyContext:
    answer = document.answer
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
        lay=words.ALWAYS,
        evidence=answer.evidence,
        unknown=answer.unknown,
        change=answer.change,
        counts=_counts(answer.findings),
        invented=document.invented,
        findings=tuple(_finding(n, f) for n, f in enumerate(answer.findings, start=1)),
        sections=tuple(safety_sections(document.plan, answer)),
        walk=tuple((k, tuple(v)) for k, v in groupby(questions(), key=lambda q: q.place)),
        cautions=CAUTIONS,
        computed=COMPUTED,
        provenance=tuple((name, value) for name, value in rows if value),
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


def _finding(number: int, finding: Finding) -> FindingRow:
    return FindingRow(
        number,
        finding.severity,
        SEVERITY_WORDS[finding.severity],
        severity_icon(number, finding.severity),
        sentence_case(finding.what),
        sentence_case(finding.next),
        finding,
        cited(finding.source),
        marked=False,
    )


def _counts(findings: tuple[Finding, ...]) -> str:
    if not findings:
        return "No findings in the plan. A plan does not see droppings or dead birds: walk round."
    to_do = {"stop": "to mend before anybody drinks", "caution": "to weigh", "note": "to know"}
    many = {s: sum(f.severity == s for f in findings) for s in SEVERITIES}
    return ", ".join(f"{many[s]} {to_do[s]}" for s in SEVERITIES if many[s]) + "."

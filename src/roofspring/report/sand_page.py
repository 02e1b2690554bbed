"""The page on one sand as one HTML file that needs nothing else."""

from __future__ import annotations

from dataclasses import dataclass, replace

from roofspring.report._findings import FindingRow, counts, finding_rows
from roofspring.report._page import render_page
from roofspring.report.sand_document import Pairs, SandDocument, SandSection
from roofspring.report.sand_sections import SECTION_IDS, SECTIONS, SandFacts

__all__ = [
    "SECTION_IDS",
    "SandDocument",
    "SandFacts",
    "SandSection",
    "render_sand_html",
    "sand_sections",
]

CAUTIONS: Pairs = (
    (
        "Silica dust",
        "Dry sand gives off fine quartz dust that scars the lungs for good. Work outdoors with the "
        "wind behind you, wet the sand before you shovel or sieve it by the barrow, and wear a "
        "fitted dust mask (N95, FFP2 or better). Sieve dry only the small sample of a test.",
    ),
    (
        "Lifting",
        "A bucket of wet sand weighs 25 kg and more. Fill it half, lift with the legs, use a "
        "barrow and a helper. A pit or heap of sand can slide: stay out from under a steep face.",
    ),
    (
        "Wash water",
        "Pour wash water where it can soak away, not into a stream or a drain: silt smothers the "
        "one and chokes the other.",
    ),
    (
        "Drinking",
        "A sieve test says nothing of what the sand is made of. Limestone, clay, salt, or sand "
        "from a road, a mine or a beach do not belong in a filter for drinking water. Sand alone "
        "does not make raw water fit to drink: test the water, and let your health department "
        "decide.",
    ),
    (
        "Loads",
        "A cubic metre of wet sand weighs two tonnes. Floors, stands and boxes that carry it need "
        "a licensed engineer.",
    ),
)


NOTHING_FOUND = "No findings. A sieve test does not see clay balls, salt, lime or dirt: look too."


@dataclass(frozen=True)
class SandContext:
    """The whole page, in words."""

    title: str
    sentence: str
    also: str
    counts: str
    invented: bool
    invented_rain: bool
    findings: tuple[FindingRow, ...]
    sections: tuple[SandSection, ...]
    cautions: Pairs
    computed: tuple[str, ...]
    provenance: Pairs


def sand_sections(facts: SandFacts, *, pictures: bool = True) -> tuple[SandSection, ...]:
    """Every section that there is something to say in, in the order of the page.

    ``pictures`` False leaves the charts undrawn, for a terminal.
    """
    made = (maker(replace(facts, pictures=pictures)) for maker in SECTIONS)
    return tuple(section for section in made if section is not None)


def render_sand_html(document: SandDocument) -> str:
    """Write the page of one sand.

    Parameters
    ----------
    document : SandDocument

    Returns
    -------
    str
        A whole HTML page. It asks for nothing from outside, runs no script, and prints.
    """
    return render_page("sand.html", _context(document))


def _context(document: SandDocument) -> SandContext:
    provenance = document.provenance
    rows = (
        ("Roofspring", provenance.version),
        ("Plan", provenance.plan_hash),
        ("Rain record", provenance.rain_hash),
        ("Time taken", f"{provenance.seconds:.1f} s"),
    )
    return SandContext(
        title=document.title,
        sentence=document.sentence,
        also=document.also,
        counts=counts(document.findings, none=NOTHING_FOUND),
        invented=document.invented,
        invented_rain=document.invented_rain,
        findings=finding_rows(document.findings),
        sections=document.sections,
        cautions=document.cautions,
        computed=document.computed,
        provenance=tuple((name, value) for name, value in rows if value),
    )

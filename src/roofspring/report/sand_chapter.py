"""The chapter "Is the sand right?" of the report: short, the whole page is the sand command's."""

from __future__ import annotations

from dataclasses import dataclass, replace

from roofspring.report._amounts import time_text
from roofspring.report.sand_bed_sections import of_which
from roofspring.report.sand_check_sections import checks_section, first_section
from roofspring.report.sand_document import Pairs, SandSection
from roofspring.report.sand_facts import SandFacts
from roofspring.report.sand_grain_sections import grading_section
from roofspring.report.sand_life_sections import record_section
from roofspring.units import show

MORE = (
    "roofspring sand with this plan writes the whole page: what to cut, buy and wash, gravel and "
    "drain, run lengths, ripening, what sand takes out, and the guide to print."
)


@dataclass(frozen=True)
class SandPart:
    """The chapter on one of the plan's sands: for which filters, the answer, and the sections."""

    filters: tuple[str, ...]
    sentence: str
    invented: bool
    facts: Pairs
    words: tuple[str, ...]
    sections: tuple[SandSection, ...]


def sand_part(
    facts: SandFacts, *, filters: tuple[str, ...], sentence: str, pictures: bool
) -> SandPart:
    """The chapter on one sand.

    Parameters
    ----------
    facts : SandFacts
    filters : tuple of str
        Of the plan, filled with it.
    sentence : str
        The answer.
    pictures : bool
        Charts too; for the first of several sands only, their ids are their own.

    Returns
    -------
    SandPart
    """
    facts = replace(facts, pictures=pictures)
    words = [of_which(facts, facts.beds[0])]
    if facts.study.test is not None:
        words[0] += (
            " So the plan has it, and so it is reckoned here; what the sieves found follows."
        )
    first = first_section(facts)
    if first is not None:
        words += first.paragraphs[:2]
    made = (_curve(facts), _checks(facts), _seen(facts))
    return SandPart(
        filters,
        sentence,
        facts.study.test is not None and facts.study.test.invented,
        _life(facts),
        tuple(words),
        tuple(section for section in made if section is not None),
    )


def _curve(facts: SandFacts) -> SandSection | None:
    section = grading_section(facts)
    if section is None:
        return None
    return replace(section, tables=(), notes=section.notes[1:3])


def _checks(facts: SandFacts) -> SandSection | None:
    """Only what some source does not allow; the rest is in the words."""
    section = checks_section(facts)
    if section is None:
        return None
    tables = tuple((name, table) for name, table in section.tables if not table.folded)
    return replace(section, tables=tables, notes=())


def _seen(facts: SandFacts) -> SandSection | None:
    section = record_section(facts)
    if section is None:
        return None
    return replace(section, tables=section.tables[:1], notes=section.notes[:1])


def _life(facts: SandFacts) -> Pairs:
    """The bed's life in a few numbers."""
    laid, units = facts.beds[0], facts.units
    bed, case = laid.study, laid.study.case
    losses = [loss.loss_m for loss in bed.losses[0][1]]
    pairs = [
        (
            "Clean loss in cold water",
            f"{show(min(losses), 'gap', units=units)} to {show(max(losses), 'gap', units=units)}",
        ),
        ("Clean, with no throttle", show(bed.throttling.free_m_per_s, "rate", units=units)),
    ]
    if laid.hole_limit_m is not None:
        pairs.append(("Hole that keeps its limit", f"{laid.hole_limit_m * 1e3:.1f} mm"))
    pairs.append(
        (
            f"Run at {show(case.design_m_per_s, 'rate', units=units)}",
            time_text(bed.years.laws[0].usual.time_s),
        )
    )
    ripening = min(bed.years.ripening, key=lambda r: abs(r.temp_degc - case.mean_degc))
    pairs.append(("New sand is ripe after", time_text(ripening.ripe_s)))
    mine = [r for r in facts.records if r.filter_id == case.name]
    for record in mine:
        pairs.append(("Cleaned in the run", f"{record.cleanings_per_year:.1f} times a year"))
        pairs.append(("Less than ripe", f"{100.0 * record.unripe_frac:.0f} % of the days"))
    return tuple(pairs)

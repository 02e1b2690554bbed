"""The sections that say what to do: the checklist of criteria, the guide, and where to begin."""

from __future__ import annotations

from roofspring.report._amounts import step_text
from roofspring.report._cells import Table, cited
from roofspring.report.sand_document import SandSection
from roofspring.report.sand_facts import SandFacts
from roofspring.sandfilter.acceptance import SHORT, AcceptanceRow
from roofspring.sandfilter.sieve import meshes
from roofspring.units import UnitSet

SIDES = {"below": "too low", "above": "too high"}
PARTS = {
    "start": "Laying and filling",
    "ripen": "Ripening",
    "scrape": "Scraping",
    "rake": "Raking instead",
    "re-sand": "New sand",
    "stop": "Stops and frost",
    "dry": "After it has run dry",
}


def checks_section(facts: SandFacts) -> SandSection | None:
    """Every published criterion beside the filter's own value."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    listed = bed.accepted.rows
    names = dict.fromkeys(row.criterion for row in listed)
    given = {row.criterion for row in listed if row.state != "not given"}
    broken = {row.criterion for row in listed if row.state in ("below", "above")}
    kept = {row.criterion for row in listed if row.state == "within"}

    def of(which: set[str]) -> tuple[tuple[str, ...], ...]:
        return tuple(
            _check([row for row in listed if row.criterion == name], units)
            for name in names
            if name in which
        )

    heads = ("What, and here", "Allowed by", "Not allowed by")
    whose = f" ({bed.case.name})" if facts.beds[1:] else ""
    tables = (
        (f"Not allowed by one source or another{whose}", Table(heads, of(broken))),
        (f"Allowed by all{whose}", Table(heads[:2], _cut(of(given - broken)), folded=True)),
        ("Not given, so not judged",
         Table(("What", "Wanted by"), _cut(of(set(names) - given)), folded=True)),
    )  # fmt: skip
    return SandSection(
        "checks",
        "Checklist",
        "Against every published criterion",
        paragraphs=(
            f"Of {len(given)} criteria with a value, {len(given - broken)} are kept by all "
            f"sources, {len(broken & kept)} by some, and {len(broken - kept)} by none. The sources "
            "were written for different filters, from a bucket to a city's, and disagree; choose "
            "the one written for a filter like yours. What is not given is not judged.",
        ),
        tables=tuple((name, table) for name, table in tables if table.rows),
        notes=tuple(dict.fromkeys(cited(row.source) for row in listed)),
    )


def _cut(rows: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    return tuple(row[:2] for row in rows)


def _check(rows: list[AcceptanceRow], units: UnitSet) -> tuple[str, ...]:
    """One criterion: the value, and the sources that allow it and that do not."""

    def said(row: AcceptanceRow) -> str:
        more = [SIDES[row.state]] if row.state in SIDES else []
        more += [row.note] if row.note else []
        return f"{SHORT[row.source]}: {row.limit_in(units)}" + (
            f" ({'; '.join(more)})" if more else ""
        )

    kept = "; ".join(said(row) for row in rows if row.state == "within")
    broken = "; ".join(said(row) for row in rows if row.state in SIDES)
    if rows[0].state == "not given":
        return (rows[0].title, "; ".join(said(row) for row in rows), "")
    return (f"{rows[0].title}: {rows[0].value_in(units)}", kept or "none", broken)


def guide_section(facts: SandFacts) -> SandSection | None:
    """Commissioning and cleaning, from the filter's own numbers."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    tables: list[tuple[str, Table]] = []
    for part, name in PARTS.items():
        steps = bed.guide.part(part)
        rows = tuple(
            (f"{n}. {step_text(step, units)}", f"{step.why} {step.caution}".strip())
            for n, step in enumerate(steps, start=1)
        )
        if rows:
            tables.append((name, Table(("Do", "Because"), rows, folded=bool(tables))))
    return SandSection(
        "guide",
        "Guide",
        "Laying, ripening, cleaning: step by step",
        paragraphs=(
            f"For {bed.case.name if bed.case.name != 'bed' else 'this bed'}, from its own numbers. "
            "Print it and hang it beside the filter.",
            *bed.guide.cautions,
        ),
        tables=tuple(tables),
        notes=tuple(dict.fromkeys(cited(step.source) for step in bed.guide.steps)),
    )


def first_section(facts: SandFacts) -> SandSection | None:
    """What a bucket and three sieves would tell, where nothing was sieved."""
    study = facts.study
    if study.test is not None:
        return None
    wanted = study.wanted
    names = ", ".join(list(meshes())[:6])
    return SandSection(
        "first",
        "Bucket and sieves",
        "What a bucket and three sieves would tell",
        paragraphs=(
            "Nothing was sieved, so d10, uniformity and fines are somebody's word or a wish. One "
            "bucket, taken from several places of the heap, is enough to know.",
            f"Three sieves tell most of it: 0.150, 0.300 and 0.600 mm. For a sand like the one "
            f"wanted ({wanted.d10_m * 1e3:.3g} mm, uniformity {wanted.uniformity:.3g}), 10 % must "
            f"pass near {wanted.d10_m * 1e3:.3g} mm and 60 % near "
            f"{wanted.d10_m * wanted.uniformity * 1e3:.3g} mm. Dry half a kilogram, weigh it, "
            'shake it ten minutes, and give what lies on each: --sieve "0.600 mm=120 g" --sieve '
            '"pan=3 g", or the same as a table.',
            f"Without sieves, household meshes ({names}) bound the effective size, and a settling "
            'jar shows the silt: --mesh "fly-screen=95 %" --jar-sand "95 mm" --jar-silt "4 mm". A '
            'supplier\'s two numbers go in as --stated-d10 "0.25 mm" --stated-uniformity 2.0; ask '
            "for the sieve test behind them.",
            "Look and feel as well: hard clean quartz is wanted. Leave sand that fizzes under "
            "vinegar, smears when rubbed wet, smells, tastes of salt, or comes from a road, a mine "
            "or a beach.",
        ),
        notes=("Openings of household meshes: common practice, no source.",),
    )

"""The sections on what lies under the sand, and on sand without sieves."""

from __future__ import annotations

from roofspring.report._cells import Table, cited, percent
from roofspring.report.sand_charts import box_chart
from roofspring.report.sand_document import SandSection
from roofspring.report.sand_facts import SandFacts
from roofspring.sandfilter.stock import GRAIN_KG_PER_M3
from roofspring.units import show

GRAVEL_VOIDS_FRAC = 0.40
"""Engineering choice."""


def gravel_section(facts: SandFacts) -> SandSection | None:
    """The layers under the sand, and the rules they keep."""
    study, units = facts.study, facts.units
    gravel, drain = study.gravel, facts.drain
    if gravel is None or study.base is None:
        return None
    chart = None
    if facts.pictures:
        chart = box_chart(
            gravel,
            sand_m=study.bed.depth_m,
            drain=None if drain is None else drain.law,
            pipe_m=0.0 if drain is None else drain.pipe_m,
            units=units,
        )
    area, bulk_kg_per_m3 = study.bed.area_m2, (1.0 - GRAVEL_VOIDS_FRAC) * GRAIN_KG_PER_M3
    layers = tuple(
        (
            f"{n}",
            layer.text,
            show(layer.thickness_m, "gap", units=units),
            show(area * layer.thickness_m, "bulk", units=units),
            show(area * layer.thickness_m * bulk_kg_per_m3, "mass", units=units),
        )
        for n, layer in enumerate(gravel.layers, start=1)
    )
    checks = tuple(
        (f"{n}", c.kind, c.what, f"{c.have:.2f}", c.limit, "holds" if c.ok else "FAILS")
        for n, layer in enumerate(gravel.layers, start=1)
        for c in layer.checks
    )
    sources = dict.fromkeys(cited(c.source) for layer in gravel.layers for c in layer.checks)
    tables = []
    if layers:
        heads = ("Layer, from the top", "Gravel", "Thickness", "Volume", "Mass, about")
        tables = [
            ("The layers", Table(heads, layers, frozenset({2, 3, 4}))),
            (
                "The rules",
                Table(
                    ("Layer", "Rule", "Ratio", "Is", "Wanted", ""),
                    checks,
                    frozenset({3, 4}),
                    folded=all(row[-1] == "holds" for row in checks),
                ),
            ),
        ]
    return SandSection(
        "gravel",
        "Gravel",
        "Gravel under the sand",
        paragraphs=(
            f"Rule followed: {gravel.rule.words}. Each layer must hold the grains above it back "
            "and still let water through much more easily.",
            *((f"Not possible: {gravel.lack}.",) if gravel.lack else ()),
        ),
        figures=() if chart is None else (chart,),
        tables=tuple(tables),
        notes=tuple(sources),
    )


def drain_section(facts: SandFacts) -> SandSection | None:
    """The perforated pipe on the floor."""
    drain, units = facts.drain, facts.units
    if drain is None:
        return None
    law = drain.law
    rows = "one row" if drain.rows_count == 1 else f"{drain.rows_count} rows"
    many = "One pipe" if drain.laterals_count == 1 else f"{drain.laterals_count} pipes"
    return SandSection(
        "drain",
        "Drain",
        "The drain pipe",
        paragraphs=(
            f"{many} of {drain.pipe_m * 1e3:g} mm inside, "
            f"{show(drain.length_m, 'length', units=units)} long under each bed, with "
            f"{law.holes_count} holes of {drain.hole_m * 1e3:g} mm in all: {rows}, "
            f"{law.spacing_m * drain.rows_count * 1e3:.0f} mm apart along each, on the lower half "
            "of the pipe.",
            f"The same source also has holes 0.15 m apart. Here that would be "
            f"{drain.few_holes_count}, which would lose {drain.few_loss_m * 1e3:.0f} mm at the "
            f"highest rate instead of {law.hole_loss_m * 1e3:.1f} mm; so the holes are counted by "
            "their area.",
            "Under slow sand it is the bed that spreads the flow, not the pipe. Such drains fail "
            "because they clog or let sand in, so wash the gravel and keep the layers level.",
        ),
        facts=(
            ("Highest rate", show(drain.rate_m_per_s, "rate", units=units)),
            ("Speed in the holes", f"{law.hole_m_per_s * 1e3:.1f} mm/s"),
            ("Loss in the holes", f"{law.hole_loss_m * 1e3:.3f} mm"),
            ("Speed in the pipe", f"{law.lateral_m_per_s * 1e3:.0f} mm/s"),
            ("Uneven draw", f"{100 * law.spread_frac:.2f} %"),
            ("Clean bed's loss", f"{drain.bed_loss_m * 1e3:.0f} mm"),
        ),
        notes=(
            f"Holes of 0.15 % of the bed and pipes 1.5 m apart: {cited('VAN_DIJK_OOMEN_1978')}.",
            "Uneven draw: head between the far and the near end of the pipe, over the loss of the "
            "clean bed and the holes.",
        ),
    )


def rough_section(facts: SandFacts) -> SandSection | None:
    """Household meshes and the jar."""
    rough, jar = facts.study.rough, facts.study.jar
    if rough is None and jar is None:
        return None
    words, tables = [], []
    if rough is not None:
        words.append(
            f"By household meshes the effective size lies {rough.text}. That is an interval and "
            "not a size: openings differ from maker to maker, and a measuring cup is a poor scale."
        )
        rows = tuple(
            (
                s.mesh.name,
                f"{s.mesh.low_m * 1e3:.2f} to {s.mesh.high_m * 1e3:.2f} mm",
                percent(s.passing_frac),
                s.mesh.what,
            )
            for s in rough.shares
        )
        heads = ("Mesh", "Opening", "Fell through", "What it is")
        tables.append(("Household meshes", Table(heads, rows, frozenset({1, 2}))))
    if jar is not None:
        words.append(
            f"In the jar {percent(jar.height_frac)} of the height is silt and clay. Silt lies "
            f"looser than sand: of the dry mass that is {percent(jar.low_frac)} to "
            f"{percent(jar.high_frac)}."
        )
    return SandSection(
        "rough",
        "Without sieves",
        "Without sieves",
        paragraphs=tuple(words),
        tables=tuple(tables),
        notes=("Openings of household meshes: common practice, no source.",) if rough else (),
    )

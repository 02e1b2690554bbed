"""The sections of the sand page that come from the sieve test: curve, limits, cuts, blends."""

from __future__ import annotations

from roofspring.report._cells import Table, cited, percent
from roofspring.report.sand_charts import grading_chart, sizes_text
from roofspring.report.sand_document import SandSection
from roofspring.report.sand_facts import SandFacts
from roofspring.sandfilter.sieve import (
    FINES_M,
    KIND_WORDS,
    GradingCurve,
    Quantity,
    Reading,
    opening_text,
    share_text,
    sieve_name,
    size_text,
)
from roofspring.sandfilter.stock import GRAIN_KG_PER_M3, Blend
from roofspring.sandfilter.study import SandStudy
from roofspring.units import UnitSet, show

YES = {True: "within", False: "outside", None: "cannot be told"}


def grading_section(facts: SandFacts) -> SandSection | None:
    """The sieve test, its curve and the sizes read off it."""
    study, test = facts.study, facts.study.test
    if test is None:
        return None
    curve = test.curve
    chart = grading_chart(study) if facts.pictures else None
    least, most = curve.fines_frac
    even, bend = curve.uniformity, curve.curvature
    loss = "not checked" if test.loss_frac is None else f"{100 * test.loss_frac:.2f} %"
    return SandSection(
        "grading",
        "Grading",
        "The grading curve",
        facts=(
            ("Effective size, d10", curve.size(0.10).text),
            ("Uniformity, d60 / d10", "unknown" if even is None else f"{even:.2f}"),
            ("Curvature, d30² / (d10 d60)", "unknown" if bend is None else f"{bend:.2f}"),
            ("Fines, under 0.075 mm", share_text(least, most)),
            ("Lost in sieving", loss),
        ),
        figures=() if chart is None else (chart,),
        tables=(
            ("Sizes", _sizes(curve)),
            ("The sieve test", _sieves(study)),
        ),
        notes=(
            f"Read as: {KIND_WORDS[test.kind]}.",
            "Sizes are interpolated on the logarithm of size between the two sieves that stand "
            "beside them; the size itself may lie anywhere between those two.",
            "Field and laboratory tests of one sand have differed by up to 24 % in effective size "
            f"and uniformity ({cited('LEHIGH_2025')}).",
            f"Curvature: from 1 to 3 the curve runs smoothly; outside, grains of the middle are "
            f"lacking or too many ({cited('DAS_2010')}).",
            f"For the head-loss formula of Fair and Hatch, the sum of p / d² is "
            f"{curve.fair_hatch_per_m2() / 1e6:.3g} per mm² ({cited('DAVIS_2010, table 11-2')}).",
        ),
    )


def _sizes(curve: GradingCurve) -> Table:
    shares = (0.05, 0.10, 0.15, 0.50, 0.60, 0.85, 0.90, 0.95)
    rows = tuple(
        (f"{100 * share:.0f} % ({name})", text, _beside(curve.size(share)))
        for (name, text), share in zip(sizes_text(curve), shares, strict=True)
    )
    return Table(("Share finer", "Size", "Between sieves"), rows, frozenset({1, 2}))


def _beside(reading: Reading) -> str:
    if reading.size_m is None or reading.least_m is None or reading.most_m is None:
        return "off the sieves"
    if reading.least_m == reading.most_m:
        return "on a sieve"
    return f"{reading.least_m * 1e3:.4g} to {reading.most_m * 1e3:.4g} mm"


def _sieves(study: SandStudy) -> Table:
    test = study.test
    assert test is not None
    masses = test.total_kg is not None
    rows = []
    for size_m, held, passing in reversed(
        list(zip(test.curve.sizes_m, test.retained_frac, test.curve.passing_frac, strict=True))
    ):
        mass = (f"{1e3 * held * (test.total_kg or 0.0):.1f} g",) if masses else ()
        rows.append((sieve_name(size_m), *mass, percent(held), percent(passing)))
    pan = (f"{1e3 * test.pan_frac * (test.total_kg or 0.0):.1f} g",) if masses else ()
    rows.append(("pan", *pan, percent(test.pan_frac), ""))
    heads = ("Sieve", *(("Mass retained",) if masses else ()), "Share retained", "Passing")
    return Table(heads, tuple(rows), frozenset(range(1, len(heads))), folded=True)


def limits_section(facts: SandFacts) -> SandSection | None:
    """The sand as it is against every published limit."""
    study = facts.study
    if not study.verdicts:
        return None
    kinds = dict.fromkeys(v.quantity for v in study.verdicts)
    sources_of = dict.fromkeys(v.criterion.id for v in study.verdicts)
    rows = tuple(_limits(study, source, tuple(kinds)) for source in sources_of)
    said = []
    for kind in kinds:
        mine = [v for v in study.verdicts if v.quantity == kind]
        yes = sum(v.ok is True for v in mine)
        said.append(f"{kind} {mine[0].have}: {yes or 'none'} of {len(mine)}")
    sources = dict.fromkeys(cited(v.criterion.source) for v in study.verdicts)
    notes = dict.fromkeys(
        f"{v.criterion.short}: {v.criterion.note}." for v in study.verdicts if v.criterion.note
    )
    return SandSection(
        "limits",
        "Limits",
        "Against published limits",
        paragraphs=(
            f"How many sources allow the sand as it is: {'; '.join(said)}. They do not agree, so "
            "each is shown; a sand that one of them allows can be outside another.",
        ),
        tables=(
            (
                "Limits, source by source",
                Table(("Source", *(k.capitalize() for k in kinds)), rows, folded=True),
            ),
        ),
        notes=(*notes, *sources),
    )


def _limits(study: SandStudy, source: str, kinds: tuple[Quantity, ...]) -> tuple[str, ...]:
    """One source: what it asks, and whether the sand as it is keeps it."""
    mine = {v.quantity: v for v in study.verdicts if v.criterion.id == source}
    short = next(iter(mine.values())).criterion.short
    return (
        short + (" (followed here)" if source == study.chosen.id else ""),
        *(f"{mine[k].limit}: {YES[mine[k].ok]}" if k in mine else "not asked" for k in kinds),
    )


def cut_section(facts: SandFacts) -> SandSection | None:
    """What to take out of the stock, and what is left."""
    study = facts.study
    split, widest, wanted = study.split, study.widest, study.wanted
    if study.curve is None:
        return None
    ways = [("Exactly what is wanted", split), ("Widest within the limits", widest)]
    rows = tuple(
        (
            name,
            percent(s.usable_frac),
            percent(s.too_fine_frac),
            percent(s.too_coarse_frac),
            _cut_text(s.cut_fine),
            _cut_text(s.cut_coarse),
            s.curve.size(0.10).text,
            "unknown" if s.curve.uniformity is None else f"{s.curve.uniformity:.2f}",
        )
        for name, s in ways
        if s is not None and s.curve is not None
    )
    heads = ("Cut", "Usable", "Too fine", "Too coarse", "Take out below", "Take out above",
             "Then d10", "Then d60 / d10")  # fmt: skip
    tables = [("The cuts", Table(heads, rows, frozenset(range(1, 8))))] if rows else []
    if study.real:
        tables.append(("With sieves that exist", _real(study)))
    words = (
        f"Wanted: effective size {size_text(wanted.d10_m)}, uniformity {wanted.uniformity:g}. "
        "Half of the finished sand lies between d10 and d60; so what the stock has between these "
        "two sizes says how much of it is usable."
    )
    if split is not None and split.lack:
        words += f" This stock cannot be cut to just that: {split.lack}."
    if split is None:
        words += " Those sizes lie off the sieves of this test, so no cut can be worked out."
    return SandSection(
        "cut",
        "Cuts",
        "What to take out",
        paragraphs=(words,),
        tables=tuple(tables),
        notes=(
            f"Method: {cited('SINCERO_2003')}, after Fair, Geyer and Okun. The last two "
            "columns are read off the trimmed curve again: a check of the cuts.",
        ),
    )


def _cut_text(cut: Reading) -> str:
    return "nothing" if cut.size_m is None else size_text(cut.size_m)


def _real(study: SandStudy) -> Table:
    rows = tuple(
        (
            "none" if c.fine_m is None else sieve_name(c.fine_m),
            "none" if c.coarse_m is None else sieve_name(c.coarse_m),
            percent(c.usable_frac),
            c.d10.text,
            "unknown" if c.uniformity is None else f"{c.uniformity:.2f}",
            "yes" if c.within(study.wanted) else "no",
        )
        for c in study.real
    )
    heads = ("Fine sieve", "Coarse sieve", "Usable", "d10", "d60 / d10", "Within limits")
    return Table(heads, rows, frozenset(range(2, 5)))


def buy_section(facts: SandFacts) -> SandSection | None:
    """How much to buy, and washing it."""
    study, units = facts.study, facts.units
    buy, wash = study.purchase, study.wash
    if buy is None:
        return None
    of = "" if study.bed.named else " for each square metre of bed"
    pairs = [
        (f"Sand in place{of}", show(buy.bed_m3, "bulk", units=units)),
        ("Dry mass in place", show(buy.bed_kg, "mass", units=units)),
        ("Stock to get, dry", show(buy.stock_kg, "mass", units=units)),
        ("Stock to get, loose", show(buy.stock_m3, "bulk", units=units)),
    ]
    words = [
        *_cut_words(study),
        "Masses are dry. Moist sand lies looser, up to a third: buy by mass, or take a third more "
        "by volume.",
    ]
    if wash is not None:
        words.append(_wash_words(facts))
    return SandSection(
        "buy",
        "Buy and wash",
        "What to buy, and washing it",
        paragraphs=tuple(words),
        facts=tuple(pairs),
        notes=(
            f"Grains 2650 kg/m³ ({cited('DAVIS_2010, table 11-1')}), voids "
            f"{100 * study.bed.porosity_frac:g} %.",
            *(
                ()
                if wash is None
                else (
                    f"Settling: {wash.wash.settling.law}, Reynolds number "
                    f"{wash.wash.settling.reynolds:.2g} (the law of Stokes holds to about 1; "
                    f"{cited('STOKES_1851')}).",
                    "Fines are taken to be spread evenly over the logarithm of size down to 0.002 "
                    "mm: engineering choice. Real clay may want more washes, or fewer.",
                )
            ),
        ),
    )


def _cut_words(study: SandStudy) -> tuple[str, ...]:
    """By which cut the stock was reckoned."""
    cut = study.advised
    if cut is None:
        return ("Reckoned for the sand as it is.",)
    words = f"Reckoned for a stock of which {percent(cut.usable_frac)} is usable."
    if cut.cut_fine.size_m is not None and cut.cut_fine.size_m > FINES_M:
        words += " Made on a sieve under running water, the fine cut washes the sand as well."
    return (words,)


def _wash_words(facts: SandFacts) -> str:
    study, units = facts.study, facts.units
    wash = study.wash
    assert wash is not None
    fine = f"up to {percent(wash.fines_frac)}" if study.curve is not None and (
        study.curve.fines_frac[0] < study.curve.fines_frac[1]
    ) else percent(wash.fines_frac)  # fmt: skip
    count = wash.wash.washes_count
    if count == 0:
        return (
            f"Fines are {fine}, within the limit of {percent(wash.limit_frac)}. Rinse anyway until "
            "the water runs clear: dust from the heap clings to the grains."
        )
    if count is None:
        return (
            f"Fines are {fine}. Decanting alone does not bring them to "
            f"{percent(wash.limit_frac)}: wash with running water over a 0.075 mm sieve, or find "
            "a cleaner sand."
        )
    return (
        f"Fines are {fine}; the limit is {percent(wash.limit_frac)}. In a bucket with 100 mm of "
        f"sand under 200 mm of water: stir, wait {wash.wash.settle_s:.0f} seconds, pour off all "
        f"the water, {count} time{'s' if count > 1 else ''} over. About {wash.buckets_count} "
        f"buckets of {show(wash.bucket_kg, 'mass', units=units)} each, "
        f"{show(wash.water_m3, 'small_volume', units=units, digits=0)} of water and "
        f"{wash.work_s / 3600.0:.1f} hours of work. Go on until the water pours off clear."
    )


def blend_section(facts: SandFacts) -> SandSection | None:
    """Mixing this sand with others."""
    study, units = facts.study, facts.units
    if not study.blends:
        return None
    words = [
        f"Sought: effective size {study.wanted.d10_low_m * 1e3:.2f} to "
        f"{study.wanted.d10_high_m * 1e3:.2f} mm, uniformity at most "
        f"{study.wanted.uniformity_most:g}. "
        + (
            "With prices: the cheapest."
            if study.stocks[0].cost_per_kg is not None
            else "Without prices: as much of the first sand as can be."
        )
    ]
    tables, lacks = [], set()
    for how, found in study.blends:
        if found.feasible:
            tables.append((f"Blend, {how}", _blend_table(study, found, units)))
            if found.left_out:
                tables.append(("What is sieved out first", _left_out(found)))
            even = "unknown" if found.uniformity is None else f"{found.uniformity:.2f}"
            words.append(
                f"The blend, {how}, has effective size "
                f"{'unknown' if found.d10 is None else found.d10.text} and uniformity {even}. Of "
                f"what is bought, {percent(1.0 / found.bought_per_used)} ends up in the bed."
            )
        else:
            why = (
                "for the same reason"
                if found.lack in lacks
                else f"{found.lack}.{_add_words(found)}"
            )
            words.append(f"{how.capitalize()}: not possible, {why}".removesuffix(".") + ".")
            lacks.add(found.lack)
    return SandSection(
        "blend",
        "Blend",
        "Blending",
        paragraphs=tuple(words),
        tables=tuple(tables),
        notes=(
            "A linear program over the shares between sieves. What passes a size off the sieves of "
            "a stock is taken at its worst. Mix by dry mass, in small batches, and sieve the mix "
            "again.",
        ),
    )


def _add_words(found: Blend) -> str:
    if found.add_frac is None or found.add_low_m is None or found.add_high_m is None:
        return ""
    if found.add_frac > 0.999:
        return (
            f" None of these sands helps: get one with grains between {size_text(found.add_low_m)} "
            f"and {size_text(found.add_high_m)}."
        )
    return (
        f" It would be with at least {percent(found.add_frac)} of a sand whose grains all lie "
        f"between {size_text(found.add_low_m)} and {size_text(found.add_high_m)}."
    )


def _blend_table(study: SandStudy, found: Blend, units: UnitSet) -> Table:
    bed_kg = None if study.purchase is None else study.purchase.bed_kg
    if bed_kg is None:
        bed = study.bed
        bed_kg = bed.area_m2 * bed.depth_m * (1.0 - bed.porosity_frac) * GRAIN_KG_PER_M3
    rows = tuple(
        (
            stock.name,
            percent(part),
            show(part * found.bought_per_used * bed_kg, "mass", units=units),
        )
        for stock, part in zip(study.stocks, found.parts_frac, strict=True)
    )
    if found.cost_per_kg is not None:
        rows = (*rows, ("Cost of the bed, in your currency", "",
                        f"{found.cost_per_kg * bed_kg:,.2f}"))  # fmt: skip
    return Table(("Sand", "Share of what is bought", "Dry mass"), rows, frozenset({1, 2}))


def _left_out(found: Blend) -> Table:
    rows = tuple(
        (out.stock, _between(out.low_m, out.high_m), percent(out.share_frac))
        for out in found.left_out
    )
    return Table(("Sand", "Grains", "Of these, leave out"), rows, frozenset({2}))


def _between(low_m: float | None, high_m: float | None) -> str:
    """Grains between two sieves, or beyond one."""
    if low_m is None:
        return "all" if high_m is None else f"finer than {sieve_name(high_m)}"
    if high_m is None:
        return f"coarser than {sieve_name(low_m)}"
    return f"{opening_text(low_m)} to {sieve_name(high_m)}"

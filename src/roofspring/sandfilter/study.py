"""One sand looked at from all sides: its sieve test, the cuts, the wash, the blend, the gravel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from roofspring.errors import Finding, ranked
from roofspring.sandfilter.gravel import (
    Base,
    GravelDesign,
    GravelRule,
    design_gravel,
    gravel_findings,
    sand_base,
)
from roofspring.sandfilter.sieve import (
    Criterion,
    GradingCurve,
    JarTest,
    RoughSand,
    SieveTest,
    Verdict,
    criteria,
    sand_findings,
    series,
    verdicts,
)
from roofspring.sandfilter.stock import (
    GRAIN_KG_PER_M3,
    Blend,
    Purchase,
    RealCut,
    Split,
    Stock,
    Wanted,
    Washing,
    blend,
    real_cuts,
    sand_to_buy,
    split_stock,
    washing,
    widest_cut,
)
from roofspring.sources import ENGINEERING_CHOICE

FINES_LIMIT_ID = "barrett-1991"
BUCKET_M2, BUCKET_SAND_M, BUCKET_WATER_M = 0.07, 0.10, 0.20
HANDLING_S = 120.0
"""A 20-litre bucket a third full of sand, and two minutes to fill, stir and pour: engineering
choice."""
LITTLE_FRAC = 0.30
"""Usable shares under this make more waste than sand: engineering choice."""


@dataclass(frozen=True)
class Bed:
    """The bed, or beds, to be filled. ``named`` is False where no area was given: then 1 m2."""

    area_m2: float
    depth_m: float
    porosity_frac: float
    named: bool = True


@dataclass(frozen=True)
class WashPlan:
    """Washing the sand of a bed in buckets."""

    wash: Washing
    fines_frac: float
    limit_frac: float
    source: str
    bucket_kg: float
    buckets_count: int
    water_m3: float
    work_s: float


@dataclass(frozen=True)
class Stated:
    """What a supplier's sheet says of a sand: effective size and uniformity, unseen."""

    d10_m: float
    uniformity: float


@dataclass(frozen=True)
class SandStudy:
    """Everything found out about one sand.

    Attributes
    ----------
    test : SieveTest or None
        None where there were no sieves; then the parts that need a curve are None or empty.
    wanted : Wanted
    chosen : Criterion
        The published limits that this follows.
    bed : Bed
    verdicts : tuple of Verdict
        The sand as it is against every source.
    fits : bool or None
        Whether it lies within the chosen limits as it is; None where that cannot be told.
    split : Split or None
        The cuts that give exactly what is wanted.
    real : tuple of RealCut
        What sieves that exist give in place of those cuts.
    widest : Split or None
        The cuts that waste least and stay within the limits.
    purchase : Purchase or None
        Stock to buy for the bed, by the way that is advised.
    advised : Split or None
        The exact cut where there is one, else the widest; None where the sand needs no cut or
        bears none.
    wash : WashPlan or None
    blends : tuple of (str, Blend)
        How it was sought, and what was found; empty without other stocks.
    stocks : tuple of Stock
    base : Base or None
        Sizes of the sand in the bed, which the gravel must hold.
    gravel : GravelDesign or None
    rough : RoughSand or None
    jar : JarTest or None
    stated : Stated or None
        A supplier's word, where there is no test.
    findings : tuple of Finding
    """

    test: SieveTest | None
    wanted: Wanted
    chosen: Criterion
    bed: Bed
    verdicts: tuple[Verdict, ...] = ()
    fits: bool | None = None
    split: Split | None = None
    real: tuple[RealCut, ...] = ()
    widest: Split | None = None
    advised: Split | None = None
    purchase: Purchase | None = None
    wash: WashPlan | None = None
    blends: tuple[tuple[str, Blend], ...] = ()
    stocks: tuple[Stock, ...] = ()
    base: Base | None = None
    gravel: GravelDesign | None = None
    rough: RoughSand | None = None
    jar: JarTest | None = None
    stated: Stated | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def curve(self) -> GradingCurve | None:
        """Of the sand as it is."""
        return None if self.test is None else self.test.curve

    @property
    def bed_curve(self) -> GradingCurve | None:
        """Of the sand in the bed: as it is, after the cuts that are advised, or blended.

        None where nothing that fits can be made of it.
        """
        if self.advised is not None and self.advised.curve is not None:
            return self.advised.curve
        if self.fits is not False:
            return self.curve
        return next((b.curve for _, b in self.blends if b.curve is not None), None)


def study_sand(
    test: SieveTest,
    *,
    wanted: Wanted,
    chosen: Criterion,
    bed: Bed,
    rule: GravelRule,
    hole_m: float,
    temp_degc: float,
    cost_per_kg: float | None = None,
    others: Sequence[Stock] = (),
) -> SandStudy:
    """Look at a sand that was sieved.

    Parameters
    ----------
    test : SieveTest
    wanted : Wanted
        The target of the cuts, and the band of the blends.
    chosen : Criterion
        Published limits that this follows.
    bed : Bed
        To be filled with it.
    rule : GravelRule
        By which the gravel is chosen.
    hole_m : float
        Diameter of the drain holes [m].
    temp_degc : float
        Of the water for washing [degrees C].
    cost_per_kg : float, optional
        Price of this sand, where the others have one.
    others : sequence of Stock
        Sands that could be blended with it.

    Returns
    -------
    SandStudy

    Raises
    ------
    SieveError (SIV-024), RangeError
        Prices on some sands only; a size or temperature outside its range.

    Source
    ------
    As the parts say.
    """
    curve = test.curve
    rows = verdicts(curve)
    mine = [r.ok for r in rows if r.criterion.id == chosen.id]
    fits = False if False in mine else None if None in mine else True
    split = split_stock(curve, wanted=wanted)
    widest = widest_cut(curve, wanted=wanted)
    good = split if split is not None and split.curve is not None else None
    advised = None if fits else good or widest
    cuts = None if good is None else (good.cut_fine.size_m, good.cut_coarse.size_m)
    stocks = (Stock(curve, cost_per_kg), *others)
    found = SandStudy(
        test=test,
        wanted=wanted,
        chosen=chosen,
        bed=bed,
        verdicts=rows,
        fits=fits,
        split=split,
        real=() if cuts is None else real_cuts(curve, cuts_m=cuts, openings_m=series("astm")),
        widest=widest,
        advised=advised,
        blends=_blends(stocks, wanted) if others else (),
        stocks=stocks,
    )
    base = None if found.bed_curve is None else sand_base(found.bed_curve)
    purchase = _purchase(found, bed)
    wash = None if purchase is None else _wash(curve, purchase, bed, temp_degc)
    gravel = None if base is None else design_gravel(base, hole_m=hole_m, rule=rule)
    findings = (
        *test.findings,
        *sand_findings(
            curve,
            rows,
            chosen=chosen,
            use="as it is"
            if advised is None and not any(b.feasible for _, b in found.blends)
            else "to be prepared",
        ),
        *_cut_findings(found),
        *_blend_findings(found),
        *(gravel_findings(gravel, base) if gravel is not None and base is not None else ()),
    )
    return replace(
        found,
        base=base,
        purchase=purchase,
        wash=wash,
        gravel=gravel,
        findings=ranked(dict.fromkeys(findings)),
    )


def _blends(stocks: tuple[Stock, ...], wanted: Wanted) -> tuple[tuple[str, Blend], ...]:
    mix = blend(stocks, wanted=wanted)
    if mix.feasible and stocks[0].cost_per_kg is None:  # nothing is thrown away: none does better
        return (("mixed as they are", mix),)
    sieved = blend(stocks, wanted=wanted, method="sieve-and-mix")
    return (("mixed as they are", mix), ("sieved, then mixed", sieved))


def _purchase(study: SandStudy, bed: Bed) -> Purchase | None:
    usable = 1.0 if study.fits else None if study.advised is None else study.advised.usable_frac
    if usable is None:
        return None
    return sand_to_buy(
        bed.area_m2, depth_m=bed.depth_m, usable_frac=usable, porosity_frac=bed.porosity_frac
    )


def _wash(curve: GradingCurve, purchase: Purchase, bed: Bed, temp_degc: float) -> WashPlan:
    limit = criteria()[FINES_LIMIT_ID]
    assert limit.fines_frac is not None
    fines = curve.fines_frac[1]
    wash = washing(
        fines,
        limit_frac=limit.fines_frac,
        bucket_water_m=BUCKET_WATER_M,
        layer_m=BUCKET_SAND_M,
        temp_degc=temp_degc,
        porosity_frac=bed.porosity_frac,
    )
    bucket_kg = BUCKET_M2 * BUCKET_SAND_M * (1.0 - bed.porosity_frac) * GRAIN_KG_PER_M3
    buckets = math.ceil(purchase.bed_kg / bucket_kg)
    return WashPlan(
        wash,
        fines,
        limit.fines_frac,
        limit.source,
        bucket_kg,
        buckets,
        purchase.bed_kg * wash.water_m3_per_kg,
        buckets * (wash.washes_count or 0) * (wash.settle_s + HANDLING_S),
    )


def _cut_findings(study: SandStudy) -> list[Finding]:
    found: list[Finding] = []
    split, wanted, curve = study.split, study.wanted, study.curve
    if study.fits or curve is None:
        return found
    goal = f"d10 {wanted.d10_m * 1e3:g} mm, uniformity {wanted.uniformity:g}"
    if split is None:
        found.append(
            Finding(
                "SIV-120",
                "caution",
                "what is wanted lies off the sieves, so no cut can be worked out",
                curve.name,
                f"sieves from {curve.sizes_m[0] * 1e3:g} to {curve.sizes_m[-1] * 1e3:g} mm",
                goal,
                "SINCERO_2003",
                "sieve through sizes below the wanted d10 and above the wanted d60",
            )
        )
    elif split.curve is None:
        found.append(
            Finding(
                "SIV-121",
                "note" if study.widest is not None else "caution",
                f"no cut of this sand gives exactly what is wanted: {split.lack}",
                curve.name,
                f"usable {100 * split.usable_frac:.0f} %, too fine {100 * split.too_fine_frac:.0f} "
                f"%, too coarse {100 * split.too_coarse_frac:.0f} %",
                goal,
                "SINCERO_2003",
                "take the widest cut within the limits, or blend"
                if study.widest is not None
                else "blend another sand in, or find another sand",
            )
        )
    advised = study.advised
    if advised is not None and advised.usable_frac < LITTLE_FRAC:
        found.append(
            Finding(
                "SIV-122",
                "caution",
                "little of this sand is usable",
                curve.name,
                f"{100 * advised.usable_frac:.0f} %",
                f"{100 * LITTLE_FRAC:g} % or more",
                ENGINEERING_CHOICE,
                "look for another sand, or blend, before you sieve so much",
            )
        )
    if study.real and not any(c.within(wanted) for c in study.real):
        found.append(
            Finding(
                "SIV-123",
                "note",
                "no pair of standard sieves next to the cuts leaves a sand within the limits",
                curve.name,
                "; ".join(f"d10 {c.d10.text}" for c in study.real[:2]),
                f"d10 {wanted.d10_low_m * 1e3:g} to {wanted.d10_high_m * 1e3:g} mm, uniformity at "
                f"most {wanted.uniformity_most:g}",
                study.chosen.source,
                "cut by washing, or blend",
            )
        )
    return found


def _blend_findings(study: SandStudy) -> list[Finding]:
    if not study.blends or any(b.feasible for _, b in study.blends):
        return []
    mix = study.blends[0][1]
    add = "find another sand"
    if mix.add_frac is not None and mix.add_low_m is not None and mix.add_high_m is not None:
        add = (
            f"add at least {100 * mix.add_frac:.0f} % of a sand whose grains lie between "
            f"{mix.add_low_m * 1e3:.2f} and {mix.add_high_m * 1e3:.2f} mm"
        )
    wanted = study.wanted
    return [
        Finding(
            "SIV-130",
            "caution",
            f"no blend of these sands will do: {mix.lack}",
            " + ".join(s.name for s in study.stocks),
            "no mix, sieved or not",
            f"d10 {wanted.d10_low_m * 1e3:g} to {wanted.d10_high_m * 1e3:g} mm, uniformity at most "
            f"{wanted.uniformity_most:g}",
            study.chosen.source,
            add,
        )
    ]

"""The sections on the water in the bed: head loss, throttle, levels, the first fill, the fall."""

from __future__ import annotations

from roofspring.report._amounts import time_text
from roofspring.report._cells import Table, cited
from roofspring.report.sand_document import SandSection
from roofspring.report.sand_facts import LaidBed, SandFacts
from roofspring.sandfilter.bed_study import DISH_WATER_M, FALL_TO_M, BedStudy
from roofspring.sandfilter.headloss import MODELS
from roofspring.sandfilter.heights import BACKFILL_COVER_M, BACKFILL_M_PER_S, SCOUR_M_PER_S
from roofspring.units import UnitSet, show, temp_text
from roofspring.water import REFERENCE_DEGC

SMOOTH_COUNT = 3
"""Readings of a falling head from which on it shows whether they lie on one fall."""
ENGINE = "kozeny-carman"


def of_which(facts: SandFacts, bed: LaidBed) -> str:
    """Which bed the numbers are of, and with which sand."""
    case, units = bed.study.case, facts.units
    words = f"{case.name}: " if facts.beds[1:] else ""
    words += (
        f"{show(case.area_m2, 'area', units=units, digits=2 if units == 'metric' else 1)} of sand, "
        f"{show(case.sand_m, 'length', units=units)} deep, effective size "
        f"{case.d10_m * 1e3:.3g} mm, uniformity {case.uniformity:.2f}"
    )
    if not bed.known:
        words += " (the sand that is wanted, not one that was sieved)"
    words = words[:1].upper() + words[1:] if not facts.beds[1:] else words
    if bed.assumed:
        words += f". Taken for want of better: {', '.join(bed.assumed)}"
    return words + "."


def loss_section(facts: SandFacts) -> SandSection | None:
    """Head lost in clean sand by every formula, and the wall."""
    if not facts.beds:
        return None
    laid, units = facts.beds[0], facts.units
    bed = laid.study
    (cold, cold_losses), (warm, warm_losses) = bed.losses
    rows = tuple(
        (
            MODELS[a.model].title + (" (used in a run)" if a.model == ENGINE else ""),
            show(a.loss_m, "depth", units=units),
            show(b.loss_m, "depth", units=units),
            "no" if a.outside or b.outside else "yes",
        )
        for a, b in zip(cold_losses, warm_losses, strict=True)
    )
    outside = "; ".join(
        f"{MODELS[a.model].title}: {', '.join(b.outside or a.outside)}"
        for a, b in zip(cold_losses, warm_losses, strict=True)
        if a.outside or b.outside
    )
    low, high = (f(x.loss_m for x in warm_losses) for f in (min, max))
    return SandSection(
        "loss",
        "Head loss",
        "Head lost in clean sand",
        paragraphs=(
            f"Clean and at {show(bed.case.design_m_per_s, 'rate', units=units)}, the bed takes "
            f"{show(low, 'depth', units=units)} to {show(high, 'depth', units=units)} of head at "
            f"{temp_text(warm, units)}, by the formula that is asked; cold water takes more. "
            "Porosity alone moves all of them by a quarter: time a fall of the water to know.",
            of_which(facts, laid),
            _wall_words(bed),
            *((f"Outside what a formula was made for: {outside}.",) if outside else ()),
        ),
        tables=(
            (
                "Six formulas side by side",
                Table(
                    (
                        "Formula",
                        f"At {temp_text(cold, units)}",
                        f"At {temp_text(warm, units)}",
                        "Made for this",
                    ),
                    rows,
                    frozenset({1, 2}),
                ),
            ),
        ),
        notes=(
            "Formulas that add up over grain sizes take the classes between the sieves"
            + (" of this test." if bed.case.classes else "; without a test, one size."),
            *dict.fromkeys(cited(MODELS[x.model].source) for x in warm_losses),
            *(cited(key) for key in ("MEHTA_HAWLEY_1969", "BENYAHIA_ONEILL_2005")),
        ),
    )


def _wall_words(bed: BedStudy) -> str:
    wall = bed.wall
    return (
        f"The wall: {wall.ratio:,.0f} grains lie across the box, and its drag adds "
        f"{100.0 * (wall.drag_factor - 1.0):.1f} % to the loss. A gap along a smooth wall is worse "
        "than that and no formula gives it: roughen or rib the wall."
    )


def throttle_section(facts: SandFacts) -> SandSection | None:
    """What the clean filter does with nothing to hold it."""
    if not facts.beds:
        return None
    laid, units = facts.beds[0], facts.units
    bed, case = laid.study, laid.study.case
    free = bed.throttling.free_m_per_s
    rate = show(free, "rate", units=units)
    head = show(case.head_m, "length", units=units)
    pairs = [("Clean, warm, full, with no throttle", rate)]
    if free > case.limit_m_per_s:
        words = (
            f"With nothing to hold it, the clean bed passes {rate} under {head} of water: "
            f"{free / case.limit_m_per_s:.1f} times its limit of "
            f"{show(case.limit_m_per_s, 'rate', units=units)}. A float valve and a weir hold the "
            "level, not the rate."
        )
    else:
        words = (
            f"Even clean, warm and full, with no throttle, the bed passes no more than {rate}, "
            f"within its limit of {show(case.limit_m_per_s, 'rate', units=units)}."
        )
    for name, rate_m_per_s, hole in (
        ("Hole that keeps it at its limit", case.limit_m_per_s, laid.hole_limit_m),
        ("Hole for the design rate", case.design_m_per_s, laid.hole_design_m),
    ):
        if hole is not None:
            pairs.append(
                (f"{name}, {show(rate_m_per_s, 'rate', units=units)}", f"{hole * 1e3:.1f} mm")
            )
    have = (
        "The plan has no throttle for it."
        if case.throttle_m_per_s is None and case.name != "bed"
        else ""
        if case.throttle_m_per_s is None
        else f"The plan throttles it to {show(case.throttle_m_per_s, 'rate', units=units)}."
    )
    return SandSection(
        "throttle",
        "Throttle",
        "What holds the rate",
        paragraphs=tuple(
            w
            for w in (
                words,
                have,
                *_others(facts),
                "A sharp round hole between drain and weir takes the head that the clean bed "
                "leaves over, and less and less of it as the skin grows. Put a strainer before so "
                "small a hole. A small valve, set with a bucket and a watch, does as well.",
            )
            if w
        ),
        facts=tuple(pairs),
        notes=(
            "Reckoned for the warmest water of the year, 20 °C at least, with a discharge "
            "coefficient of a sharp hole.",
            cited("STREETER_WYLIE_1979"),
        ),
    )


def _others(facts: SandFacts) -> tuple[str, ...]:
    """What the other filters of this sand do."""
    made = []
    for laid in facts.beds[1:]:
        case = laid.study.case
        free = show(laid.study.throttling.free_m_per_s, "rate", units=facts.units)
        held = (
            "nothing throttles it"
            if case.throttle_m_per_s is None
            else f"throttled to {show(case.throttle_m_per_s, 'rate', units=facts.units)}"
        )
        crest = (
            ""
            if case.crest_over_sand_m is None
            else f", weir {show(case.crest_over_sand_m, 'gap', units=facts.units)} over the sand"
        )
        made.append(f"{case.name}: {free} clean, warm and full; {held}{crest}.")
    return tuple(made)


def water_section(facts: SandFacts) -> SandSection | None:
    """Standing water, weir, inlet and the first fill."""
    if not facts.beds:
        return None
    laid, units = facts.beds[0], facts.units
    bed, case = laid.study, laid.study.case
    crest = show(case.crest_m, "gap", units=units)
    if case.crest_m < 0.0:
        standing = (
            f"The weir crest lies {show(-case.crest_m, 'gap', units=units)} under the sand: the "
            "bed can run dry and air comes out of the water in it."
        )
    else:
        standing = (
            f"With no inflow the water sinks to the weir and stands {crest} over the sand. So long "
            "as the crest is over the sand there is no suction anywhere in the bed, however "
            "clogged the skin: the least pressure lies just under it, "
            f"{show(bed.least_pressure_m, 'gap', units=units)} of water at the design rate, and "
            f"nears {crest} as the flow falls."
        )
    inlet, fill = bed.inlet, bed.fill
    jet = (
        ""
        if inlet.jet_m_per_s is None
        else f" Falling free to the lowest water, the jet strikes at "
        f"{_speed(inlet.jet_m_per_s, units)}."
    )
    flow = show(inlet.flow_m3_per_s, "flow", units=units, digits=0)
    most = f"The inlet lets in {flow} at most." if inlet.flow_known else (
        f"At the rate limit the inlet brings {flow}; a valve wide open may bring more."
    )  # fmt: skip
    return SandSection(
        "water",
        "Water and weir",
        "Water over the sand, and the first fill",
        paragraphs=(
            standing,
            f"Inlet: sand keeps still up to about {_speed(SCOUR_M_PER_S, units)}. {most}{jet} Let "
            f"it fall into a dish of {show(inlet.dish_m, 'gap', units=units)} across or more, with "
            f"its rim {show(DISH_WATER_M, 'gap', units=units)} under water, or onto a flat stone "
            "as wide; never onto the sand.",
            f"Dry sand is filled from below, with filtered water, at no more than "
            f"{show(BACKFILL_M_PER_S, 'rate', units=units)}: "
            f"{show(fill.water_m3, 'small_volume', units=units, digits=0)} in "
            f"{time_text(fill.time_s)}, until it stands "
            f"{show(BACKFILL_COVER_M, 'gap', units=units)} over the sand.",
        ),
        facts=(
            ("Standing water", crest),
            ("Highest water over the sand", show(case.crest_m + case.head_m, "gap", units=units)),
            ("Dish under the inlet", show(inlet.dish_m, "gap", units=units)),
            ("First fill", show(fill.water_m3, "small_volume", units=units, digits=0)),
        ),
        notes=(cited("AWWA_ASCE_CH9"), cited("HUISMAN_WOOD_1974"), cited("CAWST_SHEET")),
    )


def _speed(speed_m_per_s: float, units: UnitSet) -> str:
    if units == "us":
        return f"{speed_m_per_s / 0.3048:.2g} ft/s"
    return f"{speed_m_per_s:.2g} m/s"


def fall_section(facts: SandFacts) -> SandSection | None:
    """The falling-head test: what to expect, and what was measured."""
    if not facts.beds:
        return None
    laid, units = facts.beds[0], facts.units
    bed = laid.study
    k_text = show(bed.conductivity_20_m_per_s, "rate", units=units)
    words = [
        "Shut the inflow, take out the throttle, and time how fast the water sinks over the "
        f"clean sand. From {show(bed.fall_from_m, 'length', units=units)} to "
        f"{show(FALL_TO_M, 'gap', units=units)} over the weir expect {time_text(bed.fall_s)} at "
        f"{temp_text(bed.case.mean_degc, units)}, from half to twice that. Give the readings with "
        '--fall "0 min=480 mm" --fall "5 min=390 mm" ... --fall-temp "12 degC".',
    ]
    pairs = [(f"By its grains, at {temp_text(REFERENCE_DEGC, units)}", k_text)]
    test = bed.test
    if test is not None:
        if test.conductivity_20_m_per_s is None:
            words.insert(0, "In the test the skin that was given takes all of the head.")
        else:
            measured = show(test.conductivity_20_m_per_s, "rate", units=units)
            ratio = test.conductivity_20_m_per_s / bed.conductivity_20_m_per_s
            agrees = "they agree" if 0.5 <= ratio <= 2.0 else "they do not agree"
            words.insert(
                0,
                f"Measured, the conductivity of the sand is {measured}, {ratio:.2f} times what its "
                f"grains say: within half to twice counts as agreement, so {agrees}.",
            )
            pairs.append(("Measured, at the same warmth", measured))
        scatter = f"{100.0 * test.scatter_frac:.1f} %"
        if test.readings_count < SMOOTH_COUNT:
            scatter = "two readings cannot tell"
        pairs.append(("Levels off a smooth fall", scatter))
        pairs.append(("Readings", f"{test.readings_count}"))
    return SandSection(
        "fall",
        "Falling head",
        "The falling-head test",
        paragraphs=tuple(words),
        facts=tuple(pairs),
        notes=(
            "Conductivity: the rate at which water passes under a head as large as the sand is "
            f"deep. {cited('DARCY_1856')}",
        ),
    )

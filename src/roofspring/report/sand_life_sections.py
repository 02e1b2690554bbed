"""The sections on a bed's years: runs, cleaning, ripening, removal, oxygen, and what a run saw."""

from __future__ import annotations

import math

from roofspring.reliability.filter_record import FilterRecord
from roofspring.reliability.ripe_findings import change_words
from roofspring.report._amounts import days_text, time_text
from roofspring.report._cells import Table, cited, percent
from roofspring.report.charts import MONTHS
from roofspring.report.sand_bed_charts import (
    loss_chart,
    record_chart,
    ripening_chart,
    sand_chart,
)
from roofspring.report.sand_document import SandSection
from roofspring.report.sand_facts import SandFacts
from roofspring.sandfilter.bed_years import ONE_OUT_M_PER_S, RATES_M_PER_S
from roofspring.sandfilter.published_runs import published_runs
from roofspring.sandfilter.removal import RECONSTRUCTION, not_removed
from roofspring.sandfilter.ripening import cleaning_named
from roofspring.units import show, temp_text

HYPHEN = "\u2011"
"""One that no line is broken at."""
LOG_WORDS = "1 log: nine of ten are taken out; 2 log: ninety-nine of a hundred."


def runs_section(facts: SandFacts) -> SandSection | None:
    """Run length by law, rate and season."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    years, case = bed.years, bed.case
    rows = tuple(
        (
            runs.law.title,
            *(days_text(run.time_s) for run in runs.by_rate),
            days_text(runs.in_season.time_s),
        )
        for runs in years.laws
    )
    heads = (
        "Growth of the skin",
        *(show(v, "rate", units=units) for v in RATES_M_PER_S),
        f"Design rate, {years.season_factor:g} times the growth",
    )
    tables = [("Days from cleaning to cleaning", Table(heads, rows, frozenset(range(1, 6))))]
    if years.by_month:
        month_rows = tuple(
            (month, days_text(run.time_s))
            for month, run in zip(MONTHS, years.by_month, strict=True)
        )
        tables.append(
            (
                "Runs that begin in each month",
                Table(("Cleaned on the first of", "Days"), month_rows, frozenset({1}), folded=True),
            )
        )
    chart = loss_chart(bed, units) if facts.pictures else None
    low = min(r.low_days for r in published_runs())
    high = max(r.high_days for r in published_runs())
    season = (
        "In the season that the plan names"
        if years.season_given
        else "In a pollen season of three times the growth, as an example,"
    )
    usual = years.laws[0]
    return SandSection(
        "runs",
        "Runs",
        "From cleaning to cleaning",
        paragraphs=(
            f"At {show(case.design_m_per_s, 'rate', units=units)}, until all of "
            f"{show(case.head_m, 'length', units=units)} of head is taken, a run lasts "
            f"{time_text(usual.usual.time_s)} if the skin grows as {usual.law.title}; other laws "
            f"say otherwise, and nobody has one law for all waters. {season} it is "
            f"{time_text(usual.in_season.time_s)}. Published runs last {low:g} to {high:g} days.",
        ),
        figures=() if chart is None else (chart,),
        tables=tuple(tables),
        notes=(
            "The constants of all three laws are engineering choices until the filter's own log "
            "has one run in it. No published model of pollen was found.",
            *dict.fromkeys(cited(r.source) for r in published_runs()),
            cited("RUTH_1935"),
        ),
    )


def cleaning_section(facts: SandFacts) -> SandSection | None:
    """Cleanings, sand by year, waste, and filters side by side."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    years, case, plan = bed.years, bed.case, bed.years.plan
    way = cleaning_named(case.way)
    if plan is None:
        words = (
            "The clean bed cannot pass the design rate with the head it has: there is no run, so "
            "no schedule."
            if math.isfinite(years.mean_run_s)
            else "By this law the bed never clogs, so there is no schedule of cleaning."
        )
        return SandSection("cleaning", "Cleaning", "Cleaning and new sand", paragraphs=(words,))
    scraped = way.removed_m > 0.0
    end = (
        f"{plan.scrapes_left_count} of them lead from "
        f"{show(case.sand_m, 'length', units=units)} to "
        f"{show(case.least_sand_m, 'length', units=units)}, where new sand must come: in "
        f"{plan.years_to_resand_years:.1f} years."
        if scraped and math.isfinite(plan.years_to_resand_years)
        else "It takes no sand, so the sand lasts; but deposit builds up below, and one day it "
        "must be scraped."
    )
    pairs = [
        ("Mean run, day and night", time_text(plan.run_s)),
        ("Cleanings a year, day and night", f"{plan.cleanings_per_year:.1f}"),
        (
            "To waste each time",
            show(
                plan.waste_m3_per_year / plan.cleanings_per_year,
                "small_volume",
                units=units,
                digits=0,
            ),
        ),
        ("To waste in a year, day and night", show(plan.waste_m3_per_year, "volume", units=units)),
        ("Out of use", f"{percent(plan.away_frac)} of the time"),
    ]
    if scraped:
        pairs.append(("Years to new sand, day and night", f"{plan.years_to_resand_years:.1f}"))
    pairs[:0] = [
        ("Cleanings a year, in the run", f"{r.cleanings_per_year:.1f}") for r in _mine(facts)
    ]
    chart = sand_chart(bed, units) if facts.pictures else None
    rows = tuple(
        (f"{y.year}", f"{y.scrapes_count}", "yes" if y.resands_count else "no",
         show(y.sand_left_m, "length", units=units))
        for y in years.years
    )  # fmt: skip
    heads = ("Year", "Scrapes", "New sand", "Sand left")
    return SandSection(
        "cleaning",
        "Cleaning",
        "Cleaning and new sand",
        paragraphs=(
            *_pace_words(facts),
            "At the design rate, day and night, each filter would be cleaned about "
            f"{plan.cleanings_per_year:.1f} times a year ({way.title}). {end}"
            + ("" if facts.records else " A filter that passes less runs longer."),
            f"After each cleaning its water runs to waste for {time_text(plan.away_s)}, the work "
            "counted in. Lead it to a store for the garden. Tests of the water end that time, not "
            "the calendar.",
            _beside_words(facts),
        ),
        facts=tuple(pairs),
        figures=() if chart is None else (chart,),
        tables=(("Sand left by year", Table(heads, rows, frozenset({0, 1, 3}), folded=True)),)
        if rows
        else (),
        notes=(cited("HUISMAN_WOOD_1974"), cited("VISSCHER_1990"), f"Cleaning: {way.note}.")
        if way.note
        else (cited("HUISMAN_WOOD_1974"), cited("VISSCHER_1990")),
    )


def _pace_words(facts: SandFacts) -> tuple[str, ...]:
    """What the run saw, where there is one: how far the house is from running day and night."""
    case, units = facts.beds[0].study.case, facts.units
    return tuple(
        f"In the run through the rain {r.filter_id} was cleaned {r.cleanings_per_year:.1f} times a "
        f"year: it passed {show(r.mean_m_per_s, 'rate', units=units, digits=3)} on the mean, "
        f"{100.0 * r.mean_m_per_s / case.design_m_per_s:.0f} % of the design rate, because the "
        "house wants or has no more. Sand by year is told at that pace."
        for r in _mine(facts)
    )


def _mine(facts: SandFacts) -> list[FilterRecord]:
    """What the run saw of the first bed."""
    name = facts.beds[0].study.case.name
    return [r for r in facts.records if r.filter_id == name]


def _beside_words(facts: SandFacts) -> str:
    bed, units = facts.beds[0].study, facts.units
    beds, case = bed.years.parallel, bed.case
    if beds is None:
        return "How many filters should stand side by side was not reckoned."
    flow = show(case.filters_count * case.area_m2 * case.design_m_per_s, "daily_flow", units=units)
    staggered = (
        "they can be cleaned one after the other"
        if beds.is_staggered
        else "their cleanings would overlap"
    )
    words = (
        f"Side by side: {beds.filters_count} filters of this size give {flow} and let one ripen "
        f"while the others serve, at {show(beds.rate_one_out_m_per_s, 'rate', units=units)} then "
        f"(at most {show(max(ONE_OUT_M_PER_S, case.design_m_per_s), 'rate', units=units)}); "
        f"{staggered}."
    )
    if case.filters_count < beds.filters_count:
        words += (
            f" There {'is one' if case.filters_count == 1 else f'are {case.filters_count}'}: while "
            "it ripens nothing serves."
            if case.filters_count == 1
            else f" There are {case.filters_count}."
        )
    return words


def ripening_section(facts: SandFacts) -> SandSection | None:
    """Ripening by temperature."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    rows = tuple(
        (
            temp_text(r.temp_degc, units),
            days_text(r.ripe_s),
            f"{days_text(r.start.low_s)} to {days_text(r.start.high_s)}",
            f"{days_text(r.after.usual_s)} ({days_text(r.after.low_s)} to "
            f"{days_text(r.after.high_s)})",
        )
        for r in bed.years.ripening
    )
    heads = ("Water", "Days until ripe, new sand", "Published, stretched",
             "Days to waste after a cleaning")  # fmt: skip
    chart = ripening_chart(bed, units) if facts.pictures else None
    mid = bed.years.ripening[2]
    return SandSection(
        "ripening",
        "Ripening",
        "Ripening",
        paragraphs=(
            f"New sand does little. In water of {temp_text(mid.temp_degc, units)} it is ripe after "
            f"about {time_text(mid.ripe_s)}, and rainwater, poor in food, is at the slow end. Two "
            "days without flow cost nothing; after that half of the ripeness goes in a day and a "
            "half, and in dry sand within hours.",
        ),
        figures=() if chart is None else (chart,),
        tables=(("By temperature", Table(heads, rows, frozenset({1, 2, 3}), folded=True)),),
        notes=(
            "Weeks in warm water are published; the form of the law, and the stretch by cold, are "
            "our choice.",
            cited("HUISMAN_WOOD_1974"),
            cited("CAMPOS_2006, equation 30 and table 2"),
        ),
    )


def removal_section(facts: SandFacts) -> SandSection | None:
    """What sand takes out, as ranges, and what it does not."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units

    def span(pair: tuple[float, float]) -> str:
        return f"{pair[0]:.1f} to {pair[1]:.1f}"

    rows = tuple(
        (g.group, span(g.new), span(g.half), span(g.ripe), span(g.ripe_cold)) for g in bed.removals
    )
    heads = ("Germs", "New sand", "Half ripe", "Ripe", f"Ripe, at {temp_text(5.0, units)}")
    tables = [("Log reduction, least to most", Table(heads, rows, frozenset({1, 2, 3, 4})))]
    points = [g for g in bed.removals if g.now.point_log10 is not None]
    if points:
        said = "; ".join(
            f"{g.group} {g.now.point_log10:.1f} ({g.now.low_log10:.1f} to {g.now.high_log10:.1f})"
            for g in points
        )
        words = (
            f"This bed lies inside the experiments of the one published regression, which gives "
            f"{said} log for a ripe bed. It is {RECONSTRUCTION}."
        )
    else:
        outside = "; ".join(dict.fromkeys(c for g in bed.removals[:1] for c in g.now.outside))
        words = (
            "There is one published regression on age, warmth, rate, grain and depth "
            f"({RECONSTRUCTION}). This bed lies outside its experiments, so it gives no number: "
            f"{outside}."
        )
    kept = tuple((n.title, n.what_to_do) for n in not_removed())
    tables.append(("What sand does not take out", Table(("What", "What to do"), kept)))
    return SandSection(
        "removal",
        "What it takes out",
        "What it takes out, and what not",
        paragraphs=(
            "By published ranges of household filters a ripe bed takes out some bacteria and many "
            "protozoa, and normally leaves too many viruses: disinfect what is drunk after it. "
            + LOG_WORDS,
            words,
        ),
        tables=tuple(tables),
        notes=tuple(
            dict.fromkeys(
                [cited(g.now.source) for g in bed.removals]
                + [cited("BELLAMY_1985"), cited("SCHIJVEN_2013")]
            )
        ),
    )


def oxygen_section(facts: SandFacts) -> SandSection | None:
    """Oxygen when it stands."""
    if not facts.beds:
        return None
    bed, units = facts.beds[0].study, facts.units
    rows = tuple(
        (
            temp_text(r.temp_degc, units),
            f"{1e3 * r.saturation_kg_per_m3:.1f} mg/L",
            f"{1e6 * r.resting_kg_per_m2_day:.0f} mg",
            f"{1e6 * r.flowing_kg_per_m2_day:,.0f} mg",
            time_text(r.lasts_s),
        )
        for r in bed.oxygen
    )
    heads = ("Water", "Holds, saturated", "Comes at rest, per m² and day",
             "Comes in flow", "Lasts when it stops")  # fmt: skip
    warm = bed.oxygen[-1]
    return SandSection(
        "oxygen",
        "Oxygen",
        "Oxygen when it stands",
        paragraphs=(
            "Ripe sand uses oxygen day and night. At rest it only seeps in through the standing "
            f"water: at {temp_text(warm.temp_degc, units)} about "
            f"{warm.flowing_kg_per_m2_day / warm.resting_kg_per_m2_day:,.0f} times less than the "
            f"flow brings. If the bed takes 3 mg/L from the water it filters and goes on so, its "
            f"own store lasts {time_text(warm.lasts_s)}. Keep a trickle going.",
        ),
        tables=(("Oxygen", Table(heads, rows, frozenset({1, 2, 3, 4}))),),
        notes=(
            "An order of size: the bed's demand is an engineering choice, and falls as the oxygen "
            "does.",
            cited("BENSON_KRAUSE_1984"),
            cited("FICK_1855"),
            cited("EPA_AWOP_2024"),
        ),
    )


def record_section(facts: SandFacts) -> SandSection | None:
    """What the run through the rain saw of the filters."""
    records, units = facts.records, facts.units
    if not records:
        return None
    rows = tuple(
        (
            r.filter_id.replace("-", HYPHEN),
            f"{r.cleanings_per_year:.1f}",
            f"{r.waste_days_per_year:.0f}",
            show(r.waste_m3_per_year, "small_volume", units=units, digits=0),
            f"{100.0 * r.unripe_frac:.0f} %",
            _resand(r),
            show(r.last_sand_m, "length", units=units),
            show(r.mean_m_per_s, "rate", units=units, digits=3),
        )
        for r in records
    )
    heads = (
        "Filter",
        "Cleanings a year",
        "Days to waste a year",
        "To waste a year",
        "Days below 0.9 ripe",
        "Years to new sand",
        "Sand at the end",
        "Mean rate",
    )
    when = tuple((month, *(f"{r.by_month[m]}" for r in records)) for m, month in enumerate(MONTHS))
    passage = tuple(
        (r.filter_id, group, f"{low:.1f} to {high:.1f}")
        for r in records
        for group, low, high in r.removal_log10
    )
    tables = [
        ("Each filter", Table(heads, rows, frozenset(range(1, 8)))),
        ("Cleanings by month, all years together",
         Table(("Month", *(r.filter_id for r in records)), when,
               frozenset(range(1, len(records) + 1)), folded=True)),
    ]  # fmt: skip
    if passage:
        tables.append(
            (
                "Log reduction as a mean of what passes",
                Table(("Filter", "Germs", "Least to most"), passage, frozenset({2})),
            )
        )
    if facts.trials:
        tables.append(("Run again, changed, to let them ripen", _trials_table(facts)))
    chart = record_chart(records, units) if facts.pictures else None
    return SandSection(
        "record",
        "In the run",
        "What the run through the rain saw",
        paragraphs=tuple(_record_words(facts)),
        figures=() if chart is None else (chart,),
        tables=tuple(tables),
        notes=(
            "The run takes the plan's d10 and uniformity, its law of growth, and the plan's rule "
            "of cleaning. The mean of what passes counts the few bad days in full: logs are never "
            "averaged.",
            cited("HAAS_1999"),
        ),
    )


def _trials_table(facts: SandFacts) -> Table:
    """The plan run again with one or two things changed."""
    units, first = facts.units, facts.trials[0].first_use
    rows = tuple(
        (
            change_words(t, units),
            f"{100.0 * t.unripe_frac:.0f} %",
            f"{100.0 * t.still_frac:.0f} %",
            show(t.filtered_m3_per_year, "volume", units=units),
            *(() if t.first_served_frac is None else (f"{100.0 * t.first_served_frac:.0f} %",)),
        )
        for t in facts.trials
    )
    heads = (
        f"On the last {facts.trials[0].years:.0f} years, from ripe sand",
        "Days less than ripe",
        "Days without flow",
        "Filtered a year",
        *((f"Served: {first}",) if first else ()),
    )
    return Table(heads, rows, frozenset(range(1, len(heads))))


def _resand(record: FilterRecord) -> str:
    years = record.resand_years
    if not math.isfinite(years):
        return "none is lost"
    return f"{years:.1f}" if record.resand_seen else f"{years:.0f}, not seen"


def _record_words(facts: SandFacts) -> list[str]:
    records, units = facts.records, facts.units
    made = []
    for r in records:
        cleanings = r.cleanings_count + r.resands_count
        if not cleanings:
            made.append(
                f"{r.filter_id}: in {r.years:.0f} years it was never cleaned; its rate at full "
                "water never fell to where the plan cleans it."
            )
            continue
        months = [MONTHS[m] for m in range(12) if r.by_month[m] == max(r.by_month)]
        apart = f", {r.gap_days[0]:.0f} to {r.gap_days[1]:.0f} days apart" if r.gap_days else ""
        made.append(
            f"{r.filter_id}: cleaned {cleanings / r.years:.1f} times a year{apart}, most often in "
            f"{' and '.join(months[:2])}; {r.waste_days_per_year:.0f} days and "
            f"{show(r.waste_m3_per_year, 'small_volume', units=units, digits=0)} to waste a year. "
            f"On {100.0 * r.unripe_frac:.0f} % of the days it was less than ripe, and on "
            f"{100.0 * r.still_frac:.0f} % no water passed it, {r.longest_still_days} days on end "
            "at worst. "
            + (
                f"New sand came first after {r.resand_years:.1f} years."
                if r.resand_seen
                else f"New sand would come after about {r.resand_years:.0f} years."
                if math.isfinite(r.resand_years)
                else "It lost no sand."
            )
        )
    return made

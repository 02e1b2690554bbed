"""The page's sections after the summary, each in words and tables."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.plan.geometry import overflow_volume_m3
from roofspring.plan.model import Plan
from roofspring.report._cells import Table, cited
from roofspring.report.safety_charts import needed_chart, risk_chart
from roofspring.report.safety_tables import (
    change_table,
    checks_table,
    costs_table,
    costs_title,
    illness_table,
    risk_table,
    ways_table,
)
from roofspring.report.sand_document import SandSection as Section
from roofspring.safety import words
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.disinfection import (
    baffling,
    bleach_drops,
    bleach_ml,
    boil_time_s,
    boiling_point_degc,
    dose_given_mg_per_l,
    dose_wanted_mg_per_l,
    giardia_ct_mg_min_per_l,
    shock_ml,
    uv_dose_mj_per_cm2,
    virus_ct_mg_min_per_l,
    water_factor_frac,
    what_it_does,
)
from roofspring.safety.disinfection.bleach import DROP_ML, MOST_TO_DRINK
from roofspring.safety.inspection import (
    Kept,
    calendar,
    limits,
    litres_to_see,
    most_positive_frac,
    with_unit,
)
from roofspring.safety.materials import GRADES, events, materials
from roofspring.safety.prices import NO_PRICES, SafetyCosts
from roofspring.safety.risk import credits_table
from roofspring.sandfilter.removal import not_removed, published_ranges
from roofspring.units import UnitSet, parse, show, temp_text

STRENGTHS_PERCENT = (3.0, 5.25, 6.0, 8.25, 12.5)


def safety_sections(plan: Plan, answer: SafetyAnswer) -> Iterator[Section]:
    """Every section that there is something to say in."""
    if answer.routes:
        yield _ways(plan, answer)
    if answer.risk:
        yield _risk(answer)
        yield _change(answer)
        if answer.costs is not None:
            yield _costs(answer.costs, plan.show)
        yield _credits()
    if answer.kept is not None:
        yield _logbook(answer.kept)
    yield _disinfection(plan)
    yield _materials(plan)
    yield _testing(answer.kept)


def _ways(plan: Plan, answer: SafetyAnswer) -> Section:
    return Section(
        "ways",
        "Ways",
        "Every way to a drinking tap, the weakest first",
        (
            "One line for each source, tap, set of barriers and mishap, by its shortest way. Log "
            "reductions: 1 is nine germs of ten, 2 is ninety-nine of a hundred. Two barriers of "
            "one kind count once.",
            _other_words(plan),
            "“Nothing found” is not a pass: a check sees no more than the plan says. “Not said” is "
            "what somebody must look at. Loads, wind and frost are looked at by levels.",
        ),
        tables=(
            ("Ways", ways_table(plan, answer.routes)),
            ("Everything that was looked for", checks_table(answer.checks)),
        ),
    )


def _other_words(plan: Plan) -> str:
    if plan.sources:
        return (
            "Mains, wells and the like are searched as ways, but a run fills the tanks with rain "
            "alone, and their germs are not in the risk."
        )
    return (
        "The plan names no main, well, spring or tanker ([source.NAME]): if there is one, add it, "
        "for the walk-round alone asks."
    )


def _risk(answer: SafetyAnswer) -> Section:
    lead = words.leading(answer.risk)
    water = answer.water
    drivers = tuple((d.words, _signed(d.rank), f"{100 * d.total_frac:.0f} %") for d in lead.drivers)
    paragraphs = [
        words.NOT_A_TEST,
        f"Half of the {lead.label} that reach the glass come on "
        f"{words.about(lead.worst.half_days_per_year)} days of a year" + _worst_days(answer),
    ]
    counted: tuple[tuple[str, Table], ...] = ()
    if answer.illness is not None:
        paragraphs += [words.both_sides(answer.illness), words.room_left(answer.illness)]
        counted = (("Stomach illness, calculated and counted", illness_table(answer.illness)),)
    notes = [f"{r.label}: {r.found}." for r in answer.risk]
    notes += [cited(s) for s in dict.fromkeys(s for r in answer.risk for s in r.sources)]
    if water is not None and not water.is_from_run:
        paragraphs.insert(1, words.NOT_RUN)
    return Section(
        "risk",
        "Risk",
        "How likely an infection is",
        tuple(paragraphs),
        figures=(risk_chart(answer), needed_chart(answer)),
        tables=(
            (f"Infections among {words.PEOPLE:,} people in a year", risk_table(answer)),
            *counted,
            (
                f"What moves the estimate of {lead.label}",
                Table(
                    ("What is not known", "Rank correlation", "Share of the spread"),
                    drivers,
                    frozenset({1, 2}),
                ),
            ),
        ),
        notes=tuple(notes),
    )


def _signed(rank: float) -> str:
    """A rank correlation with its sign, and none where it rounds to nothing."""
    text = f"{rank:+.1f}"
    return "0" if float(text) == 0.0 else text.replace("-", "−")


def _worst_days(answer: SafetyAnswer) -> str:
    water, lead = answer.water, words.leading(answer.risk)
    if water is None or not water.is_from_run:
        return "."
    days = ", ".join(str(water.days[i]) for i in lead.worst.worst)
    return f"; the worst of the run were {days}."


def _change(answer: SafetyAnswer) -> Section:
    return Section(
        "change",
        "What would help",
        "What each change would do",
        (
            f"Middle estimates of infections among {words.PEOPLE:,} people in a year, with the "
            "same days and the same cups. A step counts here only if it works every day.",
            *answer.change[-1:],
            *((NO_PRICES,) if answer.costs is None else ()),
        ),
        tables=(("Changes", change_table(answer)),),
    )


def _costs(costs: SafetyCosts, units: UnitSet) -> Section:
    return Section(
        "costs",
        "What it costs",
        "What each change would cost, by the prices of the plan",
        costs.says,
        tables=((costs_title(costs), costs_table(costs, units)),),
    )


def _credits() -> Section:
    sand = tuple(
        ("slow sand", r.group, r.condition, words.span(r.low_log10, r.high_log10), cited(r.source))
        for r in published_ranges()
    )
    steps = tuple(
        (c.title, c.group, c.counts_when, words.span(c.low_log10, c.high_log10), cited(c.source))
        for c in credits_table()
    )
    return Section(
        "credits",
        "Credits",
        "What is published of each step",
        (
            "Ranges are kept as ranges. Published values differ because filters do.",
            "Storage counts for nothing here. Large reservoirs that hold water for weeks are "
            "credited with 0.7 to 2.2 log of bacteria and 1.4 to 2.3 of protozoa "
            f"({cited('WHO_GDWQ_2011')}, table 7.7, by a transcription); germs die in a household "
            "tank too, but slowly, unevenly, and it is filled again while they do.",
        ),
        tables=(
            (
                "Published log reductions",
                Table(("Step", "Of", "When", "Log", "Source"), (*sand, *steps), frozenset({3})),
            ),
        ),
    )


def _volumes(units: UnitSet) -> list[tuple[float, str]]:
    """Amounts of water that people treat: a bottle, a pail, a drum, a tank."""
    if units == "us":
        return [(parse(text, to="m3"), text) for text in ("1 gal", "5 gal", "55 gal", "275 gal")]
    return [(0.001, "1 L"), (0.02, "20 L"), (0.2, "200 L"), (1.0, "1,000 L")]


def _disinfection(plan: Plan) -> Section:
    does = tuple((m.method, m.does, m.does_not, m.never) for m in what_it_does().values())
    dose = dose_wanted_mg_per_l(1.0)
    volumes = _volumes(plan.show)
    volumes += [
        (overflow_volume_m3(t), f"{t.label or i}, full") for i, t in sorted(plan.tanks.items())
    ]
    bleach = tuple(
        (
            name,
            *(
                _amount(bleach_ml(volume, dose_mg_per_l=dose, strength_percent=s), volume, s)
                for s in STRENGTHS_PERCENT
            ),
        )
        for volume, name in volumes
    )
    shock = tuple(
        (
            name,
            *(_amount(shock_ml(volume, strength_percent=s), volume, s) for s in STRENGTHS_PERCENT),
        )
        for volume, name in volumes[2:]
    )
    contact = tuple(
        (
            f"{t:g} °C" if plan.show == "metric" else f"{t:g} °C, {temp_text(t, plan.show)}",
            *(
                f"{giardia_ct_mg_min_per_l(3.0, temp_degc=t, ph=ph, chlorine_mg_per_l=1.0):.0f}"
                for ph in (6.0, 7.0, 8.0, 9.0)
            ),
            f"{virus_ct_mg_min_per_l(4.0, temp_degc=t, ph=8.0):.0f}",
        )
        for t in (0.5, 5.0, 10.0, 15.0, 20.0, 25.0)
    )
    heads = ("Water", *(f"{s:g} % bleach" for s in STRENGTHS_PERCENT))
    site_m = plan.site.elevation_m
    boil = "Bring it to a rolling boil for one minute; for three from 1,000 m above the sea."
    if site_m is not None and site_m <= 6000.0:
        boil = (
            f"At {show(site_m, 'height', units=plan.show, digits=0)} water boils at about "
            f"{temp_text(boiling_point_degc(site_m), plan.show)}: a rolling boil for "
            f"{boil_time_s(site_m) / 60.0:.0f} "
            f"minute{'s' if boil_time_s(site_m) > 60.0 else ''}."
        )
    numeric = frozenset(range(1, len(heads)))
    return Section(
        "disinfection",
        "Disinfection",
        "Chlorine, light and boiling",
        (
            "Never let chlorine reach the living sand: not by a dose, a shock, a drain or a "
            "refill. Dose into the clean tank, after the filter. Never mix it with acid, ammonia "
            "or another cleaner; wear gloves and goggles; dose outdoors.",
            boil,
            f"For clear filtered water {dose:g} mg/L, mixed and left half an hour, and longer when "
            "cold; then a strip must still show 0.2 to 2 mg/L. Use plain bleach with no scent, "
            "less than half a year old.",
            "A tank that water runs through counts for a tenth of its mean stay; a batch that is "
            "filled, dosed, mixed and left counts in full. Light is credited by whole steps of a "
            "dose that was proven for the lamp, not by what it says on the box.",
        ),
        tables=(
            (
                "What each does, and does not",
                _detail(("Method", "Does", "Does not", "Never"), does),
            ),
            (f"Bleach for {dose:g} mg/L", _detail(heads, bleach, numeric)),
            ("Bleach to shock a cleaned tank, about 50 mg/L for six hours, filter shut off",
             _detail(heads, shock, numeric)),
            (
                "Strength times time, mg/L × minutes: at 1 mg/L left at the end, minutes to wait",
                _detail(
                    ("Water", "Giardia, 3 log, pH 6", "pH 7", "pH 8", "pH 9", "Viruses, 4 log"),
                    contact,
                    frozenset({1, 2, 3, 4, 5}),
                ),
            ),
            (
                "What a stay in a tank counts for",
                _detail(
                    ("Tank", "Share of its mean stay"),
                    tuple((b.words, f"{b.factor:g}") for b in baffling().values()),
                    frozenset({1}),
                ),
            ),
            *_light(),
        ),
        notes=(
            "Strength times time over pH 8 is by a published formula, rounded up: those cells of "
            "the table were found in no text that could be read.",
            cited("LANTAGNE_2008"), cited("AHS_CISTERN"), cited("EPA_815_R_20_003"),
            cited("SMITH_1995"), cited("EPA_1991"), cited("EPA_LT2_2006"), cited("EPA_EMERGENCY"),
            cited("PA_DEP"),
        ),
    )  # fmt: skip


def _detail(
    heads: tuple[str, ...],
    rows: tuple[tuple[str, ...], ...],
    numeric: frozenset[int] = frozenset(),
) -> Table:
    """A table to look things up in: folded until somebody opens it, or prints the page."""
    return Table(heads, rows, numeric, folded=True)


def _light() -> tuple[tuple[str, Table], ...]:
    """What a dose is credited with, and what the water takes of the light."""
    agents = ("cryptosporidium", "giardia", "virus")
    doses = tuple(
        (f"{log:g} log", *(f"{uv_dose_mj_per_cm2(log, agent=a):g}" for a in agents))
        for log in (1.0, 2.0, 3.0, 4.0)
    )
    seen = tuple(
        (f"{percent} %", *(f"{100 * water_factor_frac(percent / 100, path_m=d):.0f} %"
                           for d in (0.01, 0.02, 0.04)))
        for percent in (98, 95, 90, 85, 75, 70)
    )  # fmt: skip
    heads = ("For", "Cryptosporidium", "Giardia", "Viruses (adenovirus)")
    clear = ("Light through 1 cm of the water", "1 cm deep", "2 cm", "4 cm")
    return (
        ("Light: proven dose, mJ/cm²", _detail(heads, doses, frozenset({1, 2, 3}))),
        ("Mean light in the chamber, of that at the sleeve",
         _detail(clear, seen, frozenset({1, 2, 3}))),
    )  # fmt: skip


def _amount(ml: float, volume_m3: float, strength_percent: float) -> str:
    """Bleach as it can be measured out; a drop that would be far too much is no amount."""
    if ml < 1.0:
        drops = bleach_drops(ml)
        given = dose_given_mg_per_l(
            drops * DROP_ML.value, volume_m3=volume_m3, strength_percent=strength_percent
        )
        if given > MOST_TO_DRINK.value:
            return "one drop is too much"
        return f"{drops} drop{'' if drops == 1 else 's'}"
    return f"{ml / 1000.0:.1f} L" if ml >= 1000.0 else f"{float(f'{ml:.2g}'):g} mL"


def _materials(plan: Plan) -> Section:
    used: set[str] = {roof.material for roof in plan.roofs.values()}
    named: list[tuple[str, ...] | None] = [
        *(r.touches for r in plan.roofs.values()),
        *(t.touches for t in plan.tanks.values()),
        *(p.touches for p in plan.pipes.values()),
    ]
    used |= {name for names in named for name in names or ()}
    rows = tuple(
        (
            m.material + (" (in this plan)" if {m.plan_material, m.touches} & used else ""),
            m.part,
            GRADES[m.grade],
            m.gives_off,
            m.advice,
        )
        for m in materials()
    )
    happened = tuple((e.title, e.advice) for e in events())
    sand = tuple((n.title, n.what_to_do) for n in not_removed())
    return Section(
        "materials",
        "Materials",
        "What roofs, tanks and pipes give off",
        (
            "Sand takes out little that is dissolved. Metals and chemicals are kept out of the "
            "water by what it touches, not by the filter.",
        ),
        tables=(
            ("Materials", Table(("Material", "Where", "Grade", "Gives off", "What to do"), rows)),
            ("After something has happened", _detail(("What", "What to do"), happened)),
            ("What a sand filter does not take out", _detail(("What", "What to do"), sand)),
        ),
    )


def _logbook(kept: Kept) -> Section:
    walk = kept.walk
    faults = (
        () if walk is None else tuple((q.id, q.question, q.severity) for q in walk.score.faults)
    )
    tests = tuple(
        (t.what, t.text, t.sample_point, f"{t.on}, {t.age_days:.0f} days", t.method, t.says)
        for t in kept.tests
    )
    tables = []
    if faults:
        tables.append(("Faults of the newest walk-round", Table(("", "Question", "Kind"), faults)))
    if tests:
        heads = ("Test", "Result", "At", "On, age", "Method", "What it says")
        tables.append(("The newest tests", Table(heads, tests)))
    return Section(
        "logbook",
        "Logbook",
        "What the logbook says",
        (
            *(kept.says[:1]),
            *(s for s in kept.says if s.startswith("Walk-round and E. coli")),
            *kept.removed,
            *kept.cannot,
        ),
        tables=tuple(tables),
    )


def _testing(kept: Kept | None) -> Section:
    due = {} if kept is None else {d.visit.what: d.words for d in kept.due}
    visits = tuple(
        (v.what, *([due[v.what]] if due else []), v.when, v.where, v.how) for v in calendar()
    )
    asked = ("Test", *(["By the logbook"] if due else []), "When", "Where", "How")
    rows = tuple(
        (x.what, with_unit(x.limit_text, x.unit), x.words, f"{cited(x.source)}; {x.date}")
        for x in limits().values()
    )
    four = 100.0 * most_positive_frac(4.0)
    return Section(
        "testing",
        "Testing",
        "What to test, and how to read it",
        (
            words.ONE_MOMENT,
            words.E_COLI,
            "A result with < before it was below what the test can see: it is not zero, and if "
            "that lies over the limit it says nothing.",
            f"Four tests in a year with nothing found still allow {four:.0f} % of the days to be "
            f"bad. To show the yearly goal for Giardia, about "
            f"{float(f'{litres_to_see(1.377e-5):.1g}'):,.0f} L would have to be searched: no "
            "laboratory can. That is why barriers are counted.",
        ),
        tables=(
            ("Calendar", _detail(asked, visits)),
            ("Limits and signs, with their dates", Table(("What", "Limit", "Note", "Source"), rows,
                                                         frozenset({1}))),
        ),
    )  # fmt: skip

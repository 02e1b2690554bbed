"""Looking at one sand and the bed that it fills: what the answer is made of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

from roofspring import __version__
from roofspring.errors import Finding, ranked
from roofspring.hydraulics import orifice_diameter_m
from roofspring.network.forcing import DEFAULT_WATER_DEGC, water_degc
from roofspring.network.levels import LevelsAnswer, assess_levels
from roofspring.network.result import Provenance, RunResult
from roofspring.network.sand import Drain, SandJob, choose_drain
from roofspring.network.sieve_findings import sieve_findings
from roofspring.plan.read import LoadedPlan
from roofspring.rain import RainRecord
from roofspring.reliability.filter_record import FilterRecord, filter_record
from roofspring.reliability.ripe_findings import ripe_findings
from roofspring.reliability.ripe_trials import Trial, try_to_ripen
from roofspring.report.sand_facts import LaidBed
from roofspring.sandfilter.bed import DEFAULT_POROSITY_FRAC, DEFAULT_SPHERICITY_FRAC
from roofspring.sandfilter.bed_case import LIMIT_M_PER_S, SAND_M
from roofspring.sandfilter.bed_study import BedStudy, study_bed
from roofspring.sandfilter.gravel import cover_drain, rule_named
from roofspring.sandfilter.sieve import (
    DEFAULT_CRITERION,
    Criterion,
    Kind,
    SieveTest,
    criteria,
    criterion,
    jar_findings,
    jar_test,
    parse_mesh,
    read_sieve_file,
    rough_effective_size,
    rough_findings,
    typed_sieve_test,
)
from roofspring.sandfilter.stock import Stock, Wanted, wanted_sand
from roofspring.sandfilter.study import FINES_LIMIT_ID, Bed, SandStudy, Stated, study_sand
from roofspring.sandfilter.underdrain import HOLE, underdrain_findings
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import UnitSet
from roofspring.workflows.sand_answer import SandAnswer, also, sentence
from roofspring.workflows.sand_bed import bed_is_known, month_temps, plain_case, plan_case
from roofspring.workflows.sand_request import (
    SandRequest,
    bed_area_m2,
    bed_depth_m,
    fall_readings,
    grain_size,
    hole_m,
    pipe_m,
    price,
    quantity,
    wrong,
)

WANTED_D10_M, WANTED_UNIFORMITY = 0.25e-3, 2.0
UNTHROTTLED = "LVL-016"
DISAGREE = "BED-111"


@dataclass(frozen=True)
class Seen:
    """A plan's record and its run through it, where there is one; else why not.

    ``heights`` is what was found of them already, where it was.
    """

    record: RainRecord | None = None
    run: RunResult | None = None
    lack: str = ""
    heights: LevelsAnswer | None = None


def look(
    request: SandRequest, *, loaded: LoadedPlan | None, jobs: tuple[SandJob, ...], seen: Seen
) -> SandAnswer:
    """The answer for the first of the sands of a plan, or for a sand without a plan.

    Parameters
    ----------
    request : SandRequest
    loaded : LoadedPlan or None
    jobs : tuple of SandJob
        The plan's sands, the one to look at first.
    seen : Seen
        Record and run of the plan.

    Raises
    ------
    SieveError, RangeError, UnitError
        The test or what was asked for has problems.
    """
    job = jobs[0] if jobs else None
    chosen = criterion(request.criterion or DEFAULT_CRITERION)
    wanted = _wanted(request, job, chosen)
    test = _test(request, loaded, job)
    study = _study(request, job, test, wanted, chosen, _bed(request, job))
    study = _with_rough(study, request, chosen)
    drain = _drain(request, job, study)
    if drain is not None and study.gravel is not None:
        study = replace(study, gravel=cover_drain(study.gravel, pipe_m=drain.pipe_m))
    units = request.units or (loaded.plan.show if loaded is not None else "metric")
    records = _records(loaded, job, seen)
    trials = _trials(loaded, seen, records)
    beds = _beds(request, loaded, job, study, drain, seen, units, records)
    findings = (
        *study.findings,
        *(sieve_findings(job, study) if job is not None and job.sieve is not None else ()),
        *(underdrain_findings(drain.law) if drain is not None else ()),
        *together(f for bed in beds for f in bed.study.findings),
        *ripe_findings(records, trials, units=units),
        *(() if loaded is None else _unthrottled(loaded, job, seen)),
    )
    return SandAnswer(
        show=units,
        name=_name(test, study, job),
        sentence=sentence(study),
        also=f"{also(study, jobs)} {seen.lack}".strip(),
        filters=() if job is None else job.filters,
        study=study,
        drain=drain,
        beds=beds,
        records=records,
        trials=trials,
        findings=ranked(dict.fromkeys(folded(findings))),
        provenance=Provenance(
            __version__,
            "" if loaded is None else loaded.hash,
            "" if seen.record is None else seen.record.hash,
            0.0,
        ),
        invented_rain=seen.run is not None and seen.record is not None and seen.record.invented,
    )


def _name(test: SieveTest | None, study: SandStudy, job: SandJob | None) -> str:
    if test is not None:
        return test.curve.name
    if study.stated is not None:
        return "sand by its supplier's sheet"
    return "sand without sieves" if job is None else "the sand of the plan"


def together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings that differ only in their place, told once with all the places."""
    places: dict[Finding, list[str]] = {}
    for finding in findings:
        places.setdefault(replace(finding, where=""), []).append(finding.where)
    return tuple(
        replace(f, where=", ".join(dict.fromkeys(p for p in where if p)))
        for f, where in places.items()
    )


def folded(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """All that sources disagree about as one note: the checklist has the rows."""
    rows = [f for f in findings if f.code == DISAGREE]
    if len(rows) < 2:
        return findings
    things = dict.fromkeys(f.what.partition(" about ")[2].partition(":")[0] for f in rows)
    where = dict.fromkeys(place for f in rows for place in f.where.split(", "))
    note = replace(
        rows[0],
        what=f"published sources disagree about {len(things)} things: {', '.join(things)}",
        where=", ".join(where),
        got="",
        limit="",
        next="see the checklist, and choose the source written for a filter like yours",
    )
    return (*(f for f in findings if f.code != DISAGREE), note)


def _beds(
    request: SandRequest,
    loaded: LoadedPlan | None,
    job: SandJob | None,
    study: SandStudy,
    drain: Drain | None,
    seen: Seen,
    units: UnitSet,
    records: tuple[FilterRecord, ...],
) -> tuple[LaidBed, ...]:
    """The bed of each filter that this sand is for."""
    readings = fall_readings(request)
    degc = 20.0
    if request.fall_temp is not None:
        degc = quantity(request.fall_temp, to="degC", where="--fall-temp")
    if loaded is None or job is None:
        cases = [plain_case(study, drain=drain, units=units, depth_given=request.depth is not None)]
    else:
        temps = month_temps(loaded.plan, seen.record)
        paces = {r.filter_id: r.cleanings_per_year for r in records}
        cases = [
            plan_case(
                loaded.plan,
                filter_id,
                job=job,
                study=study,
                drain=drain,
                temps_degc=temps,
                seen_per_year=paces.get(filter_id),
            )
            for filter_id in job.filters
        ]
    made = []
    for n, (case, assumed) in enumerate(cases):
        found = study_bed(
            case, readings=readings if n == 0 else (), readings_degc=degc, units=units
        )
        made.append(
            LaidBed(
                found,
                assumed,
                bed_is_known(study),
                throttle_hole_m(found, case.limit_m_per_s, found.throttling.limit_head_m),
                throttle_hole_m(found, case.design_m_per_s, found.throttling.design_head_m),
            )
        )
    return tuple(made)


def throttle_hole_m(found: BedStudy, rate_m_per_s: float, head_m: float | None) -> float | None:
    """Sharp hole that passes a rate of the bed at a head; None where no head is left for one."""
    if head_m is None:
        return None
    return orifice_diameter_m(rate_m_per_s * found.case.area_m2, head_m=head_m)


def _records(
    loaded: LoadedPlan | None, job: SandJob | None, seen: Seen
) -> tuple[FilterRecord, ...]:
    if loaded is None or job is None or seen.record is None or seen.run is None:
        return ()
    water = water_degc(loaded.plan, seen.record)
    return tuple(
        filter_record(seen.run, f, plan=loaded.plan, water_degc=water) for f in job.filters
    )


def _trials(
    loaded: LoadedPlan | None, seen: Seen, records: tuple[FilterRecord, ...]
) -> tuple[Trial, ...]:
    """What would let the filters ripen that seldom were, by running the plan again."""
    if loaded is None or seen.record is None:
        return ()
    bad = [r.filter_id for r in records if r.is_seldom_ripe]
    return try_to_ripen(loaded.plan, seen.record, bad)


def _unthrottled(loaded: LoadedPlan, job: SandJob | None, seen: Seen) -> tuple[Finding, ...]:
    """The findings of "Will it flow?" on filters that nothing throttles."""
    mine = () if job is None else job.filters
    heights = seen.heights or assess_levels(loaded.plan)
    return tuple(f for f in heights.findings if f.code == UNTHROTTLED and f.where in mine)


def _wanted(request: SandRequest, job: SandJob | None, chosen: Criterion) -> Wanted:
    d10_m = WANTED_D10_M if job is None else job.d10_m
    if request.d10 is not None:
        d10_m = grain_size(request.d10, "--d10")
    even = WANTED_UNIFORMITY if job is None else job.uniformity
    return wanted_sand(
        d10_m,
        uniformity=even if request.uniformity is None else request.uniformity,
        chosen=chosen,
    )


def _bed(request: SandRequest, job: SandJob | None) -> Bed:
    area_m2, depth_m = (1.0, SAND_M) if job is None else (job.area_m2, job.depth_m)
    if request.area is not None:
        area_m2 = bed_area_m2(request.area)
    if request.depth is not None:
        depth_m = bed_depth_m(request.depth)
    porosity = DEFAULT_POROSITY_FRAC if job is None else job.porosity_frac
    return Bed(area_m2, depth_m, porosity, named=job is not None or request.area is not None)


def _test(request: SandRequest, loaded: LoadedPlan | None, job: SandJob | None) -> SieveTest | None:
    kind = cast("Kind | None", request.kind)
    before = None
    if request.before is not None:
        before = quantity(request.before, to="kg", where="--before")
        if before <= 0.0:
            raise wrong("a sample weighs more than nothing", "--before", request.before,
                         "above 0")  # fmt: skip
    if request.sieves:
        return typed_sieve_test(request.sieves, kind=kind, before_kg=before)
    path = request.path
    if job is not None and loaded is not None:
        path = None if job.sieve is None else loaded.path.parent / job.sieve
    if path is None:
        return None
    return read_sieve_file(path, kind=kind, before_kg=before, sheet=request.sheet)


def _study(
    request: SandRequest,
    job: SandJob | None,
    test: SieveTest | None,
    wanted: Wanted,
    chosen: Criterion,
    bed: Bed,
) -> SandStudy:
    rule = rule_named(request.gravel or ("huisman-wood" if job is None else job.gravel))
    if test is None:
        stated = None
        if request.stated_d10 is not None and request.stated_uniformity is not None:
            stated = Stated(
                grain_size(request.stated_d10, "--stated-d10"), request.stated_uniformity
            )
        return SandStudy(test=None, wanted=wanted, chosen=chosen, bed=bed, stated=stated)
    return study_sand(
        test,
        wanted=wanted,
        chosen=chosen,
        bed=bed,
        rule=rule,
        hole_m=_hole_m(request, job),
        temp_degc=DEFAULT_WATER_DEGC if job is None else job.temp_degc,
        cost_per_kg=None if request.price is None else price(request.price, "--price"),
        others=[_stock(text, sheet=request.sheet) for text in request.blend],
    )


def _hole_m(request: SandRequest, job: SandJob | None) -> float:
    if request.hole is not None:
        return hole_m(request.hole)
    return HOLE.value if job is None else job.hole_m


def _stock(text: str, *, sheet: str | None) -> Stock:
    file, equals, cost = text.rpartition("=")
    if not equals:
        file, cost = text, ""
    test = read_sieve_file(Path(file), sheet=sheet if file.endswith(".xlsx") else None)
    return Stock(test.curve, price(cost, f"--blend {text}") if equals else None)


def _with_rough(study: SandStudy, request: SandRequest, chosen: Criterion) -> SandStudy:
    findings = [*study.findings, *_stated_findings(study)]
    rough, jar = None, None
    if request.meshes:
        rough = rough_effective_size([parse_mesh(text) for text in request.meshes])
        findings += rough_findings(rough, chosen=chosen)
    if request.jar_sand is not None and request.jar_silt is not None:
        jar = jar_test(
            quantity(request.jar_sand, to="m", where="--jar-sand"),
            silt_m=quantity(request.jar_silt, to="m", where="--jar-silt"),
        )
        limit = criteria()[FINES_LIMIT_ID]
        assert limit.fines_frac is not None
        findings += jar_findings(jar, limit_frac=limit.fines_frac, source=limit.source)
    return replace(study, rough=rough, jar=jar, findings=ranked(dict.fromkeys(findings)))


def _stated_findings(study: SandStudy) -> tuple[Finding, ...]:
    """Nobody here has seen what a supplier's sheet says."""
    if study.stated is None:
        return ()
    return (
        Finding(
            "SIV-142",
            "note",
            "the sizes are a supplier's word: no sieve test was looked at",
            "sand by its supplier's sheet",
            f"d10 {study.stated.d10_m * 1e3:g} mm, uniformity {study.stated.uniformity:g}",
            source=COMMON_PRACTICE,
            next="ask for the sieve test of the lot that you get, with its fines; shake a jar of "
            "it before it is unloaded",
        ),
    )


def _drain(request: SandRequest, job: SandJob | None, study: SandStudy) -> Drain | None:
    curve = study.bed_curve
    if curve is None:
        return None
    d10_m, even = curve.size(0.10).size_m, curve.uniformity
    if d10_m is None or even is None:
        return None
    pipe = None if request.pipe is None else pipe_m(request.pipe)
    return choose_drain(
        study.bed.area_m2 if job is None or request.area is not None else job.bed_m2,
        depth_m=study.bed.depth_m,
        rate_m_per_s=LIMIT_M_PER_S if job is None else job.rate_m_per_s,
        d10_m=d10_m,
        uniformity=even,
        porosity_frac=study.bed.porosity_frac,
        sphericity_frac=DEFAULT_SPHERICITY_FRAC if job is None else job.sphericity_frac,
        hole_m=_hole_m(request, job),
        temp_degc=DEFAULT_WATER_DEGC if job is None else job.temp_degc,
        pipe_m=pipe,
    )

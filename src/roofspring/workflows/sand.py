"""Is the sand right?"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, cast

from roofspring import __version__
from roofspring.errors import Finding, Problem, SieveError, UnitError, ranked
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.result import Provenance
from roofspring.network.sand import COLD_DEGC, Drain, SandJob, choose_drain, sand_jobs
from roofspring.plan.read import LoadedPlan
from roofspring.sandfilter.bed import DEFAULT_POROSITY_FRAC, DEFAULT_SPHERICITY_FRAC
from roofspring.sandfilter.gravel import cover_drain, rule_named
from roofspring.sandfilter.sieve import (
    DEFAULT_CRITERION,
    KINDS,
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
from roofspring.sandfilter.study import FINES_LIMIT_ID, Bed, SandStudy, study_sand
from roofspring.sandfilter.underdrain import HOLE, underdrain_findings
from roofspring.units import parse
from roofspring.workflows.opening import open_plan
from roofspring.workflows.sand_answer import SandAnswer, also, sentence

WANTED_D10_M, WANTED_UNIFORMITY = 0.25e-3, 2.0
SAND_DEPTH_M = 0.7
"""Where neither plan nor option says: the defaults of a filter in the plan (VISSCHER_1990)."""
RATE_M_PER_S = 0.4 / 3600.0
OFF_FRAC = 0.10
"""From here on the sand in the bed is not the one that the plan computes with: engineering
choice."""


@dataclass(frozen=True)
class SandRequest:
    """What is asked of a sand. Texts carry their unit; None takes the plan's value, or a default.

    Attributes
    ----------
    path : pathlib.Path or None
        A sieve test (CSV, XLSX), or a plan whose filters name one.
    sieves : sequence of str
        A test that was typed, like ``"0.600 mm=120 g"``.
    kind, before, sheet : str or None
        What the values are; dry mass before sieving; sheet of a spreadsheet.
    filter_id : str or None
        Which filter of the plan, where its sands differ.
    d10, uniformity : str, float or None
        What is wanted.
    criterion : str or None
        Published limits to follow.
    area, depth : str or None
        Of the bed.
    price : str or None
        Of this sand, like ``"45/t"``.
    blend : sequence of str
        Sieve tests of other sands, each perhaps with a price: ``"fine.csv=60/t"``.
    gravel, hole, pipe : str or None
        Rule of the layers; drain holes; drain pipe.
    meshes : sequence of str
        Household meshes, like ``"fly-screen=95 %"``.
    jar_sand, jar_silt : str or None
        Heights in a settling jar.
    units : {"metric", "us"} or None
    """

    path: Path | None = None
    sieves: Sequence[str] = ()
    kind: str | None = None
    before: str | None = None
    sheet: str | None = None
    filter_id: str | None = None
    d10: str | None = None
    uniformity: float | None = None
    criterion: str | None = None
    area: str | None = None
    depth: str | None = None
    price: str | None = None
    blend: Sequence[str] = ()
    gravel: str | None = None
    hole: str | None = None
    pipe: str | None = None
    meshes: Sequence[str] = ()
    jar_sand: str | None = None
    jar_silt: str | None = None
    units: Literal["metric", "us"] | None = None


def sand(request: SandRequest, *, out: Path | None = None) -> SandAnswer:
    """Look at a sand: its sieve test, what to take out, what to buy, what to mix, what lies under.

    Parameters
    ----------
    request : SandRequest
    out : pathlib.Path, optional
        Folder for ``sand.html``; made when missing.

    Raises
    ------
    SieveError, PlanError, RangeError, UnitError, OutputError
        The test, the plan or what was asked for has problems; the page cannot be written.
    """
    began = time.perf_counter()
    _check_request(request)
    loaded, jobs = _jobs(request)
    job = jobs[0] if jobs else None
    chosen = criterion(request.criterion or DEFAULT_CRITERION)
    wanted = _wanted(request, job, chosen)
    bed = _bed(request, job)
    test = _test(request, loaded, job)
    study = _study(request, job, test, wanted, chosen, bed)
    study = _with_rough(study, request, chosen)
    drain = _drain(request, job, study)
    if drain is not None and study.gravel is not None:
        study = replace(study, gravel=cover_drain(study.gravel, pipe_m=drain.pipe_m))
    findings = ranked(
        dict.fromkeys(
            (
                *study.findings,
                *_plan_findings(job, study),
                *(underdrain_findings(drain.law) if drain is not None else ()),
            )
        )
    )
    answer = SandAnswer(
        show=request.units or (loaded.plan.show if loaded is not None else "metric"),
        name=test.curve.name if test is not None else "sand without sieves",
        sentence=sentence(study),
        also=also(study, jobs),
        filters=() if job is None else job.filters,
        study=study,
        drain=drain,
        findings=findings,
        provenance=Provenance(
            __version__, "" if loaded is None else loaded.hash, "", time.perf_counter() - began
        ),
    )
    return answer if out is None else _written(answer, out, loaded)


def _written(answer: SandAnswer, out: Path, loaded: LoadedPlan | None) -> SandAnswer:
    from roofspring.report.sand_page import (
        CAUTIONS,
        SandDocument,
        SandFacts,
        render_sand_html,
        sand_sections,
    )

    study = answer.study
    document = SandDocument(
        title=answer.name if loaded is None else f"{loaded.plan.name}: {answer.name}",
        sentence=answer.sentence,
        also=answer.also,
        findings=answer.findings,
        sections=sand_sections(SandFacts(study, answer.drain, answer.show)),
        cautions=CAUTIONS,
        computed=(
            "Shares that pass each sieve come from the masses or percents that were given. Between "
            "two sieves the share runs straight over the logarithm of size; beyond the sieves "
            "nothing is computed.",
            f"Followed here: the limits of {study.chosen.short} for effective size and uniformity. "
            "Where sources disagree, the others stand beside them.",
            "Numbers marked as engineering choice or common practice have no published source.",
        ),
        provenance=answer.provenance,
        invented=study.test is not None and study.test.invented,
    )
    make_folder(out)
    file = out / "sand.html"
    write_text_atomic(file, render_sand_html(document))
    return replace(answer, files=(str(file),))


def _check_request(request: SandRequest) -> None:
    """Refuse what contradicts itself, before any reading."""
    if request.kind is not None and request.kind not in KINDS:
        raise _wrong("what the values are is not known by this name", "--as", request.kind,
                     ", ".join(KINDS))  # fmt: skip
    if request.uniformity is not None and not 1.0 <= request.uniformity <= 20.0:
        raise _wrong("a uniformity coefficient lies above 1", "--uniformity",
                     f"{request.uniformity:g}", "1 to 20")  # fmt: skip
    if request.path is not None and request.sieves:
        got = f"{len(request.sieves)} sieves and {request.path}"
        raise _wrong("a file and typed sieves are both given", "--sieve", got, "one of the two")
    if (request.jar_sand is None) != (request.jar_silt is None):
        got = request.jar_sand or request.jar_silt or ""
        allowed = "the sand and the silt over it"
        raise _wrong("a jar test needs both heights", "--jar-sand, --jar-silt", got, allowed)
    if request.path is None and not (request.sieves or request.meshes or request.jar_sand):
        raise SieveError(
            Problem(
                "SIV-026",
                "nothing was given to look at",
                allowed="a sieve test, a plan that names one, typed sieves, household meshes or a "
                "jar test",
                next='try: roofspring sand --mesh "fly-screen=95 %", or roofspring sand sand.csv',
            )
        )


def _wrong(what: str, where: str, got: str, allowed: str) -> SieveError:
    return SieveError(
        Problem("SIV-021", what, where=where, got=got, allowed=allowed, next="correct it")
    )


def _jobs(request: SandRequest) -> tuple[LoadedPlan | None, tuple[SandJob, ...]]:
    """The plan and its sands, the one to look at first, where the path leads to a plan."""
    path = request.path
    if path is None or not (path.is_dir() or path.suffix == ".toml"):
        return None, ()
    loaded = open_plan(path)
    jobs = sand_jobs(loaded.plan)
    if request.filter_id is not None:
        mine = tuple(j for j in jobs if request.filter_id in j.filters)
        jobs = (*mine, *(j for j in jobs if j not in mine)) if mine else ()
    if not jobs:
        named = ", ".join(sorted(loaded.plan.filters)) or "none"
        raise SieveError(
            Problem(
                "SIV-026",
                "no filter of the plan names a sieve test"
                if request.filter_id is None
                else "this filter is not in the plan, or names no sieve test",
                str(loaded.path),
                loaded.lines.get("filter"),
                "filter.sieve",
                request.filter_id or f"filters: {named}",
                "a filter with a sieve test beside the plan",
                'add sieve = "sand.csv" to its [filter] table, or give the test itself',
            )
        )
    return loaded, jobs


def _wanted(request: SandRequest, job: SandJob | None, chosen: Criterion) -> Wanted:
    d10_m = WANTED_D10_M if job is None else job.d10_m
    if request.d10 is not None:
        d10_m = _quantity(request.d10, to="m", where="--d10")
        if not 0.02e-3 <= d10_m <= 5e-3:
            raise _wrong("no filter sand has such an effective size", "--d10", request.d10,
                         "0.02 mm to 5 mm")  # fmt: skip
    even = WANTED_UNIFORMITY if job is None else job.uniformity
    return wanted_sand(
        d10_m,
        uniformity=even if request.uniformity is None else request.uniformity,
        chosen=chosen,
    )


def _bed(request: SandRequest, job: SandJob | None) -> Bed:
    area_m2, depth_m = (1.0, SAND_DEPTH_M) if job is None else (job.area_m2, job.depth_m)
    if request.area is not None:
        area_m2 = _quantity(request.area, to="m2", where="--area")
    if request.depth is not None:
        depth_m = _quantity(request.depth, to="m", where="--depth")
    porosity = DEFAULT_POROSITY_FRAC if job is None else job.porosity_frac
    return Bed(area_m2, depth_m, porosity, named=job is not None or request.area is not None)


def _test(request: SandRequest, loaded: LoadedPlan | None, job: SandJob | None) -> SieveTest | None:
    kind = cast("Kind | None", request.kind)
    before = None
    if request.before is not None:
        before = _quantity(request.before, to="kg", where="--before")
        if before <= 0.0:
            raise _wrong("a sample weighs more than nothing", "--before", request.before,
                         "above 0")  # fmt: skip
    if request.sieves:
        return typed_sieve_test(request.sieves, kind=kind, before_kg=before)
    path = request.path
    if job is not None and loaded is not None:
        path = loaded.path.parent / job.sieve
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
        return SandStudy(test=None, wanted=wanted, chosen=chosen, bed=bed)
    return study_sand(
        test,
        wanted=wanted,
        chosen=chosen,
        bed=bed,
        rule=rule,
        hole_m=_hole_m(request, job),
        temp_degc=COLD_DEGC if job is None else job.temp_degc,
        cost_per_kg=None if request.price is None else _price(request.price, "--price"),
        others=[_stock(text, sheet=request.sheet) for text in request.blend],
    )


def _hole_m(request: SandRequest, job: SandJob | None) -> float:
    if request.hole is not None:
        return _quantity(request.hole, to="m", where="--hole")
    return HOLE.value if job is None else job.hole_m


def _stock(text: str, *, sheet: str | None) -> Stock:
    file, equals, price = text.rpartition("=")
    if not equals:
        file, price = text, ""
    test = read_sieve_file(Path(file), sheet=sheet if file.endswith(".xlsx") else None)
    return Stock(test.curve, _price(price, f"--blend {text}") if equals else None)


def _price(text: str, where: str) -> float:
    """A price per mass, in any currency."""
    price = _quantity(text.strip().lstrip("$€£¥ "), to="1/kg", where=where)
    if price < 0.0:
        raise _wrong("a price is not below nothing", where, text, "0 or more")
    return price


def _with_rough(study: SandStudy, request: SandRequest, chosen: Criterion) -> SandStudy:
    findings = list(study.findings)
    rough, jar = None, None
    if request.meshes:
        rough = rough_effective_size([parse_mesh(text) for text in request.meshes])
        findings += rough_findings(rough, chosen=chosen)
    if request.jar_sand is not None and request.jar_silt is not None:
        jar = jar_test(
            _quantity(request.jar_sand, to="m", where="--jar-sand"),
            silt_m=_quantity(request.jar_silt, to="m", where="--jar-silt"),
        )
        limit = criteria()[FINES_LIMIT_ID]
        assert limit.fines_frac is not None
        findings += jar_findings(jar, limit_frac=limit.fines_frac, source=limit.source)
    return replace(study, rough=rough, jar=jar, findings=ranked(dict.fromkeys(findings)))


def _drain(request: SandRequest, job: SandJob | None, study: SandStudy) -> Drain | None:
    curve = study.bed_curve
    if curve is None:
        return None
    d10_m, even = curve.size(0.10).size_m, curve.uniformity
    if d10_m is None or even is None:
        return None
    pipe = None if request.pipe is None else _quantity(request.pipe, to="m", where="--pipe")
    return choose_drain(
        study.bed.area_m2 if job is None or request.area is not None else job.bed_m2,
        depth_m=study.bed.depth_m,
        rate_m_per_s=RATE_M_PER_S if job is None else job.rate_m_per_s,
        d10_m=d10_m,
        uniformity=even,
        porosity_frac=study.bed.porosity_frac,
        sphericity_frac=DEFAULT_SPHERICITY_FRAC if job is None else job.sphericity_frac,
        hole_m=_hole_m(request, job),
        temp_degc=COLD_DEGC if job is None else job.temp_degc,
        pipe_m=pipe,
    )


def _plan_findings(job: SandJob | None, study: SandStudy) -> list[Finding]:
    """Where the sand that would lie in the bed is not the one that the plan computes with."""
    curve = study.bed_curve
    if job is None or curve is None:
        return []
    d10_m, even = curve.size(0.10).size_m, curve.uniformity
    if d10_m is None or even is None:
        return []
    if abs(d10_m / job.d10_m - 1.0) <= OFF_FRAC and abs(even / job.uniformity - 1.0) <= OFF_FRAC:
        return []
    return [
        Finding(
            "SIV-150",
            "caution",
            "the sand that would lie in the filter is not the one that the plan computes with",
            ", ".join(job.filters),
            f"d10 {d10_m * 1e3:.2f} mm, uniformity {even:.2f}",
            f"d10 {job.d10_m * 1e3:g} mm, uniformity {job.uniformity:g}, within "
            f"{100 * OFF_FRAC:g} %",
            "engineering choice",
            f'write d10 = "{d10_m * 1e3:.2f} mm" and uniformity = {even:.1f} into the plan, or '
            "prepare the sand that it has",
        )
    ]


def _quantity(text: str, *, to: str, where: str) -> float:
    try:
        return parse(text, to=to)
    except UnitError as error:
        first = error.problems[0]
        raise UnitError(replace(first, where=where)) from error

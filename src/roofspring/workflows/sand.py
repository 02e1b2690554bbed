"""Is the sand right?"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from roofspring.errors import Problem, RecordError, SieveError
from roofspring.errors.names import did_you_mean
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.sand import SandJob, sand_jobs
from roofspring.network.simulate import simulate
from roofspring.plan.read import LoadedPlan
from roofspring.sandfilter.study import SandStudy
from roofspring.workflows.opening import (
    Progress,
    has_rain,
    located,
    open_plan,
    rain_of,
    run_words,
)
from roofspring.workflows.sand_answer import SandAnswer
from roofspring.workflows.sand_look import Seen, look
from roofspring.workflows.sand_request import SandRequest, check_request, leads_to_a_plan


def sand(
    request: SandRequest, *, out: Path | None = None, progress: Progress | None = None
) -> SandAnswer:
    """Look at a sand: its sieve test, what to take out, buy and mix, what lies under it; the bed.

    Of a plan with a rain record the run is made too, and what it saw of the filters is told; a
    record that cannot be read is told, and the sand is answered all the same.

    Parameters
    ----------
    request : SandRequest
    out : pathlib.Path, optional
        Folder for ``sand.html``; made when missing.
    progress : callable, optional
        Told what is being done, one short line each.

    Raises
    ------
    SieveError, PlanError, RangeError, UnitError, OutputError
        The test, the plan or what was asked for has problems; the page cannot be written.
    SolveError
        The run failed.
    """
    began = time.perf_counter()
    check_request(request)
    loaded, jobs = _jobs(request)
    seen = Seen() if loaded is None else _seen(loaded, progress)
    answer = look(request, loaded=loaded, jobs=jobs, seen=seen)
    answer = replace(
        answer, provenance=replace(answer.provenance, seconds=time.perf_counter() - began)
    )
    return answer if out is None else _written(answer, out, loaded)


def _seen(loaded: LoadedPlan, progress: Progress | None) -> Seen:
    """Run the plan through its rain, where it has all that a run needs."""
    plan = loaded.plan
    if not has_rain(plan):
        return Seen()
    try:
        record = rain_of(loaded)
    except RecordError as error:
        why = error.problems[0]
        return Seen(lack=f"No run was made: {why.what} ({plan.rain.file}).")
    if not (plan.roofs and plan.tanks and plan.uses):
        return Seen(record)
    if progress is not None:
        progress(run_words(record))
    with located(loaded):
        return Seen(record, simulate(plan, record, plan_hash=loaded.hash))


def _written(answer: SandAnswer, out: Path, loaded: LoadedPlan | None) -> SandAnswer:
    from roofspring.report.sand_page import CAUTIONS, SandDocument, render_sand_html, sand_sections

    study = answer.study
    document = SandDocument(
        title=answer.name if loaded is None else f"{loaded.plan.name}: {answer.name}",
        sentence=answer.sentence,
        also=answer.also,
        findings=answer.findings,
        sections=sand_sections(answer.facts()),
        cautions=CAUTIONS,
        computed=how_computed(study),
        provenance=answer.provenance,
        invented=study.test is not None and study.test.invented,
        invented_rain=answer.invented_rain,
    )
    make_folder(out)
    file = out / "sand.html"
    write_text_atomic(file, render_sand_html(document))
    return replace(answer, files=(str(file),))


def how_computed(study: SandStudy) -> tuple[str, ...]:
    """How the answer was come by, in paragraphs."""
    return (
        "Shares that pass each sieve come from the masses or percents that were given. Between "
        "two sieves the share runs straight over the logarithm of size; beyond the sieves "
        "nothing is computed.",
        f"Followed here: the limits of {study.chosen.short} for effective size and uniformity. "
        "Where sources disagree, the others stand beside them.",
        "The bed is reckoned with the same functions as a run through the rain: clean sand by "
        "Kozeny and Carman, a skin on top of it whose resistance grows, ripeness, and cleaning. "
        "The constants of growth and ripening are engineering choices until the filter's own log "
        "replaces them.",
        "Numbers marked as engineering choice or common practice have no published source.",
    )


def _jobs(request: SandRequest) -> tuple[LoadedPlan | None, tuple[SandJob, ...]]:
    """The plan and its sands, the one to look at first, where the path leads to a plan."""
    path = request.path
    if path is None or not leads_to_a_plan(path):
        return None, ()
    loaded = open_plan(path)
    jobs = sand_jobs(loaded.plan)
    if request.filter_id is not None:
        mine = tuple(j for j in jobs if request.filter_id in j.filters)
        jobs = (*mine, *(j for j in jobs if j not in mine)) if mine else ()
    if not jobs:
        raise SieveError(_no_filter(loaded, request.filter_id))
    return loaded, jobs


def _no_filter(loaded: LoadedPlan, filter_id: str | None) -> Problem:
    named = sorted(loaded.plan.filters)
    add = "add a [filter.NAME] table with its area, or give a sieve test itself"
    if filter_id is None or not named:
        what = "the plan has no sand filter"
        return Problem("SIV-026", what, str(loaded.path), where="filter", next=add)
    return Problem(
        "SIV-026",
        "this filter is not in the plan",
        str(loaded.path),
        where="--filter",
        got=repr(filter_id),
        allowed=", ".join(named),
        next=did_you_mean(filter_id, named, otherwise=add),
    )

"""One function for each question that is answered on its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from roofspring.errors import (
    Finding,
    Problem,
    RangeError,
    RoofspringError,
    SieveError,
    ranked,
)
from roofspring.network.assemble import assemble
from roofspring.network.faults import break_all, fault_finding
from roofspring.network.frost import frost_findings
from roofspring.network.levels import assess_levels
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan
from roofspring.rain.futures import model_named
from roofspring.reliability.answer import Futures, SupplyAnswer
from roofspring.reliability.futures import fitted_futures, run_futures
from roofspring.reliability.supply import assess_supply
from roofspring.safety import path_findings
from roofspring.safety.paths import all_routes, graph_findings
from roofspring.workflows.opening import (
    Opened,
    Progress,
    has_rain,
    located,
    normals_model,
    open_plan,
    open_with_rain,
    rain_of,
    run_words,
)
from roofspring.workflows.sand_check import check_sieves

NORMALS_FUTURES = 40


def supply(
    path: Path,
    *,
    futures: int | None = None,
    model: str | None = None,
    seed: int = 1,
    faults: Sequence[str] = (),
    progress: Progress | None = None,
) -> SupplyAnswer:
    """Will it last? Run the plan at a path through its rain record.

    Parameters
    ----------
    path : Path
    futures : int, optional
        Invented records to run it through as well, as long as the record. None is 0 for a measured
        record, and 40 for monthly normals, whose doubt only futures show.
    model : str, optional
        Model of rain, a name in `roofspring.rain.futures.MODELS`; only with futures, and not for
        monthly normals, which are a model of their own.
    seed : int
        For the futures.
    faults : sequence of str
        What is broken all the while, such as ``feed-a:stuck-shut``; see
        `roofspring.network.faults`.
    progress : callable, optional

    Raises
    ------
    PlanError, RecordError, SolveError
        The plan, the record or a fault has problems, or the run failed.
    RangeError (REC-019)
        No such model, or one that would not be used.
    """
    opened = open_with_rain(path)
    with located(opened.loaded):
        plan, broken = break_all(opened.loaded.plan, faults)
    opened = replace(opened, loaded=replace(opened.loaded, plan=plan))
    _check_model(opened.loaded.plan, futures, model)
    if progress is not None:
        progress(run_words(opened.record))
    with located(opened.loaded):
        answer, run = assess_supply(opened.loaded.plan, opened.record, plan_hash=opened.loaded.hash)
    made = make_futures(opened, members=futures, model=model, seed=seed, progress=progress)
    findings = (
        *answer.findings,
        *path_findings(opened.loaded.plan, run),
        *(made.findings if made else ()),
        *map(fault_finding, broken),
    )
    answer = replace(answer, faults=tuple(one.words for one in broken))
    return replace(answer, futures=made, findings=ranked(dict.fromkeys(findings)))


def _check_model(plan: Plan, members: int | None, model: str | None) -> None:
    """Refuse a model that would not be used, before the long run."""
    if model is None:
        return
    model_named(model)
    if plan.normals is None and members:
        return
    raise RangeError(
        Problem(
            "REC-019",
            "this model would not be used: the plan has monthly normals"
            if plan.normals is not None
            else "this model would not be used: no futures were asked for",
            got=model,
            next="leave out the model" + ("" if plan.normals else ", or ask for futures"),
        )
    )


def make_futures(
    opened: Opened,
    *,
    members: int | None = None,
    model: str | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> Futures | None:
    """Run the plan through invented records; None when none are asked for.

    Raises
    ------
    RangeError, RecordError
        No such model, or a record it cannot be fitted to.
    """
    plan, record = opened.loaded.plan, opened.record
    if members is None:
        members = NORMALS_FUTURES if plan.normals is not None else 0
    if members == 0:
        return None
    if progress is not None:
        progress(f"running {members} invented futures through the plan")
    if plan.normals is not None:
        return run_futures(
            plan,
            normals_model(plan),
            name="monthly normals",
            members=members,
            years=plan.normals.years_count,
            seed=seed,
        )
    return fitted_futures(plan, record, members=members, model=model, seed=seed)


def check(path: Path) -> tuple[LoadedPlan, tuple[Finding, ...]]:
    """Read a plan and say what is wrong with it before any run: problems raise, findings return.

    The rain record and the sieve tests that the plan names are read too.

    Raises
    ------
    PlanError, SieveError, RecordError, RangeError
        Every problem of the plan, of its sieve tests, or of the record.
    RoofspringError
        Problems of more than one of them, all at once.
    """
    findings: list[Finding] = []
    errors: list[RoofspringError] = []
    loaded = None
    try:
        loaded = open_plan(path)
        findings.extend(_of_plan(loaded))
    except RoofspringError as error:
        errors.append(error)
    try:
        findings.extend(check_sieves(path))
    except SieveError as error:
        errors.append(error)
    if loaded is not None and has_rain(loaded.plan):
        try:
            record = rain_of(loaded)
            findings.extend((*record.findings, *frost_findings(record)))
        except RoofspringError as error:
            errors.append(error)
    if len(errors) > 1:
        raise RoofspringError(p for error in errors for p in error.problems)
    if errors:
        raise errors[0]
    assert loaded is not None
    return loaded, ranked(findings)


def _of_plan(loaded: LoadedPlan) -> Iterator[Finding]:
    """What is wrong with the plan by itself."""
    with located(loaded):
        yield from assemble(loaded.plan).findings
        yield from assess_levels(loaded.plan).findings
    routes = all_routes(loaded.plan)
    yield from path_findings(loaded.plan, routes=routes)
    # What is merely weak is the matter of the safety command; what is wrong is told here too.
    yield from (f for f in graph_findings(loaded.plan, routes) if f.severity == "stop")

"""Is it fit to drink?"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from roofspring import __version__
from roofspring.errors import Finding
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.assemble import assemble
from roofspring.network.forcing import water_degc
from roofspring.network.levels import assess_levels
from roofspring.network.overflows import assess_overflows
from roofspring.network.result import Provenance, RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.read import LoadedPlan
from roofspring.rain import RainRecord
from roofspring.report.safety_page import SafetyDocument, render_safety_html
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.assess import assess_safety
from roofspring.safety.headline import answer_with
from roofspring.safety.inspection import Kept
from roofspring.safety.paths import board
from roofspring.workflows.levels import rain_to_design
from roofspring.workflows.log import kept_of
from roofspring.workflows.opening import (
    Progress,
    has_rain,
    located,
    open_plan,
    rain_of,
    run_words,
)

PAGE_FILE = "safety.html"

OF_GERMS = (
    "LVL-005", "LVL-006", "LVL-007", "LVL-016", "OVF-102", "OVF-103", "OVF-104", "OVF-105",
)  # fmt: skip
"""Heights and overflows that let germs through: a drowned inlet, no air gap at a filter, a weir
under the sand, no throttle; an overflow too small, backing up, drowning an inlet or open."""


def safety(
    path: Path, *, out: Path | None = None, seed: int = 1, progress: Progress | None = None
) -> SafetyAnswer:
    """Say what the evidence shows of a plan's drinking water, and what it cannot show.

    Parameters
    ----------
    path : Path
    out : Path, optional
        Folder for the page; none is written without it.
    seed : int
        Of the risk; another number, other luck.
    progress : callable, optional

    Returns
    -------
    SafetyAnswer
        Without a rain record, a roof, a tank or a use nothing is run, and the answer says so.

    Raises
    ------
    PlanError, RecordError, LogbookError, SolveError, OutputError
        The plan, its rain or its logbook has problems, or the page cannot be written.
    """
    began = time.perf_counter()
    tell = progress or (lambda _line: None)
    loaded = open_plan(path)
    plan = loaded.plan
    can_run = has_rain(plan) and plan.roofs and plan.tanks and plan.uses
    record = rain_of(loaded) if can_run else None
    run = None
    with located(loaded):
        if record is None:
            assemble(plan)
        else:
            tell(run_words(record))
            run = simulate(plan, record, plan_hash=loaded.hash)
        heights = levels_findings(loaded, record)
    tell("reckoning ten thousand years of drinking for each germ")
    answer = answer_of(loaded, record, run, seed=seed)
    answer = answer_with(answer, heights)
    answer = replace(
        answer,
        checks=board(plan, answer.findings, answer.missing, heights_looked_at=True)
        if answer.checks
        else (),
        provenance=replace(answer.provenance, seconds=time.perf_counter() - began, seed=seed),
    )
    if out is None:
        return answer
    file = out / PAGE_FILE
    page = render_safety_html(
        SafetyDocument(plan, answer, invented=record is not None and record.invented)
    )
    make_folder(out)
    write_text_atomic(file, page)
    return replace(answer, files=(str(file),))


def answer_of(
    loaded: LoadedPlan, record: RainRecord | None, run: RunResult | None, *, seed: int = 1
) -> SafetyAnswer:
    """The answer for a plan that was read, with its run and its logbook where there are some."""
    plan = loaded.plan
    kept = kept_of(loaded)
    if record is None or run is None:
        provenance = Provenance(__version__, loaded.hash, "", 0.0, seed)
        return _with_kept(assess_safety(plan, provenance=provenance, seed=seed), kept)
    measured = plan.run.water_temperature_degc is not None or record.tmin_degc is not None
    answer = assess_safety(
        plan,
        run,
        water_degc=water_degc(plan, record),
        measured_temps=measured,
        provenance=run.provenance,
        seed=seed,
    )
    return _with_kept(answer, kept)


def _with_kept(answer: SafetyAnswer, kept: Kept | None) -> SafetyAnswer:
    """The answer with what the logbook says of the same water."""
    if kept is None:
        return answer
    return answer_with(replace(answer, kept=kept), kept.findings)


def levels_findings(loaded: LoadedPlan, record: RainRecord | None) -> tuple[Finding, ...]:
    """Findings on heights and overflows that let germs through."""
    plan = loaded.plan
    rain = rain_to_design(loaded, record)
    found = [*assess_levels(plan, rain=rain).findings]
    if plan.roofs:
        found += assess_overflows(
            plan, rain_m_per_s=rain.rain_m_per_s, rain_source=rain.source
        ).findings
    return tuple(f for f in found if f.code in OF_GERMS)

"""A made-up document for the report's tests. The engine is not run: every series is synthetic."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from roofspring.errors import Finding, ranked
from roofspring.kernels.net import State
from roofspring.network.assumptions import Assumption
from roofspring.network.drainage import assess_drainage
from roofspring.network.events import Event
from roofspring.network.frost_times import assess_frost
from roofspring.network.levels import LevelCheck, assess_levels
from roofspring.network.loads import assess_loads
from roofspring.network.overflows import assess_overflows
from roofspring.network.pipes import assess_pipes
from roofspring.network.result import Arc, Provenance, RunResult
from roofspring.network.swale import assess_swales
from roofspring.plan.model import Plan
from roofspring.rain.record import Kept, RainRecord
from roofspring.reliability.answer import (
    CurvePoint,
    Month,
    ReferenceMethod,
    StoreAnswer,
    SupplyAnswer,
    UseAnswer,
    WithinDay,
)
from roofspring.report.document import DesignDocument
from roofspring.units import show

CHROMIUM = Path("/usr/bin/chromium")
CAPACITY_M3 = {"raw": 1.70, "sand-a": 0.12, "sand-b": 0.1275, "clean": 1.015, "cistern": 24.0}
DEAD_M3 = {"raw": 0.196, "sand-a": 0.0, "sand-b": 0.0, "clean": 0.085, "cistern": 1.2}


def synthetic_run(years_count: int = 31) -> RunResult:
    """A yearly wave in every store, deeper in some years; no physics."""
    start = np.datetime64("1990-01-01")
    days = np.arange(start, start + round(365.25 * years_count))
    n = len(days)
    season = np.cos(2.0 * np.pi * (np.arange(n) - 60.0) / 365.25)
    depth = 0.36 + 0.12 * np.sin(2.0 * np.pi * np.arange(n) / (365.25 * 7.3))
    share = np.clip(0.62 + depth * season, 0.0, 1.0)
    store_ids = tuple(CAPACITY_M3)
    capacity = np.array([CAPACITY_M3[s] for s in store_ids])
    dead = np.array([DEAD_M3[s] for s in store_ids])
    end = dead + (capacity - dead) * share[:, None]
    use_ids = ("drinking", "washing", "goats", "garden")
    summer = np.clip(-season, 0.0, 1.0)
    wanted = np.stack(
        [np.full(n, 0.030), np.full(n, 0.190), np.full(n, 0.016), 0.135 * summer], axis=1
    )
    served = np.stack(
        [np.where(share > limit, 1.0, 0.4) for limit in (0.16, 0.19, 0.2, 0.3)], axis=1
    )
    arcs = (Arc("overflow", "raw", "overflow", "cistern", "raw-overflow"),)
    return RunResult(
        days=days,
        store_ids=store_ids,
        start_m3=end[0],
        end_m3=end,
        low_m3=np.maximum(dead * 0.9, end - 0.03 * capacity),
        capacity_m3=capacity,
        dead_m3=dead,
        arcs=arcs,
        flow_m3=np.full((n, 1), 0.01),
        use_ids=use_ids,
        wanted_m3=wanted,
        delivered_m3=wanted * served,
        rationed=served < 1.0,
        filter_ids=("sand-a", "sand-b"),
        filter_rate_m_per_s=np.full((n, 2), 5.0e-5),
        skin_s=np.full((n, 2), 9000.0),
        ripeness_frac=np.full((n, 2), 0.95),
        sand_m=np.full((n, 2), 0.68),
        cleaned=np.zeros((n, 2), dtype=np.int64),
        raw_frac=np.zeros((n, len(store_ids))),
        age_days=np.full((n, len(store_ids)), 12.0),
        raw_delivered_m3=np.zeros((n, len(use_ids))),
        residual_m3=3.0e-13,
        steps_count=10 * n,
        forced_count=0,
        final=State(*(np.zeros(1) for _ in State._fields)),
        provenance=Provenance("0.1.0", "a1b2c3d4e5f6", "f6e5d4c3b2a1", 1.25, 7),
    )


def synthetic_supply(plan: Plan, run: RunResult, findings: tuple[Finding, ...]) -> SupplyAnswer:
    """An answer with the totals of the synthetic run; the rest is made up."""
    wanted, delivered = run.wanted_m3.sum(axis=0), run.delivered_m3.sum(axis=0)
    short = run.delivered_m3 < 0.999 * run.wanted_m3
    labels = ("drinking and cooking", "washing", "goats", "garden")
    uses = tuple(
        UseAnswer(
            u,
            labels[i],
            float(wanted[i]),
            float(delivered[i]),
            float(delivered[i] / wanted[i]),
            int(short[:, i].sum()),
            21,
            "2003-08-02" if short[:, i].any() else None,
            int(run.rationed[:, i].sum()),
            0.0 if u == "drinking" else 0.27,
            (0, 0, 0, 0, 0, 1, 4, 9, 2, 0, 0, 0),
        )
        for i, u in enumerate(run.use_ids)
    )
    names = {"raw": "raw tank", "clean": "clean tank"}
    stores = tuple(
        StoreAnswer(
            s,
            dict(plan.parts())[s].kind,
            names.get(s, s),
            float(run.start_m3[i]),
            float(run.end_m3[-1, i]),
            float(run.low_m3[:, i].min()),
            float(run.end_m3[:, i].mean()),
            12.5,
            float(run.capacity_m3[i]),
            float(run.dead_m3[i]),
            3,
            40,
            (("washing", 12.0),),
        )
        for i, s in enumerate(run.store_ids)
    )
    rain_m = (0.11, 0.10, 0.09, 0.08, 0.07, 0.05, 0.02, 0.03, 0.06, 0.10, 0.13, 0.14)
    months = tuple(
        Month(k + 1, r, 140.0 * r, 7.5 + 3.0 * (3 < k < 9), 7.4 + 2.0 * (3 < k < 9), 20.0 * r)
        for k, r in enumerate(rain_m)
    )
    curve = tuple(
        CurvePoint(c, 1.0 - 0.25 * float(np.exp(-c / 14.0)), 60.0 * float(np.exp(-c / 14.0)))
        for c in (2.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 40.0, 48.0, 60.0)
    )
    return SupplyAnswer(
        show=plan.show,
        worst=(
            Event(
                "use short",
                "garden",
                "2002-08-01",
                "2002-08-14",
                0.0,
                14 * 86400.0,
                1.5,
                words=f"garden got {show(1.5, 'volume', units=plan.show)} less than it wanted",
            ),
        ),
        sentence="On 31.0 years of rain the house ran short on 214 days, most of them in August.",
        doubt="31 years show what happens about once in ten years, and little of rarer droughts.",
        years=run.years,
        rain_mm_per_year=980.0,
        fell_m3=4678.0,
        caught_m3=4102.0,
        wanted_m3=float(wanted.sum()),
        delivered_m3=float(delivered.sum()),
        spilled_m3=1210.0,
        served_frac=float(delivered.sum() / wanted.sum()),
        days_short=int(short.any(axis=1).sum()),
        longest_short_days=21,
        served_low_frac=0.91,
        served_high_frac=0.97,
        filled_frac=0.012,
        invented=True,
        within_day="type2",
        within_day_ways=(
            WithinDay("even", 0.951, 100.0, 2.0),
            WithinDay("type2", 0.944, 99.0, 5.0),
            WithinDay("block", 0.932, 98.0, 9.0),
        ),
        uses=uses,
        stores=stores,
        months=months,
        curve_store="cistern",
        curve=curve,
        methods=(
            ReferenceMethod(
                "yield after spillage, daily",
                0.962,
                None,
                "common practice, no source",
                "one lumped store",
            ),
        ),
        residual_m3=run.residual_m3,
        findings=findings,
        provenance=run.provenance,
    )


FINDINGS = ranked(
    (
        Finding(
            "SAF-001",
            "stop",
            "Raw water reaches a drinking tap without passing the sand",
            "raw-overflow",
            "raw tank → cistern → bath and laundry",
            "every path to a drinking tap passes a filter",
            "common practice, no source",
            "Pipe the overflow of the raw tank to the swale.",
        ),
        Finding(
            "LEV-003",
            "stop",
            "The weir stands too low over the sand: the bed can run dry",
            "sand-b.outlet",
            "20 mm above the sand",
            "at least 30 mm",
            "common practice, no source",
            "Raise the weir of sand-b to 5.65 m.",
        ),
        Finding(
            "SND-002",
            "caution",
            "A freshly cleaned bed runs four times too fast",
            "sand-b",
            "0.83 m/h",
            "at most 0.40 m/h",
            "common practice, no source",
            "Fit a throttle set to 0.20 m/h.",
        ),
        Finding(
            "RUN-004",
            "caution",
            "Water can freeze in January",
            "raw",
            "-9 °C",
            "0 °C",
            "",
            "Bury it.",
        ),
        Finding(
            "REC-010", "note", "1.2 % of the record was filled", "rain.csv", next="Nothing to do."
        ),
    )
)


def load_demo() -> Plan:
    """The demo plan as it is shipped."""
    text = (
        resources.files("roofspring.workflows").joinpath("demo/alder-bench.toml").read_text("utf-8")
    )
    return Plan.model_validate(tomllib.loads(text))


def ran(document: DesignDocument) -> tuple[RunResult, SupplyAnswer]:
    """The run and its answer, of a document that has them."""
    assert document.run is not None and document.supply is not None
    return document.run, document.supply


def without_rain(document: DesignDocument) -> DesignDocument:
    """The same document when the plan names no rain record."""
    lack = Finding("SUP-110", "note", "this is not answered", "rain.file", next="Give a record.")
    return replace(
        document,
        record=None,
        record_words="",
        run=None,
        supply=None,
        findings=ranked((*(f for f in FINDINGS if f.code != "REC-010"), lack)),
        provenance=Provenance("0.1.0", "a1b2c3d4e5f6", "", 0.01),
        not_answered=(("Will it last?", "the plan has no rain record. Put one beside it."),),
    )


def synthetic_document(plan: Plan) -> DesignDocument:
    """All parts of a report around a plan."""
    run = synthetic_run()
    rain = np.where(np.arange(len(run.days)) % 4 == 0, 0.0107, 0.0)
    record = RainRecord(
        start=run.days[0],
        step_s=86400.0,
        depth_m=rain,
        kept=np.full(len(rain), Kept.INVENTED, dtype=np.uint8),
        name="Alder Bench, invented",
        source="generator, seed 7",
        fill_method="none",
    )
    levels = (
        LevelCheck(
            "LEV-001", "weir above sand", "sand-a", "clean", 0.05, 0.03, 0.02, True,
            "common practice, no source",
        ),
        LevelCheck(
            "LEV-003", "weir above sand", "sand-b", "clean", 0.02, 0.03, -0.01, False,
            "common practice, no source", "raise the weir of sand-b to 5.630 m",
        ),
        LevelCheck(
            "LEV-009", "head at the tap", "kitchen", "half full", None, 0.5, None, None,
            "common practice, no source", missing=("clean.outlet",),
        ),
    )  # fmt: skip
    assumptions = (
        Assumption(
            "sand-a.porosity",
            "Share of the bed that is void",
            0.4,
            "",
            "default",
            "engineering choice",
        ),
        Assumption(
            "flush.depth",
            "Depth of runoff held back",
            0.002,
            "rain",
            "default",
            "common practice, no source",
        ),
    )
    solved = assess_levels(plan)
    return DesignDocument(
        plan=plan,
        plan_file="plan.toml",
        plan_hash="a1b2c3d4e5f6",
        record=record,
        record_words="Daily rain from 1990-01-01 to 2020-12-31, made by a generator.",
        run=run,
        supply=synthetic_supply(plan, run, FINDINGS),
        levels=levels,
        level_states=solved.by_state(),
        falls=solved.falls,
        water=solved.water(),
        levels_sentence="One of three height checks fails: the weir of sand-b is 10 mm too low.",
        drainage=(drainage := assess_drainage(plan)),
        pipes=assess_pipes(plan),
        overflows=assess_overflows(
            plan,
            rain_m_per_s=drainage.design_mm_per_h / 3.6e6,
            rain_source=drainage.rain_source,
        ),
        loads=assess_loads(plan),
        frost=assess_frost(plan, None),
        swales=assess_swales(plan, run),
        gardens=(),
        findings=FINDINGS,
        assumptions=assumptions,
        provenance=run.provenance,
    )


@pytest.fixture(scope="session")
def demo_plan() -> Plan:
    return load_demo()


@pytest.fixture(scope="session")
def document(demo_plan: Plan) -> DesignDocument:
    return synthetic_document(demo_plan)


@pytest.fixture(scope="session")
def hostile_document(document: DesignDocument) -> DesignDocument:
    """Names that try to become markup."""
    plan = document.plan.model_copy(update={"name": "<script>alert(1)</script> & co"})
    raw = plan.tanks["raw"].model_copy(update={"label": '"><img src=x onerror=alert(2)>'})
    plan = plan.model_copy(update={"tanks": {**plan.tanks, "raw": raw}})
    bad = replace(document.findings[0], what="</p><script>alert(3)</script>")
    return replace(document, plan=plan, findings=(bad, *document.findings[1:]))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Headless Chromium. In CI a missing browser is a failure, not a skip."""
    if not CHROMIUM.exists():
        words = f"{CHROMIUM} is missing; install Debian's chromium"
        if os.environ.get("CI") == "true":
            pytest.fail(words)
        pytest.skip(words)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()
